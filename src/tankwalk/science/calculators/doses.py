"""Salt, brine, bicarbonate and chloride, declared: what is weighed into water with fish."""

from __future__ import annotations

from math import ceil

from tankwalk.science import ceilings, dosing
from tankwalk.science.calculators import cautions
from tankwalk.science.calculators.declare import (
    Answer,
    Calculator,
    Dose,
    Form,
    Given,
    Input,
    Limit,
    Output,
)
from tankwalk.science.dose_kinds import DoseKind

_MOLAR = "IUPAC molar masses, from memory"
_BALANCE = "Mass balance"

PRODUCT = Input("product", "product", form=Form.NAME, needed=False, of_product="name")
VOLUME = Input("volume", "water to be treated", "L", fact="volume")
_PURITY = Input("purity", "purity", "fraction", default=1, valid=(0.5, 1), of_product="strength")
_PARTS = Output("parts", "", 0, "parts, an hour apart")


def _numbers(given: Given, *keys: str) -> tuple[float, ...]:
    return tuple(given.number(key) for key in keys)


def _parts(rise: float) -> float:
    """In how many parts salt goes in, so that none is more than an hour's."""
    return float(max(1, ceil(rise / ceilings.SALT_PER_HOUR - 1e-9)))


def _salt(given: Given) -> Answer:
    volume, low, high, temperature, purity = _numbers(
        given, "volume", "from", "to", "temperature", "purity"
    )
    mass = dosing.salt_mass(volume, low, high, temperature, purity)
    simple = dosing.salt_mass_simple(volume, low, high, purity)
    rise = high - low
    return Answer(mass, {"simple": simple, "rise": rise, "parts": _parts(rise)})


def _brine(given: Given) -> Answer:
    volume, low, high, brine = _numbers(given, "volume", "from", "to", "brine")
    rise = high - low
    poured = dosing.brine_volume(volume, low, high, brine)
    return Answer(poured, {"rise": rise, "parts": _parts(rise)})


def _bicarbonate(given: Given) -> Answer:
    volume, low, high, purity = _numbers(given, "volume", "from", "to", "purity")
    return Answer(dosing.bicarbonate_mass(volume, low, high, purity), {"rise": high - low})


def _bicarbonate_rise(given: Given) -> Answer:
    return Answer(dosing.bicarbonate_rise(*_numbers(given, "volume", "mass", "purity")))


def _chloride(given: Given) -> Answer:
    nitrite, ratio, chloride, volume, purity = _numbers(
        given, "nitrite", "ratio", "chloride", "volume", "purity"
    )
    needed = dosing.chloride_needed(nitrite, ratio, chloride)
    salt = dosing.salt_for_chloride(volume, needed, purity)
    added = salt * purity / volume
    on_no2 = dosing.ratio_on_no2(ratio)
    return Answer(
        needed, {"salt": salt, "ratio_no2": on_no2, "added": added, "parts": _parts(added)}
    )


CALCULATORS: tuple[Calculator, ...] = (
    Calculator(
        "salt-dose",
        "Salt for a salinity",
        (
            PRODUCT,
            VOLUME,
            Input("from", "salinity now", "g/kg", valid=(0, 42), item="salinity", of="salt"),
            Input("to", "salinity wanted", "g/kg", valid=(0, 42), of="salt"),
            Input(
                "temperature", "water temperature", "degC", default=20, valid=(-2, 40), item="temp"
            ),
            _PURITY,
        ),
        Output("value", "kg", 3, "dry salt"),
        "m = rho V (S2 - S1) / (1000 - S2) / purity",
        f"{_BALANCE}; density of Millero and Poisson 1981, Deep-Sea Research 28A:625-629",
        "-2 to 40 degC, 0 to 42 g/kg now; sea salt mixes hold 5 to 10 % water, so set the purity",
        _salt,
        example="volume=220 | from=0.3 | to=3",
        also=(
            Output("simple", "g", 0, "by the gram-a-liter rule"),
            Output("rise", "g/kg", 2),
            _PARTS,
        ),
        caution=cautions.SALT,
        dose=Dose(DoseKind.SALT, "value", "rise", item="salinity"),
        limits=(Limit("to", ceilings.SALINITY),),
        find="sodium chloride NaCl",
    ),
    Calculator(
        "brine-dose",
        "Brine for a salinity",
        (
            PRODUCT,
            VOLUME,
            Input("from", "salt now", "g/L", of="salt"),
            Input("to", "salt wanted", "g/L", of="salt"),
            Input(
                "brine",
                "salt in the brine",
                "g/L",
                valid=(0, 317),
                of_product="strength",
                of="salt",
            ),
        ),
        Output("value", "L", 2, "brine"),
        "Vb = V (S2 - S1) / (Sb - S2)",
        _BALANCE,
        "volumes taken to add up; a saturated brine holds about 317 g/L",
        _brine,
        example="volume=60 L | from=12 | to=25 | brine=250",
        also=(Output("rise", "g/L", 2), _PARTS),
        caution=cautions.BRINE,
        dose=Dose(DoseKind.BRINE, "value", "rise", item="salinity"),
        limits=(Limit("to", ceilings.SALT_ADDED),),
        find="salt NaCl",
    ),
    Calculator(
        "bicarbonate-dose",
        "Bicarbonate for an alkalinity",
        (
            PRODUCT,
            VOLUME,
            Input("from", "alkalinity now", "mg/L as CaCO3", item="alk"),
            Input("to", "alkalinity wanted", "mg/L as CaCO3", valid=(0, 500)),
            _PURITY,
        ),
        Output("value", "g", 1, "sodium bicarbonate"),
        "m = V (A2 - A1) 84.007 / 50.0435 / 1000 / purity",
        f"One equivalent each; {_MOLAR}",
        "what stays dissolved",
        _bicarbonate,
        example="volume=3600 | from=80 | to=110",
        also=(Output("rise", "mg/L as CaCO3", 1),),
        caution=cautions.BICARBONATE,
        dose=Dose(DoseKind.BICARBONATE, "value", "rise", item="alk"),
        limits=(Limit("rise", ceilings.ALKALINITY_RISE),),
        find="baking soda buffer alkalinity",
    ),
    Calculator(
        "bicarbonate-rise",
        "Alkalinity from bicarbonate",
        (PRODUCT, VOLUME, Input("mass", "sodium bicarbonate weighed", "g"), _PURITY),
        Output("value", "mg/L as CaCO3", 1, "rise"),
        "rise = 1000 m purity / V x 50.0435 / 84.007",
        f"One equivalent each; {_MOLAR}",
        "what stays dissolved",
        _bicarbonate_rise,
        example="volume=3600 | mass=250",
        caution=cautions.BICARBONATE,
        dose=Dose(DoseKind.BICARBONATE, "mass", "value", item="alk"),
        limits=(Limit("value", ceilings.ALKALINITY_RISE),),
        find="baking soda buffer alkalinity",
    ),
    Calculator(
        "chloride-for-nitrite",
        "Chloride against nitrite",
        (
            PRODUCT,
            Input("nitrite", "nitrite, as N", "mg/L as N", item="no2n", of="nitrite"),
            Input("ratio", "chloride to nitrite, as N", valid=(3, 100)),
            Input("chloride", "chloride there already", "mg/L", default=0),
            VOLUME,
            _PURITY,
        ),
        Output("value", "mg/L", 1, "chloride to add"),
        "Cl = ratio x NO2-N - Cl there, not below 0; salt = V Cl / 1000 / (35.453 / 58.443) / "
        "purity",
        f"SRAC Publication 462, ratio x nitrite - chloride; {_MOLAR}",
        "ratio and nitrite both as N; a ratio written on NO2 is 3.28 times larger on N",
        _chloride,
        example="nitrite=0.3 | ratio=20 | volume=3600",
        also=(
            Output("salt", "g", 1, "sodium chloride"),
            Output("ratio_no2", "", 2, "the same ratio, on NO2"),
            Output("added", "g/L", 3, "salt it adds"),
            _PARTS,
        ),
        caution=cautions.CHLORIDE,
        dose=Dose(DoseKind.SALT, "salt", "value"),
        limits=(
            Limit("ratio", ceilings.CHLORIDE_RATIO),
            Limit("added", ceilings.SALT_ADDED),
        ),
        find="NO2 brown blood salt",
    ),
)
