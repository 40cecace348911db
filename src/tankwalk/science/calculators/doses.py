"""Doses and baths, declared: what is weighed or poured into water."""

from __future__ import annotations

from tankwalk import quantity
from tankwalk.errors import Refusal
from tankwalk.science import dosing
from tankwalk.science.calculators.declare import (
    Answer,
    Calculator,
    Dose,
    Form,
    Given,
    Input,
    Output,
)

_MOLAR = "IUPAC molar masses, from memory"
_BALANCE = "Mass balance"
_DEFER = "Follow the SDS, your lab's approved procedure and local rules"
_BLEACH_CAUTION = (
    "Bleach burns eyes and skin, and gives off toxic gas with acid, ammonia or formalin: goggles, "
    f"gloves, good air, nothing mixed in. {_DEFER}."
)
_BATH_CAUTION = (
    "This is arithmetic on your own dose and recommends none: the label and the veterinarian "
    "decide. Many bath chemicals, formalin above all, harm lungs, eyes and skin: goggles, gloves, "
    f"good air, and oxygen watched in the tank. {_DEFER}."
)

_VOLUME = Input("volume", "water to be treated", "L", fact="volume")
_PURITY = Input("purity", "part that is the chemical", "fraction", default=1, valid=(0.5, 1))


def _numbers(given: Given, *keys: str) -> tuple[float, ...]:
    return tuple(given.number(key) for key in keys)


def _salt(given: Given) -> Answer:
    volume, low, high, temperature, purity = _numbers(
        given, "volume", "from", "to", "temperature", "purity"
    )
    mass = dosing.salt_mass(volume, low, high, temperature, purity)
    simple = dosing.salt_mass_simple(volume, low, high, purity)
    return Answer(mass, {"simple": simple, "rise": high - low})


def _brine(given: Given) -> Answer:
    volume, low, high, brine = _numbers(given, "volume", "from", "to", "brine")
    return Answer(dosing.brine_volume(volume, low, high, brine), {"rise": high - low})


def _bicarbonate(given: Given) -> Answer:
    volume, low, high, purity = _numbers(given, "volume", "from", "to", "purity")
    return Answer(dosing.bicarbonate_mass(volume, low, high, purity), {"rise": high - low})


def _bicarbonate_rise(given: Given) -> Answer:
    return Answer(dosing.bicarbonate_rise(*_numbers(given, "volume", "mass", "purity")))


def _chloride(given: Given) -> Answer:
    nitrite, ratio, chloride = _numbers(given, "nitrite", "ratio", "chloride")
    needed = dosing.chloride_needed(nitrite, ratio, chloride)
    salt = dosing.salt_for_chloride(given.number("volume"), needed, given.number("purity"))
    return Answer(needed, {"salt": salt, "ratio_no2": dosing.ratio_on_no2(ratio)})


def _strength(given: Given) -> Answer:
    percent, gravity = _numbers(given, "percent", "gravity")
    basis = given.word("basis")
    warnings: tuple[str, ...] = ()
    if basis != "trade" and gravity == 1:
        warnings = ("gravity 1 is that of water; bleach by weight needs its own, about 1.1.",)
    return Answer(dosing.available_chlorine(percent, basis, gravity), warnings=warnings)


def _neutralize(given: Given) -> Answer:
    mass = dosing.chlorine_mass(*(given.maybe(key) for key in ("chlorine", "volume", "mass")))
    reaction = given.word("reaction")
    warnings: tuple[str, ...] = ()
    if reaction == "sulfate":
        warnings = (
            "reaction sulfate holds in alkaline excess bleach alone; elsewhere its dose is an "
            "eighth of what is needed.",
        )
    dose = dosing.thiosulfate_mass(mass, reaction, given.word("salt"))
    return Answer(dose, {"available": mass}, warnings)


def _dilution(given: Given) -> Answer:
    target, unit = given.amount("target")
    try:
        stock = quantity.convert(*given.amount("stock"), unit)
    except Refusal as refusal:
        raise Refusal(f"stock: {refusal}") from None
    volume = given.number("volume")
    poured = dosing.stock_volume(stock, target, volume)
    return Answer(poured, {"water": volume - poured})


def _bath(given: Given) -> Answer:
    volume, active = _numbers(given, "volume", "active")
    gravity = given.maybe("gravity")
    number, unit = given.amount("dose")
    for wanted, sum_ in (("mg/L", dosing.bath_by_weight), ("uL/L", dosing.bath_by_volume)):
        try:
            dose = quantity.convert(number, unit, wanted)
        except Refusal:
            continue
        mass, liquid = sum_(volume, dose, active, gravity)
        value = mass if liquid is None else liquid
        also = {"mass": mass, "liquid": liquid}
        return Answer(value, also, unit="g" if liquid is None else "mL")
    raise Refusal(f"dose has to be in mg/L or uL/L, not in {unit}.")


def _bath_flow(given: Given) -> Answer:
    flow, minutes, dose = _numbers(given, "flow", "minutes", "dose")
    total = dosing.flow_bath_total(flow, minutes, dose)
    volume, stock = given.maybe("volume"), given.maybe("stock")
    return Answer(
        total,
        {
            "charge": None if volume is None else dosing.charge(volume, dose),
            "metering": None if stock is None else dosing.metering_rate(flow, dose, stock),
            "reached_without_charge": (
                None if volume is None else dosing.reached(flow, minutes, dose, volume)
            ),
        },
    )


CALCULATORS: tuple[Calculator, ...] = (
    Calculator(
        "salt-dose",
        "Salt for a salinity",
        (
            _VOLUME,
            Input("from", "salinity now", "g/kg", valid=(0, 42), item="salinity"),
            Input("to", "salinity wanted", "g/kg"),
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
        ),
        dose=Dose("salt", "value", "rise", item="salinity"),
    ),
    Calculator(
        "brine-dose",
        "Brine for a salinity",
        (
            _VOLUME,
            Input("from", "salt now", "g/L"),
            Input("to", "salt wanted", "g/L"),
            Input("brine", "salt in the brine", "g/L", valid=(0, 320)),
        ),
        Output("value", "L", 2, "brine"),
        "Vb = V (S2 - S1) / (Sb - S2)",
        _BALANCE,
        "volumes taken to add up; a saturated brine holds about 317 g/L",
        _brine,
        example="volume=60 L | from=12 | to=25 | brine=250",
        also=(Output("rise", "g/L", 2),),
        dose=Dose("salt brine", "value", "rise", item="salinity"),
    ),
    Calculator(
        "bicarbonate-dose",
        "Bicarbonate for an alkalinity",
        (
            _VOLUME,
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
        dose=Dose("sodium bicarbonate", "value", "rise", item="alk"),
    ),
    Calculator(
        "bicarbonate-rise",
        "Alkalinity from bicarbonate",
        (_VOLUME, Input("mass", "sodium bicarbonate weighed", "g"), _PURITY),
        Output("value", "mg/L as CaCO3", 1, "rise"),
        "rise = 1000 m purity / V x 50.0435 / 84.007",
        f"One equivalent each; {_MOLAR}",
        "what stays dissolved",
        _bicarbonate_rise,
        example="volume=3600 | mass=250",
        dose=Dose("sodium bicarbonate", "mass", "value", item="alk"),
    ),
    Calculator(
        "chloride-for-nitrite",
        "Chloride against nitrite",
        (
            Input("nitrite", "nitrite, as N", "mg/L as N", item="no2n"),
            Input("ratio", "chloride to nitrite, as N", valid=(3, 100)),
            Input("chloride", "chloride there already", "mg/L", default=0),
            _VOLUME,
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
        ),
        caution=(
            "Not every fish gains from chloride, and no limit is published for larval percids: "
            "the ratio is your lab's or veterinarian's. Add the salt dissolved and slowly, and "
            "find where the nitrite comes from."
        ),
        dose=Dose("salt", "salt", "value"),
    ),
    Calculator(
        "chlorine-strength",
        "Strength of a bleach",
        (
            Input("percent", "percent on the label", "%"),
            Input("basis", "what the percent means", form=Form.WORD, choices=dosing.STRENGTHS),
            Input("gravity", "specific gravity", default=1, valid=(1, 1.3)),
        ),
        Output("value", "g/L", 1, "available chlorine"),
        "trade: 10 p; w/w available: 10 p SG; w/w NaOCl: 10 p SG 70.906 / 74.442",
        f"Definitions; {_MOLAR}",
        "fresh product: bleach loses strength, so go by a titration where you can",
        _strength,
        example="percent=8.25 | basis=trade",
        caution=_BLEACH_CAUTION,
    ),
    Calculator(
        "chlorine-neutralize",
        "Thiosulfate against chlorine",
        (
            Input("chlorine", "available chlorine", "mg/L", needed=False),
            Input("volume", "water it is in", "L", needed=False),
            Input("mass", "or chlorine by weight", "mg", needed=False),
            Input(
                "reaction",
                "reaction",
                form=Form.WORD,
                default="tetrathionate",
                choices=tuple(dosing.REACTIONS),
            ),
            Input(
                "salt",
                "thiosulfate as",
                form=Form.WORD,
                default="pentahydrate",
                choices=tuple(dosing.THIOSULFATE),
            ),
        ),
        Output("value", "g", 3, "sodium thiosulfate"),
        "2 S2O3 + Cl2 -> S4O6 + 2 Cl (7.00 g pentahydrate a gram of chlorine);\n"
        "S2O3 + 4 HOCl + H2O -> 2 SO4 + 4 Cl + 6 H (0.875 g)",
        f"Stoichiometry; {_MOLAR}",
        "free chlorine; chloramine sets ammonia free, 0.20 g N a gram of chlorine",
        _neutralize,
        example="chlorine=0.5 | volume=220",
        also=(Output("available", "mg", 1, "available chlorine to neutralize"),),
        caution=(
            "Thiosulfate into strong bleach heats it: dilute first, goggles and gloves, no acid. "
            "Rinse, neutralize, test and wait, and have a second person agree before anything "
            f"touches larvae: a kit that reads zero can miss a harmful trace. {_DEFER}."
        ),
    ),
    Calculator(
        "dilution",
        "Stock made up to a volume",
        (
            Input("stock", "strength of the stock", form=Form.LOOSE),
            Input("target", "strength wanted, in that unit", form=Form.LOOSE),
            Input("volume", "volume to make", "L"),
        ),
        Output("value", "L", 4, "stock"),
        "V1 = C2 V2 / C1",
        _BALANCE,
        "volumes taken to add up",
        _dilution,
        example="stock=100 | target=5 | volume=2",
        also=(Output("water", "L", 3, "water to make it up"),),
    ),
    Calculator(
        "bath",
        "Standing bath",
        (
            _VOLUME,
            Input("dose", "your dose, by weight or volume", "mg/L", form=Form.LOOSE),
            Input("active", "active part of the product", "fraction", default=1),
            Input("gravity", "specific gravity of a liquid", needed=False, valid=(0.7, 2)),
        ),
        Output("value", "g"),
        "g = V C / 1000 / active, mL = g / SG; in uL/L, mL = V C / 1000 / active",
        "Definition; Piper et al. 1982, Fish Hatchery Management, p. 276, weight basis",
        "mg/L and uL/L differ by the specific gravity, 8 % for formalin: know which yours is",
        _bath,
        example="volume=220 | dose=10 mg/L",
        also=(Output("mass", "g", 2, "by weight"), Output("liquid", "mL", 2, "by volume")),
        caution=_BATH_CAUTION,
        dose=Dose("bath chemical", "value"),
    ),
    Calculator(
        "bath-flow",
        "Flow-through bath",
        (
            Input("flow", "water flowing in", "L/min", item="flow"),
            Input("minutes", "how long", "min"),
            Input("dose", "your dose", "uL/L"),
            Input("volume", "water in the tank", "L", needed=False, fact="volume"),
            Input("stock", "product in the stock solution", "uL/mL", needed=False),
        ),
        Output("value", "mL", 1, "chemical metered in"),
        "total = Q T C; charge = V C; metering = Q C / stock;\n"
        "without the charge C (1 - exp(-Q T / V)) is reached",
        "Mass balance of a stirred tank",
        "constant flow, a well-mixed tank; the charge of the tank stands apart from the total",
        _bath_flow,
        example="flow=3.5 | minutes=60 | dose=100 | volume=220 | stock=350",
        also=(
            Output("charge", "mL", 1, "into the tank at the start"),
            Output("metering", "mL/min", 2, "stock metered in"),
            Output("reached_without_charge", "uL/L", 1, "reached at the end without it"),
        ),
        caution=_BATH_CAUTION,
        dose=Dose("bath chemical", "value"),
    ),
)
