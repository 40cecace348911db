"""Sums of plans, cultures, eggs and two waters: at their edges, and what they refuse."""

from __future__ import annotations

import pytest

from calculator_support import never_fails, refuses_or_answers
from tankwalk.errors import Refusal
from tankwalk.science import comparison, growth, hydraulics
from tankwalk.science.calculators import carbonate, cultures, mixing, planning
from test_calc_meant import work


def test_whatever_is_typed_gives_an_answer_or_one_sentence() -> None:
    topics = (cultures.CALCULATORS, mixing.CALCULATORS, carbonate.CALCULATORS)
    more = (*planning.TRIAL, *planning.COUNTS, *planning.FISH)
    never_fails([one.name for topic in (*topics, more) for one in topic])


def test_sums_of_two_waters_give_finite_numbers_or_refuse() -> None:
    refuses_or_answers(hydraulics.mixed, 4, "temperature")
    refuses_or_answers(hydraulics.to_reach, 4, "to")
    refuses_or_answers(hydraulics.tempering_flow, 4)
    refuses_or_answers(growth.days_to, 4)
    refuses_or_answers(growth.eggs_in_a_liter, 1)


# ---- tanks of a trial


def test_one_tank_fewer_does_not_find_the_difference() -> None:
    n = comparison.tanks_needed(8, 5, 0.8, 0.05, 3)
    assert comparison.found_with(n, 5, 0.8, 0.05, 3) <= 8
    assert comparison.found_with(n - 1, 5, 0.8, 0.05, 3) > 8


def test_what_three_tanks_find_stands_beside_it() -> None:
    done = work("tanks-needed difference=8 | sd=5")
    assert done.also["with_three"] == pytest.approx(comparison.found_with(3, 5, 0.8, 0.05, 2))
    assert done.also["tanks"] == 2 * (done.value or 0)


def test_never_fewer_than_two_tanks_and_never_more_than_a_room_has() -> None:
    assert work("tanks-needed difference=1000 | sd=1").value == 2
    with pytest.raises(Refusal, match="over 1000 tanks"):
        work("tanks-needed difference=0.1 | sd=5")
    with pytest.raises(Refusal, match=r"power has to be above alpha, 0\.05, not 0\.01"):
        work("tanks-needed difference=8 | sd=5 | power=0.01")


# ---- how many to count, and a day to come


def test_a_share_of_a_few_takes_fewer_than_of_very_many() -> None:
    # Cochran 1977: 384 of very many; 384 / (1 + 383 / 500) of 500.
    assert work("count-needed error=5 | share=0.5 | of=500").value == 218
    with pytest.raises(Refusal, match="of is asked with a share alone"):
        work("count-needed error=5 | of=500")


def test_degree_days_give_the_day_they_are_full() -> None:
    done = work("degree-days-to needed=190 | done=100 | temperature=15 | from=2026-04-28")
    assert (done.value, done.also["day"]) == (6, "2026-05-04")
    assert work("degree-days-to needed=190 | done=200 | temperature=15").value == 0
    with pytest.raises(Refusal, match="temperature has to be above base, 5 degC"):
        work("degree-days-to needed=190 | temperature=5 | base=5")


# ---- cultures and eggs


def test_a_hatch_that_began_unseen_has_no_first_tenth() -> None:
    done = work("hatch-times times=16 18 20 | hatched=60 118 140")
    assert (done.value, done.also["t10"]) == (None, None)
    assert done.warnings == (
        "more than a tenth was out at the first count: begin counting sooner.",
    )


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("times=16 18 | hatched=1 2 3", "as many, 2 or more"),
        ("times=16 16 | hatched=1 2", "times have to rise"),
        ("times=16 18 | hatched=0 0", "hatched has to be above 0"),
        ("times=16 18 | hatched=-1 2", "hatched has to be 0 or more"),
    ],
)
def test_counts_that_are_no_hatch_are_refused(typed: str, said: str) -> None:
    with pytest.raises(Refusal, match=said):
        work(f"hatch-times {typed}")


def test_few_cells_are_said_and_a_crowd_of_nauplii_too() -> None:
    assert work("algae-count count=99").warnings
    assert not work("algae-count count=100").warnings
    crowd = "enrichment-dose volume=1 | dose=0.3 | nauplii="
    assert not work(f"{crowd}300000").warnings
    assert "301 in a mL" in work(f"{crowd}301000").warnings[0]


def test_eggs_are_counted_one_way_or_the_other() -> None:
    for typed, said in (
        ("volume=100", "counts is missing"),
        ("volume=100 | counts=9 | in_trough=100", "type one way"),
        ("volume=100 | counts=9", "subsample is missing"),
        ("volume=100 | counts=9 | subsample=1 | good=5", "looked_at is missing"),
    ):
        with pytest.raises(Refusal, match=said):
            work(f"egg-number {typed}")


def test_a_tenth_off_a_diameter_is_a_third_of_the_eggs() -> None:
    assert growth.eggs_in_a_liter(1.8) / growth.eggs_in_a_liter(1.98) == pytest.approx(1.331)


# ---- two waters, loading, hardness, caustic


def test_what_is_added_for_a_temperature_gives_that_temperature() -> None:
    two = "mix-waters volume=20 | temperature=12.5 | added_temperature=17"
    added = work(f"{two} | to=15")
    assert added.value == pytest.approx(15)
    again = work(f"{two} | added={added.also['added']}")
    assert again.value == pytest.approx(15)
    for typed, said in (
        ("to=18", "does not lie between"),
        ("to=15 | added=5", "added is missing"),
    ):
        with pytest.raises(Refusal, match=said):
            work(f"{two} | {typed}")


def test_a_fast_change_of_temperature_is_said() -> None:
    assert not work("tempering from=12 | to=16 | rate=2").warnings
    assert "faster than 2" in work("tempering from=12 | to=16 | rate=2.1").warnings[0]


def test_caustic_is_told_against_bicarbonate_and_never_in_one_go() -> None:
    done = work("caustic-dose volume=3600 | from=80 | to=84")
    # 84.007 g of bicarbonate for 39.997 g of caustic: IUPAC molar masses.
    assert done.value == pytest.approx(float(done.also["bicarbonate"]) * 39.997 / 84.007)  # type: ignore[arg-type]
    assert done.dangerous
    assert done.calculator.caution[0].startswith("Caustic burns")
    assert not [w for w in done.warnings if "lifts the pH" in w]
    steep = work("caustic-dose volume=3600 | from=80 | to=86").warnings
    assert any("5 mg/L at a time" in w for w in steep)


def test_hardness_in_the_units_people_say_it_in() -> None:
    done = work("hardness calcium=40.078 | magnesium=0")
    # 40.078 g of calcium are a mole: 2 equivalents, 100.09 g of CaCO3 (IUPAC molar masses).
    assert done.also["equivalents"] == pytest.approx(2, rel=1e-3)
    assert done.also["degrees"] == pytest.approx(5.608, rel=1e-3)
