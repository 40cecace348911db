"""Numbers as people and the record write them; `quantity` is the door the other way."""

from __future__ import annotations

import math


def number_text(value: float) -> str:
    """Return a number as the record writes it, to ten significant digits."""
    return f"{value:.10g}"


def show(value: float | None, unit: str, decimals: int) -> str:
    """Return `value` with `decimals` decimals and its unit, as "16.7 degC".

    No value, or one that is not finite, shows as "--"; `unit` is only written, not checked.
    """
    if value is None or not math.isfinite(value):
        return "--"
    # "z" (PEP 682) drops the sign of a negative number that rounds to zero.
    number = f"{value:z.{decimals}f}"
    return f"{number} {unit}" if unit else number


def from_to(low: int, high: int) -> str:
    """Whole numbers from one to another, as "4-9"; one number where both are the same."""
    return f"{low:,}-{high:,}" if low != high else f"{low:,}"


def percent_of(share: float) -> int:
    """A share in whole percent, never rounded up to what there is not: 0.578 is 57."""
    return math.floor(100 * share + 1e-9)
