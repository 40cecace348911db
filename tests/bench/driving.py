"""Drives our program and its floors in terminals, and times what they paint.

A time is that of the last byte after which the page stands, taken as the byte is read: what the
emulator takes to draw it is in no figure.
"""

from __future__ import annotations

import os
import select
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from terminal import KEYS, Terminal

NOW = "2026-05-10T06:50"
FLOORS = str(Path(__file__).parent / "floors.py")
BARE = [sys.executable, FLOORS, "app"]
INPUT = [sys.executable, FLOORS, "input"]
READY = "ready now"
BOARD, HANDOVER, WALK, TANK = "TANKS", "STOCK", "stop 1 of", "worst a day"
"""Words by which a page is known."""

QUIET = 0.05
"""So long nothing comes once a page stands, in seconds."""


class Sites(NamedTuple):
    """The sites to measure, by the name in the table, and the programs' surroundings."""

    folder: Path
    env: dict[str, str]
    by_name: dict[str, Path]

    def some(self, *names: str) -> dict[str, Path]:
        """Those of these names that are there."""
        return {name: self.by_name[name] for name in names if name in self.by_name}

    @property
    def aged(self) -> dict[str, Path]:
        """Sites by the age of their record; 12 tanks, the largest 60."""
        return self.some("empty", "demo", "1 year", "5 years", "6.6 M")

    @property
    def full(self) -> dict[str, Path]:
        """Sites with everything in them."""
        return self.some("demo", "1 year", "5 years")


def ours(site: Path, *command: str, python: str = sys.executable) -> list[str]:
    """Our command line on a site, as the installed program runs it."""
    program = str(Path(python).parent / "tankwalk")
    return [program, *command, "--site", str(site), "--now", NOW]


def walking(site: Path) -> list[str]:
    return ours(site, "walk", "--who", "PB")


def stands(terminal: Terminal, words: str, began: float, seconds: float = 60.0) -> float:
    """Seconds from `began` to the last byte of a page that holds these words."""
    last = 0.0
    while True:
        got = b""
        while select.select([terminal.master], [], [], QUIET)[0]:
            piece = os.read(terminal.master, 65536)
            last = time.perf_counter() - began
            got += piece
        if got:
            terminal.received += got
            terminal.feed(got)
        if last and words in terminal.text():
            return last
        if time.perf_counter() - began > seconds:
            raise SystemExit(f"never saw {words!r}:\n{terminal.text()}")


def show(terminal: Terminal, words: str) -> None:
    """Wait for a page."""
    terminal.wait(words, 60)
    terminal.read(QUIET)


def start(command: Sequence[str], words: str, env: dict[str, str]) -> float:
    """Seconds until a program's first page stands."""
    began = time.perf_counter()
    with Terminal(command, env) as terminal:
        return stands(terminal, words, began)


def to_page(terminal: Terminal, key: str, words: str) -> float:
    """Seconds from a key until the page it leads to stands."""
    began = time.perf_counter()
    terminal.send(KEYS.get(key, key))
    return stands(terminal, words, began)


def press(terminal: Terminal, data: str) -> tuple[float, int]:
    """Seconds from a key, or from many in one write, to the last byte painted; how many bytes."""
    began = time.perf_counter()
    terminal.send(data)
    last, size = 0.0, 0
    while select.select([terminal.master], [], [], QUIET if size else 2.0)[0]:
        got = os.read(terminal.master, 65536)
        last = time.perf_counter() - began
        size += len(got)
        terminal.received += got
        terminal.feed(got)
    return last, size


class BareKey:
    """A digit key in a bare Input, pressed in turn with ours: the floor of all keys."""

    def __init__(self, env: dict[str, str]) -> None:
        self._terminal = Terminal(INPUT, env)
        self.took: list[float] = []

    def __enter__(self) -> BareKey:
        self._terminal.__enter__()
        show(self._terminal, READY)
        return self

    def __exit__(self, *_: object) -> None:
        self._terminal.__exit__(None, None, None)

    def press(self) -> None:
        self.took.append(press(self._terminal, str(len(self.took) % 10))[0])
        if len(self.took) % 40 == 0:  # a long line scrolls
            for _ in range(40):
                self._terminal.press("backspace", quiet=0.01)


def at_temperature(terminal: Terminal) -> None:
    """From the first stop of a walk to the temperature of its first tank."""
    terminal.press("right", "right", "right", "right")
    show(terminal, "Temperature")


def back_to_the_walk(terminal: Terminal) -> None:
    """From the board or the handover to the round that was begun."""
    terminal.press("b", "+")
    show(terminal, "Enter goes on")
    terminal.press("enter")
    show(terminal, "stop ")


def peak(pid: int) -> float:
    """Peak resident memory of a process in MiB (VmHWM)."""
    for line in Path(f"/proc/{pid}/status").read_text().splitlines():
        if line.startswith("VmHWM"):
            return int(line.split()[1]) / 1024
    return 0.0


def cpu(pid: int) -> float:
    """CPU seconds a process has used."""
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
