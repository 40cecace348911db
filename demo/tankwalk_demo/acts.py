"""What people did, before it is an entry of the record: who, when, where, what they put in."""

from __future__ import annotations

from dataclasses import dataclass

from tankwalk.clock import Instant
from tankwalk.ledger.entries import Detail, Reading
from tankwalk.plan.model import Item
from tankwalk.practice.site import SITE


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """One thing somebody entered. A reading still lacks its band and flag.

    `name` is what later acts call it by; `amends` and `refers` are such names. `late` is how
    many seconds after `at` it was entered. `second` is the second reading taken when the first
    is out of band; without one the same value is measured again.
    """

    kind: str
    who: str
    at: Instant
    detail: Detail
    place: str = SITE
    item: str | None = None
    round: int | None = None
    reason: str | None = None
    late: int = 0
    name: str = ""
    amends: str = ""
    refers: str = ""
    second: Reading | None = None
    more: tuple[Detail, ...] = ()

    @property
    def entered(self) -> int:
        """UTC second at which it was entered: acts become entries in this order."""
        return self.at.utc + self.late


@dataclass(frozen=True, slots=True)
class Answer:
    """What is typed for one slot of a round, and what it means.

    `value` is given where it is not simply the number typed; `unit` is the unit it was typed in
    when that is not the item's; `why` says it was not taken, and then `second` is never asked.
    """

    typed: str = ""
    value: float | None = None
    unit: str | None = None
    why: str | None = None
    below: bool = False
    second: Answer | None = None
    meter: str | None = None
    name: str = ""

    def reading(self, item: Item, meter: str | None, *, again: bool) -> Reading:
        """The reading it makes, not judged yet."""
        if self.why is not None:
            return Reading(None, "", qualifier=self.why, recheck=again)
        value = self.value
        if value is None:
            value = item.read(self.typed).value
        return Reading(
            value,
            self.typed,
            self.unit,
            "<" if self.below else None,
            self.meter or meter,
            recheck=again,
        )
