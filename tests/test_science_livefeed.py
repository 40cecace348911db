"""Artemia and rotifers: recipes, hatches, counts and cultures."""

from __future__ import annotations

import json
from math import exp, log

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculator_support import declared, never_fails, refuses_or_answers, warns_of
from outside import typed
from tankwalk.errors import Refusal
from tankwalk.practice.workings import working_out
from tankwalk.science import livefeed
from tankwalk.science.calculators import ALL

BASE = {
    "decapsulation": typed(cysts=100, bleach=60),
    "hatch-percent": typed(nauplii=110, umbrella=6, embryos=24),
    "hatch-efficiency": typed(count=52, subsample=0.5, volume=40000, cysts=20),
    "cysts-needed": typed(nauplii=5000000, efficiency=200000),
    "aliquot": typed(counts="38 45 41 36 44 43", subsample=0.1, volume=5),
    "rotifer-growth": typed(start=50, end=200, days=4),
    "rotifer-forecast": typed(start=100, r=0.5, days=2),
    "egg-ratio": typed(eggs=45, females=180, development=1),
    "rotifer-ration": typed(number=80000000, ration=1),
}
NAMES = tuple(BASE)


def work(name: str, **inputs: object) -> working_out.Working:
    return working_out.work(name, {**BASE[name], **typed(**inputs)})


def value(name: str, **inputs: object) -> float:
    found = work(name, **inputs).value
    assert found is not None
    return found


# ---- decapsulation


@pytest.mark.parametrize(
    ("cysts", "strength", "bleach", "water"),
    [(100, 60, 833.333, 566.667), (50, 120, 208.333, 491.667), (25, 52.5, 238.095, 111.905)],
)
def test_the_mix_by_the_gram(cysts: float, strength: float, bleach: float, water: float) -> None:
    done = work("decapsulation", cysts=cysts, bleach=strength)
    assert done.value == pytest.approx(bleach, abs=0.001)
    assert done.also["water"] == pytest.approx(water, abs=0.001)
    assert done.also["caustic"] == pytest.approx(0.15 * cysts, rel=1e-12)
    assert done.also["total"] == pytest.approx(14 * cysts, rel=1e-12)
    assert livefeed.decapsulation(cysts, strength) == (done.value, *done.also.values())


def test_a_lab_may_keep_its_own_recipe() -> None:
    done = work("decapsulation", chlorine=0.3, caustic=0.12, total=10)
    assert done.value == pytest.approx(500)
    assert done.also == pytest.approx({"caustic": 12, "water": 500, "total": 1000})
    assert work("decapsulation", caustic=0).also["caustic"] == 0


def test_bleach_that_leaves_no_room_is_refused_by_name() -> None:
    edge = work("decapsulation", bleach=35.7142857)
    assert edge.also["water"] == pytest.approx(0, abs=0.01)
    assert work("decapsulation", bleach=35.7).also["water"] == 0
    assert work("decapsulation", bleach=35.7).also["total"] == pytest.approx(1400.56, abs=0.01)
    for weak in ("35.69643", "35", "30", "5"):
        with pytest.raises(Refusal, match=r"^bleach of .* too weak.* 35\.7 g/L"):
            work("decapsulation", bleach=weak)
    assert work("decapsulation", bleach=35.69644).value
    with pytest.raises(Refusal, match=r"^bleach\b.* 85\.7 g/L"):
        work("decapsulation", bleach=80, chlorine=0.6, total=7)


def test_the_caution_stands_in_front_of_the_recipe() -> None:
    said = str(working_out.as_json(work("decapsulation"))["caution"])
    for word in ("Goggles", "SDS", "acid", "cold water", "40 degC", "eyewash", "second person"):
        assert word in said


# ---- hatching


@pytest.mark.parametrize(
    ("counts", "percent"),
    [((110, 6, 24), 78.5714), ((69.2, 0, 30.8), 69.2), ((0, 0, 50), 0), ((5, 0, 0), 100)],
)
def test_hatching_percentage(counts: tuple[float, float, float], percent: float) -> None:
    nauplii, umbrella, embryos = counts
    found = value("hatch-percent", nauplii=nauplii, umbrella=umbrella, embryos=embryos)
    assert found == pytest.approx(percent, abs=0.0001)
    assert livefeed.hatch_percent(110, 6, 24) == pytest.approx(100 * 110 / 140, rel=1e-13)


def test_hatching_efficiency_and_output() -> None:
    assert value("hatch-efficiency") == pytest.approx(208000, rel=1e-12)
    assert value("hatch-efficiency", count=0) == 0
    assert work("hatch-efficiency").also["output"] is None
    heavy = work("hatch-efficiency", count=57.5, weight=2.42)
    assert heavy.value == pytest.approx(230000)
    assert heavy.also["output"] == pytest.approx(556.6, rel=1e-12)
    assert livefeed.hatch_output(230600, 2.86644) == pytest.approx(661, abs=0.01)


def test_cysts_to_set_and_the_water_for_them() -> None:
    done = work("cysts-needed")
    assert (done.value, done.also["water"]) == (25, 12.5)
    lossy = work("cysts-needed", recovery="80 %", density=5)
    assert lossy.value == pytest.approx(31.25)
    assert lossy.also["water"] == pytest.approx(6.25)
    assert value("cysts-needed", nauplii=0) == 0
    assert livefeed.cysts_needed(5e6, 2e5) == 25
    assert livefeed.hatching_water(25) == 12.5


def test_dense_cones_are_small_ones() -> None:
    """2 g/L, or up to 5 g/L below 20 L."""

    def dense(nauplii: int, density: float) -> bool:
        warned = work("cysts-needed", nauplii=nauplii, density=density).warnings
        return any("below 20 L" in one for one in warned)

    assert dense(16000000, 4)  # 80 g in 20 L
    assert not dense(15990000, 4)
    assert not dense(8000000, 2)  # 40 g in 20 L
    assert dense(8010000, 2.001)


# ---- counts


def test_well_mixed_counts_take_exact_limits_of_their_sum() -> None:
    done = work("aliquot", counts="41 41 41 41 42")
    assert done.value == pytest.approx(2.06e6, rel=1e-12)
    assert done.also["density"] == pytest.approx(412, rel=1e-12)
    assert done.also["mixed"] is True
    assert not done.warnings
    table = work("aliquot")
    assert table.also["dispersion"] == pytest.approx(1.52632, abs=1e-5)
    assert table.also["low"] == pytest.approx(1809621.3, rel=1e-6)
    assert table.also["high"] == pytest.approx(2331679.3, rel=1e-6)
    # Of 247 in 6: the relative half-width is about 2 / sqrt(247).
    assert table.also["cv"] == pytest.approx(8.611213, rel=1e-6)
    assert table.also["needed"] == pytest.approx(100 / (247 / 6), rel=1e-12)


def test_counts_that_scatter_take_their_own_spread_and_are_called_not_mixed() -> None:
    done = work("aliquot", counts="10 30 55 22", subsample=1, volume="1 mL")
    assert done.also["mixed"] is False
    assert "not well mixed" in done.warnings[0]
    # Mean 29.25, variance 362.25, t(0.975, 3) 3.182446: tables of Student's t, from memory.
    assert done.also["low"] == 0
    assert done.also["high"] == pytest.approx(29.25 + 3.182446 * 362.25**0.5 / 2, abs=0.001)
    wide = work("aliquot", counts="120 180 150", subsample=1, volume="1 mL")
    assert wide.also["low"] == pytest.approx(150 - 4.302653 * 30 / 3**0.5, abs=0.001)


def test_the_line_between_mixed_and_not_is_the_chi_square_of_97_5_percent() -> None:
    """5.0239 with one degree of freedom; two counts of mean 50 differ by 22.4 there."""
    assert work("aliquot", counts="39 61").also["mixed"] is True  # 4.84
    assert work("aliquot", counts="38 61").also["mixed"] is False  # 5.34
    # 5.0225 and 5.0245 either side of 5.0239: 1001 apart, of 199 503 or of 199 423.
    assert work("aliquot", counts="100252 99251").also["mixed"] is True
    assert work("aliquot", counts="100212 99211").also["mixed"] is False


def test_thin_counts_are_judged_as_any() -> None:
    thin = livefeed.aliquots([1] + [0] * 1999, 0.5, 2)
    assert thin.mixed is True
    assert thin.cv == pytest.approx(100 * 2000**0.5, rel=1e-9)
    typed_in = work("aliquot", counts=" ".join(["1", *["0"] * 999]))
    assert typed_in.also["needed"] == pytest.approx(100000)


def test_a_count_of_nothing_still_has_an_upper_limit() -> None:
    none = work("aliquot", counts="0", subsample=1, volume="1 mL")
    assert (none.value, none.also["low"]) == (0, 0)
    assert none.also["high"] == pytest.approx(3.689, abs=0.0006)
    assert none.also["mixed"] is None
    assert none.also["needed"] is None
    assert "one count" in none.warnings[0]
    both = work("aliquot", counts="0 0", subsample=1, volume="1 mL")
    assert both.also["high"] == pytest.approx(3.68888 / 2, abs=1e-5)
    assert (both.also["cv"], both.also["dispersion"]) == (None, None)
    assert not both.warnings


def test_dilution_counts_up() -> None:
    assert value("aliquot", dilution=10) == pytest.approx(10 * value("aliquot"), rel=1e-12)
    assert value("aliquot", dilution=1) == value("aliquot")
    found = livefeed.aliquots((41,), 0.1, 5)
    assert found.total == pytest.approx(2.05e6)
    assert found.density == pytest.approx(410)


@pytest.mark.parametrize(("mean", "error", "many"), [(100, 0.1, 1), (25, 0.05, 16), (1, 0.1, 100)])
def test_how_many_counts_a_precision_needs(mean: float, error: float, many: float) -> None:
    assert livefeed.aliquots_needed(mean, error) == pytest.approx(many, rel=1e-12)


# ---- rotifers


@pytest.mark.parametrize(
    ("start", "end", "days", "rate"),
    [(50, 200, 4, 0.346574), (100, 100, 2, 0), (257.6, 322, 1, 0.223144)],
)
def test_growth_rate(start: float, end: float, days: float, rate: float) -> None:
    assert value("rotifer-growth", start=start, end=end, days=days) == pytest.approx(rate, abs=1e-6)


@pytest.mark.parametrize(
    ("rate", "doubling"), [(0.3662, 1.89281), (0.5, 1.38629), (1.02, 0.679556)]
)
def test_doubling_time(rate: float, doubling: float) -> None:
    found = livefeed.rotifer_growth(100, 100 * exp(rate), 1)
    assert found.rate == pytest.approx(rate, rel=1e-12)
    assert found.doubling == pytest.approx(doubling, abs=1e-5)


@pytest.mark.parametrize(("rate", "part"), [(0.2877, 0.250013), (0.5108, 0.399985)])
def test_the_harvest_that_holds_a_culture(rate: float, part: float) -> None:
    found = livefeed.rotifer_growth(100, 100 * exp(2 * rate), 2)
    assert found.harvest == pytest.approx(part, abs=1e-6)
    # 257.6 per mL at 25 % a day is 0.0644 million per L per day.
    assert 257.6 * 0.25 / 1000 == pytest.approx(0.0644)


def test_a_culture_that_shrinks_or_stands_has_no_doubling() -> None:
    down = work("rotifer-growth", end=40)
    assert (down.also["doubling"], down.also["harvest"]) == (None, 0)
    assert "shrinks" in down.warnings[0]
    slow = livefeed.rotifer_growth(100, 100 * exp(0.0005), 1)
    assert slow.doubling == pytest.approx(log(2) / 0.0005, rel=1e-9)
    level = work("rotifer-growth", end=50)
    assert (level.value, level.also["doubling"], level.also["harvest"]) == (0, None, 0)
    assert not level.warnings
    assert not work("rotifer-growth").warnings


def test_forecast() -> None:
    assert value("rotifer-forecast") == pytest.approx(100 * exp(1), rel=1e-12)
    assert value("rotifer-forecast", r=-0.5) == pytest.approx(100 * exp(-1), rel=1e-12)
    assert value("rotifer-forecast", start=0) == 0
    with pytest.raises(Refusal, match=r"^r and days"):
        value("rotifer-forecast", r=7.0001, days=100)
    assert value("rotifer-forecast", r=6.9999, days=100) > 1e300


@pytest.mark.parametrize(("eggs", "females", "ratio"), [(45, 180, 0.25), (12, 150, 0.08),
                                                        (0, 120, 0)])  # fmt: skip
def test_egg_ratio(eggs: float, females: float, ratio: float) -> None:
    assert value("egg-ratio", eggs=eggs, females=females) == pytest.approx(ratio, abs=1e-9)


def test_births_from_eggs() -> None:
    assert work("egg-ratio").also["birth_rate"] == pytest.approx(log(1.25), rel=1e-12)
    slow = work("egg-ratio", eggs=90, development=0.8)
    assert slow.also["birth_rate"] == pytest.approx(0.506831, abs=1e-6)
    plain = working_out.work("egg-ratio", typed(eggs=45, females=180))
    assert plain.also["birth_rate"] is None


def test_few_eggs_are_warned_of_as_the_weak_sign_they_are() -> None:
    assert not work("egg-ratio", eggs=15, females=100).warnings
    assert "weak evidence" in work("egg-ratio", eggs=1499, females=10000).warnings[0]


def test_ration_of_a_culture() -> None:
    assert value("rotifer-ration") == pytest.approx(80, rel=1e-12)
    # 250 L at 320 per mL.
    assert 320 * 250 * 1000 == 8e7
    assert value("rotifer-ration", ration=1.5, number=1000) == pytest.approx(0.0015)


# ---- what may be declared, and what is refused


def test_usual_values_and_ranges_are_those_of_the_sources() -> None:
    assert declared(NAMES) == {
        ("decapsulation", "bleach"): (None, (35, 160)),
        ("decapsulation", "chlorine"): (0.5, (0.17, 0.6)),
        ("decapsulation", "caustic"): (0.15, (0.1, 0.2)),
        ("decapsulation", "total"): (14, (7, 15)),
        ("hatch-efficiency", "weight"): (None, (1, 4)),
        ("hatch-efficiency", "per_gram"): (None, (100000, 500000)),
        ("cysts-needed", "efficiency"): (None, (50000, 350000)),
        ("cysts-needed", "recovery"): (1, None),
        ("cysts-needed", "density"): (2, (0.1, 5)),
        ("aliquot", "dilution"): (1, None),
        ("rotifer-forecast", "r"): (None, (-2, 1.1)),
        ("rotifer-ration", "ration"): (None, (0.5, 2)),
    }


@pytest.mark.parametrize(
    ("name", "key", "inside", "outside"),
    [
        ("decapsulation", "bleach", 160, 160.1),
        ("decapsulation", "chlorine", 0.6, 0.601),
        ("decapsulation", "caustic", 0.2, 0.201),
        ("decapsulation", "total", 15, 15.1),
        ("cysts-needed", "density", 5, 5.01),
        ("rotifer-forecast", "r", 1.1, 1.101),
        ("rotifer-ration", "ration", 2, 2.01),
    ],
)
def test_outside_its_range_a_rule_still_answers_and_says_so(
    name: str, key: str, inside: float, outside: float
) -> None:
    assert not warns_of(name, BASE[name], key, inside)
    assert warns_of(name, BASE[name], key, outside)


@pytest.mark.parametrize(
    ("name", "key", "bad"),
    [
        *(("decapsulation", key, "0") for key in ("cysts", "bleach", "chlorine", "total")),
        ("decapsulation", "caustic", "-0.1"),
        *(("hatch-percent", key, "-1") for key in ("nauplii", "umbrella", "embryos")),
        ("hatch-efficiency", "count", "-1"),
        ("hatch-efficiency", "subsample", "0"),
        ("hatch-efficiency", "subsample", "40001"),
        ("hatch-efficiency", "volume", "0"),
        ("hatch-efficiency", "cysts", "0"),
        ("hatch-efficiency", "weight", "-1"),
        ("cysts-needed", "nauplii", "-1"),
        ("cysts-needed", "efficiency", "0"),
        ("cysts-needed", "recovery", "0"),
        ("cysts-needed", "recovery", "1.01"),
        ("cysts-needed", "density", "0"),
        ("aliquot", "counts", "3 -1"),
        ("aliquot", "counts", "3 1.5"),
        ("aliquot", "counts", "three"),
        ("aliquot", "subsample", "0"),
        ("aliquot", "subsample", "5000.1"),
        ("aliquot", "dilution", "0.999"),
        ("aliquot", "volume", "0"),
        ("rotifer-growth", "start", "0"),
        ("rotifer-growth", "end", "0"),
        ("rotifer-growth", "days", "0"),
        ("rotifer-forecast", "start", "-1"),
        ("rotifer-forecast", "days", "-1"),
        ("egg-ratio", "eggs", "-1"),
        ("egg-ratio", "females", "0"),
        ("egg-ratio", "development", "0"),
        ("rotifer-ration", "number", "-1"),
        ("rotifer-ration", "ration", "-1"),
    ],
)
def test_a_refusal_names_the_input_by_its_key(name: str, key: str, bad: str) -> None:
    with pytest.raises(Refusal, match=rf"^{key}\b"):
        working_out.work(name, {**BASE[name], key: bad})


def test_nothing_counted_is_no_hatch() -> None:
    with pytest.raises(Refusal, match=r"^nauplii, umbrella and embryos"):
        work("hatch-percent", nauplii=0, umbrella=0, embryos=0)
    with pytest.raises(Refusal, match=r"^counts is empty"):
        livefeed.aliquots((), 1, 1)


@pytest.mark.parametrize("name", NAMES)
def test_each_answer_can_be_written(name: str) -> None:
    json.dumps(working_out.as_json(working_out.work(name, BASE[name])), allow_nan=False)
    assert ALL[name].source


# ---- properties


@given(st.floats(1, 5000), st.floats(36, 160))
def test_stronger_bleach_is_poured_less_and_all_adds_up(cysts: float, bleach: float) -> None:
    mix = livefeed.decapsulation(cysts, bleach)
    assert livefeed.decapsulation(cysts, bleach + 1).bleach < mix.bleach
    assert mix.bleach + mix.water == pytest.approx(mix.total, rel=1e-12)
    assert mix.bleach * bleach / 1000 == pytest.approx(0.5 * cysts, rel=1e-12)


@given(st.floats(1, 1e4), st.floats(-1, 1.1), st.floats(0.1, 10))
def test_growth_and_forecast_are_one_another_back(start: float, r: float, days: float) -> None:
    end = livefeed.rotifer_forecast(start, r, days)
    assert livefeed.rotifer_growth(start, end, days).rate == pytest.approx(r, rel=1e-9, abs=1e-9)


@given(st.lists(st.integers(0, 400), min_size=1, max_size=8))
def test_the_total_lies_between_its_limits(counts: list[int]) -> None:
    found = livefeed.aliquots(counts, 0.5, 2)
    assert 0 <= found.low <= found.total <= found.high


@given(st.floats(0, 1e8), st.floats(1000, 300000), st.floats(0.1, 1))
def test_cysts_hatch_back_into_the_nauplii(nauplii: float, each: float, part: float) -> None:
    assert livefeed.cysts_needed(nauplii, each, part) * each * part == pytest.approx(nauplii)


@pytest.mark.parametrize(
    ("name", "there", "same"),
    [
        ("decapsulation", {"cysts": "0.1 kg"}, {"cysts": "100"}),
        ("hatch-efficiency", {"volume": "40 L", "subsample": "500 uL"}, {}),
        ("cysts-needed", {"density": "2 kg/m3"}, {"density": "2"}),
        ("aliquot", {"volume": "5000 mL"}, {"volume": "5"}),
        ("rotifer-growth", {"days": "96 h"}, {"days": "4"}),
        ("rotifer-growth", {"start": "50000 per L"}, {"start": "50"}),
        ("rotifer-forecast", {"r": "50 %/d"}, {"r": "0.5"}),
    ],
)
def test_the_unit_it_is_typed_in_changes_nothing(
    name: str, there: dict[str, str], same: dict[str, str]
) -> None:
    values = [working_out.work(name, {**BASE[name], **one}).value for one in (there, same)]
    assert values[0] == pytest.approx(values[1], rel=1e-11)


def test_whatever_is_typed_there_is_an_answer_or_a_refusal() -> None:
    never_fails(NAMES)


@pytest.mark.parametrize(
    ("name", "many"),
    [
        ("decapsulation", 5), ("hatch_percent", 3), ("hatch_efficiency", 4), ("hatch_output", 2),
        ("cysts_needed", 3), ("hatching_water", 2), ("aliquots_needed", 2), ("rotifer_growth", 3),
        ("rotifer_forecast", 3), ("egg_ratio", 2), ("birth_rate", 2), ("rotifer_ration", 2),
    ],
)  # fmt: skip
def test_a_sum_gives_a_number_or_a_refusal(name: str, many: int) -> None:
    refuses_or_answers(getattr(livefeed, name), many)


def test_a_count_is_a_number_or_a_refusal() -> None:
    refuses_or_answers(lambda *n: livefeed.aliquots([abs(float(int(x))) for x in n[:3]], *n[3:]), 6)
