"""A frozen value of practice as plain data, for JSON: names as they stand, moments in ISO 8601."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, time
from enum import Enum

from tankwalk.clock import Instant

Plain = None | bool | int | float | str | list["Plain"] | dict[str, "Plain"]


def plain_value(value: object) -> Plain:
    """Named tuples become objects with the names of their fields; what is unknown, its words."""
    match value:
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
            if fields is not None:
                pairs = zip(fields, value, strict=True)
                return {str(key): plain_value(one) for key, one in pairs}
            return [plain_value(one) for one in value]
    return str(value)
