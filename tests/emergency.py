"""An emergency walked whole at 80x24 by number pad, as pictures, and the page that shows them.

    python tests/emergency.py docs/pictures

Oxygen of 4.2 at T07 of the demo. Time goes on by starting the program anew at a later `--now`; it
stands where it stood. Writes docs/emergency.md beside the folder of the pictures.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from record_round import give, in_order
from tankwalk.ledger.store import Station
from tankwalk.practice.handover import drafting
from tankwalk.practice.handover.say_back import Question
from tankwalk.practice.site import open_site
from tankwalk_demo import morning_answers
from terminal import Terminal

SIZE = (80, 24)
DAY = "2026-05-10"
PB, RO = "5", "2"
"""Their numbers in the list of people."""

PAGE = """# An emergency, walked whole

Oxygen of 4.2 mg/L at T07 on the demo's Sunday, at 80x24 with the number pad and Esc alone. Written
by `python tests/emergency.py docs/pictures`; between pictures the program was started anew at the
later time that each says (`--now`), and stood where it stood.
"""


class Told:
    """The pictures as they are taken, in order, each with its sentence."""

    def __init__(self, target: Path, folder: Path) -> None:
        self.target, self.folder = target, folder
        self.env = {"TANKWALK_HOME": str(folder)}
        self.site = folder / "demo"
        self.page = [PAGE]
        self.taken = 0

    @contextmanager
    def at(self, hm: str) -> Iterator[Terminal]:
        """The program, begun at a time of that Sunday."""
        now = f"{DAY}T{hm}"
        command = [sys.executable, "-m", "tankwalk", "--site", str(self.site), "--now", now]
        with Terminal(command, self.env, SIZE) as terminal:
            terminal.wait("Room", 60)
            terminal.read(0.3)
            yield terminal

    def asks(self, hm: str) -> tuple[Question, ...]:
        """What the handover of that moment has said back, with the right answers."""
        site = open_site(self.site, Station("pictures", "pictures"), f"{DAY}T{hm}")
        try:
            return drafting.draft(site).asks
        finally:
            site.close()

    def picture(self, terminal: Terminal, name: str, sentence: str) -> None:
        """Keep the page as it stands."""
        self.taken += 1
        terminal.read(0.3)
        file = f"emergency-{self.taken:02d}-{name}-80x24.svg"
        (self.target / file).write_text(terminal.svg(sentence), "utf-8")
        self.page += [f"{self.taken}. {sentence}", "", f"![{name}]({self.target.name}/{file})", ""]


def pad(terminal: Terminal, *keys: str) -> None:
    """Keys one after the other, each painted."""
    for key in keys:
        terminal.press(key)
        terminal.read(0.15)


def number(terminal: Terminal, value: str) -> None:
    """A value and Enter."""
    pad(terminal, *value, "enter")


def flag_of(terminal: Terminal) -> None:
    """From the board to the worst flag."""
    pad(terminal, "*")
    terminal.wait("FLAG")


def looked(terminal: Terminal, value: str) -> None:
    """From the board to the flag, and a look."""
    flag_of(terminal)
    pad(terminal, "enter")
    terminal.wait("Who looks?")
    pad(terminal, PB)
    terminal.wait("WALK")
    number(terminal, value)
    terminal.wait("FLAG")


def said_back(terminal: Terminal, asks: tuple[Question, ...]) -> None:
    """Every question of the handover, each answered right the first time."""
    for nth, asked in enumerate(asks, 1):
        terminal.wait(f"{nth} of {len(asks)}")
        terminal.wait(asked.ask)
        pad(terminal, str(asked.choices.index(asked.right) + 1))
    terminal.wait("Responsibility passed")


def walked(told: Told) -> None:
    """The emergency, from the first reading to the next shift."""
    with told.at("07:00") as t:
        pad(t, "enter")
        t.wait("Who is doing this round?")
        pad(t, PB)
        t.wait("stop 1 of")
        for slot, answer in in_order(morning_answers()):
            if slot == ("T07", "do"):
                break
            give(t, answer)
        number(t, "4.2")
        t.wait("Measure again")
        told.picture(t, "first", "07:00. `4.2` Enter: it is kept, and asked again at once.")
        number(t, "4.2")
        t.wait("NOT CALLED YET")
        told.picture(
            t, "confirmed",
            "`4.2` Enter: confirmed. What to do first and whom to call stay in sight.",
        )  # fmt: skip
        pad(t, "enter")
        t.wait("FLAG")
        told.picture(t, "flag", "Enter: the flag, with its steps, its look and its call.")
    with told.at("07:01") as t:
        flag_of(t)
        pad(t, "3")
        t.wait("Who did it?")
        pad(t, PB)
        t.wait("Now look again")
        told.picture(t, "done", "07:01. `*` `3` `5`: the screen is clear, done by PB.")
    with told.at("07:02") as t:
        told.picture(t, "board", "07:02. The board: one tank, what was done, the time left, whom to"
                     " call.")  # fmt: skip
        flag_of(t)
        pad(t, "6")
        if "Who called?" in t.text():
            pad(t, PB)
        t.wait("Called whom?")
        pad(t, "1", "1", "1")
        t.wait("Call kept")
        told.picture(t, "called", "`*` `6` and by number: MV was reached and comes at once.")
    with told.at("07:04") as t:
        told.picture(t, "countdown", "07:04. The board counts down to the look.")
        pad(t, "+", "enter")
        t.wait("stop ")
        told.picture(t, "round", "The round: the head counts down, the row keeps its mark.")
    with told.at("07:05") as t:
        looked(t, "5.6")
        told.picture(t, "look", "07:05. Enter `5` `5.6` Enter: a look of one line, and which way it"
                     " goes.")  # fmt: skip
    with told.at("07:10") as t:
        looked(t, "7.4")
        told.picture(t, "in-band-once", "07:10. `7.4`: in band once; one more look ends it.")
        pad(t, "esc")
        pad(t, "3")
        t.wait("HANDOVER")
        told.picture(t, "handover-open", "The handover while it is open.")
    with told.at("07:40") as t:
        looked(t, "7.8")
        told.picture(t, "over", "07:40. `7.8`: in band twice, the flag is over.")
    with told.at("07:45") as t:
        pad(t, "+", "enter")
        t.wait("stop ")
        begun = False
        for slot, answer in in_order(morning_answers()):
            begun = begun or slot == ("T07", "ph")
            if begun:
                give(t, answer)
        t.wait("End of the round")
        told.picture(t, "end", "07:45. The end of the round: what was out, and what became of it.")
        pad(t, "+")
        t.wait("Signed by PB")
        pad(t, "enter")
        t.wait("TANKS")
        told.picture(t, "board-after", "`+`: signed; the board after it.")
    with told.at("16:00") as t:
        pad(t, "3")
        t.wait("HANDOVER")
        told.picture(
            t, "handover", "16:00. The handover: the emergency as the next shift reads it."
        )
        pad(t, "+")
        t.wait("Who gives")
        pad(t, PB)
        t.wait("Who goes at 16:00?")
        told.picture(t, "who-goes", "`+` `5`: nobody is to look at T07 before Monday. Who goes?")
        pad(t, RO)
        t.wait("Given by PB")
        told.picture(t, "given", "`2`: RO goes, and the page says so. PB gave the room.")
    asks = told.asks("16:05")
    assert len(asks) == 3, asks
    with told.at("16:05") as t:
        pad(t, "3")
        t.wait("HANDOVER")
        while "more lines below" in t.text():
            pad(t, "right")
        pad(t, "*")
        t.wait("Who takes")
        pad(t, RO)
        t.wait("How is the handover received?")
        told.picture(t, "taking", "16:05. Read to its end, `*` `2`: RO takes the room.")
        pad(t, "1")
        t.wait(asks[0].ask)
        told.picture(t, "said-back", "`1`, in person: three questions, from memory.")
        said_back(t, asks)
        told.picture(t, "received", "All three right: the room has passed from PB to RO.")
        pad(t, "esc")
        t.wait("TANKS")
        told.picture(t, "board-taken", "Esc: the board, and who has the room.")


def main(target: Path) -> None:
    target.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as made:
        told = Told(target, Path(made))
        with Terminal([sys.executable, "-m", "tankwalk", "demo"], told.env, SIZE) as first:
            first.wait("TANKS", 60)
        walked(told)
    (target.parent / "emergency.md").write_text("\n".join(told.page).rstrip() + "\n", "utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
