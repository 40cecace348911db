"""What the model finds, and what of that is told: at one value, and of a whole round."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator, Mapping
from typing import TYPE_CHECKING

from tankwalk.clock import Instant
from tankwalk.ledger.meters import MarkSeen
from tankwalk.ledger.questions import NO_LIMIT
from tankwalk.ledger.readings import Seen
from tankwalk.plan.bands import band_at
from tankwalk.plan.model import Band, Item, Limits, Tank
from tankwalk.practice.judging.baseline import deadband
from tankwalk.practice.judging.given import (
    Gathered,
    Given,
    Kept,
    judged_here,
    part_of,
)
from tankwalk.practice.judging.model import evidence
from tankwalk.practice.judging.model.levels import Levels, of_round
from tankwalk.practice.judging.model.looks import Change, Look, Part, Suspect
from tankwalk.practice.judging.model.naming import Facts
from tankwalk.practice.judging.rules import Rule, Shared, recorded, rule_of
from tankwalk.practice.judging.seen_to import SEEN_TO_DAYS, SeenTo
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple
from tankwalk.science.middle import middle_of

if TYPE_CHECKING:
    from tankwalk.practice.judging.standing.found import Found

OF_THE_WAY = 1 / 6
"""Water in band is told this part of the way to its limit. Common practice, no source."""
SUDDEN = 4
"""Rounds within which water that changes is told by how far it went. Common practice, no source."""
LIMIT_DAYS = 3.0
"""Water that creeps over more rounds does so as its fish grow: it is told where, as fast as it
goes, it is out of its band within so many days. Common practice, no source."""
TRUSTED_HOURS, TRUSTED_SINCE_HOURS = 2.0, 12.0
"""A meter that passed its check this recently is not the one to suspect; so recently not where it
passed since what it read moved. Common practice, no source."""
OF_DEADBAND = 0.5
"""A change of less than half of what the plan takes for noise is not worth a word."""
LATELY_HOURS, LATELY_OF_WATER = 24.0, 72.0
"""What was told this recently, and is still so, is no news: of a tank or meter, and of a loop,
whose water takes longer to come back than its flag stands."""
AT_VALUE = 0.4
"""At a value a change has to be surer by so much: when its round is whole it is looked for again,
with all that were read. Tried on the demo's season."""
SISTERS = 2
"""So many others of its water, read in the same round, tell that a change is the tank's own."""
FORESEEN_S = 60
"""What was found of a value while it was typed holds for so long."""


class Told(NamedTuple):
    """A change that a place's newest look is part of."""

    change: Change
    facts: Facts
    known: bool
    """It was told before: at a tank of this round, or it stands."""
    trusted: bool
    """It would be a meter that passed its check a few hours ago."""
    before: str = ""
    """The tank of this round that was told of it first; "" for none yet."""


class Asked(NamedTuple):
    """A value that the model is asked about, with all that it is asked by."""

    item: str
    parts: tuple[Suspect, ...]
    """The tank, its loop and its meter."""
    here: tuple[Look, ...]
    """What was read in this round, the value last."""
    given: Gathered

    def same_as(self, other: Asked) -> bool:
        """Whether the same is asked, at whatever second the value is read."""
        mine, theirs = (one.here[-1]._replace(at=0) for one in (self, other))
        return (
            (self.item, self.parts, mine) == (other.item, other.parts, theirs)
            and self.here[:-1] == other.here[:-1]
            and self.given.looks is other.given.looks
        )


class Trends:
    """The model over one round; what does not change while it is walked is asked once."""

    def __init__(
        self,
        site: Site,
        first: int = NO_LIMIT,
        passes: Callable[[], Mapping[str, int]] | None = None,
        marks: Callable[[], list[MarkSeen]] | None = None,
        walked: Mapping[str, Gathered] | None = None,
    ) -> None:
        self.site = site
        self.first = first
        self.given = Given(site, self.anew, first, passes, marks, walked)
        self._anew: dict[Suspect, dict[str, int]] | None = None
        self._flagged: dict[tuple[str, str, str], int] | None = None
        self._seen_to = SeenTo(site)
        self._standing: set[tuple[str, str, str]] | None = None
        self._foreseen: tuple[Asked, int, tuple[Change, ...]] | None = None

    # ---- at one value

    def at(
        self,
        place: str,
        item: Item,
        meter: str | None,
        value: float,
        band: Band | None,
        kept: Kept,
        now: Instant,
    ) -> Told | None:
        """The change that a value being read is part of, None for none that is told."""
        tank = self.site.plan.find_tank(place)
        if tank is None or not judged_here(item):
            return None
        asked = self._ask(tank, item, meter, value, kept, now)
        found = self._of_asked(asked, now.utc)
        mine = asked.parts
        # What a tank does by itself, beside what its meter or its loop does, is told there first.
        for change in sorted(found, key=lambda one: one.kind is not Part.TANK):
            if Suspect(change.kind, change.code) not in mine:
                continue
            before = self._said(change, item, kept, place)
            if not before and not self.matters(change, item, value, band, now):
                continue
            if change.kind is not Part.TANK and not change.beside and change.looks > SUDDEN:
                continue  # one tank does not tell how near its water is to a limit
            if self._early(change, tank.loop):
                continue
            known_already = bool(before) or self.stands(change, item, now)
            facts, trusted = self.facts(change, item, now), self._trusted(change, now)
            return Told(change, facts, known_already, trusted, before)
        return None

    def foreseen(
        self, tank: Tank, item: Item, meter: str | None, value: float, kept: Kept, now: Instant
    ) -> Iterator[None]:
        """Find, a step at a time, what `at` will want, should this value be entered."""
        yield from self.given.gathering(item, now)
        asked = self._ask(tank, item, meter, value, kept, now)
        yield
        found = yield from self._finding(asked)
        self._foreseen = asked, now.utc, found

    def _ask(
        self, tank: Tank, item: Item, meter: str | None, value: float, kept: Kept, now: Instant
    ) -> Asked:
        """What is asked of the model about a value."""
        given = self.given.gathered(item, now)
        settings = given.settings._replace(score=given.settings.score + AT_VALUE)
        look = Look(tank.code, tank.loop, meter, given.number, part_of(now), now.utc, value)
        here = (*self.given.read(item, kept, given.number, tank.code), look)
        parts = [Suspect(Part.TANK, tank.code), Suspect(Part.LOOP, tank.loop)]
        parts += [] if meter is None else [Suspect(Part.METER, meter)]
        return Asked(item.code, tuple(parts), here, given._replace(settings=settings))

    def _of_asked(self, asked: Asked, now: int) -> tuple[Change, ...]:
        """The changes that are told of a value; those found while it was typed, where it is the
        same still."""
        if self._foreseen is not None:
            before, then, found = self._foreseen
            if 0 <= now - then <= FORESEEN_S and before.same_as(asked):
                return found
        return evidence.in_one_go(self._finding(asked))

    def _finding(self, asked: Asked) -> Generator[None, None, tuple[Change, ...]]:
        given = asked.given
        now_read = of_round(given.known, asked.here)
        if not any(self._moved(given, now_read, one) for one in asked.parts):
            return ()
        yield
        looks = (*given.looks, *asked.here)
        return (
            yield from evidence.changing(looks, given.settings, given.known.anew, of=asked.parts)
        )

    def _moved(self, given: Gathered, now_read: Levels, part: Suspect) -> bool:
        """Whether a part has changed by what is read so far; its past is gone through once."""
        known, settings = given.known, given.settings
        if part not in given.history:
            given.history[part] = evidence.before(known, part, settings)
        history = evidence.and_now(given.history[part], now_read, part)
        found = evidence.tested(history, known.noise, part, settings)
        return found is not None and evidence.told_of(found, settings)

    def _early(self, change: Change, loop: str) -> bool:
        """Whether a tank's change waits for its sisters, that are still unread in this round."""
        mates = sum(tank.loop == loop for tank in self.site.plan.tanks) - 1
        return change.kind is Part.TANK and change.beside < min(mates, SISTERS)

    def _said(self, change: Change, item: Item, kept: Kept, here: str) -> str:
        """The tank of this round that was told of it first, "" for none."""
        if change.kind is Part.TANK:
            return ""
        rules = {rule_for(change)} | ({Rule.METER_PASSED} if change.kind is Part.METER else set())
        flagged = [
            seen
            for place in change.tanks
            if place != here
            for seen in kept.get((place, item.code), ())
            if seen.flag and (change.kind is Part.LOOP or seen.instrument == change.code)
        ]
        for seen in sorted(flagged, key=lambda one: one.n):
            why = self.site.reader.flags.why(seen.n)
            if why is not None and recorded(why[0]) in rules:
                return seen.place
        return ""

    # ---- of a whole round

    def whole(self, item: Item, kept: Kept, now: Instant) -> list[Told]:
        """Every change that shows when all of a round are in."""
        if not judged_here(item):
            return []
        given = self.given.gathered(item, now)
        here = self.given.read(item, kept, given.number)
        read = {look.tank: look for look in here}
        found = []
        for change in evidence.changes((*given.looks, *here), given.settings, given.known.anew):
            moved = [read[tank] for tank in change.tanks if tank in read]
            if change.kind is Part.METER:  # a tank may be read with another meter by now
                moved = [look for look in moved if look.meter == change.code]
            if not moved or self._trusted(change, now):
                continue
            newest = moved[-1]
            band = band_at(self.site.plan, item, newest.tank, now.day)
            # One tank that is out by itself does not tell where its water stands.
            value = middle_of(sorted([look.value for look in moved]))
            if self.matters(change, item, value, band, now):
                facts = self.facts(change, item, now)
                found.append(Told(change, facts, self.stands(change, item, now), trusted=False))
        return found

    # ---- what was told before

    def anew(self, item: Item, now: Instant) -> dict[Suspect, int]:
        """From when on the looks of a part count, since somebody saw to what was told of it.

        A person closed its flag, or the meter that was named passed its check after that.
        """
        if self._anew is None:
            self._anew = self._seen_to.anew(now)
        return {part: of[item.code] for part, of in self._anew.items() if item.code in of}

    def stands(self, change: Change, item: Item, now: Instant) -> bool:
        """Whether a whole round told it before, or a tank lately."""
        if self._flagged is None:
            from tankwalk.practice.judging.standing.condemned import Condemned

            since = now.utc - int(3600 * LATELY_OF_WATER)
            rows = self.site.reader.flags.flagged(since, now.utc)
            back = Condemned(self.site, since).taken_back(since) if self.given.marks() else {}
            self._flagged = {}
            for row in rows:
                if row.n < self.first and row.n not in back:
                    key = row.place, row.item, row.rule or ""
                    self._flagged[key] = max(row.at.utc, self._flagged.get(key, 0))
        rule = rule_for(change)
        hours = LATELY_OF_WATER if change.kind is Part.LOOP else LATELY_HOURS
        told = [self._flagged.get((place, item.code, rule), 0) for place in change.tanks]
        if max(told, default=0) > now.utc - 3600 * hours:
            return True
        if self._standing is None:
            from tankwalk.practice.judging.standing.found import lasting, turns_that_count

            turns = turns_that_count(self.site, now.utc - SEEN_TO_DAYS * 86400, now)
            kept = lasting(turns, self.site.plan.judging.calm_rounds)
            self._standing = {(key.kind, key.code, key.item) for key in kept}
        kind = "place" if change.kind is Part.TANK else change.kind.value
        return (kind, change.code, item.code) in self._standing

    # ---- whether it is told

    def facts(self, change: Change, item: Item, now: Instant) -> Facts:
        """What its words need."""
        meters = tuple(m.code for m in self.site.plan.instruments if m.kind == item.instrument)
        checked = self.given.passes().get(change.code) if change.kind is Part.METER else None
        return Facts(item, now, meters, checked)

    def _trusted(self, change: Change, now: Instant) -> bool:
        passed = self.given.passes().get(change.code) if change.kind is Part.METER else None
        if passed is None:
            return False
        hours = TRUSTED_SINCE_HOURS if passed >= change.since else TRUSTED_HOURS
        return (now.utc - passed) / 3600 < hours

    def matters(
        self, change: Change, item: Item, value: float, band: Band | None, now: Instant
    ) -> bool:
        """Whether a change that chance does not explain is worth a word.

        A tank's, where it goes away from its target; a loop's, where it went far enough to its
        limit within a few rounds, or will be there in a few days: water changes for many a reason.
        A meter's always: what it reads is wrong in every tank, and too high hides what is too low.
        """
        if abs(change.size) < OF_DEADBAND * deadband(item):
            return False
        level = value - change.size
        if change.kind is Part.LOOP:
            return _on_its_way(change, value, None if band is None else band.limits, now)
        if change.kind is Part.TANK and self._seen_to.altered(change.code, item, change.since):
            return False  # somebody altered it on purpose, and the board says so
        if change.kind is Part.METER or band is None or band.target is None:
            return True
        return abs(value - band.target) > abs(level - band.target)


def rule_for(change: Change) -> Rule:
    """The rule by which the record knows a change."""
    up = change.size > 0
    if change.kind is Part.TANK:
        return Rule.TANK_UP if up else Rule.TANK_DOWN
    return rule_of(Shared.METER if change.kind is Part.METER else Shared.LOOP, up=up)


def whole_round(
    site: Site, number: int, walked: Mapping[str, Gathered] | None = None
) -> tuple[Found, ...]:
    """What shows of water when every tank of a round is read: walk order does not decide it.

    `walked` is what the walk gathered: it is not worked out again where the record still says it.
    """
    from tankwalk.practice.judging.model.naming import words
    from tankwalk.practice.judging.standing.found import Found, Key
    from tankwalk.practice.judging.verdict import Flag

    first = site.reader.rounds.opened_by(number)
    if first is None:
        return ()
    now = site.now()
    kept: dict[tuple[str, str], list[Seen]] = {}
    for seen in site.reader.readings.of_round(number, first):
        kept.setdefault((seen.place, seen.item), []).append(seen)
    trends = Trends(site, first, walked=walked)
    read = {item for _, item in kept}
    found = []
    for item in site.plan.items:
        if item.code not in read:
            continue
        for told in trends.whole(item, kept, now):
            change = told.change
            said = words(change, told.facts)
            kind = "place" if change.kind is Part.TANK else change.kind.value
            found.append(
                Found(
                    Key(kind, change.code, item.code),
                    rule_for(change),
                    Flag.WATCH,
                    said.sentence,
                    said.do,
                    change.tanks,
                    item.code,
                )
            )
    return tuple(found)


# ---- helpers


def _on_its_way(change: Change, value: float, limits: Limits | None, now: Instant) -> bool:
    if limits is None:
        return False
    sides = (limits.watch_below, limits.act_below, limits.urgent_below)
    if change.size > 0:
        sides = (limits.watch_above, limits.act_above, limits.urgent_above)
    edge = next((limit for limit in sides if limit is not None), None)
    if edge is None:  # as much as there may be: good water, or a meter that reads too high
        return change.looks <= SUDDEN and any(r.kind is Part.METER for r in change.rivals)
    if abs(change.size) < OF_THE_WAY * abs(edge - (value - change.size)):
        return False
    if change.looks <= SUDDEN:
        return True
    days = max(1.0, (now.utc - change.since) / 86400)
    return abs(edge - value) <= LIMIT_DAYS * abs(change.size) / days
