"""Chlorine, stocks and baths, declared: what is poured, and what takes it away again."""

from __future__ import annotations

from collections.abc import Callable

from tankwalk import quantity
from tankwalk.errors import Refusal
from tankwalk.science import ceilings, dosing
from tankwalk.science.calculators import cautions
from tankwalk.science.calculators.declare import (
    Answer,
    Calculator,
    Dose,
    Extra,
    Form,
    Given,
    Input,
    Limit,
    Output,
    always,
)
from tankwalk.science.calculators.doses import PRODUCT, VOLUME
from tankwalk.science.dose_kinds import DoseKind

_MOLAR = "IUPAC molar masses, from memory"
_BALANCE = "Mass balance"
STRONG_CHLORINE = 1000.0
"""From so many mg/L of chlorine on a sum is dangerous; dilute bleach for gear has 200."""
STRONGEST_BLEACH = 160.0
"""g/L of available chlorine: no liquid bleach holds more. Common practice, no source."""
STRONGEST_POWDER = 75.0
"""% of available chlorine by weight in a dry chlorine. Common practice, no source."""

STOCKS = ("other", "acid", "caustic", "bleach", "formalin")
PURPOSES = ("sedate", "kill")

_ACTIVE = (
    Input(
        "active", "active part of the product", "fraction", default=1, valid=(0.01, 1),
        of_product="strength",
    ),
    Input(
        "label_doses", "the dose is of the", form=Form.WORD, needed=False, choices=dosing.LABELS,
        of_product="label_doses",
    ),
    Input(
        "gravity", "specific gravity", needed=False, valid=(0.7, 2),
        of_product="gravity",
    ),
)  # fmt: skip
_OTHER = Output("other", "", 2, "the other reading")


def _numbers(given: Given, *keys: str) -> tuple[float, ...]:
    return tuple(given.number(key) for key in keys)


def _strength(given: Given) -> Answer:
    percent, gravity = _numbers(given, "percent", "gravity")
    basis = given.word("basis")
    strength = dosing.available_chlorine(percent, basis, gravity)
    warnings: list[str] = []
    if basis != "trade" and gravity == 1:
        warnings.append("gravity 1 is that of water; bleach by weight needs its own, about 1.1.")
    if basis == "trade" and strength > STRONGEST_BLEACH:
        warnings.append(
            f"percent {percent:g} is {strength:g} g/L, and no liquid bleach holds more than about "
            f"{STRONGEST_BLEACH:g}: look at the label again."
        )
    elif percent > STRONGEST_POWDER:
        warnings.append(
            f"percent {percent:g} is more than any chlorine holds, about {STRONGEST_POWDER:g} % "
            "in a dry one: look at the label again."
        )
    return Answer(strength, warnings=tuple(warnings))


def _neutralize(given: Given) -> Answer:
    mass = dosing.chlorine_mass(*(given.maybe(key) for key in ("chlorine", "volume", "mass")))
    reaction = given.word("reaction")
    warnings: tuple[str, ...] = ()
    if reaction == "sulfate":
        warnings = (
            "reaction sulfate holds in alkaline excess bleach alone; elsewhere its dose is an "
            "eighth of what is needed.",
        )
    salt = given.word("salt")
    dose = dosing.thiosulfate_mass(mass, reaction, salt)
    [form] = (form for form in dosing.THIOSULFATE if form != salt)
    other = f"{dosing.thiosulfate_mass(mass, reaction, form):.3f} g {form}"
    return Answer(dose, {"available": mass, "other": other}, warnings)


def _bleach(given: Given) -> Answer:
    volume, chlorine, strength = _numbers(given, "volume", "chlorine", "strength")
    poured = dosing.bleach_volume(volume, chlorine, strength)
    minutes = given.maybe("minutes")
    mass = dosing.chlorine_mass(chlorine, volume)
    also: dict[str, Extra] = {
        form: dosing.thiosulfate_mass(mass, salt=form) for form in dosing.THIOSULFATE
    }
    also["contact"] = None if minutes is None else chlorine * minutes
    return Answer(poured, also)


def _dilution(given: Given) -> Answer:
    if given.has("times"):
        if given.has("stock") or given.has("target"):
            raise Refusal("times is not asked when stock and target are given: type one way.")
        volume = given.number("volume")
        poured = dosing.stock_volume(given.number("times"), 1.0, volume)
        return Answer(poured, {"water": volume - poured})
    for key, words in (("stock", "strength of the stock"), ("target", "strength wanted")):
        if not given.has(key):
            raise Refusal(f"{key} is missing: {words}, or times=1:10 in place of both.")
    target, unit = given.amount("target")
    try:
        stock = quantity.convert(*given.amount("stock"), unit)
    except Refusal as refusal:
        raise Refusal(f"stock: {refusal}") from None
    volume = given.number("volume")
    poured = dosing.stock_volume(stock, target, volume)
    return Answer(poured, {"water": volume - poured})


def _dose(given: Given) -> tuple[float, str]:
    """The dose in mg/L or uL/L, whichever it was typed in; Refusal for another unit."""
    number, unit = given.amount("dose")
    for wanted in ("mg/L", "uL/L"):
        try:
            return quantity.convert(number, unit, wanted), wanted
        except Refusal:
            continue
    raise Refusal(f"dose has to be in mg/L or uL/L, not in {unit}.")


Sum = Callable[[float, float, float, float | None], dosing.Bath]


def _poured(given: Given, volume: float) -> tuple[Answer, float]:
    """What brings so many liters to the dose, by how the label doses; and what to multiply by.

    The dose of a product whose active part is told can be read two ways: both are said.
    """
    dose, unit = _dose(given)
    active, gravity = given.number("active"), given.maybe("gravity")
    sum_: Sum = dosing.bath_by_weight if unit == "mg/L" else dosing.bath_by_volume
    readings = {"product": sum_(volume, dose, 1.0, gravity),
                "active": sum_(volume, dose, active, gravity)}  # fmt: skip
    told = given.word("label_doses") if given.has("label_doses") else "product"
    poured, shown = readings[told], {word: _said(bath) for word, bath in readings.items()}
    also: dict[str, Extra] = {"mass": poured.mass, "liquid": poured.liquid}
    warnings: tuple[str, ...] = ()
    if active != 1:
        [word] = (word for word in dosing.LABELS if word != told)
        also["other"] = f"{shown[word]} if of the {_PART[word]}"
        if not given.has("label_doses"):
            warnings = (
                f"active {active:g}: {shown['product']} if the dose is of the product, as most "
                f"labels dose; {shown['active']} if it is of its active part. Answered for the "
                "product: see the label, then set label_doses.",
            )
    by_weight = poured.liquid is None
    value = poured.mass if by_weight else poured.liquid
    factor = 1 / active if told == "active" else 1.0
    return Answer(value, also, warnings, "g" if by_weight else "mL"), factor


_PART = {"product": "product", "active": "active part"}


def _said(bath: dosing.Bath) -> str:
    """An amount as people say it, mL for a liquid."""
    if bath.liquid is not None:
        return f"{bath.liquid:.4g} mL"
    return f"{bath.mass:.4g} g"


def _bath(given: Given) -> Answer:
    return _poured(given, given.number("volume"))[0]


def _bath_flow(given: Given) -> Answer:
    flow, minutes = _numbers(given, "flow", "minutes")
    dose, unit = _dose(given)
    passed = dosing.flow_bath_total(flow, minutes, 1000.0)
    if passed == 0:  # nothing flows in, so nothing is metered in
        answer, factor = _poured(given, 1.0)
        metered = 0.0
    else:
        answer, factor = _poured(given, passed)
        metered = answer.value or 0.0
    volume = given.maybe("volume")
    also: dict[str, Extra] = {
        "charge": None, "all": metered, "metering": None, "reached_without_charge": None,
        "other": answer.also.get("other"),
    }  # fmt: skip
    if volume is not None:
        charge = _poured(given, volume)[0].value or 0.0
        also["charge"], also["all"] = charge, charge + metered
        also["reached_without_charge"] = dosing.reached(flow, minutes, dose, volume)
    if given.has("stock"):
        number, of = given.amount("stock")
        wanted = "mg/mL" if unit == "mg/L" else "uL/mL"
        try:
            stock = quantity.convert(number, of, quantity.canonical(wanted) or wanted)
        except Refusal:
            raise Refusal(f"stock has to be in {wanted} where the dose is in {unit}.") from None
        also["metering"] = dosing.metering_rate(flow, dose * factor, stock)
    poured = answer.unit or "mL"
    units = {"charge": poured, "all": poured, "reached_without_charge": unit}
    return Answer(metered, also, answer.warnings, poured, units)


def _anesthetic(given: Given) -> Answer:
    answer, _ = _poured(given, given.number("volume"))
    mass, stock, buffer = answer.also["mass"], given.maybe("stock"), given.maybe("buffer")
    assert mass is None or isinstance(mass, float)
    also: dict[str, Extra] = {
        "stock_volume": None, "buffer_mass": None, **answer.also,
    }  # fmt: skip
    warnings = list(answer.warnings)
    if stock is not None:
        if mass is None:
            raise Refusal("stock in g/L needs a dose by weight, or the gravity of the agent.")
        also["stock_volume"] = dosing.bleach_volume(1.0, 1000 * mass, stock)
    if buffer is not None and mass is not None:
        also["buffer_mass"] = mass * buffer
    elif buffer is None:
        warnings.append(
            "buffer is not typed: some agents make water acid; your protocol says how much."
        )
    return answer._replace(also=also, warnings=tuple(warnings))


def _is_strong(given: Given) -> bool:
    """Whether the chlorine is so strong that the sum is dangerous."""
    chlorine = given.maybe("chlorine")
    return chlorine is not None and chlorine >= STRONG_CHLORINE


CALCULATORS: tuple[Calculator, ...] = (
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
        caution=cautions.BLEACH,
        dangerous=always,
        find="bleach hypochlorite",
    ),
    Calculator(
        "chlorine-neutralize",
        "Thiosulfate against chlorine",
        (
            PRODUCT,
            Input("chlorine", "available chlorine", "mg/L", needed=False, valid=(0, 160_000)),
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
                of_product="form",
            ),
        ),
        Output("value", "g", 3, "sodium thiosulfate"),
        "2 S2O3 + Cl2 -> S4O6 + 2 Cl (7.00 g pentahydrate a gram of chlorine);\n"
        "S2O3 + 4 HOCl + H2O -> 2 SO4 + 4 Cl + 6 H (0.875 g)",
        f"Stoichiometry; {_MOLAR}",
        "free chlorine; chloramine sets ammonia free, 0.20 g N a gram of chlorine",
        _neutralize,
        example="chlorine=0.5 | volume=220",
        also=(
            Output("available", "mg", 1, "available chlorine to neutralize"),
            Output("other", "", 3, "or the other form"),
        ),
        caution=cautions.NEUTRALIZE,
        dose=Dose(DoseKind.NEUTRALIZER, "value"),
        limits=(Limit("chlorine", ceilings.CHLORINE_WITH_FISH),),
        dangerous=_is_strong,
        find="bleach dechlorinate thiosulfate",
    ),
    Calculator(
        "bleach-dose",
        "Bleach for a strength of chlorine",
        (
            PRODUCT,
            Input("volume", "water to be made, no fish in it", "L"),
            Input("chlorine", "available chlorine wanted", "mg/L", valid=(0, 10_000)),
            Input(
                "strength",
                "chlorine in the bleach, as tested",
                "g/L",
                valid=(5, 160),
                of_product="strength",
            ),
            Input("minutes", "how long it stands", "min", needed=False, valid=(1, 2880)),
        ),
        Output("value", "mL", 1, "bleach"),
        "bleach = V C / strength; contact = C x minutes; thiosulfate 7.00 g (pentahydrate) or "
        "4.46 g (anhydrous) a gram of chlorine",
        f"{_BALANCE}; stoichiometry 2 S2O3 + Cl2; {_MOLAR}",
        "water that uses up no chlorine; dirt does, so test at the end of the time",
        _bleach,
        example="volume=50 | chlorine=200 | strength=84 | minutes=30",
        also=(
            Output("contact", "mg min/L", 0, "strength times time"),
            Output("pentahydrate", "g", 1, "then thiosulfate, pentahydrate"),
            Output("anhydrous", "g", 1, "or thiosulfate, anhydrous"),
        ),
        caution=cautions.BLEACH_BATH,
        dangerous=_is_strong,
        product=DoseKind.BLEACH,
        find="hypochlorite disinfect chlorine gear",
    ),
    Calculator(
        "dilution",
        "Stock made up to a volume",
        (
            Input("stock", "strength of the stock", form=Form.LOOSE, needed=False),
            Input("target", "strength wanted, in that unit", form=Form.LOOSE, needed=False),
            Input("times", "or times thinner, as 1:10", form=Form.TIMES, needed=False),
            Input("volume", "volume to make", "L"),
            Input("what", "what the stock is of", form=Form.WORD, default="other", choices=STOCKS),
        ),
        Output("value", "L", 4, "stock"),
        "V1 = C2 V2 / C1; 1:10 is 1 part in 10 in all",
        _BALANCE,
        "volumes taken to add up",
        _dilution,
        example="stock=100 | target=5 | volume=2",
        also=(Output("water", "L", 3, "water to make it up"),),
        caution=cautions.DILUTION,
        dangerous=lambda given: given.word("what") != STOCKS[0],
        find="stock solution mix",
    ),
    Calculator(
        "bath",
        "Standing bath",
        (
            PRODUCT,
            VOLUME,
            Input("dose", "your dose, by weight or volume", "mg/L", form=Form.LOOSE),
            *_ACTIVE,
        ),
        Output("value", "g"),
        "of the product: g = V C / 1000, mL = g / SG; in uL/L, mL = V C / 1000; of its active "
        "part: all divided by active",
        "Definition; Piper et al. 1982, Fish Hatchery Management, p. 276, weight basis",
        "mg/L and uL/L differ by the specific gravity, 8 % for formalin: know which yours is",
        _bath,
        example="volume=220 | dose=10 mg/L",
        also=(
            Output("mass", "g", 2, "by weight"),
            Output("liquid", "mL", 2, "by volume"),
            _OTHER,
        ),
        caution=cautions.BATH,
        dose=Dose(DoseKind.BATH, "value"),
        limits=(Limit("dose", ceilings.BATH),),
        dangerous=always,
        find="formalin peroxide treatment dip",
    ),
    Calculator(
        "bath-flow",
        "Flow-through bath",
        (
            PRODUCT,
            Input("flow", "water flowing in", "L/min", item="flow"),
            Input("minutes", "how long", "min"),
            Input("dose", "your dose", "uL/L", form=Form.LOOSE),
            Input("volume", "water in the tank", "L", needed=False, fact="volume"),
            Input("stock", "product in the stock solution", "uL/mL", Form.LOOSE, needed=False),
            *_ACTIVE,
        ),
        Output("value", "mL", 1, "chemical metered in"),
        "total = Q T C; charge = V C; metering = Q C / stock;\n"
        "without the charge C (1 - exp(-Q T / V)) is reached; for the active part / active",
        "Mass balance of a stirred tank",
        "constant flow, a well-mixed tank; the charge of the tank stands apart from the total",
        _bath_flow,
        example="flow=3.5 | minutes=60 | dose=100 | volume=220 | stock=350",
        also=(
            Output("charge", "mL", 1, "into the tank at the start"),
            Output("all", "mL", 1, "both together"),
            Output("metering", "mL/min", 2, "stock metered in"),
            Output("reached_without_charge", "uL/L", 1, "reached at the end without it"),
            _OTHER,
        ),
        caution=cautions.BATH,
        dose=Dose(DoseKind.BATH, "all"),
        limits=(Limit("dose", ceilings.BATH),),
        dangerous=always,
        find="formalin peroxide treatment flow-through",
    ),
    Calculator(
        "anesthetic-bath",
        "Sedating or killing bath",
        (
            PRODUCT,
            Input("volume", "water in the bath", "L"),
            Input("dose", "your protocol's dose", "mg/L", form=Form.LOOSE),
            Input("purpose", "what for", form=Form.WORD, choices=PURPOSES),
            Input("buffer", "buffer for a gram of agent, by your protocol", "g/g", needed=False),
            Input("stock", "agent in the stock solution", "g/L", needed=False),
            *_ACTIVE,
        ),
        Output("value", "g", 3, "agent"),
        "agent = V C / 1000 (in uL/L, mL = V C / 1000); buffer = agent x ratio; "
        "stock = agent / strength",
        "Definition",
        "your lab's approved protocol: this sum proposes no dose, no buffer and no time",
        _anesthetic,
        example="volume=4 | dose=100 | purpose=sedate | buffer=2 | stock=10",
        also=(
            Output("stock_volume", "mL", 1, "or stock solution"),
            Output("buffer_mass", "g", 3, "buffer"),
            Output("mass", "g", 3, "by weight"),
            Output("liquid", "mL", 3, "by volume"),
            _OTHER,
        ),
        caution=cautions.ANESTHETIC,
        dose=Dose(DoseKind.ANESTHETIC, "value"),
        limits=(Limit("dose", ceilings.ANESTHETIC),),
        dangerous=always,
        find="sedate kill euthanize anaesthetic",
    ),
)
