"""An incident in words: its headline, its call, each line of its story, and what a look found."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk import quantity
from tankwalk.clock import Instant, ago
from tankwalk.ledger.flags import Done as Decided
from tankwalk.ledger.incidents import CallSeen, DoneSeen
from tankwalk.ledger.notes import NoteSeen
from tankwalk.ledger.readings import Seen
from tankwalk.pages.due_words import look_at
from tankwalk.plan.bands import describe
from tankwalk.plan.model import Person
from tankwalk.practice.incidents.incident import CallState, CallView, Incident, StoryLine
from tankwalk.practice.incidents.trend import Trend
from tankwalk.practice.judging.verdict import Flag, value_words

DECIDED = {"close": "closed", "shelve": "shelved", "return": "back from the shelf"}


def headline(one: Incident) -> str:
    """What is wrong: "Oxygen 4.8 mg/L, confirmed 4.9, band 7.0 - 10.0"."""
    item, first = one.item, one.first
    if first is not None and first.value is not None:
        said = f"{value_words(item, first)}, confirmed {value_words(item, one.behind, bare=True)}"
    else:
        said = value_words(item, one.behind)
    band = "" if one.band is None or not item.kind.by_band else f", band {describe(one.band, item)}"
    if one.key.kind != "place" and one.standing is not None:
        return one.standing.sentence
    if one.newest.n != one.behind.n:
        said += f", now {value_words(item, one.newest, bare=True)}"
    return f"{item.label} {said}{band}"


def look_words(one: Incident) -> str:
    """When it is looked at again: "Oxygen at T07 by 07:15, in 3 min"; "" where nothing is due."""
    if one.look is None:
        return ""
    when = look_at(one.look, one.now.hours_since(one.look), one.now)
    by = when if when.startswith(("now", "overdue")) else f"by {when}"
    return f"{one.item.label} at {one.behind.place} again {by}"


def person_words(one: Person | None) -> str:
    """Whom to call: "MV, on call, 555-0142"."""
    if one is None:
        return "nobody is on call by the plan"
    return ", ".join(part for part in (one.initials, "on call", one.phone) if part)


def call_words(call: CallView, now: Instant) -> tuple[str, str]:
    """How a call stands, and its tone: "NOT CALLED YET", "MV reached 07:02: comes at once"."""
    if call.newest is None:
        if call.state is CallState.NOT_CALLED:
            return "NOT CALLED YET", "bold"
        return "not called", "dim"
    said = f"{called(call.newest)}, {call.newest.at.told(now)} {call.newest.who}"
    if call.state is CallState.NOT_REACHED:
        return said.replace("not reached", "NOT REACHED", 1), "bold"
    return said, "dim"


def called(one: CallSeen) -> str:
    """A call: "MV reached: comes at once"."""
    if not one.reached:
        return f"{one.whom} {one.said or 'not reached'}" + (
            ", not reached" if one.said and "not reached" not in one.said else ""
        )
    return f"{one.whom} reached" + (f": {one.said}" if one.said else "")


def told(line: StoryLine, places: Sequence[str]) -> tuple[str, str]:
    """What a line of a story says, and its tone; the place is named where there are several."""
    where = f"{line.place} " if len(places) > 1 or line.place not in places else ""
    label = "" if line.item is None else line.item.label
    match line.about:
        case Seen():
            return f"{where}{_reading(line, line.about, label)}", "plain"
        case DoneSeen(text=words):
            return f"{where}did: {words}", "plain"
        case CallSeen(phone=phone):
            return f"{where}called {called(line.about)}" + (f" ({phone})" if phone else ""), "plain"
        case NoteSeen(text=words):
            return f"{where}note: {words}", "plain"
        case Decided(event=event, reason=reason):
            return f"{where}{label} {DECIDED.get(event, event)}: {reason or ''}".rstrip(
                ": "
            ), "plain"


def _reading(line: StoryLine, seen: Seen, label: str) -> str:
    value = seen.typed if line.item is None else value_words(line.item, seen)
    said = f"{label or seen.item} {value}"
    flag = Flag(seen.flag)
    if flag >= Flag.WATCH:
        return f"{said}  {flag.mark}{', confirmed' if seen.recheck else ''}"
    return f"{said}, read again" if seen.recheck else said


def found(one: Incident, trend: Trend | None) -> str:
    """What the newest look says: which way it goes, when it is back, and what ends the flag."""
    item, now = one.item, one.newest
    value = f"{item.label} {value_words(item, now)}"
    if trend is not None and item.kind.by_band:
        way = "not moving" if not trend.moved else "rising" if trend.moved > 0 else "falling"
        before = value_words(item, trend.before, bare=True)
        value += f", {way}; was {before} at {trend.before.at.told(one.now)}"
    if one.standing is None:
        return f"{value}. In band: the flag is over."
    parts = [f"{value}."]
    if trend is not None and trend.edge is not None and trend.minutes is not None:
        edge = quantity.show(trend.edge, "", item.decimals)
        parts.append(f"At this rate {edge} in about {ago(trend.minutes / 60)}.")
    if one.standing.state == "in band once":
        parts.append("In band once; one more look in band ends the flag.")
    else:
        parts.append(f"Stays {one.flag.mark}.")
    if one.look is not None:
        parts.append(f"Next look {one.look.told(one.now)}.")
    if one.call.state in (CallState.NOT_CALLED, CallState.NOT_REACHED):
        whom = one.call.on_call.initials if one.call.on_call else "who is on call"
        parts.append(f"Call {whom}: {one.call.state.value}.")
    return " ".join(parts)
