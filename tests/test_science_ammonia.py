"""Un-ionized ammonia: which equation, what it refuses, where it warns, and that it behaves."""

from __future__ import annotations

from functools import partial
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tankwalk.errors import Refusal
from tankwalk.practice.workings import working_out
from tankwalk.science import ammonia
from water_support import also, ask, edges, ends, only_refusals, refusal, value

any_number = st.floats(allow_nan=False, allow_infinity=False)
phs, temperatures, salts = st.floats(6, 10), st.floats(0, 30), st.floats(0, 40)


def test_at_ph_8_and_20_degrees_a_milligram_of_ammonia_is_mostly_harmless() -> None:
    done = ask("ammonia", tan=1, ph=8, temperature=20)
    assert done.unit == "mg/L as N"
    assert done.value == pytest.approx(0.0382054, abs=5e-8)
    assert also("ammonia", "fraction", tan=1, ph=8, temperature=20) == pytest.approx(3.82054)
    assert also("ammonia", "nh3", tan=1, ph=8, temperature=20) == pytest.approx(0.046453638)
    assert also("ammonia", "pka", tan=1, ph=8, temperature=20) == pytest.approx(9.400957626)
    assert "off by 0.1: 0.0306 to 0.0476 mg/L as N" in done.shaky


# Computed: our own output, as a guard.
def test_the_most_ammonia_for_a_limit_is_what_it_was() -> None:
    assert value("ammonia-limit", limit=0.02, ph=7.5, temperature=18) == pytest.approx(
        1.86474, abs=1e-5
    )
    assert (
        "off by 0.1: 1.49 to 2.34" in ask("ammonia-limit", limit=0.02, ph=7.5, temperature=18).shaky
    )


@pytest.mark.parametrize(
    ("ph", "temperature", "salinity", "fraction"),
    [(7.5, 18, 3, 0.0102793), (8.2, 15, 20, 0.0357895)],
)
def test_brackish_water_is_what_bells_line_gave(
    ph: float, temperature: float, salinity: float, fraction: float
) -> None:
    assert ammonia.fraction(ph, temperature, salinity) == pytest.approx(fraction, abs=5e-8)


@pytest.mark.parametrize("t", [0.0, 7.5, 20.0, 30.0])
def test_the_two_lines_are_written_as_their_papers_have_them(t: float) -> None:
    assert ammonia.emerson_pka(t) == pytest.approx(2729.92 / (t + 273.2) + 0.09018, rel=1e-13)
    for s in (1.0, 5.0, 35.0):
        line = 0.003071 * s - 0.0315536 * t + 10.0423
        assert ammonia.bell_pka(t, s) == pytest.approx(line, rel=1e-13)


def test_a_misprinted_constant_or_another_zero_of_kelvin_would_show() -> None:
    """2727.92 would raise the fraction by 1.5 %, 273.15 lower it by 0.35 %."""
    here = ammonia.fraction(8, 20)
    assert 1 / (1 + 10 ** (0.09018 + 2727.92 / 293.2 - 8)) > 1.01 * here
    assert 1 / (1 + 10 ** (0.09018 + 2729.92 / 293.15 - 8)) < 0.997 * here


def test_a_meter_in_usual_buffers_reads_salty_water_by_bell_and_total_scale_by_clegg() -> None:
    assert ammonia.pka(20, 0.9999) == ammonia.emerson_pka(20)
    assert ammonia.pka(20, 1) == ammonia.bell_pka(20, 1)
    assert ammonia.pka(20, 5, "total") == ammonia.clegg_pka(20, 5)
    assert ammonia.pka(20, scale="total") == ammonia.clegg_pka(20, 0)
    assert ammonia.fraction(8, 20, scale="total") == ammonia.fraction(8, 20, 0, "total")
    assert ammonia.unionized(1, 8, 20, scale="total") == ammonia.fraction(8, 20, 0, "total")
    # Computed: fresh, Bell and Clegg at pH 8, 20 degC and 5 g/kg.
    shares = [
        100 * ammonia.fraction(8, 20, s, scale)
        for s, scale in ((0, "nbs"), (5, "nbs"), (5, "total"))
    ]
    assert shares == pytest.approx([3.82, 3.61, 3.99], abs=0.006)


def test_a_wrong_scale_is_refused() -> None:
    assert refusal("ammonia", tan=1, ph=8, temperature=20, scale="free").startswith("scale")
    with pytest.raises(Refusal, match=r"^scale has to be one of nbs, total"):
        ammonia.pka(20, 0, "free")


def test_no_ammonia_is_a_legal_nothing() -> None:
    assert value("ammonia", tan=0, ph=8, temperature=20) == 0
    assert value("ammonia-limit", limit=0, ph=8, temperature=20) == 0


def test_what_water_cannot_be_is_refused_by_its_name() -> None:
    for name, first in (("ammonia", "tan"), ("ammonia-limit", "limit")):
        good = {first: 1, "ph": 8, "temperature": 20}
        ends(name, first, 0, None, **good)
        ends(name, "ph", 0, 14, **good)
        ends(name, "temperature", -5, 100, **good)
        ends(name, "salinity", 0, 300, **good)
        for key in good:
            left = {k: v for k, v in good.items() if k != key}
            assert refusal(name, **left).startswith(f"{key} is missing")
    with pytest.raises(Refusal, match=r"^tan"):
        ammonia.nh3_mass(-1)


def test_outside_the_range_of_the_equation_used_it_warns_and_answers() -> None:
    for name, first in (("ammonia", "tan"), ("ammonia-limit", "limit")):
        fresh = {first: 1, "ph": 8, "temperature": 20}
        assert not ask(name, **fresh).warnings
        edges(name, "temperature", 0, 30, **fresh)
        edges(name, "ph", 6, 10, **fresh)
        brackish = {**fresh, "salinity": 20}
        edges(name, "temperature", 5, 25, **brackish)
        edges(name, "salinity", None, 40, **fresh)
        assert not ask(name, **{**brackish, "ph": 5}).warnings
    total = {"tan": 1, "ph": 8, "temperature": 20, "scale": "total"}
    edges("ammonia", "temperature", -2, 40, **total)
    edges("ammonia", "salinity", None, 40, **total)
    assert not ask("ammonia", **total, salinity=0).warnings
    assert (
        "the range of Bell et al. 2007"
        in ask("ammonia", tan=1, ph=8, temperature=20, salinity=45).warnings[0]
    )


def test_the_step_at_salinity_1_is_only_spoken_of_where_it_matters() -> None:
    def step(temperature: float, salinity: float, scale: str = "nbs") -> bool:
        said = ammonia.outside(None, temperature, salinity, scale)
        return any("where the equation changes" in words for words in said)

    assert not step(20, 0.9)
    assert not step(3.8, 0.9)
    assert step(3.2, 0.9)
    assert step(2, 0.80001)
    assert step(2, 1.19999)
    assert not step(2, 0.7999)
    assert not step(2, 1.2001)
    assert not step(2, 1, "total")
    assert "7% apart" in ammonia.outside(8, 2, 0.9)[-1]


def test_five_percent_is_where_the_step_begins_to_matter() -> None:
    """Found by halving on the two lines as their papers have them."""
    low, high = 2.0, 5.0
    for _ in range(60):
        t = (low + high) / 2
        apart = 10 ** (0.09018 + 2729.92 / (273.2 + t) - (10.0423 - 0.0315536 * t + 0.003071)) - 1
        low, high = (t, high) if apart > 0.05 else (low, t)
    assert len(ammonia.outside(8, low - 1e-4, 0.9)) == 1
    assert not ammonia.outside(8, high + 1e-4, 0.9)


def test_typed_units_give_the_same_answer() -> None:
    plain = value("ammonia", tan=0.8, ph=7.9, temperature=20, salinity=2)
    for changed in (
        {"temperature": "68 degF"},
        {"tan": "800 ug/L as N"},
        {"tan": "0,8 mg/L"},
        {"tan": f"{0.8 * 17.031 / 14.007:.9f} mg/L as NH3"},
        {"salinity": "2 ppt"},
    ):
        typed: dict[str, object] = {"tan": 0.8, "ph": 7.9, "temperature": 20, "salinity": 2}
        assert value("ammonia", **{**typed, **changed}) == pytest.approx(plain, rel=1e-8)


def test_mass_of_nh3_is_by_the_molar_masses() -> None:
    assert ammonia.nh3_mass(14.007) == pytest.approx(17.031, rel=1e-12)


@given(phs, temperatures, salts, st.floats(0.01, 1))
def test_more_ph_is_more_nh3_and_in_one_equation_more_warmth_too(
    ph: float, temperature: float, salinity: float, more: float
) -> None:
    here = ammonia.fraction(ph, temperature, salinity)
    assert 0 < here < 1
    assert ammonia.fraction(ph + more, temperature, salinity) > here
    assert ammonia.fraction(ph, temperature + more, salinity) > here


@given(phs, temperatures, st.floats(1, 40), st.floats(0.01, 10))
def test_more_salt_is_less_nh3_in_brackish_water(
    ph: float, temperature: float, salinity: float, more: float
) -> None:
    here = ammonia.fraction(ph, temperature, salinity)
    assert ammonia.fraction(ph, temperature, salinity + more) < here


@given(st.floats(0, 10), phs, temperatures, salts)
def test_the_limit_taken_back_is_the_limit(
    limit: float, ph: float, temperature: float, salinity: float
) -> None:
    tan = ammonia.highest_tan(limit, ph, temperature, salinity)
    assert ammonia.unionized(tan, ph, temperature, salinity) == pytest.approx(limit)


@given(any_number, any_number, any_number, any_number)
def test_whatever_is_typed_nothing_but_a_refusal_comes(
    a: float, b: float, c: float, d: float
) -> None:
    for scale in ammonia.SCALES:
        only_refusals(partial(ammonia.unionized, scale=scale), a, b, c, d)
        only_refusals(partial(ammonia.pka, scale=scale), c, d)
    only_refusals(ammonia.highest_tan, a, b, c, d)
    only_refusals(ammonia.nh3_mass, a)


@given(st.floats(0, 1e308), st.floats(0, 14), st.floats(-5, 100), st.floats(0, 300))
def test_what_water_can_be_has_an_answer_or_a_refusal(
    a: float, ph: float, temperature: float, salinity: float
) -> None:
    for scale in ammonia.SCALES:
        assert 0 <= ammonia.fraction(ph, temperature, salinity, scale) <= 1
    only_refusals(ammonia.highest_tan, a, ph, temperature, salinity)
    only_refusals(ammonia.nh3_mass, a)


def test_an_answer_beyond_numbers_is_refused() -> None:
    with pytest.raises(Refusal, match=r"^limit and ph"):
        ammonia.highest_tan(1e308, 4, 5, 0)
    with pytest.raises(Refusal, match=r"^tan"):
        ammonia.nh3_mass(1.7e308)


def test_the_total_scale_is_as_pyco2sys_has_it_at_the_ends() -> None:
    """PyCO2SYS 1.8.3.4, k_ammonia with opt_pH_scale=1."""
    PyCO2SYS = pytest.importorskip("PyCO2SYS")
    from math import log10

    for t, s in product((0, 40), (0.1, 40)):
        found = PyCO2SYS.sys(
            par1=2000, par2=8, par1_type=1, par2_type=3, salinity=s, temperature=t,
            total_ammonia=10, opt_pH_scale=1,
        )  # fmt: skip
        assert ammonia.clegg_pka(t, s) == pytest.approx(-log10(float(found["k_ammonia"])), abs=1e-9)


def test_the_declaration_says_as_n_and_warns_of_nothing_at_first_use() -> None:
    asked = working_out.calculator("ammonia").input("tan")
    assert asked is not None
    assert (asked.unit, asked.item) == ("mg/L as N", "tan")
