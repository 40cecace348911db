"""Which tests run a line of what judges and keeps, and how long each takes: recorded once.

Each file of tests runs in a child of its own under a trace that notes file and line. What was
recorded is kept beside pytest's cache, and made anew for a file of tests when it or anything in
`src` was saved since. A test that drives the program as another process runs no line here.
"""

from __future__ import annotations

import hashlib
import os
import pickle
import sys
import time
from collections import Counter
from collections.abc import Generator, Iterable
from pathlib import Path
from tempfile import TemporaryDirectory
from types import CodeType, FrameType
from typing import Any, NamedTuple

import pytest

from mutate_changes import ROOT, Change, Source, lines_naming, sources
from mutate_process import fork, run

TESTS = ROOT / "tests"
KEPT = ROOT / ".pytest_cache" / "mutate-lines"
ELSEWHERE = ("test_science_", "test_outside", "test_calc", "test_mutate", "test_terminal")
"""How files of tests begin that run no line of a room in this process."""
LONG = ("test_chance", "test_demo", "test_replay")
"""Whole seasons: minutes a file, and what they hold is a rate, or the demo and not a rule."""
OFTEN = 200
"""A function that a test calls more often is followed so many times: a trace is slow."""

Line = tuple[str, int]


class Ran(NamedTuple):
    """One test that passed: its node, how many seconds of the processor, the lines it ran."""

    node: str
    seconds: float
    lines: frozenset[Line]


class Recorder:
    """A plugin of pytest that notes which lines each test runs, in the files it is told."""

    def __init__(self, files: Iterable[Path]) -> None:
        self._files = {str(path) for path in files}
        self._lines: set[Line] = set()
        self._calls: Counter[CodeType] = Counter()
        self.ran: list[Ran] = []
        self._failed = False

    def _enter(self, frame: FrameType, event: str, arg: object) -> Any:
        code = frame.f_code
        if code.co_filename not in self._files:
            return None
        self._calls[code] += 1
        return self._line if self._calls[code] <= OFTEN else None

    def _line(self, frame: FrameType, event: str, arg: object) -> Any:
        self._lines.add((frame.f_code.co_filename, frame.f_lineno))
        return self._line

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Generator[None, object, object]:
        self._lines, self._failed = set(), False
        self._calls.clear()
        began = time.process_time()
        sys.settrace(self._enter)
        try:
            return (yield)
        finally:
            sys.settrace(None)
            if not self._failed and self._lines:
                took = time.process_time() - began
                self.ran.append(Ran(item.nodeid, took, frozenset(self._lines)))

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self._failed = self._failed or report.failed or report.skipped


def recorded(globs: Iterable[str], demo: Path) -> list[Ran]:
    """Every test of these files that runs a line of a room; recorded now where need be.

    `demo` is what tests share, made already: else one test of each file would seem to take the
    minutes in which it is made, and to run all the lines that make it.
    """
    files = [source.path for source in sources()]
    KEPT.mkdir(parents=True, exist_ok=True)
    written = b"".join(path.read_bytes() for path in sorted((ROOT / "src").rglob("*.py")))
    found: list[Ran] = []
    for tests in sorted({path for one in globs for path in TESTS.glob(one)}):
        if tests.name.startswith(ELSEWHERE + LONG):
            continue
        digest = hashlib.sha256(written + tests.read_bytes()).hexdigest()
        kept = KEPT / f"{digest[:20]}.{tests.stem}"
        if not kept.exists():
            for old in KEPT.glob(f"*.{tests.stem}"):
                old.unlink()
            began = time.monotonic()
            _record(tests, files, kept, demo)
            print(f"{tests.name}: recorded, {time.monotonic() - began:.0f} s", flush=True)
        found += pickle.loads(kept.read_bytes()) if kept.exists() else []
    return found


def _record(tests: Path, files: list[Path], kept: Path, demo: Path) -> None:
    with TemporaryDirectory() as made:

        def work() -> int:
            recorder = Recorder(files)
            at_home(Path(made), demo)
            status = run([str(tests)], *quick(Path(made)), "--maxfail=1000", plugins=[recorder])
            kept.write_bytes(pickle.dumps(recorder.ran))
            return status

        output = Path(made) / "output"
        _, status = os.waitpid(fork(work, output), 0)
        if status:
            print(f"{tests.name}: what fails is left out.\n{output.read_text('utf-8')[-2000:]}")


def quick(folder: Path) -> list[str]:
    """Arguments of a run that keeps its files in a folder that is thrown away."""
    return ["--tb=no", "--hypothesis-profile=mutate", f"--basetemp={folder / 'base'}"]


def at_home(folder: Path, demo: Path) -> None:
    """Let what a test makes be thrown away with the folder, and what lies in `demo` be found.

    What a changed program makes for all of a run is not left to the next run.
    """
    import tempfile

    import shared_support

    tempfile.tempdir = str(folder)
    own = folder / "shared"
    own.mkdir()
    for one in demo.iterdir():
        (own / one.name).symlink_to(one)
    shared_support.share_in(own)
    vars(shared_support)["share_in"] = lambda _: None  # conftest.py would have it made anew


def tests_of(source: Source, change: Change, ran: Iterable[Ran]) -> list[Ran]:
    """The tests that run a changed line, the fastest first.

    What stands at the head of a module runs when it is imported: there the lines count that use
    the constant, and where it names none, all of the file.
    """
    wanted = {(str(source.path), line) for line in range(change.line, change.end + 1)}
    for name in change.names:
        for path, lines in lines_naming(name).items():
            wanted |= {(str(path), line) for line in lines}
    found = [one for one in ran if not wanted.isdisjoint(one.lines)]
    return sorted(found, key=lambda one: (one.seconds, one.node))
