"""Questions about meters as functions of a connection, until every call asks the `Reader`."""

from __future__ import annotations

from tankwalk.ledger.meters import LATELY, CheckSeen, MarkSeen, MeterQuestions, ReadWith
from tankwalk.ledger.queries import of_connection
from tankwalk.ledger.spine import SpineQuestions

__all__ = ["LATELY", "CheckSeen", "MarkSeen", "ReadWith"]

checks = of_connection(MeterQuestions, MeterQuestions.checks)
newest_checks = of_connection(MeterQuestions, MeterQuestions.newest_checks)
last_pass = of_connection(MeterQuestions, MeterQuestions.last_pass)
marks = of_connection(MeterQuestions, MeterQuestions.marks)
readings_with = of_connection(MeterQuestions, MeterQuestions.readings_with)
first_with = of_connection(MeterQuestions, MeterQuestions.first_with)
places = of_connection(SpineQuestions, SpineQuestions.places)
