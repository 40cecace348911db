"""Reading the [judging] table: numbers of judging that a site sets itself, each within bounds."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.plan.fields import Names, PlanRow
from tankwalk.plan.judging import LIMITS, JudgingLimits


def read_judging(rows: Sequence[PlanRow], people: Names) -> JudgingLimits:
    """The [judging] table; what it leaves out is as everywhere."""
    usual = JudgingLimits()
    if not rows:
        return usual
    row = rows[0]
    said = usual._asdict() | {key: _number(row, key) for key in LIMITS}
    own = JudgingLimits(**said)
    if own.reference_most < own.reference_looks and not row.unsure(*LIMITS):
        row.fault(
            "reference_most",
            f"reference_most {own.reference_most} is less than reference_looks "
            f"{own.reference_looks}",
            f"write reference_most = {max(usual.reference_most, own.reference_looks)}",
        )
    if own != usual and not row.has("source"):
        row.fault("source", "source is missing, and a number here is the site's own")
    return own._replace(
        owner=row.reference("owner", people) or "",
        source=row.text("source", limit=200) or usual.source,
        dated=row.day("dated"),
    )


def _number(row: PlanRow, key: str) -> float:
    """One number of the table within its bounds; its usual value where it is wrong or missing."""
    known = LIMITS[key]
    whole = isinstance(known.usual, int)
    if whole:
        return row.whole(key, int(known.usual), int(known.low), int(known.high))
    value = row.measure(key, "")
    if value is None:
        return known.usual
    if not known.low <= value <= known.high:
        row.fault(
            key,
            f"{key} {value:g} is not between {known.low:g} and {known.high:g}",
            f"write {key} = {known.usual:g}, which is: {known.what}",
        )
        return known.usual
    return value
