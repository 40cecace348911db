"""What a page shows of a walk: one frozen value, made once after each act and drawn from alone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.readings import MovedSeen, PastSeen, Seen
from tankwalk.plan.model import Item, Tank
from tankwalk.practice.incidents.open_here import OpenAt, OpenNow
from tankwalk.practice.meters.suspects import suspect_of
from tankwalk.practice.past.series import LookAt, looks
from tankwalk.practice.round.agenda import Slot
from tankwalk.practice.round.held import Held
from tankwalk.practice.round.progress import Progress
from tankwalk.practice.round.questions import AskAgain, Pinned, Question, Reply
from tankwalk.practice.workings.derived import State
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:  # a round's first page stands before these are loaded
    from tankwalk.practice.incidents.incident import Incident
    from tankwalk.practice.judging.standing.withdrawn import Withdrawn
    from tankwalk.practice.past.dead_days import DeadDays

MAPPED = 48
"""A glance lap of more tanks than these shows the loop that is walked alone."""

COUNTS = 30
"""So many counts of the dead are read at least: a fortnight of two rounds a day."""


class LineView(NamedTuple):
    """One thing asked at a stop: what the round holds for it, and what was seen before."""

    slot: Slot
    held: tuple[Seen, ...]
    """What this round holds, oldest first."""
    again: bool
    """Whether a second reading is still wanted."""
    before: Seen | None
    """The newest value from before this round."""
    suspect: bool
    """Whether the meter that read `before` failed its check afterwards."""


class EntryView(NamedTuple):
    """What is being entered: the meter in hand, and what was read of it so far."""

    line: LineView
    meter: str | None
    off: bool
    """Whether the meter failed its check and was not mended."""
    passed: Instant | None
    """When the meter passed its last check; None where it did not, or never was checked."""
    past: tuple[LookAt, ...] | None
    """The item's newest looks, oldest first; None where the page shows none."""
    elsewhere: tuple[ElsewhereView, ...]
    """The item at every place the round asks it, as far as the page has room for."""
    by_other: Seen | None = None
    """What somebody else read here in this round, where nothing of one's own came after it."""
    dead: DeadDays | None = None
    """The dead by day; None for what is no count of animals, or where the page shows none."""


class ElsewhereView(NamedTuple):
    """The item that is entered, at one place of the round: what is held, and what was before."""

    slot: Slot
    held: tuple[Seen, ...]
    before: Seen | None


class MapRow(NamedTuple):
    """Tanks of a glance lap that stand together: their block, and which lines of the stop."""

    block: str
    lines: tuple[int, ...]


class StopView(NamedTuple):
    """The stop one stands at, and where on it."""

    number: int
    """Which stop of the round, from 1."""
    kind: str
    title: str
    tank: Tank | None
    age: int | None
    """Days after hatching of the tank's fish on the round's day."""
    lines: tuple[LineView, ...]
    at: int
    """Which line one stands at, from 0."""
    entry: EntryView
    worked: tuple[State, ...]
    """What is worked out here; a page shows it while nothing is asked, and only then is it read."""
    map: tuple[MapRow, ...]
    """On a glance lap its tanks as they stand, in walking order; () at any other stop."""
    open: OpenAt = OpenAt()
    """What stands open at the place one stands at."""
    moved: tuple[MovedSeen, ...] = ()
    """Values that belonged to another tank: moved from here, or to here."""


class FlaggedView(NamedTuple):
    """A slot with a look out of band: `seen` is its newest such reading."""

    slot: Slot
    seen: Seen
    again: bool
    """Whether its second reading was not taken."""
    since: tuple[Seen, ...] = ()
    """Looks after it, oldest first: in band, or it would be one of them."""
    dealt: Incident | None = None
    """How its flag is dealt with, where it stands."""
    over: bool = False
    """Whether its flag stands no more, and is on no shelf."""


class EndView(NamedTuple):
    """The end of the round: what is out of band (worst first), not taken, and still open."""

    flagged: tuple[FlaggedView, ...]
    left_out: tuple[tuple[Slot, Seen], ...]
    open: tuple[Slot, ...]
    withdrawn: tuple[Withdrawn, ...] = ()
    """What was confirmed out of band in this round and then taken back."""
    found: tuple[Incident, ...] = ()
    """What whole rounds found and still stands."""


class WalkView(NamedTuple):
    """A walk as it stands: how far, what was said, what is asked, and the stop or the end."""

    now: Instant
    opened: Instant
    """When the round was begun."""
    label: str
    who: str
    asked: int
    """How many things the round asks, and how many of them it holds."""
    done: int
    flags: int
    stops: int
    longest: int
    """How many things the longest stop asks, the glance lap apart: its list is a map."""
    signed: bool
    said: Reply
    question: Question | None
    pinned: tuple[Pinned, ...]
    """First responses that nobody answered or put aside yet, worst first."""
    open: OpenNow | None
    """What stands open everywhere; None before it was read."""
    here: StopView | EndView
    typist: str = ""
    """Who types it in from paper; "" for a walk."""


class Seeing(NamedTuple):
    """What a view is made of besides the record: while this is the same, so is the view."""

    look: int
    minute: int
    past: int
    elsewhere: int
    worked: bool
    opened: bool
    held: Held
    at: int
    signed: bool
    said: Reply
    question: Question | None
    pinned: tuple[Pinned, ...]
    meters: tuple[tuple[str, str], ...]


def seeing(walk: Progress, past: int, elsewhere: int, *, worked: bool, opened: bool) -> Seeing:
    """What a view of this walk, with so many past readings and other places, is made of now."""
    return Seeing(
        walk.look,
        walk.site.now().utc // 60,
        past,
        elsewhere,
        worked,
        opened,
        walk.held,
        walk.at,
        walk.signed,
        walk.said,
        walk.question,
        walk.pinned,
        tuple(walk.meters.items()),
    )


def made(walk: Progress, of: Seeing) -> WalkView:
    """The view of a walk; reads of the record what is not read yet."""
    open_now = walk.open_now() if of.opened else None
    return WalkView(
        now=walk.site.now(),
        opened=walk.round.opened,
        label=walk.agenda.checklist.label,
        who=walk.who,
        asked=len(walk.slots),
        done=len(walk.slots) - len(of.held.open_slots),
        flags=len(of.held.flags),
        stops=len(walk.agenda.pages),
        longest=max((len(p.slots) for p in walk.agenda.pages if p.kind != "glance"), default=0),
        signed=of.signed,
        said=of.said,
        question=of.question,
        pinned=of.pinned,
        open=open_now,
        here=_end(walk, of.held, open_now) if walk.at_end else _stop(walk, of, open_now),
    )


def _stop(walk: Progress, of: Seeing, open_now: OpenNow | None) -> StopView:
    number = walk.page_of[walk.at]
    page = walk.agenda.pages[number]
    marks = walk.trust().marks
    lines = tuple(
        LineView(
            slot,
            walk.of(slot),
            walk.pending(slot),
            before,
            before is not None and suspect_of(walk.site, before, marks) is not None,
        )
        for slot, before in zip(page.slots, walk.before(), strict=True)
    )
    at = walk.at - walk.first_of_stop
    return StopView(
        number=number + 1,
        kind=page.kind,
        title=page.title,
        tank=page.tank,
        age=None if page.tank is None else walk.site.plan.age(page.tank, walk.agenda.day),
        lines=lines,
        at=at,
        entry=_entry(walk, lines[at], of),
        worked=walk.worked() if of.worked and of.question is None else (),
        map=_map(walk, lines, at) if page.kind == "glance" else (),
        open=OpenAt() if open_now is None else open_now.at(lines[at].slot.place),
        moved=walk.moved_here(),
    )


def _map(walk: Progress, lines: tuple[LineView, ...], at: int) -> tuple[MapRow, ...]:
    """The tanks of a glance lap, those of a block together; of many tanks only the loop walked."""
    tanks = [walk.site.plan.tank(line.slot.place) for line in lines]
    rows: list[MapRow] = []
    for index, tank in enumerate(tanks):
        if len(tanks) > MAPPED and tank.loop != tanks[at].loop:
            continue
        block = tank.block or ""
        if rows and rows[-1].block == block:
            rows[-1] = MapRow(block, (*rows[-1].lines, index))
        else:
            rows.append(MapRow(block, (index,)))
    return tuple(rows)


def _entry(walk: Progress, line: LineView, of: Seeing) -> EntryView:
    meter, item = walk.meter(line.slot), line.slot.item
    animals = item.kind.of_animals
    seen = walk.past(line.slot, _wanted(item, of.past)) if of.past else None
    return EntryView(
        line,
        meter,
        walk.trust().off(meter),
        walk.trust().passed(meter),
        None if seen is None else looks(item, seen, walk.trust().of(item.code)),
        tuple(
            ElsewhereView(slot, walk.of(slot), before)
            for slot, before in (walk.elsewhere(item.code, of.elsewhere) if of.elsewhere else ())
        ),
        line.held[-1] if line.held and line.held[-1].who != walk.who else None,
        None if seen is None or not animals else _dead(walk, line.slot, seen),
    )


def _wanted(item: Item, past: int) -> int:
    """How many readings of an item's past are read where a page has room for so many."""
    return max(past, COUNTS) if item.kind.of_animals else past


def foreseen(walk: Progress, typed: str) -> Iterator[str]:
    """What a number that is being typed will be held against, a step at a time.

    Nothing is judged by it, and one with a unit is left alone: what converts it loads slowly.
    """
    asked = walk.question
    if walk.at_end or walk.signed or not (asked is None or isinstance(asked, AskAgain)):
        return
    slot = walk.slot
    if slot.item.kind.by_words or not set(typed) <= set("0123456789.,"):
        return
    try:
        value = slot.item.read(typed).value
    except Refusal:  # it is none so far, and Enter says so
        return
    walk.before()
    meter = walk.meter(slot)
    for _ in walk.weighing.foreseen(slot.place, slot.item, meter, value, walk.kept):
        yield slot.item.code


def ahead(walk: Progress, past: int, elsewhere: int) -> Iterator[str]:
    """Read what will be shown after the next Enter and at the next stop, a step at a time; then
    what the values of this stop are held against, which is asked once a round.

    Each is held with what it was read for, so that what comes after makes it read anew.
    """
    if walk.at_end:
        return
    for index in dict.fromkeys((walk.held.next_open(walk.at), walk.arrive(walk.page + 1))):
        if index >= len(walk.slots):
            continue
        slot = walk.slots[index]
        walk.before_at(walk.page_of[index])
        yield slot.place
        if past:
            walk.past(slot, _wanted(slot.item, past))
            if slot.item.kind.of_animals:
                walk.usual_dead(slot)
            yield slot.item.code
        if elsewhere:
            walk.elsewhere(slot.item.code, elsewhere)
            yield slot.item.code
    for index in walk.open_here():
        slot = walk.slots[index]
        for _ in walk.weighing.ready(slot.place, slot.item):
            yield slot.item.code


def _dead(walk: Progress, slot: Slot, seen: tuple[PastSeen, ...]) -> DeadDays:
    """The tank's dead by day, and what the other tanks of this round had, as far as it has got."""
    others = (
        one.value
        for other in walk.slots
        if other.item.code == slot.item.code and other.place != slot.place
        for one in walk.of(other)[-1:]
        if one.value is not None
    )
    from tankwalk.practice.past.dead_days import dead_days

    return dead_days(seen, map(int, others))._replace(usual=walk.usual_dead(slot))


def _end(walk: Progress, held: Held, open_now: OpenNow | None) -> EndView:
    from tankwalk.practice.judging.standing.withdrawn import withdrawn

    return EndView(
        tuple(_flagged(walk, slot, seen, held, open_now) for slot, seen in held.flags),
        tuple((slot, s) for slot in held.slots for s in held.of(slot) if s.value is None),
        tuple(held.slots[i] for i in held.open_slots),
        withdrawn(walk.site, walk.round.opened.utc, walk.site.now().utc, walk.round.number),
        () if open_now is None else tuple(one for one in open_now.flags if one.whole),
    )


def _flagged(
    walk: Progress, slot: Slot, seen: Seen, held: Held, open_now: OpenNow | None
) -> FlaggedView:
    """A look out of band, what was seen after it (in other rounds too), and how it stands now."""
    since, item = held.since(slot, seen), slot.item
    newest = walk.site.reader.readings.newest(slot.place, item.code, item.unit)
    if newest is not None and newest.n > max(seen.n, *(one.n for one in since), 0):
        since = (*since, newest)
    if open_now is None:
        return FlaggedView(slot, seen, held.pending(slot), since)
    dealt = open_now.of(slot.place, item.code)
    shelved = any(one.key.item == item.code for one in open_now.at(slot.place).shelved)
    over = dealt is None and not shelved
    return FlaggedView(slot, seen, held.pending(slot), since, dealt, over)
