"""The reader of the record: every question there is, and that none grows with the record's age."""

from __future__ import annotations

import inspect
import re
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache, cached_property
from itertools import pairwise

import pytest

import ledger_support as support
from ledger_support import (
    OFFICE,
    TROLLEY,
    at,
    fresh,
    full_content,
    note,
    opened,
    plainly,
    record,
    temp,
    told,
    void,
)
from tankwalk.clock import Instant
from tankwalk.ledger.entries import (
    Batch,
    BatchOf,
    Calibration,
    Call,
    Closing,
    Counted,
    Derived,
    Detail,
    DoneAbout,
    Dose,
    Entry,
    Fish,
    FlagEvent,
    FollowUp,
    FoundFlag,
    Handover,
    JudgedAs,
    Look,
    Meal,
    Movement,
    Note,
    Part,
    PlanVersion,
    Poured,
    Reading,
    Round,
    SaidBack,
    Sample,
    SecondEntry,
    Served,
    SheetStop,
    Sitting,
    Suspect,
)
from tankwalk.ledger.questions import Questions
from tankwalk.ledger.reader import Reader
from tankwalk.ledger.store import Ledger

DAY = 86_400
TANKS = ("T01", "T02", "T03")

Ask = Callable[[Reader, int], object]
"""A question as it is put in practice at a UTC second."""

QUESTIONS: dict[str, Ask] = {
    "corrections.of_place": lambda ask, now: ask.corrections.of_place("T02", now - 9 * DAY, now),
    "corrections.since": lambda ask, now: ask.corrections.since(now - 2 * DAY),
    "corrections.late_at": lambda ask, now: ask.corrections.late_at("T02", now - 9 * DAY, now),
    "corrections.entered_late": lambda ask, now: ask.corrections.entered_late(now - 2 * DAY),
    "doses.since": lambda ask, now: ask.doses.since(now - 2 * DAY),
    "doses.newest": lambda ask, now: ask.doses.newest("sodium bicarbonate", "L1"),
    "feeding.batch": lambda ask, now: ask.feeding.batch("C7"),
    "feeding.batches": lambda ask, now: ask.feeding.batches(now - 2 * DAY),
    "feeding.counts": lambda ask, now: ask.feeding.counts(
        [one.n for one in ask.feeding.batches(now - 2 * DAY)[-3:]]
    ),
    "feeding.feed_off": lambda ask, now: ask.feeding.feed_off(now - 20 * DAY),
    "feeding.meals": lambda ask, now: ask.feeding.meals(now - 2 * DAY),
    "feeding.newest_batch": lambda ask, now: ask.feeding.newest_batch("R1"),
    "feeding.poured": lambda ask, now: ask.feeding.poured(now - 2 * DAY),
    "feeding.poured_after": lambda ask, now: ask.feeding.poured_after(
        [("C7", 0, 0), ("R1", now - DAY, 9)], now
    ),
    "feeding.poured_from": lambda ask, now: ask.feeding.poured_from("C7"),
    "feeding.samples": lambda ask, now: ask.feeding.samples(now - 2 * DAY),
    "feeding.stock_batches": lambda ask, now: ask.feeding.stock_batches(),
    "flags.done": lambda ask, now: ask.flags.done(now - 2 * DAY),
    "flags.turns": lambda ask, now: ask.flags.turns(now - 2 * DAY),
    "flags.flagged": lambda ask, now: ask.flags.flagged(now - 2 * DAY, now),
    "flags.of_item": lambda ask, now: ask.flags.of_item(
        "do", "mg/L", TANKS, now - 9 * DAY, now, 40
    ),
    "flags.taken_back": lambda ask, now: ask.flags.taken_back(now - 2 * DAY, now),
    "flags.why": lambda ask, now: ask.flags.why(9),
    "follow_ups.drafted_from": lambda ask, now: ask.follow_ups.drafted_from(["day 3", "no such"]),
    "follow_ups.ended": lambda ask, now: ask.follow_ups.ended(now - 2 * DAY),
    "follow_ups.open": lambda ask, now: ask.follow_ups.open(),
    "follow_ups.opened_by": lambda ask, now: ask.follow_ups.opened_by(17),
    "handovers.last": lambda ask, now: ask.handovers.last(),
    "handovers.last_taken": lambda ask, now: ask.handovers.last_taken(),
    "handovers.never_taken": lambda ask, now: ask.handovers.never_taken(now - 14 * DAY),
    "handovers.given": lambda ask, now: ask.handovers.given(now - 14 * DAY),
    "handovers.words": lambda ask, now: ask.handovers.words(
        ask.handovers.last_taken(ask.handovers.last_taken())
    ),
    "imports.newest": lambda ask, now: ask.imports.newest(3),
    "imports.of_digest": lambda ask, now: ask.imports.of_digest(
        next((one.digest for one in ask.imports.newest(1)), "")
    ),
    "imports.of_head": lambda ask, now: ask.imports.of_head("Time, Temp"),
    "imports.by_number": lambda ask, now: ask.imports.by_number(
        next((one.n for one in ask.imports.newest(1)), 1)
    ),
    "imports.series": lambda ask, now: ask.imports.series(
        next((one.n for one in ask.imports.newest(1)), 1)
    ),
    "imports.told": lambda ask, now: ask.imports.told(now - DAY),
    "imports.told_at": lambda ask, now: ask.imports.told_at("T01", "temp", "degC", now - DAY),
    "imports.series_at": lambda ask, now: ask.imports.series_at("T01", "temp", "degC", now - DAY),
    "imports.values": lambda ask, now: ask.imports.values("T01", "temp", "degC", now - DAY),
    "imports.by_half_day": lambda ask, now: ask.imports.by_half_day(
        "T01", "temp", "degC", (now - DAY, now), -18000
    ),
    "imports.nearest": lambda ask, now: ask.imports.nearest("T01", "temp", "degC", now, 3600),
    "incidents.calls": lambda ask, now: ask.incidents.calls(now - 2 * DAY),
    "incidents.done": lambda ask, now: ask.incidents.done(now - 2 * DAY),
    "incidents.looks": lambda ask, now: ask.incidents.looks(now - 2 * DAY),
    "meters.checks": lambda ask, now: ask.meters.checks("M1"),
    "meters.first_with": lambda ask, now: ask.meters.first_with("M1", "temp", "degC", TANKS),
    "meters.last_pass": lambda ask, now: ask.meters.last_pass("M1", now),
    "meters.condemned": lambda ask, now: ask.meters.condemned(now - 2 * DAY, 7200),
    "meters.marks": lambda ask, now: ask.meters.marks(now - 20 * DAY),
    "meters.newest_checks": lambda ask, now: ask.meters.newest_checks(["M1", "M2", "M3"]),
    "meters.newest_passes": lambda ask, now: ask.meters.newest_passes(["M1", "M2", "M3"]),
    "meters.readings_with": lambda ask, now: ask.meters.readings_with(
        "M1", "temp", "degC", TANKS, now - 2 * DAY
    ),
    "notes.since": lambda ask, now: ask.notes.since(now - DAY),
    "paper.stops": lambda ask, now: ask.paper.stops(7),
    "paper.typed_twice": lambda ask, now: ask.paper.typed_twice([3, 4, 5]),
    "readings.history": lambda ask, now: ask.readings.history("T01", "temp", "degC", 20),
    "readings.lately": lambda ask, now: ask.readings.lately("temp", "degC", 8),
    "readings.past": lambda ask, now: ask.readings.past("T01", "temp", "degC", now - 9 * DAY, now),
    "readings.bands": lambda ask, now: ask.readings.bands("T01", "temp", "degC", 8),
    "readings.bands_by_place": lambda ask, now: ask.readings.bands_by_place("temp", "degC", 8),
    "readings.looks": lambda ask, now: ask.readings.looks("T01", "temp", "degC", 16),
    "readings.looks_of": lambda ask, now: ask.readings.looks_of(
        [(tank, "temp", "degC") for tank in TANKS], 8, now
    ),
    "readings.moved": lambda ask, now: ask.readings.moved(
        *next(((r.number, r.first) for r in ask.rounds.newest(1)), (1, 1))
    ),
    "readings.newest": lambda ask, now: ask.readings.newest("T01", "temp", "degC"),
    "readings.newest_of_all": lambda ask, now: ask.readings.newest_of_all(),
    "readings.not_taken": lambda ask, now: ask.readings.not_taken("T02", "ph", "pH"),
    "readings.of_round": lambda ask, now: ask.readings.of_round(
        *next(((r.number, r.first) for r in ask.rounds.newest(1)), (1, 1))
    ),
    "readings.parts_of": lambda ask, now: ask.readings.parts_of([10, 11, 12]),
    "readings.seen_of": lambda ask, now: ask.readings.seen_of([3, 4, 5]),
    "readings.seen": lambda ask, now: ask.readings.seen(3),
    "readings.since": lambda ask, now: ask.readings.since("temp", "degC", now - 14 * DAY),
    "readings.trail": lambda ask, now: ask.readings.trail("T02", "ph", "pH", 29),
    "readings.worked_from": lambda ask, now: ask.readings.worked_from(3),
    "readings.working": lambda ask, now: ask.readings.working(10),
    "rounds.opened_by": lambda ask, now: ask.rounds.opened_by(7),
    "rounds.checklist_of": lambda ask, now: ask.rounds.checklist_of(7),
    "rounds.newest": lambda ask, now: ask.rounds.newest(),
    "rounds.next_number": lambda ask, now: ask.rounds.next_number(),
    "rounds.since": lambda ask, now: ask.rounds.since(now - 2 * DAY),
    "samples.fish": lambda ask, now: ask.samples.fish(
        [one.n for one in ask.samples.sittings(now - 2 * DAY)][-1] if now > at(9).utc else 1
    ),
    "samples.open_sittings": lambda ask, now: ask.samples.open_sittings(),
    "samples.sittings": lambda ask, now: ask.samples.sittings(now - 2 * DAY),
    "spine.amended": lambda ask, now: ask.spine.amended([6]),
    "spine.items": lambda ask, now: ask.spine.items(),
    "spine.last_entry": lambda ask, now: ask.spine.last_entry(),
    "spine.first_moment": lambda ask, now: ask.spine.first_moment(),
    "spine.last_moment": lambda ask, now: ask.spine.last_moment(),
    "spine.last_number": lambda ask, now: ask.spine.last_number(),
    "spine.last_digest": lambda ask, now: ask.spine.last_digest(),
    "spine.last_plan": lambda ask, now: ask.spine.last_plan(),
    "spine.last_plan_digest": lambda ask, now: ask.spine.last_plan_digest(),
    "spine.others_wrote": lambda ask, now: ask.spine.others_wrote(),
    "spine.plans": lambda ask, now: ask.spine.plans(2),
    "spine.seal": lambda ask, now: ask.spine.seal(),
    "spine.places": lambda ask, now: ask.spine.places(),
    "stock.all_movements": lambda ask, now: ask.stock.all_movements(TANKS, now - 10 * DAY),
    "stock.counted_dead": lambda ask, now: ask.stock.counted_dead(
        [("T01", now - 10 * DAY), ("T02", now - 10 * DAY)], "morts", "count"
    ),
    "stock.counts": lambda ask, now: ask.stock.counts(
        [(tank, now - 14 * DAY) for tank in TANKS], "morts", "count"
    ),
    "stock.deaths": lambda ask, now: ask.stock.deaths(
        [("T01", now - 10 * DAY), ("T02", now - 10 * DAY)], "morts", "count"
    ),
    "words.between": lambda ask, now: ask.words.between(20, 120),
    "words.digest": lambda ask, now: ask.words.digest(9),
}

LONG_AGO = 10
"""Days back of which the record is asked as it was then."""


def _then(name: str) -> Ask:
    return lambda ask, now: QUESTIONS[name](ask.then(now - LONG_AGO * DAY), now)


OF_THEN = {
    f"{name}, then": _then(name)
    for name in (
        *("meters.checks", "meters.newest_checks", "meters.newest_passes", "meters.last_pass"),
        *("readings.history", "readings.lately", "readings.newest", "readings.newest_of_all"),
        *("readings.not_taken", "readings.trail"),
    )
}
"""The same questions as somebody asks who types in a round of days ago."""

DICTIONARIES = {"place", "item", "person", "instrument", "band", "kind", "station", "working"}
"""Tables that do not grow with the days: these may be walked through."""

STOPS_EARLY = {
    "corrections.since": ("entry", "newest first, ended by back_to"),
    "corrections.entered_late": ("entry", "newest first, ended by some old entries in a row"),
    "doses.since": ("dose", "newest first, ended by back_to"),
    "feeding.batches": ("batch", "newest first, ended by back_to"),
    "feeding.counts": ("batch", "the newest batch is asked for here, not by the question"),
    "feeding.feed_off": ("meal", "newest first, ended by back_to"),
    "feeding.meals": ("meal", "newest first, ended by back_to"),
    "feeding.poured": ("poured", "newest first, ended by back_to"),
    "feeding.samples": ("sample", "newest first, ended by back_to"),
    "flags.done": ("flag_event", "newest first, ended by back_to"),
    "flags.turns": ("flag_event", "newest first, ended by back_to"),
    "follow_ups.ended": ("follow_up", "newest first, ended by back_to"),
    "follow_ups.open": ("carried", "holds only what may be open"),
    "imports.newest": ("import_file", "newest first, ended by its limit"),
    "imports.told": ("import_file", "newest first, ended by back_to"),
    **dict.fromkeys(
        ("imports.series", "imports.of_digest", "imports.by_number"),
        ("import_file", "the newest import is asked for here, not by the question"),
    ),
    "incidents.calls": ("call", "newest first, ended by back_to"),
    "incidents.done": ("done", "newest first, ended by back_to"),
    "incidents.looks": ("look", "newest first, ended by back_to"),
    "notes.since": ("note", "newest first, ended by back_to"),
    "rounds.newest": ("round", "newest first, ended by its limit"),
    "rounds.since": ("round", "newest first, ended by some old rounds in a row"),
    "readings.moved": ("round", "the newest round is asked for here, not by the question"),
    "readings.of_round": ("round", "the newest round is asked for here, not by the question"),
    "samples.fish": ("sitting", "the newest sitting is asked for here, not by the question"),
    "samples.open_sittings": ("sitting", "newest first, ended by its limit"),
    "samples.sittings": ("sitting", "newest first, ended by back_to"),
    "spine.last_plan": ("plan_version", "newest first, the first row ends it"),
    "spine.plans": ("plan_version", "newest first, as many as are asked for end it"),
    "spine.last_plan_digest": ("plan_version", "newest first, the first row ends it"),
}
"""Questions that begin a walk through one table and end it soon, and what ends it: a plan does not
show that, the count of steps below does."""


def topics() -> dict[str, type[Questions]]:
    """The topics of the reader, and the class of each."""
    with fresh() as ledger:
        return {
            name: type(getattr(ledger.reader, name))
            for name, one in vars(Reader).items()
            if isinstance(one, cached_property)
        }


def test_every_question_there_is_is_asked_here() -> None:
    there = {
        f"{topic}.{name}"
        for topic, questions in topics().items()
        for name, one in inspect.getmembers(questions, inspect.isfunction)
        if name[0] != "_"
    }
    assert set(QUESTIONS) == there


def test_an_empty_record_answers_every_question() -> None:
    with fresh() as ledger:
        for name, ask in QUESTIONS.items():
            found = ask(ledger.reader, at(0).utc)
            if name == "meters.newest_checks":
                assert found == {"M1": [], "M2": [], "M3": []}
            else:
                assert found in (None, [], {}, set(), 0, 1, (0, b"")), name


# ---- a site that grows by the day


def one_day(ledger: Ledger, day: int, last: int) -> None:
    """What one day of a site brings, of every kind; `last` is the last of all days."""
    clock = iter(range(day * 1440, (day + 1) * 1440))

    def put(kind: str, *details: Detail, place: str | None = "T01", **more: object) -> int:
        now = at(next(clock))
        return ledger.append(Entry(kind, "AB", now, now, place, **more), *details)  # type: ignore[arg-type]

    def read(
        place: str, value: float, item: str = "temp", unit: str = "degC", flag: int = 0
    ) -> int:
        kept = Reading(value, f"{value:g}", instrument="M1", band='{"act_above": 20}', flag=flag)
        why = [JudgedAs("change", "it moved")] if flag else []
        return put("reading", kept, *why, place=place, item=item, unit=unit, round=number)

    if day % 30 == 0:
        put("plan", PlanVersion(f"digest {day}", "text"), place=None)
    for half in (1, 2):
        number = 2 * day + half
        put("round", Round(number, "morning", "open"), place=None, round=number)
        parts = [read(tank, 17.0 + day % 3) for tank in TANKS]
        ledger.append(void(day * 1440 + 700, read("T02", 99.0)))
        read("T01", float(day % 2), "morts", "count")
        read("T03", 21.0, "do", "mg/L", flag=2)
        worked = Derived("mean", "sum", "{}")
        of = [Part(f"input {n}", part) for n, part in enumerate(parts)]
        put("derived", Reading(17.0, "17"), worked, *of, item="mean", unit="degC", round=number)
        put("round", Round(number, "morning", "sign", "all"), place=None, round=number)
        ph = Reading(7.8, "7.8") if half == 1 else Reading(None, "", qualifier="could not")
        now = at(next(clock))
        late = now._replace(utc=now.utc + 3600)
        ledger.append(Entry("reading", "AB", now, late, "T02", "ph", "pH", number), ph)
        put("note", Note("floating"), place="T02")
        put("note", Note("look at it"), place="SITE", reason="handover: TASKS")
        given = put("handover", Handover("give", "page " * 40), place="SITE")
        if day % 7 or half == 1:
            said = SaidBack("worst tank", "T01", 1)
            put("handover", Handover("take", "", "in person", given), said, place="SITE")
        action = put("follow-up", FollowUp("action", "open", "mend"), Closing("task", f"day {day}"))
        if 0 < day < last:
            put("follow-up", FollowUp("action", "done", "mended", opened=action))
            put("follow-up", FollowUp("action", "close", "seen", opened=action))
        for meter in ("M1", "M2"):
            check = Calibration(meter, "moist air", 100.0, 99.0, None, "%", day % 5 > 0)
            put("calibration", check, place=None)
        until = at(day * 1440).utc + DAY if half == 1 else None
        put(
            "flag", FlagEvent("shelve" if until else "close", None, until), item="temp", unit="degC"
        )
        temp_at = {"item": "temp", "unit": "degC"}
        found = FoundFlag("loop", "L1", "loop up", 2, "it rises", "Look at it.", "T01 T02")
        put("flag", FlagEvent("raise" if half == 1 else "end"), found, round=number, **temp_at)
        put("done", DoneAbout("clear the screen", half, parts[0]), **temp_at)
        put("call", Call("CD", "555-0100", half == 1, "comes"), **temp_at)
        for event in ("open", "sign"):
            put("look", Look(10_000 + number, event, "temp"), round=10_000 + number)
        cone = Batch(f"C{day}", "set" if half == 1 else "harvest")
        put("batch", cone, *([BatchOf("cone", "T1")] if half == 1 else []))
        put("batch", Batch(f"C{day}", "count"), Counted("nauplii", 0.1, 1.0, "34 29 38"))
        poured = Poured(f"C{day}", 20.0, 300.0)
        put("meal", Meal("Art", 5.0, "g"), Served(at(day * 1440).utc), poured)
        put("meal", Meal("Art", 0.0, "g", event="pause: feed off, pH" if day % 2 else "feed on"))
        put("sample", Sample("length", 20, mean=9.0))
        began = at(day * 1440 + 720 * (half - 1)).utc
        logged = ((1, began + 900 * k, k, 17.0 + k / 100, 0, None) for k in range(48))
        support.put(ledger, support.imported(next(clock), *logged, station=TROLLEY))
        chemical = "calcium chloride" if day else "sodium bicarbonate"
        put("dose", Dose(chemical, 250.0, "g"), place="L1")
        elsewhere = read("T03", 5.0, "do", "mg/L", flag=2)
        put("reading", Reading(5.0, "5"), place="T01", item="do", unit="mg/L", round=number,
            amends=elsewhere, reason="wrong tank")  # fmt: skip
        put("movement", Movement("census" if day % 10 == 0 else "sampled", 5))
        sitting = put("sampling", Sitting("open", "length mass", 2))
        for nth in (1, 2):
            put("fish", Fish(sitting, nth, 9.0, 4.5))
        put("sheet", SheetStop(number, "tank", at(day * 1440).utc, "AB"), round=number)
        put("sheet", SecondEntry(parts[0], "17"), round=number)
        if half == 1 or day % 10:
            put("sampling", Sitting("end", "length mass", 2, sitting, "returned"))
    if day % 30 == 0 and day < SHORT:
        put("batch", Batch(f"T{day}", "received"), BatchOf("cysts"))
    if day % 25 == 0:
        put("batch", Batch("R1", "set"), BatchOf("rotifers"))
    if day % 10 == 0:
        put("batch", Batch("R1", "count"))
    if day % 20 == 0 or day == last:
        read("T03", 21.5, flag=2)
        begun = at(day * 1440).utc
        put("suspect", Suspect("M1", begun, begun + DAY), item="temp", unit="degC")


@cache
def days(count: int, statistics_after: int) -> bytes:
    """A record of so many days; statistics gathered by a tool once, after so many."""
    with record() as path, opened(path) as ledger:
        for start, end in pairwise((0, statistics_after, count)):
            with ledger.writing():
                for day in range(start, end):
                    one_day(ledger, day, count - 1)
            if end == statistics_after:
                ledger.db.execute("ANALYZE")
        return path.read_bytes()


SHORT, LONG = 100, 300


def season() -> bytes:
    """Statistics as the season ends."""
    return days(SHORT, SHORT)


def first_day() -> bytes:
    """Statistics of the first day, which say that there is hardly anything."""
    return days(SHORT, 1)


def end_of(ledger: Ledger) -> int:
    """The UTC second of the newest entry."""
    last = ledger.reader.spine.last_moment()
    return 0 if last is None else last.utc


# ---- how the answers are found


@contextmanager
def heard(db: sqlite3.Connection) -> Iterator[list[str]]:
    """The statements that are put to a connection, with their values."""
    statements: list[str] = []
    db.set_trace_callback(statements.append)
    yield statements
    db.set_trace_callback(None)


def plans(db: sqlite3.Connection, statements: list[str]) -> Iterator[tuple[str, list[str]]]:
    """Each statement with the steps of its plan; a PRAGMA has none."""
    for sql in statements:
        if not sql.startswith("PRAGMA"):
            steps = [row[3] for row in db.execute(f"EXPLAIN QUERY PLAN {sql}")]
            assert steps, sql
            yield sql, steps


def scanned(db: sqlite3.Connection, statements: list[str]) -> set[str]:
    """Tables that SQLite walks through from end to end for these statements."""
    assert statements
    found = set()
    for sql, steps in plans(db, statements):
        tables = {
            alias or table: table
            for table, alias in re.findall(
                r"(?:FROM|JOIN)\s+(\w+)(?:\s+(?!(?:WHERE|ORDER|JOIN|ON|LEFT|CROSS)\b)(\w+))?", sql
            )
        }
        for step in steps:
            words = step.split()
            if words[0] not in ("SCAN", "SEARCH"):
                continue
            # A greatest number is called a search, also where it takes a walk to find it; the
            # greatest row number, and that of an index, take none.
            greatest = "max(n) FROM entry" in sql or "max(number) FROM" in sql
            by_key = "=?)" in step or ">?)" in step or "<?)" in step or greatest
            if words[0] == "SCAN" or "AUTOMATIC" in words or not by_key:
                walked = tables.get(words[1])
                # What has no table is the answer to an inner question, whose plan is here as well.
                assert walked or re.search(rf"\) {words[1]}\b", sql)
                found.add(walked or "")
    return found - {""}


@pytest.mark.parametrize("content", [full_content, season, first_day])
@pytest.mark.parametrize("name", [*QUESTIONS, *OF_THEN])
def test_no_question_walks_through_a_table_that_grows(
    name: str, content: Callable[[], bytes]
) -> None:
    with record(content()) as path, opened(path) as ledger:
        now = end_of(ledger)
        with heard(ledger.db) as statements:
            (QUESTIONS | OF_THEN)[name](ledger.reader, now)
        begun = {STOPS_EARLY[name][0]} if name in STOPS_EARLY else set()
        assert scanned(ledger.db, statements) - DICTIONARIES <= begun
        for sql, steps in plans(ledger.db, statements):
            assert not [step for step in steps if "TEMP B-TREE" in step], sql


def steps_of(ledger: Ledger, ask: Ask) -> int:
    """How many steps SQLite takes to answer a question: the same ones whatever the machine."""
    now, taken = end_of(ledger), 0

    def step() -> int:
        nonlocal taken
        taken += 1
        return 0

    ledger.db.set_progress_handler(step, 1)
    assert ask(ledger.reader, now) is not Ellipsis
    ledger.db.set_progress_handler(None, 1)
    return taken


@pytest.mark.parametrize("name", [*QUESTIONS, *OF_THEN])
def test_no_question_takes_more_steps_in_an_older_record(name: str) -> None:
    taken = []
    for count in (SHORT, LONG):
        with record(days(count, 1)) as path, opened(path) as ledger:
            taken.append(steps_of(ledger, (QUESTIONS | OF_THEN)[name]))
    assert taken[1] <= 1.1 * taken[0] + 10


def test_the_count_of_steps_sees_a_walk_where_there_is_one() -> None:
    def walk(ask: Reader, now: int) -> object:
        return ask.spine.db.execute("SELECT max(observed_at) FROM entry").fetchone()

    taken = []
    for count in (SHORT, LONG):
        with record(days(count, 1)) as path, opened(path) as ledger:
            taken.append(steps_of(ledger, walk))
    assert taken[1] > 2 * taken[0]


def test_the_look_for_walks_through_tables_sees_one_where_there_is_one() -> None:
    with record(season()) as path, plainly(path) as db:
        for sql, table in (
            ("SELECT max(observed_at) FROM reading", "reading"),
            (
                "SELECT count(*) FROM entry e JOIN person p ON p.id = e.who WHERE e.round = 3",
                "entry",
            ),
            ("SELECT h.text FROM handover h WHERE h.event = 'give'", "handover"),
        ):
            assert table in scanned(db, [sql])


def test_every_question_is_answered_with_something_in_a_season() -> None:
    """A question that finds nothing would prove nothing about how it finds it."""
    with record(season()) as path, opened(path) as ledger:
        now = end_of(ledger)
        assert [name for name, ask in QUESTIONS.items() if not ask(ledger.reader, now)] == []


def test_what_is_appended_is_found_its_place_without_a_walk() -> None:
    with record(season()) as path, opened(path) as ledger:
        ledger.append(*temp(0, 17.3))  # the first one looks the guards over, once
        with heard(ledger.db) as statements:
            ledger.append(*temp(0, 17.4, amends=3))
        asked = [sql for sql in statements if sql.startswith("SELECT")]
        # The one walk is backwards from the newest entry to this station's last: one step.
        assert scanned(ledger.db, asked) - DICTIONARIES <= {"entry"}


def test_a_season_answers_the_same_after_statistics_were_gathered() -> None:
    answers = []
    for content in (season(), first_day()):
        with record(content) as path, opened(path) as ledger:
            now = end_of(ledger)
            answers.append([ask(ledger.reader, now) for ask in QUESTIONS.values()])
    assert answers[0] == answers[1]


def test_a_record_asked_as_it_was_knows_nothing_that_was_seen_later() -> None:
    with record(season()) as path, opened(path) as ledger:
        day = at((SHORT - LONG_AGO) * 1440).utc
        ask = ledger.reader.then(day)
        for seen in (
            ask.readings.newest("T01", "temp", "degC"),
            *ask.readings.newest_of_all().values(),
            *ask.readings.history("T01", "temp", "degC", 3),
            *ask.readings.trail("T02", "ph", "pH", 3),
        ):
            assert seen is not None
            assert day - 40 * DAY < seen.at.utc <= day
        assert all(
            look.at <= day for of in ask.readings.lately("temp", "degC", 8).values() for look in of
        )
        assert max(ask.meters.newest_passes(["M1", "M2"]).values()) <= day
        assert ledger.reader.readings.newest("T01", "temp", "degC").at.utc > day  # type: ignore[union-attr]


# ---- one picture


def test_what_is_read_together_is_of_one_moment_and_one_transaction() -> None:
    with record(full_content()) as path, opened(path) as ledger, opened(path, OFFICE) as other:
        with ledger.reading() as ask:
            before = ask.spine.last_number()
            other.db.execute("PRAGMA busy_timeout = 1")
            assert "Another program holds the record" in told(lambda: other.append(*note(0, "x")))
            with ledger.reading() as inner:
                assert inner is ask
            assert ledger.db.in_transaction, "the inner one ends nothing"
            assert ask.spine.last_number() == before
        assert not ledger.db.in_transaction
        other.append(*note(0, "now it can"))
        with ledger.reading() as ask:
            assert ask.spine.last_number() == before + 1


def test_what_is_read_while_writing_sees_what_is_being_written() -> None:
    with fresh() as ledger:
        with ledger.writing():
            n = ledger.append(*note(0, "x"))
            with ledger.reading() as ask:
                assert ask.spine.last_number() == n
            assert ledger.db.in_transaction, "reading does not end the writing"
        assert not ledger.db.in_transaction


def test_writing_ends_the_picture_and_is_kept() -> None:
    with record() as path, opened(path) as ledger:
        with ledger.reading() as ask:
            assert ask.spine.last_number() == 0
            n = ledger.append(*note(0, "x"))
            assert ask.spine.last_number() == n
            assert not ledger.db.in_transaction
        with opened(path, OFFICE) as other:
            assert other.reader.spine.last_number() == n


def test_a_page_that_fails_leaves_no_transaction_open() -> None:
    with fresh() as ledger:
        with pytest.raises(ZeroDivisionError), ledger.reading():
            raise ZeroDivisionError
        assert not ledger.db.in_transaction
        ledger.append(*note(0, "x"))


def test_the_reader_says_when_another_program_has_written() -> None:
    with record() as path, opened(path) as ledger, opened(path, OFFICE) as other:
        before = ledger.reader.spine.others_wrote()
        ledger.append(*note(0, "x"))
        assert ledger.reader.spine.others_wrote() == before
        other.append(*note(0, "y"))
        assert ledger.reader.spine.others_wrote() != before
        assert ledger.reader.spine.last_moment() == Instant(at(0).utc, at(0).offset)
