"""What is weighed or poured into water: salt, brine, bicarbonate, chlorine, thiosulfate, baths.

Names of parameters are the keys a person types; `from_` stands for `from`.
"""

from __future__ import annotations

from math import exp

from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple
from tankwalk.science.limits import above_zero, answer, part, within, zero_or_more
from tankwalk.science.limits import salt as salt_in_water
from tankwalk.science.salinity import density

# Molar masses in g/mol, IUPAC, from memory.
CL = 35.453
CL2 = 70.906
NACL = 58.443
NAHCO3 = 84.007
NAOCL = 74.442
THIOSULFATE = {"pentahydrate": 248.18, "anhydrous": 158.11}
CACO3_EQUIVALENT = 50.0435
NO2_PER_N = 46.006 / 14.007

REACTIONS = {"tetrathionate": 2.0, "sulfate": 0.25}
"""Moles of thiosulfate that one mole of chlorine takes: 2 S2O3 + Cl2, or S2O3 + 4 Cl2."""

STRENGTHS = ("trade", "w/w available", "w/w NaOCl")
"""What the percent on a bleach label can mean."""

LABELS = ("product", "active")
"""What a dose on a label can be of: the product as it comes, or the active part of it."""


def _rise(from_: float, to: float) -> float:
    """`to` less `from_`; Refusal where what is added would have to be taken out."""
    if to < from_:
        raise Refusal(f"to of {to:g} is below from of {from_:g}: adding cannot lower it.")
    return to - from_


# ---- salt


def salt_mass(
    volume: float, from_: float, to: float, temperature: float = 20, purity: float = 1
) -> float:
    """Dry salt that raises a water's salinity, m = rho V (S2 - S1) / (1000 - S2) / purity.

    Parameters: volume in L; salinity now and wanted in g/kg; temperature in degC; purity of the
    salt, above 0 to 1. Returns kg.
    Range: -2 to 40 degC, 0 to 42 g/kg now; the salt itself makes up part of the new mass.
    Errors: Refusal for a volume or purity not above 0, a salinity below 0 or above 300 g/kg,
    a temperature water cannot have, or `to` below `from`.
    Source: mass balance; density of Millero and Poisson 1981, Deep-Sea Research 28A:625-629,
    one-atmosphere equation of state.
    """
    above_zero("volume", volume, "L")
    salt_in_water(from_, "from")
    salt_in_water(to, "to")
    rise = _rise(from_, to)
    kg_per_liter = density(temperature, from_) / 1000
    mass = kg_per_liter * volume * rise / (1000 - to) / part("purity", purity)
    return answer(mass, "volume", "purity")


def salt_mass_simple(volume: float, from_: float, to: float, purity: float = 1) -> float:
    """Dry salt by the rule of one gram a liter for each part per thousand, m = V (S2 - S1).

    Parameters: volume in L; salinity now and wanted, taken as g/L; purity above 0 to 1.
    Returns g.
    Range: 0.04 % low at a salinity of 2, 1 % at 10, 3.2 % at 35.
    Errors: Refusal as for `salt_mass`. Source: definition of g/L.
    """
    above_zero("volume", volume, "L")
    zero_or_more("from", from_)
    rise = _rise(from_, zero_or_more("to", to))
    return answer(volume * rise / part("purity", purity), "volume", "purity")


def brine_volume(volume: float, from_: float, to: float, brine: float) -> float:
    """Brine that raises a water's salt, Vb = V (S2 - S1) / (Sb - S2).

    Parameters: volume in L; salt now, wanted and in the brine, all g/L. Returns L.
    Range: volumes taken to add up; a saturated brine of table salt holds about 317 g/L.
    Errors: Refusal for a volume not above 0, salt below 0, `to` below `from`, or a brine no
    stronger than what is wanted. Source: mass balance.
    """
    above_zero("volume", volume, "L")
    zero_or_more("from", from_, "g/L")
    rise = _rise(from_, zero_or_more("to", to, "g/L"))
    above_zero("brine", brine, "g/L")
    if brine <= to:
        raise Refusal(f"brine of {brine:g} g/L is no stronger than the {to:g} g/L wanted.")
    return answer(volume * rise / (brine - to), "volume", "brine")


# ---- alkalinity


def bicarbonate_mass(volume: float, from_: float, to: float, purity: float = 1) -> float:
    """Sodium bicarbonate that raises alkalinity, m = V (A2 - A1) 84.007 / 50.0435 / 1000.

    Parameters: volume in L; alkalinity now and wanted in mg/L as CaCO3; purity above 0 to 1.
    Returns g.
    Range: what stays dissolved; pH moves little.
    Errors: Refusal for a volume or purity not above 0, an alkalinity below 0, `to` below `from`.
    Source: one equivalent each, IUPAC molar masses; 1.68 g per g in recirculation texts, from
    memory.
    """
    above_zero("volume", volume, "L")
    zero_or_more("from", from_, "mg/L as CaCO3")
    rise = _rise(from_, zero_or_more("to", to, "mg/L as CaCO3"))
    mass = volume * rise * NAHCO3 / CACO3_EQUIVALENT / 1000 / part("purity", purity)
    return answer(mass, "volume", "purity")


def bicarbonate_rise(volume: float, mass: float, purity: float = 1) -> float:
    """What a weighed amount of sodium bicarbonate does to alkalinity, the inverse of the dose.

    Parameters: volume in L; mass in g, 0 or more; purity above 0 to 1.
    Returns mg/L as CaCO3.
    Range and source: as `bicarbonate_mass`.
    Errors: Refusal for a volume or purity not above 0, or a mass below 0.
    """
    above_zero("volume", volume, "L")
    zero_or_more("mass", mass, "g")
    rise = mass * part("purity", purity) * 1000 / volume * CACO3_EQUIVALENT / NAHCO3
    return answer(rise, "mass", "volume")


# ---- chloride against nitrite


def chloride_needed(nitrite: float, ratio: float, chloride: float = 0) -> float:
    """Chloride still to be added against nitrite, Cl = ratio NO2-N - Cl there, never below 0.

    Parameters: nitrite in mg/L as N; ratio of chloride to nitrite by mass, nitrite as N;
    chloride there in mg/L. Returns mg/L.
    Range: the ratio is the lab's choice; one written against NO2 is 3.28 times larger on N.
    Errors: Refusal for anything below 0.
    Source: SRAC Publication 462, ratio times nitrite less the chloride there.
    """
    zero_or_more("nitrite", nitrite, "mg/L as N")
    zero_or_more("ratio", ratio)
    zero_or_more("chloride", chloride, "mg/L")
    return answer(max(0.0, ratio * nitrite - chloride), "ratio", "nitrite")


def salt_for_chloride(volume: float, needed: float, purity: float = 1) -> float:
    """Sodium chloride that brings so much chloride, m = V Cl / 1000 / (35.453 / 58.443).

    Parameters: volume in L; chloride needed in mg/L; purity above 0 to 1. Returns g.
    Range: all. Errors: Refusal for a volume or purity not above 0, or a need below 0.
    Source: IUPAC molar masses, from memory.
    """
    above_zero("volume", volume, "L")
    zero_or_more("needed", needed, "mg/L")
    return answer(volume * needed / 1000 * NACL / CL / part("purity", purity), "volume", "purity")


def ratio_on_no2(ratio: float) -> float:
    """A ratio to nitrite as N, written against nitrite as NO2: divided by 46.006 / 14.007."""
    return zero_or_more("ratio", ratio) / NO2_PER_N


# ---- chlorine


def available_chlorine(percent: float, basis: str, gravity: float = 1) -> float:
    """Strength of a bleach from the percent on its label.

    trade: 10 p; w/w available: 10 p SG; w/w NaOCl: 10 p SG 70.906 / 74.442.
    Parameters: percent 0 to 100; basis, one of `STRENGTHS`; specific gravity above 0, which
    trade percent (grams in 100 mL) does not need. Returns g/L of available chlorine.
    Range: fresh product: bleach loses strength, and a titration is worth more than a label.
    Errors: Refusal for a percent outside 0 to 100, a basis not known, a gravity not above 0.
    Source: definitions; molar masses IUPAC, from memory.
    """
    within("percent", percent, 0, 100, "%")
    above_zero("gravity", gravity)
    if basis == "trade":
        return 10 * percent
    if basis not in STRENGTHS:
        raise Refusal(f"basis has to be one of {', '.join(STRENGTHS)}.")
    available = CL2 / NAOCL if basis == "w/w NaOCl" else 1.0
    return answer(10 * percent * gravity * available, "percent", "gravity")


def chlorine_mass(
    chlorine: float | None = None, volume: float | None = None, mass: float | None = None
) -> float:
    """Available chlorine to be neutralized, in mg: as weighed, or c V.

    Parameters: chlorine in mg/L with volume in L, or mass in mg. Returns mg.
    Range: all. Errors: Refusal for both ways or neither, and for what is negative.
    Source: definition.
    """
    if mass is not None:
        if chlorine is not None:
            raise Refusal("mass stands for chlorine with volume: give mass or chlorine, not both.")
        return zero_or_more("mass", mass, "mg")
    if chlorine is None:
        raise Refusal("chlorine is missing: give chlorine in mg/L with volume, or mass in mg.")
    zero_or_more("chlorine", chlorine, "mg/L")
    if volume is None:
        raise Refusal("volume is missing: chlorine in mg/L needs the liters it is in.")
    return answer(chlorine * above_zero("volume", volume, "L"), "chlorine", "volume")


def thiosulfate_mass(
    mass: float, reaction: str = "tetrathionate", salt: str = "pentahydrate"
) -> float:
    """Sodium thiosulfate that takes up available chlorine.

    2 S2O3 + Cl2 -> S4O6 + 2 Cl in neutral or acid water, 7.00 g of pentahydrate per g;
    S2O3 + 4 HOCl + H2O -> 2 SO4 + 4 Cl + 6 H in alkaline excess hypochlorite, 0.875 g.
    Parameters: mass of chlorine in mg, 0 or more; reaction and salt by name. Returns g.
    Range: free chlorine; chloramine sets ammonia free.
    Errors: Refusal for a mass below 0, or a reaction or salt not known.
    Source: stoichiometry with IUPAC molar masses, from memory.
    """
    zero_or_more("mass", mass, "mg")
    if reaction not in REACTIONS:
        raise Refusal(f"reaction has to be one of {', '.join(REACTIONS)}.")
    if salt not in THIOSULFATE:
        raise Refusal(f"salt has to be one of {', '.join(THIOSULFATE)}.")
    return answer(mass / 1000 / CL2 * REACTIONS[reaction] * THIOSULFATE[salt], "mass")


def bleach_volume(volume: float, chlorine: float, strength: float) -> float:
    """Bleach that brings water to a strength of available chlorine, V C / strength.

    Parameters: volume made up, in L; chlorine wanted, in mg/L, 0 or more; strength of the bleach
    in g/L of available chlorine, above 0. Returns mL.
    Range: volumes taken to add up; water that uses up no chlorine by itself.
    Errors: Refusal outside it, or for a bleach no stronger than what is wanted.
    Source: mass balance, C1 V1 = C2 V2.
    """
    above_zero("volume", volume, "L")
    zero_or_more("chlorine", chlorine, "mg/L")
    if chlorine >= 1000 * above_zero("strength", strength, "g/L"):
        raise Refusal(f"strength of {strength:g} g/L is no stronger than the chlorine wanted.")
    return answer(volume * chlorine / strength, "volume", "chlorine", "strength")


def stock_volume(stock: float, target: float, volume: float) -> float:
    """Stock that is made up to a volume, V1 = C2 V2 / C1.

    Parameters: strength of the stock and wanted, in one unit; volume made, in L. Returns L.
    Range: volumes taken to add up.
    Errors: Refusal for a stock or volume not above 0, a target below 0 or above the stock.
    Source: mass balance, C1 V1 = C2 V2.
    """
    above_zero("stock", stock)
    zero_or_more("target", target)
    above_zero("volume", volume, "L")
    if target > stock:
        raise Refusal(f"target of {target:g} is stronger than the stock of {stock:g}.")
    return answer(target / stock * volume, "target", "volume")


# ---- baths


class Bath(NamedTuple):
    """What a standing bath takes, in g and in mL; None where the gravity is not known."""

    mass: float | None
    liquid: float | None


def bath_by_weight(
    volume: float, dose: float, active: float = 1, gravity: float | None = None
) -> Bath:
    """A bath dosed by weight, m = V C / 1000 / active; as a liquid, m / SG.

    Parameters: volume in L; dose in mg/L; active part, above 0 to 1; specific gravity of a
    liquid product, above 0. Returns g, and mL where the gravity is given.
    Range: all. Errors: Refusal for what is not above 0, or a dose below 0.
    Source: definition; Piper et al. 1982, Fish Hatchery Management, p. 276.
    """
    above_zero("volume", volume, "L")
    zero_or_more("dose", dose, "mg/L")
    mass = answer(volume * dose / 1000 / part("active", active), "volume", "dose")
    if gravity is None:
        return Bath(mass, None)
    return Bath(mass, answer(mass / above_zero("gravity", gravity), "dose", "gravity"))


def bath_by_volume(
    volume: float, dose: float, active: float = 1, gravity: float | None = None
) -> Bath:
    """A bath dosed by volume, mL = V C / 1000 / active; its weight, mL times SG.

    Parameters: volume in L; dose in uL/L; active part, above 0 to 1; specific gravity above 0.
    Returns mL, and g where the gravity is given.
    Range: all. Errors: Refusal for what is not above 0, or a dose below 0. Source: definition.
    """
    above_zero("volume", volume, "L")
    zero_or_more("dose", dose, "uL/L")
    liquid = answer(volume * dose / 1000 / part("active", active), "volume", "dose")
    if gravity is None:
        return Bath(None, liquid)
    return Bath(answer(liquid * above_zero("gravity", gravity), "dose", "gravity"), liquid)


def flow_bath_total(flow: float, minutes: float, dose: float) -> float:
    """Chemical a flow-through bath meters in, Q T C; the charge of the tank stands apart.

    Parameters: flow in L/min, minutes and dose in uL/L or mg/L, all 0 or more. Returns mL for
    uL/L, g for mg/L.
    Range: constant flow. Errors: Refusal below 0. Source: mass balance.
    """
    zero_or_more("flow", flow, "L/min")
    zero_or_more("minutes", minutes, "min")
    zero_or_more("dose", dose, "uL/L")
    return answer(flow * minutes * dose / 1000, "flow", "minutes", "dose")


def charge(volume: float, dose: float) -> float:
    """What brings a full tank to the dose at once, V C.

    Parameters: volume in L, above 0; dose in uL/L, 0 or more. Returns mL.
    Range: all. Errors: Refusal outside it. Source: definition.
    """
    above_zero("volume", volume, "L")
    return answer(volume * zero_or_more("dose", dose, "uL/L") / 1000, "volume", "dose")


def metering_rate(flow: float, dose: float, stock: float) -> float:
    """How fast a stock solution is metered into the inflow, Q C / stock.

    Parameters: flow in L/min and dose in uL/L, 0 or more; stock in uL/mL, above 0.
    Returns mL/min. Range: a stock much stronger than the dose, so that it adds no flow.
    Errors: Refusal outside it. Source: mass balance.
    """
    zero_or_more("flow", flow, "L/min")
    zero_or_more("dose", dose, "uL/L")
    return answer(flow * dose / above_zero("stock", stock, "uL/mL"), "flow", "dose", "stock")


def reached(flow: float, minutes: float, dose: float, volume: float) -> float:
    """What a tank climbs to without a charge, C (1 - exp(-Q T / V)).

    Parameters: flow in L/min, minutes and dose in uL/L, 0 or more; volume in L, above 0.
    Returns uL/L at the end of those minutes.
    Range: a well-mixed tank. Errors: Refusal outside it.
    Source: mass balance of a stirred tank.
    """
    zero_or_more("flow", flow, "L/min")
    zero_or_more("minutes", minutes, "min")
    zero_or_more("dose", dose, "uL/L")
    above_zero("volume", volume, "L")
    return answer(dose * (1 - exp(-flow / volume * minutes)), "flow", "minutes")


NAOH = 39.997
"""Molar mass of sodium hydroxide, g/mol: IUPAC, from memory."""


def caustic_mass(volume: float, now: float, to: float, purity: float = 1) -> float:
    """Sodium hydroxide for an alkalinity, V (A2 - A1) 39.997 / 50.0435 / 1000 / purity.

    Parameters: volume in L, above 0; alkalinities in mg/L as CaCO3, 0 or more, the second not
    below the first; purity above 0 to 1. Returns g.
    Range: what stays dissolved; it takes up CO2 and lifts the pH far more than bicarbonate.
    Errors: Refusal outside it. Source: one equivalent each.
    """
    return bicarbonate_mass(volume, now, to, purity) * NAOH / NAHCO3
