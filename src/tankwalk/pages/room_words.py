"""Whose the room is, a handover that waits or that nobody took, as board and handover say it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.clock import Instant, ago
from tankwalk.ledger.handovers import HandoverSeen
from tankwalk.pages.lines import Line, Span, filled, line, spread
from tankwalk.practice.front import Front

if TYPE_CHECKING:  # the front of the board stands before what reads whole handovers is loaded
    from tankwalk.practice.handover.handover_notes import NeverTaken


def draw_front(front: Front, width: int, height: int) -> list[Line]:
    """What stands of the board while the rest of it is read."""
    head = [title(front.name, front.now, width)]
    head.append(line(width, Span(" "), with_whom(front.handover, front.now)))
    return filled(head, width, height)


def title(name: str, now: Instant, width: int) -> Line:
    """The site and the moment."""
    return spread(width, [f" {name}"], [f"{now.short()} "], "head")


def with_whom(given: HandoverSeen | None, now: Instant) -> Span:
    """Who has the room, or who waits for somebody to take it."""
    if given is None:
        return Span("No handover yet.", "dim")
    if given.taken is None:
        waited = waiting(given.at, now)
        return Span(f"Handover {given.at.short()} by {given.who}: {waited}", "watch")
    since = given.taken.short()
    return Span(f"Room with {given.taken_by} since {since}, from {given.who}", "plain")


def waiting(given: Instant, now: Instant) -> str:
    """How long a handover waits to be taken."""
    hours = now.hours_since(given)
    return "not taken yet" if round(abs(hours) * 60) < 1 else f"NOT TAKEN for {ago(hours)}"


def untaken(one: NeverTaken) -> str:
    """Which handover nobody took."""
    return f"handover {one.given.at.short()} by {one.given.who}"
