"""Is this count of dead fish a signal? Held against what its tank should have, and its fish.

Counts nudge and eyes decide: a signal says what stands out and what to look at, never why. In a
turbot farm such sums found 26 to 52 % of what was wrong (Baer et al. 2011, Isr. J. Aquac. 63).
The rules and their false signals are told in docs/mortality.md.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import exp, sqrt

from tankwalk.clock import Instant, ago
from tankwalk.plan.judging import JudgingLimits
from tankwalk.practice.judging.dead import model
from tankwalk.practice.judging.dead.counts import (
    Counted,
    DeadKnown,
    LaidOut,
    Tally,
    die_off,
    gather,
    laid_out,
)
from tankwalk.practice.judging.dead.slots import Window
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple
from tankwalk.science import negative_binomial as nb
from tankwalk.science import signals

# Seeds, to be tuned by a site. Where no source is named: common practice, no source.

FEWEST, FEWEST_ACT = 5, 10
"""Fewer dead than these are watched by no rule that compares, and acted on by none."""
RISE_TIMES = 2.0
"""The chance of a rise may be so many times a jump's: a jump is far beyond either, and a rise that
is sought at many onsets needs the room. Tried on simulated seasons: docs/mortality.md."""
ACT_PART = 0.12
"""The chance of what is acted on, of that of what is watched."""
FEW_PART = 0.1
"""The chance of a low count that is not 0, of that of a high one: not siphoned is the likelier."""
DAY_PERCENT, FIRST_FEEDING_PERCENT = 3.0, 5.0
"""Dead in a day, of the best estimate, that are acted on; the second at the first-feeding ages."""
TWICE_HOURS = 12.0
"""Equal counts closer than this may be one: a working day. After a night nobody enters the dead of
the afternoon again, and chance would ask as often."""
FEWEST_TWICE = 3
"""Fewer dead are the same by chance every day."""
FEWEST_UNKNOWN = 10
"""So many, where nothing says what is usual, are asked about when they are equal."""


class Signal(NamedTuple):
    """A count that stands out: how serious, in one sentence, and what to do."""

    rule: Rule
    flag: Flag
    sentence: str
    do: str


LOOK = {
    Rule.JUMP: "Count again. Look at the fish, then oxygen, flow and screen; keep some of the dead "
    "and tell the lead.",
    Rule.ODD: "Count again. Look at what this tank has alone: screen, flow, feed, light; keep some "
    "of the dead.",
    Rule.SHARE: "Count again, tell the lead now, keep some of the dead; the lead or the "
    "veterinarian decides what is done.",
    Rule.RISE: "Look at fish and floor, sort the dead by kind, and show the lead the last days.",
    Rule.TOO_FEW: "Look at the floor. Not siphoned is not 0: press / and say why.",
    Rule.TWICE: "Enter only those found since; 0 if there were none.",
}
"""What to do about a signal, by its rule."""


class Judging(NamedTuple):
    """A count as it is judged: its tank fitted beside the others, and its looks by onset."""

    value: int
    known: DeadKnown
    laid: LaidOut
    tank: int
    windows: tuple[Window, ...]
    limits: JudgingLimits

    @property
    def here(self) -> tuple[int, ...]:
        """What the other tanks had in this slot, as far as it has got."""
        lines = self.laid.room.lines
        last = len(self.laid.began) - 1
        return tuple(
            line.looks[-1].fish
            for nth, line in enumerate(lines)
            if nth != self.tank and line.looks and line.looks[-1].last == last
        )

    @property
    def by_plan(self) -> bool:
        """Whether nothing but the plan tells what the tank should have: a lot's first count."""
        known = len(self.laid.began) > 1 and (
            len(self.laid.room.lines) > model.FEWEST_SISTERS
            or len(self.known.own) >= model.FEWEST_OWN
        )
        return not known and not self.here


# ---- the judgement


def judge(value: int, known: DeadKnown, limits: JudgingLimits | None = None) -> Signal | None:
    """The worst that can be said of a count; None where it is as it should be.

    A count that may have been entered before asks that first, and keeps the flag it has otherwise:
    a question hides no signal.
    """
    return worst(fitted(value, known, limits or JudgingLimits()))


def fitted(value: int, known: DeadKnown, limits: JudgingLimits) -> Judging:
    """A count put beside the tank's days and its sisters."""
    mine = Counted(known.now, known.part, value, "")
    tallies = [Tally("", known.arm, (*known.own, mine), known.shifts), *known.sisters]
    held = known.losses, known.best
    laid = laid_out(tallies, known.now, known.part, known.age, limits.clip, 0, held)
    windows = tuple(laid.room.windows(0, limits.onset_looks, limits.tail))
    return Judging(value, known, laid, 0, windows, limits)


def worst(of: Judging) -> Signal | None:
    """The worst of what the rules say of a count."""
    found = [one for one in _signals(of) if one is not None]
    most = max(found, key=lambda one: one.flag, default=None)
    twin = _twin(of)
    if twin is None:
        return most
    asked = f"{of.value} dead again: already counted at {twin.at.hm()} by {twin.who}?"
    if most is None:
        return Signal(Rule.TWICE, Flag.CHECK, asked, LOOK[Rule.TWICE])
    sentence = f"{asked} If these are others: {most.sentence}"
    return Signal(Rule.TWICE, most.flag, sentence, f"{LOOK[Rule.TWICE]} Else: {most.do}")


def _signals(of: Judging) -> Iterator[Signal | None]:
    """What each rule says, in their order."""
    yield jump(of)
    yield _share(of)
    yield rise(of)
    yield _too_few(of)


def jump(of: Judging) -> Signal | None:
    """(a) Far above what this tank should have now; ACT where chance is ruled out."""
    if not of.windows:
        return None
    now = of.windows[0]
    mean = now.expected.mean
    if now.fish < FEWEST or now.chance >= of.limits.tail or now.fish < sqrt(of.limits.ratio) * mean:
        return None
    here = of.here
    alone = len(here) < signals.FEWEST_SISTERS
    sure = now.chance < ACT_PART * of.limits.tail and now.fish >= max(
        FEWEST_ACT, of.limits.ratio * mean
    )
    unknown = alone and die_off(of.known.age)
    flag = Flag.ACT if sure and not unknown else Flag.WATCH
    value = int(now.fish)
    if len(of.known.own) < 2 and not alone:
        words = f"{value} dead; {len(here)} other tanks {_range(here)}: the odd one out."
        return Signal(Rule.ODD, flag, words, LOOK[Rule.ODD])
    if of.by_plan:
        words = f"{value} dead, {_times(now)} times the {mean:.0f} that the plan expects"
        return Signal(Rule.JUMP, flag, f"{words}; no days of its own yet.", LOOK[Rule.JUMP])
    if unknown:
        beside = "too few other tanks counted yet to tell it from larvae that never fed"
    else:
        beside = "too few other tanks counted" if alone else f"other tanks {_range(here)}"
    return Signal(
        Rule.JUMP, flag, f"{value} dead, {_usual(now)} a round; {beside}.", LOOK[Rule.JUMP]
    )


def _usual(of: Window) -> str:
    """How many times its usual some dead are, and what that is."""
    usual = round(of.expected.mean)
    return f"{_times(of)} times its usual {usual}" if usual else "its usual is 0"


def _times(of: Window) -> str:
    times = of.fish / of.expected.mean
    return f"{times:.1f}" if times < 3 else f"{times:.0f}"


def rise(of: Judging) -> Signal | None:
    """(d) What piles up above what should be there since some day: the likeliest onset.

    Each look adds no more than it may by chance, so that one bad day is no rise for the days after
    it (Lucas & Crosier 1982, robust CUSUM, Commun. Stat. 11:2669, from memory, in a simpler form).
    A count that is no higher than usual ends it.
    """
    if not of.windows or of.windows[0].fish <= of.windows[0].expected.mean:
        return None
    since = min(of.windows[1:], key=lambda one: one.chance, default=None)
    if (
        since is None
        or since.chance >= RISE_TIMES * of.limits.tail
        or since.fish < max(FEWEST, sqrt(of.limits.ratio) * since.expected.mean)
    ):
        return None
    looks = of.laid.room.lines[of.tank].looks[-since.looks :]
    total = sum(look.fish for look in looks)
    began = of.laid.began[looks[0].last].short()
    words = (
        f"{looks[-1].fish} dead, a slow rise since {began}: {total} in {since.looks} counts, "
        f"usual {since.expected.mean:.0f}."
    )
    return Signal(Rule.RISE, Flag.WATCH, words, LOOK[Rule.RISE])


def _share(of: Judging) -> Signal | None:
    """(c) The day's dead are too large a part of the fish left, by best estimate, at any age."""
    known = of.known
    today = of.value + sum(one.fish for one in known.own if one.at.day == known.now.day)
    if known.best is None or today == 0:
        return None
    why = "first feeding" if known.first_feeding else "any age"
    usual = FIRST_FEEDING_PERCENT if known.first_feeding else DAY_PERCENT
    watch, act = known.shares
    if known.shares == (None, None):
        act = usual
    else:
        why = "by the plan"
    reached = [
        (flag, limit)
        for flag, limit in ((Flag.ACT, act), (Flag.WATCH, watch))
        if limit is not None and 100 * today >= limit * known.best
    ]
    if not reached:
        return None
    flag, limit = reached[0]
    counted = ago(24 * known.best_days)
    if today > known.best:
        words = f"{today} dead today, more than the about {known.best:,} fish left"
    else:
        percent = 100 * today / known.best
        words = f"{today} dead today, {percent:.1f} % of the about {known.best:,} fish left"
    words += f" (fish counted {counted} ago)" if counted != "now" else ""
    done = "acted on" if flag == Flag.ACT else "watched"
    return Signal(
        Rule.SHARE,
        flag,
        f"{words}; {limit:g} % a day is {done} ({why}).",
        LOOK[Rule.SHARE],
    )


def _too_few(of: Judging) -> Signal | None:
    """(e) None, or far fewer, found than this tank should have."""
    if not of.windows:
        return None
    now = of.windows[0]
    mean, variance = now.expected
    part = 1.0 if not now.fish else FEW_PART
    if now.fish >= mean or nb.at_most(now.fish, mean, variance) >= part * of.limits.few_chance:
        return None
    here = of.here
    told = {True: " The record says yes.", False: " The record says no.", None: ""}
    if len(here) >= signals.FEWEST_SISTERS:
        beside = f"other tanks {signals.median(here):g} in the middle"
    else:
        beside = f"its usual is {mean:.0f} a round"
    asked = "was it siphoned?" if not now.fish else "a digit missing, or not all siphoned?"
    words = f"{int(now.fish)} dead; {beside}: {asked}{told[of.known.siphoned]}"
    return Signal(Rule.TOO_FEW, Flag.CHECK, words, LOOK[Rule.TOO_FEW])


def _twin(of: Judging) -> Counted | None:
    """(f) The newest equal count of another round, close enough to be the same siphoning, where
    chance seldom brings so many here now."""
    value = of.value
    if value < FEWEST_TWICE:
        return None
    if of.windows:
        mean, variance = of.windows[0].expected
        chance = exp(nb.log_chance(value, mean, variance))
        if chance >= of.limits.counted_chance:
            return None
    elif value < FEWEST_UNKNOWN:
        return None
    return next(
        (
            one
            for one in reversed(of.known.own)
            if one.fish == value and of.known.now.hours_since(one.at) < TWICE_HOURS
        ),
        None,
    )


def _range(sisters: tuple[int, ...]) -> str:
    low, high = min(sisters), max(sisters)
    return f"{low}" if low == high else f"{low} to {high}"


# ---- for the walk


def judge_count(
    site: Site, place: str, value: float, now: Instant, round_number: int | None
) -> Signal | None:
    """Judge a count of the dead before it is kept, by the record of this site."""
    known = gather(site, place, now, round_number)
    return None if known is None else judge(int(value), known, site.plan.judging)
