"""The pictures of paper rounds, loggers and backups that `pictures.py` takes."""

from __future__ import annotations

import atexit
import shutil
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path

import demo_support
from import_support import keep, written
from pages_in_out import TOLD, logger
from record_transcribe import keys, steps
from sheet_support import begun
from tankwalk.practice.site import open_site
from tankwalk_demo import make
from terminal import Terminal

Steps = Callable[[Terminal], None]
Made = Callable[[Path], None]

AT_THE_DESK = "2026-05-10T09:30"
"""When the sheet of the demo's Sunday is typed in."""


@cache
def _made() -> Path:
    made = Path(tempfile.mkdtemp(prefix="pictures-demo-"))
    atexit.register(shutil.rmtree, made, True)
    make(made / "site", demo_support.STATION)
    return made / "site"


def demo(folder: Path) -> None:
    """A copy of the demo as it stands on its Sunday, made once."""
    shutil.copytree(_made(), folder)


def with_logger(folder: Path) -> None:
    """The demo with a logger's download of T03."""
    demo(folder)
    with tempfile.TemporaryDirectory() as made:
        site = open_site(folder, demo_support.STATION, AT_THE_DESK)
        keep(site, written(Path(made), logger(), "probe.csv"), TOLD, "PB")
        site.close()


def without_stick(folder: Path) -> None:
    """The demo as a site of its own, with a second disk in its plan that is not there."""
    demo(folder)
    plan = folder / "plan.toml"
    words = plan.read_text("utf-8").split("\n")
    kept = [one for one in words if not one.startswith("rehearsal")]
    plan.write_text("\n".join([*kept, "[backup]", 'second = "/media/stick/tankwalk"', ""]), "utf-8")


@cache
def _typed() -> tuple[tuple[str, str, tuple[str, str]], ...]:
    """All that is typed from the sheet, worked out once on a copy of the demo."""
    made = Path(tempfile.mkdtemp(prefix="pictures-sheet-"))
    atexit.register(shutil.rmtree, made, True)
    return tuple(steps(made))


def paper(terminal: Terminal) -> None:
    """From paper: which round is on the sheet?"""
    terminal.press("0")
    terminal.wait("PAGES")
    terminal.press("-")
    terminal.wait("Which round is on the sheet?")


def paper_time(terminal: Terminal) -> None:
    """The time of a stop, from the sheet."""
    paper(terminal)
    begun(terminal)


def _up_to(terminal: Terminal, kind: str, slot: tuple[str, str]) -> None:
    """Type the sheet in up to a question."""
    paper_time(terminal)
    after_skip = False
    for typed, what, here in _typed():
        if (what, here) == (kind, slot):
            return
        terminal.press(*([typed] if after_skip else keys(typed, what)), quiet=0.02)
        after_skip = typed == "/" and what == "values and words"


def paper_twice(terminal: Terminal) -> None:
    """A second entry, with the first one out of sight."""
    _up_to(terminal, "second entries", ("T03", "do"))
    terminal.wait("second time")


def paper_differ(terminal: Terminal) -> None:
    """Two entries that differ: the sheet is looked at, and one is chosen."""
    _up_to(terminal, "entries that differed", ("T03", "do"))
    terminal.wait("Look at the sheet")


def paper_night(terminal: Terminal) -> None:
    """Two entries that differ, in the night look."""
    terminal.press("d")
    paper_differ(terminal)


def logged(terminal: Terminal) -> None:
    """A tank with a logger: `:` behind the looks, and what it wrote in a line below."""
    terminal.press("1")
    terminal.wait("TANK  T07")
    terminal.press(*["left"] * 4)
    terminal.wait("imported")


def logged_plain(terminal: Terminal) -> None:
    """The same in the plain look."""
    terminal.press("d", "d")
    logged(terminal)


def backup_old(terminal: Terminal) -> None:
    """No backup for long, and no second disk in its place: two lines of what is due."""
    terminal.read(6.0)  # it is read after the board stands
    for _ in range(14):
        if "Second disk" in terminal.text():
            break
        terminal.press("down")
    terminal.wait("Second disk")


def help_typed(terminal: Terminal) -> None:
    """The end of the board's help: what is done at the command line."""
    terminal.press("?")
    terminal.wait("HELP")
    for _ in range(20):
        if "tankwalk --help" in terminal.text():
            break
        terminal.press("right")
    terminal.wait("tankwalk --help")


SHOTS: tuple[tuple[str, Steps], ...] = (
    ("paper", paper),
    ("paper-time", paper_time),
    ("paper-twice", paper_twice),
    ("paper-differ", paper_differ),
    ("paper-night", paper_night),
    ("logged", logged),
    ("logged-plain", logged_plain),
    ("backup-old", backup_old),
    ("help-typed", help_typed),
)

SITES: dict[str, tuple[Made, str]] = {
    **{name: (demo, AT_THE_DESK) for name, _ in SHOTS if name.startswith("paper")},
    "logged": (with_logger, AT_THE_DESK),
    "logged-plain": (with_logger, AT_THE_DESK),
    "backup-old": (without_stick, AT_THE_DESK),
}
"""Those that are not of the demo's Sunday at ten to seven."""
