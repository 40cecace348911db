"""Seasons by chance, walked answer by answer: what the judgement finds, names wrongly, and cries.

Run as a program it prints the tables of docs/judging.md: python tests/chance_seasons.py 200
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from random import Random
from typing import NamedTuple

from chance_site import Room, Stop, plan_text, room
from chance_water import SIZES, Decoy, Fault, Planted, Water, decoys, plant
from tankwalk.clock import FixedClock, Instant
from tankwalk.ledger import flags as record
from tankwalk.ledger import queries
from tankwalk.ledger.entries import Entry, Movement
from tankwalk.ledger.store import FILE, Ledger, Station
from tankwalk.paths import PLAN
from tankwalk.plan.file import load
from tankwalk.plan.model import Kind
from tankwalk.practice import meters
from tankwalk.practice.board import wrong_now
from tankwalk.practice.flags import Key, Standing
from tankwalk.practice.judging import Flag
from tankwalk.practice.questions import AskAgain, AskSlip
from tankwalk.practice.rounds import Slot, begin
from tankwalk.practice.site import Site
from tankwalk.practice.walk import Walk
from tankwalk.science.signals import median
from tankwalk.science.survival import wilson_limits

FAULTS = tuple(fault for fault in Fault if fault is not Fault.QUIET)
SEED = 20260510
BUDGET = {"WATCH": 3.0, "ACT": 0.0}
"""Flags an ordinary day of twelve tanks may raise."""
SAME_DEAD = "the same dead, counted already"
SLIPS = {"degF": "degF", "gal/min": "gal/min", "point": "decimal point missing"}


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


class Stood(NamedTuple):
    """A flag on the board: `new` when it came up or became worse, else a newer reading in it."""

    at: int
    key: Key
    flag: int
    rule: str
    sentence: str
    tanks: tuple[str, ...]
    new: bool


class Season(NamedTuple):
    """One season as it was planted and as it was told."""

    room: Room
    planted: Planted | None
    quiet: tuple[Decoy, ...]
    said: tuple[Said, ...]
    stood: tuple[Stood, ...]
    readings: int


# ---- walking


class _Walker:
    """One person who walks every round, measures again when asked and answers questions."""

    def __init__(self, site: Site, water: Water) -> None:
        self.site = site
        self.water = water
        self.said: list[Said] = []
        self.stood: list[Stood] = []
        self.readings = 0
        self._now = 0
        self._standing: dict[Key, Standing] = {}

    def walk(self, index: int) -> None:
        stop = self.water.room.stops[index]
        self._now = stop.at.utc
        self._tick(stop, 0)
        with self.site.ledger.writing():
            if stop.part == "am":
                self._check_meters(index)
            walk = Walk(
                self.site, begin(self.site, self.site.plan.checklist(stop.part), "AB"), "AB"
            )
            for decoy in self.water.quiet:
                if decoy.name.startswith("meter") and decoy.first <= index <= decoy.last:
                    walk.meters["oxygen meter"] = decoy.name.split()[1]
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
        if room.stops[index].day % room.habits.check_days:
            return
        for meter in (*room.meters, *room.ph_meters):
            faulty = bad is not None and bad.fault in (Fault.METER_DRIFT, Fault.METER_STEP)
            if faulty and bad is not None and meter == bad.code and index >= bad.first:
                continue
            if meter in room.meters:
                found = 100 + 11 * room.bias[meter, "do"] + self.water.luck.gauss(0, 0.3)
            else:
                found = 7 + room.bias[meter, "ph"] + self.water.luck.gauss(0, 0.01)
            meters.check(self.site, "AB", meter, round(found, 2))
        self._tick(room.stops[index], 300)

    def _slot(self, walk: Walk, slot: Slot, index: int) -> None:
        """One thing asked, to the end of what is asked about it."""
        stop = self.water.room.stops[index]
        self._tick(stop, 12)
        worst, kept = walk.answer(self._first(walk, slot, index)).flag, 0
        for _ in range(6):
            asked = walk.question
            if isinstance(asked, AskSlip):
                self._asked(asked, index)
                self._tick(stop, 5)
                reply = walk.answer(self._to_slip(asked, walk, index))
            elif isinstance(asked, AskAgain) and walk.pending(slot):
                self._tick(stop, 9)
                reply = walk.answer(self._number(walk, slot, index))
            else:
                break
            worst = max(worst, reply.flag)
        for seen in walk.of(slot)[kept:]:
            self.readings += 1
            if seen.flag:
                rule, sentence = record.why(self.site.ledger.db, seen.n) or ("", "")
                self.said.append(
                    Said(seen.at.utc, index, seen.place, seen.item, seen.flag, rule, sentence)
                )
        if worst >= Flag.WATCH:
            self._look_at_board()

    def _asked(self, asked: AskSlip, index: int) -> None:
        slip = "" if asked.slip is None else asked.slip.name
        self.said.append(
            Said(self._now, index, asked.slot.place, asked.slot.item.code, Flag.CHECK, "slip",
                 asked.words, slip)
        )  # fmt: skip

    def _to_slip(self, asked: AskSlip, walk: Walk, index: int) -> str:
        """Yes where the slip was made and is named; as typed where there was none."""
        bad, slot = self.water.planted, asked.slot
        name = "" if asked.slip is None else asked.slip.name
        if self._planted(slot, index) and bad is not None:
            if name == (SAME_DEAD if bad.fault is Fault.TWICE else SLIPS.get(bad.code)):
                return "+"
            if bad.fault is Fault.SLIP:
                return self._number(walk, slot, index)
        return self._number(walk, slot, index) if asked.impossible else "*"

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
        if any(
            d.name == "one tank skipped" and index == d.first and (tank, "level") in d.pairs
            for d in self.water.quiet
        ):
            walk.answer("/")
            return "2"
        if item.kind is Kind.CHOICE:
            return "+"
        if item.kind is Kind.COUNT:
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
        if item.kind is Kind.COUNT:
            return str(self.water.dead(slot.place, index))
        if slot.place in self.water.room.tanks:
            meter = walk.meter(slot)
            value = self.water.shows(slot.place, item.code, index, meter, self._now)
        else:
            value = self.water.of_loop(item.code, index)
        return f"{max(0.0, value):.{item.decimals}f}"

    def _look_at_board(self) -> None:
        """What stands now, and what came up since the last look."""
        newest = queries.newest_of_all(self.site.ledger.db)
        wrong = wrong_now(self.site, newest, self.site.now()).wrong
        now = {one.key: one for one in wrong}
        for key, one in now.items():
            old = self._standing.get(key)
            worse = old is not None and one.flag > old.flag and one.flag >= Flag.ACT
            if old is None or worse or one.at.utc > old.at.utc:
                rule = one.rule or "band"
                self.stood.append(
                    Stood(self._now, key, one.flag, rule, one.sentence, one.places,
                          old is None or worse)
                )  # fmt: skip
        self._standing = now


@contextmanager
def _site(folder: Path, here: Room) -> Iterator[Site]:
    """The room's own folder, plan and record; nothing waits for the disk."""
    (folder / PLAN).write_text(plan_text(here), "utf-8")
    plan = load(folder / PLAN)
    with Ledger.open(folder / FILE, Station("chance", "chance"), create=True) as ledger:
        ledger.db.execute("PRAGMA synchronous = OFF")
        site = Site(folder, plan, ledger, FixedClock(Instant(here.stops[0].at.utc - 7200, -300)))
        with ledger.writing():
            for tank in here.tanks:
                now = site.now()
                site.record(
                    Entry("movement", "AB", now, now, tank), Movement("stocked", here.usual.stocked)
                )
        yield site


def season(seed: str, fault: Fault) -> Season:
    """Draw a room, plant one thing or none, and walk it to its end."""
    luck = Random(seed)
    here = room(luck, afternoon_morts=True if fault is Fault.TWICE else None)
    planted = plant(luck, here, fault)
    quiet = decoys(luck, here) if planted is None else []
    water = Water(luck, here, planted, quiet)
    with tempfile.TemporaryDirectory() as folder, _site(Path(folder), here) as site:
        walker = _Walker(site, water)
        for index in range(len(here.stops)):
            walker.walk(index)
    return Season(
        here, planted, tuple(quiet), tuple(walker.said), tuple(walker.stood), walker.readings
    )


# ---- what became of it


class Cry(NamedTuple):
    """A flag or a question that had nothing to do with what was planted."""

    when: str
    rule: str
    item: str
    flag: int


class Outcome(NamedTuple):
    """One season held against what was planted. Hours count from when it went wrong."""

    seed: str
    fault: Fault
    size: str
    words: str
    found: float | None
    """Until it was told with its right name, at the tank or on the board."""
    board: float | None
    """Until it stood on the board (WATCH or worse) with its right name."""
    both: bool
    """It was never told without naming another cause beside it."""
    wrong: str
    """The first message that named another cause; "" for none."""
    otherwise: bool
    """Not named, but flags of its tanks stood."""
    messages: int
    """Flags on the board that it raised."""
    false: tuple[Cry, ...]
    tank_days: dict[str, float]
    """Tank-days of each stretch: "quiet", "before", "during"."""
    decoys: tuple[tuple[str, bool, bool], ...]
    """Name, whether it came on the board, whether something was said at the tank."""
    readings: int


def outcome(seed: str, fault: Fault) -> Outcome:
    """Walk a season and hold what was told against what was planted."""
    told = season(seed, fault)
    bad = told.planted
    names = list(_names(told))
    right = [at for at, name, _ in names if name in ("right", "both")]
    board = [
        s.at for s in told.stood if _of_board(bad, s) in ("right", "both")
    ]  # fmt: skip
    wrong = next((words for _, name, words in names if name == "wrong"), "")
    related = [s for s in told.stood if s.new and _related(bad, s)]
    start = 0 if bad is None else bad.started
    return Outcome(
        seed,
        fault,
        "" if bad is None else bad.size,
        "" if bad is None else bad.words,
        (min(right) - start) / 3600 if right else None,
        (min(board) - start) / 3600 if board else None,
        bool(right) and all(name != "right" for _, name, _ in names),
        wrong,
        not right and any(_related(bad, s) for s in told.stood),
        len(related),
        tuple(_cries(told)),
        _tank_days(told),
        tuple(_of_decoys(told)),
        told.readings,
    )


def _names(told: Season) -> Iterator[tuple[int, str, str]]:
    """Every message about what was planted, in order of time: when, right or wrong, its words."""
    bad = told.planted
    found = [(s.at, _of_board(bad, s), s.sentence) for s in told.stood]
    found += [(s.at, _of_said(bad, s), s.sentence) for s in told.said]
    yield from sorted(one for one in found if one[1])


CAUSES = (
    Fault.METER_DRIFT, Fault.METER_STEP, Fault.LOOP_OXYGEN, Fault.LOOP_TEMP, Fault.BICARBONATE,
)  # fmt: skip
OF_ONE_TANK = (Fault.TANK_OXYGEN, Fault.TANK_DRIFT, Fault.MORT_JUMP, Fault.MORT_RISE)


def _related(bad: Planted | None, stood: Stood) -> bool:
    """Whether a flag on the board is about what was planted, rightly named or not."""
    if bad is None or stood.at < bad.started:
        return False
    return any((tank, stood.key.item) in bad.affected for tank in stood.tanks)


def _of_board(bad: Planted | None, stood: Stood) -> str:
    """ "right", "both" where another cause is named as well, "wrong"; "" where it names none."""
    if bad is None or not _related(bad, stood):
        return ""
    kind, code = stood.key.kind, stood.key.code
    if bad.fault in (Fault.METER_DRIFT, Fault.METER_STEP):
        if kind == "meter":
            return "right" if code == bad.code else "wrong"
        if kind == "loop":
            return "both" if f"check meter {bad.code} " in stood.sentence else "wrong"
        return ""
    if bad.fault in CAUSES:
        if kind == "loop" and bad.code in ("", code):
            return "both" if "check meter" in stood.sentence else "right"
        return "" if kind == "place" else "wrong"
    if bad.fault in OF_ONE_TANK:
        if stood.rule == "morts: counted twice":
            return "wrong"
        return "right" if kind == "place" else "wrong"
    return ""


def _of_said(bad: Planted | None, said: Said) -> str:
    """The same of a word at the tank; of what tanks share, the board speaks."""
    if bad is None or said.at < bad.started or (said.place, said.item) not in bad.affected:
        return ""
    here = bad.first <= said.stop <= bad.last
    match bad.fault:
        case Fault.COPIED:
            return "right" if here and said.rule == "unchanged" else ""
        case Fault.SLIP | Fault.TWICE:
            if said.stop != bad.first or said.item != bad.item:
                return ""
            name = SAME_DEAD if bad.fault is Fault.TWICE else SLIPS[bad.code]
            return "right" if said.slip == name else "wrong" if said.slip else ""
        case Fault.NOT_SIPHONED:
            return "right" if here and said.rule == "morts: too few" else ""
    if bad.fault not in OF_ONE_TANK or not here:
        return ""
    shared = said.rule.startswith(("meter", "loop")) or said.rule == "morts: counted twice"
    return "wrong" if shared or said.slip else "right"


def _cries(told: Season) -> Iterator[Cry]:
    """What was told that had nothing to do with what was planted."""
    bad = told.planted

    def when(at: int) -> str:
        return "quiet" if bad is None else "before" if at < bad.started else "during"

    for stood in told.stood:
        if stood.new and not _related(bad, stood):
            rule = stood.rule.split()[0] if stood.rule[:4] in ("loop", "mete") else stood.rule
            rule = "loop" if stood.key.kind == "loop" else rule
            yield Cry(when(stood.at), rule, stood.key.item, stood.flag)
    for said in told.said:
        about = (
            bad is not None and said.at >= bad.started and ((said.place, said.item) in bad.affected)
        )
        if said.flag == Flag.CHECK and not about:
            yield Cry(when(said.at), said.rule.split(" ")[0], said.item, int(said.flag))


def _tank_days(told: Season) -> dict[str, float]:
    stops, tanks = told.room.stops, len(told.room.tanks)
    days = stops[-1].day + 1
    if told.planted is None:
        return {"quiet": float(tanks * days)}
    before = (told.planted.started - stops[0].at.utc) / 86400
    return {"before": tanks * before, "during": tanks * (days - before)}


def _of_decoys(told: Season) -> Iterator[tuple[str, bool, bool]]:
    for decoy in told.quiet:
        since = told.room.stops[decoy.first].at.utc
        until = told.room.stops[decoy.last].at.utc + 3 * 3600
        shown = any(
            s.new and since <= s.at <= until
            and any((tank, s.key.item) in decoy.pairs for tank in s.tanks)
            for s in told.stood
        )  # fmt: skip
        said = any(
            decoy.first <= s.stop <= decoy.last and (s.place, s.item) in decoy.pairs
            for s in told.said
        )
        name = "a meter swapped for a day" if decoy.name.startswith("meter") else decoy.name
        yield name, shown, said


# ---- many of them


def schedule(runs: int, seed: int = SEED) -> list[tuple[str, Fault]]:
    """Seeds and what is planted: every third season is quiet, the others take the faults in turn.

    Which fault comes in which turn is by chance, each as often as the others.
    """
    luck = Random(seed)
    turn: list[Fault] = []
    found = []
    for number in range(runs):
        if number % 3 == 2:
            found.append((f"{seed}/{number}", Fault.QUIET))
            continue
        turn = turn or luck.sample(FAULTS, len(FAULTS))
        found.append((f"{seed}/{number}", turn.pop()))
    return found


def many(runs: int, seed: int = SEED, jobs: int = 2) -> list[Outcome]:
    """Outcomes of many seasons, in their order."""
    wanted = schedule(runs, seed)
    if jobs == 1:
        return [outcome(*one) for one in wanted]
    with ProcessPoolExecutor(jobs) as pool:
        return list(pool.map(outcome, *zip(*wanted, strict=True), chunksize=2))


# ---- tables


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)


def share(count: int, of: int) -> str:
    """A fraction with its 95 % interval by Wilson."""
    if not of:
        return "-"
    low, high = wilson_limits(count, of, 0.95)
    return f"{count / of:.0%} ({low:.0%} to {high:.0%})"


def _hours(values: Sequence[float]) -> str:
    return f"{median(values):.0f}" if values else "-"


def found_table(outcomes: Sequence[Outcome]) -> str:
    """Each kind: how often it was named, how late, how often something else was named."""
    rows = []
    for fault in FAULTS:
        here = [o for o in outcomes if o.fault is fault]
        found = [o.found for o in here if o.found is not None]
        board = [o for o in here if o.board is not None]
        rows.append([
            fault.value, str(len(here)), str(len(found)), share(len(found), len(here)),
            str(len(board)), _hours(found), str(sum(o.both for o in here)),
            str(sum(bool(o.wrong) for o in here)), str(sum(o.otherwise for o in here)),
            f"{sum(o.messages for o in here) / max(1, len(here)):.1f}",
        ])  # fmt: skip
    return table(
        ("planted", "runs", "named", "sensitivity (95 %)", "on the board", "median h", "named both",
         "named wrong", "tanks only", "flags a run"),
        rows,
    )  # fmt: skip


def size_table(outcomes: Sequence[Outcome]) -> str:
    """How many were named, by size."""
    rows = []
    for fault in FAULTS:
        cells = []
        for size in SIZES:
            here = [o for o in outcomes if o.fault is fault and o.size == size]
            found = [o.found for o in here if o.found is not None]
            late = f", {median(found):.0f} h" if found else ""
            cells.append(f"{len(found)} of {len(here)}{late}" if here else "-")
        if any(cell != "-" for cell in cells):
            rows.append([fault.value, *cells])
    return table(("planted", *SIZES), rows)


def false_table(outcomes: Sequence[Outcome]) -> str:
    """False flags by rule, for each stretch, a day of twelve tanks."""
    days: Counter[str] = Counter()
    cries: defaultdict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    for one in outcomes:
        for when, count in one.tank_days.items():
            days[when] += round(count)
        for cry in one.false:
            level = ("", "CHECK", "WATCH", "ACT", "ACT")[cry.flag]
            cries[level, cry.rule][cry.when] += 1
            cries[level, "all"][cry.when] += 1
    stretches = ("quiet", "before", "during")
    order = {"WATCH": 0, "ACT": 1, "CHECK": 2}
    rows = []
    for (level, rule), counts in sorted(
        cries.items(), key=lambda one: (order[one[0][0]], one[0][1] != "all", -one[1].total())
    ):
        cells = [f"{12 * counts[s] / days[s]:.2f}" if days[s] else "-" for s in stretches]
        rows.append([level, rule, str(counts.total()), *cells])
    head = ("level", "rule", "false", *(f"{s} ({days[s]} tank-days)" for s in stretches))
    return table(head, rows)


def item_table(outcomes: Sequence[Outcome], most: int = 12) -> str:
    """Where the false flags on the board come from."""
    counts = Counter((c.rule, c.item) for o in outcomes for c in o.false if c.flag >= Flag.WATCH)
    rows = [[rule, item, str(n)] for (rule, item), n in counts.most_common(most)]
    return table(("rule", "item", "false flags"), rows)


def decoy_table(outcomes: Sequence[Outcome]) -> str:
    counts: defaultdict[str, list[int]] = defaultdict(lambda: [0, 0, 0])
    for one in outcomes:
        for name, shown, said in one.decoys:
            for place, value in enumerate((1, shown, said)):
                counts[name][place] += value
    rows = [[name, *map(str, three)] for name, three in sorted(counts.items())]
    return table(("decoy", "runs", "flag on the board", "said at the tank"), rows)


def main() -> None:
    """Walk seasons and print what became of them."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("runs", type=int)
    asked.add_argument("--seed", type=int, default=SEED)
    asked.add_argument("--jobs", type=int, default=2)
    asked.add_argument("--each", action="store_true", help="a line for each season as well")
    given = asked.parse_args()
    began = time.monotonic()
    outcomes = many(given.runs, given.seed, given.jobs)
    if given.each:
        for one in outcomes:
            at = "never" if one.found is None else f"{one.found:.1f} h"
            print(f"{one.seed} {one.fault}: {one.words} {one.size}: {at}; {one.wrong[:200]}")
        print()
    readings = sum(one.readings for one in outcomes)
    print(f"{len(outcomes)} seasons, seed {given.seed}, {readings:,} readings\n")
    for made in (found_table, size_table, false_table, item_table, decoy_table):
        print(made(outcomes), end="\n\n")
    print(f"({time.monotonic() - began:.0f} s)")


if __name__ == "__main__":
    main()
