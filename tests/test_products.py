"""What goes into water is named in the plan: how strong, how its label doses, its own ceiling."""

from __future__ import annotations

from datetime import date

import pytest

from tankwalk.errors import Refusal
from tankwalk.plan.load import read_plan
from tankwalk.plan.model import Product
from tankwalk.plan.start import start_text
from tankwalk.science.ceilings import CEILINGS
from tankwalk.science.dose_kinds import DoseKind


def products(*tables: str) -> tuple[Product, ...]:
    """The products of the plan of a new site with these added."""
    added = "".join(f"\n[[product]]\n{table}\n" for table in tables)
    return read_plan(start_text(date(2026, 5, 10), "UTC") + added).products


FORMALIN = 'code = "F"\nlabel = "formalin"\nkind = "bath"\nstrength = "37 %"\ngravity = 1.08\n'


def test_a_new_site_begins_with_products_that_need_no_order() -> None:
    assert [(p.label, p.kind) for p in products()] == [
        ("sodium bicarbonate", DoseKind.BICARBONATE),
        ("salt", DoseKind.SALT),
        ("sodium thiosulfate", DoseKind.NEUTRALIZER),
    ]
    assert products()[2].form == "pentahydrate"


def test_a_product_says_how_strong_it_is_and_what_its_label_doses() -> None:
    formalin = products(FORMALIN + 'label_doses = "product"\nceiling = 100')[-1]
    assert formalin == Product("F", "formalin", DoseKind.BATH, 0.37, 1.08, "product", ceiling=100.0)
    brine = products('code = "B"\nlabel = "brine"\nkind = "brine"\nstrength = "250000 mg/L"')[-1]
    assert brine.strength == pytest.approx(250)


@pytest.mark.parametrize(
    ("table", "said"),
    [
        (FORMALIN, "label_doses is missing"),
        (FORMALIN + 'label_doses = "both"', "is not one of product, active"),
        (FORMALIN.replace("37 %", "137 %"), "is not above 0 and at most 1"),
        (FORMALIN.replace("1.08", "108"), "is not between 0.7 and 2"),
        (FORMALIN.replace('"bath"', '"potion"'), "is not one of salt, brine, bicarbonate"),
        ('code = "F"\nkind = "salt"', "label is missing"),
        ('code = "F"\nlabel = "other salt"', "kind is missing"),
        ('code = "F"\nlabel = "Salt"\nkind = "salt"', "is already the product"),
        ('code = "SALT"\nlabel = "other salt"\nkind = "salt"', "is already the product"),
        ('code = "F"\nlabel = "road salt"\nkind = "salt"\nform = "anhydrous"', "means nothing"),
        ('code = "F"\nlabel = "bleach"\nkind = "bleach"\nceiling = 4', "means nothing for bleach"),
        ('code = "F"\nlabel = "bleach"\nkind = "bleach"\nstrength = "1200 g/L"', "at most 1000"),
    ],
)
def test_what_is_wrong_with_a_product_is_a_fault_with_its_mend(table: str, said: str) -> None:
    with pytest.raises(Refusal, match=said):
        products(table)


@pytest.mark.parametrize("kind", CEILINGS)
def test_a_ceiling_of_a_sites_own_may_be_lower_and_never_higher(kind: DoseKind) -> None:
    most = CEILINGS[kind].most
    table = f'code = "X"\nlabel = "X"\nkind = "{kind.value}"\nceiling = '
    assert products(f"{table}{most}")[-1].ceiling == most
    for wrong in (most * 1.01, 0, -1):
        with pytest.raises(Refusal, match="the most for a"):
            products(f"{table}{wrong}")
