"""An incident: a flag with its steps, the look that is due, the call, and its story."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import Enum

from tankwalk.clock import Instant
from tankwalk.ledger.flags import Done as Decided
from tankwalk.ledger.flags import Flagged
from tankwalk.ledger.handovers import for_handover
from tankwalk.ledger.incidents import CallSeen, DoneSeen
from tankwalk.ledger.notes import NoteSeen
from tankwalk.ledger.readings import Seen
from tankwalk.plan.bands import band_at
from tankwalk.plan.derived import BY_CODE
from tankwalk.plan.model import MASS_EVENT, Band, Item, Person
from tankwalk.practice.incidents import looking
from tankwalk.practice.judging.standing import flags as life
from tankwalk.practice.judging.standing import mass_events
from tankwalk.practice.judging.standing.flags import STANDING_DAYS, Key, Standing
from tankwalk.practice.judging.standing.wrong_now import Flags, wrong_now
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

MOST_STEPS = 8
"""Steps that have a digit of the pad, beside that of the call."""

STORY = 60
"""Newest readings of the item that a story goes back through."""

OVER_HOURS = 24
"""How far apart the out-of-band looks of a flag that is over may be to be told as one."""


class Step(NamedTuple):
    """One thing that is done first, by its number, and who did it when; None: nobody yet."""

    number: int
    words: str
    done: DoneSeen | None


class CallState(Enum):
    """Whether somebody was called about a flag."""

    NOT_WANTED = "not wanted"
    NOT_CALLED = "not called yet"
    NOT_REACHED = "not reached"
    REACHED = "reached"


class CallView(NamedTuple):
    """Who is to be called, the newest call, and how that stands."""

    state: CallState
    on_call: Person | None
    newest: CallSeen | None


Told = Seen | DoneSeen | CallSeen | NoteSeen | Decided
"""What a story is made of."""


class StoryLine(NamedTuple):
    """One thing that happened: a reading, a step done, a call, a note, or what was decided."""

    at: Instant
    n: int
    who: str
    place: str
    item: Item | None
    """What it is about, where the plan has it."""
    about: Told


class Incident(NamedTuple):
    """A flag and all that belongs to it, at one moment.

    `standing` is None once the flag is over; `also` are the other flags at its place. `story` is
    empty where only how it stands was asked for.
    """

    now: Instant
    key: Key
    place: str
    places: tuple[str, ...]
    item: Item
    flag: Flag
    raised: Instant
    standing: Standing | None
    behind: Seen
    """The newest reading that was out of band."""
    newest: Seen
    """The newest reading of all."""
    first: Seen | None
    """Of two readings that belong together, the one before `behind`."""
    band: Band | None
    steps: tuple[Step, ...]
    others: tuple[DoneSeen, ...]
    """What was done that is no step of the item."""
    look: Instant | None
    """When it is looked at again; None where nothing comes due."""
    call: CallView
    also: tuple[Standing, ...]
    story: tuple[StoryLine, ...] = ()

    @property
    def over(self) -> bool:
        return self.standing is None

    @property
    def whole(self) -> bool:
        """Whether a whole round found it, and no value by itself."""
        return self.standing is not None and self.standing.found is not None

    @property
    def next_step(self) -> Step | None:
        """The first step that nobody has done."""
        return next((step for step in self.steps if step.done is None), None)


class Acts(NamedTuple):
    """What the record holds of what people did about flags, oldest first, and what was flagged."""

    flagged: Sequence[Flagged]
    done: Sequence[DoneSeen]
    calls: Sequence[CallSeen]


def acts(site: Site, now: Instant) -> Acts:
    """What was flagged and done in the days that a flag may stand."""
    since = now.utc - STANDING_DAYS * 86400
    reader = site.reader
    return Acts(
        (*reader.flags.flagged(since, now.utc), *mass_events.flagged(site, now)),
        reader.incidents.done(since),
        reader.incidents.calls(since),
    )


def on_call(site: Site, now: Instant) -> Person | None:
    """Who is on call now by the plan."""
    return site.plan.called_at(now.wall)


def incidents(
    site: Site, flags: Flags, newest: dict[tuple[str, str], Seen], now: Instant
) -> tuple[Incident, ...]:
    """How each flag that stands is dealt with, in the order of the flags, without its story."""
    if not flags.wrong:
        return ()
    known = acts(site, now)
    found = (_standing(site, one, flags, newest, known, now) for one in flags.wrong)
    return tuple(one for one in found if one is not None)


def incident(site: Site, key: Key) -> Incident | None:
    """One flag with its story, standing or over; None for what was never flagged of late."""
    with site.ledger.reading():
        now = site.now()
        newest = site.reader.readings.newest_of_all()
        flags = wrong_now(site, newest, now)
        known = acts(site, now)
        every = (*flags.wrong, *flags.shelved, *life.standing(site, newest, now))
        one = next((w for w in every if w.key == key), None)
        # A tank's own flag may be told by its loop or its meter.
        one = one or next(
            (w for w in every if w.key.item == key.item and key.code in w.places), None
        )
        if one is not None:
            found = _standing(site, one, flags, newest, known, now)
        else:
            found = over(site, key, flags, newest, known, now)
        return None if found is None else found._replace(story=_story(site, found, known))


def _standing(
    site: Site,
    one: Standing,
    flags: Flags,
    newest: dict[tuple[str, str], Seen],
    known: Acts,
    now: Instant,
) -> Incident | None:
    item = site.plan.find_item(one.key.item)
    if item is None:
        return None
    last = newest.get((one.seen.place, item.code), one.seen)
    made = _made(site, one.key, one.places, item, one.raised, one.seen, last, flags, known, now)
    return made._replace(
        place=one.place,
        also=tuple(w for w in made.also if w.key.item not in looking.measured_with(item.code)),
        flag=one.flag,
        standing=one,
        steps=_steps(life.steps(site, one), made.others),
        others=_besides(life.steps(site, one), made.others),
        look=looking.due(site.plan, one, newest, now),
        call=_call(site, one.places, one.raised, item, known, now),
    )


def last_run(rows: Sequence[Flagged]) -> Sequence[Flagged]:
    """Of looks out of band, oldest first and one at least, those told as the last flag."""
    first = len(rows) - 1
    while first > 0 and rows[first].at.hours_since(rows[first - 1].at) <= OVER_HOURS:
        first -= 1
    return rows[first:]


def worst_of(rows: Sequence[Flagged]) -> Flagged:
    """The look by which a flag is told: the most serious, of those the newest."""
    return max(rows, key=lambda row: (row.flag, row.n))


def over(
    site: Site,
    key: Key,
    flags: Flags,
    newest: dict[tuple[str, str], Seen],
    known: Acts,
    now: Instant,
) -> Incident | None:
    """A flag that stands no more: as it was when it last stood."""
    item = site.plan.find_item(key.item)
    rows = [row for row in known.flagged if (row.place, row.item) == (key.code, key.item)]
    if item is None or not rows:
        return None
    last_time = last_run(rows)
    begun, worst = last_time[0], worst_of(last_time)
    behind = _read(site, worst, now)
    last = behind if item is MASS_EVENT else newest.get((key.code, key.item))
    if behind is None or last is None:
        return None
    return _made(site, key, (key.code,), item, begun.at, behind, last, flags, known, now)


def _read(site: Site, row: Flagged, now: Instant) -> Seen | None:
    """What was flagged: a reading, or a mass event as one."""
    if row.item == MASS_EVENT.code:
        return mass_events.seen_of(site, row.place, row.n, now)
    return site.reader.readings.seen(row.n)


def _made(
    site: Site,
    key: Key,
    places: tuple[str, ...],
    item: Item,
    raised: Instant,
    behind: Seen,
    last: Seen,
    flags: Flags,
    known: Acts,
    now: Instant,
) -> Incident:
    """What a flag has in common, standing or over; `others` holds all that was done."""
    here, same = {*places, key.code}, looking.measured_with(item.code)
    done = tuple(
        one
        for one in known.done
        if one.item in same and one.place in here and one.at.utc >= raised.utc
    )
    return Incident(
        now=now,
        key=key,
        place=key.code,
        places=places,
        item=item,
        flag=Flag(behind.flag),
        raised=raised,
        standing=None,
        behind=behind,
        newest=last,
        first=_first(site, item, behind),
        band=band_at(site.plan, item, behind.place, now.day),
        steps=(),
        others=done,
        look=None,
        call=CallView(CallState.NOT_WANTED, on_call(site, now), _newest_call(known, here, raised)),
        also=tuple(w for w in flags.wrong if w.key != key and set(w.places) & set(places)),
    )


def _first(site: Site, item: Item, behind: Seen) -> Seen | None:
    """The first reading, where `behind` is the second of two."""
    if not behind.recheck:
        return None
    found = site.reader.readings.history(behind.place, item.code, item.unit, STORY)
    before = [one for one in found if (one.at.utc, one.n) < (behind.at.utc, behind.n)]
    return before[-1] if before else None


def _steps(words: Sequence[str], done: Iterable[DoneSeen]) -> tuple[Step, ...]:
    """Steps by number, each with the newest that says it: by its words, as sides differ."""
    newest = {one.text.casefold(): one for one in done}
    return tuple(
        Step(number, said, newest.get(said.casefold()))
        for number, said in enumerate(words[:MOST_STEPS], 1)
    )


def _besides(words: Sequence[str], done: Iterable[DoneSeen]) -> tuple[DoneSeen, ...]:
    steps = {said.casefold() for said in words[:MOST_STEPS]}
    return tuple(one for one in done if one.text.casefold() not in steps)


def _newest_call(known: Acts, here: set[str], since: Instant) -> CallSeen | None:
    calls = [one for one in known.calls if one.place in here and one.at.utc >= since.utc]
    return calls[-1] if calls else None


def _call(
    site: Site,
    places: tuple[str, ...],
    raised: Instant,
    item: Item,
    known: Acts,
    now: Instant,
) -> CallView:
    """How the call stands: one that is older than the URGENT was about something milder.

    What was typed in from paper was dealt with then, or a look of now shows that it is so still.
    """
    here, same = set(places), looking.measured_with(item.code)
    person = on_call(site, now)
    urgent = [
        row.at
        for row in known.flagged
        if row.place in here
        and row.item in same
        and row.flag >= Flag.URGENT
        and row.typist is None
        and row.at.utc >= raised.utc
    ]
    if not urgent:
        return CallView(CallState.NOT_WANTED, person, _newest_call(known, here, raised))
    calls = [one for one in known.calls if one.place in here and one.at.utc >= min(urgent).utc]
    if not calls:
        return CallView(CallState.NOT_CALLED, person, None)
    reached = [one for one in calls if one.reached]
    if reached:
        return CallView(CallState.REACHED, person, reached[-1])
    return CallView(CallState.NOT_REACHED, person, calls[-1])


def once(ones: Iterable[Incident]) -> tuple[Incident, ...]:
    """The same, where a call about a place is told with the first of its flags alone.

    A call is made about a place, so each flag there has it; so has each that nobody was called for.
    """
    told: set[object] = set()
    found = []
    for one in ones:
        call = one.call
        about = (one.behind.place, call.state) if call.newest is None else call.newest.n
        hushed = call._replace(state=CallState.NOT_WANTED, newest=None)
        found.append(one._replace(call=hushed) if about in told else one)
        told.add(about)
    return tuple(found)


# ---- the story


def _story(site: Site, one: Incident, known: Acts) -> tuple[StoryLine, ...]:
    """What happened since a little before the flag was raised, oldest first."""
    reader, item = site.reader, one.item
    since = one.raised.utc
    here = {*one.places, one.key.code}
    found: dict[int, StoryLine] = {}

    def tell(about: Told) -> None:
        of = None if about.item is None else site.plan.find_item(about.item)
        line = StoryLine(about.at, about.n, about.who, about.place or "", of, about)
        found[about.n] = line

    for place in one.places:
        looks = reader.readings.history(place, item.code, item.unit, STORY)
        before = [seen for seen in looks if seen.at.utc < since]
        for seen in (*before[-1:], *(seen for seen in looks if seen.at.utc >= since)):
            tell(seen)
    for row in known.flagged:
        worked_out = row.item in BY_CODE and row.item != item.code
        if row.place in here and row.at.utc >= since and row.n not in found and not worked_out:
            other = _read(site, row, one.now)
            if other is not None:
                tell(other)
    for done in known.done:
        if done.place in here and done.at.utc >= since:
            tell(done)
    for call in known.calls:
        if call.place in here and call.at.utc >= since:
            tell(call)
    for note in reader.notes.since(since):
        if note.place in here and not for_handover(note):
            tell(note)
    for decided in reader.flags.done(since):
        if decided.place in here and decided.item == item.code and decided.at.utc >= since:
            tell(decided)
    return tuple(sorted(found.values(), key=lambda line: (line.at.utc, line.n)))
