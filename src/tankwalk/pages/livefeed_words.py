"""Live feed in words: next steps, faults of cultures, events of a batch, what is in stock."""

from __future__ import annotations

from tankwalk.clock import Instant, ago
from tankwalk.ledger.feeding import BatchEvent, BatchSeen
from tankwalk.pages.when import age_words, at_words, to_come
from tankwalk.practice.livefeed import choosing
from tankwalk.practice.livefeed.batches import LiveBatch, Next, State
from tankwalk.practice.livefeed.choosing import Row
from tankwalk.practice.livefeed.cultures import CultureCount, CultureFault, falling_for
from tankwalk.practice.livefeed.on_hand import OnHand, Tin
from tankwalk.practice.livefeed.setting import PlannedCone
from tankwalk.practice.tasks import NextStep

STEPS = {
    NextStep.SET: "begin it",
    NextStep.CHECK: "check",
    NextStep.HARVEST: "harvest",
    NextStep.COUNT: "count",
    NextStep.CHILL: "chill",
    NextStep.POUR: "use by",
    NextStep.DISCARD: "throw out",
    NextStep.FEED: "feed",
    NextStep.SPLIT: "split",
    NextStep.RESTART: "begin again",
}
"""A next step, verb first."""

DOES = {
    NextStep.SET: "begin",
    NextStep.CHECK: "check",
    NextStep.HARVEST: "harvest",
    NextStep.COUNT: "count",
    NextStep.CHILL: "chill",
    NextStep.POUR: "open",
    NextStep.DISCARD: "throw out",
    NextStep.FEED: "feed",
    NextStep.SPLIT: "split",
    NextStep.RESTART: "begin again",
}
"""What Enter does, for the footer."""

EVENTS = {
    BatchEvent.SET: "set",
    BatchEvent.CHECK: "checked",
    BatchEvent.HARVEST: "harvested",
    BatchEvent.CHILL: "chilled",
    BatchEvent.ENRICH: "enriched",
    BatchEvent.DISCARD: "thrown out",
    BatchEvent.COUNT: "counted",
    BatchEvent.FEED: "fed",
    BatchEvent.DILUTE: "split",
    BatchEvent.RECEIVED: "received",
    BatchEvent.OPENED: "opened",
    BatchEvent.TEST_HATCH: "test hatch",
    BatchEvent.WEIGHED: "weighed",
    BatchEvent.EMPTY: "empty",
    BatchEvent.STEP: "step",
}


def when_next(one: LiveBatch, now: Instant) -> tuple[str, str]:
    """The next step of a batch with its time, and the tone of it."""
    if one.next is None:
        return "", "dim"
    late = -one.next.hours(now)
    words = f"{STEPS[one.next.step]} {at_words(one.next.at, now)}"
    match one.next.step:
        case NextStep.RESTART:
            source = f" from {one.next.from_}" if one.next.from_ else ""
            return f"begin again{source} now", "act"
        case NextStep.SET:
            return "not begun", "dim"
        case NextStep.POUR if one.state is State.ENRICHING:
            return f"ready {at_words(one.next.at, now)}", "plain"
        case NextStep.POUR:
            return words, "plain"
        case NextStep.DISCARD if one.left is not None:
            if one.left.blocked(now):
                return "! no feed any more: throw out", "watch"
            if one.left.warns(now):
                return f"! {ago(now.hours_since(one.left.harvested))} old, use first", "watch"
            mark = "! " if -late <= SOON else ""
            return f"{mark}use by {at_words(one.left.warn_at, now)}", "watch" if mark else "plain"
        case NextStep.DISCARD:
            return "! too old: throw out", "watch"
    if one.next.step is NextStep.CHILL and one.left is not None and late > WARM_HOURS - 1:
        return f"! {age_words(now.hours_since(one.left.harvested))} old, not chilled", "watch"
    if any(fault.hold for fault in one.faults):
        return f"hold, {words}", "watch"
    if late >= LATE:
        return f"{STEPS[one.next.step]} {to_come(-late)}", "watch"
    if one.next.step in (NextStep.HARVEST, NextStep.FEED) and one.culture is not None:
        return f"{STEPS[one.next.step]} now", "bold"
    return words, "bold" if late >= 0 else "plain"


SOON = 2.0
"""Hours before nauplii are a day old at which it is marked. Common practice, no source."""

WARM_HOURS = 6.0
"""Nauplii that stood warm so long have molted: 6 to 8 h after the hatch at 25 degC.

FAO Fisheries Technical Paper 361, from memory.
"""

LATE = 2.0
"""Hours after its time at which a step is overdue, as a harvest is."""


def faults(one: LiveBatch) -> tuple[str, str]:
    """What is wrong with a culture, the worst in words, and its tone; "" where nothing is."""
    if not one.faults:
        return "", "dim"
    worst = one.faults[0]
    words = fault_words(worst, one.counts)
    if worst is CultureFault.EGGS_LOW and CultureFault.EGGS_FALLING in one.faults:
        words = fault_words(CultureFault.EGGS_FALLING, one.counts)
    tone = "act" if worst.restart else "dim" if worst is CultureFault.ALONE else "watch"
    mark = {"act": "!! ", "watch": "! ", "dim": ""}[tone]
    return mark + words, tone


def fault_words(fault: CultureFault, counts: tuple[CultureCount, ...]) -> str:
    """One fault of a culture."""
    match fault:
        case CultureFault.EGGS_FEW:
            return "too few eggs"
        case CultureFault.EGGS_LOW:
            return "few eggs"
        case CultureFault.EGGS_FALLING:
            return f"falling {falling_for(counts)}"
        case CultureFault.DROPPED:
            return "lost half"
        case CultureFault.ALONE:
            return "no backup"


def step_at(step: Next, now: Instant) -> str:
    """A next step and its moment, as a sentence's part."""
    return f"{STEPS[step.step]} {at_words(step.at, now)}, {to_come(step.hours(now))}"


def what_happened(one: BatchSeen) -> str:
    """An event of a batch: what was measured and said."""
    found = [
        f"{one.grams:g} g" if one.grams is not None else "",
        f"{one.litres:g} L" if one.litres is not None else "",
        f"{one.per_ml:,.0f} per mL" if one.per_ml is not None else "",
        f"hatch {one.hatch_percent:.0f} %" if one.hatch_percent is not None else "",
        f"{one.temperature:g} degC" if one.temperature is not None else "",
        f"pH {one.ph:g}" if one.ph is not None else "",
        f"{one.salinity:g} g/kg" if one.salinity is not None else "",
        f"of {one.source or one.lot}" if (one.source or one.lot) and one.event == "set" else "",
        one.text or "",
    ]
    return ", ".join(filter(None, found))


def event_word(one: BatchSeen) -> str:
    """What happened to a batch, in one word."""
    try:
        return EVENTS[BatchEvent(one.event)]
    except ValueError:
        return one.event


def lasts(one: OnHand, now: Instant) -> tuple[str, str]:
    """How long stock lasts and by when to order, and its tone."""
    if one.order_now(now.day):
        return "! order now", "watch"
    found = []
    if one.coming is not None:
        return _coming(one, now)
    if one.days is not None:
        found.append(f"{one.days:.0f} d left")
    if one.order_by is not None:
        year = "" if one.order_by.year == now.day.year else f" {one.order_by.year}"
        found.append(f"order by {one.order_by.day} {one.order_by:%b}{year}")
    return ", ".join(found), "plain"


def _coming(one: OnHand, now: Instant) -> tuple[str, str]:
    """More is ordered: how long it lasts and when more comes, or that it should be here."""
    left = "" if one.days is None else f"{one.days:.0f} d left, "
    on = None if one.coming is None else one.coming.on
    if on is None:
        return f"{left}ordered", "plain"
    day = f"{on:%a} {on.day} {on:%b}"
    if on < now.day:
        return f"! ordered, was to come {day}", "watch"
    tone = "watch" if one.days is not None and (on - now.day).days > one.days else "plain"
    return f"{'! ' if tone == 'watch' else ''}{left}more comes {day}", tone


def tin_words(tin: Tin, now: Instant) -> str:
    """How a tin or bag stands."""
    found = [f"{tin.grams:,.0f} g" if tin.grams is not None else "not weighed"]
    found.append(f"opened {at_words(tin.opened, now)}" if tin.opened else "sealed")
    if tin.tested is not None:
        found.append(f"test hatch {tin.tested:.0f} %")
    if tin.to_weigh(now):
        found.append("weigh it")
    return ", ".join(found)


def row_word(row: Row | None, now: Instant) -> str:
    """What Enter does at a row, for the footer: what is still good is opened, not thrown out."""
    match row:
        case LiveBatch(next=step, name=name) if step is not None:
            if choosing.only_read(row, now):
                return f"open {name}"
            if step.step is NextStep.POUR and row.state is State.STORED:
                return f"set a cone of {name}"
            return f"{DOES[step.step]} {name}"
        case PlannedCone(name=name):
            return f"set {name}"
        case OnHand(code=code) if row.order_now(now.day):
            return f"{code}: ordered"
        case OnHand(code=code):
            return f"{code}: open, weigh, receive"
    return "set a cone"
