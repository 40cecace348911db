"""Units turned into units: the calculators that only convert."""

from __future__ import annotations

from tankwalk import quantity
from tankwalk.errors import Refusal
from tankwalk.science.calculators.declare import Answer, Calculator, Form, Given, Input, Output
from tankwalk.science.limits import zero_or_more

_NITROGEN = ("N", "NH3", "NH4", "NO2", "NO3")
_ALKALINITY = {
    "mg/L CaCO3": "mg/L as CaCO3",
    "meq/L": "meq/L",
    "dKH": "dKH",
    "mg/L HCO3": "mg/L as HCO3",
}


def _convert(given: Given) -> Answer:
    unit = given.word("to")
    amount, typed_in = given.amount("value")
    return Answer(quantity.convert(amount, typed_in, unit), unit=unit)


def _nitrogen(given: Given) -> Answer:
    value = zero_or_more("value", given.number("value"), "mg/L")
    old, new = given.word("from"), given.word("to")
    if old[:2] != new[:2] and "N" not in (old, new):
        raise Refusal(f"from {old} to {new} is another substance: only the nitrogen is the same.")
    units = (f"mg/L as {old}", f"mg/L as {new}")
    return Answer(quantity.convert(value, *units), unit=units[1])


def _alkalinity(given: Given) -> Answer:
    value = zero_or_more("value", given.number("value"))
    old, new = (_ALKALINITY[given.word(key)] for key in ("from", "to"))
    return Answer(quantity.convert(value, old, new), unit=new)


CALCULATORS = (
    Calculator(
        "convert",
        "Unit to unit",
        (
            Input("value", "amount with its unit", form=Form.AMOUNT),
            Input("to", "unit wanted", form=Form.UNIT),
        ),
        Output("value", decimals=4),
        "the same amount in another unit",
        "NIST Special Publication 811 (2008), appendix B.8; from memory",
        "units that measure the same thing",
        _convert,
        example="value=2.5 gal/min | to=L/min",
        find="unit gallons liters fahrenheit",
    ),
    Calculator(
        "nitrogen-basis",
        "Nitrogen, as N or as the molecule",
        (
            Input("value", "concentration", "mg/L"),
            Input("from", "written as", form=Form.WORD, choices=_NITROGEN),
            Input("to", "wanted as", form=Form.WORD, choices=_NITROGEN),
        ),
        Output("value", "mg/L", 4),
        "c_new = c_old M_new / M_old (N 14.007, NH3 17.031, NH4 18.039, NO2 46.006, NO3 62.005)",
        "IUPAC molar masses; from memory",
        "any concentration of 0 or more",
        _nitrogen,
        example="value=0.66 | from=NO2 | to=N",
        find="ammonia nitrite nitrate NO2 NO3 NH3",
    ),
    Calculator(
        "alkalinity-units",
        "Alkalinity, unit to unit",
        (
            Input("value", "alkalinity"),
            Input("from", "written in", form=Form.WORD, choices=tuple(_ALKALINITY)),
            Input("to", "wanted in", form=Form.WORD, choices=tuple(_ALKALINITY)),
        ),
        Output("value", decimals=3),
        "1 meq/L = 50.0435 mg/L as CaCO3 = 61.017 mg/L as HCO3; 1 dKH = 10 mg/L as CaO",
        "equivalents from IUPAC molar masses; the degree by definition; from memory",
        "any alkalinity of 0 or more",
        _alkalinity,
        example="value=90 | from=mg/L CaCO3 | to=dKH",
        find="dKH meq hardness",
    ),
)
