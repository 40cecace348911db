"""When a meter passes its check: the right value, give or take, in numbers and in words."""

from __future__ import annotations

import math

from tankwalk.errors import Refusal
from tankwalk.plan.model import Instrument


def right_value(meter: Instrument, reference: float | None = None) -> float:
    """What a meter should show when it is checked; Refusal where the plan does not say."""
    right = meter.reference if reference is None else reference
    if right is None or meter.within is None or not math.isfinite(right):
        raise Refusal(
            f"The plan says not when meter {meter.code} passes its check: nothing was kept. "
            "Give it check, reference and within in plan.toml."
        )
    return right


def passes(meter: Instrument, value: float, right: float) -> bool:
    """Whether a value, in the unit of the check, is right give or take what the plan allows.

    A value at the limit passes. Refusal for one that is no number.
    """
    if not math.isfinite(value):
        raise Refusal("That is no number: nothing was kept. Type what the meter shows.")
    return round(abs(value - right) - (meter.within or 0.0), 9) <= 0


def limits(meter: Instrument, right: float) -> tuple[float, float]:
    """The lowest and the highest value that passes."""
    within = meter.within or 0.0
    return round(right - within, 9), round(right + within, 9)


def decimals(meter: Instrument) -> int:
    """Decimals a checked value is shown with: one more than its limits need."""
    within = meter.within or 1.0
    return max(0, min(4, 1 - math.floor(round(math.log10(within), 9))))


def shown(meter: Instrument, value: float) -> str:
    """A checked value with its unit."""
    unit = f" {meter.check_unit}" if meter.check_unit else ""
    return f"{value:.{decimals(meter)}f}{unit}"


def limits_words(meter: Instrument, right: float) -> str:
    """What passes, in words: "98 to 102 %"."""
    low, high = limits(meter, right)
    if meter.reference != right:
        return f"{shown(meter, low).split(' ')[0]} to {shown(meter, high)}"
    return f"{low:g} to {high:g}" + (f" {meter.check_unit}" if meter.check_unit else "")


def against(meter: Instrument, value: float, right: float) -> str:
    """A value and what passes: "110.0 %, outside 98 to 102 %"."""
    where = "within" if passes(meter, value, right) else "outside"
    return f"{shown(meter, value)}, {where} {limits_words(meter, right)}"
