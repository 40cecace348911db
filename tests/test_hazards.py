"""What can hurt on a round is said once, where it begins: by its hour and by what it asks."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from demo_support import opened
from site_support import clock_shows
from tankwalk.errors import Refusal
from tankwalk.pages import who as page
from tankwalk.pages.hazard_words import WORDS
from tankwalk.pages.lines import plain
from tankwalk.plan.load import read_plan
from tankwalk.plan.model import Hazard
from tankwalk.practice.round import rounds
from tankwalk.practice.site import Site


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    room = opened(tmp_path)
    yield room
    room.close()


@pytest.mark.parametrize(
    ("wall", "night"),
    [("20:59", False), ("21:00", True), ("23:59", True), ("05:59", True), ("06:00", False)],
)
def test_alone_at_night_is_of_the_hour(site: Site, wall: str, night: bool) -> None:
    clock_shows(site, f"2026-05-10T{wall}")
    morning = site.plan.checklist("am")
    assert (Hazard.NIGHT in rounds.hazards(site, morning)) is night


def test_a_round_has_the_hazards_of_what_it_asks_each_once(site: Site) -> None:
    assert rounds.hazards(site, site.plan.checklist("am")) == (
        Hazard.ELECTRICITY, Hazard.OXYGEN, Hazard.DEAD,
    )  # fmt: skip
    bare = site.plan.checklist("am")._replace(site=(), loop=(), tank=("temp",))
    assert rounds.hazards(site, bare) == ()


def test_the_dead_are_a_hazard_in_a_plan_that_says_nothing_and_a_wrong_word_is_a_fault(
    site: Site,
) -> None:
    text = site.plan.text
    silent = read_plan(text.replace('hazard = "dead"\n', ""))
    assert silent.item("morts").hazard is Hazard.DEAD
    assert silent.item("temp").hazard is None
    for wrong in ("night", "fire"):
        with pytest.raises(Refusal, match=r"hazard .* is not one of electricity, oxygen, dead"):
            read_plan(text.replace('hazard = "dead"', f'hazard = "{wrong}"'))


@pytest.mark.parametrize("size", [(80, 24), (60, 20), (120, 40), (40, 8)])
def test_the_page_says_them_below_the_people_and_hides_nobody(
    site: Site, size: tuple[int, int]
) -> None:
    clock_shows(site, "2026-05-10T23:10")
    morning, people = site.plan.checklist("am"), site.plan.people
    found = rounds.hazards(site, morning)
    assert len(found) == 4
    rows = page.draw(people, morning, None, "", "", "", site.now(), size, found)
    assert len(rows) == size[1]
    shown = " ".join(plain(rows).split())
    if size[1] >= 20:
        for hazard in found:
            assert WORDS[hazard] in shown
        for person in people:
            assert person.initials in shown
        assert shown.index(WORDS[Hazard.NIGHT]) > shown.index(people[-1].initials)


def test_a_hazard_is_one_short_line() -> None:
    assert set(WORDS) == set(Hazard)
    assert all(len(words) <= 76 for words in WORDS.values())
