"""The foot of the walk: the entry large, what is known beside it, what was said, what is asked."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk import text
from tankwalk.clock import Instant, ago, ago_short
from tankwalk.pages.big import big
from tankwalk.pages.lines import Line, Span, blank, filled, flag_tone, line, spread, wrapped
from tankwalk.pages.readings import band_words, state_words
from tankwalk.practice.judging.verdict import Flag, value_words
from tankwalk.practice.round.agenda import Slot
from tankwalk.practice.round.questions import AskAgain, AskSign, AskSlip, AskWords, Option
from tankwalk.practice.round.view import EntryView, LineView, StopView, WalkView
from tankwalk.practice.workings.derived import State

PANEL = 10
"""Lines of the foot, without the footer."""


def foot(view: WalkView, typed: str, width: int) -> list[Line]:
    """`PANEL` lines: the panel, and under it what is worked out here.

    What is worked out stands there while nothing is asked: a question comes first, and the entry
    never moves.
    """
    panel = _panel(view, typed, width)
    worked: list[Line] = []
    if isinstance(view.here, StopView) and view.question is None:
        worked = _worked(view.here.worked, width)[: max(0, PANEL - len(panel))]
    return [*filled(panel, width, PANEL - len(worked)), *worked]


def _panel(view: WalkView, typed: str, width: int) -> list[Line]:
    lines: list[Line] = []
    entry: list[Line] = []
    if isinstance(view.here, StopView):
        lines.append(_title(view.here.entry, width))
        entry = _entry(view, view.here.entry.line, typed, width)
    else:
        title = " The round is signed" if view.signed else " Sign the round"
        lines += [line(width, Span(title, "head"), fill="head"), blank(width)]
    below: list[Line] = []
    said, asked = view.said, None if view.signed else view.question
    if said.sentence:
        most = PANEL - len(lines) - len(entry) if asked is None else 2
        tone = flag_tone(said.flag) if said.flag else "ok"
        if isinstance(asked, AskAgain):
            tone = "plain"  # the question below carries the flag
        below += wrapped(width, said.sentence, tone, most)
    if asked is not None:
        flag = Flag(asked.first.flag) if isinstance(asked, AskAgain) else Flag.CHECK
        tone = "bold" if isinstance(asked, AskSign | AskWords) else flag_tone(flag)
        options = _options(asked.options(), width)
        room = PANEL - len(lines) - len(entry) - len(below) - len(options)
        below += wrapped(width, asked.words, tone, max(2, room))
        below += options
    if len(lines) + len(entry) + len(below) > PANEL:
        entry = []  # the keys come first
    return [*lines, *entry, *below]


def _title(entry: EntryView, width: int) -> Line:
    """What is entered, and the meter it is read with."""
    slot, meter = entry.line.slot, entry.meter
    unit = f", {slot.item.unit}" if slot.item.unit else ""
    right = f"{slot.item.instrument} {meter} " if meter else ""
    if entry.off:
        right = f"{meter} is OFF: m takes another " if width >= 74 else f"{meter} OFF, m: other "
    left = Span(f" {slot.place}  {slot.item.label}{unit}", "head")
    return spread(width, [left], [Span(right, "head")], "head")


def _options(options: Sequence[Option], width: int) -> list[Line]:
    """Keys and what they mean here, packed into as few lines as they need."""
    made: list[list[Span]] = [[Span(" ")]]
    used = 1
    for key, words in options:
        size = text.width(key) + text.width(words) + 3
        if used + size > width and used > 1:
            made.append([Span(" ")])
            used = 1
        made[-1] += [Span(key, "key"), Span(f" {words}  ")]
        used += size
    return [line(width, *spans) for spans in made]


def _entry(view: WalkView, at: LineView, typed: str, width: int) -> list[Line]:
    """Three lines: what is typed, large; beside it the last value and the band with its source."""
    if isinstance(view.question, AskWords):
        room = width - 3
        tail = (text.wrap(typed, room - 1) or [""])[-3:]
        tail[-1] += "_"
        return [line(width, Span(f"  {row}", "entry")) for row in [*tail, "", ""][:3]]
    half = min(40, width // 2)
    if isinstance(view.question, AskSlip) and not typed:
        typed = view.question.typed.typed
    if at.slot.item.answers and not typed:
        lefts = [Span(text.pad(f"   {row}", half), "entry") for row in _words(at.slot, half - 4)]
    else:
        figures = big(typed, half - 3) if typed else ("", "", "___")
        if figures is None:
            figures = ("", typed + "_", "")
        lefts = [Span(text.pad(f"   {row}", half), "entry") for row in figures]
    beside = _beside_entry(at, view.now, width < 74)
    return [line(width, a, Span(b, "dim")) for a, b in zip(lefts, beside, strict=True)]


def _words(slot: Slot, cells: int) -> list[str]:
    """The words that may be answered with their keys, in three rows."""
    words = [f"{key} {word}" for key, word in slot.item.answers]
    abreast = -(-len(words) // 3)
    size = cells // abreast
    rows = [words[i::3] if abreast > 1 else words[i : i + 1] for i in range(3)]
    return ["".join(text.pad(word, size) for word in row).rstrip() for row in rows]


def _beside_entry(at: LineView, now: Instant, narrow: bool) -> list[str]:
    slot, before = at.slot, at.before
    if before is None:
        first = "not seen before"
    else:
        hours = now.hours_since(before.at)
        since = ago_short(hours) if narrow else ago(hours)
        when = "just now" if since == "now" else f"{since} ago"
        word = "suspect" if at.suspect else "last"
        first = f"{word} {value_words(slot.item, before, bare=True)}, {when} ({before.who})"
    band = "" if slot.band is None else f"band {band_words(slot)}"
    source = "" if slot.band is None else f"band by: {slot.band.owner or slot.band.source}"
    return [first, band, source]


def _worked(states: Sequence[State], width: int) -> list[Line]:
    """What is worked out at this stop, one after another: value and mark, or why there is none."""
    made: list[list[Span]] = []
    used = width
    for state in states:
        words, tone = state_words(state)
        size = text.width(state.item.label) + text.width(words) + 3
        if size > width - 5:
            rows = text.wrap(f"{state.item.label} {words}", width - 5)
            made += [[Span(f"    {row}", tone)] for row in rows]
            used = width
            continue
        if used + size > width - 1:
            made.append([Span("  = " if not made else "    ", "dim")])
            used = 4
        made[-1] += [Span(f"{state.item.label} ", "dim"), Span(words, tone), Span("  ")]
        used += size
    return [line(width, *spans) for spans in made]
