"""Reading guided procedures: the lab's own recipe for shelling cysts and for disinfecting gear."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.plan.fields import Names, PlanRow
from tankwalk.plan.model import Product
from tankwalk.plan.procedures import Decapsulation, Disinfection
from tankwalk.science.dose_kinds import DoseKind
from tankwalk.science.livefeed import HOTTEST_BATH

DEFAULTS = Decapsulation("", 1.0, 0.0, 1.0)


def read_decapsulation(
    rows: Sequence[PlanRow], names: Names, products: Sequence[Product]
) -> Decapsulation | None:
    """The [decapsulation] table; None where the plan has none.

    No amount is filled in: recipes in print differ more than threefold, and the site's own is
    the one that somebody answers for.
    """
    if not rows:
        return None
    row, usual = rows[0], DEFAULTS
    bleach = _bleach(row, names, products)
    chlorine = _above(row, "chlorine", "g/g", need=True)
    caustic = _measure(row, "caustic", "g/g", need=True)
    volume = _above(row, "volume", "mL/g", need=True)
    start = _measure(row, "start", "degC", usual.start)
    warn = _measure(row, "warn", "degC", usual.warn)
    stop = _measure(row, "stop", "degC", usual.stop)
    if not row.unsure("start", "warn", "stop"):
        if stop > HOTTEST_BATH:
            what = f"stop {stop:g} is above {HOTTEST_BATH:g} degC, where cysts die"
            row.fault("stop", what, f'write stop = "{HOTTEST_BATH:g} degC"')
        elif not start < warn < stop:
            row.fault("warn", f"warn {warn:g} is not between start {start:g} and stop {stop:g}")
    return Decapsulation(
        bleach=bleach or "",
        chlorine=chlorine,
        caustic=caustic,
        volume=volume,
        start=start,
        warn=warn,
        stop=stop,
        minutes=_above(row, "minutes", "min", usual.minutes),
        hydrate=_above(row, "hydrate", "min", usual.hydrate),
        neutralizer=_above(row, "neutralizer", "%", usual.neutralizer),
        cold_days=_above(row, "cold_keeps", "d", usual.cold_days),
        brine_days=_above(row, "brine_keeps", "d", usual.brine_days),
        sop=row.text("sop", limit=80) or "",
    )


def read_disinfection(
    rows: Sequence[PlanRow], names: Names, products: Sequence[Product]
) -> Disinfection | None:
    """The [disinfection] table; None where the plan has none."""
    if not rows:
        return None
    row = rows[0]
    return Disinfection(
        bleach=_bleach(row, names, products) or "",
        chlorine=_above(row, "chlorine", "mg/L", need=True),
        minutes=_above(row, "minutes", "min", need=True),
        neutralizer=_above(row, "neutralizer", "%", DEFAULTS.neutralizer),
        sop=row.text("sop", limit=80) or "",
    )


def _bleach(row: PlanRow, names: Names, products: Sequence[Product]) -> str | None:
    """The product that is poured: a bleach of the plan."""
    code = row.reference("bleach", names, need=True)
    product = next((one for one in products if one.code == code), None)
    if product is not None and product.kind is not DoseKind.BLEACH:
        row.fault(
            "bleach",
            f"bleach names {code}, which is a {product.kind.value} and no bleach",
            'name a product of kind = "bleach"',
        )
    return code


def _measure(row: PlanRow, key: str, unit: str, usual: float = 0.0, *, need: bool = False) -> float:
    """A measure of 0 or more; what is usual where it is not written."""
    value = row.measure(key, unit, need=need)
    if value is None:
        return usual
    if value < 0:
        row.fault(key, f"{key} {value:g} is below 0")
    return value


def _above(row: PlanRow, key: str, unit: str, usual: float = 0.0, *, need: bool = False) -> float:
    """A measure above 0."""
    value = _measure(row, key, unit, usual, need=need)
    if value == 0 and row.has(key) and not row.unsure(key):
        row.fault(key, f"{key} 0 is not above 0")
    return value
