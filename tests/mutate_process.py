"""A test run in a process of its own, with one module changed, for tests/mutate.py.

No source is written: the child finds the changed module before the written one.
"""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Callable, Sequence
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec, SourceFileLoader
from importlib.util import spec_from_file_location
from pathlib import Path
from types import CodeType

import pytest

ROOT = Path(__file__).parent.parent

NOTICED = (pytest.ExitCode.TESTS_FAILED, pytest.ExitCode.INTERRUPTED)
"""How pytest ends where a test failed, and where a module could not even be imported."""


class Loader(SourceFileLoader):
    """Loads a module from code that is not in its file."""

    def __init__(self, name: str, path: str, code: CodeType) -> None:
        super().__init__(name, path)
        self._changed = code

    def get_code(self, fullname: str) -> CodeType:
        return self._changed


class Finder(MetaPathFinder):
    """Answers for one module, before anything else is asked; `name` begins with "tankwalk."."""

    def __init__(self, name: str, path: Path, code: CodeType) -> None:
        self.name = name.removesuffix(".__init__")
        self.path, self.code = str(path), code

    def find_spec(self, fullname: str, path: object, target: object = None) -> ModuleSpec | None:
        if fullname != self.name:
            return None
        loader = Loader(fullname, self.path, self.code)
        return spec_from_file_location(fullname, self.path, loader=loader)


def run(files: Sequence[str], *more: str, plugins: Sequence[object] = ()) -> int:
    """pytest in this process, up to the first failure; its exit status."""
    plain = ["-x", "-q", "-n0", "-p", "no:cacheprovider", "--rootdir", str(ROOT)]
    # hypothesis is loaded already, so its asserts are not rewritten; nobody here reads them.
    quiet = ["-W", "ignore::pytest.PytestAssertRewriteWarning"]
    return int(pytest.main([*plain, *quiet, *more, *files], plugins=[*plugins]))


def fork(work: Callable[[], int], output: Path | None = None) -> int:
    """A child that does this and leaves with its number; its process id."""
    sys.stdout.flush()
    pid = os.fork()
    if pid:
        return pid
    status = int(pytest.ExitCode.INTERNAL_ERROR)
    try:
        os.setsid()  # its own children go with it, and Ctrl+C reaches this process alone
        to = os.open(output or os.devnull, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        for stream in (1, 2):
            os.dup2(to, stream)
        status = work()
    finally:
        os._exit(status)


def end(pid: int) -> None:
    """End a child of ours and whatever it started."""
    try:
        os.killpg(pid, signal.SIGKILL)
    except ProcessLookupError:
        os.kill(pid, signal.SIGKILL)
    os.waitpid(pid, 0)
