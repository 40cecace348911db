"""A person who walks every round of a season by chance, answer by answer, and what was told.

Nothing here judges: readings go through the walk as keys do, and the board is looked at.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from random import Random
from typing import NamedTuple

import chance_water
from chance_faults import READ, Dead, Decoy, Fault, Look, Maker, Place, Planted, Waters
from chance_site import Stop
from chance_truth import Out, out
from tankwalk.clock import FixedClock, Instant
from tankwalk.ledger.entries import Entry, Movement
from tankwalk.ledger.readings import Seen
from tankwalk.ledger.store import FILE, Ledger, Station
from tankwalk.paths import PLAN
from tankwalk.plan.file import load
from tankwalk.practice.judging.standing.flags import Key, Standing
from tankwalk.practice.judging.standing.wrong_now import wrong_now
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.meters import meter_checks
from tankwalk.practice.round.agenda import Slot
from tankwalk.practice.round.questions import AskAgain, AskMeter, AskSlip
from tankwalk.practice.round.rounds import begin
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import Site

SAME_DEAD = "counted already"
SLIPS = {"degF": "degF", "gal/min": "gal/min", "point": "decimal point misplaced"}
"""What the walk calls the slips that are planted."""
MOST_QUESTIONS = 6
"""A walk that asks more than this about one reading does not let the person go on."""


# ---- what was said


class Said(NamedTuple):
    """A word at the tank: a reading kept with a flag, or a question before one was kept."""

    at: int
    stop: int
    place: str
    item: str
    flag: int
    rule: str
    sentence: str
    slip: str = ""
    """The name of the slip that was asked about."""
    asked: bool = True
    """The person was asked or told; not so where it says "as at" another tank, with no mark."""


class Stood(NamedTuple):
    """A flag on the board: `new` when it came up or became worse, else a newer reading in it."""

    at: int
    key: Key
    flag: int
    rule: str
    sentence: str
    tanks: tuple[str, ...]
    new: bool
    out: Out = Out.OTHER
    """What the maker of the water says of a band's flag."""


class Season(NamedTuple):
    """One season as it was planted and as it was told."""

    room: Place
    planted: Planted | None
    quiet: tuple[Decoy, ...]
    said: tuple[Said, ...]
    stood: tuple[Stood, ...]
    readings: int
    looks: tuple[tuple[str, Look], ...]
    """Every reading of a meter that was kept, by its item, and what its maker knows of it."""
    dead: tuple[Dead, ...]
    decimals: tuple[tuple[str, int], ...]


# ---- walking


class _Walker:
    """One person who walks every round, measures again when asked and answers questions."""

    def __init__(self, site: Site, water: Waters) -> None:
        self.site = site
        self.water = water
        self.said: list[Said] = []
        self.stood: list[Stood] = []
        self.readings = 0
        self.looks: list[tuple[str, Look]] = []
        self.dead: list[Dead] = []
        self._expected: dict[tuple[str, int], float] = {}
        self._now = 0
        self._standing: dict[Key, Standing] = {}
        self._looked = 0

    def walk(self, index: int) -> None:
        stop = self.water.room.stops[index]
        self._now = stop.at.utc
        self._tick(stop, 0)
        with self.site.ledger.writing():
            if stop.part == "am":
                self._check_meters(index)
            who = self.water.who(index)
            opened = begin(self.site, self.site.plan.checklist(stop.part), who)
            walk = Walk(self.site, opened, who)
            while not walk.at_end:
                self._slot(walk, walk.slot, index)
            walk.answer("+")
            if not walk.signed:
                raise AssertionError(walk.said.sentence)
            self._look_at_board()

    def _tick(self, stop: Stop, seconds: int) -> None:
        self._now += seconds
        self.site.clock = FixedClock(Instant(self._now, stop.at.offset))

    def _check_meters(self, index: int) -> None:
        """The morning's checks; those of a faulty oxygen meter are left out."""
        room, bad = self.water.room, self.water.planted
        if room.stops[index].day % room.check_days:
            return
        for meter in (*room.meters, *room.ph_meters):
            faulty = bad is not None and bad.fault in (Fault.METER_DRIFT, Fault.METER_STEP)
            if faulty and bad is not None and meter == bad.code and index >= bad.first:
                continue
            if meter in room.meters:
                found = 100 + 11 * room.bias[meter, "do"] + self.water.luck.gauss(0, 0.3)
            else:
                found = 7 + room.bias[meter, "ph"] + self.water.luck.gauss(0, 0.01)
            meter_checks.check(self.site, "AB", meter, round(found, 2))
        self._tick(room.stops[index], 300)

    def _slot(self, walk: Walk, slot: Slot, index: int) -> None:
        """One thing asked, to the end of what is asked about it."""
        stop = self.water.room.stops[index]
        self._tick(stop, 12)
        self._take_meter(walk, slot, index)
        worst = walk.answer(self._first(walk, slot, index)).flag
        for _ in range(MOST_QUESTIONS):
            asked = walk.question
            if isinstance(asked, AskSlip):
                self._asked(asked, index)
                self._tick(stop, 5)
                reply = walk.answer(self._to_slip(asked, walk, index))
            elif isinstance(asked, AskAgain) and walk.pending(slot):
                self._tick(stop, 9)
                reply = walk.answer(self._number(walk, slot, index))
            elif isinstance(asked, AskMeter):  # its maker says which meter read it
                reply = walk.answer(asked.same)
            elif asked is None or isinstance(asked, AskAgain) or walk.at_end:
                break
            else:
                continue  # nobody here answers that
            worst = max(worst, reply.flag)
        else:
            raise AssertionError(f"{slot.place} {slot.item.code}: {walk.said.sentence}")
        for seen in walk.of(slot):
            self.readings += 1
            self._note(seen, index)
            if seen.flag:
                rule, sentence = self.site.reader.flags.why(seen.n) or ("", "")
                self.said.append(
                    Said(seen.at.utc, index, seen.place, seen.item, seen.flag, rule, sentence,
                         asked=worst > Flag.OK)
                )  # fmt: skip
        if worst >= Flag.WATCH:
            self._look_at_board()

    def _note(self, seen: Seen, index: int) -> None:
        """Keep a reading for detectors that are told what its maker knows."""
        water, tank, at = self.water, seen.place, seen.at.utc
        stop = water.room.stops[index]
        loop = water.room.loop_of.get(tank)
        if loop is None or seen.value is None:
            return
        if seen.item in READ:
            truth = water.truth(tank, seen.item, index, seen.instrument, at)
            look = Look(tank, loop, seen.instrument, index, stop.part, at, seen.value, truth)
            self.looks.append((seen.item, look))
        elif seen.item == "morts":
            self.dead.append(
                Dead(tank, loop, water.treatment(tank), index, stop.part, at, stop.day,
                     water.age(index), int(seen.value), self._expected[tank, index], water.clumps)
            )  # fmt: skip

    def _take_meter(self, walk: Walk, slot: Slot, index: int) -> None:
        """Have that meter in hand with which this tank is read today."""
        kind, tank = slot.item.instrument, slot.place
        if not kind or tank not in self.water.room.tanks:
            return
        meter = self.water.in_hand(tank, slot.item.code, index)
        if meter is not None and meter != walk.meter(slot):
            walk.meters[kind] = meter

    def _asked(self, asked: AskSlip, index: int) -> None:
        slip = "" if asked.slip is None else asked.slip.name
        self.said.append(
            Said(self._now, index, asked.slot.place, asked.slot.item.code, Flag.CHECK, "slip",
                 asked.words, slip)
        )  # fmt: skip

    def _to_slip(self, asked: AskSlip, walk: Walk, index: int) -> str:
        """The guess where the slip was made and is named; as typed where there was none."""
        bad, slot = self.water.planted, asked.slot
        name = "" if asked.slip is None else asked.slip.name
        if self._planted(slot, index) and bad is not None:
            if name == (SAME_DEAD if bad.fault is Fault.TWICE else SLIPS.get(bad.code)):
                return "2"
            if bad.fault is Fault.SLIP:
                walk.answer("*")
                return self._number(walk, slot, index)
        if asked.impossible:
            walk.answer("*")
            return self._number(walk, slot, index)
        return "1"

    def _planted(self, slot: Slot, index: int) -> bool:
        """Whether this very entry is the one made wrong."""
        bad = self.water.planted
        return (
            bad is not None and bad.fault in (Fault.SLIP, Fault.TWICE) and index == bad.first
            and slot.place in bad.tanks and slot.item.code == bad.item
        )  # fmt: skip

    def _first(self, walk: Walk, slot: Slot, index: int) -> str:
        """What is typed first."""
        item, tank, bad = slot.item, slot.place, self.water.planted
        if self.water.skips(tank, index):
            walk.answer("/")
            return "2"
        if item.kind.by_words:
            return "+"
        if item.kind.of_animals:
            self._expected.setdefault((tank, index), self.water.expected_dead(tank, index))
            return str(self.water.dead(tank, index))
        if self._planted(slot, index) and bad is not None:
            right = float(self._number(walk, slot, index))
            if bad.code == "degF":
                return f"{right * 1.8 + 32:.1f}"
            if bad.code == "gal/min":
                return f"{right / 3.785412:.2f}"
            return f"{right:.{item.decimals}f}".replace(".", "").lstrip("0")
        for decoy in self.water.quiet:
            if decoy.name == "one wild value" and index == decoy.first:
                if (tank, item.code) in decoy.pairs:
                    off = 3.2 if item.code == "temp" else -3.0
                    return f"{float(self._number(walk, slot, index)) + off:.{item.decimals}f}"
        return self.water.typed(tank, item.code, index, lambda: self._number(walk, slot, index))

    def _number(self, walk: Walk, slot: Slot, index: int) -> str:
        """What the meter shows now."""
        item = slot.item
        if item.kind.of_animals:
            return str(self.water.dead(slot.place, index))
        if slot.place in self.water.room.tanks:
            meter = walk.meter(slot)
            value = self.water.shows(slot.place, item.code, index, meter, self._now)
            return self.water.written(item.code, index, value)
        return f"{max(0.0, self.water.of_loop(item.code, index)):.{item.decimals}f}"

    def _look_at_board(self) -> None:
        """What stands now, and what came up since the last look."""
        newest = self.site.reader.readings.newest_of_all()
        wrong = wrong_now(self.site, newest, self.site.now()).wrong
        now = {one.key: one for one in wrong}
        for key, one in now.items():
            old = self._standing.get(key)
            # A line that is left when a loop's line falls apart is no new message.
            new = old is None and one.at.utc > self._looked
            worse = old is not None and one.flag > old.flag and one.flag >= Flag.ACT
            if new or worse or (old is not None and one.at.utc > old.at.utc):
                rule = key.kind if key.kind != "place" else one.rule or "band"
                told = out(self.site, self.water, one)
                self.stood.append(
                    Stood(self._now, key, one.flag, rule, one.sentence, one.places, new or worse,
                          told)
                )  # fmt: skip
        self._standing, self._looked = now, self._now


@contextmanager
def _site(folder: Path, here: Place) -> Iterator[Site]:
    """The room's own folder, plan and record; nothing waits for the disk."""
    (folder / PLAN).write_text(here.plan(), "utf-8")
    plan = load(folder / PLAN)
    with Ledger.open(folder / FILE, Station("chance", "chance"), create=True) as ledger:
        ledger.db.execute("PRAGMA synchronous = OFF")
        site = Site(folder, plan, ledger, FixedClock(Instant(here.stops[0].at.utc - 7200, -300)))
        with ledger.writing():
            for tank in here.tanks:
                now = site.now()
                site.record(
                    Entry("movement", "AB", now, now, tank), Movement("stocked", here.stocked)
                )
        yield site


def season(seed: str, fault: Fault, most: int = 24, make: Maker = chance_water.water) -> Season:
    """Have a maker draw a site of at most so many tanks, with one fault or none, and walk it."""
    water = make(Random(seed), fault, most)
    here, planted = water.room, water.planted
    with tempfile.TemporaryDirectory() as folder, _site(Path(folder), here) as site:
        walker = _Walker(site, water)
        for index in range(len(here.stops)):
            walker.walk(index)
    planted = planted and planted._replace(size=water.size_of_count())
    return Season(
        here, planted, tuple(water.quiet), tuple(walker.said), tuple(walker.stood),
        walker.readings, tuple(walker.looks), tuple(walker.dead), tuple(water.decimals.items()),
    )  # fmt: skip
