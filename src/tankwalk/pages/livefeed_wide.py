"""What a wide page adds to Live feed: the story of what is marked, and every next step by time."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.ledger.feeding import BatchEvent, BatchKind, BatchSeen
from tankwalk.pages import livefeed_words as words
from tankwalk.pages import tomorrow
from tankwalk.pages.lines import Line, Span, blank, line, spread
from tankwalk.pages.when import at_words, to_come
from tankwalk.practice.live_feed import LiveFeedView
from tankwalk.practice.livefeed.batches import LiveBatch
from tankwalk.practice.livefeed.choosing import Row
from tankwalk.practice.livefeed.on_hand import OnHand
from tankwalk.practice.livefeed.setting import PlannedCone
from tankwalk.practice.tasks import NextStep

EVENTS = 9
"""So many of the newest events of a batch are told; the page of the batch tells them all."""

BAR = 16
"""Cells of the longest bar of a count."""


def story(view: LiveFeedView, row: Row | None, width: int) -> list[Line]:
    """What happened to the batch, culture or stock that is marked, or what a cone is set for."""
    match row:
        case PlannedCone(name=name):
            one = next((o for p, o in zip(view.planned, view.ahead.to_set, strict=True)
                        if p is row), None)  # fmt: skip
            said = [] if one is None else tomorrow.set_sentences(one, view.ahead)
            return _told(name, "to be set", said, width)
        case LiveBatch(name=name) if row.events:
            counts = _counts(row, view.now, width)
            room = 3 if counts else EVENTS
            beside = "" if len(row.events) <= room else f"the last {room} of {len(row.events)}"
            expected = _expected(view, name)
            said = [expected] if expected else []
            told = _events(name, row.events[-room:], beside, view.now, width, said)
            return [*told, *counts]
        case OnHand(code=code):
            events = sorted(
                (e for tin in row.tins for e in tin.events), key=lambda e: (e.at.utc, e.n)
            )
            beside = "" if len(events) <= EVENTS else f"the last {EVENTS} of {len(events)}"
            return _events(code, events[-EVENTS:], beside, view.now, width, [])
    return []


def _head(name: str, beside: str, width: int) -> list[Line]:
    return [blank(width), line(width, Span(f" {name}".ljust(13), "bold"), Span(beside, "dim"))]


def _told(name: str, beside: str, said: Iterable[str], width: int) -> list[Line]:
    rows = _head(name, beside, width)
    for words_ in said:
        rows += [line(width, Span(f"   {part}")) for part in text.wrap(words_, width - 4)]
    return rows


def _events(
    name: str,
    events: Sequence[BatchSeen],
    beside: str,
    now: Instant,
    width: int,
    said: Sequence[str],
) -> list[Line]:
    if not events:
        return []
    rows = _told(name, beside, said, width)
    for one in events:
        of = f"{one.batch} " if one.batch != name else ""
        head = f"   {at_words(one.at, now).rjust(13)}  {one.who.ljust(3)} "
        head += f"{of}{words.event_word(one)}".ljust(11) + " "
        tone = "watch" if one.event == BatchEvent.DISCARD else "plain"
        told = words.what_happened(one)
        for nth, part in enumerate(text.wrap(told, max(10, width - len(head) - 1)) or [""]):
            before = head if nth == 0 else " " * len(head)
            rows.append(line(width, Span(before, "dim"), Span(part, tone)))
    return rows


def lately(view: LiveFeedView, row: Row | None, room: int, width: int) -> list[Line]:
    """What was done last with all but what is marked, newest first, in so many rows."""
    marked = row.name if isinstance(row, LiveBatch) else ""
    found = [
        (one.name, event) for one in view.batches if one.name != marked for event in one.events
    ]
    found.sort(key=lambda each: (each[1].at.utc, each[1].n), reverse=True)
    rows = _head("DONE LATELY", "", width)
    for name, event in found:
        head = f"   {at_words(event.at, view.now).rjust(13)}  {event.who.ljust(3)} "
        words_ = f"{words.event_word(event)} {name}".ljust(BAR) + " "
        tone = "watch" if event.event == BatchEvent.DISCARD else "plain"
        if len(rows) == room:
            break
        rows.append(line(width, Span(head, "dim"), Span(words_),
                         Span(_first_part(words.what_happened(event), width - len(head + words_)),
                              tone)))  # fmt: skip
    return rows if 3 < len(rows) <= room else []


def _first_part(told: str, room: int) -> str:
    """As many of the parts of what happened as fit, none cut."""
    while text.width(told) > room and ", " in told:
        told = told.rpartition(", ")[0]
    return told if text.width(told) <= room else ""


def _expected(view: LiveFeedView, name: str) -> str:
    """What a cone that stands should give, and how that was reckoned."""
    one = next((each for each in view.ahead.standing if each.batch == name), None)
    if one is None or one.thousand is None or one.hatch is None:
        return ""
    how = tomorrow.hatch_words(one.hatch)
    return f"{one.thousand:,.0f} thousand expected: {one.grams:g} g, {how}."


def _counts(one: LiveBatch, now: Instant, width: int) -> list[Line]:
    """The counts of a culture, newest last, each with its bar."""
    if len(one.counts) < 2:
        return []
    eggs = one.kind is BatchKind.ROTIFERS
    head = f"   {'':13}  {'per mL':>9}{'':{BAR + 4}}{'eggs per female' if eggs else ''}"
    rows = [line(width, Span(head, "dim"))]
    most = max(c.per_ml for c in one.counts) or 1
    richest = max((c.eggs or 0.0 for c in one.counts), default=0.0) or 1
    for count in one.counts:
        dense = f"{count.per_ml / 1e6:.2f} M" if count.per_ml >= 1e6 else f"{count.per_ml:,.0f}"
        bar = "█" * max(1, round(BAR * count.per_ml / most))
        spans = [
            Span(f"   {at_words(count.at, now).rjust(13)}  {dense:>9}  "),
            Span(bar.ljust(BAR), "past"),
        ]
        if count.eggs is not None:
            bar = "█" * max(1, round(BAR * count.eggs / richest))
            spans += [Span(f"  {count.eggs:.2f}  "), Span(bar, "past")]
        rows.append(line(width, *spans))
    return rows


def clocks(view: LiveFeedView, width: int) -> list[Line]:
    """Every next step by its time: what is done with which batch, and how long until then."""
    now = view.now
    found = [(cone.set_by, "set", cone.name) for cone in view.planned]
    for one in view.batches:
        step = one.next
        if step is not None and step.step not in (NextStep.SET,):
            good = one.left is not None and not one.left.warns(now)
            use_by = step.step is NextStep.DISCARD and good
            found.append((step.at, "use by" if use_by else words.STEPS[step.step], one.name))
    grouped: dict[tuple[int, str], tuple[Instant, list[str]]] = {}
    for at, does, name in sorted(found, key=lambda each: (each[0].utc, each[2])):
        grouped.setdefault((at.utc, does), (at, []))[1].append(name)
    if not grouped:
        return []
    rows = _head("NEXT", "", width)
    for (_, does), (at, names) in grouped.items():
        hours = at.hours_since(now)
        when = at_words(at, now) if hours > 0 else "now"
        told = to_come(hours) if hours > 0 else ""
        said = f"   {when.rjust(9)}  {does} {', '.join(names)}"
        tone = "bold" if hours <= 0 else "plain"
        if text.width(said) + text.width(told) + 3 > width:
            told = ""  # the time itself stands at the left
        rows.append(spread(width, [Span(said, tone)], [Span(f"{told} ", "dim")], "plain"))
    return rows
