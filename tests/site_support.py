"""Hatchery rooms for tests: small plans, real folders and records, and people who walk them."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from ledger_support import empty
from tankwalk.clock import FixedClock, Instant, SystemClock, parse_instant, zone
from tankwalk.ledger.entries import Entry, Reading
from tankwalk.ledger.rounds import RoundSeen
from tankwalk.ledger.store import FILE, Station
from tankwalk.pages import walk as walk_page
from tankwalk.pages.lines import Line
from tankwalk.pages.walk_past import room_of
from tankwalk.practice.round.rounds import begin
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import Site, open_site

NOW = "2026-05-10T07:00"
"""A Sunday morning: the lot YOUNG is 9 dph and the lot OLD is 30 dph."""

ZONE = "America/Chicago"

SEAL = "1-ABCD-EFGH"
"""A seal of no record."""

BRACKETS = (
    "[/]",
    "note [/ bad",
    "a [/b] c",
    "[red]x",
    "[#ff0]hello",
    "[true, false]",
    "[@click=app.quit]go[/]",
)
"""What is read as markup in other places, or ends a program there."""

_ROOM_HEAD = f"""
[site]
name = "Test room"
zone = "{ZONE}"
elevation = "260 m"
emergency = "Phone Ruth, 555-0100, day and night"

[[person]]
initials = "AB"
[[person]]
initials = "CD"
[[person]]
initials = "EF"

[[lot]]
code = "EGGS"
species = "walleye"
[[lot]]
code = "YOUNG"
species = "sauger"
hatched = 2026-05-01
[[lot]]
code = "OLD"
species = "sauger"
hatched = 2026-04-10
"""

_ITEMS = """
[[item]]
code = "glance"
label = "Glance"
kind = "choice"
choices = ["ok", "odd", "bad"]
watch_on = ["odd"]
act_on = ["bad"]
first_response = "Stop the feed, measure oxygen now."
[[item]]
code = "temp"
label = "Temperature"
unit = "degC"
plausible = [-1, 35]
instrument = "oxygen meter"
first_response = "Check the heater."
[[item]]
code = "do"
label = "Oxygen"
unit = "mg/L"
plausible = [0, 20]
instrument = "oxygen meter"
first_response = "Open the oxygen, stop the feed."
[[item]]
code = "flow"
label = "Flow"
unit = "L/min"
plausible = [0, 60]
first_response = "Clear the valve."
[[item]]
code = "screen"
label = "Outlet screen"
kind = "choice"
choices = ["clean", "cleaned", "fouled"]
act_on = ["fouled"]
first_response = "Brush it now."
[[item]]
code = "turbidity"
label = "Turbidity"
unit = "NTU"
decimals = 0
plausible = [0, 500]
dph = [0, 24]
[[item]]
code = "morts"
label = "Morts"
kind = "count"
plausible = [0, 20000]
first_response = "Count again."
[[item]]
code = "scrub"
label = "Wall scrub"
kind = "choice"
choices = ["done", "put off"]
every = "3 d"
dph = [20, 60]
[[item]]
code = "sump"
label = "Sump level"
level = "loop"
unit = "cm"
decimals = 0
plausible = [0, 200]
[[item]]
code = "tan"
label = "TAN"
level = "loop"
unit = "mg/L as N"
decimals = 2
plausible = [0, 10]
[[item]]
code = "alarm"
label = "Alarm"
level = "site"
kind = "choice"
choices = ["armed", "off"]
act_on = ["off"]
[[item]]
code = "generator"
label = "Generator test run"
level = "site"
kind = "choice"
choices = ["run ok", "failed"]
act_on = ["failed"]
every = "7 d"
"""

_EACH_TIME = _ITEMS.replace('every = "3 d"\n', "").replace('every = "7 d"\n', "")
"""The items with none that waits for its day: a plan may hold such only where a round asks them."""

_BANDS = """
[[band]]
item = "temp"
target = 16.5
watch_within = 1.0
act_within = 2.0
urgent_below = 8.0
urgent_above = 26.0
watch_change = 1.0
source = "our plan"
[[band]]
item = "do"
watch_below = 7.0
act_below = 6.0
urgent_below = 5.0
watch_change = 1.0
act_change = 2.0
change_way = "fall"
source = "our plan"
[[band]]
item = "flow"
target = 2.5
watch_within_percent = 15
act_within_percent = 30
source = "our plan"
[[band]]
item = "morts"
watch_above = 10
act_above = 50
source = "our plan"
[[band]]
item = "sump"
watch_below = 35
watch_above = 55
act_below = 25
source = "our plan"
[[band]]
item = "tan"
watch_above = 0.5
act_above = 1.0
source = "our plan"

[notes]
canned = ["siphoned late", "feeder refilled"]
"""

_METERS = """
[[instrument]]
code = "A"
kind = "oxygen meter"
[[instrument]]
code = "B"
kind = "oxygen meter"
tanks = ["T02"]
"""

SMALL = (
    _ROOM_HEAD
    + """
[[loop]]
code = "L1"
[[tank]]
code = "T01"
loop = "L1"
volume = "220 L"
lot = "YOUNG"
[[tank]]
code = "T02"
loop = "L1"
volume = "220 L"
lot = "YOUNG"
"""
    + _METERS
    + _EACH_TIME
    + """
[[checklist]]
code = "am"
label = "Morning round"
at = "07:00"
glance = "glance"
site = ["alarm"]
loop = ["tan"]
tank = ["temp", "do", "flow", "screen", "morts"]
[[checklist]]
code = "pm"
label = "Afternoon round"
at = "15:00"
tank = ["temp", "do"]
"""
    + _BANDS
)
"""Two tanks on one loop; the morning round asks 14 things, the afternoon round 4."""

ROOM = (
    _ROOM_HEAD
    + """
[[loop]]
code = "L1"
[[loop]]
code = "L2"
[[loop]]
code = "Q"
[[tank]]
code = "T05"
loop = "Q"
volume = "100 L"
lot = "YOUNG"
quarantine = true
[[tank]]
code = "T03"
loop = "L1"
volume = "220 L"
lot = "OLD"
[[tank]]
code = "T06"
loop = "L1"
volume = "220 L"
[[tank]]
code = "T02"
loop = "L2"
volume = "220 L"
lot = "OLD"
[[tank]]
code = "T01"
loop = "L2"
volume = "100 L"
lot = "EGGS"
[[tank]]
code = "T04"
loop = "L1"
volume = "220 L"
lot = "YOUNG"
"""
    + _METERS
    + _ITEMS
    + """
[[checklist]]
code = "am"
label = "Morning round"
at = "07:00"
glance = "glance"
site = ["alarm", "generator"]
loop = ["sump"]
tank = ["temp", "turbidity", "scrub"]
[[checklist]]
code = "pm"
label = "Afternoon round"
at = "15:00"
tank = ["temp"]
[[checklist]]
code = "deep"
label = "Deep clean"
at = "10:00"
site = ["alarm"]
weekdays = ["Mon"]
"""
    + _BANDS
)
"""Eggs, young, old, an empty tank and a quarantine tank, on purpose in no order."""


def moment(text: str) -> Instant:
    """A wall-clock time of the test room."""
    return parse_instant(text, zone(ZONE))


def write_plan(folder: Path, plan: str = SMALL) -> Path:
    """A site's folder with its plan in it; returns the folder."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "plan.toml").write_text(plan, "utf-8")
    return folder


@contextmanager
def opened(
    folder: Path, plan: str = SMALL, now: str = NOW, laptop: str = "trolley"
) -> Iterator[Site]:
    """The site in `folder`, made where it is not there, open on one laptop until the end.

    Nothing waits for the disk: no test of what a site holds needs that.
    """
    if not (folder / "plan.toml").exists():
        write_plan(folder, plan)
    if not (folder / FILE).exists():
        (folder / FILE).write_bytes(empty())
    site = open_site(folder, Station(laptop, laptop), now)
    site.ledger.db.execute("PRAGMA synchronous = OFF")
    try:
        yield site
    finally:
        site.close()


def today_there() -> str:
    """Today by the real clock in the test room's zone, not this machine's: `2026-05-06`.

    For a program run as a process of its own, whose clock a test can't set.
    """
    return SystemClock(zone(ZONE)).now().day.isoformat()


def clock_shows(site: Site, text: str) -> None:
    """Let the site's clock stand at another moment."""
    site.clock = FixedClock(moment(text))


def seen_before(site: Site, place: str, item: str, value: float, when: str) -> int:
    """A reading of another day in the record, as an earlier round left it."""
    unit, at = site.plan.item(item).unit, moment(when)
    return site.record(Entry("reading", "CD", at, at, place, item, unit), Reading(value, ""))


def walking(site: Site, who: str = "AB", code: str = "am") -> Walk:
    """Somebody who takes up the round of a checklist, or begins it."""
    return Walk(site, begin(site, site.plan.checklist(code), who), who)


def again(walk: Walk) -> Walk:
    """The same round taken up anew by a program that knows only the record."""
    return Walk(walk.site, newest_round(walk.site, walk.round.number), walk.who)


def newest_round(site: Site, number: int) -> RoundSeen:
    """A round as the record has it now."""
    return next(r for r in site.reader.rounds.newest(limit=1000) if r.number == number)


def go_to(walk: Walk, place: str, item: str) -> Walk:
    """Walk with the arrow keys to one item of one place."""
    wanted = next(i for i, s in enumerate(walk.slots) if (s.place, s.item.code) == (place, item))
    while walk.at < wanted:
        walk.move("down")
    while walk.at > wanted:
        walk.move("up")
    return walk


def standing_at(site: Site, place: str, item: str, who: str = "AB") -> Walk:
    """Somebody walking the morning round who stands at one item of one place."""
    return go_to(walking(site, who), place, item)


@contextmanager
def asked_of(db: sqlite3.Connection) -> Iterator[list[str]]:
    """Every statement the record is asked meanwhile."""
    asked: list[str] = []
    db.set_trace_callback(asked.append)
    try:
        yield asked
    finally:
        db.set_trace_callback(None)


def walk_drawn(walk: Walk, typed: str, width: int, height: int) -> list[Line]:
    """The page of a walk as it stands."""
    return walk_page.draw(walk.view(*room_of(width, height)), typed, width, height)


GOOD = {
    "temp": "16.5",
    "do": "8.4",
    "flow": "2.5",
    "morts": "3",
    "tan": "0.2",
    "sump": "45",
    "turbidity": "30",
}
"""What a quiet morning shows, by item."""


def good_answer(walk: Walk) -> str:
    """What one types where all is well: + for a choice or the signature, else a good number."""
    if walk.at_end or walk.slot.item.kind.by_words:
        return "+"
    return GOOD[walk.slot.item.code]


def finish(walk: Walk) -> Walk:
    """Answer all that is still asked with good values, up to the signature and not it."""
    for _ in range(10 * len(walk.slots)):
        if walk.at_end:
            return walk
        walk.answer(good_answer(walk))
    raise AssertionError(f"the round never ends: {walk.question} {walk.said}")


def sign(walk: Walk) -> Walk:
    """Finish the round and sign it."""
    finish(walk).answer("+")
    assert walk.signed, walk.said
    return walk


def readings(
    site: Site, columns: str = "place, item, value", view: str = "readings"
) -> list[tuple[Any, ...]]:
    """Rows of a view of the record, by entry number, as any SQLite tool shows them.

    What was worked out beside them is left out: `worked_out` has it.
    """
    taken = "n NOT IN (SELECT entry FROM derived)"
    sql = f"SELECT {columns} FROM {view} WHERE {taken} ORDER BY n"
    return site.ledger.db.execute(sql).fetchall()


def worked_out(
    site: Site, columns: str = "place, item, value", view: str = "readings"
) -> list[tuple[Any, ...]]:
    """Rows of readings that were worked out, by entry number."""
    taken = "n IN (SELECT entry FROM derived)"
    sql = f"SELECT {columns} FROM {view} WHERE {taken} ORDER BY n"
    return site.ledger.db.execute(sql).fetchall()


def entries(site: Site, columns: str = "kind") -> list[tuple[Any, ...]]:
    """Rows of the spine, by number."""
    return readings(site, columns, "entries")


def tankwalk(
    home: Path, *arguments: str, given: bytes = b"", now: str | None = NOW
) -> subprocess.CompletedProcess[bytes]:
    """Run the real program with pipes instead of a terminal, at home in `home`."""
    fixed = [] if now is None else ["--now", now]
    return subprocess.run(
        [sys.executable, "-m", "tankwalk", *fixed, *arguments],
        input=given,
        capture_output=True,
        env=surroundings(home),
        timeout=120,
        check=False,
    )


def surroundings(home: Path) -> dict[str, str]:
    """The environment of a run that must touch nothing but `home`."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith("TANKWALK")}
    return {**kept, "TANKWALK_HOME": str(home), "PYTHONUTF8": "1"}


def typed_lines(answers: Sequence[str]) -> bytes:
    """Answers as a file holds them, one a line."""
    return "".join(f"{answer}\n" for answer in answers).encode()
