"""Reading what is planned about cultures, and about the stock that is ordered in time."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.plan.asking import every_days
from tankwalk.plan.fields import Names, PlanRow
from tankwalk.plan.rooms import read_code
from tankwalk.plan.vessels import COUNT_AT, Culture, CultureKind, Ordered

MOST_HARVEST = 0.9
"""No more than this part is taken of a culture in a day: what is left has to grow."""


def read_cultures(rows: Sequence[PlanRow], names: Names) -> tuple[Culture, ...]:
    """The [[culture]] tables, in the order of the plan."""
    return tuple(_culture(row, read_code(row, names, nth)) for nth, row in enumerate(rows, 1))


def _culture(row: PlanRow, code: str) -> Culture:
    kinds = {kind.value: kind for kind in CultureKind}
    kind = row.one_of("kind", kinds, CultureKind.ROTIFERS, need=True)
    row.take("kind", need=True)
    harvest = _above_zero(row, "harvest", "fraction", MOST_HARVEST)
    return Culture(
        code,
        kind,
        row.text("label", limit=40) or "",
        _above_zero(row, "volume", "L"),
        harvest,
        row.time_of_day("count_at") or COUNT_AT,
        row.text("food", limit=40) or "",
        _above_zero(row, "food_per_million", "g"),
        every_days(row, "split_every"),
        row.text("source", limit=120) or "",
    )


def read_stock(rows: Sequence[PlanRow], names: Sequence[Names]) -> tuple[Ordered, ...]:
    """The [[stock]] tables: feeds and lots of cysts, of which more is ordered in time."""
    known = Names("feed or lot of cysts")
    for some in names:
        known.whole = known.whole and some.whole
        known.lines.update(some.lines)
    found: dict[str, tuple[PlanRow, Ordered]] = {}
    for nth, row in enumerate(rows, 1):
        of = row.reference("of", known, need=True)
        row.call(of, nth)
        lead, keep = every_days(row, "lead", need=True), every_days(row, "keep")
        if of is None or lead is None:
            continue
        if of in found:
            line = found[of][0].table.line
            row.fault("of", f"how {of} is ordered already stands on line {line}", "leave one out")
            continue
        found[of] = row, Ordered(of, lead, keep or 0.0)
    return tuple(ordered for _, ordered in found.values())


def _above_zero(row: PlanRow, key: str, unit: str, most: float | None = None) -> float | None:
    """A number above 0 in a unit, and not above `most`."""
    value = row.measure(key, unit)
    if value is None:
        return None
    if value <= 0 or (most is not None and value > most):
        within = "above 0" if most is None else f"above 0 and at most {most:g}"
        row.fault(key, f"{key} {value:g} is not {within}")
        return None
    return value
