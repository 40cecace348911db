"""Outside values of CO2 and alkalinity: printed factors, measured constants, PyCO2SYS, PHREEQC."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import product
from math import log10

from outside import Differs, Source, Value, typed
from tankwalk.practice.workings import working_out
from tankwalk.science import carbonate

_TUCKER = "factor table of Tucker 1984 and SRAC 468, as quoted in a stored reproduction"


def _co2(ph: float, alkalinity: float, t: float) -> dict[str, str]:
    return typed(ph=ph, alkalinity=alkalinity, temperature=t)


def _factors() -> Iterator[Value]:
    for ph, t, factor, tolerance in [
        (6.0, 20, 2.112, 0.0253), (6.4, 15, 0.921, 0.0111), (6.8, 20, 0.335, 0.00402),
        (7.0, 20, 0.211, 0.00253), (7.2, 15, 0.146, 0.00175), (7.4, 20, 0.084, 0.00101),
        (7.8, 20, 0.034, 0.0007),
    ]:  # fmt: skip
        yield Value(_co2(ph, 100, t), 100 * factor, 100 * tolerance)


def _printed() -> Iterator[Value]:
    for ph, alkalinity, t, expected, tolerance in [
        (6.5, 50, 15, 36.545, 0.146), (7.0, 100, 20, 21.182, 0.0847),
        (7.2, 150, 18, 20.702, 0.0828), (7.5, 200, 20, 13.372, 0.0535),
        (8.0, 250, 20, 5.255, 0.021),
    ]:  # fmt: skip
        yield Value(_co2(ph, alkalinity, t), expected, tolerance)


def _co2sys(result: str, waters: Sequence[tuple[float, float, float]]) -> list[float]:
    """One result of PyCO2SYS for each (pH, alkalinity, degC), in one call: a call takes 0.3 s."""
    import numpy as np
    import PyCO2SYS

    ph, alkalinity, t = np.array(waters, dtype=float).T
    found = PyCO2SYS.sys(
        par1=alkalinity / 50.0435 * 1000, par2=ph, par1_type=1, par2_type=3, salinity=0,
        temperature=t, opt_k_carbonic=8, opt_pH_scale=1,
    )  # fmt: skip
    return [float(one) for one in np.broadcast_to(found[result], ph.shape)]


def _grid() -> Iterator[Value]:
    waters = [*product((6, 6.5, 7, 7.5, 8, 8.5, 9), (20, 100, 300), (8, 15, 20, 28))]
    for water, co2 in zip(waters, _co2sys("CO2", waters), strict=True):
        expected = co2 * 0.0440095
        yield Value(_co2(*water), expected, 0.003 * expected)


def _grid_band() -> Iterator[Value]:
    ways = [*product((6.5, 7.5, 8.5), (10, 20), (("low", 0.1), ("high", -0.1)))]
    found = _co2sys("CO2", [(ph + more, 100, t) for ph, t, (_, more) in ways])
    for (ph, t, (key, _)), co2 in zip(ways, found, strict=True):
        expected = co2 * 0.0440095
        yield Value(_co2(ph, 100, t), expected, 0.003 * expected, key)


def _grid_pk1() -> Iterator[Value]:
    waters = [(7, 100, t) for t in (2, 10, 20, 30)]
    for water, k1 in zip(waters, _co2sys("k_carbonic_1", waters), strict=True):
        yield Value(_co2(*water), -log10(k1), 0.0015, "pk1")


def _dry(t: float) -> float:
    """Part of moist air at one atmosphere that is dry, by the CRC vapor pressures of water."""
    return 1 - {5: 6.543, 15: 12.788, 20: 17.535, 25: 23.756}[round(t)] / 760


def _weiss() -> Iterator[Value]:
    waters = [(7, 100, t) for t in (5, 15, 20, 25)]
    for water, k0 in zip(waters, _co2sys("k_CO2", waters), strict=True):
        expected = k0 * 420e-6 * _dry(water[-1]) * 44009.5
        yield Value(_co2(*water), expected, 0.004 * expected, "air_equilibrium")


def _phreeqc() -> Iterator[Value]:
    from phreeqpython import PhreeqPython

    water = PhreeqPython()
    sets = [(5, 0.015), (20, 0.03), (100, 0.06), (200, 0.085)]
    for (alkalinity, apart), t, ph in product(sets, (5, 10, 15, 20, 25), (6.5, 7, 7.5, 8, 8.5)):
        amount = alkalinity / 50.0435
        solution = water.add_solution(
            {"units": "mmol/l", "temp": t, "pH": ph, "Alkalinity": amount, "Na": f"{amount} charge"}
        )
        expected = solution.species["CO2"] * 44009.5
        solution.forget()
        yield Value(_co2(ph, alkalinity, t), expected, apart * expected)


def _phreeqc_air() -> Iterator[Value]:
    from phreeqpython import PhreeqPython

    water = PhreeqPython()
    for t in (5, 15, 20, 25):
        solution = water.add_solution({"units": "mmol/l", "temp": t, "pH": 7})
        solution.equalize(["CO2(g)"], [log10(420e-6 * _dry(t))])
        expected = solution.species["CO2"] * 44009.5
        solution.forget()
        yield Value(_co2(7, 100, t), expected, 0.018 * expected, "air_equilibrium")


def _measured(table: Mapping[float, float], tolerance: float) -> list[Value]:
    return [Value(typed(t=t), expected, tolerance) for t, expected in table.items()]


def _units() -> Iterator[Value]:
    for value, old, new, expected, tolerance in [
        (1, "dKH", "mg/L CaCO3", 17.85, 0.005), (1, "meq/L", "dKH", 2.8, 0.05),
        (1, "dKH", "meq/L", 0.357, 0.0005),
    ]:  # fmt: skip
        yield Value(typed(value=value, from_=old, to=new), expected, tolerance)


def _hem() -> Iterator[Value]:
    yield Value(typed(value=1, from_="mg/L HCO3", to="mg/L CaCO3"), 0.8202, 0.0001)
    yield Value(typed(value=1, from_="mg/L HCO3", to="meq/L"), 0.01639, 5e-6)
    yield Value(typed(value=1, from_="mg/L CaCO3", to="meq/L"), 0.01998, 5e-6)


def _nist() -> Iterator[Value]:
    for value, to, expected in [
        ("1 gal", "L", 3.785412), ("1 gal/min", "L/h", 3.785412 * 60), ("1 ft", "m", 0.3048),
        ("1 in", "cm", 2.54), ("1 lb", "kg", 0.4535924), ("1 oz", "g", 28.34952),
        ("1 inHg", "kPa", 3.386389), ("1 mmHg", "kPa", 0.1333224), ("1 psi", "kPa", 6.894757),
        ("1 bar", "kPa", 100), ("1 mbar", "hPa", 1), ("1 m3", "L", 1000),
    ]:  # fmt: skip
        yield Value(typed(value=value, to=to), expected, 2e-7 * expected)


def _scipy() -> Iterator[Value]:
    from scipy import constants as c

    for value, to, expected in [
        ("7 gal", "L", 7 * c.gallon * 1000), ("9 ft", "m", 9 * c.foot),
        ("9 in", "cm", 900 * c.inch),
        ("3 lb", "kg", 3 * c.pound), ("5 oz", "g", 5000 * c.oz),
        ("742 mmHg", "kPa", 0.742 * c.mmHg), ("14.5 psi", "bar", 14.5 * c.psi / c.bar),
        ("2 d", "h", 2 * c.day / c.hour), ("1 d", "min", c.day / c.minute),
        ("63.5 degF", "degC", float(c.convert_temperature(63.5, "F", "C"))),
    ]:  # fmt: skip
        yield Value(typed(value=value, to=to), expected, 1e-6 * abs(expected))


SOURCES: tuple[Source, ...] = (
    Source(
        "carbon-dioxide",
        _TUCKER,
        "1.2 % (2 % where two figures are printed): an older pK1",
        _factors,
    ),
    Source(
        "carbon-dioxide",
        "PyCO2SYS 1.8.3.4, salinity 0, opt_k_carbonic=8 (Millero 1979), as printed",
        "0.4 %: another fit of the same measurements",
        _printed,
    ),
    Source(
        "carbon-dioxide",
        "PyCO2SYS 1.8.3.4, sys(par1_type=1, par2_type=3, salinity=0, opt_k_carbonic=8)['CO2']",
        "0.3 %, worst 0.27 %: another fit of the same measurements",
        _grid,
    ),
    Source(
        "carbon-dioxide",
        "PyCO2SYS 1.8.3.4, CO2 with the pH 0.1 higher and lower",
        "0.3 %: another fit of the same measurements",
        _grid_band,
    ),
    Source(
        "carbon-dioxide",
        "PyCO2SYS 1.8.3.4, k_carbonic_1 at salinity 0 (Millero 1979)",
        "0.0015 pK: another fit of the same measurements",
        _grid_pk1,
    ),
    Source(
        "carbon-dioxide",
        "PyCO2SYS 1.8.3.4, k_CO2 at salinity 0 (Weiss 1974), with CRC vapor pressures",
        "0.4 %: another set of solubilities",
        _weiss,
    ),
    Source(
        "carbon-dioxide",
        "PHREEQC (phreeqpython 1.6.2, vitens.dat), CO2 of a NaHCO3 water with its pH fixed",
        "the same constants, but ions make HCO3 less active, which we leave out: ours is high by "
        "1 % at 5 mg/L as CaCO3, 2.5 % at 20, 5 to 6 % at 100 and 7 to 8 % at 200; the safe side",
        _phreeqc,
    ),
    Source(
        "carbon-dioxide",
        "PHREEQC (phreeqpython 1.6.2, vitens.dat), water in equilibrium with CO2(g) of moist air",
        "1.8 %: its gas has a newer fit; 0.2 % apart at 5 degC, 1.5 % at 25",
        _phreeqc_air,
    ),
    Source(
        "carbon-dioxide",
        "Harned and Davis 1943, J. Am. Chem. Soc. 65:2030, measured pK1 of carbonic acid; from "
        "memory",
        "0.0015 pK: the equation is a fit to these and others",
        lambda: _measured(
            {0: 6.579, 5: 6.517, 10: 6.464, 15: 6.419, 20: 6.381, 25: 6.352, 30: 6.327}, 0.0015
        ),
        lambda given: carbonate.pk1(float(given["t"])),
    ),
    Source(
        "carbon-dioxide",
        "Harned and Scholes 1941, J. Am. Chem. Soc. 63:1706, measured pK2 of carbonic acid; from "
        "memory",
        "0.004 pK: the equation is a fit to these and others",
        lambda: _measured(
            {0: 10.625, 5: 10.557, 10: 10.490, 15: 10.430, 20: 10.377, 25: 10.329, 30: 10.290},
            0.004,
        ),
        lambda given: carbonate.pk2(float(given["t"])),
    ),
    Source(
        "carbon-dioxide",
        "Plummer and Busenberg 1982, Geochim. Cosmochim. Acta 46:1011, pKH to two decimals; 1.468 "
        "at 25 degC; from memory",
        "half of the last digit",
        lambda: [
            *_measured({0: 1.11, 5: 1.19, 10: 1.27, 20: 1.41}, 0.006),
            *_measured({25: 1.468}, 0.001),
        ],
        lambda given: carbonate.pkh(float(given["t"])),
    ),
    Source(
        "carbon-dioxide",
        "Harned and Owen 1958, table of pKw; from memory",
        "0.0035: a line of three terms through the table",
        lambda: _measured({0: 14.944, 10: 14.535, 20: 14.167, 25: 13.996, 30: 13.833}, 0.0035),
        lambda given: carbonate.pkw(float(given["t"])),
    ),
    Source(
        "carbon-dioxide",
        "Plummer and Busenberg 1982, pK1 6.352 and pK2 10.329 at 25 degC; from memory",
        "to the printed figures, and a half",
        lambda: [Value(_co2(7, 100, 25), 6.352, 0.001, "pk1")],
    ),
    Source(
        "alkalinity-units",
        "hardness degrees as printed with aquarium and boiler test kits: 1 dKH is 17.85 mg/L as "
        "CaCO3 and 0.357 meq/L, 2.8 dKH are 1 meq/L; from memory",
        "half of the last digit",
        _units,
    ),
    Source(
        "alkalinity-units",
        "Hem 1985, USGS Water-Supply Paper 2254, conversion factors; from memory",
        "half of the last digit; 0.8202 is printed from older atomic weights (ours 0.82016)",
        _hem,
    ),
    Source(
        "convert",
        "NIST Special Publication 811 (2008), appendix B.8; from memory",
        "to the seven printed figures",
        _nist,
    ),
    Source(
        "convert",
        "scipy 1.17.1, scipy.constants and convert_temperature",
        "1e-6: definitions, with the conventional mmHg and psi in more digits",
        _scipy,
    ),
)

_BY_ALKALINITY = 100.0


def _factor(given: Mapping[str, str]) -> float:
    found = working_out.work("carbon-dioxide", given).value
    assert found is not None
    return found / _BY_ALKALINITY


DIFFERS: tuple[Differs, ...] = (
    Differs(
        "carbon-dioxide", "pH 7.6, 10 degC: factor printed 0.64", 0.64, 0.06403, 0.00001,
        _co2(7.6, 100, 10), "a dropped zero: the neighbors are 0.08 and 0.05", _TUCKER,
        work=_factor,
    ),
    Differs(
        "carbon-dioxide", "pH 7.8, 5 degC: factor printed 1.046", 1.046, 0.0456, 0.00001,
        _co2(7.8, 100, 5), "a slip for 0.046", _TUCKER, work=_factor,
    ),
    Differs(
        "carbon-dioxide", "pH 6.0, 5 degC: factor printed 2.915", 2.915, 2.88864, 0.0001,
        _co2(6, 100, 5), "an older pK1", _TUCKER, work=_factor,
    ),
)  # fmt: skip
