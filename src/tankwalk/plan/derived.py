"""What is worked out and not measured: NH3-N, oxygen saturation, CO2, exchanges, stocking density.

Each is an item of the plan like any other, so that it has a unit, a band and a first response; it
is never asked. It is there when the plan asks for its parts. A site that measures one of them
itself (an item of the same code) has that, and nothing is worked out.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from tankwalk.plan.model import Item, Level

MAX_AGE_HOURS = 2.0
"""A part older than this is not used, unless the plan's site says otherwise. Common practice."""


class Derivation(NamedTuple):
    """How one derived item is worked out.

    `parts` and `optional` pair an input of the calculator with the code of the item that gives it;
    an optional part is used where the plan has it and it is fresh. `facts` are inputs the plan or
    the stock gives: "volume", "elevation" (only where no barometer is read), "number".
    """

    code: str
    label: str
    unit: str
    decimals: int
    calculator: str
    parts: tuple[tuple[str, str], ...]
    optional: tuple[tuple[str, str], ...] = ()
    facts: tuple[str, ...] = ()
    first_response: str = ""

    @property
    def items(self) -> tuple[tuple[str, str], ...]:
        """All parts, needed or not."""
        return self.parts + self.optional


DERIVATIONS: tuple[Derivation, ...] = (
    Derivation(
        "sat", "O2 saturation", "%", 0, "oxygen-percent",
        (("oxygen", "do"), ("temperature", "temp")),
        (("salinity", "salinity"), ("pressure", "baro")), ("elevation",),
        "Below: screen, flow, oxygen. Above 105: air drawn in by a pump, or the probe.",
    ),
    Derivation(
        "nh3n", "NH3-N", "mg/L as N", 4, "ammonia",
        (("tan", "tan"), ("ph", "ph"), ("temperature", "temp")), (("salinity", "salinity"),), (),
        "Stop the feed and exchange water; do not raise the pH; look for a dose of the last hours.",
    ),
    Derivation(
        "co2", "CO2", "mg/L", 1, "carbon-dioxide",
        (("ph", "ph"), ("alkalinity", "alk"), ("temperature", "temp")), (), (),
        "Degas: blower, air, flow; the pH must be of water just taken.",
    ),
    Derivation(
        "exch", "Exchanges", "per h", 2, "exchange", (("flow", "flow"),), (), ("volume",),
        "Set the flow; look at the valve, the header and the neighbors.",
    ),
    Derivation(
        "density", "Stocking density", "per L", 1, "stocking-density", (("dead", "morts"),), (),
        ("number", "volume"),
        "Between counts the number of fish is an estimate: look before you thin out.",
    ),
)  # fmt: skip
"""Every derived item, in the order it is shown."""

BY_CODE = {d.code: d for d in DERIVATIONS}

UNITS = {d.code: d.unit for d in DERIVATIONS}
"""Unit of each derived item."""


def derived_items(asked: Sequence[Item]) -> tuple[Item, ...]:
    """Derived items whose parts a plan asks for, and which it does not ask for itself."""
    level = {item.code: item.level for item in asked}
    found = []
    for one in DERIVATIONS:
        if one.code in level or any(code not in level for _, code in one.parts):
            continue
        levels = {level[code] for _, code in one.parts}
        if Level.SITE in levels:
            continue
        found.append(
            Item(
                one.code,
                one.label,
                level=Level.TANK if Level.TANK in levels else Level.LOOP,
                unit=one.unit,
                decimals=one.decimals,
                first_response=one.first_response,
                derived=one.calculator,
            )
        )
    return tuple(found)
