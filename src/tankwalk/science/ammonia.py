"""Un-ionized ammonia: the part of total ammonia nitrogen that is NH3 and harms fish."""

from __future__ import annotations

from math import log10, sqrt

from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple
from tankwalk.science.limits import answer, salt, water_temperature, within, zero_or_more

NH3_PER_N = 17.031 / 14.007
"""Mass of NH3 for a mass of its nitrogen; IUPAC molar masses, from memory."""

BRACKISH = 1.0
"""Salinity (g/kg) from which the equation for salty water is taken."""

SCALES = ("nbs", "total")
"""How the pH meter was set: in the usual buffers, or on the total scale of ocean work."""


def emerson_pka(temperature: float) -> float:
    """pKa of ammonium in fresh water, 0.09018 + 2729.92 / T with T = 273.2 + t.

    Parameters: temperature in degC. Returns the pKa, no unit.
    Range: 0 to 30 degC, pH 6 to 10, very little salt.
    Errors: Refusal for a temperature water cannot have.
    Source: Emerson, Russo, Lund and Thurston 1975, J. Fish. Res. Board Can. 32:2379-2383;
    the paper's own 273.2 and not 273.15, with which its table does not come out.
    """
    return 0.09018 + 2729.92 / (273.2 + water_temperature(temperature))


def bell_pka(temperature: float, salinity: float) -> float:
    """pKa of ammonium in salty water, 10.0423 - 0.0315536 t + 0.003071 S.

    Parameters: temperature in degC (degC in the equation too, not kelvin), salinity in g/kg.
    Returns the pKa, no unit. Range: 5 to 25 degC, 5 to 40 g/kg (used from 1), a meter set in usual
    buffers.
    Errors: Refusal for a temperature or salinity water cannot have.
    Source: Bell, Johnson, Jickells and Liss 2007, Environ. Chem. 4:183, with 2008, 5:258: a fit
    to Johansson and Wedborg 1980.
    """
    return 10.0423 - 0.0315536 * water_temperature(temperature) + 0.003071 * salt(salinity)


def clegg_pka(temperature: float, salinity: float) -> float:
    """pKa of ammonium on the total pH scale.

    Parameters: temperature in degC, salinity in g/kg. Returns the pKa, no unit.
    Range: -2 to 40 degC, 0 to 40 g/kg. The last factor turns mol/kg of water into mol/kg of
    solution.
    Errors: Refusal for a temperature or salinity water cannot have.
    Source: Clegg and Whitfield 1995, Geochim. Cosmochim. Acta 59:2403, eq. 18.
    """
    kelvin = water_temperature(temperature) + 273.15
    s = salt(salinity)
    root = sqrt(kelvin)
    pk = (
        9.244605
        - 2729.33 * (1 / 298.15 - 1 / kelvin)
        + (0.04203362 - 11.24742 / kelvin) * s**0.25
        + (-13.6416 + 1.176949 * root - 0.02860785 * kelvin + 545.4834 / kelvin) * s**0.5
        + (-0.1462507 + 0.0090226468 * root - 0.0001471361 * kelvin + 10.5425 / kelvin) * s**1.5
        + (0.004669309 - 0.0001691742 * root - 0.5677934 / kelvin) * s**2
        + (-2.354039e-05 + 0.009698623 / kelvin) * s**2.5
    )
    return float(pk - log10(1 - 0.001005 * s))


def pka(temperature: float, salinity: float = 0, scale: str = "nbs") -> float:
    """pKa of ammonium by the equation that fits the water and the meter.

    Parameters: temperature in degC, salinity in g/kg, scale of the pH meter (`SCALES`).
    Returns the pKa, no unit. Emerson 1975 below a salinity of 1, Bell et al. 2007 from 1 up; Clegg
    and Whitfield 1995 where the meter is on the total scale. Range: as each.
    Errors: Refusal for a temperature or salinity water cannot have, or another scale.
    Source: as each.
    """
    salt(salinity)
    if scale not in SCALES:
        raise Refusal(f"scale has to be one of {', '.join(SCALES)}, not {scale!r}.")
    if scale == "total":
        return clegg_pka(temperature, salinity)
    return emerson_pka(temperature) if salinity < BRACKISH else bell_pka(temperature, salinity)


def fraction(ph: float, temperature: float, salinity: float = 0, scale: str = "nbs") -> float:
    """Part of the ammonia that is NH3, f = 1 / (10^(pKa - pH) + 1).

    Parameters: pH, temperature in degC, salinity in g/kg, scale of the pH meter.
    Returns a fraction, 0 to 1. Range and errors: as `pka`; Refusal for a pH outside 0 to 14.
    Source: Emerson et al. 1975, J. Fish. Res. Board Can. 32:2379-2383.
    """
    within("ph", ph, 0, 14)
    return 1 / (10 ** (pka(temperature, salinity, scale) - ph) + 1)


def unionized(
    tan: float, ph: float, temperature: float, salinity: float = 0, scale: str = "nbs"
) -> float:
    """NH3-N, TAN x f.

    Parameters: total ammonia nitrogen in mg/L as N, the others as `fraction`.
    Returns mg/L as N. Range and errors: as `fraction`; Refusal for a TAN below 0.
    Source: Emerson et al. 1975, J. Fish. Res. Board Can. 32:2379-2383.
    """
    zero_or_more("tan", tan, "mg/L as N")
    return tan * fraction(ph, temperature, salinity, scale)


def highest_tan(limit: float, ph: float, temperature: float, salinity: float) -> float:
    """The most total ammonia nitrogen that keeps NH3-N at a limit, limit / f.

    Parameters: limit as NH3-N in mg/L as N, the others as `fraction`. Returns mg/L as N.
    Range and errors: as `fraction`; Refusal for a limit below 0.
    Source: Emerson et al. 1975, solved for TAN.
    """
    zero_or_more("limit", limit, "mg/L as N")
    return answer(limit / fraction(ph, temperature, salinity), "limit", "ph")


def nh3_mass(nitrogen: float) -> float:
    """Mass of NH3 for a mass of its nitrogen, x 17.031 / 14.007.

    Parameters: NH3-N in mg/L as N. Returns mg/L as NH3. Range: any of 0 or more.
    Errors: Refusal below 0. Source: IUPAC molar masses, from memory.
    """
    return answer(zero_or_more("tan", nitrogen, "mg/L as N") * NH3_PER_N, "tan")


class _Fit(NamedTuple):
    """Where an equation was fitted; outside it the answer stands with a warning."""

    name: str
    temperature: tuple[float, float]
    salinity: tuple[float, float]


_EMERSON = _Fit("Emerson et al. 1975", (0, 30), (0, BRACKISH))
# Fitted from 5 g/kg up, and used from 1: at 0 it is still within 2.3 % of Emerson, so that between
# the two neither is far out, and the larvae that are kept at 1 to 2 g/kg have an answer.
_BELL = _Fit("Bell et al. 2007", (5, 25), (BRACKISH, 40))
_CLEGG = _Fit("Clegg and Whitfield 1995", (-2, 40), (0, 40))
_FRESH_PH = (6.0, 10.0)
_NEAR = 0.2
_STEP = 0.05


def outside(
    ph: float | None, temperature: float, salinity: float, scale: str = "nbs"
) -> tuple[str, ...]:
    """What of these inputs lies outside the range of the equation that `pka` takes, in words.

    Near a salinity of 1, where the equation changes, it says so if the two are more than 5 % apart
    in NH3 there (they are in cold water only).
    """
    fit = _CLEGG if scale == "total" else _EMERSON if salinity < BRACKISH else _BELL
    checks = [
        ("temperature", temperature, fit.temperature, " degC"),
        ("salinity", salinity, fit.salinity, " g/kg"),
    ]
    if fit is _EMERSON and ph is not None:
        checks.append(("ph", ph, _FRESH_PH, ""))
    found = [
        f"{key} {value:g}{unit} is outside {low:g} to {high:g}{unit}, the range of {fit.name}."
        for key, value, (low, high), unit in checks
        if not low <= value <= high
    ]
    if scale != "total" and abs(salinity - BRACKISH) <= _NEAR:
        fresh, brackish = emerson_pka(temperature), bell_pka(temperature, BRACKISH)
        apart = abs(10 ** (fresh - brackish) - 1)
        if apart > _STEP:
            found.append(
                f"salinity {salinity:g} g/kg is near 1, where the equation changes: here the two "
                f"are {apart:.0%} apart in NH3."
            )
    return tuple(found)
