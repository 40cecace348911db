"""Records a paper round of twelve tanks typed in at a real terminal, with number-pad keys alone.

    python tests/record_transcribe.py docs/transcribe.md

The demo's Sunday round was walked on paper by PB and is typed in by JQ at half past nine. Writes
the keys by kind, the marks, the screens on the way, and what handover, board and tank say.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from collections import Counter
from pathlib import Path

from demo_support import ANSWERS, STATION, demo_in
from sheet_support import Slot, begun, key_of, typed_in
from tankwalk.clock import parse_instant, zone
from tankwalk.practice.round.paper_questions import AskSecond, AskStopTime, AskWhich
from tankwalk.practice.round.questions import AskAgain
from tankwalk.practice.site import open_site
from tankwalk.practice.transcribing import beginning
from tankwalk.practice.transcribing.sheet_walk import SheetWalk
from terminal import Terminal

NOW = "2026-05-10T09:30"
SLIPS = {("T03", "do"): "3.8"}
"""A second entry with its figures the wrong way round."""

TIMES = (651, 702, 706, 712, 716, 720, 724, 728, 732, 736, 741, 745, 749, 753, 758)
"""The time of each stop, as it stands on the sheet."""

Step = tuple[str, str, Slot]
"""What is typed, what it is, and where."""


def steps(folder: Path) -> list[Step]:
    """All that is typed, worked out on a copy of the demo."""
    site = open_site(demo_in(folder), STATION, NOW)
    began = parse_instant("2026-05-10T06:50", zone(site.plan.zone))
    found = beginning.begin(site, site.plan.checklist("am"), "PB", "JQ", began)
    walk, left = SheetWalk(site, found, "PB", "JQ"), iter(TIMES)
    told: list[Step] = []
    kind, here = _kind(walk), key_of(walk)
    for typed in typed_in(walk, dict(ANSWERS), lambda _: f"{next(left):04d}", slips=SLIPS):
        told.append((typed, kind, here))
        kind, here = _kind(walk), key_of(walk)
    site.close()
    return told


def _kind(walk: SheetWalk) -> str:
    match walk.question:
        case AskStopTime():
            return "times of stops"
        case AskSecond():
            return "second entries"
        case AskWhich():
            return "entries that differed"
        case AskAgain():
            return "second readings"
        case _:
            return "values and words"


def keys(typed: str, kind: str) -> list[str]:
    """The pad keys of one answer: a sign, and a choice by number, need no Enter."""
    if typed in ("+", "/") or kind == "entries that differed" or typed == "why":
        return [typed]
    return [*typed, "enter"]


def record(folder: Path) -> str:
    """Type it all in at a terminal, and tell it."""
    told = steps(folder / "copy")
    counted: Counter[str] = Counter()
    env = {"TANKWALK_HOME": str(folder)}
    site = demo_in(folder)
    program = [sys.executable, "-m", "tankwalk", "--site", str(site), "--now", NOW]
    seen: dict[str, str] = {}
    with Terminal(program, env, (80, 24)) as terminal:
        terminal.wait("TANKS", 60)
        terminal.press("+")
        terminal.wait("Who is doing this round?")
        terminal.press("-")
        terminal.wait("Which round is on the sheet?")
        seen["Which round"] = terminal.text()
        begun(terminal)
        counted["before the first stop"] = 10
        seen["The time of a stop"] = terminal.text()
        after_skip = False
        for typed, kind, slot in told:
            if kind == "second entries" and slot == ("T03", "do"):
                terminal.wait("second entry")
                seen["A second entry, the first out of sight"] = terminal.text()
            if kind == "entries that differed":
                terminal.wait("Look at the sheet")
                seen["Two entries that differ"] = terminal.text()
            if kind == "second readings" and slot == ("T07", "do"):
                terminal.wait("A second value on the sheet?")
                seen["Out of band on the sheet"] = terminal.text()
            pressed = [typed] if after_skip else keys(typed, kind)
            after_skip = typed == "/" and kind == "values and words"
            counted[kind] += len(pressed)
            terminal.press(*pressed, quiet=0.02)
        terminal.wait("End of the round", 60)
        seen["The end"] = terminal.text()
        terminal.press("+")
        terminal.wait("Signed by JQ", 60)
        counted["signature"] = 1
    pages = {
        name: subprocess.run(
            [*program, *words], capture_output=True, text=True, check=True, env=_env(env)
        ).stdout
        for name, words in (
            ("handover", ["handover"]), ("tank", ["tank", "T07"]), ("board", ["board"])
        )
    }  # fmt: skip
    again = Counter(kind for _, kind, _ in told)
    rows = [f"| {kind} | {again.get(kind, '')} | {many} |" for kind, many in counted.most_common()]
    total = sum(counted.values())
    screens = [f"## {name}\n\n```text\n{words.rstrip()}\n```\n" for name, words in seen.items()]
    return "\n".join(
        [
            HEAD, *rows, f"| **in all** | | **{total}** |", "",
            f"That is {total / 12:.0f} keys a tank, number pad alone.", "", *screens,
            "## What is said of it afterwards\n", "The handover:\n",
            _block(_lines(pages["handover"], "signed", "transcribed", "signed 09:30")),
            "The board:\n", _block(_lines(pages["board"], "Transcribed", "T07 look")),
            "The tank, printed (`tankwalk tank T07`):\n",
            _block(_lines(pages["tank"], "transcribed by JQ", "from paper")), FOOT,
        ]
    )  # fmt: skip


def _env(more: dict[str, str]) -> dict[str, str]:
    import os

    return {**os.environ, **more}


def _lines(page: str, *words: str) -> str:
    """The lines of a page that say one of these."""
    return "\n".join(row for row in page.split("\n") if any(word in row for word in words))


def _block(words: str) -> str:
    return f"```text\n{words}\n```\n"


HEAD = """# A paper round typed in

Made by `python tests/record_transcribe.py docs/transcribe.md`.

A round is walked on paper when the laptop is out: `tankwalk sheet` (or `tankwalk sheet --html
FILE`) prints it, with a place for every value and for the time and initials of each stop.
Afterwards

    tankwalk transcribe am          # on the screen; else it lists what nobody signed
    tankwalk transcribe am --plain  # line by line

types it in (on the board: `+`, then `-`). It asks whose initials are on the sheet, who types,
and when it was begun; then stop by stop the time on the sheet (`+` where a stop has none: that
of the stop before) and its values in the order of the sheet. What the plan says (`twice = true`
at an `[[item]]`; where it says nothing oxygen, TAN, nitrite and morts) is typed a second time at
the end of its stop, with the first entry out of sight; where the two differ the sheet is looked
at and one of them chosen. Every answer is on the disk when the next is asked: cut off, it goes on
where it was, also for another typist.

What is kept is of the time on the sheet: judged by what was known then (nothing that was seen
later is its past), out of band it is shown and calls nobody now, and looks are due from now on.
Each value keeps both times (seen, entered) and both people (who saw it, who typed it), and says
so wherever it is shown. The round counts as done, late. A round that was begun at the laptop
before it went out goes on from its sheet; one that was signed takes none.

Here PB walked the morning round of the demo's twelve tanks on paper, and JQ types it in at half
past nine, with one slip of the finger (oxygen of T03: 3.8 for 8.3). Keys, by what they are for:

| for | answers | keys |
| --- | --- | --- |"""

FOOT = """A dose on a sheet is typed in from the same page: `0` in the list of rounds (also with
`tankwalk transcribe --plain`). It asks who types, the day, whose initials stand there, when
it went in, what, into what, and how much, in which unit; the amount always a second time, with
the first out of sight. Two amounts that differ, and one that is more than twice or less than a
third of the usual there, are asked about before anything is kept.

A later shift sees on its handover what an earlier one could not have: how many values were typed
in, when and by whom, what of them is out of band, and which handover was given without them.

Not typed in this way: meals, which have a page of their own and take an earlier time there
(`tankwalk feed --given HH:MM`).
"""


def main(target: Path) -> None:
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "copy").mkdir()
        target.write_text(record(Path(folder)), "utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
