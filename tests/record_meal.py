"""Records a whole meal of 12 tanks of the demo in a real terminal, with number-pad keys alone.

    python tests/record_meal.py docs/first-meal.txt

The meal of 14:00 on the day of the late, poor hatch: there is less live feed than the rations, and
somebody holds a wrong cup before T02. The same meal is then given line by line, and both records
are held against each other. The clock is fixed: only the seconds differ between runs.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

import shared_support
from demo_support import STATION, cut
from record_round import PAD
from site_support import moment, surroundings, typed_lines
from tankwalk.practice.site import open_site
from terminal import Terminal

NOW = "2026-05-04T13:58"
MEAL = "2026-05-04T14:00"
WHO = "JQ"
NUMBER = "1"
"""Their number in the list of people."""

RESPONSES = {"T07": "2", "T11": "2"}
"""How they went for it, where not eagerly, by its number."""

WRONG = ("/", "5", "1", *"300", "enter")
"""Before T02, whose live feed ended yesterday: another feed, nauplii, 300 mL."""


def main(target: Path) -> None:
    with tempfile.TemporaryDirectory() as folder:
        lines = record(Path(folder))
    target.write_text("\n".join(lines) + "\n", "utf-8")


def record(folder: Path) -> list[str]:
    """Cut the demo, give the meal twice, and tell it."""
    shared_support.share_in(folder / "shared")
    screen, plain = folder / "screen", folder / "plain"
    for site in (screen, plain):
        cut(site, moment(NOW))
    pressed: list[str] = []
    command = [sys.executable, "-m", "tankwalk", "--site", str(screen), "--now", NOW]
    with Terminal(command, {"TANKWALK_HOME": str(folder / "home")}, (80, 24)) as terminal:

        def press(*keys: str) -> None:
            assert set(keys) <= PAD, keys
            pressed.extend(keys)
            terminal.press(*keys, quiet=0.03)

        terminal.wait("Room", 30)
        press("2")
        terminal.wait("make up")
        listed = terminal.text()
        press("enter", NUMBER)
        terminal.wait("tank 1 of 12")
        first = terminal.text()
        before = len(pressed)
        began = time.monotonic()
        stopped = ""
        for tank in (f"T{n:02}" for n in range(1, 13)):
            terminal.wait(f"\n {tank}  ")
            if tank == "T02":
                press(*WRONG)
                terminal.wait("Continue?")
                stopped = terminal.text()
                press("+")
            press("+", RESPONSES.get(tank, "1"))
        terminal.wait("12 of 12 tanks fed")
        seconds = time.monotonic() - began
        keys = len(pressed) - before - len(WRONG) - 1
        end = terminal.text()
    program = subprocess.run(
        [sys.executable, "-m", "tankwalk", "feed", "--plain", "--who", WHO, "--site", str(plain),
         "--now", NOW],
        input=typed_lines(line_by_line()),
        capture_output=True,
        env=surroundings(folder / "home"),
        check=False,
    )  # fmt: skip
    same = given(screen) == given(plain)
    return [
        "A meal of 12 tanks in the demo after the late, poor hatch, 80x24, number-pad keys only.",
        f"Made by tests/record_meal.py with --now {NOW}.",
        "",
        f"keys for 12 tanks     {keys}: + as listed and the number of the response, "
        f"{keys / 12:.0f} a tank",
        f"keys of the wrong cup {len(WRONG) + 1}: stopped before anything was kept",
        f"seconds               {seconds:.1f} (no hand and no cup: the program's own share, with "
        "a 0.03 s wait after every key)",
        f"line by line          status {program.returncode}, the same entries: "
        f"{'yes' if same else 'NO'}",
        "",
        "=== the list: a short ration, shared by a rule that is said ===",
        listed,
        "",
        "=== the first tank ===",
        first,
        "",
        "=== a wrong cup before T02 ===",
        stopped,
        "",
        "=== the end ===",
        end,
        "",
        "=== the same meal line by line ===",
        program.stdout.decode("utf-8").rstrip(),
    ]


def line_by_line() -> Sequence[str]:
    """The same keys as lines: what is typed for a value is one of them."""
    lines: list[str] = []
    for tank in (f"T{n:02}" for n in range(1, 13)):
        if tank == "T02":
            lines += ["/", "5", "1", "300", "+"]
        lines += ["+", RESPONSES.get(tank, "1")]
    return lines


def given(folder: Path) -> list[tuple[str, str, float, float | None, int | None]]:
    """What the record holds of the meal: tank, feed, amount, full ration, planned meal."""
    with closing(open_site(folder, STATION, NOW)) as site:
        found = site.reader.feeding.meals(moment(MEAL).utc - 3600)
        return [(one.place, one.feed, one.amount, one.planned, one.meal_at) for one in found]


if __name__ == "__main__":
    main(Path(sys.argv[1]))
