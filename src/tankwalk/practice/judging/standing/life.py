"""The life of a flag: which readings are one look, and when looks raise and clear a flag.

What a second reading confirmed is an event: a later look is a later look, and takes nothing back.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Generic, NamedTuple, Protocol, TypeVar

from tankwalk.ledger.readings import ValueSeen
from tankwalk.plan.model import Item, Limits
from tankwalk.practice.judging.verdict import Flag

OF_THE_BAND = 0.1
"""The deadband is never more than this part of the band."""
LOOKS_APART_S = 120
"""Looks in band that are closer than this are one look. Common practice, no source."""


class Kept(Protocol):
    """What of a reading says whether it is a first reading, a second one or a look of its own."""

    @property
    def flag(self) -> int: ...
    @property
    def recheck(self) -> bool: ...


T = TypeVar("T", bound=Kept)


class Look(NamedTuple, Generic[T]):
    """One look at an item: the reading that counts, and the first one it answered, if any."""

    reading: T
    first: T | None = None

    @property
    def confirmed(self) -> bool:
        """Whether a second reading found what the first had found: that is an event."""
        return self.first is not None and self.reading.flag >= Flag.WATCH


def looks_of(
    item: Item, readings: Sequence[T], together: Callable[[T, T], bool] = lambda _a, _b: True
) -> list[Look[T]]:
    """Readings, oldest first, as looks: a second reading counts in place of the first.

    A second reading answers one that was out of band and that nothing has answered yet; what is
    read after that is a look of its own. What is worked out from a second reading takes the place
    of what was worked out from the first, which needed no answer where it was in band itself.
    `together` says whether two are of one round.
    """
    found: list[Look[T]] = []
    for one in readings:
        last = found[-1] if found else None
        if (
            item.kind.read_twice
            and one.recheck
            and last is not None
            and last.first is None
            and (last.reading.flag >= Flag.WATCH or item.derived)
            and together(last.reading, one)
        ):
            found[-1] = Look(one, last.reading if last.reading.flag >= Flag.WATCH else None)
        else:
            found.append(Look(one))
    return found


def _of_one_round(one: ValueSeen, other: ValueSeen) -> bool:
    return one.round == other.round


class Life(NamedTuple):
    """Where a flag is in its life after some looks; `raised` None: there is none."""

    raised: int | None = None
    """UTC second of the look that raised it."""
    newest: ValueSeen | None = None
    in_band: int = 0
    level: int = 0
    """How serious it is: what went beyond the action limit stays as bad until it is back inside."""


def life(item: Item, looks: Sequence[ValueSeen], limits: Callable[[int], Limits | None]) -> Life:
    """Follow a flag through looks, oldest first: raised, standing, cleared.

    `limits` gives the band that was in force at a UTC second. Looks in band count where they are
    `LOOKS_APART_S` apart: the same moment read twice is one look.
    """
    now, counted = Life(), 0
    for look, _ in looks_of(item, looks, _of_one_round):
        if look.flag >= Flag.WATCH:
            begun = look.at if now.raised is None else now.raised
            level = max(now.level, look.flag) if look.flag >= Flag.ACT else look.flag
            now = Life(begun, look, level=level)
        elif now.raised is not None and well_inside(item, look.value, limits(look.at)):
            if now.in_band and look.at - counted < LOOKS_APART_S:
                continue
            counted = look.at
            now = now._replace(in_band=now.in_band + 1)
            if now.in_band >= item.kind.looks_to_clear:
                now = Life()
    return now


def well_inside(item: Item, value: float, limits: Limits | None) -> bool:
    """Whether a value is inside its band by the deadband."""
    if limits is None or not item.kind.deadband:
        return True
    low, high = limits.watch_below, limits.watch_above
    step = item.deadband
    if low is not None and high is not None:
        most = OF_THE_BAND * (high - low)
        step = most if step is None else min(step, most)
    step = step or 0.0
    return (low is None or round(value - low - step, 9) >= 0) and (
        high is None or round(high - step - value, 9) >= 0
    )
