"""The plan's own procedures: a recipe for shelling cysts, and a bath for nets and sieves."""

from __future__ import annotations

from datetime import date

import pytest

from site_support import SMALL
from tankwalk.plan.faults import PlanFaults
from tankwalk.plan.load import read_plan
from tankwalk.plan.procedures import Decapsulation, Disinfection

BLEACH = """
[[product]]
code = "BL"
label = "bleach"
kind = "bleach"
strength = "84 g/L"
tested = 2026-05-06
[[product]]
code = "SALT"
label = "salt"
kind = "salt"
"""
RECIPE = """
[decapsulation]
bleach = "BL"
chlorine = "0.5 g/g"
caustic = 0.15
volume = "14 mL/g"
"""
GEAR = """
[disinfection]
bleach = "BL"
chlorine = 200
minutes = "1 h"
"""


def faults(text: str) -> str:
    with pytest.raises(PlanFaults) as caught:
        read_plan(SMALL + BLEACH + text)
    return str(caught.value)


def test_a_recipe_is_read_with_its_units_and_what_it_leaves_out_is_as_usual() -> None:
    plan = read_plan(SMALL + BLEACH + RECIPE + GEAR)
    assert plan.decapsulation == Decapsulation("BL", 0.5, 0.15, 14.0)
    assert plan.disinfection == Disinfection("BL", 200.0, 60.0)
    product = plan.find_product("BL")
    assert product is not None
    assert product.tested == date(2026, 5, 6)


def test_a_plan_without_recipes_has_none() -> None:
    plan = read_plan(SMALL)
    assert plan.decapsulation is None
    assert plan.disinfection is None


def test_no_amount_of_a_recipe_is_made_up() -> None:
    told = faults('[decapsulation]\nbleach = "BL"\n[disinfection]\nbleach = "BL"\n')
    for key in ("chlorine", "caustic", "volume", "minutes"):
        assert f"{key} is missing" in told


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("stop = 41", "stop 41 is above 40 degC"),
        ("warn = 40", "warn 40 is not between start 10 and stop 40"),
        ("start = 36", "warn 35 is not between start 36 and stop 40"),
        ("minutes = 0", "minutes 0 is not above 0"),
        ("hydrate = -1", "hydrate -1 is below 0"),
    ],
)
def test_limits_that_make_no_sense_are_told(line: str, said: str) -> None:
    assert said in faults(RECIPE + line)


def test_what_is_poured_has_to_be_a_bleach_of_the_plan() -> None:
    assert "which the plan has not" in faults(RECIPE.replace('"BL"', '"XX"'))
    assert "no bleach" in faults(RECIPE.replace('"BL"', '"SALT"'))
