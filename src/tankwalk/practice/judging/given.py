"""What the model is given of the record: which looks, how far apart, by round, for one item."""

from __future__ import annotations

from collections.abc import Callable, Generator, Iterator, Mapping, Sequence

from tankwalk.clock import Instant
from tankwalk.ledger.meters import MarkSeen
from tankwalk.ledger.questions import NO_LIMIT
from tankwalk.ledger.readings import Seen, ValueSeen
from tankwalk.plan.bands import band_at, rule_at
from tankwalk.plan.model import Item, Level
from tankwalk.practice.judging import planned
from tankwalk.practice.judging.baseline import deadband, resolution, valid
from tankwalk.practice.judging.model import evidence
from tankwalk.practice.judging.model.levels import Levels, levels
from tankwalk.practice.judging.model.looks import Look, Settings, Suspect, step_of
from tankwalk.practice.judging.model.thresholds import settings_for
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple
from tankwalk.science.oxygen import saturation, station_pressure

Kept = Mapping[tuple[str, str], Sequence[Seen]]
"""What a round holds so far, by place and item code, oldest first."""

APART_S = 2 * 3600
"""Looks at a tank that are closer than this are one look, the last. Common practice, no source."""
OUT = 2
"""A look of this flag or worse tells nothing of what is usual."""
TANKS_A_STEP = 3
"""Looks of so many tanks are gathered between two keys."""


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


class Given:
    """The looks of one round's items from before it; what does not change is asked once."""

    def __init__(
        self,
        site: Site,
        anew: Callable[[Item, Instant], dict[Suspect, int]],
        first: int = NO_LIMIT,
        passes: Callable[[], Mapping[str, int]] | None = None,
        marks: Callable[[], list[MarkSeen]] | None = None,
        walked: Mapping[str, Gathered] | None = None,
    ) -> None:
        self.site = site
        self.first = first
        self._anew = anew
        self._ask_passes = passes
        self._ask_marks = marks
        self._walked = walked or {}
        self._gathered: dict[str, Gathered] = {}
        self._held_more: dict[tuple[float, float], float] = {}
        self._bands: dict[str, dict[str, list[tuple[int, str]]]] = {}
        self._plan: int | None = None

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
        marks, since = self.marks(), self._anew(item, now)
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


def judged_here(item: Item) -> bool:
    """Whether the model speaks of an item: not of what is worked out from others.

    A change of that is the change of its parts, and they are told.
    """
    return item.kind.trends and item.level is Level.TANK and not item.derived


def spaced(looks: Sequence[ValueSeen]) -> list[ValueSeen]:
    """Looks, oldest first, without those that another followed soon."""
    return [
        look
        for nth, look in enumerate(looks)
        if nth + 1 == len(looks) or looks[nth + 1].at - look.at >= APART_S
    ]


def round_of(look: ValueSeen) -> tuple[int, int]:
    """What looks of one round share."""
    return (look.round, 0) if look.round is not None else (0, look.at // APART_S)


def numbered(looks: Sequence[ValueSeen]) -> dict[tuple[int, int], int]:
    """Rounds by their place in time, from 0."""
    begun: dict[tuple[int, int], int] = {}
    for look in looks:
        key = round_of(look)
        begun[key] = min(look.at, begun.get(key, look.at))
    ordered = sorted(begun, key=lambda key: begun[key])
    return {key: nth for nth, key in enumerate(ordered)}


def part_of(at: Instant) -> str:
    """The part of the day, of four."""
    return ("night", "morning", "afternoon", "evening")[at.wall.hour // 6]
