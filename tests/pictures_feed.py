"""The pictures of feeding that `pictures.py` takes: their sites, moments, and keys."""

from __future__ import annotations

import atexit
import shutil
import sys
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path

import demo_support
from site_support import moment
from tankwalk_demo.scenario import rehearsal
from terminal import Terminal

Steps = Callable[[Terminal], None]
Made = Callable[[Path], None]

BEFORE_MEAL = "2026-05-10T07:52"
POOR_HATCH = "2026-05-04T13:58"
LATE_CONE = "2026-05-04T11:00"
EVENING = "2026-05-04T21:00"
COUNTED = "2026-05-10T08:36"
IN_BATH = "2026-05-10T09:14"

TEMPERATURES = ((10, "20"), (11, "25"), (12, "29"), (13, "33"))
"""Minutes past nine, and what the bath showed then, in degC."""

LONGEST_WALK = 60
"""More keys than a meal of twelve tanks takes."""


def feed_list(terminal: Terminal) -> None:
    """Feed: the list of a meal, what to make up first."""
    terminal.press("2")
    terminal.wait("FEED  Meal")


def feed_tank(terminal: Terminal) -> None:
    """At the third tank of a meal: left over first, now its dry feed."""
    feed_list(terminal)
    terminal.press("enter")
    terminal.wait("Who gives this meal?")
    terminal.press("5")
    for _ in range(LONGEST_WALK):
        if terminal.line(1).startswith(" T03"):
            break
        terminal.press("+")
    terminal.press("+")
    terminal.wait("as listed")


def feed_night(terminal: Terminal) -> None:
    """At a tank of a meal, in the night look."""
    feed_tank(terminal)
    terminal.press("d")


def feed_plain(terminal: Terminal) -> None:
    """At a tank of a meal, in the plain look."""
    feed_tank(terminal)
    terminal.press("d", "d")


def feed_response(terminal: Terminal) -> None:
    """How they went for it: by number, the last line of a tank."""
    feed_tank(terminal)
    for _ in range(LONGEST_WALK):
        if "eager" in terminal.line(-1):
            return
        terminal.press("+")


def to_meal(terminal: Terminal) -> None:
    """From the board to the first tank of the meal after the poor hatch."""
    feed_list(terminal)
    terminal.press("enter")
    terminal.wait("Who gives this meal?")
    terminal.press("1")
    terminal.wait("tank 1 of 12")


def feed_wrong(terminal: Terminal) -> None:
    """Another tank's cup: stopped in words before anything is kept."""
    to_meal(terminal)
    terminal.press("+", "1")
    terminal.wait("tank 2 of 12")
    terminal.press("/", "5", "1", *"300", "enter")
    terminal.wait("Continue?")


def feed_end(terminal: Terminal) -> None:
    """The end of a meal: what went in, what was not normal."""
    to_meal(terminal)
    for nth in range(1, 13):
        terminal.wait(f"tank {nth} of 12")
        terminal.press("+", "2" if nth in (7, 11) else "1")
    terminal.wait("12 of 12 tanks")


def feed_short(terminal: Terminal) -> None:
    """A short ration: how much is missing, until when, and the rule by which it is shared."""
    feed_list(terminal)


def feed_ration(terminal: Terminal) -> None:
    """The working of a tank's ration, line by line."""
    feed_list(terminal)
    terminal.press("down", "down", "-")
    terminal.wait("RATION")


def feed_tomorrow(terminal: Terminal) -> None:
    """Tomorrow, worked backwards to what is set, chilled and weighed tonight."""
    feed_list(terminal)
    terminal.press("+")
    terminal.wait("TOMORROW")


def week_tank(terminal: Terminal) -> None:
    """A week's feed of one tank, planned beside given."""
    feed_list(terminal)
    terminal.press(*["down"] * 4, ".")
    terminal.wait("FEED  T05")


def week_arm(terminal: Terminal) -> None:
    """A week's feed of one treatment."""
    week_tank(terminal)
    terminal.press("+")
    terminal.wait("FEED  M14")


def live_feed(terminal: Terminal) -> None:
    """Live feed: what runs short, the next clock, what is in store."""
    terminal.press("7")
    terminal.wait("LIVE FEED")


def live_late(terminal: Terminal) -> None:
    """A late cone whose water was cold: who goes short, by how much, from which meal on."""
    live_feed(terminal)


def batch(terminal: Terminal) -> None:
    """The story of a batch: its hatch, its count, every meal and tank it fed."""
    live_feed(terminal)
    for _ in range(8):
        if "\n > A0503" in terminal.text():
            break
        terminal.press("down")
        terminal.read(0.3)
    terminal.press("right")
    terminal.wait("BATCH")


def count(terminal: Terminal) -> None:
    """The counting pad: three drops, the mean and how far it can be trusted."""
    live_feed(terminal)
    terminal.press("enter", "5")
    terminal.wait("rinsed, in all, L?")
    terminal.press(*"7.5", "enter", "/")
    terminal.wait("How old are they?")
    terminal.press("1", "1", "enter")
    terminal.wait("Count A0509")
    terminal.press("enter")
    terminal.wait("Enter keep")
    for drop in ("34", "29", "38"):
        terminal.press(*drop, "enter")


def bath(terminal: Terminal) -> None:
    """Decapsulation in the bath at 37 degC: over the limit of the procedure."""
    terminal.press("/")
    terminal.wait("stop by")
    terminal.press("3", "7", "enter")
    terminal.wait("Ice now")


def bath_night(terminal: Terminal) -> None:
    """The bath in the night look."""
    bath(terminal)
    terminal.press("d")


def bath_plain(terminal: Terminal) -> None:
    """The bath in the plain look."""
    bath(terminal)
    terminal.press("d", "d")


def demo(folder: Path) -> None:
    """The demo as it stands on its Sunday."""
    shutil.copytree(demo_support.until(rehearsal()), folder)


def until(when: str) -> Made:
    """The demo as it was entered before a moment of its season."""
    return lambda folder: demo_support.cut(folder, moment(when))


@cache
def _bathed() -> Path:
    """The demo with cysts in the bath since 09:07 and its temperature each minute, made once."""
    within = Path(tempfile.mkdtemp(prefix="tankwalk-bath-"))
    atexit.register(shutil.rmtree, within, ignore_errors=True)
    site = within / "site"
    demo(site)

    def at(hm: str, *keys: str) -> None:
        command = [sys.executable, "-m", "tankwalk", "--site", str(site)]
        command += ["--now", f"2026-05-10T{hm}"]
        with Terminal(command, {"TANKWALK_HOME": str(within)}, (80, 24)) as terminal:
            terminal.wait("TANKS", 30)
            terminal.press("/", *keys)
            terminal.read(0.2)

    at("08:00", "1", "+", "1", *"15", "enter", "2", "5")
    at("09:00", "+", "2")
    at("09:05", "+", "1")
    at("09:06", "4", "enter")
    at("09:07", "+")
    for minute, typed in TEMPERATURES:
        at(f"09:{minute}", *typed, "enter")
    return site


def in_bath(folder: Path) -> None:
    """The demo with a decapsulation under way."""
    shutil.copytree(_bathed(), folder)


SITES: dict[str, tuple[Made, str]] = {
    "feed": (demo, BEFORE_MEAL),
    "feed-tank": (demo, BEFORE_MEAL),
    "feed-tank-night": (demo, BEFORE_MEAL),
    "feed-tank-plain": (demo, BEFORE_MEAL),
    "feed-response": (demo, BEFORE_MEAL),
    "feed-wrong": (until(POOR_HATCH), POOR_HATCH),
    "feed-short": (until(POOR_HATCH), POOR_HATCH),
    "feed-end": (until(POOR_HATCH), POOR_HATCH),
    "ration": (demo, BEFORE_MEAL),
    "tomorrow": (demo, BEFORE_MEAL),
    "feed-week": (demo, BEFORE_MEAL),
    "feed-week-arm": (demo, BEFORE_MEAL),
    "live-feed": (demo, BEFORE_MEAL),
    "live-feed-late": (until(LATE_CONE), LATE_CONE),
    "batch": (until(EVENING), EVENING),
    "count": (demo, COUNTED),
    "bath": (in_bath, IN_BATH),
    "bath-night": (in_bath, IN_BATH),
    "bath-plain": (in_bath, IN_BATH),
}
"""What makes the site of each picture, and when it is taken."""

SHOTS: tuple[tuple[str, Steps], ...] = (
    ("feed", feed_list),
    ("feed-tank", feed_tank),
    ("feed-tank-night", feed_night),
    ("feed-tank-plain", feed_plain),
    ("feed-response", feed_response),
    ("feed-wrong", feed_wrong),
    ("feed-short", feed_short),
    ("feed-end", feed_end),
    ("ration", feed_ration),
    ("tomorrow", feed_tomorrow),
    ("feed-week", week_tank),
    ("feed-week-arm", week_arm),
    ("live-feed", live_feed),
    ("live-feed-late", live_late),
    ("batch", batch),
    ("count", count),
    ("bath", bath),
    ("bath-night", bath_night),
    ("bath-plain", bath_plain),
)
