"""Reading the trial: its question, owner, primary measure, level, days, and why n is tanks."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.plan.fields import Names, PlanRow, quoted
from tankwalk.plan.trial import ALPHA, CENSUS, NO_FISH, TANK, Trial


def read_trial(rows: Sequence[PlanRow], people: Names) -> Trial | None:
    """The [trial] table; None where the site runs none."""
    if not rows:
        return None
    row = rows[0]
    unit = row.text("unit")
    if unit is not None and unit.strip().casefold() != TANK:
        row.fault("unit", f"unit {quoted(unit)} cannot be. {NO_FISH}", f'write unit = "{TANK}"')
    alpha = row.measure("alpha", "")
    if alpha is not None and not 0.001 <= alpha <= 0.2:
        row.fault("alpha", f"alpha {alpha:g} is not between 0.001 and 0.2", "write alpha = 0.05")
    start, end = row.day("start"), row.day("end")
    if start is not None and end is not None and end < start:
        row.fault("end", f"end {end} is before start {start}", "write the later day as end")
    wanted = row.measure("wanted", "")
    if wanted is not None and wanted <= 0:
        row.fault("wanted", f"wanted {wanted:g} is no difference", "write one above 0")
    return Trial(
        code=row.code("code", need=True) or "",
        question=row.text("question", limit=120) or "",
        owner=row.reference("owner", people) or "",
        primary=row.text("primary", limit=40) or CENSUS,
        alpha=ALPHA if alpha is None else alpha,
        start=start,
        end=end,
        stopping=row.text("stopping", limit=200) or "",
        wanted=wanted,
    )
