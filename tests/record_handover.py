"""Records a handover given and taken in a real terminal, with what it says back.

    python tests/record_handover.py docs/first-handover.txt

Writes the screens on the way, the keys, and the seconds. What a hand needs for the keys is worked
out beside it: the program's own share is small.
"""

from __future__ import annotations

import re
import sys
import tempfile
import time
from pathlib import Path

from terminal import Terminal

NOW = "2026-05-09T16:20"
"""Saturday of the demo, after the handover of the day was given and before anybody took one."""

GLOVED = 0.5
"""Seconds a key with gloves on: common practice, no source."""
THINK = 1.35
"""Seconds of thought before a choice: keystroke-level model, Card et al. 1980 (from memory)."""

LINE = "T07 screen: look before eight"


def answer(terminal: Terminal, right: str) -> str:
    """The number of the choice that holds these words."""
    found = re.search(rf"(\d) {right}", terminal.text().rsplit("?\n", 1)[-1])
    assert found, terminal.text()
    return found[1]


def record(folder: Path) -> list[str]:
    """Give the room as RO with a line of one's own, take it as PB and say it back."""
    env = {"TANKWALK_HOME": str(folder)}
    command = [sys.executable, "-m", "tankwalk", "demo", "--now", NOW]
    keys: list[str] = []
    choices = 0
    shown: list[str] = []
    with Terminal(command, env, (80, 24)) as terminal:
        terminal.wait("do it", 60)
        began = time.monotonic()

        def press(*pressed: str, until: str) -> None:
            nonlocal choices
            keys.extend(pressed)
            choices += 1
            terminal.press(*pressed, quiet=0.03)
            terminal.wait(until)

        def keep(words: str) -> None:
            shown.extend(["", f"=== {words} ===", terminal.text()])

        press("3", until="STOCK")
        keep("the page, drafted from the record")
        press("/", until="to which section")
        press("1", until="RO")
        press("2", until="write it")
        press("0", until="_")
        press(*LINE, "enter", until=LINE)
        keep("a line of one's own, kept")
        press("+", until="Who gives the room?")
        press("2", until="Given by RO")
        keep("given")
        press("right", "right", "right", "right", "*", until="Who takes the room?")
        press("5", until="How is the handover received?")
        press("1", until="Which tank is worst?")
        keep("the first question: the page is out of sight")
        press(wrong(terminal), until="Read STOCK again")
        keep("a wrong answer shows the section and asks again")
        press(answer(terminal, "T07"), until="altered?")
        keep("the second question")
        press(answer(terminal, "T12 Inlet valve"), until="next?")
        keep("the third question")
        press(answer(terminal, ".*meal"), until="Responsibility passed")
        keep("taken")
        seconds = time.monotonic() - began
    hand = GLOVED * len(keys) + THINK * choices
    return [
        "A handover given and taken in the demo, 80x24.",
        f"Made by tests/record_handover.py with --now {NOW}.",
        "",
        f"keys                  {len(keys)}, {len(LINE) + 1} of them the line that was typed",
        f"choices               {choices}",
        f"program's own seconds {seconds:.1f}, with a 0.03 s wait after every key",
        f"a gloved hand         {hand:.0f} s, at {GLOVED} s a key and {THINK} s a choice; "
        "reading the page comes on top",
        *shown,
    ]


def wrong(terminal: Terminal) -> str:
    """A choice that is not the worst tank."""
    right = answer(terminal, "T07")
    return "1" if right != "1" else "2"


def main(target: Path) -> None:
    with tempfile.TemporaryDirectory() as folder:
        lines = record(Path(folder))
    target.write_text("\n".join(line.rstrip() for line in lines) + "\n", "utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
