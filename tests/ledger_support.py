"""Records for tests: real files, filled in every way the record can be, and other programs at them.

Run as a program it is that other program: see `main`.
"""

from __future__ import annotations

import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger import schema, turns
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
    HandoverGist,
    ImportFile,
    JudgedAs,
    Look,
    Meal,
    Mort,
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
    Transcribed,
)
from tankwalk.ledger.incoming import Channel, Row, laid_out
from tankwalk.ledger.schema import GUARDED
from tankwalk.ledger.store import FILE, Ledger, Station

TROLLEY = Station("3f6a-trolley", "trolley laptop")
OFFICE = Station("9c1e-office", "office laptop")

START = 1_778_400_000
"""A Sunday morning in May 2026."""


def at(minutes: float, offset: int = -300) -> Instant:
    """A moment some minutes after the start."""
    return Instant(START + int(minutes * 60), offset)


@cache
def empty() -> bytes:
    """The file of a new record."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / FILE
        Ledger.open(path, TROLLEY, create=True).close()
        return path.read_bytes()


@contextmanager
def record(content: bytes | None = None) -> Iterator[Path]:
    """The file of a record in a folder of its own: an empty one, or one with this content."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / FILE
        path.write_bytes(empty() if content is None else content)
        yield path


@contextmanager
def opened(path: Path, station: Station = TROLLEY) -> Iterator[Ledger]:
    """An open record; without waiting for the disk, which no test of its content needs.

    An older one is brought forward without a backup.
    """
    with Ledger.open(path, station, older=lambda _: None) as ledger:
        ledger.db.execute("PRAGMA synchronous = OFF")
        yield ledger


@contextmanager
def fresh() -> Iterator[Ledger]:
    """A new, empty, open record."""
    with record() as path, opened(path) as ledger:
        yield ledger


@contextmanager
def plainly(path: Path) -> Iterator[sqlite3.Connection]:
    """The file in plain sqlite3 with its own settings, as any other tool has them."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        yield db


def without_guards(db: sqlite3.Connection) -> None:
    """What somebody does who wants to alter a record: take the guards away and have it quick."""
    db.execute("PRAGMA synchronous = OFF")
    db.execute("PRAGMA ignore_check_constraints = ON")
    db.execute("BEGIN")
    for (name,) in db.execute("SELECT name FROM sqlite_schema WHERE type = 'trigger'").fetchall():
        db.execute(f"DROP TRIGGER {name}")
    db.execute("COMMIT")


def guard_names() -> set[str]:
    """Names of all guards that a record has."""
    return {*schema.by_name()}


def unguarded(db: sqlite3.Connection) -> str:
    """The first guard that does not stand as it was made; "" where all do."""
    return schema.unguarded(
        db.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'")
    )


def rows(db: sqlite3.Connection) -> dict[str, list[Any]]:
    """Everything that the record holds, by table."""
    return {t: sorted(db.execute(f"SELECT * FROM {t}"), key=repr) for t in GUARDED}


def temp(
    minutes: float,
    value: float | None,
    typed: str | None = None,
    *,
    place: str = "T01",
    item: str = "temp",
    unit: str = "degC",
    who: str = "AB",
    in_round: int | None = None,
    amends: int | None = None,
    reason: str | None = None,
    qualifier: str | None = None,
    recheck: bool = False,
    flag: int = 0,
) -> tuple[Entry, Reading]:
    """A reading of one item at one place: degrees in T01 where nothing else is said."""
    when = at(minutes)
    text = typed if typed is not None else "" if value is None else f"{value:.10g}"
    return (
        Entry("reading", who, when, when, place, item, unit, in_round, amends, reason),
        Reading(value, text, qualifier=qualifier, recheck=recheck, flag=flag),
    )


def note(minutes: float, words: str, **more: Any) -> tuple[Entry, Note]:
    """Words about a place."""
    when = at(minutes)
    return Entry("note", more.pop("who", "AB"), when, when, **more), Note(words)


def void(minutes: float, amends: int) -> Entry:
    """An entry taken back."""
    when = at(minutes)
    return Entry("void", "AB", when, when, amends=amends, reason="undone")


# ---- one of everything


@dataclass(frozen=True, slots=True)
class Line:
    """What one person writes at one laptop."""

    station: Station
    entry: Entry
    details: tuple[Detail, ...] = ()
    rows: tuple[Row, ...] = ()


def line(
    kind: str, k: int, *details: Detail, station: Station = TROLLEY, late: int = 0, **more: Any
) -> Line:
    """The `k`-th thing done, a minute after the one before."""
    when = at(k)
    recorded = when._replace(utc=when.utc + late)
    who = more.pop("who", "AB" if k % 3 else "CD")
    return Line(station, Entry(kind, who, when, recorded, **more), details)


def imported(k: int, *rows: Row, station: Station = OFFICE) -> Line:
    """A file of two series that is imported: temperature and ammonia of T01."""
    digest = f"{k:064}"
    file = ImportFile("logger 1", "l1.csv", digest, "Time, Temp", '{"zone":"UTC"}', len(rows), 1)
    one = line("import", k, file, place="site", station=station)
    return Line(one.station, one.entry, one.details, rows)


SERIES = (Channel("T01", "temp", "degC"), Channel("T01", "tan", "mg/L"))
"""The series of such a file."""


def one_of_everything() -> list[Line]:
    """A short day at two laptops: every table has rows, every kind of reference is used."""
    temp_at: dict[str, Any] = {"item": "temp", "unit": "degC", "round": 1}
    morts: dict[str, Any] = {"item": "morts", "unit": "count", "round": 1}
    o: dict[str, Any] = {"station": OFFICE}
    lines = [
        line("plan", 1, PlanVersion("d1", "[site]\nname = 'room'"), place="site"),
        line("round", 2, Round(1, "morning", "open"), round=1),
        line(
            "reading", 3, Reading(17.4, "17,4", None, None, "M1", '{"low":16}', 0), place="T01",
            **temp_at,
        ),
        line("note", 4, Note("cone 2 smells of eggs"), place="site", **o),
        line(
            "reading", 5, Reading(18.5, "65.3", "degF", None, "M1", '{"low":16}', 2), place="T02",
            **temp_at,
        ),
        line(
            "reading", 6, Reading(18.4, "18.4", None, None, "M2", '{"low":15}', 2, True),
            place="T02", **temp_at,
        ),
        line("reading", 7, Reading(None, "", qualifier="could not"), place="T03", **temp_at),
        line(
            "reading", 8, Reading(0.05, "0.05", qualifier="<"), place="T03", item="tan",
            unit="mg/L", late=240, **o,
        ),
        line(
            "reading", 9, Reading(7.0, "7"), Mort("unknown", 4), Mort("jumped", 3), place="T01",
            **morts,
        ),
        line("reading", 10, Reading(0.0, "0"), place="T02", **morts),
        line(
            "reading", 11, Reading(17.6, "17.6"), place="T01", amends=3, reason="slip", **temp_at
        ),
        line("void", 12, amends=10, reason="undone", place="T02", **morts),
        line("reading", 13, Reading(2.0, "2"), Mort("culled", 2), place="T02", **morts),
        line("movement", 14, Movement("stocked", 400, 12.5, "volume", None), place="T01"),
        line("movement", 15, Movement("moved out", 20, None, None, "T02"), place="T01", **o),
        line("meal", 16, Meal("rotifer", 120.0, "mL", 125.0, 1), place="T01"),
        line("meal", 17, Meal("brine shrimp", 0.0, "mL", 80.0, None, "paused"), place="T02", **o),
        line("sample", 18, Sample("swim bladder", 20, 17), place="T01"),
        line("sample", 19, Sample("length", 20, None, 7.25, 0.5, "mm"), place="T01", **o),
        line("batch", 20, Batch("C1", "set", "lot 7", 2.0, 10.0, 28.0, 8.1, 25.0, due_at=START)),
        line("batch", 21, Batch("C1", "counted", per_ml=180.0, hatch_percent=82.5, text="ok"), **o),
        line("calibration", 22, Calibration("M1", "temp", 20.0, 20.1, 20.0, "degC", True)),
        line("calibration", 23, Calibration("M2", "pH 7", 7.0, 7.4, None, None, False), **o),
        line("dose", 24, Dose("bicarbonate", 40.0, "g", 900.0, 0.3, "meq/L"), place="L1"),
        line("dose", 25, Dose("salt", 1.5, "kg"), place="L1", **o),
        line("follow-up", 26, FollowUp("action", "open", "mend screen", "CD", START), place="T02"),
        line("follow-up", 27, FollowUp("altered", "open", "light off", due_at=START), **o),
        line("follow-up", 28, FollowUp("action", "done", "mended", opened=26), place="T02", **o),
        line("handover", 29, Handover("give", "STOCK\nall steady")),
        line("handover", 30, Handover("take", "read", "face to face", 29), who="EF", **o),
        line("round", 31, Round(1, "morning", "sign", "all looked at"), round=1),
        line("plan", 32, PlanVersion("d2", "[site]\nname = 'the room'"), place="site", **o),
        line("note", 33, Note("na\u00efve \u65e5\u672c \U0001f41f"), place="T02", item="temp",
             unit="degC"),
        line("void", 34, amends=4, reason="wrong cone", **o),
        line("reading", 35, Reading(-0.0, "-0"), place="T03", **temp_at),
        line(
            "derived", 36, Reading(0.012, "0.012", flag=2), Derived("ammonia", "pKa", '{"p":1}'),
            Part("tan", 8), Part("temperature", 7), place="T03", item="nh3n", unit="mg/L as N",
        ),
        line(
            "derived", 37, Reading(0.011, "0.011"), Derived("ammonia", "pKa 2", "{}"),
            Part("tan", 8), place="T03", item="nh3n", unit="mg/L as N", amends=36, **o,
        ),
        line(
            "reading", 38, Reading(19.9, "19.9", flag=2), JudgedAs("band", "Temperature 19.9"),
            place="T01", **temp_at,
        ),
        line("flag", 39, FlagEvent("shelve", None, START + 3600), place="T01", item="temp",
             unit="degC", reason="heater being mended"),
        line("flag", 40, FlagEvent("close", "M2"), place="site", reason="mended", **o),
        line("suspect", 41, Suspect("M2", START - 3600, START), place="site", reason="as found"),
        line(
            "follow-up", 42, FollowUp("action", "open", "mend M2"), Closing("meter", "M2"), **o
        ),
        line("handover", 43, Handover("give", "page")),
        line(
            "handover", 44, Handover("take", "page", "in person", 43),
            SaidBack("Which tank is worst?", "T01", 1), SaidBack("What is off?", "M2", 2), **o,
        ),
        line(
            "handover", 45, Handover("give", "next page"),
            HandoverGist("STOCK", "T01 hangs"), HandoverGist("ALTERED", "lid off"), **o,
        ),
        line("look", 46, Look(2, "open", "temp ph"), place="T01", round=2),
        line("done", 47, DoneAbout("clear the screen", 1, 38), place="T01", item="temp",
             unit="degC"),
        line("done", 48, DoneAbout("opened the window"), place="T01", item="temp", unit="degC",
             **o),
        line("call", 49, Call("CD", "555-0100", True, "comes at eight"), place="T01"),
        line("call", 50, Call("CD", "555-0100", False), place="T01", item="temp", unit="degC", **o),
        line("look", 51, Look(2, "sign", "temp ph"), place="T01", round=2),
        line("batch", 52, Batch("T7", "received", "AC-7", 425.0), BatchOf("cysts")),
        line("batch", 53, Batch("C2", "set", grams=15.0, litres=7.5), BatchOf("cone", "T7"), **o),
        line("batch", 54, Batch("C2", "harvest", litres=7.5, per_ml=337.0),
             Counted("nauplii", 0.1, 1.0, "34 29 38"), Counted("umbrella", 0.1, 1.0, "1 0 2")),
        line("meal", 55, Meal("brine shrimp", 40.0, "thousand", 40.0), Served(START + 55 * 60),
             Poured("C2", 90.0, 337.0), Poured("C1", 53.8, 180.0), place="T01"),
        line("meal", 56, Meal("brine shrimp", 0.0, "thousand", 40.0, None, "missed: no nauplii"),
             Served(START + 56 * 60), place="T02", **o),
        line("movement", 57, Movement("stocked", 400, 12.5, "volume"),
             Counted("larvae", 100.0, 1.0, "41 38 40"), place="T03"),
        line("note", 58, Note("cells counted"), Counted("cells", 1e-4, 20.0, "61 58"), **o),
        line("batch", 59, Batch("A1", "set"), BatchOf("algae")),
        line("sampling", 60, Sitting("open", "length mass bladder", 30), place="T01"),
        line("fish", 61, Fish(60, 1, 8.9, 4.25, 1), place="T01"),
        line("fish", 62, Fish(60, 2, 9.1, None, 0, 2, 1, "torn"), place="T01", **o),
        line("fish", 63, Fish(60, 2, 8.1, 3.5, 0, 2, 1), place="T01", amends=62, reason="slip"),
        line("sampling", 64, Sitting("end", "length mass bladder", 30, 60, "returned"),
             place="T01", **o),
        line("movement", 65, Movement("dead", 1200, 300.0, "by volume"),
             Counted("fish", 250.0, 1.0, "61 58 70"), place="T01"),
        line("movement", 66, Movement("cannibals", 3), place="T01", **o),
        line("movement", 67, Movement("returned", 30, method="sample"), place="T01"),
        line("flag", 68, FlagEvent("raise", "M2"),
             FoundFlag("meter", "M2", "meter down", 2, "suspect M2", "Check it.", "T01 T02"),
             place="T01", item="temp", unit="degC", round=1),
        line("flag", 69, FlagEvent("end"),
             FoundFlag("lot", "A", "lot", 3, "lot A dies faster", "", "T03"), place="T03", **o),
        line("round", 70, Round(3, "morning", "open"), Transcribed("CD"), late=7200, round=3),
        line("sheet", 71, SheetStop(3, "tank", START + 71 * 60, "AB"), who="CD", place="T01",
             round=3),
        line("reading", 72, Reading(16.8, "16.8"), Transcribed("CD"), late=7200, place="T01",
             item="temp", unit="degC", round=3),
        line("sheet", 73, SecondEntry(72, "16,8"), who="CD", place="T01", round=3, **o),
        imported(74, (1, START, 2, 17.25, 0, None), (1, START + 900, 3, 17.5, 0, "63.5"),
                 (2, START, 2, 0.02, 1, "<0.02")),
    ]  # fmt: skip
    return lines


def put(ledger: Ledger, one: Line) -> int:
    """Put one line into an open record; a file that is imported with its values."""
    if not one.rows:
        return ledger.append(one.entry, *one.details)
    incoming = laid_out(ledger, SERIES, one.rows)
    (file,) = one.details
    assert isinstance(file, ImportFile)
    with incoming.put() as put_down:
        n = put_down.keep(ledger.append, one.entry, file)
    incoming.close()
    return n


def write(path: Path, lines: Sequence[Line]) -> None:
    """Put lines into a record, each at its own laptop."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("PRAGMA synchronous = OFF")
        db.execute("PRAGMA foreign_keys = ON")
        at_station = {s: Ledger(path, db, s) for s in (TROLLEY, OFFICE)}
        for one in lines:
            put(at_station[one.station], one)


@cache
def full_content() -> bytes:
    """The file of a record that holds one of everything."""
    with record() as path:
        write(path, one_of_everything())
        return path.read_bytes()


# ---- sentences


def told(act: Callable[[], object]) -> str:
    """The sentence that `act` is refused with: one line, for a person, without a trace of code."""
    try:
        act()
    except Refusal as refusal:
        words = str(refusal)
    else:
        raise AssertionError("nothing was refused")
    assert "\n" not in words, words
    assert words[0].isupper() or words[0] in "/.-0123456789", words
    assert words.endswith(".") or "tankwalk start " in words, words
    for sign in ("Traceback", "sqlite3.", "Error(", " None ", "object at"):
        assert sign not in words, words
    return words


# ---- other programs


def program(*words: str) -> subprocess.Popen[str]:
    """This file as another program, its standard input and output in our hands."""
    return subprocess.Popen(
        [sys.executable, __file__, *words],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


def ended(one: subprocess.Popen[str]) -> tuple[str, str]:
    """What else the other program says until its end: (standard output, standard error)."""
    assert one.stdin is not None
    assert one.stdout is not None
    assert one.stderr is not None
    with one:  # communicate() would lose what `hear` has read ahead
        one.stdin.close()
        return one.stdout.read(), one.stderr.read()


def hear(one: subprocess.Popen[str]) -> str:
    """The next line that the other program says."""
    assert one.stdout is not None
    return one.stdout.readline().strip()


def tell(one: subprocess.Popen[str], words: str) -> None:
    """Say a line to the other program."""
    assert one.stdin is not None
    one.stdin.write(words + "\n")
    one.stdin.flush()


def other_tool(path: Path, sql: str) -> tuple[int, str]:
    """A statement given to the sqlite3 command where there is one: (exit status, what it says)."""
    tool = shutil.which("sqlite3")
    if tool is not None:
        command = [tool, str(path), sql]
    else:
        code = "import sqlite3, sys; sqlite3.connect(sys.argv[1]).executescript(sys.argv[2])"
        command = [sys.executable, "-c", code, str(path), sql]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    return done.returncode, done.stdout + done.stderr


def _write_many(path: Path, key: str, count: int, station_key: str) -> None:
    """Append `count` readings, in turn alone and three together, and say each that was kept."""
    with Ledger.open(path, Station(station_key, station_key)) as ledger:
        print("ready", flush=True)
        sys.stdin.readline()
        done = 0
        while done < count:
            together = min(3 if done % 4 == 0 else 1, count - done)
            kept = []
            with ledger.writing():
                for k in range(done, done + together):
                    place = f"T{k % 12:02d}" if k % 2 else f"{key}{k}"
                    value = 10 + k / 100
                    kept.append((ledger.append(*temp(k, value, place=place, who=key)), k))
            done += together
            for n, k in kept:
                print(n, k, flush=True)


def _hold(path: Path) -> None:
    """Keep everybody else out of the record until told."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("BEGIN EXCLUSIVE")
        print("held", flush=True)
        sys.stdin.readline()
        db.execute("ROLLBACK")
    print("let go", flush=True)


def _queue(path: Path) -> None:
    """Stand at the head of the queue until told, and write nothing."""
    with turns.turn(path):
        print("first", flush=True)
        sys.stdin.readline()


def _cramped(path: Path) -> None:
    """Write on a drive that takes no more bytes; say the sentence, then that it holds again."""
    with Ledger.open(path, TROLLEY) as ledger:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        _, most = resource.getrlimit(resource.RLIMIT_FSIZE)
        resource.setrlimit(resource.RLIMIT_FSIZE, (path.stat().st_size, most))
        words = note(1, "x" * 50_000, place="new place")
        print(told(lambda: ledger.append(*words)), flush=True)
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
        print(ledger.append(*words), flush=True)


def main(command: str, path: str, *more: str) -> None:
    """One of the things that another program does to a record."""
    if command == "write":
        _write_many(Path(path), more[0], int(more[1]), more[2])
    elif command == "hold":
        _hold(Path(path))
    elif command == "queue":
        _queue(Path(path))
    elif command == "cramped":
        _cramped(Path(path))
    else:
        raise SystemExit(f"what is {command}?")


if __name__ == "__main__":
    main(*sys.argv[1:])
