"""What nobody here can mean is said by the sum, in one sentence, and worked all the same."""

from __future__ import annotations

from datetime import date

import pytest

from tankwalk.errors import Refusal
from tankwalk.practice.workings import working_out
from tankwalk.practice.workings.working_out import Working
from tankwalk.science import salinity
from tankwalk.science.calculators import ALL

CHECK = ": check the number and its unit."


def work(words: str) -> Working:
    """A sum as typed: its name, then key=value parted by " | "."""
    name, _, inputs = words.partition(" ")
    return working_out.work(name, dict(part.split("=", 1) for part in inputs.split(" | ")))


# Each is a slip that was seen: another unit, a fraction for a percent, too many of something.
@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            "tank-volume shape=cylinder | diameter=76 | height=50",
            "diameter 76 m is outside what can be meant here, 0.01 to 40 m" + CHECK,
        ),
        (
            "tank-volume shape=box | length=30 | width=30 | height=2 ",
            "the answer 1800000 L is outside what can be meant here, 0.05 to 1000000 L: "
            "check what it is made from, and the units.",
        ),
        (
            "oxygen-percent oxygen=95 | temperature=17",
            "oxygen 95 mg/L is outside what can be meant here, 0 to 40 mg/L" + CHECK,
        ),
        (
            "oxygen-from-percent percent=0.85 | temperature=17",
            "percent 0.85 % is outside what can be meant here, 5 to 400 %" + CHECK,
        ),
        (
            "gas-pressure total=1.02",
            "total 1.02 % is outside what can be meant here, 60 to 200 %" + CHECK,
        ),
        (
            "hatch-efficiency count=42 | subsample=0.25 | volume=100 L | cysts=2",
            "the answer 8400000 per g is outside what can be meant here, 0 to 400000 per g: "
            "check what it is made from, and the units.",
        ),
        (
            "condition weight=1.2 | length=54",
            "K 0.000762079 is outside what can be meant here, 0.1 to 3: "
            "check what it is made from, and the units.",
        ),
        (
            "degree-days temperatures=61 60 59",
            "temperatures 61 degC is outside what can be meant here, -2 to 40 degC" + CHECK,
        ),
        (
            "decapsulation cysts=100 kg | bleach=84",
            "cysts 100000 g is outside what can be meant here, 0.1 to 5000 g" + CHECK,
        ),
        (
            "ration number=400 | weight=250 | percent=0.04",
            "percent 0.04 %/d is outside what can be meant here, 0.1 to 100 %/d" + CHECK,
        ),
        (
            "ammonia tan=1 | ph=9.8 | temperature=7.4",
            "ph 9.8 and temperature 7.4 degC: are the two swapped?",
        ),
        (
            "ammonia tan=1 | ph=8 | temperature=68",
            "temperature 68 degC is outside what can be meant here, -2 to 40 degC" + CHECK,
        ),
    ],
)
def test_what_nobody_means_is_said(words: str, said: str) -> None:
    done = work(words)
    assert said in done.warnings
    assert said in working_out.as_json(done)["warnings"]  # type: ignore[operator]


@pytest.mark.parametrize("name", ALL)
def test_the_sum_of_a_working_day_is_not_doubted(name: str) -> None:
    done = working_out.work(name, ALL[name].typed)
    assert [w for w in done.warnings if "can be meant" in w or "outside" in w] == []


@pytest.mark.parametrize("name", ALL)
def test_what_can_be_meant_holds_what_stands_where_nothing_is_typed(name: str) -> None:
    for one in ALL[name].inputs:
        if one.meant is None:
            continue
        assert one.meant[0] < one.meant[1]
        if isinstance(one.default, int | float):
            assert one.meant[0] <= one.default <= one.meant[1]


def test_a_zero_is_a_legal_number_and_is_not_doubted() -> None:
    assert work("ration number=400 | weight=250 | percent=0").warnings == ()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ("ammonia tan=0.5 mg/L NO2 | ph=8 | temperature=20", "nitrite, and this value is ammonia"),
        ("ammonia tan=0.5 mg/L NO3 | ph=8 | temperature=20", "nitrate, and this value is ammonia"),
        ("ammonia-limit limit=0.02 NO2-N | ph=8 | temperature=20", "this value is ammonia"),
        ("tank-volume shape=box | length=1,200 | width=1 | height=1", ""),
        ("prey-dose volume=1,200 L | target=5 | residual=1 | concentrate=600", "Type 1200 L or"),
        ("cysts-needed nauplii=600,000 | efficiency=220000", "Type 600000 or 600.00."),
        ("count-gap stocked=1,500 | dead=12 | census=1,310", "type 1500"),
        ("aliquot counts=31 1,200 | subsample=1 | volume=60", "1200 or 1.2"),
    ],
)
def test_another_substance_and_two_readings_are_refused(words: str, said: str) -> None:
    if not said:
        # 1200 m is no tank: it can only be 1.2 m.
        assert work(words).value == pytest.approx(1200)
        return
    with pytest.raises(Refusal, match=said.replace(".", "[.]")):
        work(words)


@pytest.mark.parametrize("tan", ["0.5 TAN", "0.5 mg/L NH3-N", "0.5 mg/L NH4-N", "0,5", "500 ug/L"])
def test_ammonia_is_taken_as_kits_write_it(tan: str) -> None:
    plain = work("ammonia tan=0.5 | ph=8 | temperature=20")
    assert work(f"ammonia tan={tan} | ph=8 | temperature=20").value == plain.value


# ---- as people write it


@pytest.mark.parametrize(
    ("words", "plainly"),
    [
        ("aliquot counts=31, 28, 36 | subsample=1 | volume=60",
         "aliquot counts=31 28 36 | subsample=1 | volume=60"),
        ("aliquot counts=31 | subsample=1 | volume=60 | dilution=1:10",
         "aliquot counts=31 | subsample=1 | volume=60 | dilution=10"),
        ("aliquot counts=31 | subsample=1 | volume=60 | dilution=10x",
         "aliquot counts=31 | subsample=1 | volume=60 | dilution=10"),
        ("dilution times=1:10 | volume=2", "dilution stock=10 | target=1 | volume=2"),
        ("ration number=400 | weight=250 | percent=4 %",
         "ration number=400 | weight=250 | percent=4"),
        ("dph hatched=2026-5-1 | on=2026-5-10", "dph hatched=2026-05-01 | on=2026-05-10"),
        ("rotifer-ration number=90 million | ration=1",
         "rotifer-ration number=90000000 | ration=1"),
        ("rotifer-growth start=120 rotifers/mL | end=310/mL | days=1 week",
         "rotifer-growth start=120 | end=310 | days=7"),
        ("oxygen-percent oxygen=13.200000000000001 | temperature=17",
         "oxygen-percent oxygen=13.2 | temperature=17"),
        ("oxygen-percent oxygen=8 ppm | temperature=17",
         "oxygen-percent oxygen=8 | temperature=17"),
        ("tank-volume shape=cylinder | diameter=2 ft 6 in | height=20\"",
         "tank-volume shape=cylinder | diameter=0.762 | height=0.508"),
        ("ammonia-load feed=1 lb/d | protein=0.5 | flow=3 litre/min",
         "ammonia-load feed=453.59237 | protein=0.5 | flow=3"),
    ],
)  # fmt: skip
def test_a_sum_takes_what_people_type(words: str, plainly: str) -> None:
    assert work(words).value == pytest.approx(work(plainly).value, rel=1e-9)


def test_today_is_the_day_it_is() -> None:
    typed = {"hatched": "2026-05-01", "on": "today"}
    assert working_out.work("dph", typed, date(2026, 5, 10)).value == 9
    with pytest.raises(Refusal, match="on: 'today' is no day"):
        working_out.work("dph", typed)


# Sodium chloride at 20 degC, 10 % by weight: 1.0707 g/mL (CRC Handbook, from memory); sea water of
# 35 g/kg at 20 degC: 1.0248 (EOS-80, UNESCO 1983, from memory).
@pytest.mark.parametrize(
    ("by_weight", "by_volume"), [(100, 107.07), (200, 229.56), (35, 35.868), (0, 0)]
)
def test_salt_by_the_liter_and_by_the_kilogram(by_weight: float, by_volume: float) -> None:
    assert salinity.by_liter(by_weight) == pytest.approx(by_volume, rel=0.002)
    assert salinity.by_kilogram(by_volume) == pytest.approx(by_weight, rel=0.002, abs=1e-9)


def test_salt_is_taken_by_the_liter_where_it_is_meant_by_the_kilogram_and_back() -> None:
    by_weight = work("brine-dose volume=60 | from=12 | to=25 | brine=214.5 ppt")
    assert by_weight.value == pytest.approx(
        work("brine-dose volume=60 | from=12 | to=25 | brine=248").value or 0, rel=0.01
    )
    shown = next(t.shown for t in by_weight.inputs if t.key == "brine")
    assert shown.endswith("g/L (214.5 g/kg at 20 degC)")
    sea = work("water-density temperature=20 | salinity=35.87 g/L").value
    assert sea == pytest.approx(1024.8, abs=0.1)


def test_a_flow_bath_takes_a_dose_by_weight_and_adds_its_charge() -> None:
    done = work("bath-flow flow=3.5 | minutes=60 | dose=20 mg/L | volume=220 | stock=50 g/L")
    # 3.5 L/min for 60 min is 210 L: 4.2 g, and 4.4 g for the 220 L that stand there.
    assert done.value == pytest.approx(4.2)
    assert done.unit == "g"
    assert done.also["charge"] == pytest.approx(4.4)
    assert done.also["all"] == pytest.approx(8.6)
    assert done.also["metering"] == pytest.approx(1.4)
    with pytest.raises(Refusal, match="stock has to be in mg/mL"):
        work("bath-flow flow=3.5 | minutes=60 | dose=20 mg/L | stock=350 uL/mL")
    with pytest.raises(Refusal, match=r"dose has to be in mg/L or uL/L, not in g[.]"):
        work("bath-flow flow=3.5 | minutes=60 | dose=20 g")


def test_an_aliquot_says_which_error_it_means() -> None:
    done = work("aliquot counts=25 25 | subsample=1 | volume=60")
    # Elliott 1977: a standard error of 10 % takes 100 in all, 95 % limits 1.96 squared as many.
    assert done.also["needed"] == pytest.approx(4)
    assert done.also["needed_95"] == pytest.approx(4 * 3.8416, rel=1e-4)


@pytest.mark.parametrize(
    ("sought", "name"),
    [
        ("artemia", "hatch-efficiency"),
        ("brine shrimp", "cysts-needed"),
        ("baking soda", "bicarbonate-dose"),
        ("CO2", "carbon-dioxide"),
        ("bleach", "chlorine-neutralize"),
        ("FCR", "feed-conversion"),
        ("morts", "daily-mortality"),
        ("formalin", "bath"),
        ("t test", "compare"),
        ("TGP", "gas-pressure"),
    ],
)
def test_people_find_a_sum_by_their_own_words(sought: str, name: str) -> None:
    assert name in [one.name for one in working_out.found(sought)]


def test_every_sum_has_words_to_find_it_by() -> None:
    assert [name for name, one in ALL.items() if not one.find] == []


def test_a_word_that_is_no_name_is_answered_with_names() -> None:
    with pytest.raises(Refusal, match="Is it decapsulation or hatch-percent or"):
        working_out.calculator("artemia")
