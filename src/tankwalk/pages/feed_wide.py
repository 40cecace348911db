"""What a wide page adds to the list of a meal: how each tank ate, and the meals of the day."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk import text
from tankwalk.figures import show
from tankwalk.pages.lines import Line, Span, blank
from tankwalk.pages.walk_list import Canvas
from tankwalk.pages.when import at_words
from tankwalk.plan.model import Feed, Item
from tankwalk.practice.feeding.dispensing import LAST_MEALS, Looked, OfDay, Total
from tankwalk.practice.feeding.meals import feed_words
from tankwalk.practice.meal.list_view import ListView

WIDE = 110
"""From this width on there is room for it."""

SIGNS = "\u00b7\u2584\u2588"
"""As it should be, the second word of an item, and every word after it."""

TONES = dict(zip(SIGNS, ("past", "plain", "bold"), strict=True))
"""How loud each sign is: what is worse stands out, and no sign is louder than what is made up."""

STRIP, GAP = 2 * LAST_MEALS - 1, 4
"""Cells of the looks of an item, a blank between them, and between two items."""

WORDS = 20
"""Cells that stay for the last looks in words."""


def strips(view: ListView, start: int, width: int) -> list[Item]:
    """The items whose looks are drawn from a cell on: those answered by words, as many as fit."""
    if width < WIDE:
        return []
    items: list[Item] = []
    for row in view.rows:
        items += [one.item for one in row.last if one.item not in items]
    worded = [one for one in items if one.kind.by_words]
    return worded[: max(0, (width - start - WORDS) // (STRIP + GAP))]


def titles(row: Canvas, items: Sequence[Item], start: int) -> int:
    """The heads of the strips; returns the cell after them."""
    for item in items:
        row.put(start, Span(text.fit(item.label.casefold(), STRIP + GAP - 1), "dim"))
        start += STRIP + GAP
    return start


def looks(row: Canvas, last: Sequence[Looked], items: Sequence[Item], start: int) -> int:
    """The looks of a tank, newest right, a cell each; returns the cell after them."""
    for item in items:
        seen = next((one.seen for one in last if one.item == item), ())
        cell = start + STRIP - 2 * len(seen) + 1
        for one in seen:
            sign = SIGNS[min(2, int(one.value or 0))]
            row.put(cell, Span(sign, TONES[sign]))
            cell += 2
        start += STRIP + GAP
    return start


def legend(items: Sequence[Item], width: int) -> list[Line]:
    """What the signs of each item mean."""
    if not items:
        return []
    row = Canvas(width)
    row.put(3, Span("newest right", "dim"))
    for item in items:
        first, second, *others = (*item.choices, "", "")
        said = [f"{SIGNS[0]} {first}", f"{SIGNS[1]} {second}"]
        said += [f"{SIGNS[2]} {', '.join(one for one in others if one)}"] if any(others) else []
        row.put(row.at + 4, Span("  ".join(said), "dim"))
    return [blank(width), row.line()]


def of_the_day(view: ListView, ends: Sequence[int], last: int, width: int) -> list[Line]:
    """Every meal of the day: what was given or is needed of each feed, beside what there is.

    `ends` are the cells after the columns of the feeds, as in the list above.
    """
    day, totals = view.list.day, view.list.totals[: len(ends)]
    each = ends[1] - ends[0] if len(ends) > 1 else 20
    if len(day) < 2 or not totals:
        return []
    head = Canvas(width)
    head.put(1, Span(view.meal.wall.strftime("%a").upper() + f" {view.meal.day.day}", "bold"))
    for total, end in zip(totals, ends, strict=True):
        unit = total.feed.unit
        words = feed_words(total.feed)
        if text.width(words) > each - 4 - len(unit):
            words = text.fit(total.feed.code, max(0, each - 4 - len(unit)))
        head.right(end, Span(f"{words}, {unit}", "dim"))
    rows = [blank(width), head.line()]
    rows += [_meal(view, one, totals, ends, last, width) for one in day]
    whole, have = Canvas(width), Canvas(width)
    whole.put(3, Span("together", "dim"))
    have.put(3, Span("have", "dim"))
    for total, end in zip(totals, ends, strict=True):
        amount = view.list.together.get(total.feed.code, 0.0)
        whole.right(end, Span(_amount(total.feed, amount), "dim"))
        if total.have is not None:
            have.right(end, Span(f"{total.have:,.0f}", "dim"))
    have.put(last, Span(_new(view, totals), "dim"))
    rows.append(whole.line())
    return [*rows, have.line()] if any(one.have is not None for one in totals) else rows


def _of(one: OfDay, feed: Feed) -> float:
    return one.amounts.get(feed.code, 0.0)


def _amount(feed: Feed, amount: float) -> str:
    if not amount:
        return "-"
    if feed.unit == "g":
        return f"{amount:,.2f}"
    return f"{amount:,.0f}" if amount >= 10 else show(amount, "", 1)


def _meal(
    view: ListView,
    one: OfDay,
    totals: Sequence[Total],
    ends: Sequence[int],
    last: int,
    width: int,
) -> Line:
    row = Canvas(width)
    here = one.meal.utc == view.meal.utc
    tone = "dim" if one.given is not None and not here else "plain"
    row.put(3, Span(one.meal.hm(), "bold" if here else tone))
    for total, end in zip(totals, ends, strict=True):
        row.right(end, Span(_amount(total.feed, _of(one, total.feed)), tone))
    waiting = next((each.waiting for each in view.meals if each.at.utc == one.meal.utc), ())
    if one.given is not None:
        more = f", {len(waiting)} wait" if waiting else ""
        many = f"{one.given} tank{'s' * (one.given != 1)}"
        row.put(last, Span(f"given to {many}{more}", "watch" if more else "ok"))
    elif one.meal.utc < view.now.utc and waiting and not here:
        row.put(last, Span("not entered", "watch"))
    elif here:
        row.put(last, Span("this list", "dim"))
    return row.line()


def _new(view: ListView, totals: Sequence[Total]) -> str:
    """When there is more of the live feed."""
    until = next((one.until for one in totals if one.until is not None), None)
    return "" if until is None else f"more nauplii at {at_words(until, view.now)}"
