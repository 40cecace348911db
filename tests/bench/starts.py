"""Ratios 1, 2, 13, 14 and 16: starts on the screen, pages printed, memory, the demo made."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from pathlib import Path

from driving import BARE, BOARD, READY, WALK, Sites, ours, peak, show, start, walking
from rows import Row, against, at_most, median, mib

from tankwalk.ledger.store import Station
from tankwalk_demo.scenario import make as make_demo
from terminal import Terminal

SETTLED = 2.0
"""Seconds after which memory is read: what loads after the first page counts."""

CALC = ("calc", "ammonia", "tan=1", "ph=8", "temperature=20")


def to_the_walk(sites: Sites, rounds: int) -> list[Row]:
    """Ratio 1: until the Walk can be used; and an empty record against a large one."""
    named = sites.aged
    took = _starts({name: walking(site) for name, site in named.items()}, WALK, sites, rounds)
    found = [against(f"1 start to the Walk, {n}", took[n], took["bare"], 1.25) for n in named]
    if "6.6 M" in named:
        found.append(against("1 start, 6.6 M against empty", took["6.6 M"], took["empty"], 1.1))
    return [*found, *_memory("1", "Walk", {n: walking(s) for n, s in named.items()}, WALK, sites)]


def to_the_board(sites: Sites, rounds: int) -> list[Row]:
    """Ratio 13: plain `tankwalk` until the Board stands."""
    commands = {name: ours(site) for name, site in sites.aged.items() if name != "empty"}
    took = _starts(commands, BOARD, sites, rounds)
    most = {"5 years": 1.3}
    found = [
        against(f"13 start to the Board, {n}", took[n], took["bare"], most.get(n, 1.25))
        for n in commands
    ]
    return [*found, *_memory("13", "Board", commands, BOARD, sites)]


def _starts(
    commands: Mapping[str, Sequence[str]], words: str, sites: Sites, rounds: int
) -> dict[str, float]:
    """Median seconds of each start, and of the bare app, in turn."""
    took: dict[str, list[float]] = {name: [] for name in ("bare", *commands)}
    for _ in range(rounds):
        took["bare"].append(start(BARE, READY, sites.env))
        for name, command in commands.items():
            took[name].append(start(command, words, sites.env))
    return {name: median(times) for name, times in took.items()}


def _memory(
    number: str, page: str, commands: Mapping[str, Sequence[str]], words: str, sites: Sites
) -> list[Row]:
    used = {"bare": _peak(BARE, READY, sites)}
    for name, command in commands.items():
        used[name] = _peak(command, words, sites)
    return [against(f"{number} memory of the {page}, {n}", used[n], used["bare"], 1.3, mib)
            for n in commands]  # fmt: skip


def _peak(command: Sequence[str], words: str, sites: Sites) -> float:
    with Terminal(command, sites.env) as terminal:
        show(terminal, words)
        terminal.read(SETTLED)
        return peak(terminal.pid)


def _printed(
    number: str, commands: Mapping[str, tuple[Sequence[str], float]], sites: Sites, rounds: int,
    python: str,
) -> list[Row]:  # fmt: skip
    """Commands that print and end, in turn with a bare interpreter of the same installation."""
    took: dict[str, list[float]] = {name: [] for name in ("pass", *commands)}
    for _ in range(rounds * 2):
        for name, (command, _) in commands.items():
            took["pass"].append(_run([python, "-c", "pass"], sites.env))
            took[name].append(_run(command, sites.env))
    floor = median(took["pass"])
    return [against(f"{number} tankwalk {name}", median(took[name]), floor, most)
            for name, (_, most) in commands.items()]  # fmt: skip


def _run(command: Sequence[str], env: Mapping[str, str]) -> float:
    began = time.perf_counter()
    subprocess.run(command, stdout=subprocess.DEVNULL, env={**os.environ, **env}, check=True)
    return time.perf_counter() - began


def oneshots(sites: Sites, rounds: int, python: str = sys.executable) -> list[Row]:
    """Ratio 2: what needs no site."""
    program = str(Path(python).parent / "tankwalk")
    commands: dict[str, tuple[Sequence[str], float]] = {
        "--help": ([program, "--help"], 2.5),
        "calc": ([program, "calc"], 6.0),
        "calc ammonia": ([program, *CALC], 6.0),
        "calc ammonia --json": ([program, *CALC, "--json"], 6.0),
    }
    return _printed("2", commands, sites, rounds, python)


def printed_pages(sites: Sites, rounds: int, python: str = sys.executable) -> list[Row]:
    """Ratios 2 and 14: board and handover, printed."""
    commands: dict[str, tuple[Sequence[str], float]] = {
        f"{page}, {name}": (ours(site, page, python=python), 6.0 if name == "demo" else 7.0)
        for name, site in sites.aged.items()
        if name != "empty"
        for page in ("board", "handover")
    }
    return _printed("14", commands, sites, rounds, python)


def demo_made(sites: Sites, times: int) -> list[Row]:
    """Ratio 16: the demo made from nothing, in seconds of this machine."""
    took = []
    for nth in range(times):
        began = time.perf_counter()
        make_demo(sites.folder / f"made {nth}", Station("bench", "bench"))
        took.append(time.perf_counter() - began)
    return [at_most("16 the demo made", median(took), 5.0, lambda s: f"{s:.1f} s")]
