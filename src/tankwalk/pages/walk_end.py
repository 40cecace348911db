"""The end of the walk: what is out of band, what was not taken and why, and what is still open."""

from __future__ import annotations

from tankwalk import text
from tankwalk.clock import AHEAD, ago, is_ahead
from tankwalk.ledger.readings import Seen
from tankwalk.pages.incident_words import headline, next_words
from tankwalk.pages.lines import Line, Span, blank, flag_tone, line, wrapped
from tankwalk.pages.readings import withdrawn_words
from tankwalk.pages.walk_list import Canvas
from tankwalk.practice.incidents.incident import Incident, once
from tankwalk.practice.judging.verdict import Flag, left_out, value_words
from tankwalk.practice.round.agenda import Slot
from tankwalk.practice.round.view import EndView, FlaggedView, WalkView


def end_title(view: WalkView, here: EndView, width: int) -> Line:
    """How much was taken, and how long it took."""
    left = len({(slot.place, slot.item.code) for slot, seen in here.left_out if not seen.recheck})
    taken = view.done - left
    words = f"{taken} of {view.asked} taken"
    if left:
        words += f", {left} not taken"
    if here.open:
        words += f", {len(here.open)} still open"
    hours = view.now.hours_since(view.opened)
    took = AHEAD if is_ahead(hours) else ago(hours)
    more = {"now": "", AHEAD: f" Begun {AHEAD}."}.get(took, f" {took}.")
    head = " End of the round"
    if text.width(f"{head}: {words}.{more}") > width:
        more = ""  # how long it took is the least of it
    return line(width, Span(head, "bold"), Span(f": {words}.{more}"))


def end(view: WalkView, here: EndView, width: int, rows: int) -> list[Line]:
    """What is out of band, worst first, what was not taken, what is open: at most `rows` lines."""
    parts: list[list[Line]] = []
    if here.flagged:
        places = {one.slot.place for one in here.flagged}
        where = f", all at {here.flagged[0].slot.place}" if len(places) == 1 else ""
        head = _heading("OUT OF BAND", f"{len(here.flagged)}{where}", width)
        rows_of = (_flagged(one, len(places) > 1, width) for one in _once(here))
        parts.append([head, *(row for those in rows_of for row in those)])
    if here.found:
        told = [row for one in here.found for row in _whole(one, width)]
        parts.append([_heading("THE WHOLE ROUND", str(len(here.found)), width), *told])
    if here.left_out:
        rest = [_left_out(slot, seen, width) for slot, seen in here.left_out]
        parts.append([_heading("NOT TAKEN", str(len(rest)), width), *rest])
    if here.withdrawn:
        back = [
            row
            for one in here.withdrawn
            for row in wrapped(width, withdrawn_words(one, view.now), "plain", 2, "   ")
        ]
        parts.append([_heading("WITHDRAWN", str(len(here.withdrawn)), width), *back])
    if here.open:
        places_open = ", ".join(f"{slot.place} {slot.item.label}" for slot in here.open)
        used = sum(map(len, parts))
        most = max(1, rows - used - 1)
        parts.append([_heading("STILL OPEN", str(len(here.open)), width),
                      *wrapped(width, places_open, "check", most, "   ")])  # fmt: skip
    if not parts:
        return [line(width, Span(" Everything was taken, and everything is in band.", "ok"))]
    apart = sum(map(len, parts)) + len(parts) - 1 <= rows
    lines = [one for part in parts for one in ([*part, blank(width)] if apart else part)]
    lines = lines[:-1] if apart else lines
    if len(lines) > rows > 0:
        hidden = lines[rows - 1 :]
        worst = any(span.tone in ("watch", "act", "urgent") for row in hidden for span in row)
        more = line(width, Span(f"   {len(hidden)} more", "watch" if worst else "dim"))
        lines = [*lines[: rows - 1], more]
    return lines


def _once(here: EndView) -> list[FlaggedView]:
    """What is out of band, where a call about a place is told once there."""
    told = iter(once(one.dealt for one in here.flagged if one.dealt is not None))
    return [one if one.dealt is None else one._replace(dealt=next(told)) for one in here.flagged]


def _heading(name: str, words: str, width: int) -> Line:
    return line(width, Span(f" {name}", "bold"), Span(f"  {words}"))


def _flagged(one: FlaggedView, named: bool, width: int) -> list[Line]:
    """Mark, what it is, and what is still wanted of it at the right margin: below, where both
    have no room in one row."""
    flag, slot = Flag(one.seen.flag), one.slot
    row = Canvas(width)
    row.right(6, Span(flag.short, flag_tone(flag)))
    word = flag.mark.removeprefix(f"{flag.short} ")
    row.put(7, Span(word, flag_tone(flag)))
    place = f"{slot.place}  " if named else ""
    after = "second reading not taken" if one.again else ""
    if not after and one.dealt is not None:
        after = next_words(one.dealt)
    elif not after and one.over:
        after = "over"
    limits = None if slot.band is None else slot.band.limits
    words = f"{place}{slot.item.label} {value_words(slot.item, one.seen, limits)}"
    if one.since:
        newest = one.since[-1]
        words += f" at {one.seen.at.hm()}; {value_words(slot.item, newest, bare=True)}"
        words += f" at {newest.at.hm()}"
    if text.width(words) + text.width(after) + 17 > width:
        after = "once only" if one.again else after
        if text.width(words) + text.width(after) + 17 > width:
            row.put(15, Span(text.fit(words, width - 16)))
            below = Canvas(width)
            below.right(width - 1, Span(text.fit(after, width - 16), "bold"))
            return [row.line(), below.line()]
    row.put(15, Span(words))
    if after:
        row.right(width - 1, Span(after, "bold"))
    return [row.line()]


def _whole(one: Incident, width: int) -> list[Line]:
    """What a whole round found: mark, sentence, and what is done first."""
    do = f". First: {one.next_step.words}" if one.next_step is not None else ""
    words = f"{one.flag.mark} {one.place} {headline(one)}{do}"
    return wrapped(width, words, flag_tone(one.flag), 3, "   ")


def _left_out(slot: Slot, seen: Seen, width: int) -> Line:
    row = Canvas(width)
    row.put(3, Span(slot.place))
    row.put(15, Span(f"{slot.item.label}{', second reading' if seen.recheck else ''}"))
    row.right(width - 1, Span(left_out(seen.qualifier), "bold"))
    return row.line()
