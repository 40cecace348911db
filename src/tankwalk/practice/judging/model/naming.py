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


def _tank(change: Change, facts: Facts, value: str) -> Words:
    item = facts.item
    went = f"{far(change, item)} since {facts.since(change)}"
    if change.looks == 1:
        went = f"{far(change, item)} from what it was"
    if change.shape is Shape.RAMP:
        went += f", about {abs(change.a_day):.{item.decimals + 1}f} a day"
    looks = "" if change.looks == 1 else f"in {change.looks} looks"
    tanks = "1 other tank" if change.beside == 1 else f"{change.beside} other tanks"
    beside = f"{tanks} of its water stayed"
    if not change.beside:
        beside = "no other tank of its water was read"
    return Words(
        f"{value or f'{item.label} in {change.code}'} {went}",
        ("; ".join(part for part in (looks, beside) if part),),
        _tells_apart(change, facts),
    )


def _loop(change: Change, facts: Facts) -> Words:
    item, count = facts.item, len(change.tanks)
    where = f"look at loop {change.code}"
    meters = _meters(change)
    if meters:
        where += f", or check meter {' and '.join(meters)} that read them all"
    return Words(
        f"{count} tanks of {change.code} moved together: {item.label} {far(change, item)} in "
        f"{named(change.tanks)}{_when(change, facts)}: {where}",
        (),
        _tells_apart(change, facts),
    )


def _meter(change: Change, facts: Facts) -> Words:
    item = facts.item
    kind = item.instrument or "meter"
    count = len(change.tanks)
    ago = "" if facts.checked is None else (facts.now.utc - facts.checked) / 3600
    checked = "" if facts.checked is None else f", last checked {past(float(ago))}"
    loops = [one.code for one in change.rivals if one.kind is Part.LOOP]
    if loops:
        return _loop(change._replace(code=" and ".join(loops), rivals=()), facts)._replace(
            headline=(
                f"{count} tanks moved together: {item.label} {far(change, item)} in "
                f"{named(change.tanks)}{_when(change, facts)}: look at loop {' and '.join(loops)}, "
                f"or check meter {change.code} that read them all"
            ),
            do=_tells_apart(change, facts),
        )
    others = [one.code for one in change.rivals if one.kind is Part.METER]
    tanks = "1 tank" if count == 1 else f"{count} tanks"
    same = "" if count == 1 else ", one meter, same direction"
    other = f" or {' or '.join(others)}" if others else ""
    beside = "1 tank" if change.beside == 1 else f"{change.beside} tanks"
    still = f"; {beside} by another meter did not move" if change.beside and not others else ""
    return Words(
        f"{tanks}{same}: suspect {kind} {change.code}{other}{checked}. "
        f"{item.label} {far(change, item)} in {named(change.tanks)}{_when(change, facts)}{still}",
        (),
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
