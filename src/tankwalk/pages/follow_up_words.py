"""Follow-ups in words: what they say and how they stand, short for the board, in full for lists."""

from __future__ import annotations

from tankwalk.clock import AHEAD, ago, is_ahead
from tankwalk.ledger.follow_up_kinds import FollowUpState, FollowUpWhat, MayClose
from tankwalk.practice.doing.follow_ups import Carried
from tankwalk.practice.site import placed


def said(one: Carried) -> str:
    """What it says, after the place it belongs to."""
    return placed(one.seen.place, one.seen.text)


def until(one: Carried) -> str:
    """Until when something is altered, or how long that is overdue; "" where it has no end."""
    terms = one.terms
    if terms.due is None:
        return ""
    late = f", overdue {ago(terms.late_hours)}" if terms.late else ""
    return f"put back by {terms.due.short()}{late}"


def whose(one: Carried) -> str:
    """Whose an action is, and since when it is open."""
    late = ", overdue" if one.terms.late else ""
    return f"{one.seen.owner or 'next lead'}, {open_for(one)}{late}"


def open_for(one: Carried) -> str:
    """Since when an action is open."""
    hours = one.terms.open_hours
    return f"opened {AHEAD}" if is_ahead(hours) else f"open {ago(hours)}"


def terms(one: Carried) -> str:
    """Whose it is, until when, how late and how long carried, as "MV, by Mon 11 May 12:00"."""
    seen, stands = one.seen, one.terms
    altered = seen.what is FollowUpWhat.ALTERED
    parts = []
    if seen.owner or not altered:
        parts.append(seen.owner or "next shift lead")
    if seen.state is FollowUpState.DONE:
        parts.append(f"done by {seen.done_by}, to be closed")
    if stands.due is not None:
        parts.append(f"{'put back by' if altered else 'by'} {stands.due.short()}")
    elif altered:
        parts.append("no end set")
    if seen.rule is not MayClose.TASK:
        parts.append(seen.rule.value)
    if stands.late:
        parts.append(f"overdue {ago(stands.late_hours)}")
    if stands.lead_decides:
        parts.append(f"open {stands.shifts} shifts; {stands.lead or 'the lead'} to decide")
    elif stands.shifts > 1:
        parts.append(f"open {stands.shifts} shifts")
    return ", ".join(parts)


def ended(one: Carried) -> str:
    """How it ended, by whom and with which words; "" while it stands."""
    end = one.seen.end
    return (
        "" if end is None else f"{one.seen.state.value} {end.at.short()} by {end.who}: {end.text}"
    )
