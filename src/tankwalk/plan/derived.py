"""What is worked out and not measured: NH3-N, oxygen saturation, CO2, exchanges, stocking density.

Each is an item of the plan like any other, so that it has a unit, a band and a first response; it
is never asked. It is there when the plan asks for its parts. A site that measures one of them
itself (an item of the same code) has that, and nothing is worked out.
"""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.plan.model import Item, Level, Steps
from tankwalk.rows import NamedTuple

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
    when_low: Steps = ()
    when_high: Steps = ()

    @property
    def items(self) -> tuple[tuple[str, str], ...]:
        """All parts, needed or not."""
        return self.parts + self.optional


DERIVATIONS: tuple[Derivation, ...] = (
    Derivation(
        "sat", "O2 saturation", "%", 0, "oxygen-percent",
        (("oxygen", "do"), ("temperature", "temp")),
        (("salinity", "salinity"), ("pressure", "baro")), ("elevation",),
        ("open oxygen or air", "stop the feed", "clear the screen", "restore flow",
         "read in 5 min"),
        ("turn the oxygen down", "check the probe", "measure total gas",
         "look for air in the pump"),
    ),
    Derivation(
        "nh3n", "NH3-N", "mg/L as N", 4, "ammonia",
        (("tan", "tan"), ("ph", "ph"), ("temperature", "temp")), (("salinity", "salinity"),), (),
        (),
        ("stop feed and buffer", "exchange with tempered water free of chlorine",
         "keep the pH down"),
    ),
    Derivation(
        "co2", "CO2", "mg/L", 1, "carbon-dioxide",
        (("ph", "ph"), ("alkalinity", "alk"), ("temperature", "temp")), (), (),
        ("check the pH meter",),
        ("work out NH3-N first, for pH will rise", "then raise the air",
         "check blower, degasser"),
    ),
    Derivation(
        "exch", "Exchanges", "per h", 2, "exchange", (("flow", "flow"),), (), ("volume",),
        ("clear valve and nozzle", "look at header and neighbors", "measure oxygen"),
        ("turn the valve back slowly", "look for larvae on the screen",
         "see that neighbors have flow"),
    ),
    Derivation(
        "density", "Stocking density", "per L", 1, "stocking-density", (("dead", "morts"),), (),
        ("number", "volume"),
        ("count again: think of cannibals or a lost screen", "look in the drain"),
        ("count again before thinning", "ask the study owner"),
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
                when_low=one.when_low,
                when_high=one.when_high,
                derived=one.calculator,
            )
        )
    return tuple(found)
