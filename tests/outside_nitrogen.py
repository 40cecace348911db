"""Outside values of ammonia: Emerson's table, other constants, PyCO2SYS and PHREEQC."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product
from math import log10

from outside import Differs, Source, Value, typed

_FA16 = "Fundamentals of Aquatic Veterinary Medicine, table 1.4 (as UF/IFAS FA16, figure 4)"
_LAMOTTE = "as quoted in a LaMotte meter manual"


def _fresh(ph: float, t: float, salinity: float = 0, scale: str = "nbs") -> dict[str, str]:
    return typed(tan=1, ph=ph, temperature=t, salinity=salinity, scale=scale)


def _emerson() -> Iterator[Value]:
    table = [
        (6, 0, 0.00827, 2e-5), (7, 5, 0.125, 5e-4), (7, 10, 0.186, 6e-4), (7, 15, 0.273, 1e-3),
        (7, 20, 0.396, 6e-4), (7, 30, 0.799, 1.6e-3), (8, 10, 1.83, 6e-3), (8, 20, 3.82, 6e-3),
        (8, 25, 5.38, 6e-3), (8, 30, 7.46, 6e-3), (9, 10, 15.7, 0.06), (9, 20, 28.4, 0.06),
        (9, 25, 36.3, 0.06), (10, 20, 79.9, 0.06),
    ]  # fmt: skip
    for ph, t, expected, tolerance in table:
        yield Value(_fresh(ph, t), expected, tolerance, "fraction")


def _bates() -> Iterator[Value]:
    table = {0: 10.0813, 5: 9.9038, 10: 9.7306, 15: 9.5641, 20: 9.4002, 25: 9.2449, 30: 9.0926}
    for t, expected in table.items():
        yield Value(_fresh(8, t), expected, 0.002, "pka")


def _factors() -> Iterator[Value]:
    for ph, t, expected, tolerance in [
        (7.0, 18, 0.0034, 6e-5), (7.6, 20, 0.0155, 9.3e-5), (8.0, 24, 0.0502, 3.01e-4),
        (8.4, 16, 0.0688, 4.13e-4),
    ]:  # fmt: skip
        yield Value(_fresh(ph, t), 100 * expected, 100 * tolerance, "fraction")


def _trussell() -> Iterator[Value]:
    for ph, t, expected, tolerance in [
        (7.0, 10, 0.19, 0.006), (7.5, 15, 0.85, 0.00893), (8.0, 10, 1.83, 0.0192),
        (8.0, 15, 2.65, 0.0278), (8.0, 20, 3.83, 0.0402),
    ]:  # fmt: skip
        yield Value(_fresh(ph, t), expected, tolerance, "fraction")


def _bower() -> Iterator[Value]:
    for ph, t, expected in [(8, 10, 1.44), (8, 20, 2.98), (8, 25, 4.28), (8.5, 20, 8.87)]:
        yield Value(_fresh(ph, t, 34), expected, 0.02 * expected, "fraction")


def _inverse() -> Iterator[Value]:
    """Emerson's cells read backwards: the TAN at which NH3-N is the printed percent of it."""
    for ph, t, share in [(8, 10, 1.83), (8, 20, 3.82), (8, 25, 5.38), (8, 30, 7.46), (9, 20, 28.4)]:
        expected = 0.02 / (share / 100)
        yield Value(typed(limit=0.02, ph=ph, temperature=t), expected, 0.0025 * expected)


def _co2sys_pk(waters: Sequence[tuple[float, float]], scale: int) -> list[float]:
    """pK of ammonium by PyCO2SYS for each (degC, g/kg), in one call: a call takes 0.3 s."""
    import numpy as np
    import PyCO2SYS

    t, salinity = np.array(waters, dtype=float).T
    found = PyCO2SYS.sys(
        par1=2000, par2=8, par1_type=1, par2_type=3, salinity=salinity, temperature=t,
        total_ammonia=10, opt_pH_scale=scale,
    )  # fmt: skip
    return [-log10(float(one)) for one in np.broadcast_to(found["k_ammonia"], t.shape)]


def _total_scale() -> Iterator[Value]:
    waters = [*product((-1, 5, 15, 20, 25, 38), (0, 0.1, 1, 5, 10, 20, 35, 40))]
    for (t, s), pk in zip(waters, _co2sys_pk(waters, 1), strict=True):
        yield Value(_fresh(8, t, s, "total"), pk, 1e-9, "pka")


def _total_printed() -> Iterator[Value]:
    for t, s, expected in [
        (20, 1, 9.3898), (20, 5, 9.38105), (25, 10, 9.2163), (10, 20, 9.74332), (25, 35, 9.24585)
    ]:  # fmt: skip
        yield Value(_fresh(8, t, s, "total"), expected, 6e-6, "pka")


def _emerson_limit() -> Iterator[Value]:
    waters = [(t, 0) for t in (0, 5, 10, 15, 20, 25, 30)]
    for (t, _), pk in zip(waters, _co2sys_pk(waters, 1), strict=True):
        yield Value(_fresh(8, t), pk, 0.0021, "pka")


def _free_scale() -> Iterator[Value]:
    cold = [(5, s) for s in (1, 5, 20, 35)]
    waters = [*product((10, 15, 20, 25), (1, 2, 5, 10, 20, 35)), *cold]
    for (t, s), pk in zip(waters, _co2sys_pk(waters, 3), strict=True):
        yield Value(_fresh(8, t, s), pk, 0.024 if t == 5 else 0.0125, "pka")


def _epa() -> Iterator[Value]:
    for t, s in product((5, 10, 15, 20, 25), (5, 10, 20, 30)):
        strength = 19.9273 * s / (1000 - 1.005109 * s)
        pk = 9.245 + 0.116 * strength + 0.0324 * (25 - t) + 0.0415 / (t + 273.15)
        yield Value(_fresh(8, t, s), pk, 0.03, "pka")


def _phreeqc(salt: float) -> Iterator[tuple[float, float, float]]:
    """pH, degC and fraction of NH3 in water with so much NaCl (mmol/L)."""
    from phreeqpython import PhreeqPython

    water = PhreeqPython()
    for t, ph in product((2, 5, 10, 15, 20, 25, 30), (6.5, 7, 7.5, 8, 8.5, 9)):
        made: dict[str, object] = {"units": "mmol/l", "temp": t, "pH": ph, "N(-3)": "0.0001"}
        if salt:
            made |= {"Na": salt, "Cl": f"{salt} charge"}
        solution = water.add_solution(made)
        species = solution.species
        both = sum(n for name, n in species.items() if name.startswith("NH"))
        yield ph, t, species["NH3"] / both
        solution.forget()


def _phreeqc_pure() -> Iterator[Value]:
    for ph, t, fraction in _phreeqc(0):
        yield Value(_fresh(ph, t), 100 * fraction, 0.4 * fraction, "fraction")


def _phreeqc_salty() -> Iterator[Value]:
    for ph, t, fraction in _phreeqc(5):
        yield Value(_fresh(ph, t), 100 * fraction, 9 * fraction, "fraction")


def _phreeqc_limit() -> Iterator[Value]:
    for ph, t, fraction in _phreeqc(0):
        expected = 0.02 / fraction
        yield Value(typed(limit=0.02, ph=ph, temperature=t), expected, 0.004 * expected)


def _basis() -> Iterator[Value]:
    for old, new, expected, tolerance in [
        ("N", "NO3", 4.43, 0.0051), ("N", "NO2", 3.28, 0.0051), ("N", "NH3", 1.22, 0.0051),
        ("N", "NH4", 1.29, 0.0051),
    ]:  # fmt: skip
        yield Value(typed(value=1, from_=old, to=new), expected, tolerance)


def _guideline() -> Iterator[Value]:
    yield Value(typed(value=50, from_="NO3", to="N"), 11, 0.5)
    yield Value(typed(value=3, from_="NO2", to="N"), 0.9, 0.05)
    yield Value(typed(value=10, from_="N", to="NO3"), 44.3, 0.05)


SOURCES: tuple[Source, ...] = (
    Source(
        "ammonia",
        "Emerson, Russo, Lund and Thurston 1975, J. Fish. Res. Board Can. 32:2379, table (as "
        "reprinted in EPA Quality Criteria for Water 1976); from memory",
        "to the printed figures: half of the last digit",
        _emerson,
    ),
    Source(
        "ammonia",
        "Bates and Pinching 1950, J. Am. Chem. Soc. 72:1393, measured pKa of ammonium; from memory",
        "0.002 pK: Emerson's line is a fit with two numbers to these measurements",
        _bates,
    ),
    Source(
        "ammonia",
        _FA16,
        "0.6 %: the table is some 0.4 % low throughout, as if worked with other constants",
        _factors,
    ),
    Source(
        "ammonia",
        "UF/IFAS FA16, worked example: TAN 1.0, pH 8.0, 24 degC",
        "0.6 %: it takes its factor from that table",
        lambda: [Value(typed(tan=1, ph=8, temperature=24), 0.0502, 0.0003)],
    ),
    Source(
        "ammonia",
        f"Trussell 1972, other constants, fresh water; {_LAMOTTE}",
        "1 %: other constants, which agree to 20 degC and not above",
        _trussell,
    ),
    Source(
        "ammonia",
        f"Bower and Bidwell 1978, seawater of 34 g/kg; {_LAMOTTE}",
        "2 %: another fit of other measurements",
        _bower,
    ),
    Source(
        "ammonia",
        "EPA 440/5-88-004 (1989), form for salt water, Whitfield 1974, Hampson 1977; from memory",
        "0.03 pK: an older ion model on another pH scale; at 5 g/kg within 0.013, worst at 30 g/kg "
        "and 25 degC",
        _epa,
    ),
    Source(
        "ammonia",
        "PyCO2SYS 1.8.3.4, k_ammonia with opt_pH_scale=1 (Clegg and Whitfield 1995)",
        "1e-9: the same equation written down by others, so it shows slips of the pen only",
        _total_scale,
    ),
    Source(
        "ammonia",
        "PyCO2SYS 1.8.3.4, k_ammonia on the total scale, as printed to five decimals",
        "6e-6: half of the last digit",
        _total_printed,
    ),
    Source(
        "ammonia",
        "PyCO2SYS 1.8.3.4, k_ammonia at salinity 0 (the fresh end of Clegg and Whitfield 1995)",
        "0.0021 pK, 0.5 %: two fits of fresh water, made 20 years apart",
        _emerson_limit,
    ),
    Source(
        "ammonia",
        "PyCO2SYS 1.8.3.4, k_ammonia with opt_pH_scale=3 (on the free scale)",
        "0.0125 pK at 10 to 25 degC, 0.024 at 5: Bell's line is straight in temperature, and a "
        "meter set in usual buffers is near the free scale but not on it",
        _free_scale,
    ),
    Source(
        "ammonia",
        "PHREEQC (phreeqpython 1.6.2, vitens.dat), NH3 of all ammonia, hardly any ions",
        "0.4 %: the database has its own NH4 constant; worst 0.24 %, at 5 degC",
        _phreeqc_pure,
    ),
    Source(
        "ammonia",
        "PHREEQC (phreeqpython 1.6.2, vitens.dat), in 5 mmol/L of NaCl",
        "9 %: ions make NH4 less active, which Emerson leaves out: ours is 5 to 8 % high, on the "
        "safe side",
        _phreeqc_salty,
    ),
    Source(
        "ammonia-limit",
        "Emerson et al. 1975, table cells read backwards for NH3-N 0.02 mg/L; from memory",
        "0.25 %: the cells are printed to three figures",
        _inverse,
        again=True,
    ),
    Source(
        "ammonia-limit",
        "PHREEQC (phreeqpython 1.6.2, vitens.dat), NH3 of all ammonia, hardly any ions",
        "0.4 %: as for ammonia",
        _phreeqc_limit,
    ),
    Source(
        "nitrogen-basis",
        "factors printed with nitrogen test kits (4.43, 3.28, 1.22, 1.29); from memory",
        "half of the last digit",
        _basis,
    ),
    Source(
        "nitrogen-basis",
        "WHO Guidelines for Drinking-water Quality: 50 mg/L nitrate is 11 as N, 3 mg/L nitrite 0.9 "
        "as N; EPA: 10 mg/L nitrate as N is 44.3 as NO3; from memory",
        "half of the last digit",
        _guideline,
    ),
    Source(
        "nitrogen-basis",
        "Schram et al. 2014, Aquaculture 420:95, abstract: 3.4 umol/L of NH3 is 0.05 mg/L as N",
        "0.003: printed to one figure, and 3.4 x 17.031 is 57.9 ug/L of NH3",
        lambda: [Value(typed(value=3.4 * 17.031 / 1000, from_="NH3", to="N"), 0.05, 0.003)],
    ),
)


_OUT = "32 degC is outside Emerson's range of 0 to 30 degC, and the column does not follow it"
_OTHER = "Trussell's constants fall 2 % below Emerson's at 25 degC; measured pKa bear Emerson out"

DIFFERS: tuple[Differs, ...] = (
    Differs(
        "ammonia", "pH 7.4, 20 degC printed .0096", 0.96, 0.98794, 0.0001,
        _fresh(7.4, 20), "this cell is 3 % off its neighbors: a slip of the table", _FA16,
        "fraction",
    ),
    Differs(
        "ammonia", "32 degC, pH 8 printed .0877", 8.77, 8.44875, 0.0001, _fresh(8, 32), _OUT, _FA16,
        "fraction",
    ),
    Differs(
        "ammonia", "32 degC, pH 7.4 printed .0236", 2.36, 2.26556, 0.0001, _fresh(7.4, 32), _OUT,
        _FA16, "fraction",
    ),
    Differs(
        "ammonia", "28 degC, pH 8 printed .0654", 6.54, 6.55957, 0.0001, _fresh(8, 28),
        "the whole body of that table is low by some 0.4 %, as if worked with 273.15", _FA16,
        "fraction",
    ),
    Differs(
        "ammonia", "25 degC, pH 8 printed 5.28 (Trussell 1972)", 5.28, 5.38421, 0.0001,
        _fresh(8, 25), _OTHER, _LAMOTTE, "fraction",
    ),
    Differs(
        "ammonia", "25 degC, pH 8.5 printed 14.97 (Trussell 1972)", 14.97, 15.2509, 0.0001,
        _fresh(8.5, 25), _OTHER, _LAMOTTE, "fraction",
    ),
)  # fmt: skip
