"""The bench: ratios of the Walk, the Board and the record to their floors, in one run.

    python tests/bench/bench.py [--big DIR] [--rounds N] [--idle SECONDS]
    python tests/bench/bench.py --oneshots PYTHON

Prints a table: what, ours, floor, ratio, the most it should be. Ours and the floor are measured in
turn, so that a busy machine bears on both. `--big` is a site made by season.py; without it the
rows that need one are left out. `--oneshots` measures the one-shot commands alone, of the program
that is installed beside another Python: the libraries of the tests are loaded by others where they
are there, so that a start without them is another start. Quote the ratios, never the milliseconds.
"""

from __future__ import annotations

import argparse
import os
import select
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from season import make

from tankwalk.ledger.store import Station
from tankwalk_demo.scenario import make as make_demo
from terminal import Terminal

NOW = "2026-05-10T06:50"
FLOORS = str(Path(__file__).parent / "floors.py")
BARE = [sys.executable, FLOORS, "app"]
INPUT = [sys.executable, FLOORS, "input"]
Row = tuple[str, str, str, str, str]


def ours(site: Path, *command: str) -> list[str]:
    """Our command line on a site, as the installed program runs it."""
    return [str(Path(sys.executable).parent / "tankwalk"), *command, "--site", str(site),
            "--now", NOW]  # fmt: skip


def until(terminal: Terminal, words: str, seconds: float = 30.0) -> float:
    """Seconds until the screen holds these words."""
    began = time.perf_counter()
    while words not in terminal.text():
        terminal.read(0.001)
        if time.perf_counter() - began > seconds:
            raise SystemExit(f"never saw {words!r}:\n{terminal.text()}")
    return time.perf_counter() - began


def start(command: Sequence[str], words: str, env: dict[str, str]) -> tuple[float, float]:
    """Seconds to a usable page, and peak memory in MiB."""
    began = time.perf_counter()
    with Terminal(command, env) as terminal:
        until(terminal, words)
        passed = time.perf_counter() - began
        return passed, peak(terminal.pid)


def peak(pid: int) -> float:
    """Peak resident memory of a process in MiB (VmHWM)."""
    for line in Path(f"/proc/{pid}/status").read_text().splitlines():
        if line.startswith("VmHWM"):
            return int(line.split()[1]) / 1024
    return 0.0


def key(terminal: Terminal, data: str) -> tuple[float, float, int]:
    """Seconds to the first byte and to the last byte painted, and how many bytes."""
    began = time.perf_counter()
    terminal.send(data)
    first = last = 0.0
    size = 0
    while select.select([terminal.master], [], [], 0.03 if size else 2.0)[0]:
        got = os.read(terminal.master, 65536)
        last = time.perf_counter() - began
        first = first or last
        size += len(got)
        terminal.received += got
        terminal.feed(got)
    return first, last, size


def median(values: Sequence[float]) -> float:
    return statistics.median(values)


def high(values: Sequence[float]) -> float:
    """The 95th percentile."""
    return sorted(values)[min(len(values) - 1, round(0.95 * (len(values) - 1)))]


def ms(seconds: float) -> str:
    return f"{seconds * 1000:.1f} ms"


def row(what: str, mine: float, floor: float, most: float, form: Callable[[float], str]) -> Row:
    return what, form(mine), form(floor), f"{mine / floor:.2f}x", f"{most:.2f}x"


# ---- the rows


def starts(sites: dict[str, Path], env: dict[str, str], rounds: int) -> list[Row]:
    """Ratio 1: start to a usable Walk against a bare app; an empty against a large record."""
    took: dict[str, list[float]] = {}
    used: dict[str, list[float]] = {}
    for _ in range(rounds):
        for name, command, words in [
            ("bare", BARE, "ready now"),
            *((n, ours(s, "walk", "--who", "PB"), "stop 1 of") for n, s in sites.items()),
        ]:
            passed, memory = start(command, words, env)
            took.setdefault(name, []).append(passed)
            used.setdefault(name, []).append(memory)
    floor = median(took["bare"])
    found = [row(f"1 start to the Walk, {n}", median(took[n]), floor, 1.25, ms) for n in sites]
    if "6.6 M" in sites:
        found.append(row("1 start, 6.6 M against empty", median(took["6.6 M"]),
                         median(took["empty"]), 1.1, ms))  # fmt: skip
    found.append(row("1 memory of the Walk", max(median(used[n]) for n in sites),
                     median(used["bare"]), 1.3, lambda m: f"{m:.0f} MiB"))  # fmt: skip
    return found


CALC = ("calc", "ammonia", "tan=1", "ph=8", "temperature=20")


def oneshots(site: Path, env: dict[str, str], rounds: int, python: str) -> list[Row]:
    """Ratio 2: one-shot commands against `python -c pass`, both of one installation."""
    program = str(Path(python).parent / "tankwalk")
    commands: dict[str, tuple[list[str], float]] = {
        "--help": ([program, "--help"], 2.5),
        "board": ([program, *ours(site, "board")[1:]], 6.0),
        "calc": ([program, "calc"], 6.0),
        "calc ammonia": ([program, *CALC], 6.0),
        "calc ammonia --json": ([program, *CALC, "--json"], 6.0),
    }
    took: dict[str, list[float]] = {}
    for _ in range(rounds * 2):
        for name, command in [
            ("pass", [python, "-c", "pass"]),
            *((n, c) for n, (c, _) in commands.items()),
        ]:
            began = time.perf_counter()
            subprocess.run(
                command, stdout=subprocess.DEVNULL, env={**os.environ, **env}, check=True
            )
            took.setdefault(name, []).append(time.perf_counter() - began)
    floor = median(took["pass"])
    return [row(f"2 tankwalk {n}", median(took[n]), floor, most, ms)
            for n, (_, most) in commands.items()]  # fmt: skip


def keys(sites: dict[str, Path], env: dict[str, str], presses: int) -> tuple[list[Row], float]:
    """Ratio 3: a digit in the Walk against a digit in a bare Input, in turn."""
    found: list[Row] = []
    base = 0.0
    for name, site in sites.items():
        with Terminal(INPUT, env) as bare, Terminal(ours(site, "walk", "--who", "PB"), env) as walk:
            until(bare, "ready now")
            until(walk, "stop 1 of")
            walk.press("right", "right", "right", "right")
            until(walk, "Temperature")
            bare.read(0.3)
            floor, mine, sizes = [], [], []
            for i in range(presses):
                floor.append(key(bare, str(i % 10))[1])
                _, last, size = key(walk, str(i % 10))
                mine.append(last)
                sizes.append(size)
                if i % 4 == 3:
                    for _ in range(4):
                        walk.press("backspace", quiet=0.02)
            base = median(floor)
            found += [
                row(f"3 digit key, {name}", median(mine), base, 1.0, ms),
                (f"3 digit key, {name}: 95th percentile", ms(high(mine)), "", "", "10 ms"),
                (f"3 digit key, {name}: bytes", f"{median(sizes):.0f}", "", "", "500"),
            ]
    return found, base


def enters(site: Path, env: dict[str, str], presses: int, bare_key: float) -> list[Row]:
    """Ratio 4: Enter until durable and painted, against a bare key and a raw commit."""
    commits = raw_commits(site.parent, presses)
    with Terminal(ours(site, "walk", "--who", "PB"), env) as walk:
        until(walk, "stop 1 of")
        walk.press("right", "right", "right", "right")
        until(walk, "Temperature")
        took = []
        for _ in range(presses):
            for digit in "18.5":
                walk.press(digit, quiet=0.02)
            took.append(key(walk, "\r")[1])
            walk.press("u", quiet=0.05)
    limit = 2 * bare_key + 1.5 * median(commits)
    return [("4 Enter until durable and painted", ms(median(took)),
             f"{ms(limit)} (2 keys + 1.5 commits)", f"{median(took) / limit:.2f}x", "1.00x"),
            ("4 raw commit, rollback journal, EXTRA", ms(median(commits)), "", "", "")]  # fmt: skip


def raw_commits(folder: Path, count: int) -> list[float]:
    """Plain commits of one row with the record's own settings."""
    db = sqlite3.connect(folder / "raw.sqlite", isolation_level=None)
    db.execute("PRAGMA synchronous = EXTRA")
    db.execute("CREATE TABLE r (n INTEGER PRIMARY KEY, v REAL, b BLOB)")
    took = []
    for i in range(count):
        began = time.perf_counter()
        db.execute("BEGIN IMMEDIATE")
        db.execute("INSERT INTO r (v, b) VALUES (?, ?)", (float(i), b"x" * 100))
        db.execute("COMMIT")
        took.append(time.perf_counter() - began)
    db.close()
    return took


def burst(site: Path, env: dict[str, str], bare_key: float) -> list[Row]:
    """Ratio 5: 200 keys in one write, as notes so that each must show."""
    with Terminal(ours(site, "walk", "--who", "PB"), env) as walk:
        until(walk, "stop 1 of")
        walk.press("n")
        until(walk, "Note for")
        typed = "".join("abcdefghij"[i % 10] for i in range(200))
        _, last, _ = key(walk, typed)
        # The page shows the end of a long note; the record shows all of it.
        walk.press("enter")
    db = sqlite3.connect(site / "ledger.sqlite")
    kept = db.execute("SELECT text FROM note ORDER BY entry DESC LIMIT 1").fetchone()[0]
    db.close()
    shown = str(200 - len(kept) if typed.endswith(kept) or typed == kept else kept)
    return [
        row("5 200 keys in one burst", last, bare_key, 20.0, ms),
        ("5 keys lost", shown, "", "", "0"),
    ]


def switches(site: Path, env: dict[str, str], bare_key: float) -> list[Row]:
    """Ratio 6: next tank and next screen, until their content stands."""
    tanks, boards, pages = [], [], []
    with Terminal(ours(site, "walk", "--who", "PB"), env) as walk:
        until(walk, "stop 1 of")
        for _ in range(6):
            for stop in range(2, 8):
                began = time.perf_counter()
                walk.send("\x1b[C")
                until(walk, f"stop {stop} of")
                tanks.append(time.perf_counter() - began)
                walk.read(0.03)
            for _ in range(6):
                walk.press("left", quiet=0.03)
        for _ in range(12):
            began = time.perf_counter()
            walk.send("b")
            until(walk, "TANKS")
            boards.append(time.perf_counter() - began)
            walk.read(0.05)
            began = time.perf_counter()
            walk.send("3")
            until(walk, "STOCK")
            pages.append(time.perf_counter() - began)
            walk.press("2", quiet=0.05)
            until(walk, "Enter goes on")
            walk.press("enter", quiet=0.05)
            until(walk, "stop ")
    # The first time a screen is shown it is made; the median leaves that out, as the floor does.
    return [row("6 next tank", median(tanks), bare_key, 12.0, ms),
            row("6 to the board", median(boards), bare_key, 12.0, ms),
            row("6 to the handover", median(pages), bare_key, 12.0, ms)]  # fmt: skip


def storage(site: Path) -> list[Row]:
    """Ratio 8: bytes a reading, everything counted."""
    file = site / "ledger.sqlite"
    db = sqlite3.connect(file)
    count = db.execute("SELECT count(*) FROM reading").fetchone()[0]
    db.close()
    return [
        ("8 bytes a reading", f"{file.stat().st_size / count:.1f}", f"{count} readings", "", "110")
    ]


def idle(site: Path, env: dict[str, str], seconds: float) -> list[Row]:
    """Ratio 11: bytes sent and CPU spent while nobody types."""
    found: list[Row] = []
    for name, command, words in (
        ("Walk", ours(site, "walk", "--who", "PB"), "stop 1 of"),
        ("Board", ours(site), "TANKS"),
    ):
        with Terminal(command, env) as terminal:
            until(terminal, words)
            terminal.read(1.0)
            before, used = len(terminal.received), cpu(terminal.pid)
            end = time.monotonic() + seconds
            while time.monotonic() < end:
                terminal.read(max(0.01, end - time.monotonic()))
            share = (cpu(terminal.pid) - used) / seconds
            sent = len(terminal.received) - before
        found += [(f"11 {name} idle {seconds:.0f} s: bytes", str(sent), "", "", "0"),
                  (f"11 {name} idle: CPU", f"{share:.2%}", "", "", "0.50%")]  # fmt: skip
    return found


def cpu(pid: int) -> float:
    """CPU seconds a process has used."""
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--big", type=Path, help="a site of millions of readings (season.py)")
    parser.add_argument("--oneshots", metavar="PYTHON", help="measure ratio 2 alone, with it")
    parser.add_argument("--rounds", type=int, default=11)
    parser.add_argument("--keys", type=int, default=120)
    parser.add_argument("--idle", type=float, default=60.0)
    chosen = parser.parse_args()
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # without byte code a start is 4x slower
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        env = {"TANKWALK_HOME": made}
        make_demo(folder / "demo", Station("bench", "bench"))
        if chosen.oneshots:
            show(oneshots(folder / "demo", env, chosen.rounds, chosen.oneshots))
        else:
            show(everything(folder, env, chosen))


def everything(folder: Path, env: dict[str, str], chosen: argparse.Namespace) -> list[Row]:
    """All rows, on a folder that holds the demo."""
    make(folder / "empty", 12, 0)
    make(folder / "hundred", 100, 0)
    copies = {"empty": folder / "empty", "demo": folder / "demo"}
    if chosen.big:
        copies["6.6 M"] = chosen.big
    rows = starts(copies, env, chosen.rounds)
    rows += oneshots(copies["demo"], env, chosen.rounds, sys.executable)
    found, bare_key = keys({"12 tanks": copies["demo"], "100 tanks": folder / "hundred"}, env,
                           chosen.keys)  # fmt: skip
    rows += found
    rows += enters(copies["demo"], env, 40, bare_key)
    rows += burst(copies["demo"], env, bare_key)
    rows += switches(copies["demo"], env, bare_key)
    if chosen.big:
        rows += storage(chosen.big)
    return rows + idle(copies["demo"], env, chosen.idle)


def show(rows: Sequence[Row]) -> None:
    """The table."""
    sizes = [max(len(r[i]) for r in rows) for i in range(5)]
    heads = ("what", "ours", "floor", "ratio", "at most")
    sizes = [max(size, len(head)) for size, head in zip(sizes, heads, strict=True)]
    for line in (heads, tuple("-" * size for size in sizes), *rows):
        cells = (cell.ljust(size) for cell, size in zip(line, sizes, strict=True))
        print("| " + " | ".join(cells) + " |")


if __name__ == "__main__":
    main()
