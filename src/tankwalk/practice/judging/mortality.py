"""Is this count of dead fish a signal? Held against the tank's own days, its sisters and its fish.

Counts nudge and eyes decide: a signal says what stands out and what to look at, never why. In a
turbot farm such sums found 26 to 52 % of what was wrong (Baer et al. 2011, Isr. J. Aquac. 63).
The rules and their false signals are told in docs/mortality.md.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import pairwise
from math import sqrt

from tankwalk.clock import Instant, ago
from tankwalk.practice.judging.dead_counts import Counted, DeadKnown, days_like, die_off, gather
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple
from tankwalk.science import signals
from tankwalk.science.middle import MAD_TO_SD

# Seeds, to be tuned by a site. Where no source is named: common practice, no source.

FEWEST = 10
"""Fewer dead than these are no signal by rules that compare."""
TIMES_USUAL = 3.0
"""A count this many times the tank's own usual stands out."""
USUAL_DAYS, USUAL_REACH, FEWEST_USUAL = 3, 5, 2
"""Usual is the median of the last 3 days counted, none older than 5, and of 2 at least."""
ODD_Z = 3.5
"""Iglewicz & Hoaglin 1993, How to detect and handle outliers (from memory)."""
DAY_PERCENT, FIRST_FEEDING_PERCENT = 3.0, 5.0
"""Dead in a day, of the best estimate, that are acted on; the second at the first-feeding ages."""
BASELINE_DAYS = 5
"""A slow rise is held against this many days, the oldest of the ten."""
RISE_TIMES = 2.0
"""The rise that is looked for: twice the usual, Lucas' reference lies between the two."""
DECISION_H = 5.0
"""In spreads of a count: Page 1954, usually 4 to 5 (from memory). One day gives half at most."""
DISPERSION = 2.0
"""Least variance over mean of a count of the dead, who come in clusters."""
WATCH_SPREADS, ACT_SPREADS = 3.0, 5.0
"""How far from the usual a count must stand as well: what is 3 times of little is chance."""
FEWEST_STEPS, FEWEST_FOR_SPREAD = 4, 5
"""Fewer days, or sisters, tell nothing of how counts spread."""
TWICE_HOURS = 20.0
"""Equal counts closer than this may be one: short of a day, so that daily rounds are not asked."""

_STEP_TO_SD = MAD_TO_SD / sqrt(2)
"""Standard deviation of normal values over the median step from one to the next."""


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


# ---- the judgement


def judge(value: int, known: DeadKnown) -> Signal | None:
    """The worst that can be said of a count; None where it is like the others.

    A count that may have been entered before asks that first, and keeps the flag it has otherwise:
    a question hides no signal.
    """
    usual = days_like(known)
    middle = usual_count(known, usual)
    spread = dispersion(known, [fish for _, fish in usual])
    found = [one for one in _signals(value, known, usual, middle, spread) if one is not None]
    worst = max(found, key=lambda one: one.flag, default=None)
    twin = _twin(value, known)
    if twin is None:
        return worst
    asked = f"{value} dead again: already counted at {twin.at.hm()} by {twin.who}?"
    if worst is None:
        return Signal(Rule.TWICE, Flag.CHECK, asked, LOOK[Rule.TWICE])
    sentence = f"{asked} If these are others: {worst.sentence}"
    return Signal(Rule.TWICE, worst.flag, sentence, f"{LOOK[Rule.TWICE]} Else: {worst.do}")


def _signals(
    value: int,
    known: DeadKnown,
    usual: list[tuple[date, int]],
    middle: float | None,
    spread: float,
) -> Iterator[Signal | None]:
    """What each rule says, in their order."""
    shared = _shared(value, known, spread)
    odd = None if value < FEWEST else _odd_z(value, known.sisters, spread)
    is_odd = odd is not None and odd > ODD_Z
    yield None if shared else _jump(value, known, middle, spread, odd=is_odd)
    yield _odd(value, known, odd) if odd is not None and is_odd else None
    yield _share(value, known)
    yield _rise(value, known, usual, spread)
    yield _too_few(value, known)


def _jump(
    value: int, known: DeadKnown, middle: float | None, spread: float, *, odd: bool
) -> Signal | None:
    """(a) Far above the tank's own usual; ACT where chance is ruled out or (b) agrees."""
    if middle is None or value < FEWEST or value < TIMES_USUAL * middle:
        return None
    apart = (value - middle) / _sd(middle, spread)
    if apart <= WATCH_SPREADS:
        return None
    times = f"{value / middle:.0f} times its usual {middle:g}" if middle else "its usual is 0"
    times += " a round"
    alone = len(known.sisters) < signals.FEWEST_SISTERS
    if alone and die_off(known.age):
        beside = "too few other tanks counted yet to tell it from larvae that never fed"
    else:
        beside = "too few other tanks counted" if alone else f"other tanks {_range(known.sisters)}"
    sure = apart > ACT_SPREADS and not (alone and die_off(known.age))
    flag = Flag.ACT if odd or sure else Flag.WATCH
    return Signal(Rule.JUMP, flag, f"{value} dead, {times}; {beside}.", LOOK[Rule.JUMP])


def _odd(value: int, known: DeadKnown, z: float) -> Signal:
    """(b) Far above sister tanks of the same age in the same round."""
    middle = signals.median(known.sisters)
    words = (
        f"{value} dead; {len(known.sisters)} other tanks {_range(known.sisters)}, {middle:g} in "
        f"the middle: the odd one out (z {z:.1f})."
    )
    return Signal(Rule.ODD, Flag.WATCH, words, LOOK[Rule.ODD])


def _share(value: int, known: DeadKnown) -> Signal | None:
    """(c) The day's dead are too large a part of the fish left, by best estimate, at any age."""
    today = value + sum(one.fish for one in known.own if one.at.day == known.now.day)
    if known.best is None or today == 0:
        return None
    limit = FIRST_FEEDING_PERCENT if known.first_feeding else DAY_PERCENT
    if 100 * today < limit * known.best:
        return None
    counted = ago(24 * known.best_days)
    if today > known.best:
        words = f"{today} dead today, more than the about {known.best:,} fish left"
    else:
        percent = 100 * today / known.best
        words = f"{today} dead today, {percent:.1f} % of the about {known.best:,} fish left"
    words += f" (fish counted {counted} ago)" if counted != "now" else ""
    why = "first feeding" if known.first_feeding else "any age"
    return Signal(
        Rule.SHARE,
        Flag.ACT,
        f"{words}; {limit:g} % a day is acted on ({why}).",
        LOOK[Rule.SHARE],
    )


def _rise(
    value: int, known: DeadKnown, usual: list[tuple[date, int]], spread: float
) -> Signal | None:
    """(d) What piles up above the usual of older days, day after day.

    Each day adds half the decision at most, so that one bad day is no rise for the days after it
    (Lucas & Crosier 1982, robust CUSUM, Commun. Stat. 11:2669, from memory, in a simpler form).
    At the ages of the die-off a day counts by what it had above the sisters' middle.
    """
    if len(usual) < BASELINE_DAYS:
        return None
    mean = max(1.0, signals.median([fish for _, fish in usual[:BASELINE_DAYS]]))
    if value <= mean:
        return None
    later = [*usual[BASELINE_DAYS:], (known.now.day, value)]
    reference = signals.poisson_reference(mean, RISE_TIMES * mean)
    decision = max(DECISION_H * _sd(mean, spread), float(FEWEST))
    most = reference + decision / 2
    sums = [min(most, fish * min(1.0, mean / _die_off_middle(known, day))) for day, fish in later]
    if signals.cusum(sums, mean, reference - mean).high[-1] <= decision:
        return None
    listed = ", ".join(str(fish) for _, fish in later)
    words = f"{value} dead, a slow rise: {listed} in a row, {mean:g} a day before."
    return Signal(Rule.RISE, Flag.WATCH, words, LOOK[Rule.RISE])


def _too_few(value: int, known: DeadKnown) -> Signal | None:
    """(e) None found where all sisters have some."""
    if value or len(known.sisters) < signals.FEWEST_SISTERS:
        return None
    middle = signals.median(known.sisters)
    if middle < FEWEST:
        return None
    told = {True: " The record says yes.", False: " The record says no.", None: ""}
    words = f"0 dead; other tanks {middle:g} in the middle: was it siphoned?{told[known.siphoned]}"
    return Signal(Rule.TOO_FEW, Flag.CHECK, words, LOOK[Rule.TOO_FEW])


def _twin(value: int, known: DeadKnown) -> Counted | None:
    """(f) The newest equal count of another round, close enough to be the same siphoning."""
    if value < FEWEST:
        return None
    return next(
        (
            one
            for one in reversed(known.own)
            if one.fish == value and known.now.hours_since(one.at) < TWICE_HOURS
        ),
        None,
    )


# ---- what is usual, and how counts spread


def usual_count(known: DeadKnown, usual: list[tuple[date, int]]) -> float | None:
    """The tank's own 3-day median; None without enough days."""
    near = [fish for day, fish in usual if (known.now.day - day).days <= USUAL_REACH]
    return signals.median(near[-USUAL_DAYS:]) if len(near) >= FEWEST_USUAL else None


def dispersion(known: DeadKnown, own: Sequence[int]) -> float:
    """Variance over mean of a count, by own days and by sisters, whichever is wider.

    By the median step from day to day and the median distance from the sisters' middle: neither
    a trend nor one bad day makes counts look wild, and so hides the next bad day.
    """
    found = [DISPERSION]
    if len(own) > FEWEST_STEPS:
        steps = [abs(b - a) for a, b in pairwise(own)]
        found.append((_STEP_TO_SD * signals.median(steps)) ** 2 / max(1.0, signals.median(own)))
    if len(known.sisters) >= FEWEST_FOR_SPREAD:
        middle = signals.median(known.sisters)
        apart = signals.median([abs(one - middle) for one in known.sisters])
        found.append((MAD_TO_SD * apart) ** 2 / max(1.0, middle))
    return max(found)


def _sd(mean: float, spread: float) -> float:
    """Standard deviation of a count with this mean."""
    return sqrt(spread * max(1.0, mean))


def _odd_z(value: int, sisters: Sequence[int], spread: float) -> float | None:
    if len(sisters) < signals.FEWEST_SISTERS:
        return None
    return signals.robust_z(value, sisters, _sd(signals.median(sisters), spread))


def _sisters_now(known: DeadKnown) -> tuple[int, ...]:
    """The sisters of this round; where too few are counted yet, yesterday's speak for them."""
    enough = len(known.sisters) >= signals.FEWEST_SISTERS
    return known.sisters if enough else known.sisters_before


def _shared(value: int, known: DeadKnown, spread: float) -> bool:
    """Whether this is the die-off of larvae that never fed: at its ages, and in the sisters too."""
    z = _odd_z(value, _sisters_now(known), spread) if die_off(known.age) else None
    return z is not None and z <= ODD_Z


def _die_off_middle(known: DeadKnown, day: date) -> float:
    """What sisters had on a day of the die-off; 1 on any other day, and where too few are known."""
    if known.age is None or not die_off(known.age - (known.now.day - day).days):
        return 1.0
    if day < known.now.day:
        return max(1.0, dict(known.sister_days).get(day, 1.0))
    here = _sisters_now(known)
    return max(1.0, signals.median(here)) if len(here) >= signals.FEWEST_SISTERS else 1.0


def _range(sisters: Sequence[int]) -> str:
    low, high = min(sisters), max(sisters)
    return f"{low}" if low == high else f"{low} to {high}"


# ---- for the walk


def judge_count(
    site: Site, place: str, value: float, now: Instant, round_number: int | None
) -> Signal | None:
    """Judge a count of the dead before it is kept, by the record of this site."""
    known = gather(site, place, now, round_number)
    return None if known is None else judge(int(value), known)
