"""Is this number right? In this order: possible, likely slip, band, change since last.

A judgement is one value: how serious, by which rule, in one sentence, and whether it should be
measured again. `assess` holds it against the tank's past, its sisters, its loop and its meter.
"""

from __future__ import annotations

import json
from enum import IntEnum
from functools import partial
from typing import NamedTuple

from tankwalk import quantity
from tankwalk.clock import Instant, ago
from tankwalk.ledger.readings import Seen
from tankwalk.plan import responses
from tankwalk.plan.bands import describe
from tankwalk.plan.model import Band, Item, Limits, Side, Steps
from tankwalk.practice.judging.rules import Rule, Shared, Way
from tankwalk.practice.judging.slips import Around, Slip, likely

CHANGE_HOURS = 36.0
"""A change is judged only against a value at most this old. Common practice, no source."""


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
) -> Judged:
    """Judge a value in the item's unit. `sure` skips the slip question for a possible value."""
    impossible = item.plausible is not None and not (
        item.plausible[0] <= value <= item.plausible[1]
    )
    first = _against(item, value, band, last, now)
    if impossible or (first.flag >= Flag.WATCH and not sure and _far(value, around.last)):
        slip = likely(item, value, band, around, impossible=impossible)
        if impossible or slip is not None:
            return Judged(
                Flag.CHECK,
                first.sentence,
                _question(item, typed, slip),
                slip,
                impossible,
                Rule.SLIP,
            )
    return first


def value_words(item: Item, seen: Seen, *, bare: bool = False) -> str:
    """A kept value with its unit, as people say it; `bare` leaves the unit out."""
    if seen.value is None:
        return seen.qualifier or "not taken"
    below = "< " if seen.qualifier == "<" else ""
    return below + item.shown(seen.value, seen.typed, bare=bare)


def spread_words(item: Item, seen: list[Seen]) -> str:
    """The range of several readings of one item, with the unit once."""
    show = partial(quantity.show, unit="", decimals=item.decimals)
    ends = sorted(s.value or 0.0 for s in seen)
    low, high = show(ends[0]), show(ends[-1])
    unit = f" {item.unit}" if item.unit else ""
    return f"{low}{unit}" if low == high else f"{low} to {high}{unit}"


def _far(value: float, last: float | None) -> bool:
    """Whether a value is far enough from the last one to be a slip and not a trend."""
    return last is None or abs(value - last) > 0.5 * abs(last)


def _question(item: Item, typed: str, slip: Slip | None) -> str:
    if slip is not None:
        return f"{typed}: {slip.name}? = {item.shown(slip.value)}"
    low, high = item.plausible or (0.0, 0.0)
    return (
        f"{typed} cannot be {item.label} "
        f"({low:g} to {high:g}{' ' + item.unit if item.unit else ''}): type it again"
    )


def _against(
    item: Item, value: float, band: Band | None, last: Seen | None, now: Instant
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
    flag = level(value, band.limits)
    parts = []
    shown = item.shown(value)
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
    if rule is not None and rule.way is not None:
        return Side.HIGH if rule.way is Way.UP else Side.LOW
    if moved:
        return Side.HIGH if moved > 0 else Side.LOW
    return None


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
