"""The demo: made, opened, printed, entered anew."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tankwalk.commands.common import (
    PRINT_WIDTH,
    begun_anew,
    on_screen,
    open_site_of,
    shares,
    station,
    terminal,
)
from tankwalk.commands.pages import board_text, handover_text
from tankwalk.errors import Refusal

if TYPE_CHECKING:
    import argparse
    from pathlib import Path


def demo(arguments: argparse.Namespace) -> int:
    """Make the demo where it is not there, and open it; without a terminal print it."""
    if arguments.replay:
        return _replay()
    from pathlib import Path

    from tankwalk import paths

    folder = Path(arguments.to) if arguments.to else paths.home(paths.environment()) / "demo"
    ready = (folder / paths.PLAN).exists()
    if ready and arguments.anew:
        _drop_demo(folder)
        ready = False
    if not ready:
        _make_demo(folder, arguments.now)
    site = open_site_of(arguments, folder)
    if terminal():
        return on_screen(site)
    with_pages = [board_text(site, PRINT_WIDTH), "", handover_text(site, PRINT_WIDTH)]
    print("\n".join(with_pages))
    print(f"\nThe demo site is in {folder}. In a terminal this command opens it.")
    site.close()
    return 0


def _replay() -> int:
    """Enter the demo's season anew and print every flag as it came up, and how many a day."""
    from pathlib import Path
    from tempfile import TemporaryDirectory

    from tankwalk_demo.replay import days, line, replay

    with TemporaryDirectory() as folder:
        seen = replay(Path(folder), heard=lambda one: print(line(one), flush=True))
    print(f"\n{days(seen.flags)}")
    return 0


def _drop_demo(folder: Path) -> None:
    """Remove a demo site that this program made, and nothing else."""
    from tankwalk import paths
    from tankwalk.ledger.store import FILE
    from tankwalk.plan.file import load

    if load(folder / paths.PLAN).rehearsal is None:
        raise Refusal(f"{folder} holds a working site, no demo: nothing was dropped.")
    for name in (paths.PLAN, FILE, FILE + "-journal"):
        (folder / name).unlink(missing_ok=True)


def _make_demo(folder: Path, now: str | None) -> None:
    from tankwalk.clock import parse_instant, zone
    from tankwalk_demo import make
    from tankwalk_demo.room import plan

    begun_anew(folder)
    until = None if now is None else parse_instant(now, zone(plan().zone))
    make(folder, station(), until=until, progress=shares("Making the demo site"))
