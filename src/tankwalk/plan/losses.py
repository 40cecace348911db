"""Reading the [[loss]] tables: how many fish are expected to die in a day, by age."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.plan.fields import Names, PlanRow
from tankwalk.plan.loss_model import Loss

MOST_PERCENT = 50.0
"""More in a day is no loss that anybody plans."""


def read_losses(
    rows: Sequence[PlanRow], lots: Names, species: Names, treatments: Names
) -> tuple[Loss, ...]:
    """The [[loss]] tables of a plan."""
    found: list[Loss] = []
    for nth, row in enumerate(rows, 1):
        if isinstance(said := row.table.values.get("species"), str):
            row.table.values["species"] = said.casefold()
        lot, kind = row.reference("lot", lots), row.reference("species", species)
        treatment = row.reference("treatment", treatments)
        row.call(lot or kind or treatment, nth)
        if row.has("lot") and row.has("species"):
            row.fault("species", "lot and species are given", "leave out one of them")
        one = read_loss(row, lot, kind, treatment)
        if one is None:
            continue
        for other in found:
            same = (other.lot, other.species, other.treatment) == (lot, kind, treatment)
            if same and one.meets(other):
                what = f"these ages already have the loss on line {other.line}"
                row.fault("dph", what, "let every age have one")
        found.append(one)
    return tuple(found)


def read_loss(
    row: PlanRow, lot: str | None, species: str | None, treatment: str | None = None
) -> Loss | None:
    """One table, checked; None for one without ages or a number."""
    ages = row.ages()
    if ages is None and not row.has("dph"):
        row.fault("dph", "dph is missing")
    percent = row.measure("percent", "%", need=True)
    if percent is not None and not 0 < percent <= MOST_PERCENT:
        row.fault("percent", f"percent {percent:g} is not above 0 and up to {MOST_PERCENT:g} a day")
        percent = None
    source = row.text("source", need=True, limit=200)
    if ages is None or percent is None or row.unsure("treatment"):
        return None
    return Loss(ages, percent, source or "", lot, species, treatment, row.table.line)
