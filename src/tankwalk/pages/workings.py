"""Calculators as pages: the list, what one asks, and a working with its answer first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from tankwalk import text
from tankwalk.pages.lines import Line, Span, blank, columns, line, wrapped
from tankwalk.practice.workings.figures import answer, extras, is_table, named, number, with_unit
from tankwalk.practice.workings.working_out import Working
from tankwalk.science.calculators import TOPICS
from tankwalk.science.calculators.declare import Calculator, Extra, Form, Input, Output

MOST_PAIRS = 45
"""Pairs of a comparison shown on a page; ten groups make so many."""


def table_rows(value: Extra, decimals: int) -> list[str]:
    """The rows of a table in words, one a line."""
    rows = [row for row in value if isinstance(row, dict)] if isinstance(value, list) else []
    shown = [", ".join(_cell(k, v, decimals) for k, v in row.items()) for row in rows[:MOST_PAIRS]]
    if len(rows) > MOST_PAIRS:
        shown.append(f"and {len(rows) - MOST_PAIRS} more")
    return shown


def _cell(key: str, value: object, decimals: int) -> str:
    if isinstance(value, list | tuple):
        return " and ".join(str(v) for v in value)
    if isinstance(value, float):
        return f"{key} {number(value, 4 if key == 'p' else decimals)}"
    return f"{key} {value}"


# ---- what is printed


def draw_list(width: int) -> list[Line]:
    """All calculators under their headings: the name one types, and what it is for."""
    lines = [line(width, Span(" Workings: tankwalk calc NAME says what one asks", "head"),
                  fill="head")]  # fmt: skip
    for topic, calculators in TOPICS:
        if not calculators:
            continue
        lines += [blank(width), line(width, Span(f" {topic}", "bold"))]
        lines += [
            columns(width, [("", 3, "plain"), (c.name, 24, "key"), (c.words, width - 27, "plain")])
            for c in calculators
        ]
    return lines


def draw_asked(asked: Calculator, width: int) -> list[Line]:
    """What a calculator asks, with units and defaults, what it gives, and an example."""
    lines = [_title(asked, width), blank(width), line(width, Span(" It asks", "bold"))]
    size = max(len(i.key) for i in asked.inputs) + 2
    for one in asked.inputs:
        lines += hung(width, one.key, _asking(one), size)
    lines += [blank(width), line(width, Span(" It gives", "bold"))]
    size = max(len(o.key) for o in (asked.output, *asked.also)) + 2
    for output in (asked.output, *asked.also):
        words = output.words if output.key != "value" else output.words or asked.words
        lines += hung(width, output.key, ", ".join(w for w in (words, output.unit) if w), size)
    lines += [blank(width), line(width, Span(" For example", "bold"))]
    lines += wrapped(width, _command(asked), "plain", 6, "   ")
    lines += [blank(width), *described(asked, width)]
    caution = cautioned(asked, width)
    return [*lines, blank(width), *caution] if caution else lines


def draw_done(done: Working, width: int) -> list[Line]:
    """A working: what has to be read first, the answer, what it was made from, how sure it is."""
    asked = done.calculator
    lines = [_title(asked, width), blank(width)]
    caution = cautioned(asked, width)
    lines += [*caution, blank(width)] if caution else []
    what = f"{asked.output.words}: " if asked.output.words else ""
    lines += [line(width, Span(f"   {what}{answer(done)}", "entry")), blank(width)]
    against = warned(done, width)
    lines += [*against, blank(width)] if against else []
    lines += also_lines(done, width)
    lines += [line(width, Span(" Made from", "bold"))]
    lines += used(done, width)
    return [*lines, blank(width), *how(done, width)]


def warned(done: Working, width: int) -> list[Line]:
    """What stands against the answer."""
    return [row for words in done.said for row in wrapped(width, f"! {words}", "watch", 4)]


def cautioned(asked: Calculator, width: int) -> list[Line]:
    """What has to be read before the answer is used: a line each, the hazard first and loudest."""
    if not asked.caution:
        return []
    hazard, *rest = asked.caution
    lines = wrapped(width, f"Caution: {hazard}", "act", 3)
    return [*lines, *(row for words in rest for row in wrapped(width, words, "check", 3, "   "))]


def also_lines(done: Working, width: int) -> list[Line]:
    """The other numbers of an answer, one a line, each table below its name."""
    shown = extras(done)
    size = max((text.width(name) for name, _ in shown), default=0) + 2
    lines = [row for name, words in shown for row in hung(width, name, words, size)]
    lines += tables(done, width)
    return [*lines, blank(width)] if lines else []


def tables(done: Working, width: int) -> list[Line]:
    """The tables of an answer, each below its name."""
    lines: list[Line] = []
    declared = {o.key: o for o in done.calculator.also}
    for key, value in done.also.items():
        if is_table(value):
            output = declared.get(key, Output(key))
            lines.append(line(width, f"   {named(output)}"))
            for words in table_rows(value, output.decimals):
                lines += wrapped(width, words, "plain", 3, "     ")
    return lines


def how(done: Working, width: int) -> list[Line]:
    """What a meter's error does, then equation, source and range."""
    return described(done.calculator, width, done.shaky)


def described(asked: Calculator, width: int, shaky: str = "") -> list[Line]:
    """Equation, source and range of a calculator."""
    told = (
        ("How sure", shaky),
        ("Equation", asked.equation),
        ("Source", asked.source),
        ("Range", asked.range),
    )
    return [
        row
        for name, words in told
        if words
        for row in hung(width, name, words, 10, " ", "bold", most=12)
    ]


def _title(asked: Calculator, width: int) -> Line:
    return line(width, Span(f" {asked.name}: {asked.words}", "head"), fill="head")


def hung(
    width: int, name: str, words: str, size: int, indent: str = "   ", tone: str = "key",
    most: int = 40,
) -> list[Line]:  # fmt: skip
    """A name, and its words beside it in as many lines as they need."""
    cells = len(indent) + size
    found = text.wrap(words, width - cells - 1) or [""]
    if len(found) > most:
        found = [*found[: most - 1], text.fit(" ".join(found[most - 1 :]), width - cells - 1)]
    lines = [line(width, indent, Span(text.pad(name, size), tone), found[0])]
    return [*lines, *(line(width, " " * cells, more) for more in found[1:])]


def _asking(one: Input) -> str:
    """An input in words: what it is, its unit or choices, and what stands where it is left out."""
    parts = [one.words, form_words(one)]
    if one.default is not None:
        parts.append(f"{usual(one)} where not said")
    elif not one.needed:
        parts.append("may be left out")
    return "; ".join(part for part in parts if part)


def form_words(one: Input) -> str:
    """How an input is written: its unit, its choices, or the form of a list."""
    if one.choices:
        return " or ".join(one.choices)
    return {
        Form.COUNT: "a count",
        Form.SERIES: f"numbers with blanks between{f', {one.unit}' if one.unit else ''}",
        Form.GROUPS: "groups with ; between, numbers with blanks between",
        Form.UNIT: "a unit",
        Form.AMOUNT: "a number with its unit",
        Form.DAY: "a day, as 2026-05-10",
    }.get(one.form, one.unit)


def usual(one: Input) -> str:
    """The default of an input as a person writes it."""
    if one.default is None:
        return ""
    shown = one.default if isinstance(one.default, str) else f"{one.default:.10g}"
    return with_unit(shown, one.unit)


def used(done: Working, width: int) -> list[Line]:
    """What went into the sum: key, value with unit, and what it is; defaults say so."""
    size = max((len(t.key) for t in done.inputs), default=0) + 2
    values = max((text.width(t.shown) for t in done.inputs), default=0) + 2
    lines = []
    for one in done.inputs:
        asked = done.calculator.input(one.key)
        words = "" if asked is None else asked.words
        if one.usual:
            words += ", default"
        if values <= 24:
            shown = (Span(text.pad(one.key, size), "key"), text.pad(one.shown, values))
            room = width - 4 - size - values
            first, *rest = text.wrap(words, room) or [""]
            lines.append(line(width, "   ", *shown, first))
            lines += [line(width, " " * (3 + size + values), more) for more in rest]
        else:
            lines += hung(width, one.key, f"{one.shown} ({words})", size)
    return lines


def _command(asked: Calculator) -> str:
    return f"tankwalk calc {asked.name} {quoted(asked.typed)}"


def quoted(typed: Mapping[str, str]) -> str:
    """Inputs as a shell takes them."""
    return " ".join(f"{key}={_shell(value)}" for key, value in typed.items())


def _shell(value: str) -> str:
    plain = all(c.isalnum() or c in "._-+/:," for c in value)
    return value if plain and value else f'"{value}"'


def together(parts: Sequence[str]) -> str:
    """Words as people join them: "a, b and c"."""
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
