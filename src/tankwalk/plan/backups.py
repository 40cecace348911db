"""Where backups go and which are kept, as values; and the [backup] table read."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from tankwalk.plan.fields import PlanRow

MOST_DAYS = 3660
MOST_MONTHS = 1200


class Backups(NamedTuple):
    """Where a second backup goes, and for how long backups are kept.

    All of the last `keep_all` days, the last of each of `keep_days` days, and of `keep_months`
    months. Two days, 30 days and ten years are common practice, no source.
    """

    second: str = ""
    """A folder on another disk or stick; "" where none is named."""
    keep_all: int = 2
    keep_days: int = 30
    keep_months: int = 120


def read_backups(rows: Sequence[PlanRow]) -> Backups:
    """The [backup] table; what it leaves out is as everywhere."""
    usual = Backups()
    if not rows:
        return usual
    row = rows[0]
    second = row.text("second", limit=200) or ""
    if second and not second.startswith(("/", "~", "\\\\")) and second[1:3] not in (":\\", ":/"):
        row.fault(
            "second",
            f"second {second[:40]!r} does not say where it is from the top of the disk",
            'write it whole, such as second = "/media/stick/tankwalk"',
        )
    return Backups(
        second,
        row.whole("keep_all", usual.keep_all, 1, MOST_DAYS),
        row.whole("keep_days", usual.keep_days, 1, MOST_DAYS),
        row.whole("keep_months", usual.keep_months, 0, MOST_MONTHS),
    )
