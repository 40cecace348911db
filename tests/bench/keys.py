"""Ratios 3, 4, 5, 11 and 15: keys in the Walk, a burst of them, none at all, and a session's first.

Every key of ours is pressed in turn with a digit in a bare Input.
"""

from __future__ import annotations

import sqlite3
import time
from pathlib import Path

from driving import (
    BOARD,
    WALK,
    BareKey,
    Sites,
    at_temperature,
    back_to_the_walk,
    cpu,
    ours,
    press,
    show,
    to_page,
    walking,
)
from rows import Row, against, at_most, high, median, ms

from terminal import Terminal

READ_S = 1.0
"""A person looks at the first page for so long before pressing anything."""


def digits(sites: Sites, presses: int) -> list[Row]:
    """Ratio 3: a digit in the Walk."""
    found: list[Row] = []
    for name, site in (sites.full | sites.some("100 tanks", "6.6 M")).items():
        with BareKey(sites.env) as bare, Terminal(walking(site), sites.env) as walk:
            show(walk, WALK)
            at_temperature(walk)
            mine, sizes = [], []
            for i in range(presses):
                bare.press()
                took, size = press(walk, str(i % 10))
                mine.append(took)
                sizes.append(size)
                if i % 4 == 3:
                    for _ in range(4):
                        walk.press("backspace", quiet=0.02)
        found += [
            against(f"3 digit key, {name}", median(mine), median(bare.took), 1.0),
            at_most(f"3 digit key, {name}: 95th percentile", high(mine), 0.010, ms),
            at_most(f"3 digit key, {name}: bytes", median(sizes), 500, lambda b: f"{b:.0f}"),
        ]
    return found


def enters(sites: Sites, presses: int) -> list[Row]:
    """Ratio 4: Enter until durable and painted, against two bare keys and a commit and a half."""
    found: list[Row] = []
    for name, site in (sites.full | sites.some("6.6 M")).items():
        with (
            BareKey(sites.env) as bare,
            Commits(sites.folder / f"raw {name}.sqlite") as raw,
            Terminal(walking(site), sites.env) as walk,
        ):
            show(walk, WALK)
            at_temperature(walk)
            took = []
            for _ in range(presses):
                bare.press()
                raw.commit()
                _type(walk, "18.5")
                took.append(press(walk, "\r")[0])
                walk.press("u", quiet=0.05)
        limit = 2 * median(bare.took) + 1.5 * median(raw.took)
        found.append(against(f"4 Enter until durable and painted, {name}", median(took), limit, 1))
    return [*found, Row("4 raw commit, rollback journal, EXTRA", ms(median(raw.took)))]


def _type(walk: Terminal, value: str) -> None:
    for digit in value:
        walk.press(digit, quiet=0.02)


class Commits:
    """Plain commits of one row with the record's own settings."""

    def __init__(self, path: Path) -> None:
        self.db = sqlite3.connect(path, isolation_level=None)
        self.took: list[float] = []

    def __enter__(self) -> Commits:
        self.db.execute("PRAGMA synchronous = EXTRA")
        self.db.execute("CREATE TABLE r (n INTEGER PRIMARY KEY, v REAL, b BLOB)")
        return self

    def __exit__(self, *_: object) -> None:
        self.db.close()

    def commit(self) -> None:
        began = time.perf_counter()
        self.db.execute("BEGIN IMMEDIATE")
        self.db.execute("INSERT INTO r (v, b) VALUES (?, ?)", (1.0, b"x" * 100))
        self.db.execute("COMMIT")
        self.took.append(time.perf_counter() - began)


def bursts(sites: Sites, times: int) -> list[Row]:
    """Ratio 5: 200 keys in one write, as notes so that each must show."""
    found: list[Row] = []
    typed = "".join("abcdefghij"[i % 10] for i in range(200))
    for name, site in sites.full.items():
        took, lost = [], 0
        with BareKey(sites.env) as bare, Terminal(walking(site), sites.env) as walk:
            show(walk, WALK)
            for _ in range(times):
                walk.press("n")
                show(walk, "Note for")
                for _ in range(5):
                    bare.press()
                took.append(press(walk, typed)[0])
                # The page shows the end of a long note; the record shows all of it.
                walk.press("enter")
                walk.read(0.1)
                lost += len(typed) - len(_newest_note(site))
        found += [
            against(f"5 200 keys in one burst, {name}", median(took), median(bare.took), 20.0),
            at_most(f"5 keys lost, {name}", lost, 0, lambda count: f"{count:.0f}"),
        ]
    return found


def _newest_note(site: Path) -> str:
    db = sqlite3.connect(site / "ledger.sqlite")
    kept = db.execute("SELECT text FROM note ORDER BY entry DESC LIMIT 1").fetchone()[0]
    db.close()
    return str(kept)


def idle(sites: Sites, seconds: float) -> list[Row]:
    """Ratio 11: bytes sent and CPU spent while nobody types."""
    found: list[Row] = []
    for name, site in sites.full.items():
        for page, command, words in (("Walk", walking(site), WALK), ("Board", ours(site), BOARD)):
            with Terminal(command, sites.env) as terminal:
                show(terminal, words)
                terminal.read(2.0)
                before, used = len(terminal.received), cpu(terminal.pid)
                end = time.monotonic() + seconds
                while time.monotonic() < end:
                    terminal.read(max(0.01, end - time.monotonic()))
                share = (cpu(terminal.pid) - used) / seconds
                sent = len(terminal.received) - before
            what = f"11 {page} idle {seconds:.0f} s, {name}"
            found += [at_most(f"{what}: bytes", sent, 0, lambda count: f"{count:.0f}"),
                      at_most(f"{what}: CPU", share, 0.005, "{:.2%}".format)]  # fmt: skip
    return found


def first_keys(sites: Sites, sessions: int) -> list[Row]:
    """Ratio 15: the first Enter of a session (a temperature), the second (an oxygen, from which
    something is worked out) and the first `b`, each against its like later in the session."""
    found: list[Row] = []
    for name, site in sites.full.items():
        first: dict[str, list[float]] = {"Enter": [], "second Enter": [], "b": []}
        later: dict[str, list[float]] = {key: [] for key in first}
        for _ in range(sessions):
            with Terminal(walking(site), sites.env) as walk:
                show(walk, WALK)
                walk.read(READ_S)
                at_temperature(walk)
                for turn in range(4):
                    into = later if turn else first
                    for key, value in (("Enter", "18.5"), ("second Enter", "8.5")):
                        _type(walk, value)
                        into[key].append(press(walk, "\r")[0])
                    into["b"].append(to_page(walk, "b", BOARD))
                    back_to_the_walk(walk)
                    walk.press("u", "u")
                    walk.press("right")
                    show(walk, "Temperature")
        found += [
            against(f"15 first {key}, {name}" if key != "second Enter" else f"15 {key}, {name}",
                    median(first[key]), median(later[key]), 2.0)
            for key in first
        ]  # fmt: skip
    return found
