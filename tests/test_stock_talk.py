"""Fish entered by number: what is kept, what is asked where it cannot be, and taking it back."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from site_support import SMALL, clock_shows, entries, moment, opened
from tankwalk.ledger.entries import Entry, Movement
from tankwalk.ledger.feeding import CountSeen
from tankwalk.pages.due_words import told
from tankwalk.practice.dialog import Asking, Hand, Talk
from tankwalk.practice.due.counts_left import counts_left
from tankwalk.practice.site import Site
from tankwalk.practice.stock.numbers import best, numbers
from tankwalk.practice.stocking import entering, samples

NOW = "2026-05-10T10:00"


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    """The small room with 4,000 fish in T01, stocked by volume."""
    with_phone = SMALL.replace('initials = "CD"', 'initials = "CD"\nphone = "555-0101"')
    with opened(tmp_path, with_phone, now=NOW) as site:
        at = moment("2026-05-05T08:00")
        stocked = Movement("stocked", 4000, 160.0, "volume samples")
        site.record(Entry("movement", "CD", at, at, "T01"), stocked)
        yield site


def driven(talk: Talk, *keys: str) -> Asking:
    """A talk after some answers: digits choose, "=12" types a number and presses Enter."""
    asking = Asking(talk)
    for key in keys:
        assert not asking.over, f"over before {key}: {asking.said}"
        for character in key.removeprefix("="):
            asking.type(character)
        if key.startswith("="):
            asking.enter()
    return asking


def talk(site: Site, *keys: str, tank: str = "T01", who: str = "1") -> Asking:
    """The talk about a tank, by AB, after some answers."""
    return driven(entering.enter(site, Hand(), tank), who, *keys)


def moved(site: Site, tank: str = "T01") -> list[tuple[str, int, float | None, str | None]]:
    """What stands of a tank's movements: what, fish, its error, and the other tank."""
    found = site.reader.stock.all_movements([tank]).get(tank, [])
    return [(one.what, one.fish, one.plus_minus, one.other_place) for one in found][1:]


CENSUS, SAMPLED, BACK, MOVED, CULLED, CANNIBALS, MASS, ESCAPED, STOCKED = "123456789"
KEEP = "1"


def test_sampled_kept_goes_off_the_book_and_put_back_does_not(site: Site) -> None:
    done = talk(site, SAMPLED, "=8", KEEP)
    assert done.said == "Kept 10:00 (AB): T01 sampled 8; about 3,992 left."
    assert best(site, ["T01"])["T01"].fish == 3992
    talk(site, BACK, "=30", KEEP)
    assert best(site, ["T01"])["T01"].fish == 3992
    assert [one[:2] for one in moved(site)] == [("sampled", 8), ("returned", 30)]


def test_culled_asks_why_and_keeps_it(site: Site) -> None:
    talk(site, CULLED, "=12", "2", KEEP)
    [_, culled] = site.reader.stock.all_movements(["T01"])["T01"]
    assert (culled.what, culled.fish, culled.reason) == ("culled", 12, "deformed")


def test_one_act_moves_fish_and_both_pages_say_so(site: Site) -> None:
    done = talk(site, MOVED, "1", "2", "=500", "+", KEEP)  # T01 is where they are: asked again
    assert "on both pages" in done.said
    assert moved(site) == [("moved out", 500, 0.0, "T02")]
    [came] = site.reader.stock.all_movements(["T02"])["T02"]
    assert (came.what, came.fish, came.other_place) == ("moved in", 500, "T01")
    assert numbers(site, ["T02"])["T02"].book.fish == 500
    before = len(entries(site))
    back = driven(entering.take_back(site, Hand(), "T01"), "1", "1")
    assert back.said.startswith("Taken back: T01 moved out 500 (T02)")
    assert len(entries(site)) == before + 2, "both sides are taken back, and all of it stays"
    assert moved(site) == []
    assert "T02" not in numbers(site, ["T02"])


def test_more_than_the_tank_holds_is_asked_about_and_the_first_answer_keeps_nothing(
    site: Site,
) -> None:
    asked = talk(site, SAMPLED, "=9000")
    assert "holds about 4,000 fish: 9,000 are more than that" in asked.step.told
    assert asked.step.choices[0] == "type it again"
    asked.type("1")
    assert moved(site) == []
    assert "how many fish" in asked.step.ask
    for key in "9":
        asked.type(key)
    asked.enter()
    asked.type(KEEP)
    assert best(site, ["T01"])["T01"].fish == 3991


def test_a_census_by_hand_says_what_is_unaccounted_for_and_asks_what_it_is(site: Site) -> None:
    asked = talk(site, CENSUS, "1", "=2600")
    assert "1,400 of 4,000 missing, as expected of larvae: what is it?" in asked.step.ask
    asked.type("1")
    assert asked.step.ask == "T01 census 2,600, counted by hand."
    asked.type(KEEP)
    assert "Unaccounted 1,400 of 4,000 by the book." in asked.said
    found = numbers(site, ["T01"])["T01"]
    assert (found.book.fish, found.best.fish) == (4000, 2600)
    assert found.gaps[0].why == "probable cannibalism"


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("=5000", "5,000 are more than the 4,000 that the book can hold"),
        ("=400", "About 4,000 were expected: is a zero too many or too few?"),
        ("=40000", "About 4,000 were expected: is a zero too many or too few?"),
    ],
)
def test_a_census_that_cannot_be_is_asked_about_first(site: Site, typed: str, said: str) -> None:
    asked = talk(site, CENSUS, "1", typed)
    if "what is it?" in asked.step.ask:
        asked.type("0")
    assert said in asked.step.told
    assert asked.step.choices[0] == "type it again"
    assert moved(site) == []


def test_a_census_within_the_error_of_the_counts_asks_for_no_reason(site: Site) -> None:
    asked = talk(site, CENSUS, "1", "=3900")
    assert asked.step.ask == "T01 census 3,900, counted by hand."


def test_volume_samples_are_kept_one_by_one_and_come_to_a_census_with_its_error(
    site: Site,
) -> None:
    liters = site.plan.tank("T01").volume_l
    asked = talk(site, CENSUS, "2", "+", "=10", "=118", "=131", "=122")
    assert "3 counted, mean 123.7, CV 5 %" in asked.step.told
    kept = [kind for (kind,) in entries(site) if kind == "note"]
    assert len(kept) == 3, "every number is on the disk as it is typed"
    asked.type("-")
    assert "Taken back. 2 counted" in asked.step.told
    for character in "122":
        asked.type(character)
    asked.enter()
    asked.type("+")
    if "what is it?" in asked.step.ask:
        asked.type("0")
    assert asked.step.choices[0] == "keep it", asked.step
    asked.type(KEEP)
    [(what, fish, error, _)] = moved(site)
    # 371 fish in 3 of 10 L; Student's t of 118, 131, 122: 4.30265 * 6.6583 / sqrt(3) (scipy,
    # numpy), which is wider than by chance: exact Poisson limits of 371 are 334.2 and 410.7.
    assert (what, fish) == ("census", round(371 / 30 * liters))
    assert error == pytest.approx(4.30265 * 6.6583 / 3**0.5 / 10 * liters, rel=1e-3)
    n = site.reader.stock.all_movements(["T01"])["T01"][-1].n
    counted = site.reader.feeding.counts([n])[n]
    assert counted == [CountSeen("fish", 10_000.0, 1.0, (118, 131, 122))]


def test_the_error_that_is_said_is_the_error_that_is_entered(site: Site) -> None:
    liters = site.plan.tank("T01").volume_l
    asked = talk(site, CENSUS, "2", "+", "=10", "=118", "=131", "=122", "=101", "+")
    if "what is it?" in asked.step.ask:
        asked.type("0")
    words = asked.step.ask.split()
    assert words[-1] == "spread.", "four that differ: their spread is the wider error"
    asked.type(KEEP)
    [(what, fish, error, _)] = moved(site)
    assert [what, f"{fish:,}", "+/-", f"{error:,.0f},"] == words[1:5]
    # Student's t of 118, 131, 122, 101: 3.18245 * 12.5698 / 2 (scipy t.ppf, numpy std).
    assert error == pytest.approx(3.18245 * 12.5698 / 2 / 10 * liters, rel=1e-3)


def test_a_count_that_was_left_goes_on_where_it_was(site: Site) -> None:
    talk(site, CENSUS, "2", "+", "=10", "=118", "=131")
    again = talk(site, CENSUS, "2")
    assert again.step.ask == "T01 sample 3: how many fish?"
    assert "2 counted" in again.step.told


def test_a_mass_event_is_estimated_and_never_in_the_count_of_the_dead(site: Site) -> None:
    asked = talk(site, MASS, "1", "=50", "=1200", "=61", "=58", "=66", "+")
    asked.type(KEEP)
    assert asked.step.ask.startswith("Is anybody called?")
    asked.type("0")
    assert asked.said.startswith("Kept 10:00 (AB): T01 mass event 1,480 +/- ")
    assert asked.said.endswith("Call somebody now. Phone Ruth, 555-0100, day and night")
    found = numbers(site, ["T01"])["T01"]
    assert found.mass.fish == found.dead.fish == round(185 / 3 * 24)
    assert found.counts == ()
    assert found.best.fish == 4000 - 1480
    assert found.best.plus_minus is not None
    assert found.best.plus_minus > 160, "what was estimated is part of the error"


def test_a_call_about_a_mass_event_is_kept(site: Site) -> None:
    asked = talk(site, MASS, "3", "=300", "=100", KEEP)
    assert asked.step.choices == ("CD 555-0101",)
    asked.type("1")
    asked.type("1")
    assert asked.said.endswith("Call kept: CD reached.")
    [call] = site.reader.incidents.calls(0)
    assert (call.place, call.reached, call.said) == ("T01", True, "mass event")


def test_fish_that_were_never_stocked_cannot_go(site: Site) -> None:
    done = talk(site, SAMPLED, tank="T02")
    assert done.said == "No fish were ever entered for T02: enter first what was stocked."
    assert moved(site, "T02") == []


def test_a_second_stocking_and_a_zero_too_many_are_asked_about(site: Site) -> None:
    asked = talk(site, STOCKED, "1", "=100")
    assert "holds about 4,000 fish already: are these more?" in asked.step.told
    lot = site.plan.tank("T01").lot
    twin = next(t.code for t in site.plan.tanks if t.code != "T01" and t.lot == lot)
    asked = talk(site, STOCKED, "1", "=44000", tank=twin)
    assert "Other tanks of the lot got about 4,000" in asked.step.told


def test_an_entry_of_an_earlier_hour_is_dated_then(site: Site) -> None:
    asked = talk(site, SAMPLED, "=8", "2", "=0830", KEEP)
    assert asked.over, asked.step
    [_, kept] = site.reader.stock.all_movements(["T01"])["T01"]
    assert kept.at == moment("2026-05-10T08:30")


def test_nobody_takes_back_what_another_entered(site: Site) -> None:
    talk(site, SAMPLED, "=8", KEEP)
    other = driven(entering.take_back(site, Hand(), "T01"), "2")
    assert other.said == "CD entered no movement of fish in the last 24 h."
    clock_shows(site, "2026-05-12T10:00")
    own = driven(entering.take_back(site, Hand(), "T01"), "1")
    assert own.said == "AB entered no movement of fish in the last 24 h."


# ---- volume samples that were left


def test_a_census_by_volume_left_under_way_stands_on_the_board_and_goes_on_by_one_key(
    site: Site,
) -> None:
    def said() -> list[str]:
        return [" | ".join(told(one, site.now())) for one in counts_left(site, site.now())]

    assert said() == []
    talk(site, CENSUS, "2", "=200", "=10", "=190", "=210", "=195")
    clock_shows(site, "2026-05-10T10:40")
    assert said() == ["T01 census, 3 samples counted, go on | last 10:00 by AB, not ended"]
    again = driven(samples.go_on(site, Hand(), "T01"), "1")
    assert again.step.ask == "T01 sample 4: how many fish?"
    assert "3 counted, mean 198.3" in again.step.told, "of the same 10 L and 200 L"
    for key in ("=205", "+"):
        again = pressed(again, key)
    assert "T01 census 4,000 +/-" in again.step.ask
    again.type(KEEP)
    assert said() == []
    assert best(site, ["T01"])["T01"].fish == 4000


def test_a_count_that_is_hours_old_or_of_no_tank_is_not_told(site: Site) -> None:
    talk(site, CENSUS, "2", "=200", "=10", "=190")
    clock_shows(site, "2026-05-10T22:30")
    assert counts_left(site, site.now()) == []


def pressed(asking: Asking, key: str) -> Asking:
    for character in key.removeprefix("="):
        asking.type(character)
    if key.startswith("="):
        asking.enter()
    return asking
