"""How a week's flags are counted, and when the board asks to look at the bands."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from site_support import NOW, moment
from tankwalk.clock import Instant
from tankwalk.ledger.entries import Entry, Reading
from tankwalk.pages import board as page
from tankwalk.pages.lines import plain
from tankwalk.practice import budget
from tankwalk.practice.board import board
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site
from weighing_support import ON_L2, TANKS, room


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    with room(tmp_path / "room") as quiet:
        yield quiet


def out(site: Site, tank: str, hours_ago: float, item: str = "do", flag: Flag = Flag.WATCH) -> None:
    """A reading of the past that was out of band."""
    at = Instant(moment(NOW).utc - int(3600 * hours_ago), moment(NOW).offset)
    entry = Entry("reading", "AB", at, at, tank, item, site.plan.item(item).unit)
    site.record(entry, Reading(6.5, "6.5", flag=flag))


def counted(site: Site) -> tuple[int, int]:
    """WATCH and ACT of the week."""
    spent = budget.week(site, site.now())
    return spent.watch, spent.act


@pytest.mark.parametrize(("apart", "flags"), [(8, 1), (24, 1), (30, 1), (31, 2), (48, 2)])
def test_out_again_at_the_next_days_look_is_the_same_flag_and_later_another(
    site: Site, apart: float, flags: int
) -> None:
    out(site, "T01", 60)
    out(site, "T01", 60 - apart)
    assert counted(site) == (flags, 0)


def test_a_tank_that_stays_out_for_days_is_one_flag(site: Site) -> None:
    for hours in (72, 48, 24):
        out(site, "T01", hours)
    assert counted(site) == (1, 0)


@pytest.mark.parametrize(("tanks", "flags"), [
    (ON_L2[:4], 1),  # more than half of the six
    (ON_L2[:3], 3),  # half
    (TANKS[:2], 2),
    ((*TANKS[:3], *ON_L2[:3]), 6),  # of two loops
])  # fmt: skip
def test_most_tanks_of_a_loop_that_are_out_together_are_one_flag(
    site: Site, tanks: tuple[str, ...], flags: int
) -> None:
    for nth, tank in enumerate(tanks):
        out(site, tank, 20 - nth / 10)
    assert counted(site) == (flags, 0)


@pytest.mark.parametrize(("hours", "flags"), [(3.0, 1), (3.1, 4)])
def test_tanks_of_a_loop_are_out_together_within_three_hours_of_the_first(
    site: Site, hours: float, flags: int
) -> None:
    for tank in ON_L2[:3]:
        out(site, tank, 20)
    out(site, ON_L2[3], 20 - hours)
    assert counted(site) == (flags, 0)


def test_a_loops_flag_is_as_serious_as_its_worst_tank_and_another_item_is_another_flag(
    site: Site,
) -> None:
    for tank, flag in zip(ON_L2, (2, 2, 3, 2), strict=False):
        out(site, tank, 20, flag=Flag(flag))
    out(site, ON_L2[0], 20, item="temp")
    assert counted(site) == (1, 1)


def test_what_is_older_than_a_week_is_not_counted(site: Site) -> None:
    out(site, "T01", 24 * 7 + 1)
    assert counted(site) == (0, 0)
    out(site, "T02", 24 * 7 - 1)
    assert counted(site) == (1, 0)


def noisy_week(site: Site, flags: int) -> None:
    """So many flags of a week, each of its own: two tanks of a loop at most, three days apart."""
    many = [(day, tank) for day in range(6) for tank in TANKS[day % 3 :: 3]]
    for day, tank in many[:flags]:
        out(site, tank, 24 * day + 2, flag=Flag.WATCH)


def test_a_week_within_the_budget_asks_nobody_to_look_at_the_bands(site: Site) -> None:
    noisy_week(site, 21)
    assert counted(site) == (21, 0)
    seen = board(site)
    assert seen.review is None
    assert "WATCH and" not in plain(page.draw(seen, 80, None))


def test_one_flag_more_and_the_board_names_the_bands_to_review(site: Site) -> None:
    noisy_week(site, 22)
    seen = board(site)
    assert seen.review is not None
    told = page.review_words(seen.review)
    assert told.startswith("22 WATCH and 0 ACT in 7 days, budget 21; most frequent: Oxygen 22 (")
    words = " ".join(plain(page.draw(seen, 80, None)).split())
    assert "22 WATCH and 0 ACT in 7 days, budget 21" in words


def test_the_three_noisiest_bands_are_named_the_noisiest_first(site: Site) -> None:
    for item, tanks in (("temp", 2), ("do", 5), ("level", 3), ("screen", 1)):
        for nth in range(tanks):
            out(site, TANKS[2 * nth], 20 + 4 * nth, item=item)
    named = [(one.label, one.flags) for one in budget.week(site, site.now()).noisiest]
    assert named == [("Oxygen", 5), ("Water below rim", 3), ("Temperature", 2)]


def test_the_noisiest_place_is_named_with_its_band(site: Site) -> None:
    for hours in (120, 80, 40):
        out(site, "T07", hours)
    out(site, "T02", 100)
    [noise] = budget.week(site, site.now()).noisiest
    assert (noise.place, noise.flags) == ("T07", 4)
