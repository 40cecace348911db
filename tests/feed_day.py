"""A day of the feed room, played in a real terminal on the demo: what is printed, and pictures.

    python tests/feed_day.py docs/pictures

The demo is made anew as it stood at each moment. Writes docs/feeding.md beside the folder of the
pictures; every number in it is printed by the program or counted while it is played.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from itertools import pairwise
from pathlib import Path
from typing import Any

from tankwalk.clock import Instant
from tankwalk.ledger.feeding import MealSeen
from tankwalk.ledger.store import Station
from tankwalk.practice.site import Site, open_site
from terminal import Terminal

SIZE = (80, 24)
PB, RO, TS = "5", "2", "3"
"""Their numbers in the list of people."""

TITLE = """# A day of the feed room

Played by `python tests/feed_day.py docs/pictures` in a real terminal on the demo, at 80x24 with
the number pad. What stands in a box was printed by the command above it; keys and seconds were
counted while the meal was given. Fish, feed and people are invented.
"""


class Played:
    """The page as it is written: headings, boxes of what was printed, pictures."""

    def __init__(self, target: Path, folder: Path) -> None:
        self.target, self.folder = target, folder
        self.env = {"TANKWALK_HOME": str(folder)}
        self.page = [TITLE]
        self.taken = 0

    def say(self, *lines: str) -> None:
        self.page += [*lines, ""]

    def site(self, name: str, now: str) -> Path:
        """The demo as it stood at a moment."""
        folder = self.folder / name
        self.run(["--now", now, "demo", "--to", str(folder)])
        return folder

    def run(self, words: Sequence[str], typed: str = "") -> str:
        """A command's own output; a fault of it is a fault of the play."""
        env = {**os.environ, **self.env}
        done = subprocess.run(
            [sys.executable, "-m", "tankwalk", *words],
            input=typed, capture_output=True, text=True, env=env, check=False,
        )  # fmt: skip
        if done.returncode not in (0, 1):
            raise AssertionError(f"{words} ended with {done.returncode}: {done.stderr}")
        return done.stdout

    def printed(self, site: Path, now: str, *words: str, most: int = 60) -> str:
        """A command with what it printed, in a box."""
        out = self.run(["--site", str(site), "--now", now, *words])
        self.boxed(f"tankwalk --now {now} {' '.join(words)}", out, most)
        return out

    def boxed(self, command: str, out: str, most: int = 60) -> None:
        lines = out.strip("\n").splitlines()
        rest = [f"  ... and {len(lines) - most} lines more"] if len(lines) > most else []
        shown = [line.rstrip() for line in (*lines[:most], *rest)]
        self.say(f"`{command}`", "", "```text", *shown, "```")

    @contextmanager
    def at(self, site: Path, now: str) -> Iterator[Terminal]:
        """The program, begun at a moment."""
        command = [sys.executable, "-m", "tankwalk", "--site", str(site), "--now", now]
        with Terminal(command, self.env, SIZE) as terminal:
            terminal.wait("TANKS", 60)
            terminal.read(0.3)
            yield terminal

    def picture(self, terminal: Terminal, name: str, sentence: str) -> None:
        """Keep the page as it stands."""
        self.taken += 1
        terminal.read(0.3)
        file = f"feed-{self.taken:02d}-{name}-80x24.svg"
        (self.target / file).write_text(terminal.svg(sentence), "utf-8")
        self.say(sentence, "", f"![{name}]({self.target.name}/{file})")


class Pad:
    """A person at the pad: every key is counted."""

    def __init__(self, terminal: Terminal) -> None:
        self.terminal, self.keys = terminal, 0

    def press(self, *keys: str) -> None:
        for key in keys:
            self.terminal.press(key)
            self.keys += 1

    def see(self, words: str) -> None:
        self.terminal.wait(words)

    def sees(self, words: str) -> bool:
        return words in self.terminal.text()


@contextmanager
def opened(site: Path, now: str) -> Iterator[Site]:
    """The site's record, to be read."""
    found = open_site(site, Station("pictures", "pictures"), now)
    try:
        yield found
    finally:
        found.close()


def meals_of(site: Path, now: str, hours: float) -> list[MealSeen]:
    """The meals that were entered in the last hours."""
    with opened(site, now) as found:
        return found.reader.feeding.meals(found.now().utc - round(hours * 3600))


# ---- a meal of twelve tanks


MEAL = "2026-04-27T09:58"
RESPONSES = "111121111211"
"""What is seen of each tank in walking order: eager, and fair twice."""


def whole_meal(played: Played) -> None:
    """The 10:00 meal of the eighth day of live feed, by pad; then the same by lines."""
    site = played.site("meal", "2026-04-27T09:40")
    by_lines = played.folder / "by-lines"
    shutil.copytree(site, by_lines)
    played.say(
        "## A whole meal of twelve tanks", "", "Monday 27 April, the eighth day of live feed."
    )
    played.printed(site, "2026-04-27T09:40", "feed", "--list")
    with played.at(site, MEAL) as terminal:
        pad = Pad(terminal)
        pad.press("2")
        pad.see("FEED  Meal 10:00")
        played.picture(terminal, "list", "`2` on the board: what is made up, and each tank's cup.")
        pad.press("enter")
        pad.see("Which meal is this?")  # 08:00 was not entered for T04: the incident of that day
        pad.press("1")
        pad.see("Who gives this meal?")
        pad.press(PB)
        pad.see("tank 1 of 12")
        played.picture(
            terminal,
            "tank",
            "Enter, `1` (08:00 was not entered for T04), `5`: the first tank, its amount large.",
        )
        wrong_arm(played, pad)
        pad.keys, began, tanks = 0, time.monotonic(), []
        for nth, response in enumerate(RESPONSES, 1):
            before = pad.keys
            pad.see(f"tank {nth} of 12")
            pad.press("+")
            pad.see("> Feeding response")
            pad.press(response)
            tanks.append(pad.keys - before)
        seconds = time.monotonic() - began
        pad.see("12 of 12 done")
        played.picture(terminal, "end", "The end of the meal: what was fed, and what was not.")
    assert set(tanks) == {2}, tanks
    played.say(
        f"Twelve tanks took {sum(tanks)} keys, {max(tanks)} a tank: `+` gives all of its feeds as "
        f"listed, a number says how the fish went for it. The program took {seconds:.1f} s of it, "
        f"{1000 * seconds / sum(tanks):.0f} ms a key with its picture on the screen and its line "
        "on the disk, 50 of them waited by the script to see that nothing more is painted."
    )
    same_by_lines(played, site, by_lines)


def wrong_arm(played: Played, pad: Pad) -> None:
    """Dry feed for a tank of the arm that starts it later: stopped before it is kept."""
    pad.press("/")
    pad.see("another feed went in")
    pad.press("5")
    pad.see("which other feed went in?")
    pad.press("1", *"0.1", "enter")
    pad.see("Continue?")
    played.picture(
        pad.terminal, "wrong-arm",
        "`/` `5` `1` `0.1` Enter at T01: the wrong arm's feed is stopped in words before it is "
        "kept; `+` and Enter take the safe way.",
    )  # fmt: skip
    pad.press("+")
    pad.see("nothing was kept")


def same_by_lines(played: Played, site: Path, by_lines: Path) -> None:
    """The same meal answered line by line leaves the same record."""
    typed = "".join(f"+\n{response}\n" for response in RESPONSES)
    words = ["--site", str(by_lines), "--now", MEAL, "feed", "--plain", "--who", "PB"]
    out = played.run([*words, "--at", "10:00"], typed)
    played.say("The same meal line by line, `+` and a number for each tank on standard in:")
    played.boxed(f"tankwalk --now {MEAL} feed --plain --who PB --at 10:00", out, most=16)

    def told(one: MealSeen) -> tuple[object, ...]:
        return one.place, one.feed, one.amount, one.unit, one.planned, one.event, one.meal_at

    pad, lines = (
        sorted(map(told, meals_of(folder, MEAL, 0.1)), key=str) for folder in (site, by_lines)
    )
    assert pad == lines, (pad, lines)
    assert len({one[0] for one in pad}) == 12
    played.say(f"Both ways keep the same {len(pad)} lines of feed, amount by amount.")


# ---- the evening before, and one tank by hand


def backwards(played: Played) -> None:
    """Tomorrow worked backwards from its meals, and the same sums done here by hand."""
    now = "2026-04-27T09:40"
    site = played.site("evening", now)
    played.say("## Tomorrow's list, and one tank by hand")
    played.printed(site, now, "feed", "--tomorrow")
    found = json.loads(played.run(["--site", str(site), "--now", now, "feed", "--list", "--json"]))
    with played.at(site, now) as terminal:
        pad = Pad(terminal)
        pad.press("2")
        pad.see("FEED  Meal 10:00")
        pad.press("w")
        pad.see("RATION")
        played.picture(terminal, "ration", "`w` at T01: its ration with every number it is of.")
    by_hand(played, site, now, found)


def by_hand(played: Played, site: Path, now: str, found: Mapping[str, Any]) -> None:
    """The plan's ration and the density counted, worked out again without the program's sums."""
    with opened(site, now) as room:
        plan = room.plan
        at = Instant(room.now().utc, room.now().offset)
        tank = plan.tank("T01")
        age = plan.age(tank, at.day)
        assert age is not None
        ration = plan.ration_of(tank, "Artemia", age)
        assert ration is not None
        (d0, a0), (d1, a1) = next(
            (one, two) for one, two in pairwise(ration.points) if one[0] <= age <= two[0]
        )
        meals = sum(meal.is_on(at.day) for meal in plan.meals)
        day = a0 + (a1 - a0) * (age - d0) / (d1 - d0)
        harvest = [b for b in room.reader.feeding.batch("A0426") if b.per_ml]
    density = harvest[-1].per_ml
    assert density is not None
    meal = round(day / meals)
    played.say(
        f"By hand, T01: the plan gives {a0:g} thousand a day at {d0} dph and {a1:g} at {d1}, so "
        f"{day:.1f} at {age}; in {meals} meals that is {day / meals:.1f}, {meal} thousand each. Of "
        f"A0426, counted at {density:.0f} per mL, it is {meal} x 1000 / {density:.0f} = "
        f"{1000 * meal / density:.0f} mL."
    )
    cup = found["rows"][0]["portions"][0]
    assert (cup["listed"], cup["pours"][0]["ml"]) == (meal, round(1000 * meal / density)), cup


# ---- the late, poor hatch


POOR = "2026-05-04T10:40"
DROPS = ("19", "22", "20")


def poor_hatch(played: Played) -> None:
    """The cone of Sunday night: late, cold, poor, and who goes short by how much."""
    site = played.site("poor", POOR)
    played.say("## The late, poor hatch of Monday 4 May")
    played.printed(site, POOR, "livefeed", most=24)
    with played.at(site, POOR) as terminal:
        pad = Pad(terminal)
        pad.press("enter")
        pad.see("LIVE FEED")
        pad.press("enter")
        pad.see("Who harvests A0503?")
        pad.press(PB, "2", "0", "enter")
        pad.see("Nauplii counted")
        pad.press("/")
        pad.see("How old are they?")
        pad.press("2")
        pad.see("not counted yet")
        pad.press("1")
        pad.see("Count it next")
        played.picture(terminal, "harvested", "Harvested, by number: nothing is there to give.")
        pad.press("*")
        pad.see("Count A0503 nauplii")
        pad.press("enter")
        if pad.sees("Who counts?"):
            pad.press(PB)
        for drop in DROPS:
            pad.press(*drop, "enter")
        pad.see("Drop 4")
        played.picture(
            terminal, "count", f"`*`: the counting pad, {', '.join(DROPS)} in three drops."
        )
        pad.press("+")
        pad.see("Keep it all the same?")
        pad.press("2")
        pad.see("LIVE FEED")
        played.picture(terminal, "short", "`+` `2`, enough: what is there, and who goes short.")
    played.printed(site, "2026-05-04T11:55", "feed", "--list")


def traced(played: Played) -> None:
    """From the bad batch to every tank and meal it touched, and back from a tank."""
    now = "2026-05-05T09:00"
    site = played.site("traced", now)
    played.say("## From the bad batch to the tanks, and back")
    played.printed(site, now, "livefeed", "A0503", most=45)
    played.printed(site, now, "livefeed", "T07", most=30)
    played.printed(site, now, "feed", "--week", "T07")
    played.printed(site, now, "feed", "--week", "L18")


# ---- a decapsulation, killed in the bath


def decapsulated(played: Played) -> None:
    """Shells off 15 g of cysts; the program is killed in the bath and finds its step again."""
    site = played.site("shells", "2026-05-10T07:52")
    played.say("## Shells off, and the plug pulled in the bath")
    with played.at(site, "2026-05-10T07:52") as terminal:
        pad = Pad(terminal)
        pad.press("/", "1")
        pad.see("+ says that you have read this")
        played.picture(terminal, "caution", "`/` `1`: what can hurt comes first, and one key.")
        pad.press("+", "1", "1", "5", "enter")
        pad.see("what your SOP says?")
        played.picture(terminal, "recipe", "`+` `1` `15` Enter: the lab's recipe for 15 g.")
        pad.press("2", PB)
        pad.see("> 1 hydrate")
    with played.at(site, "2026-05-10T08:55") as terminal:
        pad = Pad(terminal)
        pad.press("/")
        pad.see("> 1 hydrate")
        pad.press("+", "2", "+", "1", "4", "enter", "+")
        pad.see("stop by")
        pad.press("1", "8", "enter")
        pad.see("18")
        stop = re.search(r"stop by (\d\d:\d\d)", terminal.text())
        assert stop is not None
        played.picture(terminal, "bath", f"08:55. In the bath: stop by {stop[1]}, a time of day.")
        terminal.kill(signal.SIGKILL)
    with played.at(site, "2026-05-10T09:01") as terminal:
        pad = Pad(terminal)
        terminal.until(lambda: stop[1] in terminal.line(0), stop[1])
        played.picture(
            terminal, "board", "09:01. Killed by `kill -9` and started again: the board says it."
        )
        pad.press("/")
        pad.see("> 4 ")
        assert f"stop by {stop[1]}" in terminal.text()
        pad.press("3", "7", "enter")
        pad.see("37")
        played.picture(terminal, "warm", "`/` `37` Enter: above the 35 of the SOP, ice now.")
        pad.press("4", "0", "enter")
        pad.see("40")
        played.picture(terminal, "stop", "`40` Enter: stop, and what stop means.")
        pad.press("+")
        pad.see("> 5 ")
    name = next(
        (word for word in terminal.text().split() if re.fullmatch(r"S\d{4}", word)), "S0510"
    )
    played.printed(site, "2026-05-10T09:02", "livefeed", name, most=30)


CHAPTERS = (backwards, whole_meal, poor_hatch, traced, decapsulated)


def main(target: Path) -> None:
    target.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as made:
        played = Played(target, Path(made))
        for chapter in CHAPTERS:
            chapter(played)
    (target.parent / "feeding.md").write_text("\n".join(played.page).rstrip() + "\n", "utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
