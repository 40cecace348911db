"""Pictures of every screen, taken from the program in a real terminal.

    python tests/pictures.py docs/pictures

Makes one SVG a screen at 80x24, 60x20 and 120x40, and docs/screens.md beside the folder.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

import crowded_support
import demo_support
import pictures_feed
import pictures_in_out
import pictures_past
import weighing_support
from record_round import NOW, give, in_order
from tankwalk_demo import make, morning_answers
from terminal import Terminal

PAPER = """## On paper

Made with `tankwalk handover --html FILE` and `tankwalk sheet --round am --html FILE`, and printed
from a browser: black only, one side of US Letter or A4. The sheet is for a power cut: it asks what
the walk asks, in its order, with the band of today, the last value, and the pad's keys for words.

The report of a trial: `tankwalk trial --html FILE`; its first and third page of paper.

![the report of a trial on paper](pictures/trial-report.png)
![the handover on paper](handover.png)
![the morning round on paper](round-sheet.png)
"""
"""How the page ends; its pictures are taken by hand, with a browser."""

SIZES = ((80, 24), (60, 20), (120, 40))


def to_walk(terminal: Terminal) -> None:
    """From the board to the first stop, as PB."""
    terminal.press("enter")
    terminal.wait("Who is doing this round?")
    terminal.press("5")
    terminal.wait("stop 1 of")


def up_to(terminal: Terminal, place: str, item: str) -> None:
    """Walk with the demo's answers up to, not including, one slot."""
    for slot, answer in in_order(morning_answers()):
        if slot == (place, item):
            return
        give(terminal, answer)


def board(_: Terminal) -> None:
    """The board as the shift begins."""


def who(terminal: Terminal) -> None:
    """Who is doing this round?"""
    terminal.press("enter")
    terminal.wait("Who is doing this round?")


def glance(terminal: Terminal) -> None:
    """The glance lap: eyes only."""
    to_walk(terminal)
    terminal.press("+", "+")


def entry(terminal: Terminal) -> None:
    """A value being typed, large; not kept yet."""
    to_walk(terminal)
    up_to(terminal, "T02", "do")
    terminal.press("8", ".", "3")


def slip(terminal: Terminal) -> None:
    """62.1 typed for a temperature: asked by name, nothing kept."""
    to_walk(terminal)
    up_to(terminal, "T03", "temp")
    terminal.press("6", "2", ".", "1", "enter")
    terminal.wait("2 choose")


def gallons(terminal: Terminal) -> None:
    """A flow of 0.93 where 3.5 was last: gal/min?"""
    to_walk(terminal)
    up_to(terminal, "T04", "flow")
    terminal.press("0", ".", "9", "3", "enter")
    terminal.wait("1 2 choose")


def again(terminal: Terminal) -> None:
    """Out of band: measure again while the probe is in the water."""
    to_walk(terminal)
    up_to(terminal, "T07", "do")
    terminal.press("6", ".", "1", "enter")
    terminal.wait("Measure again")


def first_response(terminal: Terminal) -> None:
    """URGENT, confirmed: what is done first stays in sight while one walks on."""
    to_walk(terminal)
    up_to(terminal, "T07", "do")
    for typed in ("4.8", "4.9"):
        terminal.press(*typed, "enter")
    terminal.wait("Open oxygen")


def flag(terminal: Terminal) -> None:
    """A flag: one step done, a call that reached nobody, the next look."""
    first_response(terminal)
    terminal.press("enter")
    terminal.wait("NOT CALLED YET")
    terminal.press("1")
    terminal.wait("Now look again")
    terminal.press("6", "1", "2")
    terminal.wait("Call kept")


def look(terminal: Terminal) -> None:
    """A look at what is out, a small round of its own; not kept yet."""
    flag(terminal)
    terminal.press("enter", *"5.6")
    terminal.wait("0 of 1")


def looked(terminal: Terminal) -> None:
    """After a look: which way it goes, when it is back at that rate, the next look."""
    look(terminal)
    terminal.press("enter")
    terminal.wait("Stays")


def trouble(terminal: Terminal) -> None:
    """The board while one tank is in trouble."""
    flag(terminal)
    terminal.press("b")
    terminal.wait("BOARD")


def pages(terminal: Terminal) -> None:
    """`0`: every page, and what waits there."""
    terminal.press("0")
    terminal.wait("Esc back")


def wrong_tank(terminal: Terminal) -> None:
    """These belong to another tank: which one?"""
    to_walk(terminal)
    up_to(terminal, "T03", "flow")
    terminal.press("-", "*")
    terminal.wait("belong to which tank?")


def clock(terminal: Terminal) -> None:
    """The clock is behind the record: asked before anything is kept."""
    terminal.press("+")
    terminal.wait("Is the clock right?")


def caution(terminal: Terminal) -> None:
    """The caution before the answer of a dangerous sum."""
    opening(terminal, "bath")
    terminal.press("2", "enter", *"220", "enter", *"10", "enter")
    terminal.wait("I have read it")


def night_board(terminal: Terminal) -> None:
    """The board in trouble, in the night look."""
    trouble(terminal)
    terminal.press("d")


def night_flag(terminal: Terminal) -> None:
    """A flag in the night look."""
    flag(terminal)
    terminal.press("d")


def plain_board(terminal: Terminal) -> None:
    """The board in trouble, in the plain look."""
    trouble(terminal)
    terminal.press("d", "d")


def plain_flag(terminal: Terminal) -> None:
    """A flag in the plain look."""
    flag(terminal)
    terminal.press("d", "d")


def reason(terminal: Terminal) -> None:
    """Not taken, with a reason by number."""
    to_walk(terminal)
    up_to(terminal, "T02", "turbidity")
    terminal.press("/")
    terminal.wait("Why?")


def correction(terminal: Terminal) -> None:
    """A kept value is corrected: the old one stays."""
    to_walk(terminal)
    up_to(terminal, "T02", "ph")
    terminal.press("up", "8", ".", "1", "enter")
    terminal.wait("instead")


def problem(terminal: Terminal) -> None:
    """A problem or a note, by number."""
    to_walk(terminal)
    up_to(terminal, "T02", "screen")
    terminal.press("-")
    terminal.wait("what is it?")


def end(terminal: Terminal) -> None:
    """The end of the round: gaps, flags, signature."""
    to_walk(terminal)
    for _, answer in in_order(morning_answers()):
        give(terminal, answer)
    terminal.wait("End of the round")


def signed(terminal: Terminal) -> None:
    """The board after the round was signed."""
    end(terminal)
    terminal.press("+")
    terminal.wait("Signed by PB")
    terminal.press("enter")
    terminal.wait("TANKS")


def handover(terminal: Terminal) -> None:
    """The handover, drafted from the record."""
    terminal.press("3")
    terminal.wait("STOCK")


def taking(terminal: Terminal) -> None:
    """The room is taken: who, and how."""
    terminal.press("3")
    terminal.wait("STOCK")
    while "Who takes" not in terminal.text():
        terminal.press("*")  # it is read to its end first
    terminal.press("5")
    terminal.wait("How is")


def said_back(terminal: Terminal) -> None:
    """What the one who takes the room says back."""
    taking(terminal)
    terminal.press("3")
    terminal.wait("Which tank is worst?")


def open_list(terminal: Terminal) -> None:
    """What is open: flags, what is altered, what is to do; by number."""
    terminal.press("5")
    terminal.wait("FLAGS")
    terminal.press("1")
    terminal.wait("FLAG ")


def drifting(terminal: Terminal) -> None:
    """The third tank of a meter that reads high: the meter is named, not the tanks."""
    terminal.press("enter")
    terminal.wait("Who is doing this round?")
    terminal.press("1")
    terminal.wait("stop 1 of")
    for value in ("8.6", "8.5", "8.6", "9.3", "9.4", "9.3"):
        terminal.press(*value, "enter")
    terminal.wait("one meter")


def crowded(_: Terminal) -> None:
    """Everything is wrong at once: forty flags in twelve tanks."""


def away(_: Terminal) -> None:
    """A room nobody entered for a week: the gap, what is overdue, what the last handover said."""


def meters(terminal: Terminal) -> None:
    """The meters: when each was checked, as found of late, what is overdue."""
    terminal.press("6")
    terminal.wait("METERS")


def help_(terminal: Terminal) -> None:
    """Help for the item that is asked, and every key."""
    to_walk(terminal)
    up_to(terminal, "T01", "do")
    terminal.press("?")
    terminal.wait("HELP")


def worked(terminal: Terminal) -> None:
    """What follows from the readings of a tank, at the foot of its page."""
    to_walk(terminal)
    up_to(terminal, "T01", "flow")
    terminal.wait("NH3-N")


def behind(terminal: Terminal) -> None:
    """`w` there: the working of the value, with the readings it was made from."""
    worked(terminal)
    terminal.press("up", "w")
    terminal.wait("Equation")


def finding(terminal: Terminal) -> None:
    """The Workings: letters find a calculator."""
    terminal.press("4")
    terminal.wait("Find: _")
    terminal.press("s", "a", "l")
    terminal.wait("Find: sal_")


def opening(terminal: Terminal, name: str) -> None:
    """From the board to a calculator."""
    terminal.press("4")
    terminal.wait("Find: _")
    terminal.press(*name, "enter")
    terminal.wait("Enter next")


def ammonia(terminal: Terminal) -> None:
    """Un-ionized ammonia with its working: the answer follows the typing."""
    opening(terminal, "ammonia")
    terminal.press("0", ".", "5", "2", "enter", "7", ".", "6", "2", "enter", *"16.5")
    terminal.wait("16.5_")


def dose(terminal: Terminal) -> None:
    """A dose ten times the usual is asked a second time before it is kept."""
    opening(terminal, "bicarbonate-r")
    terminal.press(*"3600", "enter", *"2500", "+")
    terminal.wait("Keep it as what?")
    terminal.press("2")
    terminal.wait("Who keeps it?")
    terminal.press("4")
    terminal.wait("Who decided")


def night(terminal: Terminal) -> None:
    """The night look, for dark rooms."""
    terminal.press("d")
    to_walk(terminal)
    up_to(terminal, "T01", "do")
    terminal.press("8")


def bare(terminal: Terminal) -> None:
    """The plain look: bold and inverse video only."""
    terminal.press("d", "d")
    terminal.press("enter")
    terminal.wait("Who is doing this round?")


def drifting_room(folder: Path) -> None:
    """A quiet week in a room of two loops and two meters."""
    with weighing_support.room(folder):
        pass


def crowded_room(folder: Path) -> None:
    """The demo on a morning on which everything is wrong."""
    crowded_support.crowded(folder).close()


def demo_room(folder: Path) -> None:
    """The demo as it stands on its Sunday."""
    make(folder, demo_support.STATION)


OWN_SITE: dict[str, tuple[Callable[[Path], None], str]] = {
    "drifting": (drifting_room, "2026-05-10T07:00"),
    "crowded": (crowded_room, crowded_support.NOW),
    "away": (demo_room, "2026-05-17T08:50"),
    "clock": (demo_room, "2026-05-09T06:50"),
    **pictures_feed.SITES,
    **pictures_past.SITES,
    **pictures_in_out.SITES,
}
"""Pictures that are not of the demo's Sunday: what makes their site, and when they are taken."""

SHOTS: tuple[tuple[str, Callable[[Terminal], None]], ...] = (
    ("board", board),
    ("crowded", crowded),
    ("away", away),
    ("who", who),
    ("glance", glance),
    ("entry", entry),
    ("slip", slip),
    ("gallons", gallons),
    ("again", again),
    ("first-response", first_response),
    ("flag", flag),
    ("look", look),
    ("looked", looked),
    ("trouble", trouble),
    ("night-board", night_board),
    ("night-flag", night_flag),
    ("plain-board", plain_board),
    ("plain-flag", plain_flag),
    ("pages", pages),
    ("wrong-tank", wrong_tank),
    ("caution", caution),
    ("clock", clock),
    ("drifting", drifting),
    ("reason", reason),
    ("correction", correction),
    ("problem", problem),
    ("end", end),
    ("signed", signed),
    ("handover", handover),
    ("taking", taking),
    ("said-back", said_back),
    ("open-list", open_list),
    ("meters", meters),
    ("worked", worked),
    ("behind", behind),
    ("workings", finding),
    ("ammonia", ammonia),
    ("dose", dose),
    ("help", help_),
    ("night", night),
    ("plain", bare),
    *pictures_feed.SHOTS,
    *pictures_past.SHOTS,
    *pictures_in_out.SHOTS,
)


def _copied(base: Path, folder: Path) -> None:
    shutil.copytree(base, folder)


def listing(target: Path) -> None:
    """docs/screens.md: every picture under what it shows, and an index by name before them."""
    page = ["# Screens", "", "Taken from the program in a terminal by `tests/pictures.py`, in the "
            f"demo on the morning of day 21 (`--now {NOW}`) where nothing else is said. What the "
            "eye meets first on each page: [looks.md](looks.md).", ""]  # fmt: skip
    index = ", ".join(f"[{name}]({target.name}/{name}-80x24.svg)" for name, _ in SHOTS)
    page += [f"By name, at 80x24: {index}.", ""]
    for name, steps in SHOTS:
        page += [f"## {(steps.__doc__ or name).strip()}", ""]
        for columns, rows in SIZES:
            file = f"{target.name}/{name}-{columns}x{rows}.svg"
            page.append(f"![{name} at {columns}x{rows}]({file})")
        page.append("")
    (target.parent / "screens.md").write_text("\n".join([*page, PAPER]), "utf-8")


def main(target: Path, only: set[str]) -> None:
    target.mkdir(parents=True, exist_ok=True)
    listing(target)
    with tempfile.TemporaryDirectory() as made:
        env = {"TANKWALK_HOME": made}
        base = Path(made) / "demo"
        with Terminal([sys.executable, "-m", "tankwalk", "demo"], env, (80, 24)) as first:
            first.wait("TANKS", 60)
        for name, steps in SHOTS:
            if only and name not in only:
                continue
            for columns, rows in SIZES:
                file = f"{name}-{columns}x{rows}.svg"
                site = Path(made) / f"site-{name}-{columns}"
                make, now = OWN_SITE.get(name, (lambda folder: _copied(base, folder), NOW))
                make(site)
                command = [sys.executable, "-m", "tankwalk", "--site", str(site), "--now", now]
                with Terminal(command, env, (columns, rows)) as terminal:
                    terminal.wait("TANKS", 30)
                    steps(terminal)
                    terminal.read(0.2)
                    (target / file).write_text(terminal.svg(f"{name} {columns}x{rows}"), "utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]), set(sys.argv[2:]))
