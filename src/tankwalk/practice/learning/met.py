"""The flags of the last days, and what people did with each: acted, dismissed, by a meter, nothing.

A flag is false where a person dismissed it, where its meter was wrong, and where it was over with
nothing entered about it: people went past it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import Enum

from tankwalk.clock import Instant
from tankwalk.ledger.flags import Done, Flagged
from tankwalk.plan.model import Item, Plan
from tankwalk.practice.budget import Run, met
from tankwalk.practice.incidents.looking import measured_with
from tankwalk.practice.judging.rules import Rule, Shared, recorded
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.open_list import FLAG_CLOSED, SHELVED
from tankwalk.practice.past.series import Series, series
from tankwalk.practice.past.window import Window
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

DAYS = 30
"""So many days are learned from."""
LOOK_ON_HOURS = 72.0
"""What is entered so long after a flag's last look belongs to it. Common practice, no source."""
SHIFT_HOURS = 12.0
"""A note, an action, and feed turned off at its place belong to a flag so long after its last look.
Common practice, no source."""
NOTES = 2000
"""So many notes are gone through at most."""
BY_METER = SHELVED[1]
DISMISSED = (*FLAG_CLOSED, SHELVED[2])
"""Ready-made reasons that say there was nothing; in words of one's own something was done."""


class Followed(Enum):
    """What people did with a flag."""

    ACTED = "acted"
    DISMISSED = "dismissed"
    METER = "meter"
    NOTHING = "nothing"
    STANDS = "stands"


class Met(NamedTuple):
    """One flag as people met it. `reason` is what was written where it was closed or shelved.

    `readings` are the looks behind it, by their entries; `said` is its sentence in the record.
    """

    item: str
    places: tuple[str, ...]
    flag: Flag
    rule: Rule | None
    since: Instant
    last: Instant
    said: str
    followed: Followed
    who: str
    reason: str
    readings: tuple[int, ...]

    @property
    def false(self) -> bool:
        """Whether it told of nothing that needed anybody."""
        return self.followed in (Followed.DISMISSED, Followed.METER, Followed.NOTHING)


class Kept(NamedTuple):
    """What the record holds of some days: looks that counted, by place and item, and flags."""

    window: Window
    series: dict[tuple[str, str], Series]
    met: tuple[Met, ...]


def kept(site: Site, window: Window, now: Instant) -> Kept:
    """Every flag of some days, oldest first, with what people did with it.

    A first reading that the second did not find again raised none.
    """
    items = {item.code: item for item in site.plan.items}
    rows = site.reader.flags.flagged(window.since, window.until)
    pairs = dict.fromkeys((row.place, row.item) for row in rows)
    known = {
        pair: series(site, pair[0], items[pair[1]], window) for pair in pairs if pair[1] in items
    }
    counts = {look.n for one in known.values() for look in one.looks if look.flag >= Flag.WATCH}
    acts = _acts(site, window)
    found = [
        _met(group, known, acts, site.plan, now)
        for group in met(site.plan, [row for row in rows if row.n in counts])
    ]
    return Kept(window, known, tuple(sorted(found, key=lambda one: one.since.utc)))


class _Act(NamedTuple):
    """Something a person did at a place: a step, a call, an action, a note, or a decision."""

    n: int
    at: Instant
    who: str
    place: str
    items: frozenset[str] | None
    """Which items it is of; None for all of the place."""
    decided: Done | None = None
    hours: float = LOOK_ON_HOURS
    """How long after the last look of a flag it may still belong to it."""


def _acts(site: Site, window: Window) -> list[_Act]:
    """All that was done about flags in a window, oldest first.

    Many write what they did as a note, an action for the next shift, or turn the feed off: what is
    of the same place and of that shift counts. A note that the plan has ready tells of no deed.
    """
    reader, ready = site.reader, site.plan.canned_notes
    found = [
        _Act(one.n, one.at, one.who, one.place, measured_with(one.item))
        for one in reader.incidents.done(window.since)
    ]
    found += [
        _Act(one.n, one.at, one.who, one.place, None if one.item is None else frozenset([one.item]))
        for one in reader.incidents.calls(window.since)
    ]
    found += [
        _Act(one.n, one.at, one.who, one.place, frozenset([one.item]), one)
        for one in reader.flags.done(window.since)
    ]
    opened = [*reader.follow_ups.open(), *reader.follow_ups.ended(window.since)]
    for one in opened:
        words = (one.about or "").split()
        if one.at.utc < window.since:
            continue
        if words[:1] == ["flag"] and len(words) == 4:
            found.append(_Act(one.opened, one.at, one.who, words[2], frozenset([words[3]])))
        elif one.place is not None:
            found.append(_Act(one.opened, one.at, one.who, one.place, None, hours=SHIFT_HOURS))
    found += [
        _Act(one.n, one.at, one.who, one.place, None, hours=SHIFT_HOURS)
        for one in reader.notes.since(window.since, NOTES)
        if one.place is not None and one.text not in ready
    ]
    found += [
        _Act(one.n, one.at, one.who, one.place, None, hours=SHIFT_HOURS)
        for one in reader.feeding.feed_off(window.since)
        if one.event != "feed on"
    ]
    return sorted(found, key=lambda one: (one.at.utc, one.n))


def _met(
    group: Sequence[Run],
    known: dict[tuple[str, str], Series],
    acts: Iterable[_Act],
    plan: Plan,
    now: Instant,
) -> Met:
    rows = sorted((row for run in group for row in run.rows), key=lambda row: (row.at.utc, row.n))
    first, last = rows[0], rows[-1]
    worst = max(rows, key=lambda row: row.flag)
    places = tuple(dict.fromkeys(run.place for run in group))
    tanks = [tank for tank in plan.tanks if tank.code in places]
    loops = {tank.loop for tank in tanks} if len(tanks) > 1 else set()  # told of the loop: one deed
    here = [
        act
        for act in acts
        if act.place in (*places, *loops)
        and (act.items is None or first.item in act.items)
        and first.at.utc <= act.at.utc <= last.at.utc + act.hours * 3600
    ]
    followed, act = _followed(first, here, _suspect(rows, known))
    if followed is Followed.NOTHING and _stands(places, first.item, last, known, now):
        followed = Followed.STANDS
    reason = act.decided.reason or "" if act is not None and act.decided is not None else ""
    return Met(
        first.item,
        places,
        Flag(worst.flag),
        recorded(first.rule),
        first.at,
        last.at,
        worst.sentence or "",
        followed,
        "" if act is None else act.who,
        reason,
        tuple(row.n for row in rows),
    )


def _followed(first: Flagged, here: Sequence[_Act], suspect: bool) -> tuple[Followed, _Act | None]:
    """What people did, by the last word that was said of it."""
    decided = [act for act in here if act.decided is not None and act.decided.event != "return"]
    last = decided[-1] if decided else None
    reason = "" if last is None or last.decided is None else last.decided.reason or ""
    rule = recorded(first.rule)
    if reason == BY_METER or suspect or (rule is not None and rule.shared is Shared.METER):
        return Followed.METER, last or (here[-1] if here else None)
    if last is not None and reason in DISMISSED:
        return Followed.DISMISSED, last
    if here:
        return Followed.ACTED, here[-1]
    return Followed.NOTHING, None


def _suspect(rows: Iterable[Flagged], known: dict[tuple[str, str], Series]) -> bool:
    """Whether a failed check has condemned all the looks behind a flag."""
    found = []
    for row in rows:
        looks = known[row.place, row.item].looks
        found += [look.suspect for look in looks if look.n == row.n]
    return bool(found) and all(found)


def _stands(
    places: Iterable[str],
    item: str,
    last: Flagged,
    known: dict[tuple[str, str], Series],
    now: Instant,
) -> bool:
    """Whether nobody has seen it in band since, and it is no older than a day."""
    if now.hours_since(last.at) > 24:
        return False
    newest = [known[place, item].taken[-1] for place in places if known[place, item].taken]
    return any(look.flag >= Flag.WATCH for look in newest)


# ---- counted


class Uses(NamedTuple):
    """How many flags, of what level, and what people did with them."""

    flags: int
    watch: int
    act: int
    """ACT and URGENT."""
    acted: int
    dismissed: int
    meter: int
    nothing: int
    stands: int

    @property
    def false(self) -> int:
        """Those that told of nothing that needed anybody."""
        return self.dismissed + self.meter + self.nothing


def uses(of: Iterable[Met]) -> Uses:
    """Some flags counted."""
    every = list(of)
    did = [one.followed for one in every]
    act = sum(one.flag >= Flag.ACT for one in every)
    return Uses(len(every), len(every) - act, act, *(did.count(kind) for kind in Followed))


class ByRule(NamedTuple):
    """What one rule raised."""

    rule: Rule | None
    uses: Uses


class AtPlace(NamedTuple):
    """What one item raised at one place, or in a whole loop."""

    item: str
    label: str
    places: tuple[str, ...]
    uses: Uses


def by_rule(flags: Iterable[Met]) -> tuple[ByRule, ...]:
    """Flags by what spoke first; most of them first."""
    every = list(flags)
    rules = dict.fromkeys(one.rule for one in every)
    found = [ByRule(rule, uses(one for one in every if one.rule is rule)) for rule in rules]
    return tuple(sorted(found, key=lambda one: (-one.uses.flags, -one.uses.false)))


def by_place(flags: Iterable[Met], items: dict[str, Item]) -> tuple[AtPlace, ...]:
    """Flags by item and place, most of them first; one of several tanks stands by itself."""
    every = list(flags)
    pairs = dict.fromkeys((one.item, one.places) for one in every)
    found = [
        AtPlace(
            item,
            items[item].label if item in items else item,
            places,
            uses(one for one in every if (one.item, one.places) == (item, places)),
        )
        for item, places in pairs
    ]
    return tuple(sorted(found, key=lambda one: (-one.uses.flags, -one.uses.false, one.places)))
