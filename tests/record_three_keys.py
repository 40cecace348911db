"""Records, in a real terminal, three keys from a flag on the board to all that belongs to it.

    python tests/record_three_keys.py docs/three-keys.txt

Oxygen was low at T07 on the demo's Sunday and somebody did something about it; on Tuesday it is low
again. Since when, what else moved, what was done the last time: one key each, with the pages.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

from terminal import Terminal

SIZE = (80, 24)

BEFORE: tuple[tuple[str, str, str], ...] = (
    # when, the item that is looked at, and what is typed: readings, and what was done
    ("2026-05-10T07:00", "do", "5.8\n5.7\n3\n\n4\n\n6\n1\n\n"),
    ("2026-05-10T07:40", "do", "7.4\n"),
    ("2026-05-10T08:20", "do", "7.9\n"),
    ("2026-05-10T15:05", "do", "8.2\n"),
    ("2026-05-11T07:05", "do", "8.1\n"),
    ("2026-05-11T15:05", "do", "8.2\n"),
    ("2026-05-12T06:50", "level", "4.2\n4.2\n"),
    ("2026-05-12T06:52", "do", "5.4\n5.4\n"),
)
"""What PB looked at and did before, line by line as `tankwalk look --plain` asks for it."""

NOW = "2026-05-12T06:58"

KEYS = (
    ("1", "since when, and what else moved: one axis of days for all", "worst a day"),
    ("down", "what was done the last time, and all that happened since", "STORY"),
    ("enter", "its flag: what is done first, when one looks again, whom to call", "FLAG"),
)
"""Each key, what it shows, and words of that page."""


def past(folder: Path, env: dict[str, str]) -> Path:
    """The demo with what happened before."""
    site = folder / "demo"
    command = [sys.executable, "-m", "tankwalk"]
    outside = {**os.environ, **env}
    subprocess.run([*command, "demo", "--to", str(site)], env=outside, check=True,
                   capture_output=True, stdin=subprocess.DEVNULL)  # fmt: skip
    for when, item, typed in BEFORE:
        look = ["look", "T07", "--item", item, "--who", "PB", "--plain"]
        subprocess.run(
            [*command, "--site", str(site), "--now", when, *look],
            env=outside, input=typed, text=True, capture_output=True, check=False,
        )  # fmt: skip
    return site


def record(folder: Path) -> list[str]:
    """The pages, each under the key that led to it."""
    env = {"TANKWALK_HOME": str(folder)}
    site = past(folder, env)
    command = [sys.executable, "-m", "tankwalk", "--site", str(site), "--now", NOW]
    shown = []
    with Terminal(command, env, SIZE) as terminal:
        terminal.wait("TANKS", 60)
        terminal.wait("NEXT")
        terminal.read(0.5)
        shown += ["=== The board, on which the flag stands ===", "", terminal.text(), ""]
        for nth, (key, what, words) in enumerate(KEYS, 1):
            terminal.press(key)
            terminal.wait(words)
            terminal.read(0.3)
            shown += [f"=== Key {nth}, {key}: {what} ===", "", terminal.text(), ""]
    return shown


def main(target: Path) -> None:
    with tempfile.TemporaryDirectory() as folder:
        lines = record(Path(folder))
    head = [
        "Three keys from a flag on the board: since when, what else moved, what was done before.",
        f"Recorded in a terminal of 80x24 by `python tests/record_three_keys.py`, --now {NOW}.",
        "",
    ]
    said = "\n".join([*head, *lines])
    target.write_text("\n".join(row.rstrip() for row in said.split("\n")) + "\n", "utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
