"""What incidents owe: the looks that come due, and the calls that nobody made."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby

from tankwalk.clock import Instant
from tankwalk.plan.model import MASS_EVENT, Plan
from tankwalk.practice.incidents import looking
from tankwalk.practice.incidents.incident import CallState, Incident
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.tasks import CallDue, Due, LookDue

TOGETHER_MIN = 10
"""Looks at one place that come due within these minutes are one. Common practice, no source."""

UNCALLED = (CallState.NOT_CALLED, CallState.NOT_REACHED)


def owed(plan: Plan, found: Sequence[Incident], now: Instant) -> list[Due]:
    """The calls nobody made and the looks that are to come or overdue, in no order."""
    return [*calls_due(found, now), *looks_due(plan, found, now)]


def calls_due(found: Iterable[Incident], now: Instant) -> list[Due]:
    """One a place with an URGENT flag that nobody was reached about."""
    calls: dict[str, Due] = {}
    for one in found:
        if one.call.state not in UNCALLED or one.place in calls:
            continue
        tried = one.call.state is CallState.NOT_REACHED
        label = one.standing.sentence if one.standing and one.item is MASS_EVENT else one.item.label
        facts = CallDue(one.key, one.place, label, one.call.on_call, tried, one.behind.at)
        # Never "to come": who called within the minute has no line.
        calls[one.place] = Due(max(0.01, now.hours_since(one.behind.at)), facts)
    return list(calls.values())


def looks_due(plan: Plan, found: Iterable[Incident], now: Instant) -> list[Due]:
    """The looks that are to come or overdue, one a place: what comes due together is one.

    An URGENT gives its own time to it: a milder look that is long overdue hides no countdown.
    """
    timed = [(one.look, one) for one in found if one.look is not None]
    timed.sort(key=lambda pair: (pair[1].behind.place, pair[0].utc))
    dues = []
    for _, here in groupby(timed, key=lambda pair: pair[1].behind.place):
        every = list(here)
        first = every[0][0]
        last = max(first.utc, now.utc) + TOGETHER_MIN * 60
        these = [one for when, one in every if when.utc <= last]
        worst = max(these, key=lambda one: one.flag)
        read = (part for one in these if one.standing for part in looking.asked(plan, one.standing))
        when = min(
            (when for when, one in every if one in these and one.flag is Flag.URGENT),
            default=first,
            key=lambda at: at.utc,
        )
        hours = now.hours_since(when)
        facts = LookDue(
            worst.key,
            worst.place,
            tuple(dict.fromkeys(one.item.label for one in these)),
            tuple(dict.fromkeys(read)),
            int(worst.flag),
            when,
            hours,
        )
        dues.append(Due(hours, facts))
    return dues
