"""Records a sample of 30 fish of the demo in a real terminal, with number-pad keys alone.

    python tests/record_sample.py docs/first-sample.txt

Length, mass and gut of each fish. At fish 9 the decimal mark is forgotten; in the middle of fish 17
the program is killed (kill -9) and opened again. At the end the numbers on the screen are held
against numpy, scipy and statsmodels. The clock is fixed: only the seconds differ between runs.
"""

from __future__ import annotations

import random
import signal
import sys
import tempfile
import time
from contextlib import closing
from pathlib import Path

import numpy as np
import statsmodels.api as sm
from scipy import stats

import shared_support
from demo_support import STATION, cut
from record_round import PAD
from site_support import moment
from tankwalk.practice.samples import fish
from tankwalk.practice.site import open_site
from terminal import Terminal

NOW = "2026-05-14T12:55"
TANK = "T07"
FISH = 30
SLIP, KILLED = 9, 17
"""The fish whose decimal mark is forgotten, and the one the program is killed in."""


def tray() -> list[tuple[float, float, bool]]:
    """Invented fish of 28 dph: mm, mg, and whether there is food in the gut."""
    luck = random.Random(28)
    found = []
    for _ in range(FISH):
        mm = round(luck.gauss(19.3, 1.9), 1)
        mg = round(0.0064 * mm**3 * luck.lognormvariate(0, 0.07), 1)
        found.append((mm, mg, luck.random() < 0.9))
    return found


class Hand:
    """Somebody at the number pad; counts what is pressed."""

    def __init__(self, terminal: Terminal) -> None:
        self.terminal, self.keys, self.again = terminal, 0, 0

    def press(self, *keys: str) -> None:
        assert set(keys) <= PAD, keys
        self.keys += len(keys)
        self.terminal.press(*keys, quiet=0.03)

    def number(self, value: float) -> None:
        """Type a number; a second time where it is asked again."""
        self.press(*f"{value:g}", "enter")
        if "Measure it again" in self.terminal.text():
            before = self.keys
            self.press(*f"{value:g}", "enter")
            self.again += self.keys - before

    def fish(self, mm: float, mg: float, fed: bool) -> None:
        self.number(mm)
        self.number(mg)
        self.press("+" if fed else "-")


def main(target: Path) -> None:
    with tempfile.TemporaryDirectory() as folder:
        lines = record(Path(folder))
    target.write_text("\n".join(lines) + "\n", "utf-8")


def record(folder: Path) -> list[str]:
    """Cut the demo, look at the fish, kill the program in the middle, and tell it."""
    shared_support.share_in(folder / "shared")
    site = folder / "site"
    cut(site, moment(NOW))
    command = [sys.executable, "-m", "tankwalk", "--site", str(site), "--now", NOW, "sample", TANK]
    home = {"TANKWALK_HOME": str(folder / "home")}
    fish_in = tray()
    with Terminal(command, home, (80, 24)) as terminal:
        hand = Hand(terminal)
        terminal.wait("Enter begin", 30)
        hand.press("enter")
        terminal.wait("Who looks at them?")
        hand.press("3")
        terminal.wait("Fish 1, length")
        began = time.monotonic()
        first = terminal.text()
        for nth, (mm, mg, fed) in enumerate(fish_in[: KILLED - 1], 1):
            terminal.wait(f"Fish {nth}, length")
            if nth == SLIP:
                before = hand.keys
                hand.press(*f"{10 * mm:g}", "enter")
                terminal.wait("Which is it?")
                slipped = terminal.text()
                hand.press("2", "enter")
                hand.keys, slip_keys = before + len(f"{mm:g}") + 1, hand.keys - before
                hand.number(mg)
                hand.press("+" if fed else "-")
            else:
                hand.fish(mm, mg, fed)
            if nth == 12:
                middle = terminal.text()
        hand.number(fish_in[KILLED - 1][0])
        terminal.wait(f"Fish {KILLED}, mass")
        terminal.kill(signal.SIGKILL)
        keys, again = hand.keys - 2, hand.again
    on_disk = found(site)
    with Terminal(command, home, (80, 24)) as terminal:
        hand = Hand(terminal)
        terminal.wait("go on there", 30)
        taken_up = terminal.text()
        hand.press("enter")
        terminal.wait("Who looks at them?")
        hand.press("3")
        terminal.wait(f"Fish {KILLED}, mass")
        resumed, before = terminal.text(), hand.keys
        mm, mg, fed = fish_in[KILLED - 1]
        hand.number(mg)
        hand.press("+" if fed else "-")
        for nth, one in enumerate(fish_in[KILLED:], KILLED + 1):
            terminal.wait(f"Fish {nth}, length")
            hand.fish(*one)
        terminal.wait(f"{FISH} of {FISH}")
        end = terminal.text()
        keys, again = keys + hand.keys - before, again + hand.again
        seconds = time.monotonic() - began
        hand.press("+")
        terminal.wait("What became of")
        hand.press("2")
        terminal.wait("Kept (TS)")
        kept = terminal.text()
    return [
        f"A sample of {FISH} fish of {TANK} in the demo, 80x24, number-pad keys only: length, mass",
        f"and gut of each. Made by tests/record_sample.py with --now {NOW}.",
        "",
        f"keys for {FISH} fish      {keys - again}: digits and Enter for two numbers, + or - for "
        f"the gut, {(keys - again) / FISH:.1f} a fish",
        f"keys asked again      {again}: the largest or smallest so far, measured a second time",
        f"keys of the slip      {slip_keys} in place of 5: 10 times too long, chosen by its number",
        f"seconds               {seconds:.1f} with the restart (no hand and no scope: the program",
        "                      alone, with a 0.03 s wait after every key)",
        f"killed with kill -9   in fish {KILLED}, after its length: {on_disk} fish on disk, none "
        "lost",
        "",
        *compared(site, fish_in),
        "",
        "=== the first fish ===",
        first,
        "",
        "=== after twelve ===",
        middle,
        "",
        f"=== fish {SLIP}, the decimal mark forgotten ===",
        slipped,
        "",
        "=== opened again after kill -9 ===",
        taken_up,
        "",
        "=== on at the very fish ===",
        resumed,
        "",
        "=== all thirty ===",
        end,
        "",
        "=== kept ===",
        kept,
    ]


def found(site: Path) -> int:
    """How many fish the record holds."""
    with closing(open_site(site, STATION, NOW)) as opened:
        [sitting] = opened.reader.samples.open_sittings()
        return len(opened.reader.samples.fish(sitting.n))


def compared(site: Path, fish_in: list[tuple[float, float, bool]]) -> list[str]:
    """What the program's record comes to beside what outside libraries say of the same fish."""
    with closing(open_site(site, STATION, NOW)) as opened:
        sitting = [one for one in opened.reader.samples.sittings(0) if one.place == TANK][-1]
        worked = fish.work(opened.reader.samples.fish(sitting.n))
    mm = np.array([one[0] for one in fish_in])
    mg = np.array([one[1] for one in fish_in])
    k = 100 * (mg / 1000) / (mm / 10) ** 3
    line = sm.OLS(np.log(mg), sm.add_constant(np.log(mm))).fit()
    assert worked.lengths is not None
    assert worked.masses is not None
    assert worked.condition is not None
    assert worked.fit is not None
    rows = []
    for name, ours, theirs in (("length, mm", worked.lengths, mm), ("mass, mg", worked.masses, mg),
                               ("K", worked.condition, k)):  # fmt: skip
        low, high = stats.t.interval(
            0.95, len(theirs) - 1, loc=np.mean(theirs), scale=stats.sem(theirs)
        )
        assert ours.limits is not None
        rows += [
            (f"{name}, mean", ours.mean, np.mean(theirs), "numpy"),
            (f"{name}, SD", ours.sd, np.std(theirs, ddof=1), "numpy"),
            (f"{name}, CV %", ours.cv, 100 * stats.variation(theirs, ddof=1), "scipy"),
            (f"{name}, 95 % from", ours.limits.low, low, "scipy"),
            (f"{name}, 95 % to", ours.limits.high, high, "scipy"),
            (f"{name}, median", ours.median, np.median(theirs), "numpy"),
            (f"{name}, skew", ours.skew, stats.skew(theirs, bias=False), "scipy"),
        ]
    rows += [
        ("mass by length, b", worked.fit.b, line.params[1], "statsmodels OLS on logs"),
        ("b, 95 % from", worked.fit.low, line.conf_int()[1][0], "statsmodels"),
        ("b, 95 % to", worked.fit.high, line.conf_int()[1][1], "statsmodels"),
    ]
    said = ["                         tankwalk        outside"]
    for name, own, other, whose in rows:
        assert own is not None
        assert abs(own - float(other)) <= 1e-7 * max(1.0, abs(own)), name
        said.append(f"{name:<20}{own:>14.6f} {float(other):>14.6f}   {whose}")
    return said


if __name__ == "__main__":
    main(Path(sys.argv[1]))
