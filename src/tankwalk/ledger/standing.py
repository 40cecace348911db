"""What stands as functions of a connection, until every call asks the `Reader`."""

from __future__ import annotations

from tankwalk.ledger.follow_ups import STANDING, TASK, FollowUpQuestions, FollowUpSeen, Turn
from tankwalk.ledger.handovers import (
    WORDS,
    HandoverQuestions,
    HandoverSeen,
    HandoverWords,
    SaidSeen,
    Untaken,
)
from tankwalk.ledger.queries import of_connection

__all__ = ["STANDING", "TASK", "WORDS", "FollowUpSeen", "HandoverSeen", "HandoverWords"]
__all__ += ["SaidSeen", "Turn", "Untaken"]

follow_ups = of_connection(FollowUpQuestions, FollowUpQuestions.open)
follow_up = of_connection(FollowUpQuestions, FollowUpQuestions.opened_by)
ended = of_connection(FollowUpQuestions, FollowUpQuestions.ended)
last_handover = of_connection(HandoverQuestions, HandoverQuestions.last)
last_taken = of_connection(HandoverQuestions, HandoverQuestions.last_taken)
never_taken = of_connection(HandoverQuestions, HandoverQuestions.never_taken)
handover_words = of_connection(HandoverQuestions, HandoverQuestions.words)
