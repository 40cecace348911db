"""The stock of one tank: a sum written as a sum, two ranges on one scale, the dead by stage."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from math import ceil, log10

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.pages import stock_words as words
from tankwalk.pages.lines import Line, Span, blank, line, spread, wrapped
from tankwalk.practice.stock.numbers import Number, StockNumbers
from tankwalk.practice.stock.reconciling import Verdict
from tankwalk.practice.stock_view import RECENT_DAYS, StockRow, StockView

NAME, WHEN, FISH, ERROR = 15, 11, 9, 8
"""Cells of a line of the sum: what, when or how, fish, and its error."""

GAP = 4
"""Cells between the numbers and a note."""

ROOM = 8
"""Cells of a range's name on the scale."""

MOST_CAUSES = 2

GAPS = 3
"""Newest censuses that are told one by one."""


def draw(view: StockView, tank: str, width: int) -> list[Line]:
    """The page of a tank, as long as it is."""
    row = view.row(tank)
    if row is None:
        return [line(width, f" {tank} is no tank of the plan.")]
    about = ", ".join(
        part for part in (
            row.tank.treatment or "",
            f"lot {row.tank.lot}" if row.tank.lot else "",
            "" if row.age is None else f"{row.age} dph",
        ) if part
    )  # fmt: skip
    head = spread(width, [f" STOCK  {tank}   {about}"], [f"{view.now.short()} "], "head")
    if row.numbers is None:
        told = f"No fish were ever entered for {tank}: Enter stocks it."
        return [head, *wrapped(width, told, "check", 2)]
    return [head, *body(row, view.now, width)]


def body(row: StockRow, now: Instant, width: int) -> list[Line]:
    """All below the head, for a tank that has fish."""
    its = row.numbers
    if its is None:
        return wrapped(width, f"No fish were ever entered for {row.tank.code}.", "check", 2)
    lines = [_headline(row, its, now, width), blank(width)]
    lines += _sum(row, its, now, width)
    lines += [blank(width), *_scale(its, width), blank(width)]
    lines += _dead(row, now, width)
    lines += _survival(row, width)
    lines += _density(row, now, width)
    return lines


def _headline(row: StockRow, its: StockNumbers, now: Instant, width: int) -> Line:
    if its.unaccounted is None or its.census is None or its.census.at is None:
        said = f" {words.fish(its.best.fish)} fish by the book: no census yet, an upper guess"
        return spread(width, [said], ["never counted "], "check")
    lost = its.unaccounted.fish
    share = f"{100 * lost / its.stocked.fish:.0f} %" if its.stocked.fish else ""
    said = f" {words.fish(lost)} fish unaccounted{' for' if width >= 74 else ''}"
    if lost < 0:
        said = f" {words.fish(-lost)} more fish than the book had"
    verdict = row.judged[-1].verdict
    when = f"last census {words.date_of(its.census.at, now)} "
    larvae = ", as larvae do" if verdict is Verdict.LARVAE else ""
    of = f", {share} of stocked" if share else ""
    room = width - text.width(when) - 2
    # What the sum below says as well goes first.
    ways = (of + larvae, of, f", {share}" if share else "")
    said += next((way for way in ways if text.width(said + way) <= room), "")
    return spread(width, [Span(said, words.TONES[verdict])], [when], "plain")


def _sum(row: StockRow, its: StockNumbers, now: Instant, width: int) -> Iterator[Line]:
    """What came in, what was seen to go, the book; the census, the best, what is unaccounted."""
    yield _row(width, "", "", "fish", "+/-", "95 %", "dim")
    yield from _counted(width, "Stocked", its.stocked, now)
    counted = Number(its.dead.fish - its.mass.fish, 0.0, its.dead.at)
    yield _number(width, "Morts", counted, now, sign=-1, to=True, note="as counted")
    parts: tuple[tuple[str, Number, int, str], ...] = (
        ("Mass event", its.mass, -1, its.mass.method or "estimated"),
        ("Sampled", its.sampled, -1, "kept"),
        ("Moved", its.moved, 1, "in less out"),
        ("Culled", its.culled, -1, ""),
        ("Escaped", its.escaped, -1, ""),
        ("Cannibals", its.cannibals, -1, "taken out alive"),
    )
    for name, number, sign, note in parts:
        if number.times:
            yield _number(width, name, number, now, sign=sign, note=note)
    none = [name.lower() for name, number, *_ in parts if not number.times and name != "Mass event"]
    if none:
        yield from _none(none, width)
    yield _number(width, "BOOK", its.book, now, tone="bold", note="an upper guess")
    yield blank(width)
    if its.census is None or its.unaccounted is None:
        yield _row(width, "CENSUS", "", "none", "", "nobody counted them since", "dim")
        yield _number(
            width, "BEST", its.best, now, tone="bold", note="the book, for want of a census"
        )
        return
    yield from _counted(width, "CENSUS", its.census, now, tone="bold")
    yield _row(width, "since then", "seen to go", words.fish(-its.gone_since), "", "")
    yield _number(width, "BEST", its.best, now, tone="bold", note="rates, rations use this")
    lost = its.unaccounted
    limits = ""
    if lost.plus_minus is not None and its.stocked.fish:
        ends = (lost.fish - lost.plus_minus, lost.fish + lost.plus_minus)
        low, high = (100 * end / its.stocked.fish for end in ends)
        limits = f"{words.percents(low, high)} of stocked"
        if text.width(limits) > _beside(width):
            limits = limits.removesuffix(" of stocked")
    yield _number(width, "UNACCOUNTED", lost._replace(at=None), now, tone="bold", note=limits)
    told = row.judged[-GAPS:]
    if len(told) == 1 and told[0].verdict is Verdict.LARVAE and not told[0].gap.why:
        return  # the headline says it
    for one in told:
        verdict = words.VERDICTS[one.verdict]
        why = f" ({one.gap.why})" if one.gap.why else ""
        said = f"   {words.date_of(one.gap.at, now)}: {words.gap(one)}: {verdict}{why}"
        yield from wrapped(width, said.strip(), words.TONES[one.verdict], 2, "   ")
    if any(one.verdict in (Verdict.EXPLAIN, Verdict.INVESTIGATE) for one in row.judged[-1:]):
        yield from wrapped(width, "Enter says why, by number.", "dim", 1, "   ")


def _none(names: list[str], width: int) -> Iterator[Line]:
    """What nothing was entered of, with its 0; no name is cut."""
    said = ", ".join(names).capitalize()
    if text.width(said) <= NAME + WHEN + FISH - 2:
        yield line(width, f"   {said}{'0':>{NAME + WHEN + FISH - text.width(said)}}")
        return
    half = (len(names) + 1) // 2
    for part in (names[:half], names[half:]):
        yield from _none(part, width)


def _number(
    width: int, name: str, number: Number, now: Instant, *, sign: int = 1, to: bool = False,
    note: str = "", tone: str = "plain",
) -> Line:  # fmt: skip
    when = "" if number.at is None else words.date_of(number.at, now)
    return _row(
        width, name, f"to {when}" if to and when else when, words.fish(sign * number.fish),
        words.error(number), note, tone,
    )  # fmt: skip


def _counted(
    width: int, name: str, number: Number, now: Instant, tone: str = "plain"
) -> Iterator[Line]:
    """A number with how it was counted: beside it, or below where it would be cut there."""
    method = number.method or ""
    beside = text.width(method) <= _beside(width)
    yield _number(width, name, number, now, note=method if beside else "", tone=tone)
    if not beside:
        yield from wrapped(width, method, "dim", 2, " " * (3 + NAME))


def _beside(width: int) -> int:
    """Cells for a note beside the numbers."""
    return width - 3 - NAME - WHEN - FISH - ERROR - GAP


def _row(
    width: int, name: str, when: str, fish: str, error: str, note: str, tone: str = "plain"
) -> Line:
    left = f"   {text.pad(text.fit(name, NAME - 1), NAME)}" if when else f"   {name}"
    used = NAME + WHEN
    left = text.pad(left + (text.fit(when, WHEN - 1) if when else ""), 3 + used)
    numbers = f"{fish:>{FISH}}{error:>{ERROR}}"
    fits = note and text.width(note) <= width - text.width(left) - len(numbers) - GAP
    said = f"{' ' * GAP}{note}" if fits else ""
    return line(width, Span(left + numbers, tone), Span(said, "dim"))


# ---- two ranges on one scale


def _scale(its: StockNumbers, width: int) -> list[Line]:
    """Book and best estimate with their errors, on the scale of all that were stocked."""
    return ranges(
        [("book", its.book, "plain"), ("best", its.best, "plain")], width, its.stocked.fish
    )


def ranges(named: Sequence[tuple[str, Number, str]], width: int, least: int = 1) -> list[Line]:
    """Numbers with their errors on one scale from 0 to `least` at the least: name, number, tone."""
    top = max(1, least, *(_end(number) for _, number, _ in named))
    step = _step(top)
    steps = ceil(top / step)
    cells = max(20, min(64, width - ROOM - 8))
    ends = step * steps
    marks = [round(cells * k / steps) for k in range(steps + 1)]
    numbers = [" "] * (cells + 8)
    for k, at in enumerate(marks):
        said = f"{k * step:,}"
        start = max(0, at - len(said) // 2)
        if not any(one != " " for one in numbers[max(0, start - 1) : start + len(said)]):
            numbers[start : start + len(said)] = said
    lines = [line(width, Span(" " * (ROOM + 3) + "".join(numbers).rstrip(), "dim"))]
    lines += [_range(*one, ends, cells, marks, width) for one in named]
    return lines


def _end(number: Number) -> int:
    return number.fish + round(number.plus_minus or 0)


def _step(top: int) -> int:
    """A round step that gives four to eight marks."""
    size = int(10 ** int(log10(max(1, top))))
    for step in (size // 5, size // 2, size, 2 * size):
        if step and top / step <= 8:
            return step
    return max(1, 2 * size)


def _range(
    name: str, number: Number, tone: str, ends: int, cells: int, marks: list[int], width: int
) -> Line:
    def cell(fish: float) -> int:
        return max(0, min(cells, round(cells * fish / ends)))

    row = [" "] * (cells + 1)
    for at in marks:
        row[at] = "\u00b7"
    at = cell(number.fish)
    spans = [Span(f"   {text.pad(name, ROOM)}", tone)]
    if number.plus_minus:
        low, high = cell(number.fish - number.plus_minus), cell(number.fish + number.plus_minus)
        for k in range(low, high + 1):
            row[k] = "\u2500"
        if low < at:
            row[low] = "\u251c"
        if high > at:
            row[high] = "\u2524"
    row[at] = "\u25cf"
    spans += [Span("".join(row[:at]), "band"), Span(row[at], "point")]
    spans.append(Span("".join(row[at + 1 :]), "band"))
    return line(width, *spans)


# ---- the dead, survival, density


def _dead(row: StockRow, now: Instant, width: int) -> list[Line]:
    """The dead by stage of life, of the newest days, and by cause."""
    spans = [f"{one.stage or f'{one.first} - {one.last} dph'} {one.fish:,}" for one in row.spans]
    days = [f"{_day(one.day, now.day)} {one.fish}" for one in row.days[-RECENT_DAYS:]]
    causes: dict[str, int] = {}
    for day in row.days:
        for cause, many in day.causes:
            causes[cause] = causes.get(cause, 0) + many
    most = sorted(causes.items(), key=lambda one: (-one[1], one[0]))[:MOST_CAUSES]
    sorts = [f"{cause} {many:,}" for cause, many in most]
    lines = _told("MORTS", ", ".join(spans) or "none were counted", width)
    return lines + _told("", "; ".join(", ".join(one) for one in (days, sorts) if one), width)


def _day(day: date, today: date) -> str:
    return "today" if day == today else f"{day.day} {day.strftime('%b')}"


def _survival(row: StockRow, width: int) -> list[Line]:
    """Three figures, each by its own sum."""
    figures = row.survival
    if figures is None:
        return []
    said = [f"seen dead {words.part(figures.seen)}"]
    if figures.census is None:
        said.append("census: nobody counted")
    else:
        said.append(f"census {words.part(figures.census, figures.census_error)}")
        said.append(f"unaccounted {words.part(figures.unseen, figures.unseen_error)}")
    return _told("SURVIVAL", ", ".join(said), width)


def _density(row: StockRow, now: Instant, width: int) -> list[Line]:
    said = [] if row.per_l is None else [f"{row.per_l:.1f} fish/L in {row.tank.volume_l:,.0f} L"]
    if row.biomass_g is not None and row.weighed is not None:
        said.append(
            f"biomass {words.mass(row.biomass_g)} at {row.weighed.mg:g} mg a fish "
            f"({words.date_of(row.weighed.at, now)})"
        )
    else:
        said.append("biomass not known: no mass sample of the last 60 days")
    return _told("DENSITY", ", ".join(said), width)


def _told(name: str, said: str, width: int) -> list[Line]:
    """A name and words beside it, on as many lines as they take."""
    if not said:
        return []
    rows = text.wrap(said, max(20, width - NAME - 4))
    return [
        line(width, Span(f"   {text.pad(name if k == 0 else '', NAME - 3)}", "bold"), Span(one))
        for k, one in enumerate(rows)
    ]
