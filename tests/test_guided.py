"""Decapsulation and gear by pad: caution, stop rules, refusals, a plug pulled in the bath."""

from __future__ import annotations

import re
import signal
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from site_support import SMALL, clock_shows, opened, today_there, write_plan
from tankwalk.errors import Refusal
from tankwalk.ledger.feeding import BatchSeen
from tankwalk.ledger.store import Ledger, Station
from tankwalk.practice.livefeed import guided
from tankwalk.practice.livefeed.guided import Mark, Procedure, Stage
from tankwalk.practice.livefeed.guided_sitting import GuidedSitting
from tankwalk.practice.site import Site
from terminal import Terminal
from test_procedures import BLEACH, GEAR, RECIPE
from test_screens import Room, at_the_screen

CYSTS = """
[[cysts]]
code = "AC-7"
per_gram = 210000
hatch = 0.8
"""
PLAN = SMALL + BLEACH + CYSTS + RECIPE + GEAR


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with opened(tmp_path / "site", PLAN, "2026-05-10T09:00") as made:
        yield made


def steps(site: Site, batch: str = "S0510") -> list[BatchSeen]:
    return site.reader.feeding.batch(batch)


def marks(site: Site, batch: str = "S0510") -> list[Mark | None]:
    return [guided.mark_of(one) for one in steps(site, batch) if one.event == "step"]


async def into_the_bath(room: Room, site: Site) -> None:
    """From the board to cysts that are in the bath since 10:07."""
    await room.press("slash", "1")
    assert "Bleach with caustic burns" in room.text, "the caution stands first"
    await room.press("enter")
    assert "Bleach with caustic burns" in room.text, "Enter alone goes nowhere"
    await room.press("plus", "1", *"15", "enter")
    assert "89 mL of bleach, 2.2 g of caustic, water to 210 mL" in room.flowing
    assert "Recipes in print use 0.17 to 0.60 g" in room.flowing
    await room.press("2", "1")
    assert "until 10:00" in room.text
    clock_shows(site, "2026-05-10T10:05")
    await room.press("plus", "2")
    assert "Read it, put it on" in room.text
    await room.press("plus")
    assert "Never alone with this." in room.text
    await room.press("1", *"14", "enter")
    assert "step 3 of 7" in room.text, "14 degC is not chilled"
    await room.press("plus")
    assert "10 degC or less" in room.flowing
    await room.press("4", "enter")
    assert "step 4 of 7" in room.text
    clock_shows(site, "2026-05-10T10:07")
    await room.press("plus")
    assert "stop by 10:22" in room.text


def test_a_whole_decapsulation_by_pad_ends_as_a_batch_of_shelled_cysts(site: Site) -> None:
    async def act(room: Room) -> None:
        await into_the_bath(room, site)
        for minute, typed in (("08", "20"), ("09", "25")):
            clock_shows(site, f"2026-05-10T10:{minute}")
            await room.press(*typed, "enter")
        assert "Rose 5.0 degC a minute" in room.text
        assert "At this rate 35 degC at 10:11: ice." in room.flowing
        await room.press("minus", "3")
        assert "Orange: stop now." in room.text
        await room.press("plus", "plus", "plus")
        assert "Test the last rinse" in room.text
        await room.press("plus", "2")
        assert "Nothing goes on with chlorine in it" in room.flowing
        assert "step 5 of 7" in room.text
        await room.press("plus", "plus", "plus", "1", "plus", "2")
        assert "S0510 is shelled, use by Sun 17 May" in room.flowing

    at_the_screen(site, act)
    assert marks(site)[-9:] == [
        Mark.ORANGE, Mark.STOPPED, Mark.RINSED, Mark.NEUTRALIZED, Mark.FOUND, Mark.RINSED,
        Mark.NEUTRALIZED, Mark.CLEAN, Mark.IN_COLD,
    ]  # fmt: skip
    made = steps(site)[-1]
    assert (made.event, made.kind, made.lot, made.grams) == ("set", "shelled", "AC-7", 15.0)
    assert made.due_at == site.now().utc + 7 * 86400


def test_a_digit_where_no_temperature_is_asked_is_said_and_not_taken(site: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("slash", "1", "7")
        assert "7 does nothing here: no temperature is asked." in room.text
        await room.press("plus", "1", *"15", "enter", "2", "1")
        clock_shows(site, "2026-05-10T10:05")
        await room.press("plus", "2")
        assert "Read it, put it on" in room.text
        await room.press("3", "4")
        assert "4 does nothing here: no temperature is asked." in room.text
        await room.press("plus")
        assert "Never alone with this." in room.text, "nothing typed stands in the way"

    at_the_screen(site, act)


def test_37_degrees_warn_and_40_stop_and_nothing_else_is_done_then(site: Site) -> None:
    async def act(room: Room) -> None:
        await into_the_bath(room, site)
        for typed, said in (
            ("34.9", "Next temperature"),
            ("35", "!! 35 degC is over the 35"),
            ("37", "!! 37 degC is over the 35 of your SOP. Ice now"),
            ("39.9", "Ice now"),
            ("40", "STOP THE BATH NOW"),
        ):
            await room.press(*typed, "enter")
            assert said in room.flowing, typed
        assert "Pour it onto the screen, rinse in lots of cold water" in room.flowing
        await room.press("minus")
        assert "Stop the bath first: +." in room.text
        await room.press("slash")
        assert "Stop the bath first" in room.text
        await room.press("plus")
        assert "step 5 of 7" in room.text

    at_the_screen(site, act)
    assert marks(site)[-1] is Mark.STOPPED


def test_past_its_time_the_bath_is_to_be_stopped(site: Site) -> None:
    async def act(room: Room) -> None:
        await into_the_bath(room, site)
        clock_shows(site, "2026-05-10T10:21")
        await room.press("question_mark", "escape")
        assert "15 min are over" not in room.text
        clock_shows(site, "2026-05-10T10:22")
        await room.press("question_mark", "escape")
        assert "15 min are over: stop the bath" in room.flowing

    at_the_screen(site, act)


def test_gear_is_bathed_by_the_clock_and_hung_to_dry(site: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("slash", "2", "plus", "1", *"20", "enter", "1")
        await room.press("plus")
        assert "48 mL bleach (200 x 20 / 84) to 20 L of water" in room.flowing
        await room.press("plus")
        assert "out at 10:00" in room.text
        await room.press("plus", "1")
        assert marks(site, "G0510")[-1] is Mark.GEAR_IN, "too early: it stays in"
        clock_shows(site, "2026-05-10T10:00")
        await room.press("plus", "plus", "plus", "plus", "1", "plus")
        assert "hung to dry" in room.text

    at_the_screen(site, act)
    assert marks(site, "G0510")[-1] is Mark.HUNG
    assert all(one.event == "step" for one in steps(site, "G0510")), "gear is no batch of feed"


def test_esc_at_the_choice_of_a_procedure_leads_back_to_the_board(site: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("slash")
        assert "What is done?" in room.text
        await room.press("escape")
        assert "GUIDED" not in room.text
        assert "BOARD" in room.text

    at_the_screen(site, act)


def test_a_step_is_taken_back_by_one_key_and_the_first_is_not(site: Site) -> None:
    async def act(room: Room) -> None:
        await into_the_bath(room, site)
        await room.press("u")
        assert "Ready: cysts into the bath" in room.text
        assert "Taken back: cysts in the bath." in room.text

    at_the_screen(site, act)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('strength = "84 g/L"\n', "", "no strength in the plan"),
        ("tested = 2026-05-06\n", "", "a label is no test"),
        ("tested = 2026-05-06", "tested = 2026-05-11", "to come"),
    ],
)
def test_without_a_tested_bleach_nothing_is_begun(
    tmp_path: Path, old: str, new: str, said: str
) -> None:
    with opened(tmp_path / "site", PLAN.replace(old, new), "2026-05-10T09:00") as made:
        for procedure in Procedure:
            with pytest.raises(Refusal, match=said):
                GuidedSitting(made, procedure).check()


def test_a_bleach_too_weak_for_the_recipe_cannot_fit(tmp_path: Path) -> None:
    weak = PLAN.replace("84 g/L", "35 g/L")
    with opened(tmp_path / "site", weak, "2026-05-10T09:00") as made:
        with pytest.raises(Refusal, match=r"needs 35\.7 g/L or more"):
            guided.shell_mix(made.plan, 15, made.now())


def test_an_old_test_of_the_bleach_is_told(tmp_path: Path) -> None:
    plan = PLAN.replace("tested = 2026-05-06", "tested = 2026-04-09")

    async def act(room: Room) -> None:
        await room.press("slash", "1", "plus", "1", *"15", "enter")
        assert "was tested 31 days ago: test it again" in room.flowing
        await room.press("1")
        assert "Nothing was begun." in room.text

    with opened(tmp_path / "site", plan, "2026-05-10T09:00") as made:
        at_the_screen(made, act)
        assert steps(made) == []


def test_a_plug_pulled_in_the_bath_leaves_its_clock_and_its_step(tmp_path: Path) -> None:
    folder = tmp_path / "site"
    folder.mkdir()
    plan = PLAN.replace("2026-05-06", today_there()).replace('"60 min"', '"1 min"')
    write_plan(folder, plan)
    Ledger.open(folder / "ledger.sqlite", Station("x", "x"), create=True).close()
    command = [sys.executable, "-m", "tankwalk", "--site", str(folder)]
    home = {"TANKWALK_HOME": str(tmp_path)}
    with Terminal(command, home) as terminal:
        terminal.wait("BOARD")
        terminal.press("/", "1")
        terminal.wait("+ says that you have read this")
        terminal.press("+", "1", "1", "5", "enter", "2", "1")
        terminal.wait("step 1 of 7")
        terminal.press("+", "2", "+", "1", "4", "enter", "+")
        terminal.wait("stop by")
        terminal.press("2", "1", "enter")
        terminal.wait("21")
        found = re.search(r"stop by (\d\d:\d\d)", terminal.text())
        assert found is not None
        stop = found[1]
        terminal.kill(signal.SIGKILL)
    with Terminal(command, home) as terminal:
        terminal.wait("BOARD")
        # In the first row of the board, by itself.
        terminal.until(lambda: stop in terminal.text().split("\n")[0], stop, 15.0)
        terminal.press("/")
        terminal.wait("step 4 of 7")
        terminal.wait(f"stop by {stop}")
        minutes = "minutes since it went in"
        terminal.until(lambda: bool(re.search(r"\b[0-2] min ", terminal.text())), minutes)
        terminal.press("+")
        terminal.wait("step 5 of 7")
        terminal.wait(Stage.RINSE.value.capitalize())
