"""Reading what is planned for when something is wrong: who is on call, and when one looks again."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.plan.asking import weekdays
from tankwalk.plan.fields import Names, PlanRow
from tankwalk.plan.model import Item
from tankwalk.plan.on_call import LOOKS, Looks, OnCall

SHORTEST_MIN = 1.0
LONGEST_MIN = 7 * 24 * 60.0
"""Bounds of the time until one looks again."""


def read_on_call(rows: Sequence[PlanRow], people: Names) -> tuple[OnCall, ...]:
    """The [[on_call]] tables, in order: of several that cover a moment the first holds."""
    found = []
    for nth, row in enumerate(rows, 1):
        who = row.reference("who", people, need=True)
        row.call(who, nth)
        start, end = row.time_of_day("from", need=True), row.time_of_day("to", need=True)
        days = weekdays(row)
        if who is not None and start is not None and end is not None:
            found.append(OnCall(who, start, end, days))
    return tuple(found)


def read_looks(rows: Sequence[PlanRow]) -> Looks:
    """The [looks] table; what it leaves out is as everywhere."""
    if not rows:
        return LOOKS
    said = _looks(rows[0])
    return Looks(
        *(own if own is not None else usual for own, usual in zip(said, LOOKS, strict=True))
    )


def with_looks(items: Sequence[Item], rows: Sequence[PlanRow]) -> tuple[Item, ...]:
    """The items, with the minutes that those have which are looked at sooner or later."""
    return tuple(
        item._replace(looks=_looks(row, "look_")) for item, row in zip(items, rows, strict=True)
    )


def _looks(row: PlanRow, prefix: str = "") -> Looks:
    """Minutes until one looks again, by level, as one table says them."""
    return Looks(*(_minutes(row, f"{prefix}{level}") for level in Looks._fields))


def _minutes(row: PlanRow, key: str) -> float | None:
    minutes = row.measure(key, "min")
    if minutes is None or SHORTEST_MIN <= minutes <= LONGEST_MIN:
        return minutes
    row.fault(key, f"{key} of {minutes:g} min is not between a minute and a week")
    return None
