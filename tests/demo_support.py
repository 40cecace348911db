"""The demo room for tests: made once a run, copied for each test, walked with the pad."""

from __future__ import annotations

import pickle
import re
import shutil
import sqlite3
import sys
from collections.abc import Callable, Mapping
from contextlib import closing
from pathlib import Path
from typing import Any, cast

from record_round import SECOND, in_order, keys_for
from shared_support import once
from tankwalk.clock import Instant
from tankwalk.ledger.chain import DETAIL_TABLES
from tankwalk.ledger.entries import Detail, Entry
from tankwalk.ledger.schema import CARRY
from tankwalk.ledger.store import FILE, Station
from tankwalk.paths import PLAN
from tankwalk.practice.round.questions import REASONS
from tankwalk.practice.site import Site, open_site
from tankwalk_demo import make, morning_answers
from tankwalk_demo.room import plan
from tankwalk_demo.scenario import rehearsal
from terminal import KEYS, Terminal

NOW = "2026-05-10T06:50"
STATION = Station("5c1d6f0e-6f0b-4c55-9d5c-0d6f5f1f7a01", "trolley")

Slot = tuple[str, str]

ANSWERS: tuple[tuple[Slot, str], ...] = tuple(in_order(morning_answers()))
"""What the morning round reads, slot by slot, in walking order."""

ASKED_AGAIN = {("T07", "do"), ("T07", "level"), ("T07", "morts")}
"""Slots of that round whose value is out of band, so that a second reading is asked for."""


THE_END = Instant(rehearsal().utc + 20 * 86400, -300)
"""A moment after all thirty days of the season."""

Season = list[tuple[Entry, tuple[Detail, ...]]]
"""Every entry of the season, as it was handed to the record."""


def _make_whole(folder: Path) -> None:
    told: Season = []
    make(folder / "site", STATION, until=THE_END, told=lambda *one: told.append(one))
    (folder / "told").write_bytes(pickle.dumps(told))


def whole() -> Path:
    """The demo with all thirty days, to be read only: made once a run."""
    return once("whole demo", _make_whole) / "site"


def season() -> Season:
    """What was told while the whole demo was made."""
    whole()
    return cast(Season, pickle.loads((once("whole demo", _make_whole) / "told").read_bytes()))


def until(moment: Instant) -> Path:
    """The demo as it was entered before a moment, to be read only: cut from the whole, once a run.

    test_demo.py shows that this is the record that making it until then gives.
    """
    return once(f"demo until {moment.utc}", lambda folder: cut(folder / "site", moment)) / "site"


def cut(site: Path, moment: Instant) -> None:
    """The whole demo without what was recorded from a moment on, its guards set again."""
    shutil.copytree(whole(), site)
    with closing(sqlite3.connect(site / FILE)) as db, db:
        db.execute("PRAGMA synchronous = OFF")
        guards = db.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in guards:
            db.execute(f"DROP TRIGGER {name}")
        past = "SELECT n FROM entry WHERE observed_at + late_s >= ?"
        for table in {name for names in DETAIL_TABLES.values() for name in names}:
            db.execute(f"DELETE FROM {table} WHERE entry IN ({past})", (moment.utc,))
        db.execute(f"DELETE FROM entry WHERE n IN ({past})", (moment.utc,))
        for _, sql in guards:
            db.execute(sql)
        db.execute("DELETE FROM carried")
        db.execute(CARRY)


def demo_in(folder: Path, edit: Callable[[str], str] | None = None) -> Path:
    """A copy of the demo of one's own, its plan changed where `edit` is given."""
    site = Path(shutil.copytree(until(rehearsal()), folder / "site"))
    if edit is not None:
        file = site / PLAN
        file.write_text(edit(file.read_text("utf-8")), "utf-8")
    return site


def opened(folder: Path, edit: Callable[[str], str] | None = None) -> Site:
    """The copied demo, open, with the clock at 06:50; nothing waits for the disk."""
    site = open_site(demo_in(folder, edit), STATION, NOW)
    site.ledger.db.execute("PRAGMA synchronous = OFF")
    return site


_WORDS = (
    ('label = "Glance"', r'label = "[/b] \u001b[31mGlance"', "[/b] [31mGlance"),
    ('label = "Temperature"', 'label = "note [/ bad"', "note [/ bad"),
    ('label = "Outlet screen"', 'label = "[@click=app.quit]go[/]"', "[@click=app.quit]go[/]"),
    ('name = "Alder Rapids', r'name = "[red]Alder\u0007 \u202eRapids', "[red]Alder Rapids"),
    ('role = "weekend student"', r'role = "[#ff0]student \u009b5n"', "[#ff0]student 5n"),
    ('label = "Morning round"', 'label = "Morning [true, false]"', "Morning [true, false]"),
    ('"larvae on the wall"', r'"[/] wall \u001b]0;owned\u0007"', "[/] wall ]0;owned"),
    ('"Look a minute more', r'"[/] stop \U0001f41f', "[/] stop \U0001f41f"),
    ('code = "T01"\nloop = "L1"', 'code = "T01"\nwhere = "[/b]"\nloop = "L1"', "loop L1, [/b]"),
)

HOSTILE_WORDS = tuple(shown for _, _, shown in _WORDS)
"""What pages show of the words below."""


def with_hostile_words(plan_text: str) -> str:
    """A plan with words that some read as markup, or as orders to the terminal."""
    for before, after, _ in _WORDS:
        assert before in plan_text
        plan_text = plan_text.replace(before, after, 1)
    return plan_text


def with_a_crew_of_twelve(plan_text: str) -> str:
    """A plan with six people more, XG to XL."""
    more = "".join(f'[[person]]\ninitials = "X{letter}"\n\n' for letter in "GHIJKL")
    return plan_text.replace("[[loop]]", more + "[[loop]]", 1)


def program(
    site: Path,
    *arguments: str,
    env: Mapping[str, str] | None = None,
    size: tuple[int, int] = (80, 24),
    first: Callable[[], None] | None = None,
) -> Terminal:
    """The program on a terminal of its own, at 06:50, as the laptop of this site."""
    command = [sys.executable, "-m", "tankwalk", "--site", str(site), "--now", NOW, *arguments]
    return Terminal(command, {"TANKWALK_HOME": str(site.parent), **(env or {})}, size, first)


def readings_of(slot: Slot, answer: str) -> list[str]:
    """The answers one slot takes: one, or two where a second reading is asked for."""
    return [answer, SECOND.get(slot, answer)] if slot in ASKED_AGAIN else [answer]


def typed_keys(answer: str) -> list[str]:
    """What the pad sends for an answer, key by key."""
    return [KEYS.get(key, key) for key in keys_for(answer)]


def recorded(slot: Slot, answer: str) -> str:
    """How the record writes an answer: a choice as its word, what was not taken as its reason."""
    item = plan().item(slot[1])
    if answer.startswith("/"):
        return next(f"not taken: {one.word}" for one in REASONS if one.key == answer[1:])
    if item.kind.by_words:
        return item.choices[0 if answer == "+" else int(answer) - 1]
    return answer


EXPECTED = {
    slot: [recorded(slot, each) for each in readings_of(slot, answer)] for slot, answer in ANSWERS
}
"""What the record holds when the whole round was walked."""


def begin_round(terminal: Terminal) -> None:
    """From the board to the first stop, as PB."""
    terminal.wait("do it")
    terminal.send(KEYS["enter"] + "5")
    terminal.wait("stop 1 of")


def go_on(terminal: Terminal) -> None:
    """From the board back to where the round stood, as the one who walked it last."""
    terminal.wait("do it")
    terminal.send("+")  # the round by its key: a flag may come before it
    terminal.wait("goes on as PB")
    terminal.send(KEYS["enter"])
    terminal.until(lambda: counted(terminal) is not None, "the walk")


def counted(terminal: Terminal) -> int | None:
    """How many answers the second row of the walk says are kept."""
    found = re.search(r"\] (\d+) of 143 |(\d+) of 12 seen ", terminal.line(1))
    if found is None:
        ended = re.search(r"of 143 taken", terminal.line(1))
        return 143 if ended else None
    return int(found[1] or found[2])


def heading(slot: Slot) -> str:
    """How the page names the slot that is asked."""
    return f" \u2500\u2500 {slot[0]}  {plan().item(slot[1]).label}"


def asked(terminal: Terminal) -> str:
    """The line of the page that names what is asked now."""
    ruled = [row for row in terminal.text().split("\n") if row.startswith(" \u2500\u2500 ")]
    return ruled[0] if ruled else ""


def said(terminal: Terminal) -> str:
    """What the page says below the list, and the keys that answer, as one sentence."""
    below = " ".join(terminal.line(row) for row in range(-10, 0))
    return " ".join(below.split())


def asks_again(terminal: Terminal) -> bool:
    """Whether a second reading is asked for."""
    return "no second reading" in said(terminal)


def until_kept(terminal: Terminal, slot: Slot, reading: int) -> None:
    """Wait until the page has painted that a reading of the demo's round is kept."""
    index = next(i for i, (one, _) in enumerate(ANSWERS) if one == slot)
    more = reading + 1 < len(EXPECTED[slot])
    words = f"{slot[0]} {plan().item(slot[1]).label}"

    def painted() -> bool:
        kept = counted(terminal) == index + 1 and words in said(terminal)
        return kept and asks_again(terminal) == more

    terminal.until(painted, f"reading {reading + 1} of {words} kept")


def answer_up_to(terminal: Terminal, stop: Slot | None = None) -> None:
    """Walk the round with the demo's answers, up to one slot or to the signature."""
    for slot, answer in ANSWERS:
        if slot == stop:
            return
        for reading, typed in enumerate(readings_of(slot, answer)):
            terminal.send("".join(typed_keys(typed)))
            until_kept(terminal, slot, reading)


def rows(site: Path, sql: str) -> list[tuple[Any, ...]]:
    """What any SQLite tool reads in the record."""
    with closing(sqlite3.connect(site / FILE)) as db:
        return db.execute(sql).fetchall()


def held(site: Path) -> dict[Slot, list[str]]:
    """What the record holds of the round of this morning: typed or reason, by slot, in order.

    What was worked out beside it is left out.
    """
    found: dict[Slot, list[str]] = {}
    for place, item, typed, qualifier in rows(
        site,
        "SELECT place, item, typed, qualifier FROM readings WHERE round = "
        "(SELECT max(round) FROM entries WHERE kind = 'round') "
        "AND n NOT IN (SELECT entry FROM derived) ORDER BY n",
    ):
        found.setdefault((place, item), []).append(
            f"not taken: {qualifier}" if qualifier else typed
        )
    return found
