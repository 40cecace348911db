"""The likely slip behind a number that cannot be, or that is far from what was expected.

A slip is only ever offered by name; nothing is corrected until the person says so.
Source of the list: common practice, no source; out-by-ten slips are the classic ones in number
entry (Thimbleby & Cairns 2010, J. R. Soc. Interface).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

from tankwalk import quantity
from tankwalk.errors import Refusal
from tankwalk.plan.model import Band, Item
from tankwalk.science import oxygen


class Slip(NamedTuple):
    """What the number may have meant: the slip's name and the value it gives, item's unit."""

    name: str
    value: float


class Around(NamedTuple):
    """What is known around the entry: the last value, and the tank's temperature (degC)."""

    last: float | None = None
    temperature: float | None = None
    pressure_mmhg: float = 760.0


_OTHER_UNITS: dict[str, tuple[str, ...]] = {
    "degC": ("degF",),
    "L/min": ("gal/min", "L/h"),
    "cm": ("in",),
    "kPa": ("mmHg", "psi"),
    "bar": ("psi", "kPa"),
    "g": ("mg", "oz"),
    "L": ("gal", "mL"),
}
"""Units that a number kept in the first may have been read in."""


def likely(
    item: Item, value: float, band: Band | None, around: Around, *, impossible: bool
) -> Slip | None:
    """The slip whose value comes nearest to what is expected here; None when none does.

    For a number that cannot be (`impossible`) a slip whose value at least can be is named too.
    """
    can_be = [s for s in _candidates(item, value, around) if _possible(item, s.value)]
    expected = [s for s in can_be if _expected(s.value, band, around.last)]
    if expected and around.last is not None:
        last = around.last
        # Of two slips that give the same, a lost point is the likelier one.
        return min(
            expected,
            key=lambda s: (round(abs(s.value - last), 6), not s.name.startswith("decimal")),
        )
    if expected:
        return expected[0]
    return can_be[0] if impossible and can_be else None


def _candidates(item: Item, value: float, around: Around) -> Iterator[Slip]:
    if item.kind.whole:
        if value >= 10 and value % 10 == 0:
            yield Slip("one zero too many", value / 10)
        return
    for unit in _OTHER_UNITS.get(item.unit, ()):
        found = _converted(value, unit, item.unit)
        if found is not None:
            yield Slip(unit, found)
    if item.code == "do" and around.temperature is not None:
        full = _saturation(around.temperature, around.pressure_mmhg)
        if full is not None:
            yield Slip("% of saturation", value / 100 * full)
    shift: tuple[tuple[str, Callable[[float], float]], ...] = (
        ("decimal point missing", lambda v: v / 10),
        ("decimal point missing", lambda v: v / 100),
        ("decimal point one place early", lambda v: v * 10),
    )
    for name, change in shift:
        yield Slip(name, change(value))


def _converted(value: float, unit: str, to: str) -> float | None:
    try:
        return quantity.convert(value, unit, to)
    except Refusal:
        return None


def _saturation(temperature: float, pressure: float) -> float | None:
    try:
        return oxygen.saturation(temperature, 0.0, pressure)
    except Refusal:
        return None


def _possible(item: Item, value: float) -> bool:
    return item.plausible is None or item.plausible[0] <= value <= item.plausible[1]


def _expected(value: float, band: Band | None, last: float | None) -> bool:
    """Whether a value is what one would expect: near the last one, else inside the band."""
    if last is not None:
        return abs(value - last) <= max(0.15 * abs(last), 0.05)
    if band is not None:
        low, high = band.limits.watch_below, band.limits.watch_above
        return (low is None or value >= low) and (high is None or value <= high)
    return False
