"""A reading weighed against all the record holds: its band, past, sisters, loop and meter.

One `Weighing` serves one round: what does not change while it is walked is asked once.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING

from tankwalk.clock import Instant
from tankwalk.ledger.meters import MarkSeen
from tankwalk.ledger.questions import NO_LIMIT
from tankwalk.ledger.readings import Seen
from tankwalk.plan.bands import rule_at
from tankwalk.plan.model import RESPONSE, Band, Item, Level, Limits
from tankwalk.practice.judging import ahead, change, other_bands, shared_causes, sisters
from tankwalk.practice.judging.baseline import LOOKS, Usual, usual, valid
from tankwalk.practice.judging.copied import Copies
from tankwalk.practice.judging.other_bands import Beyond
from tankwalk.practice.judging.rules import Rule, Shared, Way, recorded, rule_of
from tankwalk.practice.judging.shared_causes import Cause, Shift
from tankwalk.practice.judging.slips import Around, Slip, SlipKind
from tankwalk.practice.judging.verdict import Flag, Judged, first_steps, judge
from tankwalk.practice.meters.suspects import mark_of
from tankwalk.practice.site import Site
from tankwalk.practice.stock.dead import MORTS
from tankwalk.rows import NamedTuple
from tankwalk.science.oxygen import station_pressure

if TYPE_CHECKING:  # counts and responses are judged by what other readings do without
    from tankwalk.practice.judging.eating import Stands
    from tankwalk.practice.judging.mortality import Signal

Kept = Mapping[tuple[str, str], Sequence[Seen]]
"""What a round holds so far, by place and item code, oldest first."""


SUSPECTED_HOURS = 14 * 24.0
"""A meter that was named is suspected until it passes a check, this long at most."""


class Past(NamedTuple):
    """What a value is held against besides its band; `tips`: it is the first to show the cause."""

    usual: Usual = Usual()
    cause: Cause | None = None
    tips: bool = False
    odd: str = ""
    signal: Signal | None = None
    """What a count of the dead stands out by."""
    stands: Stands | None = None
    """What a feeding response stands out by."""
    copied: str = ""
    """What is asked about a value that is the last one over."""


class Weighing:
    """Judges the readings of one round; `first` is its opening entry, `number` None for none."""

    def __init__(self, site: Site, number: int | None, first: int = NO_LIMIT) -> None:
        self.site = site
        self.number = number
        self.first = first
        self._usual: dict[tuple[str, str], Usual] = {}
        self._passes: dict[str, int] | None = None
        self._marks: list[MarkSeen] | None = None
        self._suspicions: dict[tuple[str, str], tuple[Instant, bool]] | None = None
        self._copies = Copies(site.plan.judging.copied_chance)

    def weigh(
        self,
        place: str,
        item: Item,
        band: Band | None,
        meter: str | None,
        value: float,
        typed: str,
        last: Seen | None,
        kept: Kept,
        *,
        sure: bool = False,
        below: bool = False,
    ) -> Judged:
        """Judge a value in the item's unit before it is kept.

        `last` is the newest value from before the round; `sure` skips the question for a slip;
        `below` says that the value is a detection limit.
        """
        now = self.site.now()
        tank = self.site.plan.find_tank(place)
        if tank is not None:
            item = item.at_age(self.site.plan.age(tank, now.day))
        around = Around(
            None if last is None else last.value,
            self._temperature(place, item),
            station_pressure(self.site.plan.elevation_m),
        )
        past = self._past(place, item, band, meter, value, kept, now)
        if past is not None and past.usual.looks:
            copied = self._copies.at(place, item, value, past.usual, self._water(place))
            past = past._replace(copied=copied)
        if last is not None and self._suspect(last):
            last = None if past is None else self._seen(past)
        first = judge(item, value, typed, band, last, now, around, sure=sure, below=below)
        if not first.asks and not below:
            other = other_bands.beyond(self.site, item, value, place, band, now, self.first)
            first = first if other is None else _other(first, item, value, typed, band, other)
        if first.asks or past is None:
            return first
        judged = beyond(first, item, value, band, past, now, typed)
        judged = self._ahead(judged, place, item, value, typed, band, past.usual, now)
        return judged._replace(question="", slip=None) if sure else judged

    def _past(
        self,
        place: str,
        item: Item,
        band: Band | None,
        meter: str | None,
        value: float,
        kept: Kept,
        now: Instant,
    ) -> Past | None:
        if item.kind.of_animals:
            return self._counted(place, item, value, now)
        if item.code == RESPONSE and item.kind.by_words:
            from tankwalk.practice.judging.eating import stands_out

            found = stands_out(self.site, place, item, value, now)
            return None if found is None else Past(stands=found)
        if not item.kind.trends:
            return None
        known = self._usual_of(place, item, now)
        tank = self.site.plan.find_tank(place)
        if tank is None or item.level is not Level.TANK:
            return Past(known)
        here = Shift(place, tank.loop, meter, value, known)
        others = self._shifts(item, place, kept, now)
        limits = None if band is None else band.limits
        cause = shared_causes.find(item, others, here, limits, self.passes(), now)
        known_bad = self._suspicion(item, here, now)
        if cause is None or cause.kind is Shared.LOOP:
            cause = known_bad or cause
        tips = (
            cause is not None
            and known_bad is None
            and not self._told(cause, item, others, limits, now)
        )
        odd = "" if cause is not None else sisters.odd(item, here, others, band)
        return Past(known, cause, tips, odd)

    def _counted(self, place: str, item: Item, value: float, now: Instant) -> Past | None:
        """What a count of the dead is held against."""
        if item.code != MORTS or self.site.plan.find_tank(place) is None:
            return None
        from tankwalk.practice.judging.mortality import judge_count

        signal = judge_count(self.site, place, value, now, self.number)
        return None if signal is None else Past(Usual(), signal=signal)

    def _shifts(self, item: Item, place: str, kept: Kept, now: Instant) -> list[Shift]:
        """The other tanks' newest looks of this round."""
        found = []
        for tank in self.site.plan.tanks:
            here = kept.get((tank.code, item.code), ())
            newest = next((s for s in reversed(here) if s.value is not None), None)
            if tank.code == place or newest is None or newest.value is None:
                continue
            known = self._usual_of(tank.code, item, now)
            found.append(Shift(tank.code, tank.loop, newest.instrument, newest.value, known))
        return found

    def _told(
        self,
        cause: shared_causes.Cause,
        item: Item,
        others: Sequence[Shift],
        limits: Limits | None,
        now: Instant,
    ) -> bool:
        """Whether a tank read earlier in this round was told the same cause already."""
        for nth, one in enumerate(others):
            before = [*others[:nth], *others[nth + 1 :]]
            found = shared_causes.find(item, before, one, limits, self.passes(), now)
            if found is not None and (found.kind, found.code) == (cause.kind, cause.code):
                return True
        return False

    def _suspicion(self, item: Item, here: Shift, now: Instant) -> Cause | None:
        """A meter that was found to be apart before, has passed no check since, and still is."""
        if here.meter is None:
            return None
        if self._suspicions is None:
            self._suspicions = self._apart_lately(now)
        found = self._suspicions.get((here.meter, item.code))
        moved = here.since(self.passes().get(here.meter))
        if found is None or moved is None or abs(moved) <= here.usual.scatter:
            return None
        since, up = found
        if (moved > 0) != up:
            return None
        words = (
            f"{item.instrument or 'meter'} {here.meter} is suspected since {since.short()}: "
            f"{item.label} {'up' if up else 'down'} {abs(moved):.{item.decimals}f} at {here.place} "
            "as in others it read"
        )
        return Cause(Shared.METER, here.meter, (here.place,), up, words)

    def _apart_lately(self, now: Instant) -> dict[tuple[str, str], tuple[Instant, bool]]:
        """Meters that were named in the last days: since when, and whether they read high."""
        reader = self.site.reader
        found: dict[tuple[str, str], tuple[Instant, bool]] = {}
        for row in reader.flags.flagged(now.utc - int(3600 * SUSPECTED_HOURS), now.utc):
            rule = recorded(row.rule)
            if rule is None or rule.shared is not Shared.METER:
                continue
            seen = reader.readings.seen(row.n)
            if seen is None or seen.instrument is None:
                continue
            if self.passes().get(seen.instrument, 0) < row.at.utc:
                found.setdefault((seen.instrument, row.item), (row.at, rule.way is Way.UP))
        return found

    def _usual_of(self, place: str, item: Item, now: Instant) -> Usual:
        """What is usual at a place, from before this round."""
        key = place, item.code
        if key not in self._usual:
            seen = self.site.reader.readings.looks(
                place, item.code, item.unit, LOOKS, self.first, now.utc
            )
            good = valid(seen, item.code, self.marks())
            self._usual[key] = usual(item, good, self._moved(place, item, now))
        return self._usual[key]

    def _moved(self, place: str, item: Item, now: Instant) -> Callable[[int], float]:
        """How far the planned target has moved from a UTC second until now."""
        plan = self.site.plan
        rule = rule_at(plan, item, place, now.day)
        if rule is None or rule.ramp is None:
            return lambda _: 0.0
        ramp, today = rule.ramp, rule.ramp.at(now.day)
        targets: dict[date, float] = {}

        def moved(at: int) -> float:
            day = Instant(at, now.offset).day
            if day not in targets:
                targets[day] = ramp.at(day)
            return today - targets[day]

        return moved

    def _ahead(
        self,
        judged: Judged,
        place: str,
        item: Item,
        value: float,
        typed: str,
        band: Band | None,
        known: Usual,
        now: Instant,
    ) -> Judged:
        """What passes a limit that is acted on before anybody reads it again is a level worse."""
        if judged.flag >= Flag.ACT or judged.names_meter or not item.kind.trends:
            return judged
        until = ahead.next_look(self.site.plan, item, place, now)
        found = ahead.ahead(item, value, band, known, now, until)
        if found is None:
            return judged
        said = ahead.words(item, found, now)
        if judged.flag == Flag.WATCH:  # two looks alone may be a step, which goes no further
            parts = (judged.headline, *judged.reasons, said)
            sentence = f"{judged.sentence}; {said}"
            flag = Flag.ACT if found.steady else judged.flag
            return judged._replace(flag=flag, sentence=sentence, parts=parts)
        steps = first_steps(item, value, band, Rule.AHEAD, found.rate)
        sentence = f"{item.label} {item.shown(value, typed)} {said}"
        return Judged(Flag.WATCH, sentence, rule=Rule.AHEAD, steps=steps)

    def _water(self, place: str) -> list[str]:
        """The tanks of the water a place has; none for what is no tank."""
        tank = self.site.plan.find_tank(place)
        return [t.code for t in self.site.plan.tanks if tank is not None and t.loop == tank.loop]

    def passes(self) -> dict[str, int]:
        """When each meter last passed its check, as the round began."""
        if self._passes is None:
            codes = [meter.code for meter in self.site.plan.instruments]
            self._passes = self.site.reader.meters.newest_passes(codes)
        return self._passes

    def marks(self) -> list[MarkSeen]:
        """The marks of suspect readings, as the round began."""
        if self._marks is None:
            self._marks = self.site.reader.meters.marks()
        return self._marks

    def _suspect(self, seen: Seen) -> bool:
        return mark_of(self.marks(), seen.instrument, seen.item, seen.at.utc) is not None

    def _seen(self, past: Past) -> Seen | None:
        looks = past.usual.looks
        return self.site.reader.readings.seen(looks[-1].n) if looks else None

    def _temperature(self, place: str, item: Item) -> float | None:
        """The tank's temperature, where a slip in oxygen needs it."""
        if item.code != "do":
            return None
        seen = self.site.reader.readings.newest(place, "temp", "degC")
        return None if seen is None else seen.value


# ---- what is said


def beyond(
    first: Judged,
    item: Item,
    value: float,
    band: Band | None,
    past: Past,
    now: Instant,
    typed: str,
) -> Judged:
    """A value that was judged by its band, and now by what it is held against besides."""
    if past.signal is not None:
        return _counted(first, item, value, band, past.signal)
    if past.stands is not None:
        return _eaten(first, item, value, past.stands)
    if past.cause is not None:
        return _shared(first, item, past.cause, value, band, tips=past.tips)
    return _trended(item, value, typed, band, first, past, now)


def _trended(
    item: Item,
    value: float,
    typed: str,
    band: Band | None,
    first: Judged,
    past: Past,
    now: Instant,
) -> Judged:
    """A value beside its own past and its sisters; the worst speaks, the others add their words."""
    shown = f"{item.label} {item.shown(value, typed)}"
    limits = Limits() if band is None else band.limits
    newest = past.usual.looks[-1] if past.usual.looks else None
    if first.flag >= Flag.WATCH:
        more = [change.ahead(item, value, limits, newest, now), past.odd]
        beside = tuple(words for words in more if words)
        said = "; ".join((first.sentence, *beside))
        return first._replace(sentence=said, parts=(first.headline, *first.reasons, *beside))
    moved = 0.0 if newest is None else value - newest.value
    drifts = "" if band is None else change.drift(item, value, band, past.usual)
    if drifts:
        return Judged(
            Flag.WATCH,
            f"{shown} {drifts}",
            rule=Rule.DRIFT,
            steps=first_steps(item, value, band, Rule.DRIFT, moved),
        )
    if past.odd:
        return Judged(Flag.CHECK, f"{shown} {past.odd}", rule=Rule.SISTERS)
    if past.copied:
        return Judged(Flag.CHECK, f"{shown}: {past.copied}", rule=Rule.UNCHANGED)
    return first


def _shared(
    first: Judged, item: Item, cause: Cause, value: float, band: Band | None, *, tips: bool
) -> Judged:
    """A value that moved together with others: one cause is one message.

    The first to show it is watched and measured again. Later ones are counted to it: what is out
    of band by a loop keeps its own seriousness, what a suspect meter says too high or low does not.
    """
    flag = Flag.WATCH if tips else Flag.CHECK
    by_meter = cause.kind is Shared.METER
    if first.flag >= Flag.WATCH and not (by_meter and _that_way(cause, value, band)):
        flag = max(flag, first.flag)
        parts = [cause.sentence, first.sentence]
    else:
        parts = [cause.sentence]
    do = ""
    if by_meter:
        do = f"Measure one of them with another meter; check meter {cause.code} before it is used."
    rule = rule_of(cause.kind, up=cause.up)
    steps = first_steps(item, value, band, rule)
    return Judged(flag, "; ".join(parts), rule=rule, do=do, steps=steps, parts=tuple(parts))


def _that_way(cause: Cause, value: float, band: Band | None) -> bool:
    """Whether a value is out on the side to which its meter went."""
    if band is None or band.limits.watch_above is None or not cause.up:
        low = None if band is None else band.limits.watch_below
        return not cause.up and low is not None and value < low
    return value > band.limits.watch_above


def _other(
    first: Judged, item: Item, value: float, typed: str, band: Band | None, other: Beyond
) -> Judged:
    """What its band says beside what it is beyond though no edge of the band says so."""
    if first.flag >= other.flag:
        parts = (first.headline, *first.reasons, other.words)
        return first._replace(sentence=f"{first.sentence}, {other.words}", parts=parts)
    shown = f"{item.label} {item.shown(value, typed)}"
    steps = first_steps(item, value, band, other.rule)
    words = (shown, other.words) if not first.flag else (first.sentence, other.words)
    return Judged(other.flag, ", ".join(words), rule=other.rule, steps=steps, parts=words)


def _counted(first: Judged, item: Item, value: float, band: Band | None, signal: Signal) -> Judged:
    """A count of the dead that stands out by more than its band."""
    flag = max(first.flag, Flag(signal.flag))
    rule = signal.rule
    if rule is Rule.TWICE:
        same = Slip(SlipKind.COUNTED, 0.0)
        return Judged(flag, signal.sentence, signal.sentence, same, rule=rule, do=signal.do)
    said = f"{item.label}: {signal.sentence}"
    if first.flag > signal.flag:
        said = f"{first.sentence}; {signal.sentence}"
    steps = first_steps(item, value, band, rule)
    return Judged(flag, said.rstrip("."), rule=rule, do=signal.do, steps=steps)


def _eaten(first: Judged, item: Item, value: float, stands: Stands) -> Judged:
    """A feeding response that most tanks of a batch or loop share, or that fell in this tank."""
    from tankwalk.practice.judging.eating import sentence

    parts = sentence(item, item.shown(value), stands)
    steps = first_steps(item, value, None, stands.rule)
    flag = max(first.flag, Flag.WATCH)
    return Judged(flag, ": ".join(parts), rule=stands.rule, steps=steps, parts=parts)
