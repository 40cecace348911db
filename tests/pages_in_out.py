"""Pages of what comes in, goes out and is typed in later, for `test_pages.py`: as lines."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path

from demo_support import ANSWERS
from import_support import keep, written
from sheet_support import key_of, typed_in
from site_support import clock_shows, moment
from tankwalk.exchange.incoming.dry_run import Trial
from tankwalk.exchange.incoming.understanding import Told
from tankwalk.pages import board as board_page
from tankwalk.pages import imports as imports_page
from tankwalk.pages import steps as steps_page
from tankwalk.pages import tank as tank_page
from tankwalk.pages import walk as walk_page
from tankwalk.pages.footer import footer
from tankwalk.pages.lines import Line, filled
from tankwalk.pages.walk_past import room_of
from tankwalk.practice.board import board
from tankwalk.practice.dialog import Asking, Hand, Talk
from tankwalk.practice.importing.view import imports
from tankwalk.practice.past.view import place_view
from tankwalk.practice.round.paper_questions import AskSecond, AskStopTime, AskWhich
from tankwalk.practice.site import Site
from tankwalk.practice.tasks import BackupDue, Due
from tankwalk.practice.transcribing import beginning
from tankwalk.practice.transcribing.sheet_walk import SheetWalk

Drawn = Callable[[Site, int, int], list[Line]]

TOLD = Told(source="TL1", place="T03", dates="day-first")
"""What the file does not say."""


def logger(days: int = 5) -> str:
    """A logger's download: hourly, decimal commas, a gap and a value that cannot be."""
    rows = ["Probe TL1, serial 0007", '"#";"Date Time, GMT-05:00";"Temp, \u00b0C"']
    for hour in range(24 * days):
        value = f"{18 + 0.1 * (hour % 24 if hour % 24 < 12 else 24 - hour % 24) / 2:.2f}"
        value = {30: "---", 31: "812,0"}.get(hour, value.replace(".", ","))
        rows.append(f"{hour + 1};{5 + hour // 24:02d}.05.2026 {hour % 24:02d}:00;{value}")
    return "\n".join(rows) + "\n"


def _looked_at(told: Told) -> Drawn:
    """The file beside the demo's record, as it is read with this."""

    def drawn(site: Site, width: int, height: int) -> list[Line]:
        with tempfile.TemporaryDirectory() as folder:
            trial = Trial(site, written(Path(folder), logger(), "probe.csv"), told)
            try:
                trial.lay()
                return imports_page.dry_run(trial.view(), width)
            finally:
                trial.close()

    return drawn


def _kept(site: Site) -> None:
    with tempfile.TemporaryDirectory() as folder:
        keep(site, written(Path(folder), logger(), "probe.csv"), TOLD, "PB")


def _listed(site: Site, width: int, height: int) -> list[Line]:
    _kept(site)
    return imports_page.listed(imports(site), width)


def _tank(site: Site, width: int, height: int) -> list[Line]:
    _kept(site)
    view = place_view(site, "T03", 14)
    return [*tank_page.draw(view, width, height - 1), footer("tank", width)]


def _backup_old(site: Site, width: int, height: int) -> list[Line]:
    """The board where the newest backup is old, and the second disk is not there."""
    left = (
        Due(48.0, BackupDue(2, second=False, there=True)),
        Due(24.0, BackupDue(0, second=True, there=False)),
    )
    return board_page.draw(board(site).with_later((), left), width, height)


def _setup(site: Site) -> Talk:
    yield from beginning.setup(site, Hand())
    return ""


def _beginning(*answers: str) -> Drawn:
    """What is asked before a sheet is typed in, after these answers."""

    def drawn(site: Site, width: int, height: int) -> list[Line]:
        clock_shows(site, "2026-05-10T09:30")
        asking = Asking(_setup(site))
        for one in answers:
            asking.type(one)
        below = steps_page.draw(asking, width)
        return [*filled([], width, height - len(below)), *below]

    return drawn


SheetQuestion = type[AskStopTime] | type[AskSecond] | type[AskWhich]


def _sheet(asked: SheetQuestion | None, here: tuple[str, str] | None = None, *more: str) -> Drawn:
    """The sheet of the demo's Sunday, typed in up to a question; with one slip at T03's oxygen."""

    def drawn(site: Site, width: int, height: int) -> list[Line]:
        clock_shows(site, "2026-05-10T09:30")
        found = beginning.begin(
            site, site.plan.checklist("am"), "PB", "JQ", moment("2026-05-10T06:50")
        )
        walk = SheetWalk(site, found, "PB", "JQ")
        stops = iter(range(15))
        typing = typed_in(
            walk, dict(ANSWERS), lambda _: f"07{4 * next(stops):02d}",
            slips={("T03", "do"): "3.8"},
        )  # fmt: skip
        while not _is(walk.question, asked) or (here is not None and key_of(walk) != here):
            if next(typing, None) is None:
                break
        for one in more:
            walk.answer(one)
        view = walk.view(*room_of(width, height), worked=False, opened=False)
        return walk_page.draw(view, "", width, height)

    return drawn


def _is(question: object, asked: SheetQuestion | None) -> bool:
    return asked is not None and isinstance(question, asked)


PAGES: dict[str, Drawn] = {
    "import-asks": _looked_at(Told()),
    "import": _looked_at(TOLD),
    "imports": _listed,
    "tank-logger": _tank,
    "board-backup": _backup_old,
    "paper-which": _beginning(),
    "paper-began": _beginning("1", "5", "1"),
    "paper-time": _sheet(AskStopTime, None),
    "paper-second": _sheet(AskSecond, ("T03", "do")),
    "paper-differ": _sheet(AskWhich, ("T03", "do")),
    "paper-end": _sheet(None),
}
"""Each drawn anew of the demo on its Sunday."""
