"""An incident in words: its headline, its call, each line of its story, and what a look found."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tankwalk import figures
from tankwalk.clock import Instant, ago
from tankwalk.ledger.flags import Done as Decided
from tankwalk.ledger.incidents import CallSeen, DoneSeen
from tankwalk.ledger.notes import NoteSeen
from tankwalk.ledger.readings import Seen
from tankwalk.pages.due_words import look_at
from tankwalk.pages.lines import FLAG_TONES
from tankwalk.plan.bands import describe
from tankwalk.plan.model import MASS_EVENT
from tankwalk.practice.incidents.incident import (
    CallState,
    CallView,
    Incident,
    StoryLine,
    once,
)
from tankwalk.practice.judging.verdict import Flag, left_out, value_words

if TYPE_CHECKING:  # the board asks how a flag stands, and neither where one stands nor its trend
    from tankwalk.plan.model import Person
    from tankwalk.practice.incidents.open_here import OpenAt, OpenNow
    from tankwalk.practice.incidents.trend import Trend
    from tankwalk.practice.round.agenda import Slot

DECIDED = {"close": "closed", "shelve": "shelved", "return": "back from the shelf"}


def headline(one: Incident) -> str:
    """What is wrong: "Oxygen 4.8 mg/L, confirmed 4.9, band 7.0 - 10.0"."""
    item, first = one.item, one.first
    if item is MASS_EVENT and one.standing is not None:
        return one.standing.sentence
    if first is not None and first.value is not None:
        second = value_words(item, one.behind, bare=True)
        same = second == value_words(item, first, bare=True)
        said = f"{value_words(item, first)}, confirmed" + ("" if same else f" {second}")
    else:
        said = value_words(item, one.behind)
    band = "" if one.band is None or not item.kind.by_band else f", band {describe(one.band, item)}"
    if one.standing is not None and (one.key.kind != "place" or one.whole):
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


def dealt(one: Incident) -> str:
    """What was done about a flag, how the call stands, and when one looks again, in one line."""
    steps = [step.done for step in one.steps if step.done is not None]
    done = sorted((*steps, *one.others), key=lambda each: (each.at.utc, each.n))
    parts = [f"done: {each.text} {each.at.told(one.now)} ({each.who})" for each in done]
    if one.call.newest is not None:
        parts.append(f"call: {call_words(one.call, one.now)[0]}")
    elif one.call.state is CallState.NOT_CALLED:
        parts.append(f"{person_words(one.call.on_call)}: NOT CALLED YET")
    look = look_words(one)
    return "; ".join([*parts, look] if look else parts)


def over(one: Incident) -> str:
    """A flag that stands no more: what it was, from when to when, and what was done."""
    item, worst = one.item, one.behind
    until = f"{value_words(item, one.newest, bare=True)} {one.newest.at.told(one.now)}"
    value = value_words(item, worst)
    if item is MASS_EVENT:
        value, until = f"{worst.value or 0:,.0f} {item.unit}", "closed by a person"
    said = f"{item.label} {value} {one.raised.told(one.now)}, over: {until}"
    after = dealt(one)
    return f"{said}; {after}" if after else said


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
            said = _reading(line, line.about, label)
            return f"{where}{said}{_not_at_once(line, line.about)}", "plain"
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


def _not_at_once(line: StoryLine, seen: Seen) -> str:
    """How a reading came into the record, where it did not as it was seen."""
    if not seen.late_s and seen.amends is None:  # seldom: a board loads no words for it
        return ""
    from tankwalk.pages import correction_words

    words = correction_words.beside(seen, seen.at, line.item)
    return f", {words}" if words else ""


def _reading(line: StoryLine, seen: Seen, label: str) -> str:
    value = seen.typed if line.item is None else value_words(line.item, seen)
    if line.item is MASS_EVENT:
        value = f"{seen.value or 0:,.0f} {seen.unit}"
    said = f"{label or seen.item} {value}"
    flag = Flag(seen.flag)
    if flag >= Flag.WATCH:
        return f"{said}  {flag.mark}{', confirmed' if seen.recheck else ''}"
    return f"{said}, read again" if seen.recheck else said


NEAR_MIN, LATE_MIN = 10, 30
"""A look that comes due within these minutes stands in the head of every page of a round; that of
a WATCH until it is so late. Common practice, no source."""


def alarm(now: Instant, open_now: OpenNow) -> tuple[tuple[str, ...], Flag]:
    """What cannot wait for the board, most urgent first, and how serious it is.

    ("T07 NOT CALLED", "look in 3 min").
    """
    uncalled = [one for one in open_now.flags if one.call.state in UNCALLED]
    parts, flag = [], Flag.OK
    if uncalled:
        tried = uncalled[0].call.state is CallState.NOT_REACHED
        parts.append(f"{uncalled[0].place} {'NOT REACHED' if tried else 'NOT CALLED'}")
        flag = uncalled[0].flag
    look = open_now.look
    late = 0.0 if look is None else now.hours_since(look.at)
    # A WATCH that nobody looked at for hours is told by the board and at its stop.
    gone = look is not None and look.flag <= Flag.WATCH and late * 60 > LATE_MIN
    if look is not None and late * 60 >= -NEAR_MIN and not gone:
        when = f"overdue {ago(late)}" if late * 60 >= 1 else f"in {ago(late)}"
        when = "now" if when == "in now" else when
        where = "" if uncalled and look.place == uncalled[0].place else f"{look.place} "
        parts.append(f"{where}look {when}")
        flag = max(flag, Flag(look.flag))
    return tuple(parts), flag


UNCALLED = (CallState.NOT_CALLED, CallState.NOT_REACHED)


def to_call(call: CallView) -> str:
    """Whom to call, "call MV 555-0142, NOT CALLED YET"; "" once somebody was reached."""
    if call.state not in UNCALLED:
        return ""
    tried = "NOT REACHED YET" if call.state is CallState.NOT_REACHED else "NOT CALLED YET"
    one = call.on_call
    if one is None:
        return f"nobody is on call by the plan, {tried}"
    return f"call {' '.join(part for part in (one.initials, one.phone) if part)}, {tried}"


def next_words(one: Incident) -> str:
    """What happens next about a flag: "NOT CALLED YET", "MV called 07:14", "look by 09:08"."""
    if one.call.state in UNCALLED:
        tried = one.call.state is CallState.NOT_REACHED
        return "NOT REACHED YET" if tried else "NOT CALLED YET"
    parts = []
    newest = one.call.newest
    done = [step.done for step in one.steps if step.done is not None] + list(one.others)
    if newest is not None:
        parts.append(f"{newest.whom} called {newest.at.told(one.now)}")
    elif done:
        last = max(done, key=lambda each: (each.at.utc, each.n))
        parts.append(f"{last.text} {last.at.told(one.now)}")
    if one.look is not None:
        more = "one more look" if one.standing and one.standing.state != "standing" else "look"
        late = one.now.hours_since(one.look) * 60 >= 1
        parts.append(f"{more} overdue" if late else f"{more} by {one.look.told(one.now)}")
    return ", ".join(parts)


def open_words(here: OpenAt, now: Instant, *, brief: bool = False) -> list[tuple[str, str]]:
    """What stands open at a place, a line each with its tone; `brief` leaves out why it is so."""
    lines = []
    for one in once(here.flags):
        said = headline(one) if brief or one.standing is None else one.standing.sentence
        after = to_call(one.call) or next_words(one._replace(now=now))
        since = f"since {one.raised.told(now)}"
        lines.append((f"{one.flag.mark} {said}, {since}" + (f"; {after}" if after else ""),
                      FLAG_TONES[one.flag]))  # fmt: skip
    for shelved in here.shelved:
        until = "" if shelved.until is None else f" until {shelved.until.told(now)}"
        lines.append((f"shelved{until}: {shelved.sentence}", "dim"))
    for carried in here.altered:
        lines.append((f"altered: {carried.seen.text}", "plain"))
    return lines


def kept(looked: Sequence[tuple[Slot, Seen]], who: str, now: Instant) -> str:
    """What a look kept, where no flag stands for it: "T05 Oxygen 8.2 mg/L, in band"."""
    parts = []
    for slot, seen in looked:
        item = slot.item
        if seen.value is None:
            said = left_out(seen.qualifier)
        else:
            said = value_words(item, seen)
            said += ", in band" * (item.kind.by_band and seen.flag < Flag.WATCH)
        parts.append(f"{slot.place} {item.label} {said}")
    return f"Kept: {'; '.join(parts)}. Signed by {who} at {now.hm()}."


def found(one: Incident, trend: Trend | None) -> str:
    """What the newest look says: which way it goes, when it is back, and what ends the flag."""
    item, now = one.item, one.newest
    value = f"{item.label} {value_words(item, now)}"
    if trend is not None and item.kind.by_band:
        way = "not moving" if not trend.moved else "rising" if trend.moved > 0 else "falling"
        before = value_words(item, trend.before, bare=True)
        value += f", {way}; was {before} at {trend.before.at.told(one.now)}"
    if item is MASS_EVENT:
        look = "" if one.look is None else f" Next look {one.look.told(one.now)}."
        return f"Looked at. {headline(one)}: a flag until a person closes it.{look}"
    if one.standing is None:
        still = "; ".join(f"{each.flag.mark} {each.sentence}" for each in one.also)
        return f"{value}. In band: the flag is over." + (f" Still open here: {still}" * bool(still))
    parts = [f"{value}."]
    if trend is not None and trend.edge is not None and trend.minutes is not None:
        edge = figures.show(trend.edge, "", item.decimals)
        parts.append(f"At this rate {edge} in about {ago(trend.minutes / 60)}.")
    if one.standing.state == "in band once":
        parts.append("In band once; one more look in band ends the flag.")
    elif Flag(now.flag) < Flag.WATCH and item.kind.by_band:
        parts.append(f"In band, too near its edge to count: stays {one.flag.mark}.")
    else:
        parts.append(f"Stays {one.flag.mark}.")
    if one.look is not None:
        parts.append(f"Next look {one.look.told(one.now)}.")
    if one.call.state in (CallState.NOT_CALLED, CallState.NOT_REACHED):
        whom = one.call.on_call.initials if one.call.on_call else "who is on call"
        parts.append(f"Call {whom}: {one.call.state.value}.")
    return " ".join(parts)
