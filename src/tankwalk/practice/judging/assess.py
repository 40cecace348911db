"""A reading weighed against all the record holds: its band, past, sisters, loop and meter.

One `Weighing` serves one round: what does not change while it is walked is asked once.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from tankwalk.clock import Instant
from tankwalk.ledger.meters import MarkSeen
from tankwalk.ledger.questions import NO_LIMIT
from tankwalk.ledger.readings import Seen
from tankwalk.plan.model import RESPONSE, Band, Item, Limits
from tankwalk.practice.judging import ahead, change, other_bands, planned
from tankwalk.practice.judging.baseline import LOOKS, Usual, usual, valid
from tankwalk.practice.judging.copied import Copies
from tankwalk.practice.judging.given import Gathered, Kept, judged_here
from tankwalk.practice.judging.model.looks import Part
from tankwalk.practice.judging.model.naming import Words, brief_words, far, words
from tankwalk.practice.judging.other_bands import Beyond
from tankwalk.practice.judging.rules import Rule, Shared, Way, recorded
from tankwalk.practice.judging.slips import Around, Slip, SlipKind
from tankwalk.practice.judging.trends import Told, Trends, rule_for
from tankwalk.practice.judging.verdict import Flag, Judged, first_steps, judge
from tankwalk.practice.meters.suspects import mark_of
from tankwalk.practice.site import Site
from tankwalk.practice.stock.dead import MORTS
from tankwalk.rows import NamedTuple
from tankwalk.science.oxygen import station_pressure

if TYPE_CHECKING:  # counts and responses are judged by what other readings do without
    from tankwalk.practice.judging.dead.mortality import Signal
    from tankwalk.practice.judging.eating import Stands

SUSPECTED_HOURS = 14 * 24.0
"""A meter that was named is suspected until it passes a check, this long at most."""


class Past(NamedTuple):
    """What a value is held against besides its band; `suspected` since when its meter is."""

    usual: Usual = Usual()
    told: Told | None = None
    suspected: Instant | None = None
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
        self._planned: dict[tuple[str, str], int] = {}
        self._passes: dict[str, int] | None = None
        self._marks: list[MarkSeen] | None = None
        self._suspicions: dict[tuple[str, str], tuple[Instant, bool]] | None = None
        self._copies = Copies(site.plan.judging.copied_chance)
        self._trends = Trends(site, first, self.passes, self.marks)

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
        since = self._planned.get((place, item.code), -1)
        if last is not None and last.at.utc <= since:
            last = None  # what the plan moved since then is no change of the water
        first = judge(item, value, typed, band, last, now, around, sure=sure, below=below)
        if not first.asks and not below:
            other = other_bands.beyond(self.site, item, value, place, band, now, self.first, since)
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
        told = self._trends.at(place, item, meter, value, band, kept, now)
        return Past(known, told, None if told is None else self._suspected(told, item, now))

    def _counted(self, place: str, item: Item, value: float, now: Instant) -> Past | None:
        """What a count of the dead is held against."""
        if item.code != MORTS or self.site.plan.find_tank(place) is None:
            return None
        from tankwalk.practice.judging.dead.mortality import judge_count

        signal = judge_count(self.site, place, value, now, self.number)
        return None if signal is None else Past(Usual(), signal=signal)

    def _suspected(self, told: Told, item: Item, now: Instant) -> Instant | None:
        """Since when the meter that is named is suspected of the same, where it is."""
        if told.change.kind is not Part.METER:
            return None
        if self._suspicions is None:
            self._suspicions = self._apart_lately(now)
        found = self._suspicions.get((told.change.code, item.code))
        return found[0] if found is not None and found[1] == (told.change.size > 0) else None

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
            wanted = self._trends.given.wanted(place, item, now, good[0].at if good else now.utc)
            self._planned[key] = planned.last_stroke(item, wanted)
            good = [look for look in good if look.at > self._planned[key]]
            self._usual[key] = usual(item, good, planned.moved_by(wanted))
        return self._usual[key]

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

    def ready(self, place: str, item: Item) -> Iterator[None]:
        """Read, a step at a time, what the first value of an item in this round is held against."""
        tank = self.site.plan.find_tank(place)
        if tank is None or not judged_here(item):
            return
        now = self.site.now()
        item = item.at_age(self.site.plan.age(tank, now.day))
        yield from self._trends.given.gathering(item, now)
        self._usual_of(place, item, now)
        yield

    def foreseen(
        self, place: str, item: Item, meter: str | None, value: float, kept: Kept
    ) -> Iterator[None]:
        """Find, a step at a time, what `weigh` will want, should this value be entered."""
        tank = self.site.plan.find_tank(place)
        if tank is None or not judged_here(item):
            return
        now = self.site.now()
        item = item.at_age(self.site.plan.age(tank, now.day))
        self._usual_of(place, item, now)
        yield
        yield from self._trends.foreseen(tank, item, meter, value, kept, now)

    @property
    def gathered(self) -> Mapping[str, Gathered]:
        """What of the record the model was given in this round, by item."""
        return self._trends.given.held

    def passes(self) -> Mapping[str, int]:
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
    if past.told is not None and _is_older(first, past.told):
        past = past._replace(told=None)
    if past.told is not None and past.told.change.kind is not Part.TANK:
        return _shared(first, item, past.told, value, band, past.suspected, now)
    return _trended(item, value, typed, band, first, past, now)


def _is_older(first: Judged, told: Told) -> bool:
    """Whether a value is out, and its loop's change of days before does not explain that."""
    return first.flag >= Flag.WATCH and told.change.kind is Part.LOOP and told.change.looks > 1


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
    went = "" if past.told is None else _went(past.told, item)
    if first.flag >= Flag.WATCH:
        more = [change.ahead(item, value, limits, newest, now), went]
        beside = tuple(words for words in more if words)
        said = "; ".join((first.sentence, *beside))
        return first._replace(sentence=said, parts=(first.headline, *first.reasons, *beside))
    if past.told is not None:
        return _drifted(
            item, value, band, past.told, words(past.told.change, past.told.facts, shown)
        )
    if past.copied:
        return Judged(Flag.CHECK, f"{shown}: {past.copied}", rule=Rule.UNCHANGED)
    return first


def _went(told: Told, item: Item) -> str:
    """How far one tank's value has gone, beside what its band says."""
    return f"{far(told.change, item)} since {told.facts.since(told.change)}"


def _drifted(item: Item, value: float, band: Band | None, told: Told, said: Words) -> Judged:
    """One tank that left its level while the others of its water stayed; known, it is no news."""
    rule = rule_for(told.change)
    steps = first_steps(item, value, band, rule)
    flag = Flag.CHECK if told.known else Flag.WATCH
    parts = (said.headline, *said.reasons)
    return Judged(flag, said.sentence, rule=rule, do=said.do, steps=steps, parts=parts)


def _shared(
    first: Judged,
    item: Item,
    told: Told,
    value: float,
    band: Band | None,
    suspected: Instant | None,
    now: Instant,
) -> Judged:
    """A value that moved together with others: one cause is one message.

    The first to show it is watched and measured again. Later ones are counted to it: what is out
    of band by a loop keeps its own seriousness, what a suspect meter says too high or low does only
    where it is to be acted on.
    """
    said = words(told.change, told.facts)
    known = told.known or suspected is not None or told.trusted
    flag = Flag.CHECK if known else Flag.WATCH
    rule = rule_for(told.change)
    by_meter = told.change.kind is Part.METER
    do = said.do
    parts = [said.headline, *said.reasons]
    if suspected is not None:
        parts = [
            f"{item.instrument or 'meter'} {told.change.code} is suspected since "
            f"{suspected.short()}: {item.label} {far(told.change, item)} in what it read"
        ]
    elif told.trusted:
        parts, rule = [_though_it_passed(told, item, now)], Rule.METER_PASSED
    brief = brief_words(told.change, item, told.before) if told.before else ""
    by_it = by_meter and not told.trusted and _that_way(told, value, band)
    if by_it and first.flag >= Flag.ACT:
        # What can kill stays the tank's own, and is acted on before a meter is tried.
        both = (first.headline, *first.reasons, said.headline)
        return first._replace(sentence=f"{first.sentence}; {said.headline}", parts=both)
    if first.flag >= Flag.WATCH and not by_it:
        flag = max(flag, first.flag)
        parts.append(first.sentence)
        if first.flag >= Flag.ACT:
            do = ""
    steps = first_steps(item, value, band, rule)
    sentence = "; ".join(parts)
    return Judged(
        flag,
        sentence,
        rule=rule,
        do=do,
        steps=steps,
        parts=tuple(parts),
        brief=brief,
        quiet=bool(brief) and first.flag < Flag.WATCH,
    )


def _though_it_passed(told: Told, item: Item, now: Instant) -> str:
    """Tanks that one meter read moved together, and it passed its check a few hours ago."""
    checked = told.facts.checked
    when = "" if checked is None else f" {Instant(checked, now.offset).short()}"
    return (
        f"{item.label} {far(told.change, item)} in what {item.instrument or 'meter'} "
        f"{told.change.code} read, though it passed its check{when}"
    )


def _that_way(told: Told, value: float, band: Band | None) -> bool:
    """Whether a value is out on the side to which its meter went."""
    up = told.change.size > 0
    if band is None or band.limits.watch_above is None or not up:
        low = None if band is None else band.limits.watch_below
        return not up and low is not None and value < low
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
