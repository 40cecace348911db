"""The page of an incident: what is wrong, what to do, when to look, whom to call, and its story."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk import figures, text
from tankwalk.clock import AHEAD, Instant, ago, is_ahead
from tankwalk.ledger.readings import Seen
from tankwalk.pages import incident_words as words
from tankwalk.pages.lines import Line, Span, blank, flag_tone, line, spread, wrapped
from tankwalk.practice.incidents.incident import CallState, Incident, StoryLine
from tankwalk.practice.judging.verdict import Flag
from tankwalk.rows import NamedTuple

PLOT = 22
"""Cells of the plot beside the story."""

NARROW = 70
"""A page that is narrower has no plot."""

LABEL = 10
"""Cells of the words do, look and call before what they say."""

OTHERS = 2
"""Of what was done besides the steps, so many stand above the story, the newest; it has all."""


def draw(one: Incident, width: int, room: int | None, back: int = 0) -> list[Line]:
    """The page in `room` lines (None: all of it), its story from `back` lines before its end."""
    lines = [*head(one, width), blank(width), *_acts(one, width), blank(width)]
    plot = _Plot.of(one) if width >= NARROW else None
    rows = [row for told in one.story for row in _story(told, one, plot, width)]
    if plot is not None and rows:
        lines.append(spread(width, [], [Span(f"{plot.axis()} ", "dim")], "plain"))
    if room is None:
        return [*lines, *rows]
    left = room - len(lines)
    if left < len(rows):
        last = len(rows) - max(0, min(back, len(rows) - max(1, left - 1)))
        first = max(0, last - max(0, left - 1))
        hidden = (
            f"  {first} more above   up" if first else f"  {len(rows) - last} more below   down"
        )
        shown = rows[first:last]
        more = line(width, Span(hidden, "dim"))
        rows = [more, *shown] if first else [*shown, more]
    lines += rows
    return [*lines, *[blank(width)] * (room - len(lines))][:room]


def title(one: Incident, width: int) -> Line:
    """The bar on top."""
    left = f" FLAG  {one.place} {one.item.label}"
    return spread(width, [left], [f"{one.now.short()} "], "head")


def head(one: Incident, width: int) -> list[Line]:
    """The bar, then what is wrong in the tone of its level, and what else is wrong there."""
    hours = one.now.hours_since(one.raised)
    open_for = "now" if is_ahead(hours) else ago(hours)
    if one.standing is None:
        said = f" over   {words.headline(one)}"
        lines = [title(one, width), *wrapped(width, said.strip(), "ok", 2)]
        return [*lines, *_also(one, width)]
    state = "shelved" if one.standing.state == "shelved" else f"open {open_for}"
    if open_for == "now" and state != "shelved":
        state = AHEAD if is_ahead(hours) else "just now"
    mark, said, right = one.flag.mark, words.headline(one), f"{state} "
    tone = flag_tone(one.flag)
    body = tone if one.flag >= Flag.URGENT else "plain"
    first, *rest = text.wrap(said, max(10, width - text.width(mark) - text.width(right) - 6)) or [
        ""
    ]
    lines = [
        title(one, width),
        spread(
            width, [Span(f" {mark} ", tone), Span(f" {first}", body)], [Span(right, body)], body
        ),
    ]
    indent = " " * (text.width(mark) + 3)
    lines += [line(width, Span(f"{indent}{more}", body), fill=body) for more in rest]
    return [*lines, *_also(one, width)]


def _also(one: Incident, width: int) -> list[Line]:
    if not one.also:
        return []
    said = ". ".join(f"{each.flag.short} {each.sentence}" for each in one.also)
    return wrapped(width, f"also  {said}", "plain", 2, indent=" ")


def _acts(one: Incident, width: int) -> list[Line]:
    """Three things, so labeled and in this order everywhere: do, look, call."""
    lines: list[Line] = []
    for step in one.steps:
        done = step.done
        tone = "dim" if done else "bold"
        label = " do" if not lines else ""
        right = f"done {done.at.told(one.now)}  {done.who} " if done else "-- "
        left = [
            Span(text.pad(label, LABEL - 3), "bold"),
            Span(f"{step.number}  ", "key"),
            Span(_capital(step.words), tone),
        ]
        lines.append(spread(width, left, [Span(right, "dim")], "plain"))
    hidden = len(one.others) - OTHERS
    for done in one.others[-OTHERS:]:
        label = " do" if not lines else ""
        left = [Span(text.pad(label, LABEL), "bold"), Span(_capital(done.text), "dim")]
        right = f"done {done.at.told(one.now)}  {done.who} "
        lines.append(spread(width, left, [Span(right, "dim")], "plain"))
    if hidden > 0:
        lines.append(line(width, Span(f"{' ' * LABEL}{hidden} more in its story", "dim")))
    if not lines:
        said = "nothing in the plan for this; 0 writes what was done"
        lines.append(line(width, Span(text.pad(" do", LABEL), "bold"), Span(said, "dim")))
    look = words.look_words(one)
    if look:
        tone = "bold" if one.look is not None and one.look.utc <= one.now.utc else "plain"
        lines.append(line(width, Span(text.pad(" look", LABEL), "bold"), Span(look, tone)))
    number = call_number(one)
    said, tone = words.call_words(one.call, one.now)
    if one.call.state is CallState.NOT_WANTED and one.call.newest is None:
        said, tone = "", "dim"
    left = [
        Span(text.pad(" call", LABEL - 3), "bold"),
        Span(f"{number}  ", "key"),
        Span(words.person_words(one.call.on_call)),
    ]
    if text.width(words.person_words(one.call.on_call)) + text.width(said) + LABEL + 4 > width:
        lines.append(line(width, *left))
        return [*lines, *wrapped(width, said, tone, 2, indent=" " * LABEL)]
    return [*lines, spread(width, left, [Span(f"{said} ", tone)], "plain")]


def _capital(said: str) -> str:
    return said[:1].upper() + said[1:]


def call_number(one: Incident) -> int:
    """The digit of the call: the one after those of the steps."""
    return len(one.steps) + 1


# ---- the story


def _story(told: StoryLine, one: Incident, plot: _Plot | None, width: int) -> list[Line]:
    """A line of the story, with the plot's row at its right."""
    said, tone = words.told(told, one.places)
    if isinstance(told.about, Seen) and told.about.flag >= Flag.WATCH:
        tone = flag_tone(Flag(told.about.flag)) if told.about.flag < Flag.ACT else "bold"
    when = text.pad(_when(told.at, one.now), 10, ">")
    who = text.pad(told.who, 4)
    room = width - 18 - (PLOT + 2 if plot is not None else 1)
    first, *rest = text.wrap(said, max(10, room)) or [""]
    rows = [[Span(f" {when}  ", "dim"), Span(f"{who} ", "dim"), Span(first, tone)]]
    rows += [[Span(" " * 18), Span(more, tone)] for more in rest]
    lines = []
    for k, spans in enumerate(rows):
        if plot is None:
            lines.append(line(width, *spans))
        else:
            value = plot.value_of(told.about) if k == 0 else None
            tail = [*plot.row(value), Span(" ")]
            lines.append(spread(width, spans, tail, "plain"))
    return lines


def _when(at: Instant, now: Instant) -> str:
    return at.hm() if at.day == now.day else f"{at.wall:%a %H:%M}"


class _Plot(NamedTuple):
    """The plot of a story: time runs down, the value right, the band through all rows."""

    item: str
    place: str
    low: float
    high: float
    band: tuple[float | None, float | None]
    marks: Sequence[tuple[float, str]]

    @classmethod
    def of(cls, one: Incident) -> _Plot | None:
        """The plot of an item that is judged by its band; None for any other, or without a band."""
        if one.band is None or not one.item.kind.by_band:
            return None
        limits = one.band.limits
        ends = [limits.act_below, limits.watch_below, limits.watch_above, limits.act_above]
        known = [end for end in ends if end is not None]
        values = [
            told.about.value
            for told in one.story
            if isinstance(told.about, Seen)
            and told.about.item == one.item.code
            and told.about.value is not None
        ]
        low, high = min((*known, *values), default=0.0), max((*known, *values), default=1.0)
        if high <= low:
            return None
        marks = [(end, figures.show(end, "", one.item.decimals)) for end in known]
        return cls(
            one.item.code,
            one.behind.place,
            low,
            high,
            (limits.watch_below, limits.watch_above),
            marks,
        )

    def at(self, value: float) -> int:
        """The cell of a value."""
        share = (value - self.low) / (self.high - self.low)
        return max(0, min(PLOT - 1, round(share * (PLOT - 1))))

    def value_of(self, about: object) -> Seen | None:
        """The reading that a line of the story draws here, if it is one."""
        drawn = isinstance(about, Seen) and about.item == self.item and about.place == self.place
        return about if drawn and isinstance(about, Seen) and about.value is not None else None

    def axis(self) -> str:
        """The limits over the plot, each over its cell where there is room."""
        cells = [" "] * PLOT
        for value, said in self.marks:
            start = max(0, min(PLOT - len(said), self.at(value) - len(said) // 2))
            around = cells[max(0, start - 1) : start + len(said) + 1]
            if all(cell == " " for cell in around):
                cells[start : start + len(said)] = said
        return "".join(cells)

    def row(self, seen: Seen | None) -> list[Span]:
        """One row: the band's dots, and the point of a reading in the tone of its flag."""
        low, high = self.band
        first = 0 if low is None else self.at(low)
        last = PLOT - 1 if high is None else self.at(high)
        cells = [
            "\u00b7" if first <= k <= last and (k - first) % 2 == 0 else " " for k in range(PLOT)
        ]
        if seen is None or seen.value is None:
            return [Span("".join(cells), "dim")]
        k = self.at(seen.value)
        tone = flag_tone(Flag(seen.flag)) if seen.flag else "plain"
        tone = tone if seen.flag < Flag.ACT else "bold"
        return [
            Span("".join(cells[:k]), "dim"),
            Span("\u25cf", tone),
            Span("".join(cells[k + 1 :]), "dim"),
        ]
