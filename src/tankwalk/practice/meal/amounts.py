"""An amount of feed as it was typed: of dry feed in g, of live feed in mL or in thousands."""

from __future__ import annotations

import re

from tankwalk import quantity
from tankwalk.errors import Refusal
from tankwalk.practice.feeding.sharing import Pour
from tankwalk.practice.meal.stops import Portion
from tankwalk.rows import NamedTuple

FAR_UP, FAR_DOWN = 2.0, 0.5
"""An amount beyond so many times the listed one is asked about. Common practice, no source."""

_TYPED = re.compile(r"([0-9.,\s]*[0-9.,])\s*([A-Za-z]*)")
_THOUSANDS = ("k", "t", "th", "thousand", "thousands")


class Amount(NamedTuple):
    """An amount in the portion's unit, and what of which batch that is, of live feed."""

    amount: float
    pours: tuple[Pour, ...] = ()

    @property
    def ml(self) -> float | None:
        """In mL; None for what is not poured from a batch."""
        return sum(one.ml for one in self.pours) if self.pours else None


def as_listed(portion: Portion) -> Amount | None:
    """What the list says; None where it says nothing, or that there is nothing to give."""
    if not portion.listed:
        return None
    pours = _by(portion, portion.listed) if portion.served else portion.pours
    return Amount(portion.listed, pours)


def read(portion: Portion, typed: str) -> Amount:
    """What was typed: g, or of live feed mL where a batch is known and thousands where not.

    A unit after the digits says otherwise: "40 mg", "112 k". Refusal for what is no amount.
    """
    found = _TYPED.fullmatch(typed.strip())
    if found is None:
        raise Refusal(f"{typed.strip()[:20]!r} is no amount: type it in {unit_of(portion)}.")
    number, unit = found[1], found[2].casefold()
    if portion.live and (unit in _THOUSANDS or not portion.pours):
        if unit and unit not in _THOUSANDS:
            raise Refusal("No batch is known to measure in mL: type thousands.")
        amount = quantity.read(number, "").value
        return _positive(portion, amount, _by(portion, amount))
    if portion.live:
        ml = quantity.read(typed, "mL").value
        poured = _shared(portion, ml)
        return _positive(portion, sum(one.thousand for one in poured), poured)
    return _positive(portion, quantity.read(typed, portion.unit).value, ())


def unit_of(portion: Portion) -> str:
    """What bare digits are in."""
    return "mL" if portion.live and portion.pours else portion.unit


def bare(portion: Portion, amount: Amount) -> float:
    """An amount as its bare digits would be typed."""
    return amount.amount if amount.ml is None else amount.ml


def far(portion: Portion, amount: Amount) -> bool:
    """Whether an amount is far from what is listed, or from the full ration where none is."""
    against = portion.listed or portion.full
    if not against:
        return False
    return not FAR_DOWN <= amount.amount / against <= FAR_UP


def tenfold(portion: Portion, amount: Amount) -> Amount | None:
    """The amount with its mark a place further on, where that is near what is listed."""
    for times in (0.1, 10.0, 0.01, 100.0):
        meant = Amount(
            amount.amount * times,
            tuple(one._replace(ml=one.ml * times) for one in amount.pours),
        )
        if not far(portion, meant):
            return meant
    return None


def _positive(portion: Portion, amount: float, pours: tuple[Pour, ...]) -> Amount:
    if amount <= 0:
        raise Refusal("0 is no meal: press / and say why there is none.")
    return Amount(amount, pours)


def _by(portion: Portion, amount: float) -> tuple[Pour, ...]:
    density = portion.density
    return _shared(portion, amount / density) if density else ()


def _shared(portion: Portion, ml: float) -> tuple[Pour, ...]:
    """So many mL out of the batches the list names, each in the share it has there."""
    listed = sum(one.ml for one in portion.pours)
    if not listed:
        return (portion.pours[0]._replace(ml=ml),)
    return tuple(one._replace(ml=ml * one.ml / listed) for one in portion.pours)
