"""The page of a week's feed: planned beside given by day, in numbers and bars; how it was eaten.

Bars start at zero, and all of one feed have one scale. What is short, missed or beside the plan has
a mark and words, never a color alone.
"""

from __future__ import annotations

from collections import Counter

from tankwalk import text
from tankwalk.figures import percent_of
from tankwalk.pages.due_words import day_words
from tankwalk.pages.lines import Line, Span, blank, line, spread, wrapped
from tankwalk.plan.model import Item
from tankwalk.practice.feeding.week import Answered, Day, Gave, Week

DAY_CELLS, AGE_CELLS, NUMBER_CELLS, SPAN_CELLS = 12, 4, 8, 12

FEWEST_BAR, MOST_BAR = 4, 30
"""A bar of fewer cells says nothing; a longer one says no more."""

FULL, HALF, LACKING = "\u2588", "\u258c", "\u00b7"

MOST_STRIPS = 4
"""The answers of so many tanks stand letter by letter; of more they are counted."""


def draw(week: Week, width: int) -> list[Line]:
    """The whole page, as many lines as it needs."""
    lines = _head(week, width)
    for nth in range(len(week.feeds)):
        lines += [blank(width), *_feed(week, nth, width)]
    if not week.feeds:
        lines += [blank(width), line(width, " Nothing was planned or given in these days.")]
    lines += _eaten(week, width)
    return [*lines, *_apart(week, width)]


def _head(week: Week, width: int) -> list[Line]:
    first, last = week.days[0].day, week.days[-1].day
    when = day_words(first) if first == last else f"{day_words(first)} - {day_words(last)}"
    lines = [spread(width, [f" FEED  {week.whom}  {week.label}"], [f"{when} "], "head")]
    if len(week.tanks) > 1:
        words = f"Mean of {len(week.tanks)} tanks: {text.named(week.tanks, 12)}; lowest to highest."
        lines += wrapped(width, words, "dim", 2)
    return lines


# ---- one feed


def _feed(week: Week, nth: int, width: int) -> list[Line]:
    """A feed day by day, and all days together."""
    head = week.feeds[nth]
    many = any(one.low != one.high for day in week.days if (one := day.feeds[nth]))
    beside = 1 + DAY_CELLS + AGE_CELLS + 2 * NUMBER_CELLS + 2 + (SPAN_CELLS if many else 0)
    said = max((text.width(marks(day, nth)) for day in week.days), default=0)
    bar = min(MOST_BAR, width - beside - said - 3)
    most = largest(week, nth)
    old = text.pad("dph" if any(day.age for day in week.days) else "", AGE_CELLS)
    named = text.pad(head.label, DAY_CELLS)
    labels = text.pad("planned", NUMBER_CELLS, ">") + text.pad("given", NUMBER_CELLS, ">")
    lines = [line(width, " ", Span(named, "bold"), Span(f"{old}{labels}   {head.unit}", "dim"))]
    for day in week.days:
        gave = day.feeds[nth]
        age = "" if day.age is None else f"{day.age[0]}"
        left = [
            Span(" " + text.pad(day_words(day.day), DAY_CELLS)),
            Span(text.pad(age, AGE_CELLS), "dim"),
        ]
        if gave is None:
            lines.append(line(width, *left, Span(text.pad("-", NUMBER_CELLS, ">"), "dim")))
            continue
        bad = bool(marks(day, nth))
        row = [*left, *_numbers(gave, head.unit, many=many), Span(" ! " if bad else "   ", "watch")]
        if bar >= FEWEST_BAR:
            row.append(Span(_bar(gave, most, bar), "plain"))
        row.append(Span(f" {marks(day, nth)}", "watch"))
        lines.append(line(width, *row))
    planned, given = week.total(nth)
    whole = [Span(text.pad(number(planned, head.unit), NUMBER_CELLS, ">"), "dim")]
    whole.append(Span(text.pad(number(given, head.unit), NUMBER_CELLS, ">"), "bold"))
    share = f"   {percent_of(given / planned)} % of the plan" if planned else ""
    together = text.pad(f"{len(week.days)} days", DAY_CELLS + AGE_CELLS)
    return [*lines, line(width, " ", Span(together, "dim"), *whole, Span(share))]


def largest(week: Week, nth: int) -> float:
    """The largest amount of a feed, planned or given: where its bars end."""
    return max(max(g.given, g.planned or 0.0) for d in week.days if (g := d.feeds[nth]))


def _numbers(gave: Gave, unit: str, *, many: bool) -> list[Span]:
    planned = text.pad(number(gave.planned, unit), NUMBER_CELLS, ">")
    spans = [Span(planned, "dim"), Span(text.pad(number(gave.given, unit), NUMBER_CELLS, ">"))]
    if many:
        apart = gave.low != gave.high
        ends = f" {number(gave.low, unit)}-{number(gave.high, unit)}" if apart else ""
        spans.append(Span(text.pad(ends, SPAN_CELLS), "dim"))
    return spans


def number(value: float | None, unit: str) -> str:
    """An amount as it is measured out; "?" where it is not known."""
    if value is None:
        return "?"
    return f"{value:,.2f}" if unit == "g" else f"{value:,.0f}"


def _bar(gave: Gave, most: float, cells: int) -> str:
    """What was given, filled; what was planned beyond it, as points."""
    halves = round(2 * cells * gave.given / most) if most else 0
    given = FULL * (halves // 2) + HALF * (halves % 2)
    planned = round(cells * (gave.planned or 0.0) / most) if most else 0
    return text.pad(given + LACKING * max(0, planned - len(given)), cells)


def marks(day: Day, nth: int) -> str:
    """What was not as planned, in two words each: "1 missed, 2 short"."""
    gave = day.feeds[nth]
    if gave is None:
        return ""
    missed = len(day.missed) if gave.planned is None or gave.given < gave.planned else 0
    found = ((missed, "missed"), (gave.short, "short"), (gave.unplanned, "not planned"))
    return ", ".join(f"{n} {word}" for n, word in found if n)


# ---- how it was eaten


def _eaten(week: Week, width: int) -> list[Line]:
    """Each item that is asked at meals: a letter a meal and day, or how many said what."""
    lines: list[Line] = []
    for nth, answered in enumerate(week.days[0].answered if week.days else ()):
        item = answered.item
        letters = letters_of(item)
        legend = "  ".join(f"{letters[n]} {word}" for n, word in enumerate(item.choices))
        lines.append(blank(width))
        lines.append(line(width, " ", Span(item.label, "bold"), Span(f"   {legend}", "dim")))
        strips = len(week.tanks) <= MOST_STRIPS
        size = max(
            (len(these) for day in week.days for these in day.answered[nth].by_tank.values()),
            default=0,
        )
        cells = max(5, size + 1)
        strips = strips and DAY_CELLS + cells * len(week.tanks) < width
        if strips and len(week.tanks) > 1:
            heads = "".join(text.pad(code, cells) for code in week.tanks)
            lines.append(line(width, " " * (DAY_CELLS + 1), Span(heads, "dim")))
        for day in week.days:
            named = text.pad(day_words(day.day), DAY_CELLS)
            row = [Span(f" {named}")]
            if strips:
                for code in week.tanks:
                    these = day.answered[nth].by_tank.get(code, ())
                    row += _strip(item, these, letters, cells)
            else:
                row.append(Span(counted(day.answered[nth])))
            lines.append(line(width, *row))
    return lines


def letters_of(item: Item) -> tuple[str, ...]:
    """A letter for each word of an item: its first, or its number where two begin alike."""
    first = [word[:1].casefold() for word in item.choices]
    alike = len(set(first)) < len(first)
    return tuple(str(n) for n in range(1, len(first) + 1)) if alike else tuple(first)


def _strip(item: Item, these: tuple[int, ...], letters: tuple[str, ...], cells: int) -> list[Span]:
    if not these:
        return [Span(text.pad("-", cells), "dim")]
    flagged = {*item.watch_on, *item.act_on}
    spans = []
    for n in these:
        known = n < len(letters)
        bad = known and item.choices[n] in flagged
        spans.append(Span(letters[n] if known else "?", "watch" if bad else "plain"))
    return [*spans, Span(" " * max(1, cells - len(these)))]


def counted(answered: Answered) -> str:
    """How many tanks and meals said what, the words in their order."""
    counts = Counter(n for these in answered.by_tank.values() for n in these)
    if not counts:
        return "-"
    words = answered.item.choices
    return ", ".join(f"{words[n]} {counts[n]}" for n in sorted(counts) if n < len(words))


# ---- what was not as planned


def apart(week: Week) -> list[tuple[str, str]]:
    """Meals that were missed, with why, and pauses, by day; of one time and reason they are one."""
    rows: list[tuple[str, str]] = []
    for day in week.days:
        found: dict[tuple[str, str], list[str]] = {}
        for one in day.missed:
            found.setdefault((one.at.hm(), one.why), []).append(one.tank)
        for (when, why), tanks in found.items():
            whom = "" if len(week.tanks) == 1 else f", {text.named(tanks, 4)}"
            said = f": {why}" if why else ", nobody entered it"
            rows.append((day_words(day.day), f"missed {when}{whom}{said}"))
        rows += [(day_words(day.day), words) for words in day.paused]
    return rows


def _apart(week: Week, width: int) -> list[Line]:
    rows = apart(week)
    if not rows:
        return []
    lines = [blank(width), line(width, Span(" NOT GIVEN", "bold"))]
    for when, words in rows:
        first, *rest = text.wrap(words, max(20, width - DAY_CELLS - 3)) or [""]
        lines.append(line(width, Span(f" {text.pad(when, DAY_CELLS)}"), Span(first)))
        lines += [line(width, " " * (DAY_CELLS + 3), Span(more)) for more in rest]
    return lines
