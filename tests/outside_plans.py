"""Outside values of what is planned, grown and mixed: general solvers, speciation, printed sums."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil

from outside import Differs, Source, Value, typed

_COUNT_LIMITS = "scipy 1.17 stats.chi2.ppf: exact limits of a Poisson count"


def _hatch() -> Iterator[Value]:
    import numpy as np

    for times, hatched in (
        ((14, 16, 18, 20, 22, 24), (0, 12, 61, 118, 139, 142)),
        ((10, 11, 13, 16, 20), (0, 5, 40, 88, 96)),
        ((12, 15, 18), (0, 50, 100)),
    ):
        most = max(hatched)
        t10, t50, t90 = (float(np.interp(p * most, hatched, times)) for p in (0.1, 0.5, 0.9))
        asked = typed(times=times, hatched=hatched)
        yield Value(asked, t90 - t10, 1e-9)
        for key, expected in (("t10", t10), ("t50", t50), ("t90", t90)):
            yield Value(asked, expected, 1e-9, key)


def _chamber() -> Iterator[Value]:
    # Notes that come with chambers: the mean of the large squares times 10 000.
    yield Value(typed(count=200, squares=4), 500_000, 1e-6)
    yield Value(typed(count=43, squares=1, dilution=20), 8_600_000, 1e-6)


def _chamber_limits() -> Iterator[Value]:
    from scipy.stats import chi2

    for count in (100, 212, 480):
        for key, expected in (
            ("low", chi2.ppf(0.025, 2 * count) / 2),
            ("high", chi2.ppf(0.975, 2 * count + 2) / 2),
        ):
            cells = float(expected) / 4 * 1e4
            yield Value(typed(count=count, squares=4), cells, 1e-8 * cells, key)


def _eggs() -> Iterator[Value]:
    from scipy.stats import chi2
    from statsmodels.stats.proportion import proportion_confint

    asked = typed(volume=1850, counts=(142, 151, 138), subsample=1, good=172, looked_at=200)
    yield Value(asked, 1850 * 431 / 3, 1e-6)
    yield Value(asked, float(1850 / 3 * chi2.ppf(0.025, 862) / 2), 1e-3, "low")
    yield Value(asked, float(1850 / 3 * chi2.ppf(0.975, 864) / 2), 1e-3, "high")
    low, high = proportion_confint(172, 200, 0.05, "wilson")
    yield Value(asked, float(low), 1e-9, "share_low")
    yield Value(asked, float(high), 1e-9, "share_high")


def _packed() -> Iterator[Value]:
    for diameter in (1.8, 3.0, 4.5):
        eggs = 0.62 * 1000 / (3.14159265 * diameter**3 / 6) * 1000
        # 100 eggs in a trough of so many mm, a liter of them.
        asked = typed(volume=1000, in_trough=100, trough=float(100 * diameter))
        yield Value(asked, eggs, 0.02 / 0.62 * eggs)


def _tanks() -> Iterator[Value]:
    from statsmodels.stats.power import TTestIndPower

    for effect in (0.8, 1.2, 1.6, 2.5):
        for power in (0.8, 0.9):
            n = ceil(TTestIndPower().solve_power(effect, alpha=0.05, power=power))
            yield Value(typed(difference=effect, sd=1, power=power), n, 0)


def _several() -> Iterator[Value]:
    from scipy.stats import nct, t

    for effect, groups in ((1.6, 3), (1.6, 4), (2.5, 5), (1.0, 3)):
        n = 2
        while True:
            df = groups * (n - 1)
            edge, shift = t.ppf(0.975, df), effect / (2 / n) ** 0.5
            if 1 - nct.cdf(edge, df, shift) + nct.cdf(-edge, df, shift) >= 0.8:
                break
            n += 1
        yield Value(typed(difference=effect, sd=1, groups=groups), n, 0)


def _shares() -> Iterator[Value]:
    from statsmodels.stats.proportion import samplesize_confint_proportion

    for share, error in ((0.5, 5), (0.8, 5), (0.3, 10), (0.9, 2)):
        n = float(samplesize_confint_proportion(share, error / 100))
        yield Value(typed(error=error, share=share), n, 1e-6 * n, "exactly")


def _cochran() -> Iterator[Value]:
    # n0 = 384 for half, give or take 5 points, at 95 %.
    yield Value(typed(error=5, share=0.5), 384, 0.5, "exactly")


def _mixed() -> Iterator[Value]:
    import gsw

    for v1, t1, v2, t2 in ((20, 12.5, 25, 17), (200, 18, 10, 35), (5, 4, 5, 24)):
        m1, m2 = v1 * gsw.rho_t_exact(0, t1, 0), v2 * gsw.rho_t_exact(0, t2, 0)
        heat = m1 * gsw.CT_from_t(0, t1, 0) + m2 * gsw.CT_from_t(0, t2, 0)
        expected = float(gsw.t_from_CT(0, heat / (m1 + m2), 0))
        asked = typed(volume=v1, temperature=t1, added=v2, added_temperature=t2)
        yield Value(asked, expected, 0.03)


def _index() -> Iterator[Value]:
    # Piper: 100 lb of 5-inch fish in 20 gal/min have F = 1; in 40 cubic feet D = 0.5.
    asked = {"biomass": "100 lb", "length": "5 in", "flow": "20 gal/min", "volume": "40 ft3"}
    yield Value(asked, 1, 1e-9, "flow_index")
    yield Value(asked, 0.5, 1e-9, "density_index")


def _hard() -> Iterator[Value]:
    yield Value(typed(calcium=50, magnesium=10), 166.0447, 0.02)


def _caustic() -> Iterator[Value]:
    from phreeqpython import PhreeqPython
    from phreeqpython.utility import convert_units

    for milligrams in (4.0, 11.5, 30.0):
        water = PhreeqPython().add_solution({})
        water.add("NaOH", milligrams, "mg")
        charge = {"HCO3-": 1, "CO3-2": 2, "OH-": 1, "H+": -1, "NaCO3-": 2, "NaHCO3": 1, "NaOH": 1}
        equivalents = sum(n * water.species.get(name, 0.0) for name, n in charge.items())
        rise = float(convert_units("CaCO3", equivalents / 2, "mol", "mg"))
        asked = typed(volume=1000, from_=0, to=round(rise, 9))
        yield Value(asked, milligrams, 2e-4 * milligrams)


SOURCES: tuple[Source, ...] = (
    Source("hatch-times", "numpy 2 interp, the counts turned round", "rounding only", _hatch),
    Source(
        "algae-count",
        "notes with counting chambers 0.1 mm deep, times 10 000; from memory",
        "the same definition; rounding only",
        _chamber,
    ),
    Source("algae-count", _COUNT_LIMITS, "rounding only", _chamber_limits),
    Source(
        "egg-number",
        "scipy 1.17 stats.chi2.ppf, statsmodels 0.15 proportion_confint (wilson)",
        "rounding only",
        _eggs,
    ),
    Source(
        "egg-number",
        "Scott 1960, Nature 188:908, spheres at random fill 0.60 to 0.64; from memory",
        "eggs are spheres, and how they were poured is not known",
        _packed,
    ),
    Source(
        "tanks-needed",
        "statsmodels 0.15 TTestIndPower.solve_power, rounded up",
        "a whole number of tanks",
        _tanks,
    ),
    Source(
        "tanks-needed",
        "scipy 1.17 stats.nct, both tails, tried tank by tank",
        "a whole number of tanks",
        _several,
    ),
    Source(
        "count-needed",
        "statsmodels 0.15 samplesize_confint_proportion",
        "the same definition; rounding only",
        _shares,
    ),
    Source(
        "count-needed",
        "Cochran 1977, Sampling Techniques, n0 of a half, give or take 5 points; from memory",
        "printed whole",
        _cochran,
    ),
    Source(
        "mix-waters",
        "gsw 3.6 (TEOS-10): conservative temperature by mass",
        "water is heavier when cold and its heat is not quite even: 0.03 degC",
        _mixed,
    ),
    Source(
        "loading",
        "Piper et al. 1982, Fish Hatchery Management, F = W / (L I), D = W / (V L); from memory",
        "a division in their units; rounding only",
        _index,
    ),
    Source(
        "hardness",
        "tidywater (R), reference page of calculate_hardness: 50 and 10 mg/L give 166.0447",
        "it has molar masses of more digits than 2.497 and 4.118",
        _hard,
    ),
    Source(
        "caustic-dose",
        "phreeqpython (PHREEQC, vitens.dat): NaOH dissolved, equivalents of all species summed",
        "PHREEQC speciates to 1e-5; its molar masses differ in the fifth digit",
        _caustic,
    ),
)
DIFFERS: tuple[Differs, ...] = ()
