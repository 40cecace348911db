"""Whose the room is, a handover that waits or that nobody took, as board and handover say it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk import text
from tankwalk.clock import AHEAD, Instant, ago, is_ahead, past
from tankwalk.ledger.handovers import HandoverSeen
from tankwalk.pages.lines import Line, Span, line, spread
from tankwalk.pages.when import at_words
from tankwalk.plan.model import Person

if TYPE_CHECKING:
    from tankwalk.practice.handover.handover_notes import NeverTaken


def title(name: str, now: Instant, width: int, *, whole: bool = False) -> list[Line]:
    """The page, the site and the moment; where nothing may be cut (`whole`), on two rows."""
    left, right = f" BOARD  {name}", f"{now.short()} "
    if whole and text.width(left) + text.width(right) + 2 > width:
        rows = [f" BOARD  {part}" for part in text.wrap(name, max(1, width - 9))]
        return [line(width, Span(row, "head"), fill="head") for row in (*rows, f" {right}")]
    return [spread(width, [left], [right], "head")]


def room(given: HandoverSeen | None, now: Instant, call: str, width: int) -> list[Line]:
    """Who has the room, and whom to call; on two rows where one is too narrow."""
    whom, right = with_whom(given, now), f"on call  {call} "
    if call and text.width(whom.text) + text.width(right) + 9 > width:
        short = whom._replace(text=whom.text.rpartition(",")[0] or whom.text)
        whom = short if text.width(short.text) + text.width(right) + 9 <= width else whom
    left = [Span(" Room  ", "dim"), whom]
    if not call:
        return [line(width, *left)]
    if text.width(whom.text) + text.width(right) + 9 <= width:
        return [spread(width, left, [Span("on call  ", "dim"), Span(f"{call} ", "bold")], "plain")]
    rows = text.wrap(call, max(1, width - 8))[:2]
    heads = [Span(" Call  ", "dim"), Span(" " * 7)]
    return [
        line(width, *left),
        *(line(width, head, Span(row, "bold")) for head, row in zip(heads, rows, strict=False)),
    ]


def call_words(person: Person | None) -> str:
    """Whom to call and by which number, as "MV 555-0142"; "" where the plan names nobody."""
    return "" if person is None else f"{person.initials} {person.phone}".strip()


def with_whom(given: HandoverSeen | None, now: Instant) -> Span:
    """Who has the room, or who waits for somebody to take it."""
    if given is None:
        return Span("no handover yet", "dim")
    if given.taken is None:
        return Span(f"not taken over: {given.who} gave it {_since(given.at, now)}", "watch")
    since = at_words(given.taken, now)
    return Span(f"{given.taken_by} since {since}, taken over from {given.who}", "plain")


def _since(given: Instant, now: Instant) -> str:
    hours = now.hours_since(given)
    ago_words = "" if round(abs(hours) * 60) < 1 else f", {past(hours)}"
    return f"{at_words(given, now)}{ago_words}"


def waiting(given: Instant, now: Instant) -> str:
    """How long a handover waits to be taken."""
    hours = now.hours_since(given)
    if is_ahead(hours):
        return f"{AHEAD}, not accepted yet"
    return "not accepted yet" if round(abs(hours) * 60) < 1 else f"NOT ACCEPTED for {ago(hours)}"


def untaken(one: NeverTaken) -> str:
    """Which handover nobody took."""
    return f"handover {one.given.at.short()} by {one.given.who}"
