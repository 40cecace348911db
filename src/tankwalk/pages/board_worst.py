"""The worst place of the board as one bright block: what it is, what to do, look, whom to call."""

from __future__ import annotations

from tankwalk import text
from tankwalk.ledger.incidents import DoneSeen
from tankwalk.pages import incident_words
from tankwalk.pages.lines import Line, Span, line, spread
from tankwalk.pages.room_words import call_words
from tankwalk.pages.when import at_words
from tankwalk.plan.responses import response
from tankwalk.practice.board import Board
from tankwalk.practice.incidents.incident import CallState, Incident
from tankwalk.practice.judging.verdict import Flag

LABEL = 13
"""Cells of "do", "look" and "call", and what stands beside them begins after."""


def on_call(board: Board) -> str:
    """Whom to call, and by which number; where the plan says nobody by the hour, its own line."""
    return call_words(board.on_call) or board.emergency


def urgent(board: Board) -> Incident | None:
    """The worst place where it is URGENT; None where nothing is."""
    worst = board.incidents[0] if board.incidents else None
    return worst if worst is not None and worst.flag >= Flag.URGENT else None


def block(board: Board, one: Incident, width: int) -> list[Line]:
    """One bright block for the worst place: what, what else there, what to do, look, call."""
    lines = _urgent_row(board, one, width)
    if one.also:
        words = ". ".join(other.sentence for other in one.also)
        lines += labeled("also", f"{words}.", width)
    lines += dealt(one, width)
    others = [
        other
        for other in board.incidents[1:]
        if other.flag >= Flag.URGENT and other.place != one.place
    ]
    for other in {each.place: each for each in reversed(others)}.values():
        lines += _urgent_row(board, other, width)
    return lines


def _urgent_row(board: Board, one: Incident, width: int) -> list[Line]:
    """Edge to edge in the brightest tone: the mark, the place, the value and its band."""
    words = incident_words.headline(one)
    told = f"{one.flag.mark}  {one.place}  {words}"
    when = f"{one.behind.who} {at_words(one.behind.at, board.now)} "
    if text.width(told) + text.width(when) + 3 <= width:
        return [spread(width, [Span(f" {told}", "urgent")], [Span(when, "urgent")], "urgent")]
    first, *rest = text.wrap(f"{told}, {when}", max(10, width - 6)) or [""]
    rows = [f" {first}", *(" " * 5 + more for more in rest)]
    return [line(width, Span(row, "urgent"), fill="urgent") for row in rows]


def dealt(one: Incident, width: int) -> list[Line]:
    """How a flag is dealt with: do, look and call, so labeled, in this order."""
    lines = []
    open_ones = tuple(step.words for step in one.steps if step.done is None)
    done = [f"{each.text} {each.at.hm()}" for each in _done(one)]
    words = response(open_ones)
    if done:
        words = f"{words} Done: {', '.join(done)}.".strip()
    if words:
        lines += labeled("do", words, width)
    look = incident_words.look_words(one)
    if look:
        lines += labeled("look", f"{look}.", width)
    if one.call.state is not CallState.NOT_WANTED:
        how, tone = incident_words.call_words(one.call, one.now)
        whom = incident_words.person_words(one.call.on_call)
        again = how if one.call.on_call is None else f"{how}. {whom}"
        words = again if one.call.state is CallState.REACHED else f"{whom}. {how}"
        lines += labeled("call", f"{words}.", width, tone)
    return lines


def _done(one: Incident) -> list[DoneSeen]:
    """What was done about a flag, oldest first."""
    steps = [step.done for step in one.steps if step.done is not None]
    return sorted((*steps, *one.others), key=lambda each: (each.at.utc, each.n))


def labeled(label: str, words: str, width: int, tone: str = "plain") -> list[Line]:
    """A row that begins with "do", "look" or "call", and what follows hanging below it."""
    first, *rest = text.wrap(words, max(10, width - LABEL - 1)) or [""]
    head = Span(" " * 5 + label.ljust(LABEL - 5), "bold")
    lines = [line(width, head, Span(first, tone))]
    return lines + [line(width, Span(" " * LABEL), Span(more, tone)) for more in rest]
