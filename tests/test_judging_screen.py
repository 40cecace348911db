"""A lead at the page of judging: from too many flags to a better limit, with the number pad."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from learning_support import ph_room
from tankwalk.cli import main
from tankwalk.pages import judging as page
from tankwalk.pages.lines import plain
from tankwalk.plan.bands import band_at
from tankwalk.practice.dialog import Asking
from tankwalk.practice.learning import talk, trying
from tankwalk.practice.learning.trying import Tried
from tankwalk.practice.learning.view import learned
from tankwalk.practice.past.window import window
from tankwalk.practice.site import Site
from test_open_screen import with_the_pad
from test_screens import Room, at_the_screen

SIZES = [(80, 24), (60, 20), (120, 40)]


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with ph_room(tmp_path / "room") as made:
        yield made


def limits(site: Site) -> tuple[float | None, float | None]:
    band = band_at(site.plan, site.plan.item("ph"), "T05", site.now().day)
    assert band is not None
    return band.limits.watch_below, band.limits.watch_above


@pytest.mark.parametrize("size", SIZES)
def test_a_lead_comes_to_a_better_limit_with_twenty_keys_of_the_pad(
    site: Site, size: tuple[int, int]
) -> None:
    async def act(room: Room) -> None:
        pad = with_the_pad(room)
        await pad.press("full_stop")
        assert "9 flags in 30 days: 1 acted on, 5 dismissed, 3 with nothing entered" in pad.flowing
        await pad.press("1")
        assert "JUDGING T05 pH" in pad.flowing
        assert "Beside the other tanks a step of 0.239 is told in 23 h" in pad.flowing
        await pad.press("enter", *"6", "full_stop", "9", "enter", "7", "full_stop", "9", "enter")
        assert "With 6.90 - 7.90: 2 flags in place of 9; the 1 acted on is still told." in (
            pad.flowing
        )
        assert limits(site) == (7.0, 7.6)
        await pad.press("1", "1")
        assert limits(site) == (7.0, 7.6)
        await pad.press("1")
        assert "In the plan and in force: T05 pH 6.90 - 7.90 (MV)." in pad.flowing
        assert pad.count <= 20

    at_the_screen(site, act, size)
    assert limits(site) == (6.9, 7.9)


def test_the_open_list_leads_there_and_back(site: Site) -> None:
    async def act(room: Room) -> None:
        pad = with_the_pad(room)
        await pad.press("5")
        assert "T05 pH: 2 flags in 7 days" in pad.flowing
        await pad.press("1")
        assert "JUDGING T05 pH" in pad.flowing
        await pad.press("escape")
        assert "MOST FREQUENT FLAGS" in pad.flowing

    at_the_screen(site, act)


def test_the_easy_key_writes_nothing_and_leaves_all_as_it_is(site: Site) -> None:
    before = site.reader.spine.last_number()

    async def act(room: Room) -> None:
        pad = with_the_pad(room)
        await pad.press("full_stop", "1", "enter", "enter", "enter")
        assert "These are the limits that hold: nothing was tried." in pad.flowing
        await pad.press("enter", *"8", "enter")
        assert "With 7.00 - 8.00: 1 flag in place of 9" in pad.flowing
        await pad.press("enter")
        assert "Lowest in band, now 7.00" in pad.flowing
        await pad.press("escape")
        assert "nothing was kept" in pad.flowing

    at_the_screen(site, act)
    assert site.reader.spine.last_number() == before
    assert limits(site) == (7.0, 7.6)


def test_what_is_written_is_taken_back_by_u(site: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("full_stop", "1", "enter", "enter", "8", "enter", "1", "1", "2")
        assert limits(site) == (7.0, 8.0)
        await room.press("u")
        assert "The newest change is of MV: good water lies beyond it." in room.flowing
        await room.press("1")
        assert "The plan is as it was before that change (MV)" in room.flowing
        await room.press("u")
        assert "nothing to undo" in room.flowing

    at_the_screen(site, act)
    assert limits(site) == (7.0, 7.6)


def test_a_tank_is_one_key_from_its_limits_and_esc_leads_back(site: Site) -> None:
    async def act(room: Room) -> None:
        await room.press("full_stop", "1", "i")
        assert room.page.scope == "tank"
        assert "TANK T05" in room.flowing
        await room.press("escape")
        assert room.page.scope == "limit"
        await room.press("escape")
        assert room.page.scope == "judging"
        await room.press("escape")
        assert room.page.scope == "board"

    at_the_screen(site, act)


def test_a_word_in_place_of_a_number_is_asked_again(site: Site) -> None:
    known = trying.case(site, "T05", "ph", window(site, site.now(), 30))
    shown: list[Tried | None] = []
    asking = Asking(talk.limits(site, known, shown.append))
    asking.paste("seven")
    asking.enter()
    assert "Lowest in band" in asking.step.ask
    assert asking.step.told
    assert not asking.over


def test_where_the_plan_names_no_lead_nothing_is_written(site: Site) -> None:
    site.plan = site.plan._replace(
        people=tuple(one._replace(duty="technician") for one in site.plan.people)
    )
    known = trying.case(site, "T05", "ph", window(site, site.now(), 30))
    asking = Asking(talk.limits(site, known, lambda _: None))
    asking.enter()
    asking.paste("8")
    asking.enter()
    asking.type("1")
    assert asking.over
    assert "names no lead" in asking.said


@pytest.mark.parametrize("width", [60, 80, 120])
def test_each_line_says_what_it_counts_and_none_is_cut(site: Site, width: int) -> None:
    shown = plain(page.draw(learned(site), width))
    assert ".." not in shown
    row = " ".join(shown[shown.index("MOST FREQUENT") : shown.index("BY RULE")].split())
    counts = [one.strip() for one in ("9 flags", "1 acted", "5 dismissed", "3 nothing")]
    assert all(one in row for one in counts)
    known = trying.case(site, "T05", "ph", window(site, site.now(), 30))
    tried = trying.tried(site, known, low=6.9, high=7.9)
    told = plain(page.draw_case(known, tried, width))
    assert ".." not in told
    assert told.count("still told") == 3  # the sentence, and two flags
    assert all(len(line) <= width for line in told.splitlines())


def test_the_command_tries_a_limit_and_writes_nothing(
    site: Site, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TANKWALK_HOME", str(site.folder / "home"))
    before = (site.folder / "plan.toml").read_bytes()
    where = ["--site", str(site.folder), "--now", "2026-05-10T16:00"]
    assert main(["judging", "T05", "ph", "--low", "6.6", "--high", "7.9", *where]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "With 6.60 - 7.90: 1 flag in place of 9; NOT told: 1 of the 1 acted on" in said
    assert "Thu 7 May 15:08, pH 6.62" in said
    assert (site.folder / "plan.toml").read_bytes() == before
    assert main(["judging", "5", "pH", *where]) == 0
    assert "JUDGING T05 pH" in " ".join(capsys.readouterr().out.split())
    assert main(["judging", "T05", *where]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "pH 9 flags 1 acted 5 dismissed 3 nothing Temperature 0 flags" in said
    assert main(["judging", "T77", "ph", *where]) == 2
    assert "T77 is no tank and no loop here." in capsys.readouterr().err


def test_any_tank_and_item_is_reached_with_the_pad_flagged_or_not(site: Site) -> None:
    async def act(room: Room) -> None:
        pad = with_the_pad(room)
        await pad.press("full_stop", "slash", *"99", "enter")
        assert "99 is no tank and no loop here." in pad.flowing
        await pad.press("3", "enter")
        assert "What of T03?" in pad.flowing
        await pad.press("1")
        assert "JUDGING T03 pH" in pad.flowing
        await pad.press("slash", "4", "enter", "2")
        assert "JUDGING T04 Temperature" in pad.flowing
        await pad.press("escape")
        assert room.page.scope == "judging"

    at_the_screen(site, act)


def test_few_flags_that_would_hardly_end_are_told_with_their_looks(site: Site) -> None:
    known = trying.case(site, "T05", "ph", window(site, site.now(), 30))
    tried = trying.tried(site, known, high=7.45)
    assert f"standing on {tried.out} of 60 looks (9 now)" in talk.foretold(tried)
    assert tried.out > 30
