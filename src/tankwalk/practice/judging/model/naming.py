"""A change in words: what moved, since when, beside what, and what would tell its causes apart."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.clock import Instant, past
from tankwalk.plan.model import Item
from tankwalk.practice.judging.model.looks import Change, Part
from tankwalk.rows import NamedTuple
from tankwalk.science.changing import Shape
from tankwalk.text import named

MOST_DIGITS = 2
"""Digits more than the item has, that a small change is shown with at most."""


class Facts(NamedTuple):
    """What words need beside the change itself."""

    item: Item
    now: Instant
    meters: tuple[str, ...]
    """Every meter of the item's kind."""
    checked: int | None = None
    """UTC second at which the meter in question last passed its check."""

    def since(self, change: Change) -> str:
        """Since when, always with its day: the record keeps it, and it is read days later."""
        return Instant(change.since, self.now.offset).short()

    def others(self, codes: Sequence[str]) -> tuple[str, ...]:
        """Meters that could be asked besides these."""
        return tuple(code for code in self.meters if code not in codes)


class Words(NamedTuple):
    """Headline, reasons, and what is done before the water is touched; "" for nothing."""

    headline: str
    reasons: tuple[str, ...]
    do: str

    @property
    def sentence(self) -> str:
        """All in one, as the record keeps it."""
        return "; ".join((self.headline, *self.reasons))


def words(change: Change, facts: Facts, value: str = "") -> Words:
    """A change in words; `value` is what was just read there, with its label, for one tank."""
    if change.kind is Part.METER:
        return _meter(change, facts)
    if change.kind is Part.LOOP:
        return _loop(change, facts)
    return _tank(change, facts, value)


def far(change: Change, item: Item) -> str:
    """How far it went and which way, as "down 0.4"."""
    way = "up" if change.size > 0 else "down"
    digits = item.decimals
    while digits < item.decimals + MOST_DIGITS and float(f"{change.size:.{digits}f}") == 0:
        digits += 1
    return f"{way} {abs(change.size):.{digits}f}"


def brief_words(change: Change, item: Item, place: str) -> str:
    """The same change at another tank than `place`, which was told it whole."""
    part = "loop" if change.kind is Part.LOOP else item.instrument or "meter"
    return f"as at {place}: {part} {change.code}, {item.label} {far(change, item)}"


def _tank(change: Change, facts: Facts, value: str) -> Words:
    item = facts.item
    went = f"{far(change, item)} since {facts.since(change)}"
    if change.looks == 1:
        went = f"{far(change, item)} from what it was"
    if change.shape is Shape.RAMP:
        went += f", about {abs(change.a_day):.{item.decimals + 1}f} a day"
    looks = "" if change.looks == 1 else f"in {change.looks} looks"
    beside = "no other tank of its water was read"
    if change.beside:
        tanks = f"{change.beside} other tank{'s' * (change.beside != 1)} of its water"
        beside = f"{_of_these(change)}{tanks} stayed"
        if not change.stayed:
            beside = f"further than {tanks}, which moved too"
    return Words(
        f"{value or f'{item.label} in {change.code}'} {went}",
        ("; ".join(part for part in (looks, beside) if part),),
        _tells_apart(change, facts),
    )


def _of_these(change: Change) -> str:
    """How many of the others stayed, where some did not: "4 of "."""
    return f"{change.stayed} of " if change.stayed < change.beside else ""


def _loop(change: Change, facts: Facts) -> Words:
    where = f"look at loop {change.code}"
    meters = _meters(change)
    if meters:
        where += f", or check meter {' and '.join(meters)} that read them all"
    return Words(
        f"{facts.item.label} {far(change, facts.item)} in {named(change.tanks)} of {change.code}, "
        f"moved together{_when(change, facts)}: {where}",
        (),
        _tells_apart(change, facts),
    )


def _meter(change: Change, facts: Facts) -> Words:
    item = facts.item
    went = f"{item.label} {far(change, item)} in {named(change.tanks)}"
    when = _when(change, facts)
    loops = [one.code for one in change.rivals if one.kind is Part.LOOP]
    if loops:
        return Words(
            f"{went}, moved together{when}: look at loop {' and '.join(loops)}, or check meter "
            f"{change.code} that read them all",
            (),
            _tells_apart(change, facts),
        )
    others = [one.code for one in change.rivals if one.kind is Part.METER]
    same = "" if len(change.tanks) == 1 else ", one meter, same direction"
    meters = " or ".join((change.code, *others))
    reasons = []
    if facts.checked is not None:
        reasons.append(f"last checked {past((facts.now.utc - facts.checked) / 3600)}")
    if change.stayed and not others:
        beside = f"{change.beside} tank{'s' * (change.beside != 1)}"
        reasons.append(f"{_of_these(change)}{beside} by another meter did not move")
    return Words(
        f"{went}{when}{same}: suspect {item.instrument or 'meter'} {meters}",
        tuple(reasons),
        _tells_apart(change, facts),
    )


def _when(change: Change, facts: Facts) -> str:
    return "" if change.looks == 1 else f" since {facts.since(change)}"


def _meters(change: Change) -> list[str]:
    """The meters that could be it, besides what is named."""
    return [one.code for one in change.rivals if one.kind is Part.METER]


def _tells_apart(change: Change, facts: Facts) -> str:
    """What would tell the causes apart, before anything is done to the water."""
    rivals = _meters(change)
    if change.kind is Part.METER:
        if rivals:
            return f"Check meters {' and '.join((change.code, *rivals))} before they are used."
        check = f"check meter {change.code} before it is used"
        other = facts.others((change.code,))
        with_other = f"with meter {other[0]}" if other else "with another meter"
        one = change.tanks[0] if len(change.tanks) == 1 else "one of these"
        return f"Measure {one} {with_other}; {check}."
    if not rivals:
        return ""
    one = change.code if change.kind is Part.TANK else "one of these"
    other = facts.others(rivals)
    if not other:
        return f"Check meter {' and '.join(rivals)} first: it read all that moved."
    return f"Measure {one} with meter {other[0]} first: meter {rivals[0]} read all that moved."
