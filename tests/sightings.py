"""The eleven sightings that began this, played again at the keyboard, and what is said now.

Each is played in a real terminal of 80x24 on a copy of the demo, at a fixed clock, or through the
command it was seen with. `python tests/sightings.py > docs/sightings.md` renews the page. What a
sighting wants to see, and never to see again, is written down beside it; whether it is mended is
counted from that, not judged by hand.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from terminal import Terminal

NOW = "2026-05-10T07:00"
SIZE = (80, 24)


class Seen(NamedTuple):
    """One thing done, and what the program showed: keys or a command, and the lines."""

    did: str
    lines: Sequence[str]
    wants: Sequence[str] = ()
    """Words that must be among them."""
    never: Sequence[str] = ()
    """Words that must not."""

    @property
    def missed(self) -> list[str]:
        """What is wrong with it, in words."""
        flowing = " ".join(" ".join(self.lines).split())
        return [f"not said: {w}" for w in self.wants if w not in flowing] + [
            f"said again: {w}" for w in self.never if w in flowing
        ]


class Sighting(NamedTuple):
    """One of the eleven: what was seen then, and how it is played."""

    title: str
    then: str
    played: Callable[[Rooms], Iterator[Seen]]


class Rooms:
    """Copies of the demo, one a use, in a folder that goes away."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._used = 0
        self._base = folder / "demo"
        self.run("demo", "--to", str(self._base))

    def fresh(self) -> Path:
        """A demo nobody touched."""
        self._used += 1
        return Path(shutil.copytree(self._base, self._folder / f"room{self._used}"))

    def run(self, *words: str, typed: str = "") -> list[str]:
        """A command without a terminal: the lines it prints, and its exit status last."""
        done = subprocess.run(
            [sys.executable, "-m", "tankwalk", *words],
            input=typed,
            capture_output=True,
            text=True,
            env={**os.environ, "TANKWALK_HOME": str(self._folder / "home")},
            check=False,
        )
        out = (done.stdout + done.stderr).rstrip().split("\n")
        return [*(line.rstrip() for line in out), f"(exit status {done.returncode})"]

    def at(self, site: Path, command: str, now: str) -> list[str]:
        """A command about a site at a moment."""
        return self.run(command, "--site", str(site), "--now", now)

    @contextmanager
    def screen(self, site: Path, *command: str, now: str = NOW) -> Iterator[Terminal]:
        """The program on its screen."""
        words = [sys.executable, "-m", "tankwalk", *command, "--site", str(site), "--now", now]
        with Terminal(words, {"TANKWALK_HOME": str(self._folder / "home")}, SIZE) as terminal:
            terminal.until(lambda: len(terminal.text().strip()) > 0, "a page", 30)
            terminal.read(0.5)
            yield terminal


def stand(terminal: Terminal, place: str, label: str) -> None:
    """From the board into the round as PB, and by arrows to one line of one stop."""
    terminal.wait("Room", 30)
    terminal.press("+")
    terminal.read(0.2)
    if "Enter goes on as" in terminal.text():
        terminal.press("enter")
    else:
        terminal.press("5")
    terminal.wait("stop ")
    terminal.read(0.2)
    walk_to(terminal, place, label)


def walk_to(terminal: Terminal, place: str, label: str) -> None:
    """By arrows to one line of one stop."""
    for _ in range(20):
        if re.match(rf" (Loop )?{place}\b", terminal.line(1)):
            break
        terminal.press("right")
    for way in ["up"] * 14 + ["down"] * 28:
        if re.search(rf"^ > {label}", terminal.text(), re.M):
            return
        terminal.press(way)
        if not re.match(rf" (Loop )?{place}\b", terminal.line(1)):
            terminal.press("down" if way == "up" else "up")
    raise AssertionError(f"no {place} {label} on:\n{terminal.text()}")


def type_(terminal: Terminal, *answers: str) -> None:
    """Each answer and Enter; a name of a key is that key alone."""
    for answer in answers:
        if answer in ("up", "down", "enter", "esc", "*", "/", "+", "-") or answer.startswith(
            "key "
        ):
            terminal.press(answer.removeprefix("key "))
        else:
            terminal.press(*answer, "enter")
        terminal.read(0.15)


def said(terminal: Terminal) -> list[str]:
    """The head, and what stands below the figures: the message, what was kept, the keys."""
    rows = [terminal.line(i) for i in range(terminal.rows)]
    begins = [i for i, row in enumerate(rows) if row.startswith(" \u2500\u2500 ")]
    at = begins[-1] + 1 if begins else 1
    figures = [row for row in rows[at : at + 3] if _DRAWN.search(row)]
    return [rows[0], *(row for row in rows[at:] if row and row not in figures)]


_DRAWN = re.compile("[\u2580\u2584\u2588\u251c\u25cf\u25cb]|___|^ +[0-9. ]+$|^ {20}")
"""What only a row of figures has."""


def rows_with(terminal: Terminal, *words: str) -> list[str]:
    """The rows that hold any of these words."""
    rows = [terminal.line(i) for i in range(terminal.rows)]
    return [row for row in rows if any(word in row for word in words)]


def page(terminal: Terminal) -> list[str]:
    """The whole page without its blank rows."""
    return [terminal.line(i) for i in range(terminal.rows) if terminal.line(i)]


def about(lines: Sequence[str], *words: str, after: int = 0) -> list[str]:
    """The lines that hold any of these words, and so many after each."""
    found: list[str] = []
    for i, row in enumerate(lines):
        if any(word in row for word in words):
            found += [one for one in lines[i : i + 1 + after] if one not in found]
    return found


# ---- the eleven


def confirmed_stays(rooms: Rooms) -> Iterator[Seen]:
    site = rooms.fresh()
    with rooms.screen(site) as t:
        stand(t, "T07", "Oxygen")
        type_(t, "4.2", "4.2")
        yield Seen(
            "oxygen `4.2`, `4.2`", said(t),
            ["!!! URGENT T07 Oxygen 4.2", "call MV 555-0142, NOT CALLED YET", "Open oxygen or air"],
        )  # fmt: skip
        type_(t, "up", "*", "7.5")
        yield Seen("`Up` `*` `7.5`", said(t), ["7.5 mg/L kept"], ["was not confirmed"])
        type_(t, "up")
        yield Seen(
            "`Up`: the row keeps its mark, the stop its flag",
            [*rows_with(t, " > Oxygen"), *said(t)[1:]],
            ["7.5 mg/L", "!!!", "Oxygen", "NOT CALLED YET"],
        )
    yield Seen(
        "`tankwalk board`", about(rooms.at(site, "board", NOW), "URGENT", "Oxygen", "NOT CALLED"),
        ["!!! URGENT", "4.2 mg/L, confirmed, now 7.5", "NOT CALLED YET"],
    )  # fmt: skip
    yield Seen(
        "`tankwalk handover`",
        about(rooms.at(site, "handover", NOW), "Oxygen", after=2),
        ["!!! URGENT", "was 4.2", "if T07 Oxygen is still out: Open"],
    )  # fmt: skip
    site = rooms.fresh()
    with rooms.screen(site) as t:
        stand(t, "T07", "Oxygen")
        type_(t, "4.2", "4.2", "up", "7.5")
        yield Seen("`7.5` typed over the confirmed 4.2", said(t), ["confirmed", "Why?"])
        t.press("1")
        t.read(0.3)
        yield Seen("`1` mis-keyed", said(t), ["Who says so?"])
        t.press("1")
        t.read(0.3)
        yield Seen("`1` PB", said(t), ["7.5"])
    yield Seen(
        "`tankwalk handover`: what was withdrawn stays listed",
        about(rooms.at(site, "handover", NOW), "4.2", after=1), ["4.2", "mis-keyed", "PB"],
    )  # fmt: skip


def no_guess_silences(rooms: Rooms) -> Iterator[Seen]:
    cases = (
        ("T04", "Flow", "0.9", ["1", "as typed", "2", "gal/min", "measure again first"]),
        ("T04", "Water below rim", "3", ["3.0 cm"]),
        ("L1", "Nitrite", "0.30", ["0.30"]),
    )
    for place, label, typed, wants in cases:
        with rooms.screen(rooms.fresh()) as t:
            stand(t, place, label)
            type_(t, typed)
            yield Seen(f"{place} {label} `{typed}`", said(t), wants)
            type_(t, "+")
            yield Seen("then `+`", said(t)[1:], (), [" kept. "])
            type_(t, "enter")
            row = rows_with(t, f" {label} ")[:1]
            yield Seen(
                "then Enter: the row of the line", row,
                never=["3.4  L/min", "7.6  cm", "0.03  mg/L"],
            )  # fmt: skip


def response_by_side(rooms: Rooms) -> Iterator[Seen]:
    site = rooms.fresh()
    with rooms.screen(site) as t:
        stand(t, "T07", "Temperature")
        type_(t, "18.5", "14.1")  # 155 % of what water of this temperature and height holds
        if "easure again" in t.text():
            type_(t, "14.1")
        yield Seen(
            "temperature `18.5`, oxygen `14.1`: 155 % of saturation", said(t),
            ["saturation 15", "Turn the oxygen down"], ["Open oxygen", "open the oxygen"],
        )  # fmt: skip
    yield Seen(
        "`tankwalk handover`",
        about(rooms.at(site, "handover", NOW), "saturation", "if T07", after=2),
        ["saturation 15"], ["Open oxygen", "open the oxygen"],
    )  # fmt: skip
    site = rooms.fresh()
    with rooms.screen(site) as t:
        stand(t, "L1", "Alkalinity")
        type_(t, "486")
        yield Seen("L1 alkalinity `486`", said(t), ["486"])
        if "as typed" in t.text():
            type_(t, "*")
        type_(t, "486")
        yield Seen("`486` again", said(t), ["Stop dosing"], ["dose in parts", "work out the dose"])
    yield Seen(
        "`tankwalk handover`", about(rooms.at(site, "handover", NOW), "lkalinity", after=2),
        ["486", "Stop dosing"], ["dose in parts", "work out the dose"],
    )  # fmt: skip


def fouled_and_brushed(rooms: Rooms) -> Iterator[Seen]:
    site = rooms.fresh()
    with rooms.screen(site, now="2026-05-10T06:58") as t:
        stand(t, "T04", "Outlet screen")
        type_(t, "3")
        yield Seen("06:58, T04 outlet screen `3` Enter", said(t), ["fouled"])
        if "easure again" in t.text() or "ook again" in t.text():
            type_(t, "3")
        type_(t, "enter")
        yield Seen("Enter opens the flag", page(t)[:8], ["FLAG T04 Outlet screen", "do"])
    with rooms.screen(site, now="2026-05-10T07:01") as t:
        stand_flag(t)
        number = next(
            (row.strip().split()[0] if row.strip()[0].isdigit() else row.split()[1]
             for row in rows_with(t, "rush") if re.search(r"\d  \w", row)), "1",
        )  # fmt: skip
        t.press(number)
        t.read(0.4)
        if "Who" in t.text():
            t.press("5")
            t.read(0.4)
        yield Seen(f"07:01, `{number}` `5`", rows_with(t, "rush", "Done"), ["Done 07:01 (PB)"])
    with rooms.screen(site, now="2026-05-10T07:02") as t:
        stand_flag(t)
        t.press("enter")
        t.read(0.4)
        if "Who" in t.text():
            t.press("5")
            t.read(0.4)
        type_(t, "1")
        yield Seen("07:02, Enter looks again, `1` Enter: clean", page(t)[-4:], ["clean"])
    with rooms.screen(site, now="2026-05-10T07:03") as t:
        stand(t, "T04", "Outlet screen")
        yield Seen("the stop in the round", rows_with(t, "Outlet screen"), ["clean"])
    yield Seen(
        "`tankwalk handover`", about(rooms.at(site, "handover", "2026-05-10T07:03"), "fouled",
        after=3), ["fouled", "06:58", "07:01", "PB", "clean", "07:02"], ["amended", "mis-keyed"],
    )  # fmt: skip


def stand_flag(terminal: Terminal) -> None:
    """From the board to the worst flag."""
    terminal.wait("Room", 30)
    terminal.press("*")
    terminal.wait("FLAG")
    terminal.read(0.2)


def emergency(rooms: Rooms, site: Path) -> None:
    """4.2 and 4.2 at 07:00."""
    with rooms.screen(site) as t:
        stand(t, "T07", "Oxygen")
        type_(t, "4.2", "4.2")


def looks_come_due(rooms: Rooms) -> Iterator[Seen]:
    site = rooms.fresh()
    emergency(rooms, site)
    at = "2026-05-10T07:02"
    with rooms.screen(site, now=at) as t:
        t.wait("Room", 30)
        yield Seen("07:02, the board", page(t)[1:10], ["look", "by 07:05, in 3 min"])
        t.press("+", "enter")
        t.wait("stop ")
        t.read(0.2)
        yield Seen("07:02, the head of the round", page(t)[:1], ["T07 NOT CALLED, look in 3 min"])
    yield Seen(
        "`tankwalk handover` at 07:02", about(rooms.at(site, "handover", at), "07:05", after=1),
        ["07:05"],
    )  # fmt: skip
    with rooms.screen(site, now="2026-05-10T07:05") as t:
        stand_flag(t)
        t.press("enter")
        t.read(0.4)
        t.press("5")
        t.wait("WALK")
        t.read(0.2)
        yield Seen(
            "07:05, `*` Enter `5`: a look of its own", [page(t)[1], *rows_with(t, " > ")],
            ["0 of 1", "Oxygen"],
        )  # fmt: skip
        type_(t, "7.4")
        yield Seen("`7.4`", page(t)[-4:], ["In band once; one more look in band ends the flag."])
    yield Seen(
        "`tankwalk board` at 07:06: one open round, the morning's",
        about(rooms.at(site, "board", "2026-05-10T07:06"), "not signed", "Look"),
        ["Morning round"], ["Look,"],
    )  # fmt: skip


def calls(rooms: Rooms) -> Iterator[Seen]:
    site = rooms.fresh()
    emergency(rooms, site)
    with rooms.screen(site, now="2026-05-10T07:02") as t:
        t.wait("Room", 30)
        yield Seen(
            "07:02, the board's first seven rows", page(t)[:7],
            ["!!! URGENT", "MV, on call, 555-0142. NOT CALLED YET"],
        )  # fmt: skip
        t.press("+", "enter")
        t.wait("stop ")
        walk_to(t, "T07", "Oxygen")
        yield Seen(
            "at the stop in the round", said(t),
            ["!!! URGENT", "call MV 555-0142, NOT CALLED YET"],
        )  # fmt: skip
    with rooms.screen(site, now="2026-05-10T07:03") as t:
        stand_flag(t)
        t.press("6")
        t.read(0.3)
        if "Who" in t.text() and "5 PB" in t.text():
            t.press("5")
            t.read(0.3)
        yield Seen("07:03, `*` `6`", page(t)[-4:], ["MV"])
        for _ in range(4):
            if "Call kept" in t.text():
                break
            t.press("1")
            t.read(0.3)
        yield Seen(
            "by number: MV, reached, what was said",
            [*rows_with(t, "call  "), *page(t)[-3:]], ["Call kept 07:03 (PB): MV reached"],
        )  # fmt: skip
    yield Seen(
        "`tankwalk handover`", about(rooms.at(site, "handover", "2026-05-10T07:04"), "reached"),
        ["MV reached"], ["NOT CALLED YET"],
    )  # fmt: skip


def doses(rooms: Rooms) -> Iterator[Seen]:
    site = rooms.fresh()
    with rooms.screen(site) as t:
        t.wait("Room", 30)
        t.press("4")
        t.wait("Find")
        t.press(*"bath", "enter")
        t.wait("Enter next")
        yield Seen("the sum `bath`", page(t)[:8], ["product"])
        t.press("/")
        t.read(0.3)
        for _ in range(3):
            if "T01" in t.line(0) or "T01" in t.line(1):
                break
            t.press("/")
            t.read(0.2)
        t.press("2", "enter", *"220", "enter", *"1000", "enter")
        t.read(0.3)
        yield Seen("product `2`, volume `220`, dose `1000`", page(t), ["above 250"])
        for keys, wants in (
            (("+",), ["by weight 628.57 g"]),
            (("+",), ["as what"]),
            (("2",), ["Who keeps it?"]),
            (("5",), ["556.26 mL peroxide 35 % into T01", "above 250", "Who decided"]),
            (("enter",), ["556.26 mL peroxide 35 % into T01", "Who decided"]),
        ):
            t.press(*keys)
            t.read(0.4)
            yield Seen(" ".join(f"`{key}`" for key in keys), page(t)[1:], wants, ["kept"])
    yield Seen(
        "`tankwalk calc bath volume=220 dose=\"1000 mg/L\"`",
        worked(rooms, "bath", "volume=220", "dose=1000 mg/L"), ["above"],
    )  # fmt: skip
    for words in ("to=30", "to=0.4"):
        yield Seen(
            f"`tankwalk calc salt-dose volume=220 from=0 {words}`",
            worked(rooms, "salt-dose", "volume=220", "from=0", words),
            ["above 4.8"] if words == "to=30" else [],
        )


def worked(rooms: Rooms, *words: str) -> list[str]:
    """What `calc` prints, without where the numbers came from and its source."""
    lines = rooms.run("calc", *words)
    cut = next((i for i, line in enumerate(lines) if line == " Made from"), len(lines))
    return [*(line for line in lines[:cut] if line), *lines[max(cut, len(lines) - 1) :]]


def commands(rooms: Rooms) -> Iterator[Seen]:
    def run(*words: str, wants: Sequence[str] = (), never: Sequence[str] = ()) -> Seen:
        shown = " ".join(f'"{w}"' if " " in w else w for w in words)
        return Seen(f"`tankwalk calc {shown}`", worked(rooms, *words), wants, never)

    yield run("bath", "volume=1,200 L", "dose=10 mg/L", wants=["1.2", "1200", "exit status 2"])
    yield run("ammonia", "tan=0.5 mg/L NO2", "ph=8", "temperature=17", wants=["exit status 2"])
    yield run("ammonia", "tan=0.5 mg/L TAN", "ph=8", "temperature=17", wants=["exit status 0"])
    bath = ("bath", "volume=220 L", "dose=250 uL/L", "active=37 %")
    yield run(*bath, wants=["55", "148.6"])
    yield run(*bath, "label_doses=product", wants=["55"])
    yield run("bath-flow", "flow=3.5", "minutes=60", "dose=25 mg/L", wants=["exit status 0"])
    yield run("bath-flow", "flow=3.5", "minutes=60", "dose=0.025 g/L", wants=["exit status 0"])


def clocks(rooms: Rooms) -> Iterator[Seen]:
    for now, words in (("1990-01-01T06:00", "36 years"), ("2026-05-09T15:30", "a day")):
        site = rooms.fresh()
        if words == "a day":
            emergency(rooms, site)
            now, words = "2026-05-10T06:00", "an hour"
        with rooms.screen(site, now=now) as t:
            t.read(0.3)
            yield Seen(f"the clock is back by {words}: `--now {now}`", page(t)[:8])
            t.press("+")
            t.read(0.3)
            t.press("5")
            t.read(0.5)
            yield Seen("`+` `5`, to begin a round", page(t), ["clock"], ["kept"])


def content(rooms: Rooms) -> Iterator[Seen]:
    for typed, wants, never in (
        ("<0.02", ["Total chlorine < 0.02 mg/L kept"], ["URGENT"]),
        ("0.02", ["0.02 mg/L", "URGENT", "Measure again"], ["decimal"]),
    ):
        site = rooms.fresh()
        where = ("L1", "--item", "chlorine", "--who", "PB", "--site", str(site), "--now", NOW)
        yield Seen(
            f"`tankwalk look L1 --item chlorine --who PB --plain`, `{typed}`",
            rooms.run("look", *where, "--plain", typed=f"{typed}\n"), wants, never,
        )  # fmt: skip
    for typed, wants in (("B duty", ["Write why A is out"]),):
        with rooms.screen(rooms.fresh()) as t:
            stand(t, "L1", "Main pump")
            type_(t, "2")
            yield Seen(f"L1 main pump `2`, {typed}", said(t), wants, ["other pump"])
    for typed, wants, never in (
        ("3", ["HIGH WATER"], []),
        ("14", ["LOW WATER"], ["HIGH WATER"]),
    ):
        with rooms.screen(rooms.fresh()) as t:
            stand(t, "T04", "Water below rim")
            type_(t, typed)
            for _ in range(2):
                if "as typed" in t.text():
                    type_(t, "*", typed)
                elif "easure again" in t.text():
                    type_(t, typed)
            yield Seen(f"T04 water below rim `{typed}`, read twice", said(t), wants, never)
    with rooms.screen(rooms.fresh(), "look", "L1", "--item", "tgp", "--who", "PB") as t:
        t.wait("WALK")
        type_(t, "103")
        yield Seen("`tankwalk look L1 --item tgp`, `103` (fish of 24 dph)", said(t),
                   ["103", "!"])  # fmt: skip
    with rooms.screen(rooms.fresh()) as t:
        stand(t, "T07", "Temperature")
        type_(t, "18.5", "12.1")
        yield Seen(
            "temperature `18.5`, oxygen `12.1`: 133 %",
            said(t),
            ["saturation 13", "!!! URGENT", "Turn the oxygen down"],
        )
    for days, wants in ((14, []), (15, [])):
        site = begun(rooms, days)
        with rooms.screen(
            site, "look", "T01", "--item", "temp", "--item", "film", "--who", "AB"
        ) as t:
            t.wait("WALK")
            type_(t, "15.9")
            yield Seen(f"a new site of sauger, {days} dph: temperature `15.9`",
                       [*rows_with(t, "Temperature"), *said(t)[1:]], wants, ["ACT"])  # fmt: skip
    site = begun(rooms, 7)
    with rooms.screen(site, "look", "T01", "--item", "film", "--who", "AB") as t:
        t.wait("WALK")
        yield Seen("7 dph, surface film: its words", page(t)[-8:], ["none", "thin", "patches"])
        type_(t, "3")
        yield Seen("`3` patches", about(page(t), "Surface film", "do  "), ["patches"], ["decimal"])


def begun(rooms: Rooms, days: int) -> Path:
    """A new site whose fish are so many days old."""
    site = rooms.fresh().parent / f"begun{days}-{rooms._used}"
    rooms.run("start", str(site))
    plan = site / "plan.toml"
    hatched = f"2026-{'04' if days >= 10 else '05'}-{(40 - days) if days >= 10 else 10 - days:02d}"
    words = re.sub(r"(?m)^hatched = .*$", f"hatched = {hatched}", plan.read_text("utf-8"))
    plan.write_text(words, "utf-8")
    return site


def digits(rooms: Rooms) -> Iterator[Seen]:
    site = begun(rooms, 12)
    with rooms.screen(rooms.fresh()) as t:
        stand(t, "T02", "Temperature")
        type_(t, "18.25")
        yield Seen("temperature `18.25`", [*rows_with(t, "Temperature"), *said(t)[1:]],
                   ["18.25 degC kept"], ["18.2 degC"])  # fmt: skip
    with rooms.screen(site, "look", "T01", "--item", "temp", "--who", "AB") as t:
        t.wait("WALK")
        type_(t, "17.04")
        yield Seen(
            "sauger of 12 dph, band 15.0 - 17.0: temperature `17.04`",
            said(t),
            ["17.04 degC, band 15.0 - 17.0"],
            ["17.0 degC, band"],
        )


SIGHTINGS = (
    Sighting("A confirmed URGENT is taken back by a later look",
             "`4.2`, `4.2`, then `Up`, `*`, `7.5`: \"The first, 4.2, was not confirmed.\" The flag "
             "left the open list, the end page and the handover at once.", confirmed_stays),
    Sighting("A guess silences an alarm",
             "Flow 0.9, water below rim 3, nitrite 0.30: `+` kept 3.4, 7.6 and 0.03 as ok.",
             no_guess_silences),
    Sighting("The first response goes by item, not by side",
             "Oxygen at 155 %: \"open the oxygen\". Alkalinity 486: \"work out the dose\", and so "
             "to the next shift.", response_by_side),
    Sighting("Fouled, brushed, clean",
             "The only way to say so was a correction; the flag never was.", fouled_and_brushed),
    Sighting("Nothing comes due",
             "\"Look again in 5 min\" was a sentence; a second look was a second round of 143 "
             "items.", looks_come_due),
    Sighting("Nobody is called",
             "The number was the board's last line; URGENT named nobody; no call could be entered.",
             calls),
    Sighting("A first dose is kept unasked",
             "1000 mg/L into 220 L: 220 g, kept. Salt to 30 g/kg: unasked.", doses),
    Sighting("Numbers are taken wrongly in a sum",
             "`1,200 L` was 1.2 L; NO2 was taken for ammonia; formalin at 37 % gave 148.6 mL; "
             "`bath-flow` took neither mg/L nor g/L.", commands),
    Sighting("A clock set back is never noticed",
             "By 36 years or an hour: \"kept\", board \"ok 0m\".", clocks),
    Sighting("What ships misleads",
             "A clean chlorine kit URGENT and a read 0.02 guessed away; film 2 \"decimal point\"; "
             "gas 103 % fine; oxygen 133 % only WATCH; 15.9 degC fine at 14 dph, ACT at 15; pump B "
             "\"switch to the other pump\"; one response for high and low water.", content),
    Sighting("Digits are lost",
             "18.25 said back as 18.2; 17.54 against 15.5 - 17.5 read \"17.5, WATCH\".", digits),
)  # fmt: skip


def told(only: Sequence[str] = ()) -> Iterator[str]:
    """The page in Markdown."""
    yield "# The eleven sightings, played again"
    yield ""
    yield (
        "Written by `python tests/sightings.py`: each is played at the keyboard of a terminal of "
        "80x24, on a copy of the demo on its Sunday, or through its command. Shown are the lines "
        "that bear on it, as they stand there. Whether it is mended is counted from words that "
        "must be said and words that must not."
    )
    with tempfile.TemporaryDirectory() as folder:
        rooms = Rooms(Path(folder))
        for number, one in enumerate(SIGHTINGS, 1):
            if only and str(number) not in only:
                continue
            yield ""
            yield f"## {number}. {one.title}"
            yield ""
            yield f"Then: {one.then}"
            missed: list[str] = []
            for seen in one.played(rooms):
                yield ""
                yield f"{seen.did}:"
                yield ""
                yield "```"
                yield from (line.replace(folder, "DIR") for line in seen.lines)
                yield "```"
                missed += [f"{seen.did}: {what}" for what in seen.missed]
            yield ""
            yield "**Mended.**" if not missed else "**Not mended**: " + "; ".join(missed) + "."


if __name__ == "__main__":
    for words in told(sys.argv[1:]):
        print(words, flush=True)
