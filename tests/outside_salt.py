"""Outside values of salinity, conductivity and density: UNESCO, gsw, seawater, printed tables."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

from outside import Source, Value, typed

_T68 = 1.00024


def _unesco() -> Iterator[Value]:
    yield Value(typed(conductivity=42.914, temperature=15 / _T68), 35, 1e-4)


def _culkin() -> Iterator[Value]:
    yield Value(typed(salinity=35, temperature=15 / _T68), 42.914, 1e-5)


def _printed() -> Iterator[Value]:
    for c, t, expected in [
        (0.05, 10, 0.032177), (0.2, 25, 0.094129), (0.5, 25, 0.24038), (3.0, 25, 1.5586),
        (5.0, 20, 2.9981), (10, 18, 6.6062), (30, 25, 18.57), (53.065, 25, 34.996),
    ]:  # fmt: skip
        yield Value(typed(conductivity=c, temperature=t), expected, 0.0005 if c > 20 else 5e-5)


def _gsw() -> Iterator[Value]:
    import gsw

    for c, t in product(
        (0.01, 0.05, 0.2, 0.5, 1, 2, 3, 5, 10, 20, 35, 50), (-1, 0, 5, 10, 15, 18, 22, 25, 30, 34)
    ):
        expected = float(gsw.SP_from_C(c, t, 0))
        yield Value(typed(conductivity=c, temperature=t), expected, 1e-9)


def _gsw_sc25() -> Iterator[Value]:
    import gsw

    for sc in (50, 200, 600, 1500, 5000, 20000, 53000):
        yield Value(typed(sc25=sc), float(gsw.SP_from_C(sc / 1000, 25, 0)), 1e-9)
    for c, t in product((0.3, 3.0, 30.0), (5, 15, 25)):
        again = float(gsw.C_from_SP(gsw.SP_from_C(c, t, 0), 25, 0)) * 1000
        yield Value(typed(conductivity=c, temperature=t), again, 1e-6 * again, "sc25")


def _schemel() -> Iterator[Value]:
    factors = (0.0120, -0.2174, 25.3283, 13.7714, -6.4788, 2.5842)
    for sc in (2, 5, 10, 20, 30, 40, 50):
        ratio = sc / 53.087
        expected: float = sum(f * ratio ** (i / 2) for i, f in enumerate(factors))
        yield Value(typed(sc25=sc * 1000), expected, 0.012)


def _inverse() -> Iterator[Value]:
    import gsw

    for s, t in product((0.02, 0.1, 0.5, 1, 1.9, 2, 3, 5, 12, 35, 42), (-1, 5, 15, 20, 25, 34)):
        expected = float(gsw.C_from_SP(s, t, 0))
        yield Value(typed(salinity=s, temperature=t), expected, 1e-9 + 1e-9 * expected)
        again = float(gsw.C_from_SP(s, 25, 0)) * 1000
        yield Value(typed(salinity=s, temperature=t), again, 1e-6 + 1e-9 * again, "sc25")


def _seawater() -> Iterator[Value]:
    import seawater

    for s, t in product((2.5, 5, 12, 35, 42), (0, 10, 17, 24)):
        expected = float(seawater.cndr(s, t, 0).item()) * 42.914
        yield Value(typed(salinity=s, temperature=t), expected, 2e-5 * expected)
    for s, t, printed in [(5, 18, 7.7169), (35, 25, 53.071), (35, 15, 42.918)]:
        yield Value(typed(salinity=s, temperature=t), printed, 0.0006)


def _chloride() -> Iterator[Value]:
    table = {
        15: 1147, 16: 1173, 17: 1199, 18: 1225, 19: 1251, 20: 1278, 21: 1305, 22: 1332, 23: 1359,
        24: 1386, 25: 1413,
    }  # fmt: skip
    for t, reads in table.items():
        yield Value(typed(conductivity=reads, temperature=t), 1413, 5.0 if t < 18 else 1.2)


def _density_unesco() -> Iterator[Value]:
    for s, t, expected in [
        (0, 5, 999.96675), (0, 25, 997.04796), (35, 5, 1027.67547), (35, 25, 1023.34306)
    ]:  # fmt: skip
        yield Value(typed(temperature=t / _T68, salinity=s), expected, 6e-6)


def _density_handbook() -> Iterator[Value]:
    table = {0: 999.84, 4: 999.97, 10: 999.70, 15: 999.10, 20: 998.21, 25: 997.05, 30: 995.65}
    for t, expected in table.items():
        yield Value(typed(temperature=t), expected, 0.006)


def _density_library() -> Iterator[Value]:
    import seawater

    for s, t in product((0, 0.5, 2, 5, 20, 35, 42), (-1, 5, 15, 18, 20, 28, 40)):
        expected = float(seawater.dens0(s, t))
        yield Value(typed(temperature=t, salinity=s), expected, 1e-9 * expected)


def _density_teos() -> Iterator[Value]:
    import gsw

    for s, t in product((0, 0.5, 2, 5, 10, 35), (0, 5, 18, 20, 25, 30)):
        expected = float(gsw.rho_t_exact(gsw.SA_from_SP(s, 0, -90, 45), t, 0))
        yield Value(typed(temperature=t, salinity=s), expected, 0.005)


SOURCES: tuple[Source, ...] = (
    Source(
        "salinity",
        "UNESCO 1983, Technical Paper 44 (Fofonoff and Millard), check value R = 1 at 15 degC "
        "(1968 scale); as quoted in an R package, wql",
        "1e-4: the printed figures",
        _unesco,
    ),
    Source(
        "salinity",
        "gsw 3.6.23, SP_from_C(C, t, 0), as printed in a table",
        "half of the last digit",
        _printed,
    ),
    Source(
        "salinity",
        "gsw 3.6.23, SP_from_C(C, t, 0)",
        "1e-9: the same scale and the same extension below 2, joined at 2 by another method; it "
        "shows slips of the pen, and is not a second measurement",
        _gsw,
    ),
    Source(
        "salinity",
        "gsw 3.6.23, SP_from_C at 25 degC and C_from_SP",
        "1e-9 of the salinity, 1e-6 of the conductivity: the same scale",
        _gsw_sc25,
    ),
    Source(
        "salinity",
        "Schemel 2001, polynomial for conductivity at 25 degC; coefficients from memory",
        "0.012: a simpler polynomial through the same scale; 0.011 apart at 50 mS/cm",
        _schemel,
    ),
    Source(
        "conductivity",
        "Culkin and Smith 1980: seawater of 35 at 15 degC (1968 scale) has 42.914 mS/cm",
        "1e-5: the scale is defined by it",
        _culkin,
    ),
    Source(
        "conductivity",
        "gsw 3.6.23, C_from_SP(S, t, 0)",
        "1e-9: the same scale, turned round by another method; not at salinity 0, where gsw stops "
        "at 0.0007 mS/cm below 0 degC and water without salt has none",
        _inverse,
    ),
    Source(
        "conductivity",
        "seawater 3.3.5, cndr(S, t, 0) x 42.914, and three values as printed",
        "2e-5: that library stops its search early",
        _seawater,
    ),
    Source(
        "conductivity-25",
        "table of the 0.01 mol/L KCl standard, 15 to 25 degC, as printed on meter standards; from "
        "memory",
        "0.1 % from 18 degC, 0.4 % below: the true curve is not straight, and 1.91 % a degree is "
        "its slope near 22 degC",
        _chloride,
    ),
    Source(
        "water-density",
        "UNESCO 1981 and 1983, Technical Papers 38 and 44, check values (1968 scale); as quoted in "
        "public test suites",
        "6e-6: half of the last digit",
        _density_unesco,
    ),
    Source(
        "water-density",
        "CRC Handbook of Chemistry and Physics, density of water; from memory",
        "half of the last digit",
        _density_handbook,
    ),
    Source(
        "water-density",
        "seawater 3.3.5, dens0(S, t)",
        "1e-9: the same equation written down by others",
        _density_library,
    ),
    Source(
        "water-density",
        "gsw 3.6.23, rho_t_exact (TEOS-10, another equation)",
        "0.005 kg/m3: another equation of state; worst 0.0045",
        _density_teos,
    ),
)
