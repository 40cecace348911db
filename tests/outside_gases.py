"""Outside values of oxygen, air pressure and total gas: tables, gsw, seawater, PHREEQC."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import product
from math import exp, log, log10

from outside import Differs, Source, Value, typed
from tankwalk.science import oxygen

_EN = "EN 25814 / ISO 5814, table; as printed in two meter manuals"
_YOKOGAWA = "Yokogawa DO402 manual"
_VAPOR = {0: 4.579, 5: 6.543, 10: 9.209, 15: 12.788, 20: 17.535, 25: 23.756, 30: 31.824}
"""mmHg, CRC Handbook: 5 to 25 degC as quoted in a manual, 0 and 30 from memory."""

_ISO = {
    0: 14.62, 10: 11.29, 12: 10.78, 15: 10.08, 18: 9.47, 20: 9.09, 22: 8.74, 25: 8.26, 30: 7.56,
}  # fmt: skip
_APHA = (
    14.621, 14.216, 13.829, 13.460, 13.107, 12.770, 12.447, 12.139, 11.843, 11.559, 11.288, 11.027,
    10.777, 10.537, 10.306, 10.084, 9.870, 9.665, 9.467, 9.276, 9.092, 8.915, 8.743, 8.578, 8.418,
    8.263, 8.113, 7.968, 7.827, 7.691, 7.559, 7.430, 7.305, 7.183, 7.065, 6.949, 6.837, 6.727,
    6.620, 6.515, 6.412,
)  # fmt: skip


def _iso() -> Iterator[Value]:
    for t, expected in _ISO.items():
        yield Value(typed(temperature=t), expected, 0.006)


def _apha() -> Iterator[Value]:
    for t, expected in enumerate(_APHA):
        exact = t in (0, 15, 20, 30)
        yield Value(typed(temperature=t), expected, 0.0006 if exact else 0.0014)


def _gsw_o2(t: float, s: float) -> float:
    import gsw

    sa = gsw.SA_from_SP(s, 0, -90, 45)
    ct = gsw.CT_from_t(sa, t, 0)
    return float(gsw.O2sol(sa, ct, 0, -90, 45) * gsw.rho(sa, ct, 0) * 31.9988e-6)


def _gsw() -> Iterator[Value]:
    for t, s in product((0, 5, 10, 15, 18, 20, 25, 30, 35, 40), (0, 1, 2, 5, 20, 35)):
        yield Value(typed(temperature=t, salinity=s), _gsw_o2(t, s), 0.0015 if t else 0.0026)


def _gsw_printed() -> Iterator[Value]:
    for t, s, expected in [
        (10, 0, 11.287), (18, 2, 9.3537), (20, 5, 8.8279), (25, 3, 8.1229), (20, 35, 7.395)
    ]:  # fmt: skip
        yield Value(typed(temperature=t, salinity=s), expected, 0.003)


def _weiss() -> Iterator[Value]:
    import seawater

    for t, s in product((5, 10, 15, 20, 25, 30), (0, 2, 5, 20)):
        expected = float(seawater.satO2(s, t)) * 1.42903
        yield Value(typed(temperature=t, salinity=s), expected, 0.03)


def _phreeqc() -> Iterator[Value]:
    from phreeqpython import PhreeqPython

    water = PhreeqPython()
    for t, atm in product((5, 10, 15, 20, 25, 30), (1.0, 0.85)):
        solution = water.add_solution({"units": "mmol/l", "temp": t, "pH": 7})
        solution.equalize(["O2(g)"], [log10(0.20946 * (atm - _VAPOR[t] / 760))])
        expected = solution.species["O2"] * 31998.8
        solution.forget()
        yield Value(typed(temperature=t, pressure=760 * atm), expected, 0.0075 * expected)


def _shortcut() -> Iterator[Value]:
    for t, here in product((10, 15, 20, 25, 30), (600, 625, 700, 740, 780)):
        expected = _APHA[t] * (here - _VAPOR[t]) / (760 - _VAPOR[t])
        yield Value(typed(temperature=t, pressure=here), expected, 0.004)


def _elevation() -> Iterator[Value]:
    for t, h, expected in [(10, 300, 10.9), (10, 900, 10.2), (20, 1200, 7.9), (20, 1800, 7.4)]:
        yield Value(typed(temperature=t, elevation=h), expected, 0.16)


def _vapor() -> Iterator[Value]:
    for t, expected in _VAPOR.items():
        yield Value(typed(temperature=t), expected, 0.004, "vapour_pressure")


def _percent_iso() -> Iterator[Value]:
    for t, full in _ISO.items():
        yield Value(typed(oxygen=full, temperature=t), 100, 0.08)
        yield Value(typed(oxygen=full / 2, temperature=t), 50, 0.04)


def _percent_gsw() -> Iterator[Value]:
    for t, s in product((5, 12, 18, 25), (0, 2, 10, 35)):
        expected = 100 * 6.3 / _gsw_o2(t, s)
        yield Value(typed(oxygen=6.3, temperature=t, salinity=s), expected, 0.0003 * expected)


def _back_iso() -> Iterator[Value]:
    for t, full in _ISO.items():
        yield Value(typed(percent=100, temperature=t), full, 0.006)
        yield Value(typed(percent=85, temperature=t), 0.85 * full, 0.006)


def _back_gsw() -> Iterator[Value]:
    for t, s in product((5, 12, 18, 25), (0, 2, 10, 35)):
        yield Value(typed(percent=85, temperature=t, salinity=s), 0.85 * _gsw_o2(t, s), 0.0022)


def _atmosphere() -> Iterator[Value]:
    table = {
        0: 1013.25, 500: 954.61, 1000: 898.76, 1500: 845.59, 2000: 795.01, 3000: 701.21,
        4000: 616.60, 5000: 540.48,
    }  # fmt: skip
    for h, hpa in table.items():
        tolerance = 0.13 if h <= 3000 else 0.3
        yield Value(typed(elevation=h), hpa * 760 / 1013.25, tolerance * 760 / 1013.25)


def _rule() -> Iterator[Value]:
    yield Value(typed(elevation="600 ft"), 760 - 26 * 0.6, 0.9)
    yield Value(typed(elevation="1000 ft"), 760 - 26, 1.4)


def _column() -> Iterator[Value]:
    yield Value(typed(delta_p=0, depth=0.1, temperature=12), -7.4, 0.06, "uncompensated")
    yield Value(typed(delta_p=7.4, temperature=12), 0.1, 0.001, "compensation_depth")


def _colt_column() -> Iterator[Value]:
    yield Value(typed(delta_p=0, depth=1, temperature=20), -73.42, 0.01, "uncompensated")


def _teos_column() -> Iterator[Value]:
    import gsw

    for t, s in product((5, 12, 20, 28), (0, 5, 35)):
        meter = float(gsw.rho_t_exact(gsw.SA_from_SP(s, 0, -90, 45), t, 0)) * 9.80665 / 133.322
        inputs = typed(delta_p=40, depth=0.3, temperature=t, salinity=s)
        yield Value(inputs, 40 - 0.3 * meter, 0.0003, "uncompensated")
        yield Value(inputs, 40 / meter, 1e-5, "compensation_depth")


def _bunsen(t: float, s: float) -> float:
    """L of oxygen in a L of water under one atmosphere of it."""
    k = (t + 273.15) / 100
    fresh = -58.3877 + 85.8079 / k + 23.8439 * log(k)
    return exp(fresh + s * (-0.034892 + 0.015568 * k - 0.0019387 * k * k))


def _colt_oxygen() -> Iterator[Value]:
    for t, s in product((5, 15, 18, 20, 25), (0, 10, 35)):
        expected = 8 / _bunsen(t, s) * 0.5318
        inputs = typed(delta_p=20, oxygen=8, temperature=t, salinity=s)
        yield Value(inputs, expected, 0.0042 * expected, "oxygen_pressure")


def _gsw_parts() -> Iterator[Value]:
    for t, s, excess, air in product((5, 10, 20, 25), (0, 5, 35), (-10, 0, 40), (700, 760)):
        vapor = _VAPOR[t]
        o2 = 7.5 / _gsw_o2(t, s) * 0.20946 * (760 - vapor)
        rest = 100 * (air + excess - o2 - vapor) / (0.7902 * (air - vapor))
        inputs = typed(delta_p=excess, pressure=air, oxygen=7.5, temperature=t, salinity=s)
        yield Value(inputs, o2, 0.0003 * o2, "oxygen_pressure")
        yield Value(inputs, rest, 0.01, "nitrogen_argon")
        share = 100 * o2 / (0.20946 * (air - vapor))
        yield Value(inputs, share, 0.03, "oxygen_percent")


def _ccme() -> Iterator[Value]:
    yield Value(typed(delta_p=24, pressure=760), 103, 0.5)


SOURCES: tuple[Source, ...] = (
    Source("oxygen-saturation", _EN, "half of the last digit", _iso),
    Source(
        "oxygen-saturation",
        "APHA Standard Methods 4500-O, table after Benson and Krause 1984; from memory",
        "0.0006 at 0, 15, 20 and 30 degC, else 0.0014: the table rounds another form of the fit",
        _apha,
    ),
    Source(
        "oxygen-saturation",
        "gsw 3.6.23, O2sol x rho x 31.9988e-6 (Garcia and Gordon 1992)",
        "0.0015 mg/L, 0.0026 at 0 degC: another fit of the same measurements; worst 0.0025, at 0 "
        "degC and 20 g/kg",
        _gsw,
    ),
    Source(
        "oxygen-saturation",
        "gsw 3.6.23, O2sol x rho, as printed in a table",
        "0.003 mg/L: another fit of the same measurements",
        _gsw_printed,
    ),
    Source(
        "oxygen-saturation",
        "seawater 3.3.5, satO2 x 1.42903 (Weiss 1970)",
        "0.03 mg/L: older measurements; worst 0.021",
        _weiss,
    ),
    Source(
        "oxygen-saturation",
        "PHREEQC (phreeqpython 1.6.2, vitens.dat), water in equilibrium with O2(g) of moist air",
        "0.75 %: the database has a solubility of its own, 0.3 to 0.7 % above all the tables; it "
        "bears out the form of the pressure correction, to 0.01 %",
        _phreeqc,
    ),
    Source(
        "oxygen-saturation",
        "second route: APHA table x (P - Pw) / (760 - Pw), with CRC vapor pressures; from memory",
        "0.004 mg/L, of which 0.001 is the table's rounding",
        _shortcut,
    ),
    Source(
        "oxygen-saturation",
        f"{_YOKOGAWA}, table 6-2, oxygen by elevation",
        "0.16 mg/L: one decimal is printed, from an older solubility",
        _elevation,
    ),
    Source(
        "oxygen-saturation",
        "CRC Handbook, vapor pressure of water, 5 to 25 degC as quoted in a combustion analyzer's "
        "manual, 0 and 30 from memory",
        "0.004 mmHg: another fit",
        _vapor,
    ),
    Source("oxygen-percent", _EN, "0.08 %: the table has two decimals", _percent_iso, again=True),
    Source(
        "oxygen-percent",
        "gsw 3.6.23, O2sol x rho x 31.9988e-6 (Garcia and Gordon 1992)",
        "0.03 % of the answer: another fit of the same measurements",
        _percent_gsw,
    ),
    Source("oxygen-from-percent", _EN, "half of the last digit", _back_iso, again=True),
    Source(
        "oxygen-from-percent",
        "gsw 3.6.23, O2sol x rho x 31.9988e-6 (Garcia and Gordon 1992)",
        "0.0022 mg/L: another fit of the same measurements",
        _back_gsw,
    ),
    Source(
        "air-pressure",
        "US Standard Atmosphere 1976, table of pressure by altitude; from memory",
        "0.13 hPa, 0.3 above 3000 m: the table is by geometric altitude, and the equation takes "
        "gravity as constant",
        _atmosphere,
    ),
    Source(
        "air-pressure",
        "Wisconsin DNR rule: 26 mmHg for every 1000 ft",
        "0.9 mmHg at 600 ft, 1.4 at 1000: a rule of thumb, straight where air is not",
        _rule,
    ),
    Source(
        "gas-pressure",
        "Knittel, Chapman and Garton 1980, abstract: 7.4 mmHg for 10 cm of fresh water",
        "half of the last digit, and a little",
        _column,
    ),
    Source(
        "gas-pressure",
        "Colt 1984, American Fisheries Society Special Publication 14: 73.42 mmHg a meter at 20 "
        "degC; from memory",
        "0.01: the printed figures",
        _colt_column,
    ),
    Source(
        "gas-pressure",
        "gsw 3.6.23, rho_t_exact x 9.80665 / 133.322",
        "0.0003 mmHg: another equation of state",
        _teos_column,
    ),
    Source(
        "gas-pressure",
        "Colt 1984: pO2 = DO / beta x 0.5318, with Bunsen's beta of Weiss 1970; from memory",
        "0.42 %: another set of solubilities; worst 0.4 %, at 25 degC and 35 g/kg",
        _colt_oxygen,
    ),
    Source(
        "gas-pressure",
        "Colt 1984 by another route: oxygen of gsw 3.6.23, vapor of the CRC Handbook",
        "0.03 % of oxygen, 0.01 of nitrogen: only the parts of air are the same numbers",
        _gsw_parts,
    ),
    Source(
        "gas-pressure",
        "CCME 1999, dissolved gas supersaturation: 24 mmHg of excess is 103 % at sea level; from "
        "memory",
        "half of the last digit",
        _ccme,
    ),
)


def _by_salt(given: Mapping[str, str]) -> float:
    """mg/L that a g/kg takes away, over the first five."""
    t = float(given["temperature"])
    return (oxygen.saturation(t) - oxygen.saturation(t, 5)) / 5


_LINE = "one straight line for all salinities: too flat by some 12 % where there is little salt"

DIFFERS: tuple[Differs, ...] = (
    Differs(
        "oxygen-saturation", "20 degC, 760 mmHg printed 9.2", 9.2, 9.09243, 0.0001,
        typed(temperature=20), "an older set of solubilities", "Hach DR/850 manual, table 3",
    ),
    Differs(
        "oxygen-saturation", "oxygen lost to a g/kg of salt at 20 degC printed 0.0475", 0.0475,
        0.05286, 0.00001, typed(temperature=20), _LINE, _EN, work=_by_salt,
    ),
    Differs(
        "oxygen-saturation", "oxygen lost to a g/kg of salt at 10 degC printed 0.0632", 0.0632,
        0.07104, 0.00001, typed(temperature=10), _LINE, _EN, work=_by_salt,
    ),
    Differs(
        "oxygen-saturation", "seawater at 0 degC printed 11.97", 11.97, 11.4457, 0.0001,
        typed(temperature=0, salinity=35),
        "an older solubility, and the salinity of the column is not stated",
        f"{_YOKOGAWA}, table 6-3",
    ),
)  # fmt: skip
