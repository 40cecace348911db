"""What is due, in words: what it is, and how it stands."""

from __future__ import annotations

from datetime import date
from typing import assert_never

from tankwalk import text
from tankwalk.clock import Instant, ago
from tankwalk.ledger.feeding import BatchKind
from tankwalk.ledger.stock import What
from tankwalk.pages import timer_words
from tankwalk.pages.when import at_words, day_of, to_come
from tankwalk.plan.model import MASS_EVENT
from tankwalk.practice.doing.deviations import DeviationKind
from tankwalk.practice.site import SITE, placed
from tankwalk.practice.tasks import (
    AgeChange,
    BackupDue,
    BatchDue,
    CallDue,
    ChangeDue,
    CheckDue,
    ConeOut,
    ConeToSet,
    ConeWater,
    CountLeft,
    DeviationsDrafted,
    Due,
    DueState,
    GapAhead,
    HarvestDue,
    LastSaid,
    LookDue,
    MealNext,
    MealsOwed,
    MetersDue,
    Missed,
    NextStep,
    NobodyThere,
    OrderDue,
    OutOfLimit,
    PoorHatch,
    RoundDue,
    RoundUnsigned,
    SampleLeft,
    SamplesDue,
    TimerDue,
)

FEW_TANKS = 3
"""So many tanks that wait for a meal are named; more are counted."""

FEW_MEALS = 3
"""So many meals are named by their times; of more the first and the last, and how many."""

FEW_PLACES = 4
"""So many tanks with one kind of deviation are named; more are counted."""


DEVIATIONS = {
    DeviationKind.WRONG_FEED: "wrong feed",
    DeviationKind.MISSED_FEED: "missed feed",
    DeviationKind.LATE_FEED: "late feed",
    DeviationKind.SHORT_FEED: "short feed",
    DeviationKind.MISSED_TREATMENT: "missed treatment",
}


def line(one: Due, now: Instant) -> str:
    """What is due and how it stands, in one line."""
    return f"{what(one)}: {said(one, now)}"


def told(one: Due, now: Instant, *, short: bool = False) -> tuple[str, str]:
    """What is due, and at the right when or how late: for a row of the board or the handover.

    `short` leaves out what is made up before a meal, where a row is narrow.
    """
    match one.facts:
        case NobodyThere(gone, last, who):
            return f"Nobody entered anything since {at_words(last, now)} ({who})", _long(gone)
        case Missed() | LastSaid() | PoorHatch() | DeviationsDrafted():
            return line(one, now), ""
        case CallDue(key, place, label, whom, tried):
            named = f"{whom.initials} {whom.phone}".strip() if whom else "who is on call"
            why = f", {label[:1].lower()}{label[1:]}" if key.item == MASS_EVENT.code else ""
            left = f"{placed(place, 'call')} {named}{why}"
            return left, "not reached" if tried else "not called yet"
        case LookDue(at=at, hours=hours):
            return what(one), look_at(at, hours, now)
        case TimerDue(at=at):
            late = f"overdue {ago(one.hours)}" if one.overdue else to_come(one.hours)
            return f"{timer_words.what(one.facts)}, {timer_words.ends(one.facts, now)}", late
        case HarvestDue(batch, at, DueState.USELESS):
            left = f"Cone {batch}, harvest {_when(at, now)}: discard, start a new one"
            return left, to_come(one.hours)
        case HarvestDue(batch, at, state):
            more = ": expect instar II" if state is DueState.OVERDUE else ""
            return f"Cone {batch}, harvest {_when(at, now)}{more}", to_come(one.hours)
        case ConeOut(batch, wrong, since):
            values = ", ".join(_out(each) for each in wrong)
            return f"Cone {batch}: {values}", f"since {at_words(since, now)}"
        case ConeToSet():
            return what(one), _by(one.facts, now)
        case BatchDue(at=at, state=state, hours=hours, step=step):
            if state is DueState.OVERDUE:
                return what(one), f"overdue {ago(hours)}"
            comma = "" if step is NextStep.DISCARD else ","
            return f"{what(one)}{comma} {_when(at, now)}", to_come(one.hours)
        case MealsOwed(since, tanks, state, hours):
            late = f"overdue {ago(hours)}" if state is DueState.OVERDUE else "due now"
            return f"Feed {_meals(since)}, {text.named(tanks, FEW_TANKS)}", late
        case MealNext(at=at, hours=hours):
            return f"Feed {at.hm()}, {_to_feed(one.facts, now, short=short)}", to_come(hours)
        case RoundDue(label, _, DueState.BEGUN, _, begun, by) if begun is not None:
            return f"{label}, go on", f"begun {begun.hm()} by {by}, not signed"
        case RoundDue(label, at):
            return f"{label}, {at.hm()}", said(one, now)
        case RoundUnsigned(label, begun, by):
            return f"{label}, begun {at_words(begun, now)} by {by}", "never signed"
        case MetersDue(_, state, days, last) | CheckDue(_, _, state, days, last):
            seen = "never done yet" if last is None else f"last {day_of(last, now)}"
            late = "due" if last is None else _days(state, f"{days:.3g}")
            return f"{what(one)}, {seen}", late
        case SamplesDue(labels, places, state, days, last):
            taken = "none yet" if last is None else f"last {day_words(last)}"
            left = f"Sample {', '.join(labels)}, {text.named(places)}, {taken}"
            return left, _days(state, f"{days:g}")
        case OrderDue(state=state, days=days):
            return f"{what(one)}: {_there(one.facts)}", _days(state, f"{days:g}")
        case SampleLeft(begun=begun, by=by):
            return f"{what(one)}, go on", f"begun {at_words(begun, now)} by {by}, not ended"
        case CountLeft(last=last, by=by):
            return f"{what(one)}, go on", f"last {at_words(last, now)} by {by}, not ended"
        case BackupDue():
            return what(one), said(one, now)
        case ChangeDue(_, _, _, tomorrow, age, places):
            left = f"{what(one)} ({age} dph), {text.named(places)}"
            return left, "tomorrow" if tomorrow else "today"
        case GapAhead(start, end):
            left = f"{what(one)} from {at_words(start, now)} to {at_words(end, now)}"
            return left, _long(end.hours_since(start))
        case _:
            return what(one), said(one, now)


def what(one: Due) -> str:
    """What is due, as "Cone C1 harvest"."""
    match one.facts:
        case NobodyThere():
            return "Nobody entered anything"
        case Missed():
            return "Missed meanwhile"
        case LastSaid():
            return "The last handover said"
        case CallDue(place=place, whom=whom):
            return f"{placed(place, 'call')} {whom.initials if whom else 'who is on call'}"
        case LookDue():
            return what_again(one.facts)
        case TimerDue():
            return timer_words.what(one.facts)
        case HarvestDue(batch):
            return f"Cone {batch} harvest"
        case ConeOut(batch):
            return f"Cone {batch} out of band"
        case PoorHatch(batch):
            return f"Cone {batch}"
        case ConeToSet(_, grams, litres, lot):
            return f"Set a cone: {grams:.1f} g of {lot} in {litres:g} L"
        case BatchDue():
            return _step(one.facts)
        case MealsOwed(since, tanks):
            return f"{' '.join(tanks)} feed" if len(tanks) <= FEW_TANKS else f"Feed {_meals(since)}"
        case MealNext(at=at):
            return f"Feed {at.hm()}"
        case RoundDue(label, at):
            return f"{at.hm()} {label}"
        case RoundUnsigned(label):
            return label
        case MetersDue((meter,)):
            return f"{meter.kind} {meter.code} {meter.check} check"
        case MetersDue(meters):
            return f"Meter checks {', '.join(meter.code for meter in meters)}"
        case CheckDue(label, many=many) if many > 1:
            return f"{label}, {many} checks"
        case CheckDue(label, place):
            return label if place == SITE else f"{label} {place}"
        case DeviationsDrafted(many):
            return f"{many} deviation{'s' if many > 1 else ''} drafted"
        case SamplesDue(labels):
            return f"Sample: {', '.join(labels)}"
        case OrderDue(code):
            return f"Order {code}"
        case SampleLeft(place, many, planned):
            return f"{place} sample, {many} of {planned} fish"
        case CountLeft(place, counted, many):
            name = {"": "count of fish", What.DEAD: "mass event"}.get(counted, counted)
            return f"{place} {name}, {many} sample{'s' if many > 1 else ''} counted"
        case BackupDue(second=second, there=there):
            if not there:
                return "Second disk for backups"
            return "Backup on the second disk" if second else "Backup of the record"
        case ChangeDue(AgeChange.STAGE, whom, stage):
            return f"{whom} enters the {stage} stage"
        case ChangeDue(change, whom, feed):
            return f"{whom} {change.value} {feed}"
        case GapAhead():
            return "No check scheduled"
        case never:
            assert_never(never)


def said(one: Due, now: Instant) -> str:
    """How it stands, as "overdue 2 h: expect instar II"."""
    match one.facts:
        case NobodyThere(gone, last, who):
            return f"for {_long(gone)}, since {last.short()} (by {who})"
        case Missed(rounds, meals, harvests):
            counted = ((rounds, "round"), (meals, "meal"), (harvests, "harvest"))
            return ", ".join(f"{n} {word}{'s' if n != 1 else ''}" for n, word in counted if n)
        case LastSaid(gist, who, at):
            return f"{'; '.join(gist)} ({who}, {at.short()})"
        case CallDue(label=label, whom=whom, tried=tried):
            phone = f", {whom.phone}" if whom is not None and whom.phone else ""
            return f"{label} is !!! URGENT: {'not reached' if tried else 'not called yet'}{phone}"
        case LookDue(at=at, hours=hours):
            return look_at(at, hours, now)
        case TimerDue():
            return timer_words.ends(one.facts, now)
        case HarvestDue():
            return _harvest(one.facts, now)
        case ConeOut(_, wrong, since):
            return f"{', '.join(_out(each) for each in wrong)}, since {_when(since, now)}"
        case PoorHatch(_, hatched, usual, short):
            return (
                f"{hatched:.0f} % hatched, usual {usual:.0f}: about {short} % short "
                "for every live-fed tank; chilled reserve, extra cone"
            )
        case ConeToSet():
            return _by(one.facts, now)
        case BatchDue(at=at, state=state, hours=hours):
            if state is DueState.OVERDUE:
                return f"overdue {ago(hours)}"
            return "due now" if state is DueState.NOW else f"{_when(at, now)}, in {ago(hours)}"
        case MealsOwed():
            return _meals_owed(one.facts)
        case MealNext(hours=hours):
            return f"{_to_feed(one.facts, now)}, in {ago(hours)}"
        case RoundDue():
            return _round(one.facts)
        case RoundUnsigned(_, begun, by):
            return f"begun {begun.short()} by {by}, never signed"
        case MetersDue(_, state, days, last):
            return _checked(state, f"{days:.3g}", last)
        case CheckDue(_, _, state, days, last):
            return _checked(state, f"{days:g}", last)
        case DeviationsDrafted(_, places, owner):
            these = ", ".join(
                f"{DEVIATIONS[kind]} {text.named(at, FEW_PLACES)}" for kind, at in places
            )
            return f"{these}; for {owner or 'the study owner'} to decide"
        case SamplesDue(_, places, state, days, day):
            taken = "none yet" if day is None else f"last {day_words(day)}"
            return f"{text.named(places)}, {_days(state, f'{days:g}')}, {taken}"
        case OrderDue(state=state, days=days):
            return f"{_there(one.facts)}, {_days(state, f'{days:g}')}"
        case SampleLeft(begun=begun, by=by):
            return f"begun {begun.short()} by {by}, not ended"
        case CountLeft(last=last, by=by):
            return f"last {last.short()} by {by}, not ended"
        case BackupDue(days, _, there):
            return f"none for {days} d" if there else "not there: put it in"
        case ChangeDue(_, _, _, tomorrow, age, places):
            return f"{'tomorrow' if tomorrow else 'today'} ({age} dph): {text.named(places)}"
        case GapAhead(start, end):
            lasts = _long(end.hours_since(start))
            return f"from {start.wall:%a %H:%M} to {end.wall:%a %H:%M}, {lasts}"
        case never:
            assert_never(never)


def _by(due: ConeToSet, now: Instant) -> str:
    """By when: "by Sun 09:30, in 1 h 38 min", "overdue 20 min", "at once"."""
    if due.hours * 60 >= 1:
        return f"overdue {ago(due.hours)}"
    if due.late or due.hours * 60 > -1:
        return "at once"
    return f"by {_when(due.by, now)}, in {ago(due.hours)}"


STEPS = {
    NextStep.SET: "set",
    NextStep.CHECK: "check",
    NextStep.HARVEST: "harvest",
    NextStep.COUNT: "count",
    NextStep.CHILL: "chill",
    NextStep.POUR: "use",
    NextStep.DISCARD: "use by",
    NextStep.FEED: "feed",
    NextStep.SPLIT: "split",
    NextStep.RESTART: "begin again",
}


def _step(due: BatchDue) -> str:
    """A step of a batch: "Cone A0509, check", "Nauplii A0508, use by"."""
    named = {
        BatchKind.CONE: "Cone" if due.step in CONE_STEPS else "Nauplii",
        BatchKind.SHELLED: "Shelled cysts",
        BatchKind.ROTIFERS: "Rotifers",
        BatchKind.ALGAE: "Algae",
    }.get(due.kind, "")
    past = due.state is DueState.OVERDUE and due.step is NextStep.DISCARD
    old = "over a day old, use first" if due.still_feed else "too old, discard"
    step = old if past else STEPS[due.step]
    more = f" from {due.from_}" if due.from_ else ""
    return f"{named} {due.batch}, {step}{more}".strip()


CONE_STEPS = (NextStep.CHECK, NextStep.HARVEST, NextStep.COUNT)
"""Steps at the cone itself; what comes after them is done with nauplii."""


def what_again(look: LookDue) -> str:
    """What is looked at again, as "T07 look at Oxygen again"."""
    return f"{placed(look.place, 'look at')} {', '.join(look.labels)} again"


def look_at(at: Instant, hours: float, now: Instant) -> str:
    """When one looks again: "07:15, in 3 min", "now", "overdue 13 h"."""
    if hours * 60 >= 1:
        return f"overdue {ago(hours)}"
    return "now" if hours * 60 > -1 else f"{_when(at, now)}, in {ago(hours)}"


def _meals_owed(due: MealsOwed) -> str:
    late = f"overdue {ago(due.hours)}" if due.state is DueState.OVERDUE else "due now"
    if len(due.tanks) <= FEW_TANKS:
        return f"{late} ({_meals(due.since)})"
    return f"{len(due.tanks)} tanks, {late}"


def _to_feed(due: MealNext, now: Instant, *, short: bool = False) -> str:
    """Whom, and what is made up before: "12 tanks; weigh and count from 07:50"."""
    off = f" ({text.named(due.off, FEW_TANKS)} off)" if due.off else ""
    many = f"{due.tanks} tank{'s' if due.tanks != 1 else ''}{off}"
    what = " and ".join(w for w, is_ in (("weigh", due.weighs), ("count", due.counts)) if is_)
    if not what or short:
        return many
    when = "now" if now.utc >= due.prepare.utc else f"from {due.prepare.hm()}"
    return f"{many}; {what} {when}"


def _harvest(due: HarvestDue, now: Instant) -> str:
    match due.state:
        case DueState.USELESS:
            return f"overdue {ago(due.hours)}: discard, start a new one"
        case DueState.OVERDUE:
            return f"overdue {ago(due.hours)}: expect instar II"
        case DueState.NOW:
            return f"due {ago(due.hours)} ago" if due.hours * 60 >= 1 else "due now"
        case _:
            return f"{_when(due.at, now)}, in {ago(due.hours)}"


def _round(due: RoundDue) -> str:
    match due.state:
        case DueState.BEGUN if due.begun is not None:
            return f"begun {due.begun.hm()} by {due.by}, not signed"
        case DueState.OVERDUE:
            return f"overdue {ago(due.hours)}"
        case DueState.NOW:
            return "due now"
        case _:
            return f"in {ago(due.hours)}"


def _checked(state: DueState, days: str, last: Instant | None) -> str:
    """How a check of every so many days stands."""
    return "not done yet" if last is None else f"{_days(state, days)}, last {last.short()}"


def _there(due: OrderDue) -> str:
    """What there is of stock and how long it lasts: "2,700 g, 10 d left"."""
    lasts = "" if due.lasts is None else f", {due.lasts:.0f} d left"
    return f"{due.grams:,.0f} g{lasts}"


def _days(state: DueState, days: str) -> str:
    return f"overdue {days} d" if state is DueState.OVERDUE else "due today"


def _out(one: OutOfLimit) -> str:
    side = "over" if one.value > one.limit else "under"
    if one.of is ConeWater.PH:
        return f"pH {one.value:.1f} {side} {one.limit:g}"
    return f"{one.value:.1f} degC {side} {one.limit:g}"


def _meals(since: tuple[Instant, ...]) -> str:
    """Which meals: their times, or from which to which where they are many."""
    if len(since) > FEW_MEALS:
        return f"{since[0].hm()} to {since[-1].hm()}, {len(since)} meals"
    return ", ".join(when.hm() for when in since)


def _when(at: Instant, now: Instant) -> str:
    return at.hm() if at.day == now.day else f"{at.wall:%a %H:%M}"


def day_words(day: date) -> str:
    """A day as "Sun 10 May", its number without a zero."""
    return f"{day:%a} {day.day} {day:%b}"


def _long(hours: float) -> str:
    """A long time to the hour: "7 d 2 h"; to the minute below two days: "15 h 50 min"."""
    minutes = round(hours * 60)
    if minutes < 48 * 60:
        return f"{minutes // 60} h" + (f" {minutes % 60:02d} min" if minutes % 60 else "")
    days, rest = divmod(round(minutes / 60), 24)
    return f"{days} d" + (f" {rest} h" if rest else "")
