"""Records a whole morning round of the demo in a real terminal, with number-pad keys alone.

    python tests/record_round.py docs/first-round.txt

Writes what was pressed, what the page said, the screens on the way and the counts: keys, keys that
are not part of a value, seconds. The clock is fixed, so that only the seconds differ between runs.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from tankwalk_demo import morning_answers
from tankwalk_demo.room import plan
from terminal import KEYS, Terminal

NOW = "2026-05-10T06:50"
PAD = set("0123456789.+-*/") | {"enter", "up", "down", "left", "right"}
SECOND = {("T07", "do"): "6.1", ("T07", "morts"): "64"}
"""What a second reading shows, where one is asked for."""

Slot = tuple[str, str]


def keys_for(answer: str) -> list[str]:
    """The pad keys of one answer: "+" and "/3" need no Enter."""
    if answer == "+" or answer.startswith("/"):
        return list(answer)
    return [*answer, "enter"]


def main(target: Path) -> None:
    with tempfile.TemporaryDirectory() as folder:
        lines = record(Path(folder))
    target.write_text("\n".join(lines) + "\n", "utf-8")


def record(folder: Path) -> list[str]:
    """Make the demo, walk the round, and tell it."""
    env = {"TANKWALK_HOME": str(folder)}
    command = [sys.executable, "-m", "tankwalk", "demo", "--now", NOW]
    answers = morning_answers()
    told: list[str] = []
    pressed: list[str] = []
    beyond: Counter[str] = Counter()
    with Terminal(command, env, (80, 24)) as terminal:
        terminal.wait("TANKS", 60)
        opening = terminal.text()
        began = time.monotonic()

        def press(*keys: str) -> None:
            assert set(keys) <= PAD, keys
            pressed.extend(keys)
            terminal.press(*keys, quiet=0.03)

        press("enter")
        terminal.wait("Who is doing this round?")
        press("5")
        terminal.wait("stop 1 of")
        middle = ""
        for slot, answer in in_order(answers):
            press(*keys_for(answer))
            if asks_again(terminal):
                press(*keys_for(SECOND.get(slot, answer)))
            said = said_line(terminal)
            told.append(f"{slot[0]:5} {slot[1]:10} {answer:6} {said}")
            extra = len(keys_for(answer)) - sum(k.isdigit() or k == "." for k in answer)
            beyond[slot[0]] += extra
            if slot == ("T07", "do"):
                middle = terminal.text()
        terminal.wait("End of the round")
        end = terminal.text()
        press("+")
        terminal.wait("Signed by PB")
        press("enter")
        terminal.wait("TANKS")
        seconds = time.monotonic() - began
        board = terminal.text()
    values = sum(a not in "+" and not a.startswith("/") for a in answers.values())
    digits = sum(k.isdigit() or k == "." for k in pressed)
    tanks = [count for place, count in beyond.items() if place.startswith("T")]
    return [
        "A morning round of 12 tanks in the demo, 80x24, number-pad keys only.",
        f"Made by tests/record_round.py with --now {NOW}.",
        "",
        f"keys pressed          {len(pressed)}",
        f"  of them digits      {digits}",
        f"  Enter               {pressed.count('enter')}",
        f"  + (all right)       {pressed.count('+')}",
        f"  / (not taken)       {pressed.count('/')}",
        f"  - * arrows          {sum(pressed.count(k) for k in ('-', '*', 'up', 'down'))}",
        f"answers               {len(answers)}, {values} of them values",
        f"keys a tank beyond the digits: {min(tanks)} to {max(tanks)}, "
        f"one for each of its {max(tanks)} answers",
        f"seconds               {seconds:.1f} (no hand and no probe: the program's own share, with "
        "a 0.03 s wait after every key)",
        "",
        "=== the board at the start ===",
        opening,
        "",
        "=== T07, oxygen fell overnight ===",
        middle,
        "",
        "=== the end of the round ===",
        end,
        "",
        "=== the board after signing ===",
        board,
        "",
        "=== place, item, typed, what the page said ===",
        *told,
    ]


def asks_again(terminal: Terminal) -> bool:
    """Whether the page asks for a second reading: its keys say so, a first response may not."""
    return "0-9 second" in terminal.line(-1)


def give(terminal: Terminal, answer: str) -> None:
    """Type a whole answer at once, and again where a second reading is asked."""
    terminal.press("".join(KEYS.get(key, key) for key in keys_for(answer)))
    if asks_again(terminal):
        terminal.press("".join(KEYS.get(key, key) for key in keys_for(answer)))


def in_order(answers: dict[Slot, str]) -> list[tuple[Slot, str]]:
    """The answers in walking order: glance lap, room, loop, tanks."""
    asked = plan().checklists[0]
    items = [asked.glance, *asked.site, *asked.loop, *asked.tank]

    def stop(slot: Slot) -> tuple[int, str]:
        if slot[1] == asked.glance:
            return 0, ""
        return (
            (1, "") if slot[0] == "site" else (2, "") if slot[0].startswith("L") else (3, slot[0])
        )

    return sorted(answers.items(), key=lambda a: (*stop(a[0]), items.index(a[0][1]), a[0][0]))


def said_line(terminal: Terminal) -> str:
    """What the page says about the last answer: what was kept, else the first line of what is."""
    rows = [row.strip() for row in terminal.text().split("\n")]
    return rows[22] or rows[19]


if __name__ == "__main__":
    main(Path(sys.argv[1]))
