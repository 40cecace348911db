"""Is this number right? In this order: possible, likely slip, band, change since last.

A judgement is one value: how serious, by which rule, in one sentence, and whether it should be
measured again. `assess` holds it against the tank's past, its sisters, its loop and its meter.
"""

from __future__ import annotations

import json
from enum import IntEnum
from functools import partial
from typing import TYPE_CHECKING

from tankwalk import figures
from tankwalk.clock import Instant, ago
from tankwalk.ledger.readings import Seen
from tankwalk.plan import responses
from tankwalk.plan.bands import describe, limit_words
from tankwalk.plan.model import Band, Item, Limits, Side, Steps
from tankwalk.practice.judging.rules import Rule, Shared, Way
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:  # a flag that stands was asked about its slip when it was read
    from tankwalk.ledger.questions import ReadAs
    from tankwalk.practice.judging.slips import Around, Slip

CHANGE_HOURS = 36.0
"""A change is judged only against a value at most this old. Common practice, no source."""
MOST_DECIMALS = 6
"""Digits after the mark that a value beyond its limit is shown with at most."""


class Flag(IntEnum):
    """How serious, as kept in the record."""

    OK = 0
    CHECK = 1
    WATCH = 2
    ACT = 3
    URGENT = 4

    @property
    def mark(self) -> str:
        """Mark and word, never colour alone."""
        return ("ok", "? CHECK", "! WATCH", "!! ACT", "!!! URGENT")[self]

    @property
    def word(self) -> str:
        """The word alone."""
        return ("ok", "CHECK", "WATCH", "ACT", "URGENT")[self]

    @property
    def short(self) -> str:
        """The mark alone."""
        return ("", "?", "!", "!!", "!!!")[self]


class Judged(NamedTuple):
    """How one value was judged.

    `question` is asked before anything is kept: the number cannot be, or looks like `slip`.
    `impossible` says that it can't be kept as it stands. `rule` is which rule spoke, `do` what it
    wants done where that is not the item's own steps.
    """

    flag: Flag
    sentence: str = ""
    question: str = ""
    slip: Slip | None = None
    impossible: bool = False
    rule: Rule | None = None
    do: str = ""
    steps: Steps = ()
    """What is done first by the plan, for the side the value lies on."""
    parts: tuple[str, ...] = ()
    """The sentence in its parts, where it has more than one: headline first, then the reasons."""
    brief: str = ""
    """What is said in its place where another tank of this round was told it whole."""
    quiet: bool = False
    """It was asked there, and this value is in its band: nothing more is asked of it."""

    @property
    def headline(self) -> str:
        """Thing, value, unit and band; the sentence where it is one part."""
        return self.parts[0] if self.parts else self.sentence

    @property
    def reasons(self) -> tuple[str, ...]:
        """Since when, against what."""
        return self.parts[1:]

    @property
    def first(self) -> str:
        """What is done first, as one sentence; "" for nothing."""
        return self.do or responses.response(self.steps)

    @property
    def asks(self) -> bool:
        return bool(self.question)

    @property
    def other_meter(self) -> bool:
        """Whether another meter would tell the causes apart: `do` says which."""
        return bool(self.do) and self.rule is not None and self.rule.way is not None

    @property
    def names_meter(self) -> bool:
        """Whether the meter is in question and not the water."""
        return self.rule is not None and self.rule.shared is Shared.METER


def judge(
    item: Item,
    value: float,
    typed: str,
    band: Band | None,
    last: Seen | None,
    now: Instant,
    around: Around,
    *,
    sure: bool = False,
    below: bool = False,
) -> Judged:
    """Judge a value in the item's unit. `sure` skips the slip question for a possible value.

    `below` says that the value is the detection limit it was found to be below.
    """
    impossible = item.plausible is not None and not (
        item.plausible[0] <= value <= item.plausible[1]
    )
    first = _against(item, value, typed, band, last, now, below=below)
    if impossible or (first.flag >= Flag.WATCH and not sure and _far(value, around.last)):
        from tankwalk.practice.judging.slips import likely

        slip = likely(item, value, band, around, impossible=impossible)
        if impossible or slip is not None:
            return Judged(
                Flag.CHECK,
                first.sentence,
                _question(item, value, typed, around.last, impossible=impossible),
                slip,
                impossible,
                Rule.SLIP,
            )
    return first


def left_out(word: str | None) -> str:
    """Why something holds no value, as people say it; `word` is the record's."""
    return {None: "not taken", "": "not taken", "not looked": "not checked"}.get(word, word or "")


def value_words(
    item: Item, seen: Seen | ReadAs, limits: Limits | None = None, *, bare: bool = False
) -> str:
    """A kept value with its unit, as people say it; `bare` leaves the unit out.

    With the `limits` that judged it a value beyond them never reads as if it were inside.
    """
    if seen.value is None:
        return left_out(seen.qualifier)
    below = "< " if seen.qualifier == "<" else ""
    return below + told(item, seen.value, seen.typed, limits, bare=bare)


def spread_words(item: Item, seen: list[Seen]) -> str:
    """The range of several readings of one item, with the unit once."""
    show = partial(figures.show, unit="", decimals=item.decimals)
    ends = sorted(s.value or 0.0 for s in seen)
    low, high = show(ends[0]), show(ends[-1])
    unit = f" {item.unit}" if item.unit else ""
    return f"{low}{unit}" if low == high else f"{low} to {high}{unit}"


def _far(value: float, last: float | None) -> bool:
    """Whether a value is far enough from the last one to be a slip and not a trend.

    Without a last one a number that can be is no more likely a slip than what it says.
    """
    return last is not None and abs(value - last) > 0.5 * abs(last)


def _question(item: Item, value: float, typed: str, last: float | None, *, impossible: bool) -> str:
    """What makes a number doubtful, in one sentence."""
    bare = not any(letter.isalpha() for letter in typed)
    shown = f"{typed} {item.unit}".strip() if bare else typed
    if impossible:
        return f"{shown} cannot be {item.label}: {possible_words(item)}."
    return f"{shown} is far from its last, {item.shown(last or 0.0, bare=True)}."


def possible_words(item: Item) -> str:
    """What nature allows, as "it is 0 to 60 L/min"."""
    low, high = item.plausible or (0.0, 0.0)
    return f"it is {low:g} to {high:g}{' ' + item.unit if item.unit else ''}"


def told(item: Item, value: float, typed: str, limits: Limits | None, *, bare: bool = False) -> str:
    """A value in words that never reads as if it were inside a limit that it is beyond."""
    shown = item.shown(value, typed, bare=bare)
    if limits is None or not item.kind.by_band or item.kind.whole:
        return shown
    flag = level(value, limits)
    if not flag:
        return shown
    unit = "" if bare else item.unit
    decimals = item.decimals
    while decimals < MOST_DECIMALS and level(float(f"{value:.{decimals}f}"), limits) != flag:
        decimals += 1
    return (
        shown if decimals == item.decimals else _longer(shown, figures.show(value, unit, decimals))
    )


def _longer(one: str, other: str) -> str:
    return one if len(one) >= len(other) else other


def lies(item: Item, value: float, band: Band | None) -> str:
    """Where a value lies: "below 3.0", "above 4.1", "in 3.0-4.1"; "" without a band."""
    if band is None or not item.kind.by_band:
        return ""
    limits = band.limits
    beyond = {
        Flag.URGENT: (limits.urgent_below, limits.urgent_above),
        Flag.ACT: (limits.act_below, limits.act_above),
        Flag.WATCH: (limits.watch_below, limits.watch_above),
    }.get(level(value, limits))
    if beyond is None:
        return f"in {describe(band, item)}"
    low, high = beyond
    if low is not None and round(value, 9) < round(low, 9):
        return f"below {limit_words(low, item)}"
    return f"above {limit_words(high or 0.0, item)}"


def _against(
    item: Item,
    value: float,
    typed: str,
    band: Band | None,
    last: Seen | None,
    now: Instant,
    *,
    below: bool,
) -> Judged:
    """The worse of band and change, with its sentence."""
    if not item.kind.by_band:
        word = item.choices[int(value)]
        flag = Flag.ACT if word in item.act_on else Flag.WATCH if word in item.watch_on else Flag.OK
        if not flag:
            return Judged(flag)
        steps = responses.steps(item, word)
        return Judged(flag, f"{item.label}: {word}", rule=Rule.SETTING, steps=steps)
    if band is None:
        return Judged(Flag.OK)
    if below:
        return _undetected(item, value, band)
    flag = level(value, band.limits)
    parts = []
    shown = told(item, value, typed, band.limits)
    if flag:
        parts.append(f"{item.label} {shown}, band {describe(band, item)}")
    moved, words = _change(item, value, band.limits, last, now)
    if moved:
        parts.append(words if parts else f"{item.label} {shown} {words}")
    if not parts:
        return Judged(Flag.OK)
    rule = Rule.BAND if flag >= moved else Rule.CHANGE
    by = 0.0 if last is None or last.value is None else value - last.value
    steps = first_steps(item, value, band, rule, by)
    return Judged(max(flag, moved), ", ".join(parts), rule=rule, steps=steps, parts=tuple(parts))


def first_steps(
    item: Item, value: float, band: Band | None, rule: Rule | None = None, moved: float = 0.0
) -> Steps:
    """What the plan says is done first about a judged value in the item's unit.

    `moved` is how far it went since the look before, which tells the side of a value that is in
    its band and was flagged for its way; () where the plan has none for that side.
    """
    if item.kind.by_words:
        return responses.steps(item, item.shown(value))
    return responses.steps(item, side_of(value, band, rule, moved))


def side_of(
    value: float, band: Band | None, rule: Rule | None = None, moved: float = 0.0
) -> Side | None:
    """On which side a judged value lies: of its band, else the way that it or its loop went."""
    if rule is not None and rule.of_the_dead:
        return Side.LOW if rule is Rule.TOO_FEW else Side.HIGH
    limits = Limits() if band is None else band.limits
    rounded = round(value, 9)
    lows = (limits.watch_below, limits.act_below, limits.urgent_below)
    highs = (limits.watch_above, limits.act_above, limits.urgent_above)
    if any(low is not None and rounded < round(low, 9) for low in lows):
        return Side.LOW
    if any(high is not None and rounded > round(high, 9) for high in highs):
        return Side.HIGH
    if rule is not None and rule.side is not None:
        return rule.side
    if rule is not None and rule.way is not None:
        return Side.HIGH if rule.way is Way.UP else Side.LOW
    if moved:
        return Side.HIGH if moved > 0 else Side.LOW
    return None


def _undetected(item: Item, value: float, band: Band) -> Judged:
    """What was found to be below a detection limit: never too high, unless the kit is too coarse.

    Too low it can be: whatever is below a limit on the low side is at most that.
    """
    low = level(value, band.limits._replace(watch_above=None, act_above=None, urgent_above=None))
    if low:
        words = f"{item.label} below {item.shown(value)}, band {describe(band, item)}"
        return Judged(low, words, rule=Rule.BAND, steps=first_steps(item, value, band, Rule.BAND))
    needed = band.limits.needed
    if needed is None or round(value, 9) <= round(needed, 9):
        return Judged(Flag.OK)
    words = f"{item.label} below {item.shown(value)}: the kit has to see {item.shown(needed)}"
    return Judged(
        Flag.WATCH, words, rule=Rule.BAND, do="Use a finer kit: until then it is not known."
    )


def level(value: float, limits: Limits) -> Flag:
    """Where a value stands against limits; a value on a limit is inside it."""
    rounded = round(value, 9)
    for flag, low, high in (
        (Flag.URGENT, limits.urgent_below, limits.urgent_above),
        (Flag.ACT, limits.act_below, limits.act_above),
        (Flag.WATCH, limits.watch_below, limits.watch_above),
    ):
        if (low is not None and rounded < round(low, 9)) or (
            high is not None and rounded > round(high, 9)
        ):
            return flag
    return Flag.OK


def _change(
    item: Item, value: float, limits: Limits, last: Seen | None, now: Instant
) -> tuple[Flag, str]:
    if last is None or last.value is None:
        return Flag.OK, ""
    hours = now.hours_since(last.at)
    if not 0 <= hours <= CHANGE_HOURS:
        return Flag.OK, ""
    change = round(value - last.value, 9)
    if (limits.change_way == "fall" and change > 0) or (limits.change_way == "rise" and change < 0):
        return Flag.OK, ""
    size = abs(change)
    if limits.act_change is not None and size > limits.act_change:
        flag = Flag.ACT
    elif limits.watch_change is not None and size > limits.watch_change:
        flag = Flag.WATCH
    else:
        return Flag.OK, ""
    way = "fell" if change < 0 else "rose"
    rate = f", {size / hours:.{item.decimals + 1}f}/h" if hours >= 0.5 else ""
    return flag, f"{way} {size:.{item.decimals}f} since last ({ago(hours)}{rate})"


def band_text(band: Band | None) -> str | None:
    """The band in force as the record keeps it with the reading: its limits and source."""
    if band is None:
        return None
    kept = {k: v for k, v in band.limits._asdict().items() if v is not None}
    if kept.get("change_way") == "either":
        del kept["change_way"]
    return json.dumps({**kept, "source": band.source}, sort_keys=True, separators=(",", ":"))
