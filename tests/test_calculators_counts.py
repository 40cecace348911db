"""Counts, trends and comparisons as they are asked: usual values, warnings, refusals, JSON."""

from __future__ import annotations

import json
from math import log

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tankwalk.errors import Refusal
from tankwalk.practice.workings import working_out
from tankwalk.practice.workings.working_out import Working
from tankwalk.science.calculators import counts, trends

CALCULATORS = (*counts.CALCULATORS, *trends.CALCULATORS)
HARDWOOD = "7 8 15 11 9 10; 12 17 13 18 19 15; 14 18 19 17 16 18; 19 25 22 23 18 20"


def work(name: str, typed: str) -> Working:
    return working_out.work(name, dict(part.split("=", 1) for part in typed.split(" | ")))


def near(value: float, relative: float = 1e-9) -> object:
    return pytest.approx(value, rel=relative)


# ---- deaths and survival


def test_survival_goes_with_its_death_rate() -> None:
    done = work("survival", "stocked=1000 | deaths=20 30 10 | days=3 | removed=0 100 0")
    assert done.value == near(0.98 * (950 / 980) * (840 / 850))
    assert done.also["z"] == near(-log(0.98 * (950 / 980) * (840 / 850)) / 3)
    few = work("survival", "stocked=2000 | deaths=1999 | days=1")
    assert few.also["z"] == near(log(2000))
    none = work("survival", "stocked=20 | deaths=0 0 | days=2")
    assert (none.value, str(none.also["z"])) == (1, "0.0")


def test_where_all_are_dead_the_rate_is_null_and_the_rest_is_answered() -> None:
    done = work("survival", "stocked=20 | deaths=15 5 | days=2")
    assert (done.value, done.also["z"]) == (0, None)
    rate = work("death-rate", "start=20 | end=0 | days=2")
    assert rate.value is None
    assert rate.warnings == ("end is 0: with none left there is no rate.",)


def test_more_fish_at_the_end_are_answered_with_a_warning() -> None:
    assert work("death-rate", "start=10 | end=11 | days=2").warnings == (
        "end is above start: fish were added, or a count is off.",
    )
    assert work("death-rate", "start=10 | end=10 | days=2").warnings == ()
    gap = work("count-gap", "stocked=100 | dead=5 | census=96")
    assert gap.value == -1
    assert any("census is above the book" in w for w in gap.warnings)
    even = work("count-gap", "stocked=100 | dead=5 | census=95")
    assert (even.value, even.warnings) == (0, ())


def test_what_is_left_out_of_a_count_gap_is_none() -> None:
    gap = work("count-gap", "stocked=100 | dead=5 | census=80")
    assert (gap.value, gap.also["book"]) == (15, 95)
    assert gap.also["percent"] == near(1500 / 95)
    full = "stocked=100 | dead=5 | census=80 | sampled=1 | culled=2 | in=40 | out=8"
    assert work("count-gap", full).value == 44


def test_no_dead_is_a_legal_0() -> None:
    assert work("daily-mortality", "dead=0 | number=1450").value == 0
    assert work("daily-mortality", "dead=29 | number=1450").value == near(2)


# ---- fractions and limits


def test_a_fraction_is_taken_with_wilson_at_95_percent() -> None:
    usual = work("proportion", "count=81 | of=263")
    said = work("proportion", "count=81 | of=263 | confidence=0.95 | method=wilson")
    assert usual.also == said.also
    assert usual.also["low"] == near(0.2552885198782742)
    assert usual.also["high"] == near(0.3662095769828)


@pytest.mark.parametrize(
    ("typed", "warned"),
    [
        ("count=0 | of=20", True),
        ("count=20 | of=20", True),
        ("count=1 | of=20", False),
        ("count=19 | of=20", False),
        ("count=0 | of=20 | method=exact", False),
    ],
)
def test_none_and_all_are_better_off_with_exact_limits(typed: str, warned: bool) -> None:
    assert any("method=exact" in w for w in work("proportion", typed).warnings) is warned


def test_the_limits_of_a_count_are_at_95_percent() -> None:
    usual = work("count-limits", "count=31")
    assert usual.also == work("count-limits", "count=31 | confidence=0.95").also
    assert usual.also["low"] == near(21.06299597914)
    assert usual.also["high"] == near(44.0020255032)


def test_deaths_that_chance_explains_are_those_of_99_days_in_100() -> None:
    assert work("mortality-limit", "expected=5").value == 11
    assert work("mortality-limit", "expected=0.5").value == 3
    assert work("mortality-limit", "expected=4 | number=200").value == 9
    # At 4.75 the usual quantile lies just within a count that a larger one does not.
    assert (
        work("mortality-limit", "expected=4.75").value
        == work("mortality-limit", "expected=4.75 | quantile=0.99").value
    )
    assert (
        work("mortality-limit", "expected=4.75").value
        != work("mortality-limit", "expected=4.75 | quantile=0.9909").value
    )


def test_a_curve_carried_past_its_last_time_says_so() -> None:
    typed = "times=3 5 8 12 | events=1 1 0 1 | at="
    assert work("survival-curve", typed + "8").value == near(0.5)
    assert work("survival-curve", typed + "12").warnings == ()
    past = work("survival-curve", typed + "12.5")
    assert (past.value, len(past.warnings)) == (0, 1)


# ---- trends


def test_a_new_value_weighs_three_tenths() -> None:
    done = work("ewma", "values=10 20 | start=0")
    assert done.also["points"] == [near(3), near(8.1)]
    assert done.value == near(8.1)
    assert (done.also["low"], done.also["high"]) == (None, None)
    limits = work("ewma", "values=10 20 | start=0 | sd=1").also
    assert limits["high"] == near(3 * (0.3 / 1.7) ** 0.5)
    assert limits["low"] == near(-3 * (0.3 / 1.7) ** 0.5)


def test_both_sides_of_a_cumulative_sum() -> None:
    done = work("cusum", "values=11 12 7 | mean=10 | slack=0.5")
    assert done.also["points"] == [0.5, 2, 0]
    assert (done.value, done.also["low"]) == (0, 2.5)


# ---- comparisons


def test_two_groups_are_welchs_and_more_are_an_analysis_of_variance() -> None:
    two = work("compare", "groups=71.3 69 74.1; 62 58.5 60.2")
    assert two.value == near(0.00489014724)
    assert two.also["statistic"] == near(6.28398963479)
    assert two.also["df"] == near(3.53900321110)
    assert two.also["tukey"] is None
    assert two.also["difference"] == near(11.2333333333)
    more = work("compare", f"groups={HARDWOOD}")
    assert more.also["statistic"] == near(19.6052069996)
    assert (more.also["df"], more.also["df_between"]) == (20, 3)
    pairs = more.also["tukey"]
    assert isinstance(pairs, list)
    assert len(pairs) == 6
    first = pairs[0]
    assert isinstance(first, dict)
    assert first["pair"] == [1, 2]
    assert first["difference"] == near(-5.66666666667)


def test_every_comparison_says_that_tanks_are_counted_and_not_fish() -> None:
    for groups, few in (("1 2; 3 4 6", True), ("1 2 3; 3 4 6", False), (HARDWOOD, False)):
        warnings = work("compare", f"groups={groups}").warnings
        assert warnings[0].startswith("groups have to hold one number a tank")
        assert any("a group of 2 tanks" in w for w in warnings) is few
        assert len(warnings) == 1 + few


def test_groups_all_alike_have_no_p_and_no_crash() -> None:
    for groups, p in (("1 1 1; 1 1 1", None), ("1 1 1; 2 2 2", 0), ("1 1 1; 1 1 1; 1 1 1", None)):
        done = work("compare", f"groups={groups}")
        assert done.value == p
        assert done.also["statistic"] is None
        assert done.also["detectable"] is None
        assert any("no spread between tanks" in w for w in done.warnings)
        json.dumps(working_out.as_json(done), allow_nan=False)


# ---- refusals, JSON


@pytest.mark.parametrize(
    ("name", "typed", "key"),
    [
        ("daily-mortality", "dead=5 | number=4", "dead"),
        ("daily-mortality", "dead=0 | number=0", "number"),
        ("daily-mortality", "dead=0.5 | number=4", "dead"),
        ("survival", "stocked=0 | deaths=1 | days=1", "stocked"),
        ("survival", "stocked=10 | deaths=11 | days=1", "deaths"),
        ("survival", "stocked=10 | deaths=1 | days=0", "days"),
        ("survival", "stocked=10 | deaths=1 | days=1 | removed=1 1", "removed"),
        ("death-rate", "start=0 | end=1 | days=1", "start"),
        ("count-gap", "stocked=10 | dead=11 | census=1", "stocked"),
        ("count-gap", "stocked=10 | dead=1 | census=-1", "census"),
        ("count-gap", "stocked=10 | dead=1 | in=-1 | census=1", "in"),
        ("proportion", "count=5 | of=4", "count"),
        ("proportion", "count=0 | of=0", "of"),
        ("proportion", "count=0 | of=4 | confidence=1", "confidence"),
        ("proportion", "count=0 | of=4 | method=wald", "method"),
        ("proportion", "count=0 | of=10000001 | method=exact", "of"),
        ("count-limits", "count=-1", "count"),
        ("count-limits", "count=3 | confidence=95", "confidence"),
        ("mortality-limit", "expected=-1", "expected"),
        ("mortality-limit", "expected=1 | quantile=1", "quantile"),
        ("mortality-limit", "expected=5 | number=4", "expected"),
        ("mortality-limit", "expected=5 | number=0", "number"),
        ("mortality-limit", "expected=5 | number=10000001", "number"),
        ("survival-curve", "times=1 2 | events=1 | at=1", "events"),
        ("survival-curve", "times=1 2 | events=1 2 | at=1", "events"),
        ("survival-curve", "times=1 -2 | events=1 0 | at=1", "times"),
        ("survival-curve", "times=1 2 | events=1 0 | at=-1", "at"),
        ("ewma", "values=1 2 | start=1 | weight=0", "weight"),
        ("ewma", "values=1 2 | start=1 | weight=1.0005", "weight"),
        ("ewma", "values=1 2 | start=1 | sd=-1", "sd"),
        ("cusum", "values=1 2 | mean=1 | slack=-1", "slack"),
        ("compare", "groups=1 2 3", "groups"),
        ("compare", "groups=1 2 3; 4", "groups"),
        ("compare", "groups=" + "; ".join(["1 2"] * 31), "groups"),
    ],
)
def test_a_refusal_names_the_input(name: str, typed: str, key: str) -> None:
    with pytest.raises(Refusal, match=rf"^{key}\b"):
        work(name, typed)


def test_every_answer_can_be_written_as_json() -> None:
    for asked in CALCULATORS:
        done = working_out.work(asked.name, asked.typed)
        json.dumps(working_out.as_json(done), allow_nan=False)
        assert set(done.also) <= {output.key for output in asked.also}
        assert all(len(one.words) <= 40 for one in asked.inputs)


def test_the_units_that_are_shown() -> None:
    assert {c.name: c.output.unit for c in CALCULATORS} == {
        "daily-mortality": "%/d",
        "survival": "fraction",
        "death-rate": "per d",
        "count-gap": "",
        "proportion": "fraction",
        "count-limits": "",
        "mortality-limit": "",
        "survival-curve": "fraction",
        "ewma": "",
        "cusum": "",
        "compare": "",
    }


def test_days_may_be_typed_as_hours() -> None:
    assert work("death-rate", "start=1000 | end=500 | days=240 h").value == near(
        work("death-rate", "start=1000 | end=500 | days=10").value or 0
    )


@given(st.data())
@settings(max_examples=200, deadline=None)
def test_whatever_is_typed_there_is_an_answer_or_a_refusal(data: st.DataObject) -> None:
    whole = st.integers(-2, 10**12).map(str)
    numbers = st.one_of(whole, st.decimals(-(10**11), 10**11, places=6).map(lambda d: f"{d:f}"))
    asked = data.draw(st.sampled_from(CALCULATORS))
    typed = {}
    for one in asked.inputs:
        listed = " ".join(data.draw(st.lists(numbers, min_size=1, max_size=4)))
        if asked.name == "compare":
            listed += f" {data.draw(numbers)}; {data.draw(numbers)} {data.draw(numbers)}"
        elif not one.choices and (one.needed or data.draw(st.booleans())):
            listed = listed if data.draw(st.booleans()) else listed.split()[0]
        else:
            continue
        typed[one.key] = listed
    try:
        done = working_out.work(asked.name, typed)
    except Refusal:
        return
    json.dumps(working_out.as_json(done), allow_nan=False)
