"""The Workings on the screen: the list to find a calculator in, and one calculator at work.

80x24 is the design size. From 112 columns on, what a calculator asks, or how its answer was made,
stands beside.
"""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk import text
from tankwalk.pages import workings as told
from tankwalk.pages.big import big
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, Span, blank, columns, filled, line, spread, window, wrapped
from tankwalk.practice.site import SITE
from tankwalk.practice.workings.dose_doubt import Review
from tankwalk.practice.workings.figures import NO_VALUE, answer, extras, number
from tankwalk.practice.workings.keep_talk import Asks
from tankwalk.practice.workings.sheet_view import FieldView, FoundView, SheetView
from tankwalk.practice.workings.worksheet import Result
from tankwalk.science.calculators import TOPICS
from tankwalk.science.calculators.declare import Calculator, Input

WIDE = 112
"""From this width on, the working stands beside the fields."""

PAGE_ON = "page down"

MAIN, SIDE = 76, 64
"""Cells the fields need with all they show, and cells that are enough beside them."""


def draw(sheet: SheetView, width: int, height: int, top: int = 0, typed: str = "") -> list[Line]:
    """The calculator at work, exactly `height` lines; `typed` is what answers a question."""
    if sheet.review is not None:
        return _reviewed(sheet, sheet.review, width, height, typed)
    side = min(SIDE, width - MAIN) if width >= WIDE else 0
    main = width - side
    asked, result = sheet.chosen, sheet.result
    page = [_head(sheet, asked.words, width), *_fields(sheet, main, height)]
    airy = [blank(main)] if height >= 24 and len(page) < 9 else []
    page += [*airy, *_answer(sheet, asked, result, main)]
    below = _below(sheet, main, typed)
    page += [*airy, *below, *airy] if below else airy
    room = height - 1 - len(page)
    if side:
        page = filled(page, main, height - 1)
        made = _working(sheet, side - 1)
        beside = window(made, side - 1, height - 3, top, PAGE_ON)
        rows = [blank(side - 1), *beside]
        page = [page[0], *((*a, Span(" "), *b) for a, b in zip(page[1:], rows, strict=True))]
    else:
        made = _working(sheet, main)
        page = [*page[: height - 1], *window(made, main, room, top, PAGE_ON)]
    return [*page, _footer(sheet, width)]


def _reviewed(sheet: SheetView, review: Review, width: int, height: int, typed: str) -> list[Line]:
    """A dose that is asked about: what is odd, the whole arithmetic, then the question."""
    loud = "act" if review.above else "watch"
    page = [_head(sheet, "Before it is kept", width), blank(width)]
    page += wrapped(width, sheet.dose.words if sheet.dose else "", "entry", 2)
    page += wrapped(width, review.headline, "watch", 2)
    below = _below(sheet, width, typed)
    airy = [blank(width)] if height >= 24 else []
    made = [row for held in review.above for row in wrapped(width, f"! {held.words}", loud, 3)]
    made += [*airy, *(row for words in review.lines for row in wrapped(width, words, "plain", 3))]
    room = height - 1 - len(page) - len(below) - len(airy)
    page += [*made[: max(0, room)], *airy, *below]
    return [*filled(page, width, height - 1), _footer(sheet, width)]


def draw_found(sheet: FoundView, width: int, height: int) -> list[Line]:
    """The list of calculators, exactly `height` lines, scrolled to the one it stands at."""
    side = min(SIDE, width - MAIN) if width >= WIDE else 0
    main = width - side
    listed = sheet.listed
    count = f"{len(listed)} of {sheet.every} "
    find = Span(f"  Find: {sheet.sought}_", "entry")
    page = [
        _head(sheet, "Workings", width),
        spread(main, [find], [Span(count, "dim")], "plain"),
        blank(main),
    ]
    said = wrapped(main, sheet.said, "ok" if sheet.good else "check", 2) if sheet.said else []
    room = height - 1 - len(page) - len(said)
    if not listed:
        page += wrapped(main, "No calculator has these letters: Esc clears them.", "check", 2)
    rows = _rows(sheet, listed, main)
    here = next((i for i, (_, at) in enumerate(rows) if at == sheet.at), 0)
    start = max(0, min(here - room // 2, len(rows) - room))
    page += [row for row, _ in rows[start : start + room]]
    page = [*filled(page, main, height - 1 - len(said)), *said]
    if side:
        beside = told.draw_asked(listed[sheet.at], side - 1)[1:] if listed else []
        rest = filled([blank(side - 1), *beside], side - 1, height - 2)
        page = [page[0], *((*a, Span(" "), *b) for a, b in zip(page[1:], rest, strict=True))]
    return [*page, footer("workings", width)]


def _head(sheet: SheetView | FoundView, title: str, width: int) -> Line:
    when = sheet.now.short() if width >= 74 else sheet.now.hm()
    place = "the site" if sheet.place == SITE else sheet.place
    return spread(width, [f" {title}"], [f"at {place}  {when} "], "head")


def _rows(
    sheet: FoundView, listed: Sequence[Calculator], width: int
) -> list[tuple[Line, int | None]]:
    """Lines of the list with the place in it each stands for; headings stand for none."""
    at = {one.name: i for i, one in enumerate(listed)}
    rows: list[tuple[Line, int | None]] = []
    topics = [("", tuple(listed))] if sheet.sought else list(TOPICS)
    for topic, calculators in topics:
        if topic and calculators:
            rows.append((line(width, Span(f"   {topic}", "bold")), None))
        for one in calculators:
            present = at[one.name] == sheet.at
            tone = "now" if present else "plain"
            row = columns(
                width,
                [
                    (" >" if present else "", 4, tone),
                    (one.words, width - 26, tone),
                    (one.name, 22, "dim"),
                ],
            )
            rows.append((row, at[one.name]))
    return rows


# ---- the fields


def _fields(sheet: SheetView, width: int, height: int) -> list[Line]:
    """A line for each input, scrolled so that the one being filled and its neighbors show."""
    most = max(3, height // 2 - 3)
    many = len(sheet.fields)
    here = min(sheet.field, many - 1)
    start = max(0, min(here - most // 2, many - most))
    lines = []
    for index in range(start, min(many, start + most)):
        field = sheet.fields[index]
        lines.append(_field(field, index == sheet.field, sheet.result, width))
        if index == sheet.field and field.input.choices:
            lines += _choices(field, width)
    rest = many - start - most
    if rest > 0:
        lines[-1] = line(width, Span(f"    and {rest + 1} more below (down)", "dim"))
    return lines


def _field(field: FieldView, present: bool, result: Result, width: int) -> Line:
    one, typed = field.input, field.typed
    label, value, unit = (27, 14, 0) if width < 74 else (27, 16, 15)
    tone = "now" if present else "plain"
    shown, shown_tone = typed, "entry" if present else "bold"
    if present:
        shown = typed + "_"
    elif typed and one.unit:
        shown = typed.removesuffix(f" {one.unit}")  # it stands beside already
    elif not typed and one.default is not None:
        shown, shown_tone = told.usual(one).removesuffix(f" {one.unit}"), "dim"
    named = one.of_product == "name"
    if named and unit:
        value, unit = value + unit, 0
    room = value - 1
    if named and not present:
        shown = text.fit(shown, room)
    if text.width(shown) > room:  # the end of a long list is what is being typed
        while text.width(shown) > room - 2:
            shown = shown[1:]
        shown = ".." + shown
    note, note_tone = field.source, "dim"
    if not note and not typed:
        note = "default" if one.default is not None else "" if one.needed else "may be left out"
        if present and one.default is not None:
            note = f"default {told.usual(one).removesuffix(f' {one.unit}')}"
    if result.key == one.key and not present:
        note, note_tone = f"? {note}".rstrip(), "check"
    cells = [
        (" >" if present else "", 4, tone),
        (label_words(one, label - 1), label, tone),
        (shown, value, shown_tone),
    ]
    if unit:
        cells.append((_unit(one), unit, "dim"))
    elif not field.source and _unit(one):
        note = _unit(one) if result.key != one.key or present else f"? {_unit(one)}"
    return columns(width, [*cells, (note, width - 4 - label - value - unit, note_tone)])


def label_words(one: Input, cells: int) -> str:
    """What a field is called; what follows a comma gives way where it has no room."""
    return one.words if text.width(one.words) <= cells else one.words.partition(",")[0]


def _unit(one: Input) -> str:
    """The unit of a field in its cell; how a field without one is written."""
    if one.choices:
        return ""
    return one.unit or {"a day, as 2026-05-10": "year-mo-day"}.get(told.form_words(one), "")


def _choices(field: FieldView, width: int) -> list[Line]:
    """The words of a choice with their numbers, the chosen one marked."""
    chosen = field.typed or field.input.default
    rows: list[list[Span]] = [[Span("     ")]]
    used = 5
    for index, word in enumerate(field.input.choices, 1):
        size = len(str(index)) + text.width(word) + 4
        if used + size > width and used > 5:
            rows.append([Span("     ")])
            used = 5
        tone = "bold" if word == chosen else "dim"
        mark = "<" if word == chosen else " "
        rows[-1] += [Span(str(index), "key"), Span(f" {word}{mark} ", tone)]
        used += size
    return [line(width, *spans) for spans in rows]


# ---- the answer


def _answer(sheet: SheetView, asked: Calculator, result: Result, width: int) -> list[Line]:
    """The answer large, with the other numbers beside it."""
    at_answer = sheet.field >= len(sheet.fields)
    done = result.working
    if sheet.hidden:
        title = f" {'>' if at_answer else ' '} Read this before the answer"
        lines = [line(width, Span(title, "head"), fill="head")]
        key = line(width, Span("   +", "key"), Span(" I have read it: show the answer"))
        return [*lines, *told.cautioned(asked, width), key]
    unit = asked.output.unit if done is None else done.unit
    what = asked.output.words or asked.words
    title = f" {'>' if at_answer else ' '} {what}{f', {unit}' if unit else ''}"
    lines = [line(width, Span(title, "head"), fill="head")]
    half = min(40, width // 2)
    if done is None:
        return [*lines, *_none_yet(result, half, width)]
    shown = number(done.value, asked.output.decimals)
    figures = big(shown, half - 3)
    if figures is None:
        figures = ("", shown if shown == NO_VALUE else answer(done), "")
    beside = [f"{name} {words}" for name, words in extras(done)[:3]]
    if len(beside) < 3 and beside:
        beside = ["", *beside]
    beside += [""] * (3 - len(beside))
    return lines + [
        line(width, Span(text.pad(f"   {row}", half), "entry"), Span(words))
        for row, words in zip(figures, beside, strict=True)
    ]


def _none_yet(result: Result, half: int, width: int) -> list[Line]:
    """No answer: what is still to be typed, or what is wrong."""
    if result.fault:
        words, tone = result.fault, "check"
    else:
        missing = ", ".join(i.words.partition(",")[0] for i in result.missing)
        words, tone = f"still to type: {missing}", "dim"
    found = text.wrap(words, width - half - 2)
    if len(found) > 3:
        found = [*found[:2], text.fit(" ".join(found[2:]), width - half - 2)]
    found += [""] * (3 - len(found))
    rows = ("", "", "   ___")
    return [
        line(width, Span(text.pad(row, half), "entry"), Span(said, tone))
        for row, said in zip(rows, found, strict=True)
    ]


def _below(sheet: SheetView, width: int, typed: str) -> list[Line]:
    """What was just said, and the question that stands."""
    lines: list[Line] = []
    if sheet.asks is not None:
        lines += wrapped(width, sheet.question, "bold", 3)
        lines += _options(sheet, width, typed)
        if sheet.asks.in_words:
            amount = sheet.asks is Asks.AGAIN and sheet.dose is not None
            unit = f" {sheet.dose.dose.unit}" if amount and sheet.dose else ""
            lines.append(line(width, Span(f"   {typed}_", "entry"), Span(unit, "dim")))
    if sheet.said:
        lines += wrapped(width, sheet.said, "ok" if sheet.good else "check", 4)
    return lines


def _options(sheet: SheetView, width: int, typed: str) -> list[Line]:
    """Keys and what they mean here."""
    if sheet.asks is None or not sheet.asks.of_people:
        return [
            line(width, Span(f"   {key} " if first else "     ", "key"), Span(part))
            for key, words in sheet.options
            for first, part in _numbered(words, width - 6)
        ]
    people = "   ".join(f"{key} {words}" for key, words in sheet.options)
    entry = [line(width, Span(f"   {typed}_", "entry"))] if typed else []
    return [*wrapped(width, people, "plain", 3, indent="   "), *entry]


def _numbered(words: str, room: int) -> list[tuple[bool, str]]:
    return [(i == 0, part) for i, part in enumerate(text.wrap(words, room))]


# ---- the working


def _working(sheet: SheetView, width: int) -> list[Line]:
    """What stands against the answer, the numbers that had no room, and how it was made."""
    asked, result = sheet.chosen, sheet.result
    if result.working is None:
        return [*told.cautioned(asked, width), *told.described(asked, width)]
    done = result.working
    lines = told.warned(done, width)
    lines += [] if sheet.hidden else told.cautioned(asked, width)
    more = extras(done)[3:]
    size = max((text.width(name) for name, _ in more), default=0) + 2
    lines += [row for name, words in more for row in told.hung(width, name, words, size, " ")]
    lines += told.tables(done, width)
    return [*lines, *told.how(done, width)]


def _footer(sheet: SheetView, width: int) -> Line:
    if sheet.asks is not None and sheet.asks.in_words:
        word = "keep this amount" if sheet.asks is Asks.AGAIN else "answer"
        return footer("none", width, [("Enter", word), ("Esc", "back: nothing is kept")])
    if sheet.hidden:
        return footer("none", width, [("+", "I have read it"), ("up", "a field"), ("Esc", "back")])
    return footer("ask" if sheet.asks else "working", width)
