"""The Trial: one value a tank, the tank as the unit, and the three survivals never mixed."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from demo_support import STATION, until, whole
from tankwalk.cli import main
from tankwalk.clock import Instant, parse_instant, zone
from tankwalk.errors import Refusal
from tankwalk.pages import trial as page
from tankwalk.pages import trial_words as words
from tankwalk.pages.lines import plain
from tankwalk.plan.trial import Trial
from tankwalk.practice.site import Site, open_site
from tankwalk.practice.stock.numbers import numbers
from tankwalk.practice.trial.comparing import How, compared
from tankwalk.practice.trial.courses import courses
from tankwalk.practice.trial.gathering import Gathered, gather
from tankwalk.practice.trial.measures import Measure, Missing, TankValue

SUNDAY = "2026-05-10T07:52"


def _moment() -> Instant:
    return parse_instant(SUNDAY, zone("America/Chicago"))


@contextmanager
def _site() -> Iterator[Site]:
    site = open_site(until(_moment()), STATION, SUNDAY)
    yield site
    site.close()


@pytest.fixture(scope="module")
def sunday() -> Gathered:
    with _site() as site:
        return gather(site)


def _values(one: Measure) -> dict[str, float]:
    return {v.tank.code: v.value for v in one.values if v.value is not None}


def test_a_measure_has_one_value_a_tank_and_n_counts_tanks(sunday: Gathered) -> None:
    for measure in sunday.measures:
        assert [v.tank.code for v in measure.values] == [tank.code for tank in sunday.tanks]
        one = compared(measure, sunday.treatments, sunday.trial)
        assert all(arm.n <= 4 for arm in one.arms)


def test_the_three_survivals_are_three_figures_and_each_says_which_it_is(sunday: Gathered) -> None:
    census, seen = sunday.measure("census"), sunday.measure("seen")
    gone = sunday.measure("unaccounted")
    with _site() as site:
        for tank, value in _values(census).items():
            told = numbers(site, [tank], _moment())[tank]
            assert told.census is not None
            assert value == pytest.approx(100 * told.census.fish / told.stocked.fish)
            assert told.unaccounted is not None
            lost = 100 * told.unaccounted.fish / told.stocked.fish
            assert _values(gone)[tank] == pytest.approx(lost)
            assert _values(seen)[tank] > value + 10
    heads = {words.label(one) for one in (census, seen, gone)}
    assert len(heads) == 3
    assert words.label(census) == "Survival to the census at 18 dph, % of stocked"
    assert "dead that were seen" in words.label(seen)


def test_blocks_are_allowed_for_and_what_is_said_is_what_statsmodels_says(sunday: Gathered) -> None:
    import pandas as pd
    import statsmodels.formula.api as smf
    from statsmodels.stats.anova import anova_lm

    measure = sunday.measure("census")
    one = compared(measure, sunday.treatments, sunday.trial)
    assert one.test is not None
    assert one.test.how is How.BLOCKS
    rows = [(v.tank.treatment, v.tank.block, v.value) for v in measure.values]
    table = pd.DataFrame(rows, columns=["treatment", "block", "y"])
    theirs = anova_lm(smf.ols("y ~ C(treatment) + C(block)", table).fit(), typ=2)
    assert one.test.statistic == pytest.approx(float(theirs.F.iloc[0]), rel=1e-9)
    assert one.test.p == pytest.approx(float(theirs["PR(>F)"].iloc[0]), rel=1e-9)
    assert f"F(2, 6) = {one.test.statistic:.1f}" in words.found(one)


def test_a_tank_without_a_value_is_left_out_and_said(sunday: Gathered) -> None:
    measure = sunday.measure("census")
    first = measure.values[0]
    lost = measure._replace(
        values=(TankValue(first.tank, None, Missing.NOT_COUNTED), *measure.values[1:])
    )
    one = compared(lost, sunday.treatments, sunday.trial)
    assert one.test is not None
    assert not one.test.complete
    assert one.test.error == 5
    assert [arm.n for arm in one.arms] == [4, 3, 4]
    assert "n = 3 to 4" in words.head(one)
    assert any("type II" in said for said in words.assumed(one))
    assert words.not_known(lost) == ["T01: not counted at this census"]


def test_two_treatments_without_blocks_are_compared_by_welch(sunday: Gathered) -> None:
    from scipy import stats

    measure = sunday.measure("census")
    values = tuple(
        v._replace(tank=v.tank._replace(block=None))
        for v in measure.values
        if v.tank.treatment != "M14"
    )
    one = compared(measure._replace(values=values), ("E10", "L18"), Trial("X"))
    assert one.test is not None
    assert one.test.how is How.WELCH
    groups = [[v.value for v in values if v.tank.treatment == code] for code in ("E10", "L18")]
    assert one.test.p == pytest.approx(float(stats.ttest_ind(*groups, equal_var=False).pvalue))


def test_n_as_fish_is_refused_with_the_reason(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["trial", "--unit", "fish", "--site", str(until(_moment()))]) == 2
    told = capsys.readouterr().err
    assert "Treatments are given to tanks, not to fish" in told
    assert "pseudoreplication" in told


def test_n_as_tanks_is_asked_by_that_same_word_and_answered(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """So that a program that refuses every unit is found out."""
    where = ["--site", str(until(_moment())), "--now", SUNDAY]
    assert main(["trial", "--unit", " Tank", *where]) == 0
    seen = capsys.readouterr()
    assert "F(2, 6)" in seen.out
    assert "refused" not in seen.err


def test_suspect_readings_are_left_out_of_the_water(sunday: Gathered) -> None:
    left_out = {(one.tank.code, one.item.code): one for one in sunday.waters if one.suspect}
    assert ("T07", "do") in left_out
    assert ("T07", "sat") in left_out, "what is worked out of a suspect reading is suspect too"
    assert not any(tank in ("T01", "T06") for tank, _ in left_out)
    suspect = left_out["T07", "do"]
    assert max(look.value for look in suspect.looks) < 9.6  # the meter had read up to 10.2
    told = [(one.tank, one.at.day.day) for one in sunday.not_as_planned.incidents]
    assert told == [("T07", 10)]  # the screen of that morning, and not the meter of 2 May


def test_deviations_stand_under_the_result(sunday: Gathered) -> None:
    told = [said for said, _ in words.notes(sunday, sunday.measure("census"))]
    assert any(said.startswith("T05 27 Apr: dry feed 3 days early") for said in told)
    assert any("T04 27 Apr: no feed at 08:00" in said for said in told)
    assert any("(after this)" in said for said in told)  # of 5 May, a day after the census


@pytest.mark.parametrize(("width", "height"), [(80, 23), (60, 19), (120, 39)])
def test_every_letter_and_the_test_are_on_the_page_at_every_size(
    sunday: Gathered, width: int, height: int
) -> None:
    measure = sunday.measure("census")
    one = compared(measure, sunday.treatments, sunday.trial)
    lines = page.draw(sunday, one, courses(sunday, measure), width, height)
    assert len(lines) == height
    told = plain(lines)
    for code in sunday.treatments:
        drawn = next(
            row for row in reversed(told.splitlines())
            if row.strip().startswith(code) and "\u00b7" in row
        )  # fmt: skip
        assert sorted(sign for sign in drawn.partition(code)[2] if sign.isalpha()) == list("ABCD")
    assert "F(2, 6)" in told
    assert "Not the whole story" in told
    assert ("DAY BY DAY" in told) == (width >= 100)


def test_the_command_prints_a_measure_and_all_of_them_as_data(
    capsys: pytest.CaptureFixture[str],
) -> None:
    where = ["--site", str(until(_moment())), "--now", SUNDAY]
    assert main(["trial", *where, "--measure", "unaccounted"]) == 0
    told = capsys.readouterr().out
    assert "Unaccounted at the census at 18 dph, % of stocked" in told
    assert "ASSUMED" in told
    assert main(["trial", *where, "--measure", "mass", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["unit"] == "tank"
    assert len(data["measures"][0]["measure"]["values"]) == 12
    assert main(["trial", *where, "--measure", "fish"]) == 2
    assert "There are: census" in capsys.readouterr().err


def test_it_can_be_told_as_of_a_day(sunday: Gathered) -> None:
    with _site() as site:
        before = gather(site, parse_instant("2026-05-01T23:59", zone("America/Chicago")))
    codes = {one.code for one in before.measures}
    assert "census" not in codes
    assert "seen" in codes
    newest = before.measure("mass").on
    assert newest is not None
    assert newest < sunday.until.day


def test_a_census_under_way_is_named_and_the_last_whole_one_is_compared() -> None:
    site = open_site(whole(), STATION, "2026-05-19T19:00")
    try:
        end = gather(site)
        ninth = sorted(fate.counted[-1].at for fate in end.fates)[8]
        under_way = gather(site, ninth)
    finally:
        site.close()
    assert end.unfinished is None
    assert end.measures[0].age == 33
    first = under_way.measures[0]
    assert (first.code, first.age, len(first.known)) == ("census", 18, 12)
    assert len(under_way.measure("census-33").known) == 9
    assert under_way.measure("unaccounted").age == 18
    told = "census of 19 May unfinished, 9 of 12 tanks counted: the last whole one is compared"
    assert words.summary(under_way, first).startswith(told)
    assert next(words.notes(under_way)) == (told, True)
    assert told not in words.summary(end, end.measures[0])


def test_the_arcsine_is_for_shares_alone(sunday: Gathered) -> None:
    one = compared(sunday.measure("census"), sunday.treatments, sunday.trial, arcsine=True)
    plainly = compared(sunday.measure("census"), sunday.treatments, sunday.trial)
    assert one.test is not None
    assert plainly.test is not None
    assert one.test.p == pytest.approx(plainly.test.p, rel=0.3)
    assert one.test.p != plainly.test.p
    with pytest.raises(Refusal, match="no share"):
        compared(sunday.measure("mass"), sunday.treatments, sunday.trial, arcsine=True)
