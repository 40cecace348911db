"""The handover: five sections drafted from the record, given by one person and taken by another.

Sections: Stock (tanks that are not steady), Tasks (not done, half done), Altered (not as normal),
To do (open actions with owner and time), Expect (what to do if).
"""

from __future__ import annotations

from typing import NamedTuple

from tankwalk import text
from tankwalk.clock import Instant, ago
from tankwalk.errors import Refusal
from tankwalk.ledger import queries, standing
from tankwalk.ledger.entries import Entry, FollowUp, Handover
from tankwalk.ledger.queries import NoteSeen, Seen
from tankwalk.ledger.standing import FollowUpSeen, HandoverSeen
from tankwalk.plan.model import Kind, Plan
from tankwalk.practice import due
from tankwalk.practice.board import wrong_now
from tankwalk.practice.flags import Standing
from tankwalk.practice.judging import Flag
from tankwalk.practice.site import SITE, Site

LOOK_BACK_HOURS = 24.0
"""A draft covers at least this long, and back to the last handover."""

SHIFT_HOURS = 8.0
"""Length of a shift, for the age of an action in shifts. Common practice, no source."""

SECTIONS = ("STOCK", "TASKS", "ALTERED", "TO DO", "EXPECT")


class Section(NamedTuple):
    """One section of the page: its name and its lines."""

    name: str
    lines: tuple[str, ...]


class Draft(NamedTuple):
    """A handover as drafted at one moment."""

    site: str
    now: Instant
    since: Instant
    sections: tuple[Section, ...]
    last: HandoverSeen | None
    last_entry: int

    def text(self) -> str:
        """The page as plain text, as it is kept when given."""
        head = f"HANDOVER {self.site}, {self.now.iso()}, since {self.since.short()}"
        body = [head]
        for section in self.sections:
            body.append(section.name)
            body += [f"  {line}" for line in section.lines]
        return "\n".join(body)


def draft(site: Site) -> Draft:
    """The five sections, from what the record holds since the last handover (or a day)."""
    now = site.now()
    db, plan = site.ledger.db, site.plan
    last = standing.last_handover(db)
    newest = queries.newest_of_all(db)
    floor = now.utc - int(LOOK_BACK_HOURS * 3600)
    since = min(floor, last.at.utc) if last is not None else floor
    notes = queries.notes(db, since)
    carried = standing.follow_ups(db)
    wrong = wrong_now(site, newest, now).wrong
    sections = (
        Section("STOCK", tuple(_stock(plan, wrong, notes, newest, now))),
        Section("TASKS", tuple(_tasks(site, now, newest, since))),
        Section("ALTERED", tuple(_altered(carried, now)) or ("nothing altered",)),
        Section("TO DO", tuple(_to_do(carried, now)) or ("no open action",)),
        Section("EXPECT", tuple(_expect(plan, wrong)) or ("nothing special expected",)),
    )
    top = db.execute("SELECT max(n) FROM entry").fetchone()[0] or 0
    return Draft(plan.name, now, Instant(since, now.offset), sections, last, top)


def _stock(
    plan: Plan,
    wrong: tuple[Standing, ...],
    notes: list[NoteSeen],
    newest: dict[tuple[str, str], Seen],
    now: Instant,
) -> list[str]:
    lines = []
    unsteady: list[str] = []
    for one in wrong:
        unsteady.extend(one.places)
        lines.append(f"{one.place} {one.flag.mark}  {one.sentence} at {_when(one.at, now)}")
    for note in notes:
        lines.append(f"{note.place or SITE} note {_when(note.at, now)} {note.who}: {note.text}")
    tanks = [t.code for t in plan.tanks]
    unseen = [
        look.place
        for look in due.looks(plan, newest)
        if look.last is None or now.hours_since(look.last) > LOOK_BACK_HOURS
    ]
    if unseen:
        lines.append(f"not looked at for a day or longer: {', '.join(unseen)}")
    steady = len(set(tanks) - set(unsteady) - set(unseen))
    lines.append(f"{steady} of {len(tanks)} tanks steady")
    return lines


def _tasks(site: Site, now: Instant, newest: dict[tuple[str, str], Seen], since: int) -> list[str]:
    lines = []
    for one in (
        *due.due_rounds(site, now),
        *due.left_unsigned(site, now),
        *due.due_checks(site, now, newest),
    ):
        lines.append(f"{one.what}: {one.sentence}")
    for found in queries.rounds(site.ledger.db):
        end = found.signed or found.opened
        if end.utc < since:
            break
        if found.signed is not None:
            label = next(
                (c.label for c in site.plan.checklists if c.code == found.checklist),
                found.checklist,
            )
            lines.append(f"{label} signed {_when(found.signed, now)} by {found.signed_by}")
        lines += _gaps(site, found.number, found.first)
    return lines


def _gaps(site: Site, number: int, first: int) -> list[str]:
    """What a round did not take, a line a reason and item, naming the places."""
    items = {i.code: i.label for i in site.plan.items}
    grouped: dict[tuple[str, str], list[str]] = {}
    newest: dict[tuple[str, str], Seen] = {}
    measured = {i.code for i in site.plan.items if i.kind is not Kind.CHOICE}
    for seen in queries.round_readings(site.ledger.db, number, first):
        if seen.recheck:
            newest.pop((seen.place, seen.item), None)
        elif seen.value is not None and seen.flag >= Flag.WATCH and seen.item in measured:
            newest[seen.place, seen.item] = seen
        if seen.value is None and seen.qualifier is not None:
            what = items.get(seen.item, seen.item) + (" second reading" if seen.recheck else "")
            grouped.setdefault((what, seen.qualifier), []).append(seen.place)
    lines = [
        f"not taken: {what}, {', '.join(places)} ({word})"
        for (what, word), places in grouped.items()
    ]
    owed = [f"{place} {items.get(item, item)}" for place, item in newest]
    return [*lines, f"second reading still wanted: {', '.join(owed)}"] if owed else lines


def _altered(carried: list[FollowUpSeen], now: Instant) -> list[str]:
    return [f"{_where(f)}{f.text}{_undo_by(f, now)}" for f in carried if f.what == "altered"]


def _to_do(carried: list[FollowUpSeen], now: Instant) -> list[str]:
    lines = []
    for one in carried:
        if one.what != "action":
            continue
        shifts = int(now.hours_since(one.at) // SHIFT_HOURS)
        aged = f", carried {shifts} shifts" if shifts > 1 else ""
        owner = one.owner or "next shift lead"
        lines.append(f"{_where(one)}{one.text} ({owner}{_by(one, now)}{aged})")
    return lines


def _expect(plan: Plan, wrong: tuple[Standing, ...]) -> list[str]:
    """For each standing flag the first response of its item: if still out, then this."""
    lines = []
    for one in wrong:
        item = plan.find_item(one.key.item)
        if item is not None and item.first_response:
            lines.append(f"if {one.place} {item.label} is still out: {item.first_response}")
    if plan.emergency and any(w.flag >= Flag.ACT for w in wrong):
        lines.append(plan.emergency)
    return lines[:8]


def _where(one: FollowUpSeen) -> str:
    return "" if one.place in (None, SITE) else f"{one.place} "


def _by(one: FollowUpSeen, now: Instant) -> str:
    if one.due_at is None:
        return ""
    due_at = Instant(one.due_at, now.offset)
    late = now.hours_since(due_at)
    return f", by {due_at.short()}" + (f", {ago(late)} over" if late > 0 else "")


def _undo_by(one: FollowUpSeen, now: Instant) -> str:
    if one.due_at is None:
        return " (no end set)"
    due_at = Instant(one.due_at, now.offset)
    late = now.hours_since(due_at)
    over = f", {ago(late)} over" if late > 0 else ""
    return f" (undo by {due_at.short()}{over})"


def _when(at: Instant, now: Instant) -> str:
    return at.hm() if at.day == now.day else at.short()


def give(site: Site, who: str, page: Draft) -> int:
    """Record that `who` gives the room with this page."""
    now = site.now()
    entry = Entry("handover", site.signs(who), now, now, SITE)
    return site.record(entry, Handover("give", page.text()))


def take(site: Site, given: HandoverSeen, who: str, how: str) -> Instant:
    """Record that `who` takes the room: the minute responsibility passed is now."""
    now = site.now()
    entry = Entry("handover", site.signs(who), now, now, SITE)
    with site.ledger.writing() as ledger:
        last = standing.last_handover(ledger.db) or given
        if last.n != given.n:
            raise Refusal(f"{last.who} gave a newer handover at {last.at.short()}: take that one.")
        if last.taken is not None:
            raise Refusal(f"{last.taken_by} took this handover at {last.taken.short()} already.")
        site.record(entry, Handover("take", given.text, how, given.n))
    return now


def add_action(site: Site, who: str, words: str, place: str | None = None) -> int:
    """Open an action by hand, for the next shift lead."""
    words = text.clean(words)
    if not words:
        raise Refusal("Nothing was typed, so no action is kept.")
    now = site.now()
    entry = Entry("follow-up", site.signs(who), now, now, place or SITE)
    return site.record(entry, FollowUp("action", "open", words))
