"""The dead of a tank day by day, as bars beside the count that is entered; they start at zero."""

from __future__ import annotations

from datetime import date, timedelta

from tankwalk.clock import Instant
from tankwalk.pages.lines import Span
from tankwalk.pages.walk_list import newest_of
from tankwalk.practice.round.view import EntryView

DAYS = 12
"""Days that show, today the last of them."""

CELLS = 3
"""Cells of a day."""

_HEIGHTS = " \u2581\u2582\u2583\u2584\u2585\u2586\u2587\u2588"


def by_day(entry: EntryView) -> dict[date, int]:
    """What was counted on each day; of a count and its second one the second alone."""
    found: dict[date, int] = {}
    last: tuple[date, int] | None = None
    for seen in entry.past or ():
        fish, day = int(seen.value or 0), seen.at.day
        if seen.recheck and last is not None and last[0] == day:
            found[day] -= last[1]
        found[day] = found.get(day, 0) + fish
        last = day, fish
    return found


def bars(entry: EntryView, value: float | None, now: Instant, days: int) -> list[list[Span]]:
    """Two rows of bars and their days below; `value` is the count that is typed.

    A typed count takes the place of what this round holds. A day without a count has no bar, one
    that was counted and had none says 0.
    """
    found = by_day(entry)
    held = newest_of(entry.line.held)
    if value is not None:
        mine = 0 if held is None else int(held.value or 0)
        found[now.day] = found.get(now.day, 0) - mine + int(value)
    most = max(found.values(), default=0)
    rows: list[list[Span]] = [[], [], []]
    for back in range(days - 1, -1, -1):
        day = now.day - timedelta(days=back)
        fish = found.get(day)
        level = 0 if not fish or not most else max(1, round(16 * fish / most))
        upper = 2 * _HEIGHTS[max(0, level - 8)]
        lower = " 0" if fish == 0 else 2 * _HEIGHTS[min(8, level)]
        tone = "entry" if back == 0 else "dim"
        rows[0].append(Span(f"{upper} ", tone))
        rows[1].append(Span(f"{lower} ", tone))
        rows[2].append(Span(f"{day.day:>2} ", "dim"))
    return rows
