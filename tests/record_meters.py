"""Records, in a real terminal, what is said at each tank when a meter reads wrong, and once mended.

    python tests/record_meters.py docs/judging-meters.txt

The demo's Sunday, before the morning's checks. Two meters are dealt across the loop, and B reads
0.6 mg/L high; one meter reads all twelve tanks, and 0.6 mg/L low; then B fails its check, gets a
new cap and passes, and the tanks are read again. Nothing but oxygen is typed.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from shutil import copytree

from tankwalk_demo.room import plan
from terminal import Terminal

SIZE = (80, 24)
MADE, SUNDAY, FAILED, PASSED, MONDAY = (
    "2026-05-09T16:30", "2026-05-10T06:50", "2026-05-10T09:10", "2026-05-10T09:40",
    "2026-05-11T06:50",
)  # fmt: skip
TRUE = {
    "T01": 8.3, "T02": 8.3, "T03": 8.3, "T04": 8.3, "T05": 8.4, "T06": 8.2,
    "T07": 8.2, "T08": 8.4, "T09": 8.5, "T10": 8.2, "T11": 8.4, "T12": 8.3,
}  # fmt: skip
"""What is in the water, mg/L: the demo's own Sunday, with T07 as its sisters."""
OFF = 0.6
"""What a bad meter adds or takes, mg/L."""
MARKS = (" ? ", " ! ", " !! ", " !!! ")
"""How the row begins in which the program says what it thinks of a value."""
MANY = 40
"""Keys after which a line that is not there will not come."""


def planned(tank: str) -> str:
    """The meter that the plan gives to a tank."""
    item = plan().item("do")
    return next(m.code for m in plan().instruments if m.kind == item.instrument and tank in m.tanks)


def stand(terminal: Terminal, tank: str, meter: str) -> None:
    """Stand at a tank's oxygen, with a meter in hand."""
    for _ in range(MANY):
        if terminal.line(1).strip().startswith(tank):
            break
        terminal.press("right")
    for _ in range(MANY):
        if any(terminal.line(row).startswith(" > Oxygen") for row in range(15)):
            break
        terminal.press("down")
    for _ in range(MANY):
        if f"meter {meter}" in terminal.line(14):
            return
        terminal.press("m")
    raise AssertionError(f"no oxygen of {tank} with meter {meter} on:\n{terminal.text()}")


def read(terminal: Terminal, tank: str, meter: str, value: float) -> list[str]:
    """Type one tank's oxygen, and again where a second reading is asked: what was said."""
    stand(terminal, tank, meter)
    told = [f"{tank}, meter {meter}, {value:.1f}"]
    for nth in ("", "again"):
        if nth:
            told.append(f"    {value:.1f} again")
        before = terminal.text()
        terminal.press(*f"{value:.1f}", "enter")
        _wait(terminal, before)
        terminal.read(0.3)
        told += [f"    |{row}" for row in said(terminal) if row.strip()]
        if "0-9 second" not in terminal.line(-1):
            break
    return told


def _wait(terminal: Terminal, before: str) -> None:
    """Until the page has answered."""
    terminal.until(lambda: terminal.text() != before, "an answer")


def said(terminal: Terminal) -> list[str]:
    """The rows below the large digits: what is said of the place or the value, what was kept."""
    rows = [terminal.line(row) for row in range(15, 23)]
    marked = (nth for nth, row in enumerate(rows) if row.startswith(MARKS))
    return rows[next(marked, len(rows) - 1) :]


def walked(
    site: Path,
    env: dict[str, str],
    now: str,
    meter: Callable[[str], str],
    shown: Callable[[str, str], float],
) -> list[str]:
    """Oxygen of all tanks on the Walk, and the board after it."""
    command = [sys.executable, "-m", "tankwalk", "--site", str(site), "--now", now]
    told = []
    with Terminal([*command, "walk", "--who", "PB", "--round", "am"], env, SIZE) as terminal:
        terminal.wait("stop 1 of", 60)
        for tank in TRUE:
            told += read(terminal, tank, meter(tank), shown(tank, meter(tank)))
        terminal.press("b")
        terminal.wait("TANKS")
        terminal.read(0.5)
        board = terminal.text().split("\n")
    wrong = next(nth for nth, row in enumerate(board) if row.startswith(" WRONG"))
    until = next(nth for nth, row in enumerate(board) if row.startswith(" TANKS"))
    return [*told, "", "the board:", *(f"    |{row}" for row in board[wrong:until])]


def run(site: Path, env: dict[str, str], now: str, *words: str) -> list[str]:
    """A command and what it prints."""
    done = subprocess.run(
        [sys.executable, "-m", "tankwalk", "--site", str(site), "--now", now, *words],
        env={**os.environ, **env}, text=True, capture_output=True, check=False,
        stdin=subprocess.DEVNULL,
    )  # fmt: skip
    rows = (done.stdout + done.stderr).rstrip().split("\n")
    return [f"$ tankwalk {' '.join(words)}   (--now {now})", *(f"    |{row}" for row in rows)]


def record(folder: Path) -> list[str]:
    """The three cases."""
    env = {"TANKWALK_HOME": str(folder / "home")}
    two, one = folder / "two", folder / "one"
    run(two, env, MADE, "demo", "--to", str(two))
    copytree(two, one)
    return [
        "=== Two meters, as the plan deals them; B reads 0.6 high; both passed 24 h ago ===", "",
        *walked(two, env, SUNDAY, planned, lambda t, m: TRUE[t] + OFF * (m == "B")), "",
        "=== One meter reads all tanks of the loop, and 0.6 low ===", "",
        *walked(one, env, SUNDAY, lambda _t: "A", lambda t, _m: TRUE[t] - OFF), "",
        "=== B fails its check, gets a new cap and passes; the tanks the next morning ===", "",
        *run(two, env, FAILED, "meters", "B", "--found", "107.5", "--who", "PB"), "",
        *run(two, env, PASSED, "meters", "B", "--found", "100.2", "--who", "MV"), "",
        *walked(two, env, MONDAY, planned, lambda t, _m: TRUE[t]),
    ]  # fmt: skip


def main(target: Path) -> None:
    with tempfile.TemporaryDirectory() as folder:
        lines = record(Path(folder))
    head = [
        "What is said at each tank while a meter reads wrong, and after it was mended.",
        "Recorded in a terminal of 80x24 by `python tests/record_meters.py`: the rows in which the",
        "program speaks, after each value.",
        "",
    ]
    target.write_text("\n".join(row.rstrip() for row in [*head, *lines]) + "\n", "utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
