"""What a lot is expected to lose by age: said by the plan, and held against what is counted."""

from __future__ import annotations

from pathlib import Path

import pytest

from mortality_support import NOW, days_before, known
from site_support import SMALL as ROOM
from site_support import moment, opened
from tankwalk.ledger.entries import Entry, Movement, Reading
from tankwalk.plan.judging import JudgingLimits
from tankwalk.plan.load import read_plan
from tankwalk.plan.loss_model import Loss, Losses
from tankwalk.plan.seeds import profiles
from tankwalk.practice.judging.dead.counts import (
    Counted,
    LaidOut,
    Shift,
    Tally,
    counts_of,
    gather,
    laid_out,
    losses_of,
    shifts_of,
)
from tankwalk.practice.judging.dead.mortality import judge
from tankwalk.practice.judging.dead.whole import of_lot, of_treatments
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.site import Site
from test_plan import SMALL, faults_of

LIMITS = JudgingLimits()

# ---- in the plan


def loss(*lines: str) -> str:
    return "\n[[loss]]\n" + "\n".join(lines) + "\n"


OURS = 'source = "our lots of three years"'


def test_the_narrowest_line_of_a_lot_holds_and_the_species_where_the_plan_says_nothing() -> None:
    text = ROOM + loss("dph = [0, 60]", "percent = 2", OURS)
    text += loss("dph = [7, 12]", "percent = 4", 'lot = "YOUNG"', OURS)
    text += loss("dph = [7, 12]", "percent = 3", 'species = "Sauger"', OURS)
    text += loss("dph = [7, 12]", "percent = 9", 'lot = "OLD"', OURS)
    plan = read_plan(text)
    said = losses_of(plan, plan.tank("T01"))
    assert [(one.percent, one.own) for one in map(said.at, (6, 9)) if one] == [(2, True), (4, True)]
    shipped = read_plan(ROOM)
    seed = losses_of(shipped, shipped.tank("T01")).at(9)
    assert seed is not None
    assert not seed.own
    assert said.at(61) is None
    assert said.at(None) is None


def test_a_line_of_a_treatment_holds_before_that_of_its_lot_and_for_no_other() -> None:
    text = ROOM + loss("dph = [0, 60]", "percent = 2", 'lot = "YOUNG"', OURS)
    text += '\n[[treatment]]\ncode = "E10"\nlabel = "early"\n'
    text += loss("dph = [0, 60]", "percent = 5", 'treatment = "E10"', OURS)
    plan = read_plan(text)
    said = losses_of(plan, plan.tank("T01"))
    assert [one.percent for one in (said.at(9), said.at(9, "E10"), said.at(9, "M14")) if one] == [
        2,
        5,
        2,
    ]


@pytest.mark.parametrize(("lines", "what"), [
    (('dph = [7, 12]', OURS), "percent is missing"),
    (('percent = 2', OURS), "dph is missing"),
    (('dph = [7, 12]', 'percent = 2'), "source is missing"),
    (('dph = [7, 12]', 'percent = 60', OURS), "percent 60 is not above 0 and up to 50 a day"),
    (('dph = [7, 12]', 'percent = 2', 'lot = "L"', 'species = "walleye"', OURS),
     "lot and species are given"),
])  # fmt: skip
def test_a_loss_that_is_not_sound_is_named(lines: tuple[str, ...], what: str) -> None:
    text = SMALL + loss(*lines)
    assert what in [fault.what for fault in faults_of(text)]


def test_two_losses_of_one_age_leave_open_which_holds() -> None:
    text = SMALL + loss("dph = [0, 9]", "percent = 1", OURS)
    text += loss("dph = [9, 20]", "percent = 2", OURS)
    (fault,) = faults_of(text)
    assert fault.what.startswith("these ages already have the loss on line ")


def test_every_shipped_species_says_what_it_may_lose_with_a_source() -> None:
    for profile in profiles():
        said = Losses(profile.losses)
        assert all(said.at(age) is not None for age in range(61)), profile.species
        assert all(one.source for one in profile.losses)


# ---- a lot and a treatment held against their plan

TEN = (10, 10, 11, 9, 10, 10)
SEVENTEEN = (17, 18, 16, 17, 17, 17)
PLAN = Losses((Loss((0, 60), 1.0, "ours", line=9),))
FISH = 1000
"""One percent a day of these is ten."""


def room(said: Losses, *tanks: tuple[str, tuple[int, ...]], age: int = 20) -> LaidOut:
    tallies = [
        Tally(
            f"T{nth:02}",
            arm,
            tuple(
                Counted(days_before(NOW, len(counts) - 1 - day), "am", fish, "JQ")
                for day, fish in enumerate(counts)
            ),
        )
        for nth, (arm, counts) in enumerate(tanks, 1)
    ]
    return laid_out(tallies, NOW, "am", age, LIMITS.clip, held=(said, FISH))


def test_a_lot_that_dies_faster_than_its_plan_is_told_though_it_always_did() -> None:
    tanks = [("", SEVENTEEN)] * 6
    found = of_lot("YP-1", room(PLAN, *tanks), LIMITS)
    assert found is not None
    assert found.rule is Rule.LOT
    assert found.sentence.startswith("Lot YP-1: 6 of 6 tanks lose more than the plan expects since")
    assert found.sentence.endswith("1.7 times the plan's 360.")
    assert of_lot("YP-1", room(Losses(), *tanks), LIMITS) is None
    assert of_lot("YP-1", room(PLAN, *[("", TEN)] * 6), LIMITS) is None


def test_what_a_shipped_profile_says_accuses_no_lot() -> None:
    seeds = Losses((PLAN.lines[0]._replace(line=0),))
    assert of_lot("YP-1", room(seeds, *[("", SEVENTEEN)] * 6), LIMITS) is None


def test_a_lot_that_rises_as_its_plan_foretold_is_quiet() -> None:
    leapt = (10, 9, 11, 10, 10, 10, 30, 31, 29, 30)
    age = 20
    foretold = Losses((
        Loss((0, age - 4), 1.0, "ours", line=9),
        Loss((age - 3, 60), 3.0, "ours", line=10),
    ))  # fmt: skip
    tanks = [("", leapt)] * 6
    assert of_lot("YP-1", room(Losses(), *tanks, age=age), LIMITS) is not None
    assert of_lot("YP-1", room(foretold, *tanks, age=age), LIMITS) is None


def test_a_treatment_that_dies_faster_than_its_plan_is_one_flag() -> None:
    tanks = [("E10", TEN)] * 4 + [("M14", SEVENTEEN)] * 4
    [found] = of_treatments(room(PLAN, *tanks), LIMITS)
    assert found.key.code == "M14"
    assert found.places == ("T05", "T06", "T07", "T08")
    assert found.sentence.startswith("M14: 4 of 4 tanks lose more than the plan expects since")
    assert not list(of_treatments(room(Losses(), *tanks), LIMITS)), "it always lost more"


BY_ARM = Losses((*PLAN.lines, Loss((0, 60), 1.7, "ours", treatment="M14", line=10)))
"""As the plan, but of one treatment, that is known to lose more."""


def test_a_treatment_is_held_against_its_own_line_of_the_plan() -> None:
    tanks = [("E10", TEN)] * 4 + [("M14", SEVENTEEN)] * 4
    assert not list(of_treatments(room(BY_ARM, *tanks), LIMITS))
    [found] = of_treatments(room(BY_ARM, *[("E10", SEVENTEEN)] * 4, *tanks[4:]), LIMITS)
    assert found.key.code == "E10"


def test_a_treatment_that_rises_beside_the_others_as_its_plan_foretold_is_quiet() -> None:
    leapt = (10, 9, 11, 10, 10, 10, 24, 26, 25, 25)
    tanks = [("E10", (*TEN, *TEN[:4]))] * 4 + [("M14", leapt)] * 4
    weaned = Loss((17, 20), 2.5, "ours", treatment="M14", line=10)
    foretold, of_all = Losses((*PLAN.lines, weaned)), Losses((weaned._replace(treatment=None),))
    [found] = of_treatments(room(Losses(), *tanks), LIMITS)
    assert found.key.code == "M14"
    assert not list(of_treatments(room(foretold, *tanks), LIMITS))
    assert list(of_treatments(room(of_all, *tanks), LIMITS)), "no word of what this one loses more"


def test_the_first_count_of_a_tank_is_held_against_its_treatments_line() -> None:
    few = Loss((0, 60), 0.2, "ours", line=9)
    many = Loss((0, 60), 2.0, "ours", treatment="M14", line=10)
    first = known(best=FISH, age=3, losses=Losses((few, many)))
    assert judge(20, first) is not None
    assert judge(20, first._replace(arm="M14")) is None


# ---- a lot's first days


def test_the_first_count_of_a_lot_is_held_against_what_its_plan_expects() -> None:
    first = known(best=FISH, age=3, losses=PLAN)
    told = judge(60, first)
    assert told is not None
    assert told.sentence == "60 dead, 6 times the 10 that the plan expects; no days of its own yet."
    assert judge(15, first) is None
    assert judge(29, first._replace(losses=Losses())) is None, "nothing says what is usual"


def test_days_of_its_own_come_before_the_plan() -> None:
    always = known(*[30] * 6, best=2 * FISH, age=20, losses=PLAN)
    assert judge(31, always) is None


# ---- fish that come and go alive


def test_a_tank_with_twice_the_fish_is_held_against_twice_the_dead_at_once() -> None:
    mornings = known(*[10] * 6, sisters=[10, 10, 10, 10])
    assert judge(25, mornings) is not None
    more = (Shift(days_before(NOW, 1).utc + 3600, 2.5),)
    assert judge(25, mornings._replace(shifts=more)) is None
    assert judge(60, mornings._replace(shifts=more)) is not None


def test_a_tank_of_which_half_was_taken_out_has_half_the_dead() -> None:
    rest = (Shift(days_before(NOW, 1).utc + 3600, 0.3),)
    mornings = known(*[30] * 6, sisters=[30, 30, 30, 30])
    assert judge(30, mornings) is None
    assert judge(30, mornings._replace(shifts=rest)) is not None


def moved(site: Site, what: str, fish: int, when: str) -> None:
    at = moment(when)
    site.record(Entry("movement", "AB", at, at, "T01"), Movement(what, fish))


def counted(site: Site, place: str, when: str) -> None:
    at, unit = moment(when), site.plan.item("morts").unit
    site.record(Entry("reading", "AB", at, at, place, "morts", unit), Reading(0, ""))


def test_the_record_tells_what_came_and_went_alive(tmp_path: Path) -> None:
    with opened(tmp_path / "site", ROOM) as site:
        now = moment("2026-05-10T07:00")
        moved(site, "stocked", 1000, "2026-05-03T09:00")
        moved(site, "census", 800, "2026-05-05T09:00")
        moved(site, "moved in", 800, "2026-05-08T09:00")
        moved(site, "sampled", 400, "2026-05-09T09:00")
        counted(site, "T01", "2026-05-06T09:00")
        counted(site, "T02", "2026-05-06T09:00")
        found = shifts_of(site, counts_of(site, ["T01", "T02"], now), now)
        assert [one.utc for one in found["T01"]] == [
            moment("2026-05-08T09:00").utc, moment("2026-05-09T09:00").utc,
        ]  # fmt: skip
        assert [one.times for one in found["T01"]] == pytest.approx([2.0, 0.75])
        assert "T02" not in found
        known_now = gather(site, "T01", now, None)
        assert known_now is not None
        assert known_now.shifts == found["T01"]
