"""Reading products: what the site pours or weighs into water, how strong, and how labels dose."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.figures import number_text
from tankwalk.plan.fields import Names, PlanRow
from tankwalk.plan.model import Product
from tankwalk.plan.rooms import read_code
from tankwalk.science.ceilings import CEILINGS
from tankwalk.science.dose_kinds import DoseKind
from tankwalk.science.dosing import LABELS, THIOSULFATE

IN_GRAMS_A_LITER = (DoseKind.BRINE, DoseKind.BLEACH)
"""Kinds whose strength is in g/L; that of the others is a part of 1."""
_DOSED_BY_LABEL = (DoseKind.BATH, DoseKind.ANESTHETIC)
STRONGEST_G_L = 1000.0


def read_products(rows: Sequence[PlanRow], names: Names) -> tuple[Product, ...]:
    """The [[product]] tables, each by its code; no two of them may have one name."""
    labels = Names("product")
    products = []
    for nth, row in enumerate(rows, 1):
        code = read_code(row, names, nth)
        label = row.text("label", need=True, limit=40) or ""
        labels.declare(row, "label", label or None)
        kind = row.one_of("kind", {k.value: k for k in DoseKind}, DoseKind.BATH, need=True)
        strength = None if row.unsure("kind") else _strength(row, kind)
        product = Product(
            code=code,
            label=label,
            kind=kind,
            strength=strength,
            gravity=_gravity(row),
            label_doses=_label_doses(row, kind, strength),
            form=_form(row, kind),
            ceiling=None if row.unsure("kind") else _ceiling(row, kind),
            source=row.text("source", limit=120) or "",
            tested=row.day("tested"),
        )
        products.append(product)
    return tuple(products)


def _strength(row: PlanRow, kind: DoseKind) -> float | None:
    """How strong it is: g/L for brine and bleach, else a part of 1."""
    in_grams = kind in IN_GRAMS_A_LITER
    unit, most = ("g/L", STRONGEST_G_L) if in_grams else ("fraction", 1.0)
    strength = row.measure("strength", unit)
    if strength is not None and not 0 < strength <= most:
        mend = 'write strength = "84 g/L"' if in_grams else 'write strength = "37 %"'
        row.fault("strength", f"strength {strength:g} is not above 0 and at most {most:g}", mend)
        return None
    return strength


def _gravity(row: PlanRow) -> float | None:
    gravity = row.measure("gravity", "")
    if gravity is not None and not 0.7 <= gravity <= 2:
        row.fault("gravity", f"gravity {gravity:g} is not between 0.7 and 2, water being 1")
        return None
    return gravity


def _label_doses(row: PlanRow, kind: DoseKind, strength: float | None) -> str:
    """Whether its doses are of the product or of its active part; told where it matters."""
    told = row.one_of("label_doses", {word: word for word in LABELS}, "")
    wanted = kind in _DOSED_BY_LABEL and strength is not None and strength < 1
    if wanted and not row.has("label_doses"):
        what = "label_doses is missing: is the dose on the label of the product or the active part"
        row.fault("label_doses", what, 'write label_doses = "product", or "active"')
    return told


def _form(row: PlanRow, kind: DoseKind) -> str:
    """Which thiosulfate a neutralizer is."""
    form = row.one_of("form", {word: word for word in THIOSULFATE}, "")
    if form and kind is not DoseKind.NEUTRALIZER:
        row.fault("form", f"form means nothing for a {kind.value}", "leave the line out")
    return form


def _ceiling(row: PlanRow, kind: DoseKind) -> float | None:
    """The site's own ceiling of a product, never above that of its kind."""
    absolute = CEILINGS.get(kind)
    if absolute is None:
        if row.take("ceiling") is not None:
            row.fault("ceiling", f"ceiling means nothing for {kind.value}", "leave the line out")
        return None
    ceiling = row.measure("ceiling", absolute.unit)
    if ceiling is not None and not 0 < ceiling <= absolute.most:
        what = (
            f"ceiling {number_text(ceiling)} is not above 0 and at most {absolute.words}, "
            f"the most for a {kind.value}"
        )
        row.fault("ceiling", what, "write a lower one, or leave the line out")
        return None
    return ceiling
