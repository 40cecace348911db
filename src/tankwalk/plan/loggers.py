"""Loggers: machines that write values by themselves; where each hangs, and what it may be off."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from tankwalk.clock import zone
from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from tankwalk.plan.fields import Names, PlanRow
    from tankwalk.plan.model import Item, Plan


class Logger(NamedTuple):
    """A logger: its place and item where its files do not say them, "" where they do.

    `within` is what it may be off, in the item's unit; `zone` what its clock is set to, a zone or
    an offset such as "-05:00", "" for the site's clock.
    """

    code: str
    label: str = ""
    place: str = ""
    item: str = ""
    within: float | None = None
    zone: str = ""


def find_logger(plan: Plan, code: str) -> Logger | None:
    """The logger of a code; None for what the plan does not have."""
    return next((one for one in plan.loggers if one.code == code), None)


def read_loggers(
    rows: Sequence[PlanRow],
    tanks: Names,
    loops: Names,
    names: Names,
    items: Mapping[str, Item],
) -> tuple[Logger, ...]:
    """The [[logger]] tables."""
    from tankwalk.plan.fields import Names

    known = Names("logger")
    made = []
    for nth, row in enumerate(rows, 1):
        code = row.code("code", need=True)
        row.call(code, nth)
        known.declare(row, "code", code)
        place = row.code("place") or ""
        if place and place != "site" and place not in tanks and place not in loops:
            row.fault("place", f"place {place!r} is no tank and no loop of this plan")
        code_of = row.reference("item", names) or ""
        item = items.get(code_of)
        within = None
        if row.has("within") and not code_of:
            row.fault("within", "within says how far an item may be off, and item is missing")
        elif item is not None:
            within = row.measure("within", item.unit, difference=True)
        if within is not None and within <= 0:
            row.fault("within", f"within {within:g} is not above 0", "leave the line out")
        if item is not None and item.kind.by_words:
            row.fault("item", f"item {item.code} is answered in words, and a logger writes numbers")
        said = row.text("zone", limit=40) or ""
        if said and not _known_zone(said):
            row.fault("zone", f"zone {said!r} is not known here, and is no offset such as -05:00")
        label = row.text("label", limit=60) or ""
        made.append(Logger(code or "", label, place, code_of, within, said))
    return tuple(made)


def _known_zone(words: str) -> bool:
    """Whether words are the name of a time zone, or an offset from UTC."""
    if re.fullmatch(r"UTC|GMT|[-+](?:0\d|1[0-4]):[0-5]\d", words):
        return True
    try:
        zone(words)
    except Refusal:
        return False
    return True
