"""The handover: five sections drafted from the record, given by one person and taken by another.

Sections: Stock (tanks that are not steady), Tasks (not done, half done), Altered (not as normal),
To do (open actions with owner and time), Expect (what to do if).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import Entry, Handover, HandoverGist, SaidBack
from tankwalk.ledger.follow_up_kinds import FollowUpWhat
from tankwalk.ledger.follow_ups import FollowUpSeen
from tankwalk.ledger.handovers import HandoverSeen, HandoverWords, for_handover
from tankwalk.ledger.notes import NoteSeen
from tankwalk.ledger.readings import Seen
from tankwalk.plan.model import Item, Plan
from tankwalk.practice.doing import follow_ups
from tankwalk.practice.due import all_due, attendance
from tankwalk.practice.due.attendance import Away
from tankwalk.practice.due.counts_left import counts_left
from tankwalk.practice.handover import say_back
from tankwalk.practice.handover.feed_lines import feed_lines
from tankwalk.practice.handover.handover_notes import own_words
from tankwalk.practice.handover.late_lines import late_lines
from tankwalk.practice.handover.lines import (
    CarriedLine,
    CorrectedLine,
    DealtLine,
    DueLine,
    EmergencyLine,
    FlagLine,
    ImportedLine,
    MeterLine,
    NeverTakenLine,
    NoteLine,
    NotTakenLine,
    OverLine,
    OwnLine,
    PageLine,
    RepeatedLine,
    ResponseLine,
    ShelvedLine,
    SignedLine,
    SteadyLine,
    TypedInLine,
    UnseenLine,
    WantedLine,
    WithdrawnLine,
)
from tankwalk.practice.handover.say_back import Question
from tankwalk.practice.incidents.ended import ended
from tankwalk.practice.incidents.incident import CallState, Incident, incidents, once
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.standing import flags as flags_of
from tankwalk.practice.judging.standing.flags import Standing
from tankwalk.practice.judging.standing.withdrawn import UNDONE, withdrawn
from tankwalk.practice.judging.standing.wrong_now import Flags, wrong_now
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.meters import meter_checks
from tankwalk.practice.round import rounds
from tankwalk.practice.site import SITE, Site
from tankwalk.practice.stories import Story, stories
from tankwalk.practice.tasks import AHEAD, Due, LookDue, MealNext
from tankwalk.rows import NamedTuple

LOOK_BACK_HOURS = 24.0
"""A draft covers at least this long, and back to the last handover."""

EXPECTED = 10
"""Most lines that the program itself writes under EXPECT."""

OWN = "by the one who gave it"
"""What is kept with how it was taken, where nobody else took it."""


class Section(NamedTuple):
    """One section of the page: its name and its lines, none where there is nothing to tell."""

    name: str
    lines: tuple[PageLine, ...]


class HandoverDraft(NamedTuple):
    """A handover as drafted at one moment.

    `added` and `read` stand under the page: what was added after giving, and people's own words on
    the page that was taken. `asks` is what the one who takes the room says back.
    """

    site: str
    now: Instant
    since: Instant
    sections: tuple[Section, ...]
    last: HandoverSeen | None
    last_entry: int
    added: tuple[HandoverWords, ...] = ()
    read: tuple[HandoverWords, ...] = ()
    asks: tuple[Question, ...] = ()
    away: Away | None = None
    """For how long nobody is there, where that is long."""
    uncovered: tuple[LookDue, ...] = ()
    """Looks that come due meanwhile where nobody goes."""
    unsigned: tuple[str, Instant, str] | None = None
    """A round of today that is open: its name, when it was begun and by whom."""

    def section(self, name: str) -> Section:
        """One section by its name."""
        return next(s for s in self.sections if s.name == name)


def draft(site: Site) -> HandoverDraft:
    """The five sections, from what the record holds since the last handover (or a day)."""
    with site.ledger.reading():
        return _drafted(site)


def _drafted(site: Site) -> HandoverDraft:
    now = site.now()
    reader, plan = site.reader, site.plan
    last = reader.handovers.last()
    newest = reader.readings.newest_of_all()
    floor = now.utc - int(LOOK_BACK_HOURS * 3600)
    since = min(floor, last.at.utc) if last is not None else floor
    notes = [note for note in reader.notes.since(since) if not for_handover(note)]
    carried = reader.follow_ups.open()
    altered = [one for one in carried if one.what is FollowUpWhat.ALTERED]
    to_do = [one for one in carried if one.what is FollowUpWhat.ACTION]
    unread = reader.handovers.last_taken()
    flags = wrong_now(site, newest, now)
    own = own_words(site, now)
    back = map(WithdrawnLine, withdrawn(site, since, now.utc))
    dealt = incidents(site, flags, newest, now)
    owed = [*all_due.everything(site, now, newest, dealt), *counts_left(site, now)]
    # What is over stays on a page that nobody has taken: who takes it has not read it yet.
    read = last is not None and last.taken is not None
    shift = max(floor, last.at.utc) if last is not None and read else floor
    past = ended(site, flags, newest, shift, now)
    told = once((*dealt, *past))
    late = [follow_ups.carried(one, plan, now) for one in altered]
    joined = stories(site, flags.wrong, late, now)
    of_flags, over = told[: len(dealt)], told[len(dealt) :]
    stock, steady = _stock(plan, flags, joined, of_flags, over, notes, newest, now)
    feed = feed_lines(site, now, Instant(since, now.offset), newest)
    tasks = [*map(NeverTakenLine, own.never_taken), *_tasks(site, owed, since, newest)]
    expect = _expect(site, flags.wrong, owed)
    sections = (
        Section("STOCK", (*stock, *feed.stock, *back, *map(OwnLine, own.of("STOCK")), steady)),
        Section("TASKS", (*tasks, *feed.tasks, *map(OwnLine, own.of("TASKS")))),
        Section("ALTERED", (*feed.altered, *_altered(site, altered, flags, unread, now))),
        Section("TO DO", tuple(_carried(plan, to_do, unread, now))),
        Section("EXPECT", (*feed.expect, *expect, *map(OwnLine, own.of("EXPECT")))),
    )
    top = reader.spine.last_number()
    asks = say_back.questions(
        plan, flags.wrong, altered, say_back.coming(site, carried, now), now, top
    )
    began = Instant(since, now.offset)
    away = attendance.away(plan, now, to_do)
    looks = [one.facts for one in owed if isinstance(one.facts, LookDue)]
    return HandoverDraft(
        plan.name, now, began, sections, last, top, own.added, own.read, asks, away,
        tuple(one for one in looks if away is not None and _uncovered(one, away)),
        _unsigned(site, now),
    )  # fmt: skip


def _uncovered(one: LookDue, away: Away) -> bool:
    return one.at.utc < away.end.utc and not away.covers(one.place)


def _unsigned(site: Site, now: Instant) -> tuple[str, Instant, str] | None:
    for checklist in site.plan.checklists:
        found = rounds.unsigned(site, checklist, now)
        if found is not None:
            return checklist.label, found.opened, found.who
    return None


def _stock(
    plan: Plan,
    flags: Flags,
    joined: Sequence[Story],
    dealt: Sequence[Incident],
    past: Sequence[Incident],
    notes: list[NoteSeen],
    newest: dict[tuple[str, str], Seen],
    now: Instant,
) -> tuple[list[PageLine], SteadyLine]:
    """What is not steady, worst first, and how many tanks are."""
    lines: list[PageLine] = []
    unsteady = [place for one in (*flags.wrong, *flags.shelved) for place in one.places]
    for told in joined:
        lines.append(FlagLine(told.worst, told))
        here = (told.worst, *told.also)
        lines += [DealtLine(one) for one in dealt if one.standing in here and _is_dealt(one)]
    lines += map(OverLine, past)
    lines += map(NoteLine, notes)
    tanks = [t.code for t in plan.tanks]
    unseen = [
        look.place
        for look in all_due.looks(plan, newest)
        if look.last is None or now.hours_since(look.last) > LOOK_BACK_HOURS
    ]
    if unseen:
        lines.append(UnseenLine(tuple(unseen)))
    steady = len(set(tanks) - set(unsteady) - set(unseen))
    return lines, SteadyLine(steady, len(tanks))


def _is_dealt(one: Incident) -> bool:
    """Whether anything was done about a flag, or somebody is to be called about it."""
    done = one.others or any(step.done for step in one.steps)
    return bool(done) or one.call.newest is not None or one.call.state is not CallState.NOT_WANTED


def _tasks(
    site: Site, owed: list[Due], since: int, last: Mapping[tuple[str, str], Seen]
) -> list[PageLine]:
    shown = (one for one in owed if one.kind not in AHEAD and not isinstance(one.facts, MealNext))
    lines: list[PageLine] = [DueLine(one) for one in shown]
    for found in site.reader.rounds.since(since):
        if found.signed is not None:
            label = next(
                (c.label for c in site.plan.checklists if c.code == found.checklist),
                found.checklist,
            )
            lines.append(SignedLine(label, found.signed, found.signed_by or ""))
        if found.typist is not None:
            label = site.plan.checklist(found.checklist).label
            lines.append(TypedInLine(label, found.opened, found.who, found.typist, found.signed))
        lines += _gaps(site, found.number, found.first, last)
    lines += late_lines(site, since)
    lines += map(ImportedLine, site.reader.imports.told(since))
    for one in site.reader.corrections.since(since):
        if one.reason != UNDONE:
            lines.append(CorrectedLine(one, site.plan.find_item(one.item)))
    return lines


def _gaps(
    site: Site, number: int, first: int, last: Mapping[tuple[str, str], Seen]
) -> list[PageLine]:
    """What a round did not take and nobody has since, a line a reason and item, by place.

    `last` is the newest reading with a value of every item at every place.
    """
    items = {i.code: i.label for i in site.plan.items}
    grouped: dict[tuple[str, bool, str], list[str]] = {}
    newest: dict[tuple[str, str], Seen] = {}
    measured = {i.code for i in site.plan.items if i.kind.read_twice}
    read = site.reader.readings.of_round(number, first)
    for seen in read:
        if seen.recheck:
            newest.pop((seen.place, seen.item), None)
        elif seen.value is not None and seen.flag >= Flag.WATCH and seen.item in measured:
            newest[seen.place, seen.item] = seen
        taken = last.get((seen.place, seen.item))
        since = taken is not None and (taken.at.utc, taken.n) > (seen.at.utc, seen.n)
        if seen.value is None and seen.qualifier is not None and not since:
            what = items.get(seen.item, seen.item), bool(seen.recheck), seen.qualifier
            grouped.setdefault(what, []).append(seen.place)
    lines: list[PageLine] = [
        NotTakenLine(label, second, reason, tuple(places))
        for (label, second, reason), places in grouped.items()
    ]
    owed = tuple((place, items.get(item, item)) for place, item in newest)
    lines += [WantedLine(owed)] if owed else []
    repeated = _repeated(site, read, last)
    return [*lines, RepeatedLine(repeated)] if repeated else lines


def _repeated(
    site: Site, read: Sequence[Seen], last: Mapping[tuple[str, str], Seen]
) -> tuple[tuple[str, Item, Seen], ...]:
    """Values of a round that were asked about as copied, and that nobody has read since."""
    found = []
    for seen in read:
        item = site.plan.find_item(seen.item)
        if item is None or seen.flag != Flag.CHECK or not item.kind.repeats_asked:
            continue
        newest, why = last.get((seen.place, seen.item)), site.reader.flags.why(seen.n)
        if newest is not None and newest.n == seen.n and why and why[0] == Rule.UNCHANGED.value:
            found.append((seen.place, item, seen))
    return tuple(found)


def _altered(
    site: Site, altered: Sequence[FollowUpSeen], flags: Flags, unread: int, now: Instant
) -> list[PageLine]:
    """What is not as normal, meters that are out of use, and flags that are out of sight."""
    return [
        *_carried(site.plan, altered, unread, now),
        *map(MeterLine, meter_checks.altered(site, now)),
        *map(ShelvedLine, flags.shelved),
    ]


def _carried(
    plan: Plan, kept: Sequence[FollowUpSeen], unread: int, now: Instant
) -> list[CarriedLine]:
    """Follow-ups as they stand; those nobody has taken over yet are new."""
    return [CarriedLine(follow_ups.carried(one, plan, now), one.opened > unread) for one in kept]


def _expect(site: Site, wrong: tuple[Standing, ...], owed: list[Due]) -> list[PageLine]:
    """What comes by itself, and for each standing flag what to do first if it is still out."""
    lines: list[PageLine] = [DueLine(one) for one in owed if one.kind in AHEAD]
    for one in wrong:
        item = site.plan.find_item(one.key.item)
        steps = flags_of.steps(site, one)
        if item is not None and steps:
            lines.append(ResponseLine(one.place, item.label, steps))
    if site.plan.emergency and any(w.flag >= Flag.ACT for w in wrong):
        lines.append(EmergencyLine(site.plan.emergency))
    return lines[:EXPECTED]


# ---- giving and taking


class GivenPage(NamedTuple):
    """A page as it is kept when given: its words, and by section what is told of it after days."""

    text: str
    gist: tuple[tuple[str, str], ...]


def give(site: Site, who: str, page: GivenPage) -> int:
    """Record that `who` gives the room with this page."""
    now = site.now()
    entry = Entry("handover", site.signs(who), now, now, SITE)
    gist = (HandoverGist(section, words) for section, words in page.gist)
    return site.record(entry, Handover("give", page.text), *gist)


def take(
    site: Site,
    given: HandoverSeen,
    who: str,
    how: str,
    said: Sequence[SaidBack] = (),
    page: str | None = None,
    *,
    own: bool = False,
) -> Instant:
    """Record that `who` takes the room: the minute responsibility passed is now.

    `said` is what was said back, `page` the words that were read (else the page as given).
    Refusal for a handover that is not the newest or was taken, and for the one who gave it, unless
    `own` says that they take it back; then the record says so too.
    """
    now, who = site.now(), site.signs(who)
    entry = Entry("handover", who, now, now, SITE)
    with site.ledger.writing() as ledger:
        last = ledger.reader.handovers.last() or given
        if last.n != given.n:
            raise Refusal(f"{last.who} gave a newer handover at {last.at.short()}: take that one.")
        if last.taken is not None:
            raise Refusal(f"{last.taken_by} took this handover at {last.taken.short()} already.")
        if who == last.who:
            if not own:
                raise Refusal(
                    f"{who} gave this handover, so nobody else has read it: it is not taken. "
                    "Taking it back oneself has to be said."
                )
            how = f"{how}, {OWN}"
        read = given.text if page is None else page
        site.record(entry, Handover("take", read, how, given.n), *said)
    return now
