"""The dead of a tank day by day, as bars beside the count that is entered; they start at zero."""

from __future__ import annotations

from datetime import date, timedelta

from tankwalk.clock import Instant
from tankwalk.figures import from_to
from tankwalk.ledger.readings import Seen
from tankwalk.pages.lines import Span
from tankwalk.pages.walk_list import newest_of
from tankwalk.practice.round.view import EntryView

DAYS = 12
"""Days that show, today the last of them."""

CELLS = 3
"""Cells of a day."""

_HEIGHTS = " \u2581\u2582\u2583\u2584\u2585\u2586\u2587\u2588"


def told(
    entry: EntryView, first: Seen | None, value: float | None, now: Instant
) -> list[tuple[str, str]]:
    """What stands beside the bars, with its tone: today's dead, the usual day, the other tanks.

    `first` is the count that a second one is asked of.
    """
    dead = entry.dead
    if dead is None:
        return []
    found = []
    today = of_today(entry, value, now)
    if today is not None:
        found.append((f"{today} today", "entry" if value is not None else "bold"))
    if dead.usual is not None:
        found.append((f"{from_to(dead.usual.low, dead.usual.high)} usual", "dim"))
    if first is not None:
        found.append((f"first {int(first.value or 0)}", "bold"))
    elif dead.others is not None:
        found.append((f"{from_to(*dead.others)} others", "dim"))
    return found


def _by_day(entry: EntryView) -> dict[date, int]:
    days = () if entry.dead is None else entry.dead.days
    return {one.day: one.fish for one in days if one.fish is not None}


def of_today(entry: EntryView, value: float | None, now: Instant) -> int | None:
    """The dead of today; a count that is typed takes the place of what this round holds."""
    found = _by_day(entry)
    if value is None:
        return found.get(now.day)
    held = newest_of(entry.line.held)
    mine = 0 if held is None else int(held.value or 0)
    return found.get(now.day, 0) - mine + int(value)


def bars(entry: EntryView, value: float | None, now: Instant, days: int) -> list[list[Span]]:
    """Two rows of bars and their days below; `value` is the count that is typed.

    A typed count takes the place of what this round holds. A day without a count has no bar, one
    that was counted and had none says 0.
    """
    found = _by_day(entry)
    today = of_today(entry, value, now)
    if today is not None:
        found[now.day] = today
    most = max(found.values(), default=0)
    upper, lower, below = "", "", ""
    for back in range(days - 1, -1, -1):
        day = now.day - timedelta(days=back)
        fish = found.get(day)
        level = 0 if not fish or not most else max(1, round(16 * fish / most))
        upper += 2 * _HEIGHTS[max(0, level - 8)] + " "
        lower += " 0 " if fish == 0 else 2 * _HEIGHTS[min(8, level)] + " "
        below += f"{day.day:>2} "
    drawn = [[Span(row[:-CELLS], "dim"), Span(row[-CELLS:], "entry")] for row in (upper, lower)]
    return [*drawn, [Span(below, "dim")]]
