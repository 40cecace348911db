"""The page of a trial: one measure by treatment, each tank its block's letter on one scale.

No bar of a mean: what is seen is the tanks. Enter shows them one by one, with what the analysis
says and takes for granted.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from math import ceil, floor, log10

from tankwalk import text
from tankwalk.pages import trial_words as words
from tankwalk.pages.glyphs import STEPS
from tankwalk.pages.lines import Line, Span, blank, filled, line, spread, wrapped
from tankwalk.practice.trial.comparing import Arm, Compared
from tankwalk.practice.trial.courses import Courses
from tankwalk.practice.trial.gathering import Gathered

CELL = 7
"""Cells of a number in the table."""
WIDE = 100
"""From so many cells on, every tank is shown day by day below."""
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
MEAN, DOT = "\u2502", "\u00b7"


def draw(
    page: Gathered, one: Compared, courses: Courses | None, width: int, height: int | None
) -> list[Line]:
    """The page of one measure; `height` None: all of it."""
    top = [_head(page, width)]
    top += wrapped(width, words.head(one), "plain", 2)
    parts = [
        [blank(width), *_table(page, one, width)],
        [blank(width), *_scale(page, one, width)],
        [blank(width), *_said(one, width, full=height is None or height >= 30)],
        _footnotes(page, one, width),
    ]
    if width >= WIDE and courses is not None:
        parts.append([blank(width), *_days(page, courses, width)])
    if height is None:
        return [*top, *(row for part in parts for row in part)]
    lines = [*top, *(row for part in parts for row in part)]
    assumed = _section("ASSUMED", words.assumed(one), width)
    if width >= WIDE and len(lines) + len(assumed) <= height:
        lines += assumed
    # Blanks go first where rows are short, then the legend; the tanks and the test stay.
    for droppable in (blank(width), _legend(width)):
        while len(lines) > height and droppable in lines:
            lines.remove(droppable)
    return filled(lines, width, height)


def _head(page: Gathered, width: int) -> Line:
    trial = page.trial
    question = f": {trial.question}" if trial.question else ""
    named = f" TRIAL  {trial.code}{question}".rstrip()
    return spread(width, [named], [f"{page.until.short()} "], "head")


def _single(page: Gathered, one: Compared) -> bool:
    """Whether every tank stands alone in its block and treatment, so that columns can be blocks."""
    cells = [(v.tank.treatment, v.tank.block) for arm in one.arms for v in arm.values]
    named = all(block is not None for _, block in cells)
    return named and len(set(cells)) == len(cells) and bool(page.blocks)


def marks(page: Gathered, one: Compared) -> dict[str, str]:
    """The letter of each tank: of its block, or its place among the tanks of its treatment."""
    if _single(page, one) and all(len(block) == 1 for block in page.blocks):
        return {v.tank.code: v.tank.block or "?" for arm in one.arms for v in arm.values}
    found = {}
    for code in page.treatments:
        mine = [tank for tank in page.tanks if tank.treatment == code]
        for nth, tank in enumerate(mine):
            found[tank.code] = LETTERS[nth] if nth < len(LETTERS) else "o"
    return found


def _columns(page: Gathered, one: Compared, width: int, named: int) -> list[str]:
    """The letters that head the columns, as many as fit."""
    letters = sorted(set(marks(page, one).values()))
    return letters[: max(0, (width - named - 2 * CELL - 4) // CELL)]


def _table(page: Gathered, one: Compared, width: int) -> list[Line]:
    named = max(8, words.columns_of(page.treatments) + 5)
    letters = _columns(page, one, width, named)
    heads = "".join(text.pad(letter, CELL, ">") for letter in letters)
    heads += text.pad("mean", CELL + 4, ">") + text.pad("SE", CELL, ">")
    rows = [line(width, " " * named, Span(heads, "dim"))]
    where = marks(page, one)
    for arm in one.arms:
        by_letter = {where.get(v.tank.code, "?"): v.value for v in arm.values}
        cells = "".join(
            text.pad(words.value(one.measure, by_letter.get(letter)), CELL, ">")
            for letter in letters
        )
        mean = text.pad(words.value(one.measure, arm.mean), CELL + 4, ">")
        error = text.pad(words.value(one.measure, arm.se), CELL, ">")
        rows.append(
            line(
                width,
                Span(text.pad(f"   {arm.treatment}", named), "bold"),
                Span(cells),
                Span(mean, "bold"),
                Span(error, "dim"),
            )
        )
    if one.adjusted:
        told = ", ".join(
            f"{arm.treatment} {words.value(one.measure, mean)}"
            for arm, mean in zip([a for a in one.arms if a.n], one.adjusted, strict=True)
        )
        rows.append(line(width, Span(f"   over all blocks: {told}", "dim")))
    return rows


# ---- the scale


class Scale:
    """A scale from `low` in steps, `cells` from one step to the next."""

    def __init__(self, values: Sequence[float], cells: int) -> None:
        low, high = min(values), max(values)
        span = (high - low) or abs(high) or 1.0
        rough = span * 1.15 / 4
        power = 10.0 ** floor(log10(rough))
        self.step = next(n * power for n in (1, 2, 2.5, 5, 10) if n * power >= rough * 0.999)
        self.low = floor((low - span * 0.02) / self.step) * self.step
        many = max(1, ceil((high + span * 0.02 - self.low) / self.step))
        self.cells = max(4, cells // many)
        self.many = many

    def at(self, value: float) -> int:
        """The cell of a value, from 0."""
        return round((value - self.low) / self.step * self.cells)

    @property
    def width(self) -> int:
        return self.many * self.cells + 1

    def labels(self) -> list[str]:
        decimals = max(0, -floor(log10(self.step) + 1e-9))
        if abs(self.step * 10**decimals - round(self.step * 10**decimals)) > 1e-9:
            decimals += 1
        return [f"{self.low + n * self.step:,.{decimals}f}" for n in range(self.many + 1)]


def _scale(page: Gathered, one: Compared, width: int) -> list[Line]:
    """Each tank as a letter on one scale, the mean of its treatment as a line."""
    values = [v.value for arm in one.arms for v in arm.values if v.value is not None]
    if not values:
        return []
    named = 8
    scale = Scale(values, width - named - 5)
    axis = [" "] * (width - named)
    for n, label in enumerate(scale.labels()):
        begin = max(0, min(n * scale.cells - len(label) // 2, len(axis) - len(label)))
        axis[begin : begin + len(label)] = label
    unit = one.measure.unit
    head = f"{' ' * named}{''.join(axis).rstrip()} {unit}".rstrip()
    rows = [line(width, Span(head, "dim"))]
    where = marks(page, one)
    rows += [_dots(arm, scale, where, width, named) for arm in one.arms]
    return [*rows, _legend(width)]


def _legend(width: int) -> Line:
    words_ = f"        letters: one tank each, by block; {MEAN} mean of the treatment"
    if text.width(words_) > width:
        words_ = f"        letters: a tank, by block; {MEAN} treatment's mean"
    return line(width, Span(words_, "dim"))


def _dots(arm: Arm, scale: Scale, where: dict[str, str], width: int, named: int) -> Line:
    """The letters of a treatment's tanks; two on one cell stand side by side."""
    row: list[tuple[str, str]] = [
        (DOT, "dim") if n % max(1, scale.cells // 3) == 0 else (" ", "plain")
        for n in range(scale.width + 2)
    ]
    if arm.mean is not None:
        row[scale.at(arm.mean)] = (MEAN, "dim")
    taken: set[int] = set()
    for v in sorted(arm.values, key=lambda v: v.value or 0.0):
        cell = scale.at(v.value or 0.0)
        while cell in taken and cell < len(row) - 1:
            cell += 1
        taken.add(cell)
        row[cell] = (where.get(v.tank.code, "o"), "bold")
    spans = [Span(text.pad(f"   {arm.treatment}", named), "bold")]
    return line(width, *spans, *(Span(sign, tone) for sign, tone in row))


# ---- what it says


def _said(one: Compared, width: int, *, full: bool) -> list[Line]:
    rows = [line(width, Span(f"   {words.found(one)}", "bold"))]
    pairs = sorted(range(len(one.pairs)), key=lambda n: -abs(one.pairs[n].difference))
    if full or len(pairs) == 1:
        for n in pairs:
            told = f"   {words.pair(one, n)}"
            rows += _two(told, words.pair_limits(one, n), width)
    elif pairs:
        each = [words.pair(one, n).replace("  ", " ") for n in pairs]
        told = "; ".join(each)
        unit = f" {words.unit_of_pairs(one)}"
        if text.width(told) > width - 4 and unit.strip():  # the last one says it for all
            told = "; ".join([*(one.removesuffix(unit) for one in each[:-1]), each[-1]])
        rows += wrapped(width, told, "plain", 3, "   ")
    found = words.findable(one)
    if found:
        rows += wrapped(width, found, "dim", 3, "   ")
    return rows


def _two(first: str, second: str, width: int) -> list[Line]:
    """Two parts in a row where they fit, else in two."""
    if text.width(first) + text.width(second) + 3 <= width:
        return [line(width, Span(f"{text.pad(first, 28)}  "), Span(second, "dim"))]
    return [line(width, first), *wrapped(width, second, "dim", 2, "     ")]


MORE = " .. PgDn"
"""What ends footnotes that go on, with the key that shows them."""


def _footnotes(page: Gathered, one: Compared, width: int) -> list[Line]:
    told = words.summary(page, one.measure)
    if not told:
        return []
    every = text.wrap(told, max(20, width - 24))
    rows = every[:3]
    if len(every) > len(rows):
        rows[-1] = f"{text.fit(rows[-1], max(8, width - 24 - len(MORE)))}{MORE}"
    tone = "watch" if page.not_as_planned.open else "plain"
    lines = [blank(width)]
    for n, words_ in enumerate(rows):
        name = "   Not the whole story  " if not n else " " * 24
        lines.append(line(width, Span(name, "bold"), Span(words_, tone)))
    return lines


# ---- day by day


def _days(page: Gathered, courses: Courses, width: int) -> list[Line]:
    """Every tank by day, a column a treatment, on one scale."""
    ends = courses.ends
    if ends is None:
        return []
    low, high = ends
    unit = f" {courses.unit}" if courses.unit else ""
    of = "by the dead that were seen" if courses.of == "seen" else courses.of
    scale = f"{low:.{courses.decimals}f} to {high:.{courses.decimals}f}{unit}"
    rows = [line(width, Span("   DAY BY DAY  ", "bold"), Span(f"{of}, one scale, {scale}", "dim"))]
    first, last = page.first, page.until.day
    column = (width - 3) // max(1, len(page.treatments))
    by_arm = [[c for c in courses.tanks if c.treatment == code] for code in page.treatments]
    for n in range(max(map(len, by_arm), default=0)):
        spans = [Span("   ")]
        for mine in by_arm:
            if n >= len(mine):
                spans.append(Span(" " * column))
                continue
            course = mine[n]
            drawn = _line_of(course.points, first, last, low, high, column - 18)
            end = course.points[-1][1] if course.points else None
            said = "--" if end is None else f"{end:.{courses.decimals}f}"
            spans.append(Span(text.pad(f"{course.treatment} {course.tank} ", 10), "dim"))
            spans += [Span(drawn, "past"), Span(text.pad(f" {said}", column - 10 - len(drawn)))]
        rows.append(line(width, *spans))
    return rows


def _line_of(
    points: Sequence[tuple[date, float]],
    first: date,
    last: date,
    low: float,
    high: float,
    most: int,
) -> str:
    """A value a day by its place on the scale; a day without one is a blank."""
    by_day = dict(points)
    days = [date.fromordinal(n) for n in range(first.toordinal(), last.toordinal() + 1)]
    if len(days) > most > 0:
        days = days[-most:]
    drawn = ""
    for day in days:
        value = by_day.get(day)
        if value is None:
            drawn += " "
            continue
        place = (value - low) / (high - low) if high > low else 0.5
        drawn += STEPS[min(7, int(place * 8))]
    return drawn


# ---- tank by tank


def tanks(page: Gathered, one: Compared, width: int) -> list[Line]:
    """Every tank with its value, and all that stands behind the comparison."""
    measure = one.measure
    rows = [_head(page, width), *wrapped(width, words.head(one), "plain", 2), blank(width)]
    heads = text.pad("tank", 8) + text.pad("treatment", 12) + text.pad("block", 8)
    unit = measure.unit or "value"
    rows.append(line(width, "   ", Span(heads + text.pad(unit, 14, ">"), "dim")))
    for v in measure.values:
        known = v.value is not None
        told = words.value(measure, v.value, 1) if known else "-"
        spans = [
            Span("   "),
            Span(text.pad(v.tank.code, 8), "bold"),
            Span(text.pad(v.tank.treatment or "", 12)),
            Span(text.pad(v.tank.block or "-", 8)),
            Span(text.pad(told, 14, ">"), "bold" if known else "dim"),
        ]
        if v.why is not None:
            spans.append(Span(f"  {words.WHY[v.why]}", "watch"))
        rows.append(line(width, *spans))
    rows.append(blank(width))
    cells = ("n", "mean", "SD", "SE", "min", "max")
    heads = text.pad("", 12) + "".join(text.pad(name, 9, ">") for name in cells)
    rows.append(line(width, "   ", Span(heads, "dim")))
    for arm in one.arms:
        numbers = [words.value(measure, x) for x in (arm.mean, arm.sd, arm.se, arm.low, arm.high)]
        told = "".join(text.pad(x, 9, ">") for x in (str(arm.n), *numbers))
        rows.append(line(width, "   ", Span(text.pad(arm.treatment, 12), "bold"), Span(told)))
    rows += [blank(width), line(width, Span(f"   {words.found(one)}", "bold"))]
    for n in range(len(one.pairs)):
        rows += _two(f"   {words.pair(one, n)}", words.pair_limits(one, n), width)
    told = words.findable(one)
    rows += wrapped(width, told, "plain", 3, "   ") if told else []
    return rows + behind(page, one, width)


def behind(page: Gathered, one: Compared, width: int) -> list[Line]:
    """What stands behind a comparison: its size, what it takes for granted, how it was made."""
    measure = one.measure
    told = words.omega(one)
    rows = wrapped(width, told, "plain", 3, "   ") if told else []
    rows += _section("ASSUMED", words.assumed(one), width)
    made = [words.method(measure), words.analysis(one), words.imbalance(page)]
    rows += _section("HOW", [told for told in made if told], width)
    rows += _section("NO VALUE", words.not_known(measure), width)
    notes = [f"{'! ' if is_open else ''}{told}" for told, is_open in words.notes(page, measure)]
    return rows + _section("NOT AS PLANNED", notes or ["nothing that the record shows"], width)


def _section(name: str, told: Sequence[str], width: int) -> list[Line]:
    if not told:
        return []
    rows = [blank(width), line(width, Span(f" {name}", "bold"))]
    for sentence in told:
        tone = "watch" if sentence.startswith("! ") else "plain"
        rows += wrapped(width, sentence, tone, 6, "   ")
    return rows
