"""A frozen value of practice as plain data, for JSON: names as they stand, moments in ISO 8601.

What the plan holds is named by its code, an item with its unit; a level by its word.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, time
from enum import Enum, IntEnum

from tankwalk.clock import Instant
from tankwalk.plan.model import Checklist, Instrument, Item, Loop, Lot, Tank, Treatment

NAMED = (Tank, Loop, Lot, Treatment, Instrument, Checklist)
"""Values of the plan that a code stands for: what else they hold is the plan's."""

Plain = None | bool | int | float | str | list["Plain"] | dict[str, "Plain"]


def plain_value(value: object) -> Plain:
    """Named tuples become objects with the names of their fields; what is unknown, its words."""
    match value:
        case IntEnum():
            return value.name.lower()
        case Enum():
            return str(value.value)
        case None | bool() | int() | float() | str():
            return value
        case Instant():
            return value.iso()
        case date() | time():
            return value.isoformat()
        case Mapping():
            return {str(key): plain_value(one) for key, one in value.items()}
        case tuple() | list():
            fields = getattr(value, "_fields", None)
            if isinstance(value, Item):
                return {"code": value.code, "unit": value.unit}
            if isinstance(value, NAMED):
                return value.code
            if fields is not None:
                pairs = zip(fields, value, strict=True)
                return {str(key): plain_value(one) for key, one in pairs}
            return [plain_value(one) for one in value]
    return str(value)
