"""The page of judging: flags of the last days, what came of them, and a limit tried on them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from math import sqrt

from tankwalk import figures, text
from tankwalk.pages import plot
from tankwalk.pages.lines import Line, Span, blank, flag_tone, line, spread, wrapped
from tankwalk.pages.season import CAUSES
from tankwalk.plan.bands import describe, limit_words
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.learning.dead import DeadSeen
from tankwalk.practice.learning.met import AtPlace, Followed, Met, Uses
from tankwalk.practice.learning.sees import Sees
from tankwalk.practice.learning.talk import foretold
from tankwalk.practice.learning.trying import Case, Tried
from tankwalk.practice.learning.view import AtPlace as Place
from tankwalk.practice.learning.view import Learned, Week
from tankwalk.practice.past.series import Series

CELLS = (9, 7, 8, 13, 8, 10)
"""Cells of how many flags, ACT, acted on, dismissed, by a meter, and with nothing entered."""
PLACES = 4
"""Places of one flag that are named."""
BESIDE = 24
"""Cells of the words beside a plot."""
ROWS = 7
"""Rows of the plot."""

DID = {
    Followed.ACTED: "acted on",
    Followed.DISMISSED: "dismissed",
    Followed.METER: "by a meter",
    Followed.NOTHING: "nothing entered",
    Followed.STANDS: "stands",
}


def draw(seen: Learned, width: int) -> list[Line]:
    """The whole page: a sentence, the week, rules, and where flags are most frequent."""
    lines = _head(" JUDGING  " + seen.site, seen.now.short(), width)
    lines += wrapped(width, _sentence(seen.uses, seen.days), "plain", 3)
    lines += [blank(width), line(width, Span(" A WEEK", "bold"))]
    lines += _week("WATCH", seen.watch, width) + _week("ACT", seen.act, width)
    said = (
        "False is what was dismissed, what a wrong meter made, and what was over with nothing "
        "entered; chance alone may raise as many as the plan says."
    )
    lines += wrapped(width, said, "dim", 4, "   ")
    if seen.flags:
        lines += _flags(seen, width)
    return [*lines, *_sees(seen.sees, width), *_dead(seen.dead, width)]


def _flags(seen: Learned, width: int) -> list[Line]:
    """Where flags are most frequent, and what spoke."""
    lines = [blank(width), line(width, Span(" MOST FREQUENT", "bold"))]
    for number, one in enumerate(seen.places, 1):
        lines += _row(f"{number:>3}  ", name_of(one), one.uses, width)
    lines += [blank(width), line(width, Span(" BY RULE", "bold"))]
    for rule in seen.rules:
        lines += _row("   ", CAUSES.get(rule.rule, "other") if rule.rule else "other", rule.uses,
                      width)  # fmt: skip
    return lines


def _sees(found: Sequence[Sees], width: int) -> list[Line]:
    """How small a change of one tank would be seen here, and how soon."""
    if not found:
        return []
    lines = [blank(width), line(width, Span(" WHAT WOULD BE SEEN HERE", "bold"))]
    said = (
        "The smallest change of one tank beside the others of its loop that is told 8 times in "
        "10, and how soon; no limit moves it. Noise: half the time two looks at the same water "
        "are closer than this."
    )
    if width < SEEN + sum(SEEN_CELLS[:3]) or width >= SEEN + sum(SEEN_CELLS):
        said += " Its water: how far a loop moves from round to round."
    lines += wrapped(width, said, "dim", 5, "   ")
    for one in found:
        unit = f", {one.item.unit}" if one.item.unit else ""
        cells = (
            f"step {_fine(one, one.step)} in {_hours(one.step_hours)}",
            f"drift {_fine(one, one.drift)} a day in {_hours(one.drift_hours)}",
            f"noise {_fine(one, one.look)}",
            f"its water {_fine(one, one.loop)}",
        )
        name = f"   {one.item.label}{unit}"
        if width < SEEN + sum(SEEN_CELLS[:3]):
            lines += [line(width, Span(name, "bold"))]
            lines += wrapped(width, ", ".join(cells), "plain", 3, "     ")
        else:
            some = cells if width >= SEEN + sum(SEEN_CELLS) else cells[:3]
            spans = [Span(text.pad(c, size)) for c, size in zip(some, SEEN_CELLS, strict=False)]
            lines.append(
                line(width, Span(text.pad(text.fit(name, SEEN - 1), SEEN), "bold"), *spans)
            )
    return lines


def _dead(one: DeadSeen | None, width: int) -> list[Line]:
    """Which count of the dead would be told here, and how soon a rise."""
    if one is None:
        return []
    after = f"after {one.counts} counts" if one.counts else "only after weeks"
    said = (
        f"{one.jump} at a count are told where {one.usual:.0f} are usual ({one.tank}), a rise to "
        f"{one.times:g} times the usual {after}; {_clumps(one.dispersion)}"
    )
    return [line(width, Span("   Morts", "bold")), *wrapped(width, said, "plain", 4, "     ")]


def _clumps(dispersion: float) -> str:
    """How counts scatter, in words: by chance alone, or in clumps."""
    if dispersion < CLUMPED:
        return "counts scatter as chance alone makes them"
    return f"counts scatter {sqrt(dispersion):.1f} times as far as chance alone makes them"


CLUMPED = 1.2
"""Counts whose variance is less than so many times their mean scatter as chance makes them."""
SEEN = 23
SEEN_CELLS = (19, 26, 12, 16)
"""Cells of an item's name, and of what would be seen of it: step, drift, a look, its water."""


def _fine(one: Sees, value: float) -> str:
    """A number with a digit more than the item has."""
    return figures.show(value, "", one.item.decimals + 1)


def _hours(hours: float) -> str:
    return f"{hours:.0f} h" if hours < 48 else f"{hours / 24:.0f} d"


def _head(title: str, when: str, width: int) -> list[Line]:
    if text.width(title) + text.width(when) + 3 <= width:
        return [spread(width, [title], [f"{when} "], "head")]
    return [spread(width, [each], [], "head") for each in (title, f" {when}")]


def _sentence(uses: Uses, days: int) -> str:
    flags = f"{uses.flags} flag{'s' * (uses.flags != 1)} in {days} days"
    return f"{flags}: {_parts(uses)}." if uses.flags else f"No flag in {days} days."


def _parts(uses: Uses) -> str:
    counted = (
        (uses.acted, Followed.ACTED), (uses.dismissed, Followed.DISMISSED),
        (uses.meter, Followed.METER), (uses.nothing, Followed.NOTHING),
        (uses.stands, Followed.STANDS),
    )  # fmt: skip
    said = {**DID, Followed.NOTHING: "with nothing entered", Followed.STANDS: "standing"}
    return ", ".join(f"{many} {said[kind]}" for many, kind in counted if many)


def _week(level: str, week: Week, width: int) -> list[Line]:
    over = week.false > week.borne
    words = [
        Span(text.pad(f"   {level}", 10)),
        Span(f"{week.false:.1f} false", "watch" if over else "plain"),
        Span(f", {week.borne:.1f} allowed"),
    ]
    rest = f"{week.all:.1f} in all, budget {week.budget:.0f}"
    used = sum(text.width(span.text) for span in words)
    if used + text.width(rest) + 3 <= width:
        return [spread(width, words, [Span(f"{rest} ", "dim")], "plain")]
    return [line(width, *words), line(width, Span(" " * 10), Span(rest, "dim"))]


def name_of(one: AtPlace) -> str:
    """An item and where it was flagged: "T05 pH"."""
    return f"{text.named(list(one.places), PLACES)} {one.label}"


def _row(number: str, name: str, uses: Uses, width: int) -> list[Line]:
    """What one rule or place raised: counts that say what they count, in columns where they fit."""
    flags = f"{uses.flags} flag{'s' * (uses.flags != 1)}"
    counts = (
        flags, f"{uses.act} ACT" if uses.act else "",
        f"{uses.acted} acted" if uses.acted else "",
        f"{uses.dismissed} dismissed" if uses.dismissed else "",
        f"{uses.meter} meter" if uses.meter else "",
        f"{uses.nothing} nothing" if uses.nothing else f"{uses.stands} stands" * bool(uses.stands),
    )  # fmt: skip
    room = width - text.width(number) - sum(CELLS) - 1
    start = Span(number, "key" if number.strip() else "plain")
    if room < 12:
        said = ", ".join(one for one in counts if one)
        if text.width(number) + text.width(name) + text.width(said) + 3 <= width:
            return [spread(width, [start, Span(name, "bold")], [Span(f"{said} ")], "plain")]
        rest = wrapped(width, said, "plain", 2, " " * (text.width(number) + 2))
        return [line(width, start, Span(name, "bold")), *rest]
    tones = ("bold", "act", "plain", "plain", "plain", "dim")
    cells = [
        Span(text.pad(words, size), tone)
        for words, size, tone in zip(counts, CELLS, tones, strict=True)
    ]
    if text.width(name) > room - 1:
        indent = Span(" " * (text.width(number) + room))
        return [line(width, start, Span(name, "bold")), line(width, indent, *cells)]
    return [line(width, start, Span(text.pad(name, room), "bold"), *cells)]


# ---- one place


def draw_place(seen: Place, width: int) -> list[Line]:
    """What came of the flags of each item at one place, and how one is shown."""
    lines = _head(f" JUDGING  {seen.place}", seen.now.short(), width)
    many = sum(one.uses.flags for one in seen.items)
    said = f"{many} flag{'s' * (many != 1)} in {seen.days} days of what has a band here."
    lines += [*wrapped(width, said, "plain", 2), blank(width)]
    for one in seen.items:
        lines += _row("   ", one.item.label, one.uses, width)
    if seen.items:
        item = seen.items[0].item
        how = f"Its looks and limits: tankwalk judging {seen.place} {item.code}"
        lines += [blank(width), *wrapped(width, how, "dim", 2)]
    return lines


# ---- one item at one place


def draw_case(known: Case, tried: Tried | None, width: int, *, asked: bool = False) -> list[Line]:
    """An item at a place: its band, its looks of these days, its flags and what came of each.

    Where the page is `asked` about what is tried, the question says what it would have done.
    """
    title = f" JUDGING  {known.place} {known.item.label}"
    lines = _head(title, known.now.short(), width)
    for words in case_words(known):
        lines += wrapped(width, words, "plain", 3)
    lines += [blank(width), *_plot(known, tried, width, ROWS)]
    if tried is not None and not asked:
        lines += [blank(width), *wrapped(width, foretold(tried), "bold", 4)]
    lines.append(blank(width))
    if not known.flags:
        lines.append(line(width, Span("   No flag in these days.", "dim")))
    for one in reversed(known.flags):
        lines += _flag(one, tried, width)
    return lines


def case_words(known: Case) -> list[str]:
    """What stands above the plot: the band and whose it is, where it acts, where looks lie."""
    item, band, limits = known.item, known.band, known.band.limits
    owner = f", {band.owner}" if band.owner else ""
    said = [f"Band {describe(band, item)}{_unit(known)}{owner}: {band.source}."]
    acts = [
        f"{word} {limit_words(edge, item)}"
        for word, edge in (("below", limits.act_below), ("above", limits.act_above))
        if edge is not None
    ]
    if acts:
        said[0] += f" ACT {', '.join(acts)}: not moved here."
    if known.usual is not None:
        low, high = (limit_words(end, item) for end in known.usual)
        many = len(known.series.taken)
        said.append(f"{many} looks in {known.series.window.days} days, 19 of 20 in {low} - {high}.")
    if known.sees is not None:
        one = known.sees
        said.append(
            f"Beside the other tanks a step of {_fine(one, one.step)} is told in "
            f"{_hours(one.step_hours)}, a drift of {_fine(one, one.drift)} a day in "
            f"{_hours(one.drift_hours)}; no limit moves that."
        )
    if known.again != len(known.flags):
        said.append(f"{len(known.flags)} flags raised; this band would have raised {known.again}.")
    return said


def _unit(known: Case) -> str:
    return f" {known.item.unit}" if known.item.unit else ""


def _plot(known: Case, tried: Tried | None, width: int, many: int) -> list[Line]:
    """The looks against the band; with the limit that is tried, as they would have been flagged."""
    one = known.series if tried is None else tried.series
    names = plot.labels(one, plot.rows_of(one, many))
    left = max(6, *(len(name) + 1 for name in names))
    room = width - left - 1
    across = plot.axis(one.window, room - BESIDE if room - BESIDE >= one.window.days else room)
    drawn = plot.plot(one, across, many)
    beside = _beside(known, tried, one, drawn.signs)
    fits = left + 1 + across.cells + BESIDE <= width
    lines = []
    for nth, cells in enumerate(drawn.rows):
        said = [Span("  "), *beside[nth]] if fits and nth < len(beside) else []
        name = drawn.names[nth] if nth < len(drawn.names) else ""
        lines.append(line(width, Span(f"{name:>{left}} ", "dim"), *cells, *said))
    lines.append(line(width, Span(" " * (left + 1)), *plot.under(_marks(known, tried), across)))
    lines.append(line(width, Span(" " * (left + 1)), *plot.dates(across)))
    return lines


def _marks(known: Case, tried: Tried | None) -> list[tuple[date, str, str]]:
    """The first letter of what came of each flag under its day."""
    lost = () if tried is None else tried.lost
    return [
        (one.since.day, LETTERS[one.followed], "act" if one in lost else "plain")
        for one in known.flags
    ]


LETTERS = {
    Followed.ACTED: "a",
    Followed.DISMISSED: "d",
    Followed.METER: "m",
    Followed.NOTHING: "n",
    Followed.STANDS: "s",
}


def _beside(
    known: Case, tried: Tried | None, one: Series, signs: frozenset[str]
) -> list[list[Span]]:
    """What the plot is of, and what its signs and letters mean."""
    del known
    name = f"{one.item.label}, {one.item.unit}" if one.item.unit else one.item.label
    lines = [[Span(text.fit(name, BESIDE - 2), "bold")]]
    limits = one.limits_on(one.window.last)
    if limits is not None and tried is not None:
        lines.append([Span(f"tried {describe(tried.band, one.item)}", "entry")])
    if plot.OUT in signs:
        lines.append([Span(f"{plot.OUT} flagged", "watch")])
    if plot.SUSPECT in signs:
        lines.append([Span("? meter suspect", "dim")])
    if plot.FIRST in signs:
        lines.append([Span("x not confirmed", "dim")])
    letters = ("a acted on, d dismissed", "m meter, n nothing", "s stands")
    return [*lines, *([Span(words, "dim")] for words in letters[: max(0, ROWS - len(lines))])]


def _flag(one: Met, tried: Tried | None, width: int) -> list[Line]:
    """One flag: when, how serious, what was said, and what people did."""
    reason = f": {one.reason}" if one.reason else ""
    who = f" ({one.who})" if one.who else ""
    did = f"{DID[one.followed]}{reason}{who}"
    if tried is not None:
        flagged = {look.n for look in tried.series.looks if look.flag >= Flag.WATCH}
        did = f"{did}; {'not told' if flagged.isdisjoint(one.readings) else 'still told'}"
    lead = [
        Span(f" {text.pad(one.since.short(), 17)}"),
        Span(text.pad(one.flag.mark, 11), flag_tone(one.flag)),
    ]
    said = one.said.split(";")[0]
    used = 1 + 17 + 11
    lines: list[Sequence[Span]] = []
    both = f"{said}   {did}"
    if used + text.width(both) < width:
        return [line(width, *lead, Span(said), Span(f"   {did}", "dim"))]
    first, *rest = text.wrap(said, max(20, width - used - 1)) or [""]
    lines = [(*lead, Span(first)), *([Span(" " * used), Span(more)] for more in rest)]
    lines += [(Span(" " * used), Span(more, "dim")) for more in text.wrap(did, width - used - 1)]
    return [line(width, *spans) for spans in lines]
