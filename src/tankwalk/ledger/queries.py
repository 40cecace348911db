"""The questions as functions of a connection, until every call asks the `Reader`."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from typing import Concatenate, ParamSpec, TypeVar

from tankwalk.ledger.doses import DoseQuestions, DoseSeen
from tankwalk.ledger.notes import NoteQuestions, NoteSeen
from tankwalk.ledger.questions import NO_LIMIT, Questions
from tankwalk.ledger.readings import ReadingQuestions, Seen, WorkingSeen
from tankwalk.ledger.rounds import RoundQuestions, RoundSeen
from tankwalk.ledger.spine import SpineQuestions
from tankwalk.ledger.stock import CountSeen, Moved, StockQuestions

__all__ = ["NO_LIMIT", "CountSeen", "DoseSeen", "Moved", "NoteSeen", "RoundSeen", "Seen"]
__all__ += ["WorkingSeen"]

Q = TypeVar("Q", bound=Questions)
P = ParamSpec("P")
R = TypeVar("R")


def of_connection(
    topic: type[Q], question: Callable[Concatenate[Q, P], R]
) -> Callable[Concatenate[sqlite3.Connection, P], R]:
    """A question of a topic that is put to a connection."""

    def ask(db: sqlite3.Connection, /, *args: P.args, **named: P.kwargs) -> R:
        return question(topic(db), *args, **named)

    return ask


newest = of_connection(ReadingQuestions, ReadingQuestions.newest)
newest_of_all = of_connection(ReadingQuestions, ReadingQuestions.newest_of_all)
history = of_connection(ReadingQuestions, ReadingQuestions.history)
seen = of_connection(ReadingQuestions, ReadingQuestions.seen)
round_readings = of_connection(ReadingQuestions, ReadingQuestions.of_round)
working = of_connection(ReadingQuestions, ReadingQuestions.working)
worked_from = of_connection(ReadingQuestions, ReadingQuestions.worked_from)
movements = of_connection(StockQuestions, StockQuestions.movements)
counted_dead = of_connection(StockQuestions, StockQuestions.counted_dead)
counts = of_connection(StockQuestions, StockQuestions.counts)
rounds = of_connection(RoundQuestions, RoundQuestions.newest)
next_round_number = of_connection(RoundQuestions, RoundQuestions.next_number)
checklist_of = of_connection(RoundQuestions, RoundQuestions.checklist_of)
notes = of_connection(NoteQuestions, NoteQuestions.since)
doses = of_connection(DoseQuestions, DoseQuestions.newest)
last_plan_digest = of_connection(SpineQuestions, SpineQuestions.last_plan_digest)
last_moment = of_connection(SpineQuestions, SpineQuestions.last_moment)
amended = of_connection(SpineQuestions, SpineQuestions.amended)
