"""Doses and baths: what is weighed, and what nobody may weigh."""

from __future__ import annotations

import json
from decimal import Decimal
from math import exp

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculator_support import declared, never_fails, refuses_or_answers, warns_of
from outside import typed
from tankwalk.errors import Refusal
from tankwalk.practice.workings import working_out
from tankwalk.science import dosing
from tankwalk.science.calculators import ALL, baths, doses
from tankwalk.science.calculators.declare import Calculator
from tankwalk.science.dose_kinds import DoseKind

NAMES = tuple(c.name for c in (*doses.CALCULATORS, *baths.CALCULATORS))
BASE = {
    "salt-dose": typed(volume=1000, from_=0, to=5),
    "brine-dose": typed(volume=800, from_=0, to=3, brine=250),
    "bicarbonate-dose": typed(volume=1000, from_=50, to=100),
    "bicarbonate-rise": typed(volume=1000, mass=83.93),
    "chloride-for-nitrite": typed(nitrite=2, ratio=10, chloride=5, volume=1000),
    "chlorine-strength": typed(percent=10, basis="w/w available", gravity=1.1),
    "chlorine-neutralize": typed(mass=1000),
    "dilution": typed(stock=120, target=0.2, volume=50),
    "bleach-dose": typed(volume=50, chlorine=200, strength=84, minutes=30),
    "bath": typed(volume=1000, dose=3, active=0.8, label_doses="active"),
    "bath-flow": typed(flow=2, minutes=60, dose=167, volume=800, stock=10),
    "anesthetic-bath": typed(volume=4, dose=100, purpose="sedate", buffer=2, stock=10),
}


def value(name: str, **inputs: object) -> float:
    found = working_out.work(name, {**BASE[name], **typed(**inputs)}).value
    assert found is not None
    return found


def also(name: str, key: str, **inputs: object) -> float:
    found = working_out.work(name, {**BASE[name], **typed(**inputs)}).also[key]
    assert isinstance(found, float)
    return found


# ---- the sums, against the equations written out once more in decimals


@pytest.mark.parametrize(
    ("volume", "low", "high", "temperature", "kilograms"),
    [(1000, 0, 5, 20, 5.0161), (500, 2, 10, 20, 4.03931), (60, 0, 28, 26, 1.72284)],
)
def test_salt_is_weighed_for_the_water_it_makes_heavier(
    volume: float, low: float, high: float, temperature: float, kilograms: float
) -> None:
    found = value("salt-dose", volume=volume, from_=low, to=high, temperature=temperature)
    assert found == pytest.approx(kilograms, abs=1e-5)


def test_the_gram_a_liter_rule_is_low_by_what_the_salt_weighs() -> None:
    """0.04 % at 2 g/kg, 1 % at 10, 3.2 % at 35, as the reference says."""
    for high, low_by in ((2, 0.0004), (10, 0.0081), (35, 0.0333)):
        rule = also("salt-dose", "simple", to=high) / 1000
        assert 1 - rule / value("salt-dose", to=high) == pytest.approx(low_by, abs=0.0016)
    assert also("salt-dose", "simple", volume="1 gal", to=1) == pytest.approx(3.785411784, rel=1e-9)
    assert also("salt-dose", "simple", purity=0.9) == pytest.approx(5000 / 0.9, rel=1e-12)
    assert also("salt-dose", "rise", from_=2) == 3


def test_salt_that_is_not_pure_is_weighed_out_more() -> None:
    assert value("salt-dose", purity=0.92) == pytest.approx(value("salt-dose") / 0.92, rel=1e-12)
    assert value("salt-dose", purity="92 %") == pytest.approx(value("salt-dose") / 0.92, rel=1e-12)


def test_salt_dose_stands_on_the_density_of_the_water() -> None:
    """998.2053 kg/m3 for pure water at 20 degC, 996.7853 at 26: seawater 3.3.5, dens0."""
    assert dosing.salt_mass(1000, 0, 5) == pytest.approx(998.2053291 * 5 / 995, rel=1e-9)
    assert dosing.salt_mass(1000, 0, 5) == pytest.approx(value("salt-dose"), rel=1e-15)
    assert dosing.salt_mass(60, 0, 28, 26) == pytest.approx(1.72283882218, rel=1e-9)
    assert dosing.salt_mass(800, 3, 3) == 0
    assert dosing.salt_mass_simple(800, 3, 4) == 800


def test_a_product_may_be_next_to_nothing_or_pure() -> None:
    assert value("salt-dose", purity=0.0005) == pytest.approx(value("salt-dose") / 0.0005)
    assert value("salt-dose", purity=1) == value("salt-dose")


def test_brine() -> None:
    assert value("brine-dose") == pytest.approx(800 * 3 / 247, rel=1e-12)
    assert also("brine-dose", "rise", from_=1) == 2


def test_bicarbonate() -> None:
    ratio = Decimal("84.007") / Decimal("50.0435")
    assert value("bicarbonate-dose") == pytest.approx(float(50 * ratio), rel=1e-12)
    assert value("bicarbonate-dose") == pytest.approx(83.93, abs=0.006)
    assert value("bicarbonate-dose", volume=5000, from_=90, to=150, purity=0.99) == pytest.approx(
        508.691, abs=0.0006
    )
    assert value("bicarbonate-rise") == pytest.approx(float(Decimal("83.93") / ratio), rel=1e-12)
    assert dosing.bicarbonate_rise(1000, 84.007) == pytest.approx(50.0435, rel=1e-12)
    assert dosing.bicarbonate_rise(1000, 100, 0.5) == pytest.approx(float(50 / ratio), rel=1e-12)
    assert dosing.bicarbonate_mass(1000, 50, 100) == value("bicarbonate-dose")
    assert also("bicarbonate-dose", "rise") == 50


@pytest.mark.parametrize(
    ("nitrite", "ratio", "there", "needed"),
    [(2, 10, 5, 15), (1, 6, 20, 0), (3, 6, 0, 18), (0, 10, 0, 0), (10, 24, 0, 240)],
)
def test_chloride_is_what_the_ratio_asks_less_what_is_there(
    nitrite: float, ratio: float, there: float, needed: float
) -> None:
    found = value("chloride-for-nitrite", nitrite=nitrite, ratio=ratio, chloride=there)
    assert found == pytest.approx(needed, abs=1e-9)


def test_salt_for_chloride_and_the_ratio_on_the_other_basis() -> None:
    salt = float(15 * Decimal("58.443") / Decimal("35.453"))
    assert also("chloride-for-nitrite", "salt") == pytest.approx(salt, rel=1e-12)
    assert also("chloride-for-nitrite", "salt") == pytest.approx(24.73, abs=0.01)
    assert also("chloride-for-nitrite", "salt", purity=0.98) == pytest.approx(salt / 0.98, rel=1e-9)
    on_no2 = float(10 * Decimal("14.007") / Decimal("46.006"))
    assert also("chloride-for-nitrite", "ratio_no2") == pytest.approx(on_no2, rel=1e-12)
    assert dosing.NO2_PER_N == pytest.approx(3.2845, abs=0.0001)
    assert dosing.chloride_needed(2, 10) == 20
    assert dosing.salt_for_chloride(1000, 15) == pytest.approx(salt, rel=1e-12)


def test_the_ratio_says_that_it_is_on_nitrogen() -> None:
    said = ALL["chloride-for-nitrite"]
    assert "as N" in said.range
    assert "NO2-N" in said.equation
    # Nitrite typed as the molecule is turned into nitrogen first.
    as_n = value("chloride-for-nitrite", nitrite="3.2845 mg/L as NO2", chloride=0)
    assert as_n == pytest.approx(10, rel=1e-4)


@pytest.mark.parametrize(
    ("percent", "basis", "gravity", "strength"),
    [
        (12.5, "trade", 1.2, 125),
        (10.28, "w/w available", 1.168, 120.0704),
        (5, "w/w available", 1.08, 54),
        (12.5, "w/w NaOCl", 1, float(125 * Decimal("70.906") / Decimal("74.442"))),
        (0, "trade", 1, 0),
    ],
)
def test_a_percent_on_a_label_means_three_things(
    percent: float, basis: str, gravity: float, strength: float
) -> None:
    found = value("chlorine-strength", percent=percent, basis=basis, gravity=gravity)
    assert found == pytest.approx(strength, rel=1e-12)
    assert dosing.available_chlorine(5, "w/w available") == 50


def test_weight_percent_with_the_gravity_of_water_is_warned_of() -> None:
    plain = {"percent": "10", "basis": "w/w available"}
    assert "gravity" in working_out.work("chlorine-strength", plain).warnings[0]
    assert not working_out.work("chlorine-strength", {**plain, "gravity": "1.0005"}).warnings
    assert not working_out.work("chlorine-strength", {**plain, "basis": "trade"}).warnings


@pytest.mark.parametrize(
    ("reaction", "salt", "grams"),
    [
        ("tetrathionate", "pentahydrate", Decimal("496.36") / Decimal("70.906")),
        ("tetrathionate", "anhydrous", Decimal("316.22") / Decimal("70.906")),
        ("sulfate", "pentahydrate", Decimal("62.045") / Decimal("70.906")),
        ("sulfate", "anhydrous", Decimal("39.5275") / Decimal("70.906")),
    ],
)
def test_thiosulfate_by_reaction_and_salt(reaction: str, salt: str, grams: Decimal) -> None:
    found = value("chlorine-neutralize", reaction=reaction, salt=salt)
    assert found == pytest.approx(float(grams), rel=1e-12)


def test_thiosulfate_takes_the_safe_reaction_unless_told() -> None:
    assert value("chlorine-neutralize") == pytest.approx(7.00, abs=0.002)
    assert dosing.thiosulfate_mass(757.1) == pytest.approx(5.3, abs=0.002)
    sulfate = working_out.work("chlorine-neutralize", {"mass": "1", "reaction": "sulfate"})
    assert "eighth" in sulfate.warnings[0]
    assert not working_out.work("chlorine-neutralize", {"mass": "1"}).warnings


def test_chlorine_comes_as_a_strength_with_a_volume_or_as_a_mass() -> None:
    done = working_out.work("chlorine-neutralize", typed(chlorine=200, volume="1 gal"))
    assert done.also["available"] == pytest.approx(757.0823568, rel=1e-9)
    for given_, named in (
        ({}, "chlorine"),
        ({"chlorine": "2"}, "volume"),
        ({"chlorine": "2", "mass": "3"}, "mass"),
        ({"chlorine": "2", "volume": "0"}, "volume"),
        ({"chlorine": "-2", "volume": "1"}, "chlorine"),
        ({"mass": "-3"}, "mass"),
    ):
        with pytest.raises(Refusal, match=rf"^{named}\b"):
            working_out.work("chlorine-neutralize", given_)
    # A volume the tank filled in does no harm to a weighed mass.
    assert working_out.work("chlorine-neutralize", {"mass": "3", "volume": "800"}).value


@pytest.mark.parametrize(
    ("stock", "target", "volume", "liters"),
    [(120, 0.2, 50, 10 / 120), (52.5, 0.5, 20, 10 / 52.5), (10, 0, 5, 0), (10, 10, 5, 5)],
)
def test_stock_is_diluted_whatever_its_unit(
    stock: float, target: float, volume: float, liters: float
) -> None:
    for unit in ("", " g/L", " %", " mL/L"):
        found = value("dilution", stock=f"{stock}{unit}", target=f"{target}{unit}", volume=volume)
        assert found == pytest.approx(liters, abs=1e-12)
    assert value("dilution", stock="120 g/L", target="200 mg/L") == pytest.approx(10 / 120)
    assert also("dilution", "water") == pytest.approx(50 - 10 / 120, rel=1e-12)
    with pytest.raises(Refusal, match=r"^stock: "):
        value("dilution", stock="120 g/L")


# ---- baths


def test_a_bath_is_weighed_poured_or_asked_about() -> None:
    assert value("bath") == pytest.approx(3.75, rel=1e-12)
    assert value("bath", volume=800, dose=1.5, active=0.9) == pytest.approx(4 / 3, rel=1e-12)
    assert value("bath", volume=2500, dose=0.25, active=0.5) == pytest.approx(1.25, rel=1e-12)
    grams = working_out.work("bath", BASE["bath"])
    assert (grams.unit, grams.also["liquid"]) == ("g", None)
    poured = working_out.work("bath", typed(volume=1000, dose=100, gravity=1.08))
    assert poured.unit == "mL"
    assert poured.value == pytest.approx(100 / 1.08, rel=1e-12)
    assert poured.also["mass"] == pytest.approx(100)
    spoken = working_out.work(
        "bath", typed(volume=1000, dose="100 uL/L", active=0.5, label_doses="active", gravity=1.08)
    )
    assert (spoken.value, spoken.unit) == (200, "mL")
    assert spoken.also["mass"] == pytest.approx(216)
    assert working_out.work("bath", typed(volume=1000, dose="0.1 mL/L")).value == pytest.approx(100)
    assert working_out.work("bath", typed(volume=1000, dose="1 g/L")).value == pytest.approx(1000)
    with pytest.raises(Refusal, match=r"^dose"):
        value("bath", dose="3 degC")
    assert dosing.bath_by_weight(1000, 3) == (3, None)
    assert dosing.bath_by_volume(1000, 3) == (None, 3)
    assert working_out.as_json(spoken)["inputs"]["dose"] == {  # type: ignore[index]
        "value": 100,
        "unit": "uL/L",
    }


def test_a_flow_through_bath_has_a_charge_that_stands_apart() -> None:
    assert value("bath-flow") == pytest.approx(20.04, rel=1e-12)
    assert value("bath-flow", flow=4, minutes=15, dose=1667) == pytest.approx(100.02, rel=1e-12)
    assert value("bath-flow", flow="5 gal/min", minutes=15, dose=1667) == pytest.approx(
        473.271, abs=0.001
    )
    assert also("bath-flow", "charge") == pytest.approx(133.6, rel=1e-12)
    assert also("bath-flow", "metering") == pytest.approx(33.4, rel=1e-12)
    assert also("bath-flow", "metering", dose=25) == pytest.approx(5, rel=1e-12)
    assert also("bath-flow", "reached_without_charge") == pytest.approx(
        167 * (1 - exp(-120 / 800)), rel=1e-12
    )
    alone = working_out.work("bath-flow", typed(flow=2, minutes=60, dose=167))
    assert alone.value == pytest.approx(20.04)
    assert {key for key, found in alone.also.items() if found is not None} == {"all"}
    assert alone.also["all"] == alone.value
    assert also("bath-flow", "all") == pytest.approx(20.04 + 133.6, rel=1e-12)


# ---- what may be declared, and what is refused


def test_usual_values_and_ranges_are_those_of_the_sources() -> None:
    purity = (1, (0.5, 1))
    assert declared(NAMES) == {
        ("salt-dose", "from"): (None, (0, 42)),
        ("salt-dose", "to"): (None, (0, 42)),
        ("salt-dose", "temperature"): (20, (-2, 40)),
        ("salt-dose", "purity"): purity,
        ("brine-dose", "brine"): (None, (0, 317)),
        ("bicarbonate-dose", "to"): (None, (0, 500)),
        ("bicarbonate-dose", "purity"): purity,
        ("bicarbonate-rise", "purity"): purity,
        ("chloride-for-nitrite", "ratio"): (None, (3, 100)),
        ("chloride-for-nitrite", "chloride"): (0, None),
        ("chloride-for-nitrite", "purity"): purity,
        ("chlorine-strength", "gravity"): (1, (1, 1.3)),
        ("chlorine-neutralize", "reaction"): ("tetrathionate", None),
        ("chlorine-neutralize", "salt"): ("pentahydrate", None),
        ("chlorine-neutralize", "chlorine"): (None, (0, 160_000)),
        ("bleach-dose", "chlorine"): (None, (0, 10_000)),
        ("bleach-dose", "strength"): (None, (5, 160)),
        ("bleach-dose", "minutes"): (None, (1, 2880)),
        ("dilution", "what"): ("other", None),
        **{
            (name, key): found
            for name in ("bath", "bath-flow", "anesthetic-bath")
            for key, found in (("active", (1, (0.01, 1))), ("gravity", (None, (0.7, 2))))
        },
    }


@pytest.mark.parametrize(
    ("name", "key", "inside", "outside"),
    [
        ("salt-dose", "temperature", 40, 40.001),
        ("salt-dose", "temperature", -2, -2.001),
        ("salt-dose", "purity", 0.5, 0.499),
        ("brine-dose", "brine", 317, 317.1),
        ("bicarbonate-dose", "to", 500, 500.1),
        ("chloride-for-nitrite", "ratio", 3, 2.99),
        ("chlorine-strength", "gravity", 1.3, 1.301),
    ],
)
def test_outside_its_range_an_equation_still_answers_and_says_so(
    name: str, key: str, inside: float, outside: float
) -> None:
    assert not warns_of(name, BASE[name], key, inside)
    assert warns_of(name, BASE[name], key, outside)


@pytest.mark.parametrize(
    ("name", "key", "bad"),
    [
        *((n, "volume", v) for n in ("salt-dose", "brine-dose", "bicarbonate-dose", "bath",
                                     "bicarbonate-rise", "chloride-for-nitrite", "dilution",
                                     "bath-flow") for v in ("0", "-3")),
        *((n, "purity", v) for n in ("salt-dose", "bicarbonate-dose", "bicarbonate-rise",
                                     "chloride-for-nitrite") for v in ("0", "1.0005", "-1")),
        *((n, "from", "-0.1") for n in ("salt-dose", "brine-dose", "bicarbonate-dose")),
        *((n, "to", "-0.1") for n in ("salt-dose", "brine-dose", "bicarbonate-dose")),
        ("salt-dose", "from", "300.1"),
        ("salt-dose", "to", "300.1"),
        ("salt-dose", "temperature", "101"),
        ("salt-dose", "temperature", "-5.1"),
        ("brine-dose", "brine", "3"),
        ("brine-dose", "brine", "0"),
        ("bicarbonate-dose", "to", "49"),
        ("bicarbonate-rise", "mass", "-1"),
        ("chloride-for-nitrite", "nitrite", "-1"),
        ("chloride-for-nitrite", "ratio", "-1"),
        ("chloride-for-nitrite", "chloride", "-1"),
        ("chlorine-strength", "percent", "100.1"),
        ("chlorine-strength", "percent", "-1"),
        ("chlorine-strength", "gravity", "0"),
        ("chlorine-strength", "basis", "strong"),
        ("chlorine-neutralize", "reaction", "slow"),
        ("chlorine-neutralize", "salt", "table"),
        ("dilution", "stock", "0"),
        ("dilution", "target", "-1"),
        ("dilution", "target", "121"),
        ("bath", "dose", "-1"),
        ("bath", "active", "0"),
        ("bath", "active", "1.01"),
        ("bath", "gravity", "0"),
        ("bath-flow", "flow", "-1"),
        ("bath-flow", "minutes", "-1"),
        ("bath-flow", "dose", "-1"),
        ("bath-flow", "stock", "0"),
    ],
)  # fmt: skip
def test_a_refusal_names_the_input_by_its_key(name: str, key: str, bad: str) -> None:
    with pytest.raises(Refusal, match=rf"^{key}\b"):
        working_out.work(name, {**BASE[name], key: bad})


def test_a_missing_input_is_named() -> None:
    optional = {"chlorine-neutralize"}
    for name in set(NAMES) - optional:
        for one in ALL[name].inputs:
            if one.needed and one.default is None:
                short = {k: v for k, v in BASE[name].items() if k != one.key}
                with pytest.raises(Refusal, match=f"^{one.key} is missing"):
                    working_out.work(name, short)


@pytest.mark.parametrize(
    ("sum_", "named"),
    [
        (lambda: dosing.available_chlorine(5, "strong"), "basis"),
        (lambda: dosing.thiosulfate_mass(5, "slow"), "reaction"),
        (lambda: dosing.thiosulfate_mass(5, salt="table"), "salt"),
    ],
)
def test_words_are_refused_below_the_calculators_too(sum_: object, named: str) -> None:
    with pytest.raises(Refusal, match=f"^{named}"):
        sum_()  # type: ignore[operator]


@pytest.mark.parametrize("name", NAMES)
def test_each_answer_can_be_written_and_what_can_hurt_says_so(name: str) -> None:
    done = working_out.as_json(working_out.work(name, BASE[name]))
    json.dumps(done, allow_nan=False)
    assert done["caution"]


@pytest.mark.parametrize("asked", ALL.values(), ids=lambda asked: asked.name)
def test_a_caution_is_four_short_lines_at_most(asked: Calculator) -> None:
    assert len(asked.caution) <= 4
    for line in asked.caution:
        assert len(line) <= 79, line
    assert asked.caution or not asked.limits


@pytest.mark.parametrize(
    ("name", "inputs", "dangerous"),
    [
        ("decapsulation", {"cysts": 100, "bleach": 84}, True),
        ("chlorine-strength", {"percent": 8.25, "basis": "trade"}, True),
        ("chlorine-neutralize", {"chlorine": 999, "volume": 1}, False),
        ("chlorine-neutralize", {"chlorine": 1000, "volume": 1}, True),
        ("bleach-dose", {"volume": 50, "chlorine": 200, "strength": 84}, False),
        ("bleach-dose", {"volume": 50, "chlorine": 1000, "strength": 84}, True),
        ("dilution", {"stock": 10, "target": 1, "volume": 1}, False),
        *(("dilution", {"stock": 10, "target": 1, "volume": 1, "what": what}, True)
          for what in ("acid", "caustic", "bleach", "formalin")),
        ("bath", {"volume": 220, "dose": 25}, True),
        ("bath-flow", {"flow": 2, "minutes": 60, "dose": 25}, True),
        ("anesthetic-bath", {"volume": 4, "dose": 100, "purpose": "kill"}, True),
        ("salt-dose", {"volume": 220, "from": 0, "to": 1}, False),
        ("bicarbonate-dose", {"volume": 220, "from": 80, "to": 100}, False),
    ],
)  # fmt: skip
def test_a_dangerous_sum_says_so(name: str, inputs: dict[str, object], dangerous: bool) -> None:
    done = working_out.work(name, {key: str(found) for key, found in inputs.items()})
    assert done.dangerous is dangerous
    assert working_out.as_json(done).get("dangerous", False) is dangerous


@pytest.mark.parametrize(
    ("name", "inputs", "most", "above"),
    [
        ("salt-dose", {}, ("to", 4.8), ("to", 4.81)),
        ("brine-dose", {}, ("to", 4.8), ("to", 4.81)),
        ("bicarbonate-dose", {}, ("to", 100), ("to", 100.1)),
        ("bicarbonate-rise", {"volume": 1000}, ("mass", 83.93), ("mass", 83.95)),
        ("chloride-for-nitrite", {}, ("ratio", 100), ("ratio", 100.1)),
        ("chloride-for-nitrite", {"ratio": 99, "chloride": 0}, ("nitrite", 29),
         ("nitrite", 29.5)),
        ("chlorine-neutralize", {"mass": "", "volume": 3600}, ("chlorine", 4),
         ("chlorine", 4.01)),
        ("bath", {}, ("dose", 250), ("dose", 251)),
        ("bath", {}, ("dose", "250 uL/L"), ("dose", "0.251 mL/L")),
        ("bath", {}, ("dose", 250), ("dose", "1000 g/L")),
        ("bath-flow", {}, ("dose", "250 mg/L"), ("dose", "251 uL/L")),
        ("anesthetic-bath", {}, ("dose", 500), ("dose", 501)),
        ("decapsulation", {"cysts": 100, "bleach": 84}, ("cysts", 500), ("cysts", "100 kg")),
    ],
)  # fmt: skip
def test_a_sum_warns_at_the_ceiling_its_dose_is_held_against(
    name: str, inputs: dict[str, object], most: tuple[str, object], above: tuple[str, object]
) -> None:
    base = {**BASE.get(name, {}), **{key: str(found) for key, found in inputs.items()}}
    if name == "bath-flow":
        base.pop("stock")
    for (key, found), passed in ((most, False), (above, True)):
        done = working_out.work(name, {**base, key: str(found)})
        assert any(one.passed for one in done.held) is passed, (name, found)
        assert any("above" in words for words in done.warnings) is passed


def test_a_label_can_dose_the_product_or_its_active_part() -> None:
    """250 uL/L of formalin of 37 % into 220 L: 55 mL of the product, by definition."""
    formalin = typed(volume=220, dose="250 uL/L", active="37 %")
    done = working_out.work("bath", formalin)
    assert done.value == pytest.approx(55)
    assert done.warnings[0].startswith("active 0.37: 55 mL if the dose is of the product")
    assert "148.6 mL if it is of its active part" in done.warnings[0]
    told = working_out.work("bath", {**formalin, "label_doses": "active"})
    assert told.value == pytest.approx(55 / 0.37)
    assert told.also["other"] == "55 mL if of the product"
    assert not told.warnings
    assert not working_out.work("bath", {**formalin, "label_doses": "product"}).warnings


def test_a_bath_may_be_weighed_into_the_flow_as_well() -> None:
    by_weight = working_out.work(
        "bath-flow", typed(flow=2, minutes=60, dose="100 mg/L", volume=200, stock="50 g/L")
    )
    assert by_weight.value == pytest.approx(12)
    assert by_weight.unit == "g"
    assert by_weight.also["charge"] == pytest.approx(20)
    assert by_weight.also["metering"] == pytest.approx(4)
    assert by_weight.units["charge"] == "g"
    assert by_weight.units["reached_without_charge"] == "mg/L"
    with pytest.raises(Refusal, match=r"^stock has to be in mg/mL"):
        working_out.work("bath-flow", typed(flow=2, minutes=60, dose="100 mg/L", stock=350))
    nothing = working_out.work("bath-flow", typed(flow=0, minutes=60, dose=100, volume=200))
    assert nothing.value == 0
    assert nothing.also["charge"] == pytest.approx(20)


def test_bleach_is_poured_for_a_strength_and_taken_away_again_by_either_thiosulfate() -> None:
    assert value("bleach-dose") == pytest.approx(50 * 200 / 84)
    assert also("bleach-dose", "contact") == 6000
    assert also("bleach-dose", "pentahydrate") == pytest.approx(70.0, abs=0.02)
    assert also("bleach-dose", "anhydrous") == pytest.approx(44.6, abs=0.02)
    with pytest.raises(Refusal, match=r"^strength .* no stronger"):
        value("bleach-dose", chlorine=84_000)
    other = working_out.work("chlorine-neutralize", typed(mass=1000)).also["other"]
    assert other == "4.460 g anhydrous"


def test_a_sedating_bath_is_the_protocols_own_dose_buffer_and_stock() -> None:
    assert value("anesthetic-bath") == pytest.approx(0.4)
    assert also("anesthetic-bath", "stock_volume") == pytest.approx(40)
    assert also("anesthetic-bath", "buffer_mass") == pytest.approx(0.8)
    bare = working_out.work("anesthetic-bath", typed(volume=4, dose=100, purpose="kill"))
    assert bare.warnings[0].startswith("buffer is not typed")
    oil = working_out.work("anesthetic-bath", typed(volume=4, dose="50 uL/L", purpose="kill"))
    assert oil.value == pytest.approx(0.2)
    assert oil.unit == "mL"
    with pytest.raises(Refusal, match=r"^stock in g/L needs a dose by weight"):
        working_out.work(
            "anesthetic-bath", typed(volume=4, dose="50 uL/L", purpose="kill", stock=10)
        )


def test_no_bleach_is_stronger_than_bleach() -> None:
    for percent, basis, warned in (
        (16, "trade", False), (16.1, "trade", True), (100, "trade", True),
        (75, "w/w available", False), (76, "w/w available", True),
    ):  # fmt: skip
        done = working_out.work(
            "chlorine-strength", typed(percent=percent, basis=basis, gravity=1.1)
        )
        assert any("look at the label" in words for words in done.warnings) is warned


def test_salt_goes_in_by_parts_an_hour_apart() -> None:
    for to, parts in ((1, 1), (1.01, 2), (2.7, 3)):
        assert also("salt-dose", "parts", to=to) == parts
    assert also("brine-dose", "parts") == 3


def test_what_is_weighed_into_water_can_be_kept_as_a_dose() -> None:
    for name in ("salt-dose", "brine-dose", "bicarbonate-dose", "bicarbonate-rise",
                 "chloride-for-nitrite", "chlorine-neutralize", "bath", "bath-flow",
                 "anesthetic-bath"):  # fmt: skip
        asked = ALL[name]
        assert asked.dose is not None
        keys = {"value", *(o.key for o in asked.also), *(i.key for i in asked.inputs)}
        assert {asked.dose.amount, asked.dose.volume} <= keys
        assert asked.dose.expected in {"", *keys}
    rise = ALL["bicarbonate-rise"].dose
    assert rise == (DoseKind.BICARBONATE, "mass", "value", "volume", "alk")
    salt = ALL["salt-dose"].dose
    assert salt is not None
    assert (salt.kind, salt.item) == (DoseKind.SALT, "salinity")


# ---- properties


@given(st.floats(1, 1e5), st.floats(0, 500), st.floats(0, 500), st.floats(0.1, 1))
def test_bicarbonate_there_and_back(volume: float, low: float, rise: float, purity: float) -> None:
    mass = dosing.bicarbonate_mass(volume, low, low + rise, purity)
    back = dosing.bicarbonate_rise(volume, mass, purity)
    assert back == pytest.approx(low + rise - low, rel=1e-9, abs=1e-9)


@given(st.floats(1, 1e5), st.floats(0, 40), st.floats(0.01, 40), st.floats(0, 35))
def test_more_salt_for_more_rise_and_more_water(
    volume: float, low: float, rise: float, temperature: float
) -> None:
    mass = dosing.salt_mass(volume, low, low + rise, temperature)
    assert dosing.salt_mass(volume, low, low + rise + 0.1, temperature) > mass
    assert dosing.salt_mass(2 * volume, low, low + rise, temperature) > mass
    # The salt has gone where the balance says.
    water = mass * (1000 - low - rise) / rise
    assert (low * water + 1000 * mass) / (water + mass) == pytest.approx(low + rise, rel=1e-9)


@given(st.floats(1, 100), st.floats(0, 99), st.floats(1, 100))
def test_a_weaker_stock_is_never_needed_less(stock: float, part: float, volume: float) -> None:
    target = stock * part / 100
    assert dosing.stock_volume(2 * stock, target, volume) <= dosing.stock_volume(
        stock, target, volume
    )


@given(st.floats(0, 50), st.floats(0, 600), st.floats(0, 500), st.floats(1, 1e4))
def test_a_bath_without_its_charge_climbs_and_stays_below(
    flow: float, minutes: float, dose: float, volume: float
) -> None:
    at = dosing.reached(flow, minutes, dose, volume)
    assert 0 <= at <= dose
    assert dosing.reached(flow, minutes + 10, dose, volume) >= at


@pytest.mark.parametrize(
    ("name", "there", "same"),
    [
        ("salt-dose", {"volume": "1 m3"}, {"volume": "1000"}),
        ("salt-dose", {"temperature": "68 degF"}, {"temperature": "20"}),
        ("salt-dose", {"to": "5 ppt"}, {"to": "5"}),
        ("bicarbonate-dose", {"to": "2 meq/L"}, {"to": "100.0870"}),
        ("bicarbonate-rise", {"mass": "0.08393 kg"}, {"mass": "83.93"}),
        ("chloride-for-nitrite", {"chloride": "5000 ug/L"}, {"chloride": "5"}),
        ("chlorine-neutralize", {"mass": "1 g"}, {"mass": "1000"}),
        ("bath", {"dose": "3000 ug/L"}, {"dose": "3"}),
        ("bath", {"active": "80 %"}, {"active": "0.8"}),
        ("bath-flow", {"flow": "120 L/h"}, {"flow": "2"}),
        ("bath-flow", {"minutes": "1 h"}, {"minutes": "60"}),
    ],
)
def test_the_unit_it_is_typed_in_changes_nothing(
    name: str, there: dict[str, str], same: dict[str, str]
) -> None:
    one = working_out.work(name, {**BASE[name], **there})
    other = working_out.work(name, {**BASE[name], **same})
    assert one.value == pytest.approx(other.value, rel=1e-11)


def test_whatever_is_typed_there_is_an_answer_or_a_refusal() -> None:
    never_fails(NAMES)


@pytest.mark.parametrize(
    ("name", "many"),
    [
        ("salt_mass", 5), ("salt_mass_simple", 4), ("brine_volume", 4), ("bicarbonate_mass", 4),
        ("bicarbonate_rise", 3), ("chloride_needed", 3), ("salt_for_chloride", 3),
        ("ratio_on_no2", 1), ("thiosulfate_mass", 1), ("stock_volume", 3), ("bath_by_weight", 4),
        ("bath_by_volume", 4), ("flow_bath_total", 3), ("charge", 2), ("metering_rate", 3),
        ("reached", 4), ("chlorine_mass", 2),
    ],
)  # fmt: skip
def test_a_sum_gives_a_number_or_a_refusal(name: str, many: int) -> None:
    refuses_or_answers(getattr(dosing, name), many)


@pytest.mark.parametrize("basis", dosing.STRENGTHS)
def test_a_strength_is_a_number_or_a_refusal(basis: str) -> None:
    refuses_or_answers(lambda p, g: dosing.available_chlorine(p, basis, g), 2)
