"""What the model is given of the record, and what it finds: at one value, and of a whole round."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from tankwalk.clock import Instant
from tankwalk.ledger.meters import MarkSeen
from tankwalk.ledger.questions import NO_LIMIT
from tankwalk.ledger.readings import Seen, ValueSeen
from tankwalk.plan.bands import band_at, rule_at
from tankwalk.plan.model import Band, Item, Limits
from tankwalk.practice.judging import planned
from tankwalk.practice.judging.baseline import deadband, resolution, valid
from tankwalk.practice.judging.given import (
    judged_here,
    numbered,
    part_of,
    round_of,
    spaced,
)
from tankwalk.practice.judging.model import evidence
from tankwalk.practice.judging.model.levels import Levels, levels, of_round
from tankwalk.practice.judging.model.looks import Change, Look, Part, Settings, Suspect, step_of
from tankwalk.practice.judging.model.naming import Facts
from tankwalk.practice.judging.model.thresholds import settings_for
from tankwalk.practice.judging.rules import Rule, Shared, recorded, rule_of
from tankwalk.practice.judging.seen_to import SEEN_TO_DAYS, SeenTo
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple
from tankwalk.science.middle import middle_of
from tankwalk.science.oxygen import saturation, station_pressure

if TYPE_CHECKING:
    from tankwalk.practice.judging.standing.found import Found

Kept = Mapping[tuple[str, str], Sequence[Seen]]
"""What a round holds so far, by place and item code, oldest first."""

OUT = 2
"""A look of this flag or worse tells nothing of what is usual."""
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
TANKS_A_STEP = 3
"""Looks of so many tanks are gathered between two keys."""


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


class Gathered(NamedTuple):
    """The looks of one item from before a round, and what they say of levels and noise."""

    looks: tuple[Look, ...]
    known: Levels
    settings: Settings
    number: int
    """The number of the round after them."""
    history: dict[Suspect, evidence.History]
    """The past of each part that was asked about."""
    asked: object
    """All of the record and of the plan that it was made of, to be held against what it is now."""


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
        self._ask_passes = passes
        self._ask_marks = marks
        self._gathered: dict[str, Gathered] = {}
        self._held_more: dict[tuple[float, float], float] = {}
        self._bands: dict[str, dict[str, list[tuple[int, str]]]] = {}
        self._walked = walked or {}
        self._anew: dict[Suspect, dict[str, int]] | None = None
        self._flagged: dict[tuple[str, str, str], int] | None = None
        self._plan: int | None = None
        self._seen_to = SeenTo(site)
        self._standing: set[tuple[str, str, str]] | None = None

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
        given = self.gathered(item, now)
        given = given._replace(
            settings=given.settings._replace(score=given.settings.score + AT_VALUE)
        )
        look = Look(place, tank.loop, meter, given.number, part_of(now), now.utc, value)
        here = [*self.read(item, kept, given.number, place), look]
        now_read = of_round(given.known, here)
        mine = [Suspect(Part.TANK, place), Suspect(Part.LOOP, tank.loop)]
        mine += [] if meter is None else [Suspect(Part.METER, meter)]
        if not any(self._moved(given, now_read, one) for one in mine):
            return None
        found = evidence.changes((*given.looks, *here), given.settings, given.known.anew)
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
        given = self.gathered(item, now)
        here = self.read(item, kept, given.number)
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

    # ---- what the model is given

    def gathered(self, item: Item, now: Instant) -> Gathered:
        """The looks of an item from before this round; asked once a round."""
        for _ in self.gathering(item, now):
            pass
        return self._gathered[item.code]

    def gathering(self, item: Item, now: Instant) -> Iterator[None]:
        """Gather them a step at a time; whoever needs them before the last step gathers them."""
        if item.code not in self._gathered:
            found = yield from self._gather(item, now)
            self._gathered.setdefault(item.code, found)

    def _gather(self, item: Item, now: Instant) -> Generator[None, None, Gathered]:
        limits = self.site.plan.judging
        most = limits.reference_most
        rows = self.site.reader.readings.lately(item.code, item.unit, most, self.first)
        yield
        marks, since = self.marks(), self.anew(item, now)
        asked = rows, marks, since, now.day, self._planned_at()
        walked = self._walked.get(item.code)
        if walked is not None and walked.asked == asked:
            return walked
        yield
        kept: list[tuple[str, str, ValueSeen, float]] = []
        for nth, tank in enumerate(self.site.plan.tanks):
            if nth % TANKS_A_STEP == TANKS_A_STEP - 1:
                yield
            before = [k for k in rows.get(tank.code, ()) if k.at <= now.utc]
            good = [k for k in valid(before, item.code, marks) if k.flag < OUT]
            if not good:
                continue
            wanted = self.wanted(tank.code, item, now, good[0].at)
            stroke = planned.last_stroke(item, wanted)
            good = [look for look in good if look.at > stroke]
            moved = planned.moved_by(wanted)
            holds = self._holds(tank.code, item, now, before[0].at)
            kept += [
                (tank.code, tank.loop, k, k.value * holds(k.at) + moved(k.at)) for k in spaced(good)
            ]
        numbers = numbered([k for _, _, k, _ in kept])
        looks = tuple(
            Look(
                tank,
                loop,
                k.instrument,
                numbers[round_of(k)],
                part_of(Instant(k.at, now.offset)),
                k.at,
                value,
                k.value,
            )
            for tank, loop, k, value in kept
        )
        yield
        step = step_of([k.value for _, _, k, _ in kept], resolution(item))
        settings = settings_for(limits, step, deadband(item))
        known = levels(looks, settings, since)
        return Gathered(looks, known, settings, len(numbers), {}, asked)

    @property
    def held(self) -> Mapping[str, Gathered]:
        """What was gathered so far, by item: the whole round needs the same once more."""
        return self._gathered

    def read(self, item: Item, kept: Kept, number: int, besides: str = "") -> list[Look]:
        """The newest look of each tank in this round, `besides` one."""
        found = []
        for tank in self.site.plan.tanks:
            here = kept.get((tank.code, item.code), ())
            newest = next((s for s in reversed(here) if s.value is not None), None)
            if newest is None or newest.value is None or tank.code == besides:
                continue
            found.append(
                Look(
                    tank.code,
                    tank.loop,
                    newest.instrument,
                    number,
                    part_of(newest.at),
                    newest.at.utc,
                    newest.value,
                )
            )
        return found

    def wanted(self, place: str, item: Item, now: Instant, since: int = 0) -> planned.Wanted:
        """What the plan wanted of an item at a place from a UTC second until now.

        The bands beside each look are asked for only where another rule, or another plan, held
        since then.
        """
        plan = self.site.plan
        rule = rule_at(plan, item, place, now.day)
        then = rule_at(plan, item, place, Instant(since, now.offset).day)
        if then is not rule or self._planned_at() > since:
            if item.code not in self._bands:
                self._bands[item.code] = planned.by_place(self.site, item, now)
            beside = self._bands[item.code].get(place, [])
            return planned.wanted(self.site, item, place, now, beside)
        return planned.Wanted(now, rule, None)

    def _holds(self, place: str, item: Item, now: Instant, since: int) -> Callable[[int], float]:
        """How much more oxygen water holds now than then, by the temperature the plan wanted."""
        temp = self.site.plan.find_item("temp")
        band = None if temp is None else band_at(self.site.plan, temp, place, now.day)
        if item.code != "do" or temp is None or band is None or band.target is None:
            return lambda _: 1.0
        warmer, today = planned.moved_by(self.wanted(place, temp, now, since)), band.target
        pressure = station_pressure(self.site.plan.elevation_m)
        known = self._held_more

        def holds(at: int) -> float:
            by = round(warmer(at), 2)
            if (today, by) not in known:
                then = saturation(today - by, 0.0, pressure)
                known[today, by] = saturation(today, 0.0, pressure) / then
            return known[today, by]

        return holds

    def _planned_at(self) -> int:
        """The UTC second from which on the plan in force is kept."""
        if self._plan is None:
            known = self.site.reader.spine.last_plan()
            self._plan = 0 if known is None else known[1].utc
        return self._plan

    def marks(self) -> list[MarkSeen]:
        """The marks of suspect readings, as the round began."""
        return self.site.reader.meters.marks() if self._ask_marks is None else self._ask_marks()

    def passes(self) -> Mapping[str, int]:
        """When each meter last passed its check, as the round began."""
        if self._ask_passes is not None:
            return self._ask_passes()
        return self.site.reader.meters.newest_passes(m.code for m in self.site.plan.instruments)

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
            back = Condemned(self.site, since).taken_back(since) if self.marks() else {}
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
        checked = self.passes().get(change.code) if change.kind is Part.METER else None
        return Facts(item, now, meters, checked)

    def _trusted(self, change: Change, now: Instant) -> bool:
        passed = self.passes().get(change.code) if change.kind is Part.METER else None
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
