"""The story of a place, newest first: flags and their end, what was done, and what happened to it.

Flags, acts, calls and notes; doses, meters that failed or were changed; meals day by day; fish that
came, went or were looked at; what was altered or opened as an action.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date

from tankwalk.clock import Instant
from tankwalk.ledger.corrections import Corrected, Late
from tankwalk.ledger.doses import DoseSeen
from tankwalk.ledger.feeding import MealSeen, SampleSeen
from tankwalk.ledger.flags import Done as Decided
from tankwalk.ledger.flags import Flagged
from tankwalk.ledger.follow_ups import FollowUpSeen, Turn
from tankwalk.ledger.handovers import for_handover
from tankwalk.ledger.imports import ImportTold
from tankwalk.ledger.incidents import CallSeen, DoneSeen
from tankwalk.ledger.meters import CheckSeen, MarkSeen
from tankwalk.ledger.notes import NoteSeen
from tankwalk.ledger.readings import PastSeen, Seen, ValueSeen
from tankwalk.ledger.stock import MovedFish, What
from tankwalk.plan.bands import band_at
from tankwalk.plan.derived import BY_CODE
from tankwalk.plan.model import MASS_EVENT, Item, Limits, Plan
from tankwalk.practice.judging.rules import Shared, recorded
from tankwalk.practice.judging.standing import mass_events
from tankwalk.practice.judging.standing.flags import Key
from tankwalk.practice.judging.standing.life import life
from tankwalk.practice.judging.standing.living import LIFE
from tankwalk.practice.meters.suspects import mark_of
from tankwalk.practice.past.window import Window, window
from tankwalk.practice.site import SITE, Site
from tankwalk.rows import NamedTuple

MOST_DAYS = 62
"""A story reaches so many days back from the end of its window."""

MOST_FLAGGED = 200
"""So many flagged looks of a place are told, the newest."""


class Raised(NamedTuple):
    """A look that was out of band: the reading, and the first one that it confirmed, if any.

    `suspect` says that its meter failed its check.
    """

    seen: Seen
    first: Seen | None
    suspect: bool


class Cleared(NamedTuple):
    """A flag that ended by itself: the look in band that ended it, and when it was raised."""

    value: float
    raised: Instant


class MeterFailed(NamedTuple):
    """A meter that failed its check, and how many looks here it makes suspect."""

    mark: MarkSeen
    looks: int
    first: Instant | None
    last: Instant | None


class MeterChanged(NamedTuple):
    """From here on some items were read with another meter, by their labels."""

    before: str
    after: str
    items: tuple[str, ...]


class FedOf(NamedTuple):
    """A feed of one day: how much went in, in how many meals; `planned` None: not known."""

    feed: str
    label: str
    unit: str
    given: float
    planned: float | None
    meals: int


class Fed(NamedTuple):
    """The meals of one day in short; `events` are pauses and meals not given, as entered."""

    day: date
    feeds: tuple[FedOf, ...]
    events: tuple[str, ...]


class TypedIn(NamedTuple):
    """What was seen of a round here that was typed in from paper: how many, when, and by whom."""

    typist: str
    looks: int
    first: Instant
    last: Instant


class Turned(NamedTuple):
    """Something that happened to a follow-up: it was opened, passed on, closed."""

    of: FollowUpSeen
    turn: Turn


About = (
    Raised
    | Cleared
    | DoneSeen
    | CallSeen
    | NoteSeen
    | Decided
    | DoseSeen
    | MeterFailed
    | MeterChanged
    | CheckSeen
    | Fed
    | MovedFish
    | SampleSeen
    | Turned
    | Corrected
    | Late
    | TypedIn
    | ImportTold
)
"""What a story is made of."""


class StoryLine(NamedTuple):
    """One thing that happened. `key` leads to its flag, where it has one of late."""

    at: Instant
    n: int
    who: str
    place: str
    item: Item | None
    about: About
    key: Key | None = None

    @property
    def minor(self) -> bool:
        """Whether it goes as planned: where rows are short it gives way."""
        return isinstance(self.about, Fed | SampleSeen | DoseSeen)


AROUND_DAYS = 2
"""So many days before and after a moment are told around it."""


def around(site: Site, place: str, at: Instant) -> tuple[StoryLine, ...]:
    """What happened at a place in the days around a moment, newest first, without meals."""
    now = site.now()
    end = min(at.utc + AROUND_DAYS * 86400, now.utc)
    with site.ledger.reading():
        span = window(site, Instant(end, now.offset), 2 * AROUND_DAYS + 1)
        return story(site, place, span, whole=False)


def story(site: Site, place: str, window: Window, *, whole: bool = True) -> tuple[StoryLine, ...]:
    """All that happened at a place in a window, newest first; meals and samples if `whole`."""
    since = max(window.since, window.until - MOST_DAYS * 86400)
    here = {place}
    tank = site.plan.find_tank(place)
    around = here | ({tank.loop} if tank is not None else set())
    found = [
        *_flags(site, place, since, window.until),
        *_people(site, here, since),
        *_doses(site, around, since),
        *_meters(site, place, since, window.until),
        *_altered(site, here, since),
        *_corrected(site, place, since, window.until),
        *_imported(site, place, since, window.until),
    ]
    if tank is not None:
        found += _moved(site, place, since)
        if whole:
            found += _fed(site, place, since)
            found += _sampled(site, place, since)
    kept = (line for line in found if since <= line.at.utc <= window.until)
    return tuple(sorted(kept, key=lambda line: (-line.at.utc, -line.n)))


# ---- flags


def _flags(site: Site, place: str, since: int, until: int) -> Iterable[StoryLine]:
    reader, plan = site.reader, site.plan
    rows = [row for row in reader.flags.flagged(since, until) if row.place == place]
    marks = reader.meters.marks(since)
    told: dict[str, list[Flagged]] = {}
    for row in rows[-MOST_FLAGGED:]:
        told.setdefault(row.item, []).append(row)
    for code, flagged in told.items():
        item = plan.find_item(code)
        if item is None:
            continue
        key = Key("place", place, code)
        numbers = {row.n for row in flagged if not of_a_meter(row)}
        seen = reader.readings.past(place, code, item.unit, since, until)
        for one in _raised(site, seen, numbers, marks, item):
            yield StoryLine(one.seen.at, one.seen.n, one.seen.who, place, item, one, key)
        for at, n, who, over in _cleared(plan, place, item, seen):
            yield StoryLine(at, n, who, place, item, over, key)


def _raised(
    site: Site, seen: Sequence[PastSeen], numbers: set[int], marks: Sequence[MarkSeen], item: Item
) -> Iterable[Raised]:
    """Looks that were out of band, a second reading together with its first."""
    held: Seen | None = None
    for one in seen:
        if one.n not in numbers:
            continue
        whole = site.reader.readings.seen(one.n)
        if whole is None:
            continue
        if one.recheck and item.kind.read_twice and held is not None:
            yield Raised(whole, held, _suspect(site, marks, whole))
            held = None
            continue
        if held is not None:
            yield Raised(held, None, _suspect(site, marks, held))
        held = whole
    if held is not None:
        yield Raised(held, None, _suspect(site, marks, held))


def of_a_meter(row: Flagged) -> bool:
    """Whether a meter was the cause, which is no flag of the tank."""
    rule = recorded(row.rule)
    return rule is not None and rule.shared is Shared.METER


def _suspect(site: Site, marks: Sequence[MarkSeen], seen: Seen) -> bool:
    """Whether its meter failed its check, or that of what it was worked out from."""
    if not marks:
        return False
    working = site.reader.readings.working(seen.n) if seen.item in BY_CODE else None
    parts = [] if working is None else map(site.reader.readings.seen, working.parts.values())
    return any(
        mark_of(marks, one.instrument, one.item, one.at.utc) is not None
        for one in (seen, *parts)
        if one is not None
    )


def _cleared(
    plan: Plan, place: str, item: Item, seen: Sequence[PastSeen]
) -> Iterable[tuple[Instant, int, str, Cleared]]:
    """Where looks in band ended a flag, by the same life as the board follows."""
    values = [
        (one, ValueSeen(one.n, one.value, one.at.utc, one.flag, one.recheck, one.round, None))
        for one in seen
        if one.value is not None
    ]
    limits = _limits(plan, place, item, values[-1][0].at if values else None)
    begun, raised = 0, None
    for k, (one, _) in enumerate(values):
        lived = life(item, [v for _, v in values[max(begun, k + 1 - LIFE) : k + 1]], limits)
        if lived.raised is not None:
            raised = lived.raised if raised is None else raised
        elif raised is not None:
            if one.value is not None:
                yield one.at, one.n, one.who, Cleared(one.value, Instant(raised, one.at.offset))
            begun, raised = k, None


def _limits(
    plan: Plan, place: str, item: Item, near: Instant | None
) -> Callable[[int], Limits | None]:
    def limits(at: int) -> Limits | None:
        offset = 0 if near is None else near.offset
        band = band_at(plan, item, place, Instant(at, offset).day)
        return None if band is None else band.limits

    return limits


# ---- what people did and said


def _people(site: Site, here: set[str], since: int) -> Iterable[StoryLine]:
    reader, plan = site.reader, site.plan

    def line(about: DoneSeen | CallSeen | NoteSeen | Decided) -> StoryLine:
        item = None if about.item is None else plan.find_item(about.item)
        place = about.place or SITE
        key = None
        if item is not None and not isinstance(about, NoteSeen):
            key = Key("place", place, item.code)
        return StoryLine(about.at, about.n, about.who, place, item, about, key)

    acts: list[DoneSeen | CallSeen] = [*reader.incidents.done(since)]
    acts += reader.incidents.calls(since)
    for act in acts:
        if act.place in here:
            yield line(act)
    for note in reader.notes.since(since):
        if note.place in here and not for_handover(note):
            yield line(note)
    for decided in reader.flags.done(since):
        if decided.place in here:
            yield line(decided)


def _doses(site: Site, around: set[str], since: int) -> Iterable[StoryLine]:
    for dose in site.reader.doses.since(since):
        if dose.place in around:
            yield StoryLine(dose.at, dose.n, dose.who, dose.place, None, dose)


def _altered(site: Site, here: set[str], since: int) -> Iterable[StoryLine]:
    for one in (*site.reader.follow_ups.open(), *site.reader.follow_ups.ended(since)):
        if one.place not in here:
            continue
        for turn in one.turns:
            about = Turned(one, turn)
            yield StoryLine(turn.at, turn.n, turn.who, one.place or SITE, None, about)


def _corrected(site: Site, place: str, since: int, until: int) -> Iterable[StoryLine]:
    """What was corrected, taken back, or entered late; a round from paper is told once."""
    plan, reader = site.plan, site.reader
    for one in reader.corrections.of_place(place, since, until):
        yield StoryLine(one.at, one.n, one.who, place, plan.find_item(one.item), one)
    paper: dict[tuple[int | None, str], list[Late]] = {}
    for late in reader.corrections.late_at(place, since, until):
        if late.typist is not None:
            paper.setdefault((late.round, late.typist), []).append(late)
        else:
            yield StoryLine(late.entered, late.n, late.who, place, plan.find_item(late.item), late)
    for (_, typist), seen in paper.items():
        newest, times = seen[-1], [one.at for one in seen]
        about = TypedIn(typist, len(seen), min(times), max(times))
        yield StoryLine(newest.entered, newest.n, newest.who, place, None, about)


def _imported(site: Site, place: str, since: int, until: int) -> Iterable[StoryLine]:
    """Files with values of a place: told when they were imported, else at their last value."""
    told: dict[int, tuple[ImportTold, int]] = {}
    for item in site.plan.items:
        for one, last in site.reader.imports.told_at(place, item.code, item.unit, since, until):
            _, before = told.get(one.n, (one, last))
            told[one.n] = one, max(before, last)
    for one, last in told.values():
        made = since <= one.at.utc <= until
        at = one.at if made else Instant(min(last, until), one.at.offset)
        yield StoryLine(at, one.n, one.who, place, None, one)


# ---- meters


def _meters(site: Site, place: str, since: int, until: int) -> Iterable[StoryLine]:
    """Meters that failed where they read here, and from when on another one was used."""
    plan, reader = site.plan, site.reader
    for mark in reader.meters.marks(since):
        item = plan.find_item(mark.item)
        read = reader.meters.readings_with(
            mark.instrument, mark.item, mark.unit, [place], mark.since, mark.until
        )
        looks = [one for one in read if not one.recheck]
        if looks:
            about = MeterFailed(mark, len(looks), looks[0].at, looks[-1].at)
            yield StoryLine(mark.at, mark.n, mark.who, place, item, about)
    changed: dict[tuple[Instant, str, str], list[tuple[int, str, str]]] = {}
    for item in plan.items:
        if item.instrument is None or item.derived:
            continue
        before = ""
        for one in reader.readings.past(place, item.code, item.unit, since, until):
            after = one.instrument or ""
            if before and after and after != before:
                told = changed.setdefault((one.at, before, after), [])
                told.append((one.n, one.who, item.label))
            before = after or before
    for (at, before, after), several in changed.items():
        n, who, _ = several[0]
        about_it = MeterChanged(before, after, tuple(label for _, _, label in several))
        yield StoryLine(at, n, who, place, None, about_it)


# ---- feed and fish


def _fed(site: Site, place: str, since: int) -> Iterable[StoryLine]:
    """The meals of each day in one line, told at the last of them."""
    labels = {feed.code: feed.label or feed.code for feed in site.plan.feeds}
    days: dict[date, list[MealSeen]] = {}
    for meal in site.reader.feeding.meals(since):
        if meal.place == place:
            days.setdefault(meal.at.day, []).append(meal)
    for day, meals in days.items():
        feeds: dict[tuple[str, str], list[MealSeen]] = {}
        for meal in meals:
            if meal.event is None:
                feeds.setdefault((meal.feed, meal.unit), []).append(meal)
        told = tuple(
            FedOf(
                feed,
                labels.get(feed, feed),
                unit,
                sum(one.amount for one in of),
                sum(one.planned for one in of if one.planned is not None)
                if all(one.planned is not None for one in of)
                else None,
                len({one.meal_at or one.at.utc for one in of}),
            )
            for (feed, unit), of in feeds.items()
        )
        events = tuple(dict.fromkeys(meal.event for meal in meals if meal.event is not None))
        last = meals[-1]
        yield StoryLine(last.at, last.n, last.who, place, None, Fed(day, told, events))


def _moved(site: Site, place: str, since: int) -> Iterable[StoryLine]:
    for moved in site.reader.stock.all_movements([place], since).get(place, []):
        mass = moved.what == What.DEAD
        item, key = (MASS_EVENT, mass_events.key_of(place)) if mass else (None, None)
        yield StoryLine(moved.at, moved.n, moved.who, place, item, moved, key)


def _sampled(site: Site, place: str, since: int) -> Iterable[StoryLine]:
    for sample in site.reader.feeding.samples(since):
        if sample.place == place:
            yield StoryLine(sample.at, sample.n, sample.who, place, None, sample)
