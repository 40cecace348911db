"""Doses, baths, tanks and flow against published examples, PHREEQC, and solvers that know no tank.

Where a formula is the solution of a balance, the balance itself is handed to a general solver of
scipy: it has to come to the same number by steps of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from itertools import product
from math import pi

from outside import Differs, Source, Value, typed
from tankwalk.practice.workings import working_out

GALLON = 3.785411784
POUND = 453.59237
FOOT3 = 28.316846592


def _fixed(*rows: Value) -> Callable[[], Iterable[Value]]:
    return lambda: rows


# ---- balances for general solvers


def _salt_by_balance(density: Callable[[float, float], float]) -> Iterable[Value]:
    """Salt m with (S1 M + 1000 m) / (M + m) = S2, found by bisection; density in kg/m3."""
    from scipy.optimize import brentq

    for volume, low, rise, temperature in product((60.0, 800.0), (0.0, 2.0, 30.0), (1.0, 8.0),
                                                  (5.0, 20.0, 26.0)):  # fmt: skip
        water = density(low, temperature) * volume / 1000
        high = low + rise

        def off(m: float, water: float = water, low: float = low, high: float = high) -> float:
            return (low * water + 1000 * m) / (water + m) - high

        mass = brentq(off, 0, water, xtol=1e-13, rtol=1e-14)
        asked = typed(volume=volume, from_=low, to=high, temperature=temperature)
        yield Value(asked, mass, 1e-5 * mass)


def _salt_seawater() -> Iterable[Value]:
    import seawater

    yield from (
        v._replace(tolerance=1e-7) for v in _salt_by_balance(lambda s, t: seawater.dens0(s, t))
    )


def _salt_teos() -> Iterable[Value]:
    import gsw

    yield from _salt_by_balance(
        lambda s, t: gsw.rho_t_exact(gsw.SA_from_SP(s, 0, 0, 45), t, 0),
    )


def _brine_by_balance() -> Iterable[Value]:
    from scipy.optimize import brentq

    for volume, low, rise, brine in product((100.0, 800.0), (0.0, 1.5), (0.5, 6.0), (100.0, 300.0)):

        def off(
            b: float, volume: float = volume, low: float = low, rise: float = rise, s: float = brine
        ) -> float:
            return (low * volume + s * b) / (volume + b) - low - rise

        poured = brentq(off, 0, volume, xtol=1e-12, rtol=1e-14)
        asked = typed(volume=volume, from_=low, to=low + rise, brine=brine)
        yield Value(asked, poured, 1e-8)


def _phreeqc_alkalinity(milligrams: float) -> float:
    """mg/L as CaCO3 from dissolving so much NaHCO3 in a kilogram of water, by speciation."""
    from phreeqpython import PhreeqPython
    from phreeqpython.utility import convert_units

    water = PhreeqPython().add_solution({})
    water.add("NaHCO3", milligrams, "mg")
    charge = {"HCO3-": 1, "CO3-2": 2, "OH-": 1, "H+": -1, "NaCO3-": 2, "NaHCO3": 1, "NaOH": 1}
    equivalents = sum(n * water.species.get(name, 0.0) for name, n in charge.items())
    grams: float = convert_units("CaCO3", equivalents / 2, "mol", "mg")
    return grams


def _bicarbonate_phreeqc() -> Iterable[Value]:
    for grams in (20.0, 83.934, 168.0, 500.0):
        rise = _phreeqc_alkalinity(grams)
        yield Value(typed(volume=1000.0, mass=grams), rise, 5e-5 * rise)


def _bicarbonate_dose_phreeqc() -> Iterable[Value]:
    for grams in (30.0, 100.0, 250.0):
        rise = _phreeqc_alkalinity(grams)
        asked = typed(volume=1000.0, from_=40.0, to=40.0 + rise)
        yield Value(asked, grams, 5e-5 * grams)


def _chloride_phreeqc() -> Iterable[Value]:
    from phreeqpython import PhreeqPython

    for grams in (10.0, 100.0, 500.0):
        water = PhreeqPython().add_solution({})
        water.add("NaCl", grams, "mg")
        chloride = water.total_element("Cl", "mg")
        asked = typed(nitrite=1.0, ratio=chloride, volume=1000.0)
        yield Value(asked, grams, 1e-4 * grams, "salt")


def _climb() -> Iterable[Value]:
    """dC/dt = Q (C in - C) / V stepped from an empty tank."""
    from scipy.integrate import solve_ivp

    for flow, minutes, dose, volume in ((2.0, 60.0, 167.0, 800.0), (5.0, 30.0, 25.0, 200.0),
                                        (8.0, 240.0, 100.0, 400.0)):  # fmt: skip
        run = solve_ivp(
            lambda t, c, q=flow, d=dose, v=volume: q * (d - c) / v,
            (0, minutes), [0.0], method="LSODA", rtol=1e-10, atol=1e-10,
        )  # fmt: skip
        asked = typed(flow=flow, minutes=minutes, dose=dose, volume=volume)
        yield Value(asked, float(run.y[0][-1]), 1e-5, "reached_without_charge")


def _flushed() -> Iterable[Value]:
    """dC/dt = -Q C / V stepped until the concentration wanted is crossed."""
    from scipy.integrate import solve_ivp

    for start, end, flow, volume in ((5.0, 0.5, 2.0, 200.0), (167.0, 1.0, 4.0, 800.0),
                                     (3.0, 2.0, 0.5, 60.0)):  # fmt: skip

        def crossing(t: float, c: list[float], end: float = end) -> float:
            return c[0] - end

        crossing.terminal = True  # type: ignore[attr-defined]
        run = solve_ivp(
            lambda t, c, q=flow, v=volume: -q * c / v,
            (0, 1e5), [start], events=crossing, method="LSODA", rtol=1e-11, atol=1e-12,
        )  # fmt: skip
        asked = typed(from_=start, to=end, flow=flow, volume=volume)
        yield Value(asked, float(run.t_events[0][0]), 1e-4)


def _replaced() -> Iterable[Value]:
    from scipy.integrate import solve_ivp

    for flow, volume, hours in ((4.0, 800.0, 2.0), (2.5, 120.0, 1.0), (6.0, 60.0, 0.25)):
        run = solve_ivp(
            lambda t, old, q=flow, v=volume: -60 * q / v * old,
            (0, hours), [1.0], method="LSODA", rtol=1e-11, atol=1e-12,
        )  # fmt: skip
        asked = typed(flow=flow, volume=volume, hours=hours)
        yield Value(asked, 1 - float(run.y[0][-1]), 1e-8, "replaced")


def _volumes() -> Iterable[Value]:
    """Cross-sections added up by quadrature from the lowest point to the water."""
    from scipy.integrate import quad

    def lit(area: Callable[[float], float], depth: float, *corners: float) -> float:
        return 1000 * float(quad(area, 0, depth, points=corners or None, epsabs=1e-12)[0])

    for depth in (0.3, 0.65):
        yield Value(
            typed(shape="cylinder", diameter=0.75, height=0.65, depth=depth),
            lit(lambda z: pi * 0.75**2 / 4, depth), 1e-6,
        )  # fmt: skip
        yield Value(
            typed(shape="cone", diameter=0.5, height=0.65, depth=depth),
            lit(lambda z: pi * (0.5 * z / 0.65) ** 2 / 4, depth), 1e-6,
        )  # fmt: skip
        yield Value(
            typed(shape="frustum", top=1.1, bottom=0.7, height=0.65, depth=depth),
            lit(lambda z: pi * (0.7 + 0.4 * z / 0.65) ** 2 / 4, depth), 1e-6,
        )  # fmt: skip
        yield Value(
            typed(shape="box", length=2.4, width=0.5, height=0.65, depth=depth),
            lit(lambda z: 2.4 * 0.5, depth), 1e-6,
        )  # fmt: skip
    for depth in (0.1, 0.2, 0.45, 0.7):
        yield Value(
            typed(shape="cone-bottom", diameter=0.6, height=0.5, cone_height=0.2, depth=depth),
            lit(lambda z: pi * (0.6 * min(z / 0.2, 1)) ** 2 / 4, depth, 0.2), 1e-6,
        )  # fmt: skip


def _flow_index(asked: dict[str, str] | object) -> float:
    """Flow index at 8 mg/L coming in when it was 1.5 at 11: as the flow one fish load needs."""
    flows = [
        working_out.work("oxygen-flow", {"demand": "900", "inflow": inflow, "outflow": "5"}).value
        for inflow in ("11", "8")
    ]
    assert flows[0] is not None
    assert flows[1] is not None
    return 1.5 * flows[0] / flows[1]


_STEPPED = "LSODA steps to 1e-10; our formula is its exact solution"
_ROOT = "the balance solved by bisection to 1e-13; the formula is its solution"

SOURCES: tuple[Source, ...] = (
    Source(
        "salt-dose",
        "mass balance solved by scipy.optimize.brentq, density seawater.dens0(S, t)",
        _ROOT,
        _salt_seawater,
    ),
    Source(
        "salt-dose",
        "mass balance solved by scipy.optimize.brentq, density gsw.rho_t_exact (TEOS-10)",
        "TEOS-10 is another equation of state: 0.005 kg/m3 apart, 1 part in 100 000",
        _salt_teos,
    ),
    Source(
        "salt-dose",
        "extension rule, 3.8 g of salt a US gallon for 1 ppt; from memory",
        "the rule is the gram-a-liter one; the gallon to its printed digits",
        _fixed(Value(typed(volume="1 gal", from_=0, to=1), 3.785, 0.001, "simple")),
    ),
    Source(
        "brine-dose", "mixing balance solved by scipy.optimize.brentq", _ROOT, _brine_by_balance
    ),
    Source(
        "bicarbonate-rise",
        "phreeqpython (PHREEQC, vitens.dat): NaHCO3 dissolved, equivalents of all species summed",
        "PHREEQC speciates to 1e-5; its molar masses differ in the fifth digit",
        _bicarbonate_phreeqc,
    ),
    Source(
        "bicarbonate-dose",
        "phreeqpython (PHREEQC, vitens.dat): NaHCO3 dissolved, equivalents of all species summed",
        "PHREEQC speciates to 1e-5; its molar masses differ in the fifth digit",
        _bicarbonate_dose_phreeqc,
    ),
    Source(
        "bicarbonate-dose",
        "recirculation texts, 1.68 g of bicarbonate a gram of alkalinity as CaCO3; from memory",
        "printed to three digits",
        _fixed(Value(typed(volume=1000, from_=0, to=1), 1.68, 0.005)),
    ),
    Source(
        "chloride-for-nitrite",
        "6:1 rule of SRAC Publication 462's form, 3 mg/L needs 18, read at a farm notes page",
        "whole numbers",
        _fixed(Value(typed(nitrite=3, ratio=6, volume=1000), 18, 1e-9)),
    ),
    Source(
        "chloride-for-nitrite",
        "Acute and chronic nitrite toxicity in juvenile pike-perch and its compensation by "
        "chloride: 240 mg/L chloride at 10 mg/L NO2-N, 24 to 1 on N",
        "whole numbers",
        _fixed(Value(typed(nitrite=10, ratio=24, volume=1000), 240, 1e-9)),
    ),
    Source(
        "chloride-for-nitrite",
        "phreeqpython (PHREEQC): NaCl dissolved, chloride in solution",
        "PHREEQC's molar masses differ in the fifth digit",
        _chloride_phreeqc,
    ),
    Source(
        "chlorine-strength",
        "1.0499 g of NaOCl a gram of available chlorine; from memory",
        "the factor to its printed digits",
        _fixed(
            Value(typed(percent=1.0499, basis="w/w NaOCl"), 10, 0.0005),
            Value(typed(percent=10.499, basis="w/w NaOCl", gravity=1.1), 110, 0.005),
        ),
    ),
    Source(
        "chlorine-neutralize",
        "Moretti et al. 1999, FAO manual on hatchery production of seabass and gilthead seabream, "
        "annex 7: 1 mL of 0.1 N thiosulfate takes 3.54 mg of chlorine",
        "3.54 is cut from 3.545: 0.15 %",
        _fixed(Value(typed(mass=3.54), 0.0248180, 5e-5)),
    ),
    Source(
        "bleach-dose",
        "safety fact sheet of a university on hypochlorite: 5.25 % bleach, one part in ten, has "
        "5250 ppm",
        "whole parts",
        _fixed(Value(typed(volume=1, chlorine=5250, strength=52.5), 100, 1e-9)),
    ),
    Source(
        "bleach-dose",
        "CDC, Chlorine disinfectant solution preparation, appendix E: 3.5 % to 0.5 % is 1 part in "
        "7, 5 % to 0.1 % is 1 part in 50",
        "whole parts",
        _fixed(
            Value(typed(volume=7, chlorine=5000, strength=35), 1000, 1e-9),
            Value(typed(volume=50, chlorine=1000, strength=50), 1000, 1e-9),
        ),
    ),
    Source(
        "anesthetic-bath",
        "UCSD guidelines for tricaine (2015): 4.2 mL of 4 mg/mL to 100 mL is 168 mg/L, 1.0 mL to "
        "10 mL is 400 mg/L (the mL of stock not counted in the bath)",
        "printed digits",
        _fixed(
            Value(
                typed(volume=0.1, dose=168, purpose="sedate", stock=4), 4.2, 1e-9, "stock_volume"
            ),
            Value(typed(volume=0.01, dose=400, purpose="kill", stock=4), 1.0, 1e-9, "stock_volume"),
        ),
    ),
    Source(
        "dilution",
        "CDC, Chlorine disinfectant solution preparation, appendix E: 3.5 % to 0.5 % is 1 part in "
        "7, 5 % to 0.1 % is 1 part in 50",
        "whole parts",
        _fixed(
            Value(typed(stock="3.5 %", target="0.5 %", volume=7), 1, 1e-12),
            Value(typed(stock="3.5 %", target="0.5 %", volume=7), 6, 1e-12, "water"),
            Value(typed(stock="5 %", target="0.1 %", volume=50), 1, 1e-12),
            Value(typed(stock="5 %", target="0.1 %", volume=50), 49, 1e-12, "water"),
        ),
    ),
    Source(
        "dilution",
        "CDC, appendix E: 14.3 g of 35 % powder in a liter for 0.5 % (as g, 1000 g made)",
        "printed to three digits",
        _fixed(Value(typed(stock="35 %", target="0.5 %", volume=1000), 14.3, 0.05)),
    ),
    Source(
        "bath",
        "Aquatext, bath treatment table: 200 ppm formalin in 88.35 m3, 17 670 mL",
        "printed to four digits",
        _fixed(
            Value(typed(volume=88350, dose="200 uL/L"), 17670, 0.5),
            Value(typed(volume="88.357293 m3", dose="200 uL/L"), 17670, 2),
        ),
    ),
    Source(
        "bath",
        "Piper et al. 1982, Fish Hatchery Management, p. 276: 167 ppm in 10 cubic feet, 43.8 mL "
        "(weight basis, specific gravity 1.08)",
        "printed to three digits",
        _fixed(Value(typed(volume=10 * FOOT3, dose=167, gravity=1.08), 43.8, 0.06)),
    ),
    Source(
        "bath",
        "formalin drip presentation: 75 gal x 0.00378 x 1667 = 472.6 mL",
        "its 0.00378 is cut from 0.0037854: 0.14 %",
        _fixed(Value(typed(volume="75 gal", dose="1667 uL/L"), 472.6, 0.75)),
    ),
    Source(
        "bath",
        "SRAC Publication 410, 1 ppm: 3.785 mg a gallon, 28.32 mg a cubic foot, 2.72 lb an "
        "acre-foot; from memory",
        "printed digits",
        _fixed(
            Value(typed(volume="1000 gal", dose=1), 3.785, 0.0006),
            Value(typed(volume=1000 * FOOT3, dose=1), 28.32, 0.01),
            Value(typed(volume="1233.48184 m3", dose=1), 2.72 * POUND, 0.006 * POUND),
        ),
    ),
    Source(
        "bath",
        "wastewater101.net, Time for math (2018), problem 2: 9 mg/L in 281 846 gal, 21.2 lb",
        "printed to three digits, with 8.34 lb a gallon",
        _fixed(Value(typed(volume="281846.4 gal", dose=9), 21.2 * POUND, 0.06 * POUND)),
    ),
    Source(
        "bath-flow",
        "formalin drip presentation: 75 gal passed (5 gal/min, 15 min) x 0.00378 x 1667 = 472.6 mL",
        "its 0.00378 is cut from 0.0037854: 0.14 %",
        _fixed(Value(typed(flow="5 gal/min", minutes=15, dose=1667), 472.6, 0.75)),
    ),
    Source(
        "bath-flow",
        "wastewater101.net, Time for math (2018), problem 4: 250 gpm at 21 mg/L is 63 lb a day "
        "(as mL of a product of weight 1 g/mL)",
        "printed to two digits",
        _fixed(Value(typed(flow="250 gal/min", minutes=1440, dose=21), 63 * POUND, 0.5 * POUND)),
    ),
    Source("bath-flow", "stirred tank stepped by scipy.integrate.solve_ivp", _STEPPED, _climb),
    Source("flush-time", "stirred tank stepped by scipy.integrate.solve_ivp", _STEPPED, _flushed),
    Source(
        "tank-volume",
        "formalin drip presentation: trough of 72 x 11 x 12 in, 41.1 gal",
        "printed to three digits",
        _fixed(
            Value(
                typed(shape="box", length="72 in", width="11 in", height="12 in"),
                41.1 * GALLON,
                0.05 * GALLON,
            ),
        ),
    ),
    Source(
        "tank-volume",
        "Aquatext, bath treatment table: 7.5 m across, 2 m deep, 88.35 m3",
        "printed with 3.1415 for pi and cut to four digits",
        _fixed(Value(typed(shape="cylinder", diameter=7.5, height=2), 88350, 8)),
    ),
    Source(
        "tank-volume",
        "wastewater101.net, Time for math (2018), problem 2: 40 ft across, 30 ft high, 37 680 "
        "cubic feet",
        "printed with 0.785 for pi / 4: 0.05 %",
        _fixed(
            Value(
                typed(shape="cylinder", diameter="40 ft", height="30 ft"),
                37680 * FOOT3,
                20 * FOOT3,
            ),
        ),
    ),
    Source(
        "tank-volume",
        "Math review for water system operators: 15 x 12 x 10 ft, 13 464 gal; 15 ft across and "
        "12 ft high, 15 900 gal",
        "printed with 7.48 gal a cubic foot, and 177 square feet cut from 176.7: 0.25 %",
        _fixed(
            Value(
                typed(shape="box", length="15 ft", width="12 ft", height="10 ft"),
                13464 * GALLON,
                2 * GALLON,
            ),
            Value(
                typed(shape="cylinder", diameter="15 ft", height="12 ft"),
                15900 * GALLON,
                40 * GALLON,
            ),
        ),
    ),
    Source(
        "tank-volume",
        "cross-sections added up by scipy.integrate.quad",
        "quadrature of a polynomial is exact to rounding",
        _volumes,
    ),
    Source(
        "exchange",
        "stirred-tank textbook values, 63.2, 86.5, 95.0 and 99 % after 1, 2, 3 and 4.6 volumes",
        "printed digits",
        _fixed(
            Value(typed(flow=4, volume=800, volumes=1), 0.632, 0.0006, "replaced"),
            Value(typed(flow=4, volume=800, volumes=2), 0.865, 0.0006, "replaced"),
            Value(typed(flow=4, volume=800, volumes=3), 0.950, 0.0006, "replaced"),
            Value(typed(flow=4, volume=800, volumes=4.6), 0.990, 0.0006, "replaced"),
        ),
    ),
    Source("exchange", "stirred tank stepped by scipy.integrate.solve_ivp", _STEPPED, _replaced),
    Source(
        "oxygen-flow",
        "Piper et al. 1982, Fish Hatchery Management, p. 70: flow index 1.5 at 11 ppm is 0.75 at "
        "8 ppm, least 5 ppm",
        "whole numbers; the flow a load needs is the inverse of its index",
        _fixed(Value({}, 0.75, 1e-9)),
        work=_flow_index,
    ),
    Source(
        "ammonia-load",
        "Piper et al. 1982, Fish Hatchery Management, p. 25: TAN = lb of food x 3.0 / gpm, at 200 "
        "gpm 0.15, 0.23 and 0.53 ppm for 10, 15 and 35 lb",
        "printed to two digits; its factor 3.0 is 0.036052 g of TAN a gram of food",
        _fixed(
            *(
                Value(
                    typed(
                        feed=pounds * POUND,
                        protein=1,
                        flow="200 gal/min",
                        factor=3.0 * 1.44 * GALLON / POUND,
                    ),
                    ppm,
                    0.0051,
                )
                for pounds, ppm in ((10, 0.15), (15, 0.23), (35, 0.53))
            )
        ),
    ),
)

DIFFERS: tuple[Differs, ...] = (
    Differs(
        "chlorine-neutralize",
        "5.6 g of thiosulfate for a gallon of 200 ppm chlorine",
        5.6,
        5.29989,
        0.001,
        typed(chlorine=200, volume="1 gal"),
        "7.4 g a gram is a margin of 5.7 % on the 7.00 g that the reaction takes",
        "Piper et al. 1982, Fish Hatchery Management, p. 283",
    ),
    Differs(
        "ammonia-load",
        "454 g of feed makes 11 350 mg of ammonia N a day",
        11350,
        14618.8,
        0.5,
        typed(feed=454, protein=0.35, flow=1),
        "25 mg a gram of feed at 30 to 40 % protein is 22 % below 0.092 x 0.35; set the factor",
        "ammonia-loading extension note",
        "produced",
    ),
    Differs(
        "bath",
        "167 ppm in 10 cubic feet, taken as uL/L, printed 43.8 mL",
        43.8,
        47.2891,
        0.001,
        typed(volume=10 * FOOT3, dose="167 uL/L"),
        "43.8 mL is the weight basis, with a specific gravity of 1.08; by volume it is 8 % more",
        "Piper et al. 1982, Fish Hatchery Management, p. 276",
    ),
)
