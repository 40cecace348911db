"""The likely slip behind a number that cannot be, or that is far from what was expected.

A slip is only ever offered by name; nothing is corrected until the person says so.
Source of the list: common practice, no source; out-by-ten slips are the classic ones in number
entry (Thimbleby & Cairns 2010, J. R. Soc. Interface).
"""

from __future__ import annotations

from collections.abc import Iterator
from enum import Enum

from tankwalk import quantity
from tankwalk.errors import Refusal
from tankwalk.plan.model import Band, Item
from tankwalk.rows import NamedTuple
from tankwalk.science import oxygen


class SlipKind(Enum):
    """How a number came to be another than was meant; the value is the record's word for it."""

    UNIT = "unit"
    SATURATION = "% of saturation"
    POINT = "decimal point misplaced"
    ZERO = "one zero too many"
    COUNTED = "counted already"


class Slip(NamedTuple):
    """What the number may have meant: which slip, and the value it gives in the item's unit.

    `unit` is the one it may have been read in, where it is a slip of unit.
    """

    kind: SlipKind
    value: float
    unit: str = ""

    @property
    def name(self) -> str:
        """The slip as the record keeps it beside what was typed."""
        return self.unit or self.kind.value


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
    expected = [s for s in can_be if _expected(item, s.value, band, around.last)]
    if expected and around.last is not None:
        last = around.last
        # Oxygen in % of saturation is near ten times its mg/L, so that a lost point fits as well:
        # the meter shows both, and whoever reads the wrong line types what it says.
        percent = next((s for s in expected if s.kind is SlipKind.SATURATION), None)
        if percent is not None:
            return percent
        # Of two slips that give the same, a lost point is the likelier one.
        return min(
            expected,
            key=lambda s: (round(abs(s.value - last), 6), s.kind is not SlipKind.POINT),
        )
    if expected:
        return expected[0]
    return can_be[0] if impossible and can_be else None


def _candidates(item: Item, value: float, around: Around) -> Iterator[Slip]:
    if item.kind.whole:
        if value >= 10 and value % 10 == 0:
            yield Slip(SlipKind.ZERO, value / 10)
        return
    for unit in _OTHER_UNITS.get(item.unit, ()):
        found = _converted(value, unit, item.unit)
        if found is not None:
            yield Slip(SlipKind.UNIT, found, unit)
    if item.code == "do" and around.temperature is not None:
        full = _saturation(around.temperature, around.pressure_mmhg)
        if full is not None:
            yield Slip(SlipKind.SATURATION, value / 100 * full)
    if item.unit == "" and item.decimals == 0:
        return  # a score has no decimal point to misplace
    for moved in (value / 10, value / 100, value * 10):
        yield Slip(SlipKind.POINT, moved)


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


def _expected(item: Item, value: float, band: Band | None, last: float | None) -> bool:
    """Whether a value is what one would expect: near the last one, else inside the band.

    Near is by a part of it, or by half of the item's last digit where that part is less.
    """
    if last is not None:
        return abs(value - last) <= max(0.15 * abs(last), 0.5 * 10.0**-item.decimals)
    if band is not None:
        limits = band.limits
        lows = (limits.watch_below, limits.act_below, limits.urgent_below)
        highs = (limits.watch_above, limits.act_above, limits.urgent_above)
        return all(low is None or value >= low for low in lows) and all(
            high is None or value <= high for high in highs
        )
    return False
