"""The likely slip behind a number that cannot be: named, and never mended in silence."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankwalk.plan import kinds
from tankwalk.plan.model import Band, Item, Limits
from tankwalk.practice.judging.slips import Around, Slip, SlipKind, likely

TEMPERATURE = Item("temp", "Temperature", unit="degC", plausible=(-1, 35))
OXYGEN = Item("do", "Oxygen", unit="mg/L", plausible=(0, 20))
PH = Item("ph", "pH", decimals=2, plausible=(4, 10.5))
FLOW = Item("flow", "Flow", unit="L/min", plausible=(0, 60))
LEVEL = Item("level", "Water below rim", unit="cm", plausible=(0, 60))
BLOWER = Item("blower", "Blower pressure", unit="kPa", plausible=(0, 60))
BACKUP = Item("o2backup", "Backup oxygen", unit="bar", decimals=0, plausible=(0, 300))
FEED = Item("feed", "Feed left", unit="g", plausible=(0, 50))
DOSE = Item("dose", "Stock left", unit="L", plausible=(0, 50))
MORTS = Item("morts", "Morts", kinds.COUNT, plausible=(0, 20000))

POINT = "decimal point misplaced"

ALL = (TEMPERATURE, OXYGEN, PH, FLOW, LEVEL, BLOWER, BACKUP, FEED, DOSE, MORTS)


def slip(
    item: Item,
    value: float,
    last: float | None,
    band: Band | None = None,
    warm: float | None = None,
) -> Slip | None:
    low, high = item.plausible or (0.0, 0.0)
    return likely(item, value, band, Around(last, warm), impossible=not low <= value <= high)


def named(found: Slip | None) -> tuple[str, float] | None:
    """A slip with its value to two decimals."""
    return None if found is None else (found.name, round(found.value, 2))


@pytest.mark.parametrize(
    ("item", "typed", "last", "name", "meant"),
    [
        (TEMPERATURE, 62.1, 16.4, "degF", 16.722),
        (TEMPERATURE, 164, 16.4, POINT, 16.4),
        (FLOW, 0.66, 2.5, "gal/min", 2.498),
        (FLOW, 150, 2.5, "L/h", 2.5),
        (FLOW, 25, 2.5, POINT, 2.5),
        (LEVEL, 122, 12.2, POINT, 12.2),
        (LEVEL, 4.8, 12.2, "in", 12.192),
        (BLOWER, 200, 20, POINT, 20),
        (BLOWER, 150, 20, "mmHg", 19.998),
        (BLOWER, 2.9, 20, "psi", 19.995),
        (BACKUP, 2200, 150, "psi", 151.685),
        (FEED, 4000, 4, "mg", 4),
        (FEED, 0.5, 14, "oz", 14.175),
        (DOSE, 1, 4, "gal", 3.785),
        (DOSE, 4000, 4, "mL", 4),
        (PH, 76, 7.6, POINT, 7.6),
        (PH, 762, 7.6, POINT, 7.62),
        (OXYGEN, 0.74, 7.4, POINT, 7.4),
        (MORTS, 120, 12, "one zero too many", 12),
    ],
)
def test_a_slip_is_named_with_the_value_it_would_mean(
    item: Item, typed: float, last: float, name: str, meant: float
) -> None:
    found = slip(item, typed, last)
    assert found is not None
    assert found.name == name
    assert found.value == pytest.approx(meant, abs=0.001)


def test_percent_saturation_typed_for_oxygen_is_named_where_the_temperature_is_known() -> None:
    # 78 % of 9.47 mg/L (EN 25814 table at 18 degC, fresh water, 760 mmHg) is 7.39 mg/L.
    found = slip(OXYGEN, 78, 7.4, warm=18.0)
    assert found is not None
    assert found.name == "% of saturation"
    assert found.value == pytest.approx(7.39, abs=0.01)


@pytest.mark.parametrize("warm", [None, -5.0, 60.0])
def test_without_a_usable_temperature_percent_is_not_guessed(warm: float | None) -> None:
    found = slip(OXYGEN, 78, 7.4, warm=warm)
    assert found == Slip(SlipKind.POINT, 7.8)


def test_without_a_last_value_what_the_band_wants_is_expected() -> None:
    band = Band(Limits(watch_below=15, watch_above=18), None, "our plan")
    assert named(slip(TEMPERATURE, 62.1, None, band)) == ("degF", 16.72)
    cold = Band(Limits(watch_below=5, watch_above=7), None, "our plan")
    assert slip(TEMPERATURE, 62.1, None, cold) == Slip(SlipKind.POINT, 6.21)


def test_a_number_that_cannot_be_gets_the_first_slip_that_can_be_when_none_is_expected() -> None:
    assert named(slip(TEMPERATURE, 90, 16.4)) == ("degF", 32.22)


def test_a_possible_number_far_from_all_that_is_expected_is_no_slip() -> None:
    assert slip(FLOW, 9.0, 2.5) is None
    assert slip(FLOW, 9.0, None) is None
    assert slip(MORTS, 35, 12) is None
    assert slip(MORTS, 5, 12) is None


def test_a_number_beyond_every_slip_gets_none() -> None:
    assert slip(PH, 1e6, 7.6) is None


@given(
    st.sampled_from(ALL),
    st.floats(allow_nan=False),
    st.none() | st.floats(allow_nan=False),
    st.none() | st.floats(allow_nan=False),
    st.booleans(),
)
def test_a_slip_never_raises_and_never_offers_what_cannot_be(
    item: Item, value: float, last: float | None, warm: float | None, impossible: bool
) -> None:
    found = likely(item, value, None, Around(last, warm), impossible=impossible)
    if found is not None:
        low, high = item.plausible or (0.0, 0.0)
        assert low <= found.value <= high
        assert found.value != value or value == 0
