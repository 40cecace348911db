"""The pictures of past, stock and trial that `pictures.py` takes: sites, moments, keys."""

from __future__ import annotations

import atexit
import shutil
import tempfile
from collections.abc import Callable
from functools import cache
from pathlib import Path

import demo_support
from learning_support import ph_room
from record_round import in_order, keys_for
from record_sample import Hand, tray
from site_support import moment
from tankwalk_demo import make, morning_answers
from tankwalk_demo.room import plan
from terminal import KEYS, Terminal

Steps = Callable[[Terminal], None]
Made = Callable[[Path], None]

IN_TROUBLE = "2026-05-10T07:25"
"""Sunday of the demo: oxygen low at T07, many dead, the screen found fouled."""


@cache
def _in_trouble() -> Path:
    """The season as it was entered until then, made once."""
    kept = Path(tempfile.mkdtemp(prefix="pictures-past-"))
    atexit.register(shutil.rmtree, kept, True)
    make(kept / "site", demo_support.STATION, until=moment(IN_TROUBLE))
    return kept / "site"


def in_trouble(folder: Path) -> None:
    """A copy of that site."""
    shutil.copytree(_in_trouble(), folder)


SAMPLE_DAY = "2026-05-14T12:55"
"""The day of the second samples, before they are taken."""


@cache
def _before_samples() -> Path:
    kept = Path(tempfile.mkdtemp(prefix="pictures-samples-"))
    atexit.register(shutil.rmtree, kept, True)
    make(kept / "site", demo_support.STATION, until=moment(SAMPLE_DAY))
    return kept / "site"


def before_samples(folder: Path) -> None:
    """A copy of the demo on the day of the second samples."""
    shutil.copytree(_before_samples(), folder)


def tank(terminal: Terminal) -> None:
    """The tank of the worst flag: its past on one time axis."""
    terminal.press("1")
    terminal.wait("worst a day" if terminal.columns >= 80 else "A act")


def tank_night(terminal: Terminal) -> None:
    """The same tank in the night look."""
    tank(terminal)
    terminal.press("d")


def tank_plain(terminal: Terminal) -> None:
    """The same tank in the plain look."""
    tank(terminal)
    terminal.press("d", "d")


def tank_story(terminal: Terminal) -> None:
    """Its story, newest first; what was done the last time stands on top."""
    tank(terminal)
    terminal.press("down", "down", "down")
    terminal.wait("STORY")


def tank_table(terminal: Terminal) -> None:
    """Every look in tables, as it is printed and read aloud."""
    tank(terminal)
    terminal.press("t")
    terminal.wait("since 06:5")


def tank_month(terminal: Terminal) -> None:
    """A month, a cell a day: from the lowest look to the highest of each."""
    tank(terminal)
    terminal.press("+")
    terminal.wait("30 days")


def meter_past(terminal: Terminal) -> None:
    """A meter: its checks in their limits, and when its readings were suspect."""
    terminal.press("6")
    terminal.wait("METERS")
    terminal.press("down", "1")
    terminal.wait("read with it")


def at_entry(terminal: Terminal, place: str, item: str, typed: str) -> None:
    """Walk as PB with the demo's answers up to one slot, and type there what is not kept yet."""
    terminal.press("enter")
    terminal.wait("Who is doing this round?")
    terminal.press("5")
    terminal.wait("stop 1 of")
    for slot, answer in in_order(morning_answers()):
        if slot == (place, item):
            break
        many = 2 if slot in demo_support.ASKED_AGAIN else 1
        for nth in range(many):
            if nth:
                terminal.wait("second reading")
            terminal.press("".join(KEYS.get(key, key) for key in keys_for(answer)))
    asked = plan().find_item(item)
    terminal.wait(f"{place}  {asked.label if asked else item}")
    terminal.press(*typed)


def past_out(terminal: Terminal) -> None:
    """A value out of its band as it is typed, beside its past."""
    at_entry(terminal, "T07", "do", "6.1")


def past_unit(terminal: Terminal) -> None:
    """A value in another unit: what was understood, and where it lies."""
    at_entry(terminal, "T02", "temp", "65.2f")


def past_word(terminal: Terminal) -> None:
    """A word and its past: not checked is a mark and no gap."""
    at_entry(terminal, "T07", "screen", "3")


def past_dead(terminal: Terminal) -> None:
    """A count of the dead, its days in bars, what is usual and what others had."""
    at_entry(terminal, "T07", "morts", "64")


def past_night(terminal: Terminal) -> None:
    """The past of a value in the night look."""
    terminal.press("d")
    past_out(terminal)


def past_plain(terminal: Terminal) -> None:
    """The past of a value in the plain look."""
    terminal.press("d", "d")
    past_out(terminal)


def past_choice(terminal: Terminal) -> None:
    """A choice, before anything is typed: what each word raises."""
    at_entry(terminal, "T07", "screen", "")


def stock(terminal: Terminal) -> None:
    """Stock: every tank's book, best estimate and what is unaccounted for."""
    terminal.press("8")
    terminal.wait("STOCK")
    terminal.press(*["down"] * 6)
    terminal.read(0.3)


def stock_night(terminal: Terminal) -> None:
    """The stock in the night look."""
    terminal.press("d")
    stock(terminal)


def stock_plain(terminal: Terminal) -> None:
    """The stock in the plain look."""
    terminal.press("d", "d")
    stock(terminal)


def stock_tank(terminal: Terminal) -> None:
    """The account of one tank: book, census and best as sums, their ranges on one scale."""
    stock(terminal)
    terminal.press("right")
    terminal.wait("BOOK")


def samples(terminal: Terminal) -> None:
    """Samples: what is due and what was found last."""
    terminal.press("s")
    terminal.wait("SAMPLES")


def sample(terminal: Terminal) -> None:
    """Fish by fish: the thirteenth of thirty is being typed."""
    sampled(terminal)
    terminal.press(*"17.")


def sample_slip(terminal: Terminal) -> None:
    """A length whose decimal mark is missing: asked at once, both readings named."""
    sampled(terminal)
    terminal.press(*"187", "enter")
    terminal.wait("Which is it?")


def sample_night(terminal: Terminal) -> None:
    """A sample in the night look."""
    terminal.press("d")
    sample(terminal)


def sample_plain(terminal: Terminal) -> None:
    """A sample in the plain look."""
    terminal.press("d", "d")
    sample(terminal)


def sampled(terminal: Terminal) -> None:
    """Look at twelve fish of T07, as TS: length, mass and gut of each."""
    samples(terminal)
    terminal.press(*["down"] * 6, "enter")
    terminal.wait("fish by fish")
    terminal.press("enter")
    terminal.wait("Enter begin")
    terminal.press("enter")
    terminal.wait("Who looks")
    terminal.press("3")
    hand = Hand(terminal)
    for nth, (mm, mg, fed) in enumerate(tray()[:12], 1):
        terminal.wait(f"Fish {nth}, length")
        hand.fish(mm, mg, fed)
    terminal.wait("Fish 13, length")


def find(terminal: Terminal) -> None:
    """Words of the record: all that was said of a screen, the newest first."""
    terminal.press("f")
    terminal.wait("Type words")
    terminal.press(*"screen T07")
    terminal.wait("found")
    terminal.press("down")


def find_night(terminal: Terminal) -> None:
    """The same in the night look."""
    terminal.press("d")
    find(terminal)


def find_plain(terminal: Terminal) -> None:
    """The same in the plain look: what is sought is bold there."""
    terminal.press("d", "d")
    find(terminal)


def season(terminal: Terminal) -> None:
    """What went in and came out by lot and treatment."""
    terminal.press("0")
    terminal.wait("PAGES")
    terminal.press("e")
    terminal.wait("stocked, fish")


def season_wrong(terminal: Terminal) -> None:
    """What went wrong, some pages on where the window is small."""
    season(terminal)
    for _ in range({60: 4, 80: 2}.get(terminal.columns, 1)):
        terminal.press("right")
    terminal.wait("Handovers not taken over")


def season_night(terminal: Terminal) -> None:
    """The season in the night look."""
    terminal.press("d")
    season(terminal)


def season_plain(terminal: Terminal) -> None:
    """The season in the plain look."""
    terminal.press("d", "d")
    season(terminal)


def trial(terminal: Terminal) -> None:
    """The trial: every tank a letter on one scale, the means, F and p."""
    terminal.press("9")
    terminal.wait("Treatment  F(")


def trial_unaccounted(terminal: Terminal) -> None:
    """Another measure of it: what is unaccounted for."""
    trial(terminal)
    terminal.press("down", "down", "down")
    terminal.wait("Unaccounted at the census")


def trial_tanks(terminal: Terminal) -> None:
    """The tanks one by one, and what stands behind the comparison."""
    trial(terminal)
    terminal.press("enter")
    terminal.wait("treatment   block")


def trial_night(terminal: Terminal) -> None:
    """The trial in the night look."""
    trial(terminal)
    terminal.press("d")


def trial_plain(terminal: Terminal) -> None:
    """The trial in the plain look."""
    trial(terminal)
    terminal.press("d", "d")


TOO_MANY = "2026-05-10T16:30"
"""A Sunday in a room where T05's pH is flagged too often."""


def too_many(folder: Path) -> None:
    """That room with its thirty days."""
    with ph_room(folder):
        pass


def judging(terminal: Terminal) -> None:
    """Judging: the flags of a month, what came of them, and what would be seen here."""
    terminal.press(".")
    terminal.wait("A WEEK")


def limit(terminal: Terminal) -> None:
    """The pH of a tank that is flagged too often: its looks against its band."""
    judging(terminal)
    terminal.press("1")
    terminal.wait("19 of 20")


def limit_tried(terminal: Terminal) -> None:
    """Another limit tried on it, before a lead writes it into the plan."""
    limit(terminal)
    terminal.press("enter", "6", ".", "9", "enter", "7", ".", "9", "enter")
    terminal.wait("in place of 9")


def limit_night(terminal: Terminal) -> None:
    """The limit that is tried in the night look."""
    terminal.press("d")
    limit_tried(terminal)


def limit_plain(terminal: Terminal) -> None:
    """The limit that is tried in the plain look."""
    terminal.press("d", "d")
    limit_tried(terminal)


def limit_kept(terminal: Terminal) -> None:
    """The limit in the plan, and in force."""
    limit_tried(terminal)
    terminal.press("1", "1", "1")
    terminal.wait("in force")


SHOTS: tuple[tuple[str, Steps], ...] = (
    ("tank", tank),
    ("tank-night", tank_night),
    ("tank-plain", tank_plain),
    ("tank-story", tank_story),
    ("tank-table", tank_table),
    ("tank-month", tank_month),
    ("meter-past", meter_past),
    ("past-out", past_out),
    ("past-unit", past_unit),
    ("past-word", past_word),
    ("past-dead", past_dead),
    ("past-night", past_night),
    ("past-plain", past_plain),
    ("past-choice", past_choice),
    ("stock", stock),
    ("stock-night", stock_night),
    ("stock-plain", stock_plain),
    ("stock-tank", stock_tank),
    ("samples", samples),
    ("sample", sample),
    ("sample-slip", sample_slip),
    ("sample-night", sample_night),
    ("sample-plain", sample_plain),
    ("find", find),
    ("find-night", find_night),
    ("find-plain", find_plain),
    ("season", season),
    ("season-wrong", season_wrong),
    ("season-night", season_night),
    ("season-plain", season_plain),
    ("trial", trial),
    ("trial-unaccounted", trial_unaccounted),
    ("trial-tanks", trial_tanks),
    ("trial-night", trial_night),
    ("trial-plain", trial_plain),
    ("judging", judging),
    ("limit", limit),
    ("limit-tried", limit_tried),
    ("limit-night", limit_night),
    ("limit-plain", limit_plain),
    ("limit-kept", limit_kept),
)

_SITES = (
    (("tank", "find", "season", "stock", "judging"), in_trouble, IN_TROUBLE),
    (("limit",), too_many, TOO_MANY),
    (("sample",), before_samples, SAMPLE_DAY),
)

SITES: dict[str, tuple[Made, str]] = {
    name: (made, now)
    for starts, made, now in _SITES
    for name, _ in SHOTS
    if name.startswith(starts)
}
"""Those that are not of the demo's Sunday at ten to seven."""
