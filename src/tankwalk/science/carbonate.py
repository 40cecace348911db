"""Carbon dioxide from pH and alkalinity, in fresh water."""

from __future__ import annotations

from math import log10, sqrt

from tankwalk.science.limits import answer, water_temperature, within, zero_or_more
from tankwalk.science.oxygen import ATMOSPHERE_MMHG, vapor_pressure

CO2_MG_PER_MOL = 44009.5
CACO3_MG_PER_EQ = 50043.5
"""IUPAC molar masses, from memory."""

PH_ERROR = 0.1
"""What a good meter may be off by: 26 % in CO2."""

CO2_IN_AIR_PPM = 420.0
"""Part of dry air, by volume, in the middle of the 2020s; from memory."""


def pk1(temperature: float) -> float:
    """pK1 of carbonic acid, 356.3094 + 0.06091964 T - 21834.37/T - 126.8339 log T + 1684915/T^2.

    Parameters: temperature in degC. Returns the pK, no unit. Range: 0 to 90 degC, no other ions.
    Errors: Refusal for a temperature water cannot have.
    Source: Plummer and Busenberg 1982, Geochim. Cosmochim. Acta 46:1011.
    """
    k = water_temperature(temperature) + 273.15
    return 356.3094 + 0.06091964 * k - 21834.37 / k - 126.8339 * log10(k) + 1684915 / k**2


def pk2(temperature: float) -> float:
    """pK2 of carbonic acid, 107.8871 + 0.03252849 T - 5151.79/T - 38.92561 log T + 563713.9/T^2.

    Parameters, returns, range, errors and source: as `pk1`.
    """
    k = water_temperature(temperature) + 273.15
    return 107.8871 + 0.03252849 * k - 5151.79 / k - 38.92561 * log10(k) + 563713.9 / k**2


def pkh(temperature: float) -> float:
    """pK of Henry's law for CO2 (mol/L/atm).

    -108.3865 - 0.01985076 T + 6919.53/T + 40.45154 log T - 669365/T^2. Parameters, returns, range,
    errors and source: as `pk1`.
    """
    k = water_temperature(temperature) + 273.15
    return -108.3865 - 0.01985076 * k + 6919.53 / k + 40.45154 * log10(k) - 669365 / k**2


def pkw(temperature: float) -> float:
    """pK of water, 4470.99/T - 6.0875 + 0.01706 T.

    Parameters: temperature in degC. Returns the pK, no unit. Range: 0 to 60 degC.
    Errors: Refusal for a temperature water cannot have.
    Source: Harned and Owen 1958, The Physical Chemistry of Electrolytic Solutions; from memory.
    """
    k = water_temperature(temperature) + 273.15
    return 4470.99 / k - 6.0875 + 0.01706 * k


def _hydrogen(ph: float, temperature: float, alkalinity: float) -> tuple[float, float]:
    """[H+] and the alkalinity that is carbonate, both in eq/L."""
    hydrogen = 10 ** -within("ph", ph, 0, 14)
    total = zero_or_more("alkalinity", alkalinity, "mg/L as CaCO3") / CACO3_MG_PER_EQ
    hydroxide = 10 ** -pkw(temperature) / hydrogen
    return hydrogen, total - hydroxide + hydrogen


def hydroxide_alone(ph: float, alkalinity: float, temperature: float) -> bool:
    """Whether hydroxide alone is more than the alkalinity, so that no carbonate can be left.

    Parameters and errors: as `carbon_dioxide`.
    """
    return _hydrogen(ph, temperature, alkalinity)[1] < 0


def carbon_dioxide(ph: float, alkalinity: float, temperature: float) -> float:
    """Dissolved CO2, (A - Kw/H + H) / (K1/H + 2 K1 K2/H^2), in its full form.

    Parameters: pH of water just taken, alkalinity in mg/L as CaCO3, temperature in degC.
    Returns mg/L; 0 where hydroxide alone is more than the alkalinity.
    Range: pH 6 to 9, fresh water; ions are left out, which overstates CO2 by 3 % at 30 uS/cm, 7 %
    at 140, 9 % at 250 and 13 % at 450 (against PHREEQC): see `bicarbonate_activity`.
    Errors: Refusal for a pH outside 0 to 14, an alkalinity below 0, or a temperature
    water cannot have.
    Source: carbonate equilibrium with the constants of Plummer and Busenberg 1982, Geochim.
    Cosmochim. Acta 46:1011.
    """
    hydrogen, carbonate = _hydrogen(ph, temperature, alkalinity)
    first, second = 10 ** -pk1(temperature), 10 ** -pk2(temperature)
    share = first / hydrogen + 2 * first * second / hydrogen**2
    return answer(max(0.0, carbonate) / share * CO2_MG_PER_MOL, "alkalinity", "ph")


def ionic_strength(alkalinity: float, conductivity: float | None = None) -> float:
    """Ionic strength of fresh water, 1.6e-5 SC; without a conductivity 1.5 A.

    Parameters: alkalinity in mg/L as CaCO3, conductivity at 25 degC in uS/cm. Returns mol/L.
    Range: fresh water up to 1000 uS/cm; without a conductivity calcium bicarbonate is taken to be
    the only salt, so it is the least there can be in hard water.
    Errors: Refusal for a number below 0.
    Source: APHA Standard Methods 2330, from memory; definition for a salt of two charges and one.
    """
    if conductivity is not None:
        return 1.6e-5 * zero_or_more("conductivity", conductivity, "uS/cm")
    return 1.5 * zero_or_more("alkalinity", alkalinity, "mg/L as CaCO3") / CACO3_MG_PER_EQ


def bicarbonate_activity(strength: float, temperature: float) -> float:
    """Activity coefficient of HCO3-, log g = -A (sqrt I / (1 + sqrt I) - 0.3 I).

    The apparent K1 is larger by 1/g, so CO2 is smaller by g. A = 0.4913 + 6.08e-4 t.
    Parameters: ionic strength in mol/L, temperature in degC. Returns a part of 1.
    Range: up to 0.1 mol/L; pairs of calcium and magnesium, up to 5 % more, are left out.
    Errors: Refusal for a strength below 0 or a temperature water cannot have.
    Source: Davies 1962, Ion Association; A of water at 0 to 40 degC; both from memory.
    """
    root = sqrt(zero_or_more("strength", strength, "mol/L"))
    slope = 0.4913 + 6.08e-4 * water_temperature(temperature)
    return float(10.0 ** (-slope * (root / (1 + root) - 0.3 * strength)))


def air_equilibrium(temperature: float, ppm: float = CO2_IN_AIR_PPM) -> float:
    """CO2 of water in equilibrium with moist air at 760 mmHg, KH ppm (1 - Pw).

    Parameters: temperature in degC, CO2 of the dry air in parts per million by volume.
    Returns mg/L. Range: 0 to 40 degC.
    Errors: Refusal for a ppm below 0 or a temperature water cannot have; 0 where water boils.
    Source: Henry's law with the constant of Plummer and Busenberg 1982, Geochim. Cosmochim. Acta
    46:1011.
    """
    dry = max(0.0, 1 - vapor_pressure(temperature) / ATMOSPHERE_MMHG)
    part = zero_or_more("ppm", ppm) * 1e-6
    return answer(10 ** -pkh(temperature) * part * dry * CO2_MG_PER_MOL, "ppm")


def hardness(calcium: float, magnesium: float) -> float:
    """Hardness of calcium and magnesium, 2.497 Ca + 4.118 Mg.

    Parameters: mg/L, 0 or more. Returns mg/L as CaCO3. Range: all. Errors: Refusal below 0.
    Source: APHA Standard Methods 2340 B, from memory.
    """
    zero_or_more("calcium", calcium, "mg/L")
    zero_or_more("magnesium", magnesium, "mg/L")
    return answer(2.497 * calcium + 4.118 * magnesium, "calcium", "magnesium")
