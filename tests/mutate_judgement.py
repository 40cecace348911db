"""Do the tests hold the judgement? A sample of small changes to it, each with the tests it meets.

    python tests/mutate.py --judgement [--sample 60] [--seed 1] [--module practice/judging]

So many changes are drawn from each room by the seed, or all where it has fewer. For each a child
is forked that runs the tests which run the changed line, fastest first, up to the first failure
or `--most` seconds of tests, as they took when they were recorded. The demo's record is
made once, by the written program.
"""

from __future__ import annotations

import gc
import importlib
import os
import signal
import sys
import time
import warnings
from collections.abc import Sequence
from pathlib import Path
from random import Random
from resource import RLIMIT_CPU, setrlimit
from tempfile import TemporaryDirectory
from typing import NamedTuple

import pytest
from hypothesis import Phase, settings

from mutate_changes import ROOT, Change, Source, mutant, sources
from mutate_lines import Ran, at_home, quick, recorded, tests_of
from mutate_process import NOTICED, Finder, fork, run
from mutate_reasons import JUDGEMENT

LIBRARIES = ("textual.app", "rich.segment", "sqlite_utils", "pint", "hypothesis.strategies")
SECONDS = 60
"""A child that runs for longer, by the processor or three times that by the clock, is noticed."""
FEWEST = 85.0
"""Percent of the changes of a room that have to be noticed."""


class Tried(NamedTuple):
    """A change, whether a test noticed it, and how many tests ran its line."""

    source: Source
    change: Change
    killed: bool
    tests: int

    @property
    def reason(self) -> str:
        return JUDGEMENT.get((self.source.name, self.change.text, self.change.what), "")


class Chosen:
    """A plugin of pytest: these tests in this order."""

    def __init__(self, nodes: Sequence[str]) -> None:
        self._place = {node: nth for nth, node in enumerate(nodes)}

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = sorted(
            (item for item in items if item.nodeid in self._place),
            key=lambda item: self._place[item.nodeid],
        )


def prepare() -> None:
    """Load what every child needs, and nothing of ours."""
    sys.dont_write_bytecode = False
    for folder in ("src", "demo"):
        sys.path.insert(0, str(ROOT / folder))
    os.chdir(ROOT)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for name in LIBRARIES:
            importlib.import_module(name)
    settings.register_profile(
        "mutate", max_examples=25, derandomize=True, database=None, deadline=None,
        phases=(Phase.explicit, Phase.generate),
    )  # fmt: skip
    assert not any(name.split(".")[0] == "tankwalk" for name in sys.modules)
    gc.freeze()


def make_demo(folder: Path) -> Path:
    """The demo's record, made in a child by the program as it is written."""

    def work() -> int:
        from demo_support import until
        from shared_support import share_in
        from tankwalk_demo.scenario import rehearsal

        share_in(folder)
        until(rehearsal())
        return 0

    os.waitpid(fork(work), 0)
    return folder


def tried(source: Source, change: Change, tests: Sequence[Ran], demo: Path, most: float) -> bool:
    """Whether one of the tests fails with the change made."""
    took, nodes = 0.0, []
    for one in tests:
        nodes.append(one.node)
        took += one.seconds
        if took > most:
            break
    if not nodes:
        return False
    with TemporaryDirectory() as made:

        def work() -> int:
            setrlimit(RLIMIT_CPU, (SECONDS, SECONDS + 5))
            signal.alarm(3 * SECONDS)
            at_home(Path(made), demo)
            name = "tankwalk." + source.name.replace("/", ".")
            sys.meta_path.insert(0, Finder(name, source.path, mutant(source, change)))
            files = sorted({node.split("::")[0] for node in nodes})
            return run(files, *quick(Path(made)), plugins=[Chosen(nodes)])

        _, status = os.waitpid(fork(work), 0)
    if os.WIFSIGNALED(status):
        return os.WTERMSIG(status) in (signal.SIGXCPU, signal.SIGKILL, signal.SIGALRM)
    return os.WEXITSTATUS(status) in NOTICED


def drawn(chosen: Sequence[Source], sample: int, seed: int) -> list[tuple[Source, Change]]:
    """So many changes of each room by the seed, in the order of the files."""
    rooms: dict[str, list[tuple[Source, Change]]] = {}
    for source in chosen:
        rooms.setdefault(source.room, []).extend((source, change) for change in source.changes)
    found: list[tuple[Source, Change]] = []
    for room, changes in rooms.items():
        take = Random(f"{seed}/{room}").sample(range(len(changes)), min(sample, len(changes)))
        found += [changes[nth] for nth in sorted(take)]
    return found


def gone(every: Sequence[Source]) -> list[tuple[str, str, str]]:
    """Reasons whose line was rewritten or moved: they hold for nothing."""
    known = {(source.name, one.text, one.what) for source in every for one in source.changes}
    return [key for key in JUDGEMENT if key not in known]


def table(done: Sequence[Tried]) -> list[str]:
    """Noticed changes by room and file."""
    lines = ["| where | changes | noticed | percent |", "| --- | ---: | ---: | ---: |"]
    for key in ("name", "room"):
        groups: dict[str, list[Tried]] = {}
        for one in done:
            groups.setdefault(getattr(one.source, key), []).append(one)
        for name, here in groups.items():
            killed = sum(one.killed for one in here)
            where = f"**{name}**" if key == "room" else name
            lines.append(f"| {where} | {len(here)} | {killed} | {100 * killed / len(here):.0f} |")
    return lines


def check(
    sample: int, seed: int, modules: Sequence[str] | None, tests: Sequence[str], most: float
) -> int:
    """Draw, try and tell; 1 where the tests hold too few of a room's changes."""
    prepare()
    every = sources()
    for reason in gone(every):
        print("a reason for a change that there is no more:", *reason)
    chosen = [s for s in every if modules is None or s.name in modules or s.room in modules]
    done: list[Tried] = []
    with TemporaryDirectory() as made:
        demo = make_demo(Path(made) / "demo")
        ran = recorded(tests, demo)
        began = time.monotonic()
        for source, change in drawn(chosen, sample, seed):
            here = tests_of(source, change, ran)
            one = Tried(source, change, tried(source, change, here, demo, most), len(here))
            done.append(one)
            if not one.killed:
                print(f"survived: {source.path.relative_to(ROOT)}:{change.line} {change.what}: "
                      f"{change.text}  [{len(here)} tests] {one.reason}", flush=True)  # fmt: skip
            if len(done) % 10 == 0:
                caught = sum(each.killed for each in done)
                took = time.monotonic() - began
                print(f"{len(done)} tried, {caught} noticed, {took:.0f} s", flush=True)
    print(*table(done), sep="\n")
    rooms = {one.source.room for one in done}
    shares = [[t.killed or bool(t.reason) for t in done if t.source.room == r] for r in rooms]
    return 0 if all(100 * sum(s) >= FEWEST * len(s) for s in shares) else 1
