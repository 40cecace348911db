"""What nobody here can mean is said by the sum, in one sentence, and worked all the same."""

from __future__ import annotations

import pytest

from tankwalk.errors import Refusal
from tankwalk.practice.workings import working_out
from tankwalk.practice.workings.working_out import Working
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
