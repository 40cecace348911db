"""Live feed and prey against published recipes, scipy's distributions, and stepped balances."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from math import exp, log

from outside import Differs, Source, Value, typed
from tankwalk.practice.workings import working_out


def _fixed(*rows: Value) -> Callable[[], Iterable[Value]]:
    return lambda: rows


COUNTS = (
    (38, 45, 41, 36, 44, 43),
    (31, 28, 36),
    (0, 1, 0, 2),
    (120, 98, 105, 111),
    (10, 30, 55, 22),
    (5, 60),
)
"""Some well mixed, the last two not."""


def _aliquots() -> Iterable[Value]:
    import numpy as np
    from scipy import stats

    for counts in COUNTS:
        n, found = len(counts), sum(counts)
        asked = typed(counts=counts, subsample=0.5, dilution=4, volume=2)
        factor = 4 / 0.5 * 2000
        chi2, p = stats.chisquare(counts)
        yield Value(asked, float(chi2), 1e-9, "dispersion")
        yield Value(asked, 100 * float(stats.variation(counts, ddof=1)), 1e-9, "cv")
        yield Value(asked, float(np.mean(counts)) * factor, 1e-6)
        mixed = bool(p > 0.025)
        yield Value(asked, float(mixed), 0, "mixed")
        if mixed:
            low = stats.chi2.ppf(0.025, 2 * found) / 2 / n
            high = stats.chi2.ppf(0.975, 2 * found + 2) / 2 / n
        else:
            low, high = stats.t.interval(0.95, n - 1, loc=np.mean(counts), scale=stats.sem(counts))
        yield Value(asked, max(0.0, float(low)) * factor, 1e-3, "low")
        yield Value(asked, float(high) * factor, 1e-3, "high")


def _garwood() -> Iterable[Value]:
    for count, low, high in ((0, 0.0, 3.689), (1, 0.0253, 5.572), (5, 1.623, 11.668),
                             (10, 4.795, None), (20, 12.217, 30.888),
                             (100, 81.364, 121.627)):  # fmt: skip
        asked = typed(counts=count, subsample=1, volume="1 mL")
        yield Value(asked, low, 0.0006, "low")
        if high is not None:
            yield Value(asked, high, 0.0006, "high")


def _born() -> Iterable[Value]:
    """b with E = exp(b D) - 1, the derivation's own balance, by bisection."""
    from scipy.optimize import brentq

    for eggs, females, days in ((45, 180, 1.0), (90, 180, 0.8), (12, 150, 2.5), (300, 200, 1.2)):
        births = brentq(lambda b, e=eggs / females, d=days: exp(b * d) - 1 - e, 0, 5, xtol=1e-14)
        yield Value(typed(eggs=eggs, females=females, development=days), births, 1e-9, "birth_rate")


def _grown() -> Iterable[Value]:
    from scipy.integrate import solve_ivp

    for start, r, days in ((100.0, 0.5, 2.0), (257.6, 0.2877, 1.0), (50.0, -0.3, 3.0)):
        run = solve_ivp(
            lambda t, n, r=r: r * n, (0, days), [start], method="LSODA", rtol=1e-11, atol=1e-9
        )
        yield Value(typed(start=start, r=r, days=days), float(run.y[0][-1]), 1e-5)


def _harvested() -> Iterable[Value]:
    """The part whose harvest once a day leaves a growing culture where it was."""
    from scipy.optimize import brentq

    for start, end, days in ((50.0, 200.0, 4.0), (100.0, 180.0, 1.0), (80.0, 100.0, 0.5)):
        daily = (end / start) ** (1 / days)
        part = brentq(lambda h, d=daily: d * (1 - h) - 1, 0, 1, xtol=1e-14)
        yield Value(typed(start=start, end=end, days=days), part, 1e-9, "harvest")


def _washed() -> Iterable[Value]:
    """dC/dt = -k C - g stepped, with the floor as an event."""
    from scipy.integrate import solve_ivp

    for start, flow, volume, hours, floor, eaten in (
        (10.0, 4.0, 800.0, 4.0, 4.0, 0.0),
        (8.0, 1.5, 220.0, 3.0, 1.0, 250000.0),
        (5.0, 0.2, 60.0, 6.0, 2.0, 20000.0),
        (2.0, 0.0, 100.0, 5.0, 0.5, 30000.0),
    ):
        k, g = 60 * flow / volume, eaten / 1000 / volume

        def crossing(t: float, c: list[float], floor: float = floor) -> float:
            return c[0] - floor

        run = solve_ivp(
            lambda t, c, k=k, g=g: -k * c - g,
            (0, 40), [start], events=crossing, t_eval=[hours], method="LSODA",
            rtol=1e-11, atol=1e-11,
        )  # fmt: skip
        asked = typed(start=start, flow=flow, volume=volume, hours=hours, floor=floor, eaten=eaten)
        yield Value(asked, float(run.y[0][0]), 1e-6)
        yield Value(asked, float(run.t_events[0][0]), 1e-5, "hours_to_floor")


def _dripped() -> Iterable[Value]:
    """The drip a stirred tank settles at: the inflow that leaves a density where it is."""
    from scipy.optimize import brentq

    for density, flow, volume in ((1.0, 2.0, 400.0), (0.1, 4.0, 800.0), (6.5, 0.8, 60.0)):
        prey = brentq(
            lambda p, c=density, q=flow, v=volume: p / (1000 * v) - q / v * c, 0, 1e6, xtol=1e-9
        )
        yield Value(typed(density=density, flow=flow), prey, 1e-4)


def _dosed() -> Iterable[Value]:
    """Concentrate that brings a tank from what is left to the target, by bisection."""
    from scipy.optimize import brentq

    for volume, target, left, strong in ((800.0, 10.0, 4.0, 8000.0), (60.0, 5.0, 0.0, 2500.0),
                                         (220.0, 2.0, 1.9, 12000.0)):  # fmt: skip
        poured = brentq(
            lambda x, v=volume, t=target, a=left, s=strong: (a * v * 1000 + x * s) / v / 1000 - t,
            0, 1e6, xtol=1e-10,
        )  # fmt: skip
        asked = typed(volume=volume, target=target, residual=left, concentrate=strong)
        yield Value(asked, poured, 1e-5)


def _chlorine_of_recipe(asked: Mapping[str, str]) -> float:
    """g of chlorine a gram in 4.77 L of 5.25 % bleach for 500 g, by the bleach calculator."""
    strength = working_out.work("chlorine-strength", {"percent": "5.25", "basis": "trade"}).value
    assert strength is not None
    return 4.77 * strength / 500


def _chlorine_needed(asked: Mapping[str, str]) -> float:
    """g of available chlorine the rule takes, whatever it comes in."""
    bleach = working_out.work("decapsulation", asked).value
    assert bleach is not None
    return bleach / 1000 * float(asked["bleach"])


def _yield(asked: Mapping[str, str]) -> float:
    """Rotifers a harvest takes, million per L per day: density x the part that holds it."""
    part = working_out.work("rotifer-growth", asked).also["harvest"]
    assert isinstance(part, float)
    return float(asked["start"]) * part / 1000


def _length_at(asked: Mapping[str, str]) -> float:
    """Length at which the mouth is as wide as a nauplius is long, by bisection."""
    from scipy.optimize import brentq

    def off(length: float) -> float:
        width = working_out.work("gape", {"length": f"{length:.9f}"}).value
        assert width is not None
        return width - 0.428

    found: float = brentq(off, 1, 10, xtol=1e-9)
    return found


_FAO = "Lavens and Sorgeloos 1996, FAO Fisheries Technical Paper 361"
_GHENT = (
    "Ghent University larviculture newsletter 43 (1997): 500 g, 4.77 L of 5.25 % bleach, 75 g "
    "NaOH, 2.2 L water"
)
_KKT1 = "Artemia KKT1, J. Biol. Res. 5 (2005), abstract: 230 600 nauplii/g, 661 mg/g"
_STEPPED = "LSODA steps to 1e-11; our formula is its exact solution"
_ROOT = "solved by bisection to rounding; the formula is its solution"

SOURCES: tuple[Source, ...] = (
    Source(
        "decapsulation",
        _GHENT,
        "the recipe is rounded to 10 mL of bleach and 0.1 L of water",
        _fixed(
            Value(typed(cysts=500, bleach=52.5), 4770, 10),
            Value(typed(cysts=500, bleach=52.5), 2200, 45, "water"),
            Value(typed(cysts=500, bleach=52.5), 75, 1e-9, "caustic"),
            Value(typed(cysts=500, bleach=52.5), 6970, 40, "total"),
        ),
    ),
    Source(
        "decapsulation",
        "sturgeon Artemia decapsulation abstract: 300 mL for 21 g",
        "300 is 14.3 mL a gram beside 14",
        _fixed(Value(typed(cysts=21, bleach=60), 300, 6.5, "total")),
    ),
    Source(
        "decapsulation",
        f"{_FAO}, worksheet 4.3.2: 0.5 g chlorine, 0.15 g NaOH and 14 mL a gram; from memory",
        "whole figures",
        _fixed(
            Value(typed(cysts=1, bleach=50), 10, 1e-9),
            Value(typed(cysts=1, bleach=50), 0.15, 1e-9, "caustic"),
            Value(typed(cysts=1, bleach=50), 14, 1e-9, "total"),
        ),
    ),
    Source(
        "chlorine-strength",
        f"{_GHENT}: against the 0.5 g of chlorine a gram of {_FAO}",
        "0.50085 beside 0.5",
        _fixed(Value({}, 0.5, 0.002)),
        work=_chlorine_of_recipe,
    ),
    Source(
        "hatch-percent",
        f"{_FAO}, worksheet 4.3.4, 100 N / (N + U + E); from memory; with 69.2 % of KKT1, "
        "J. Biol. Res. 5 (2005)",
        "printed to a tenth",
        _fixed(
            Value(typed(nauplii=69.2, umbrella=0, embryos=30.8), 69.2, 0.006),
        ),
    ),
    Source(
        "hatch-efficiency",
        f"{_FAO}, worksheet 4.3.4: 1.6 g in 80 mL, 0.25 mL counted, HE = 200 N; from memory",
        "whole numbers",
        _fixed(
            *(
                Value(typed(count=n, subsample=0.25, volume=80, cysts=1.6), 200 * n, 0.5)
                for n in (1000, 1153, 1350)
            )
        ),
    ),
    Source(
        "hatch-efficiency",
        f"{_KKT1}, so 2.866 ug a nauplius (published strains: 1.63 to 3.33)",
        "the weight to its printed digits",
        _fixed(
            Value(
                typed(count=1153, subsample=0.25, volume=80, cysts=1.6, weight=2.866),
                661,
                0.3,
                "output",
            )
        ),
    ),
    Source(
        "cysts-needed",
        "SRAC Publication 702: a gram of good cysts gives 200 000 to 300 000 nauplii",
        "whole numbers",
        _fixed(
            Value(typed(nauplii=200000, efficiency=200000), 1, 1e-9),
            Value(typed(nauplii=300000, efficiency=300000), 1, 1e-9),
        ),
    ),
    Source(
        "cysts-needed",
        "FAO freshwater prawn manual, annex 4: no more than 2 g of cysts a liter",
        "whole numbers",
        _fixed(Value(typed(nauplii=5000000, efficiency=250000), 10, 1e-9, "water")),
    ),
    Source(
        "aliquot",
        "Garwood 1936, exact 95 % Poisson limits (Pearson and Hartley, table 40); 0 and 10 read, "
        "the rest from memory",
        "printed to three decimals",
        _garwood,
    ),
    Source(
        "aliquot",
        "scipy.stats: chisquare, variation, chi2.ppf, t.interval",
        "other routes to the same quantiles; limits are of some 10 000 to 1 000 000",
        _aliquots,
    ),
    Source(
        "rotifer-growth",
        "rotifer compendium page: a 40 % daily harvest needs 166.7 % a day",
        "printed to four digits",
        _fixed(Value(typed(start=100, end=166.7, days=1), 0.4, 0.0002, "harvest")),
    ),
    Source(
        "rotifer-growth",
        "what a daily harvest has to take, by scipy.optimize.brentq",
        _ROOT,
        _harvested,
    ),
    Source(
        "rotifer-forecast",
        "rotifer compendium page: 2.15 % an hour for a day is 166.7 %",
        "2.15 is printed to three digits: 0.1 of 166.7",
        _fixed(Value(typed(start=100, r=24 * log(1.0215), days=1), 166.7, 0.15)),
    ),
    Source("rotifer-forecast", "growth stepped by scipy.integrate.solve_ivp", _STEPPED, _grown),
    Source(
        "egg-ratio",
        "Paloheimo 1974, Limnology and Oceanography 19:692: E = exp(b D) - 1 in steady growth, "
        "solved by scipy.optimize.brentq",
        _ROOT,
        _born,
    ),
    Source(
        "rotifer-ration",
        f"{_FAO}: baker's yeast, 1 g a million a day; from memory",
        "whole numbers",
        _fixed(Value(typed(number=80000000, ration=1), 80, 1e-9)),
    ),
    Source("prey-dose", "mixing balance solved by scipy.optimize.brentq", _ROOT, _dosed),
    Source(
        "prey-washout",
        "stirred tank with eating, stepped by scipy.integrate.solve_ivp",
        _STEPPED,
        _washed,
    ),
    Source("prey-drip", "stirred tank at rest, by scipy.optimize.brentq", _ROOT, _dripped),
    Source(
        "gape",
        "Oetker 1998, thesis, Michigan State University, regressions of the abstract",
        "the regression worked to four decimals",
        _fixed(
            Value(typed(length=5.5), 0.2832, 0.0001),
            Value(typed(length=5.5), 0.2770, 0.0001, "height"),
            Value(typed(length=6.0), 0.3215, 0.0001),
            Value(typed(length=6.0), 0.3181, 0.0001, "height"),
            Value(typed(length=8.0), 0.5081, 0.0001),
            Value(typed(length=9.5), 0.6830, 0.0001),
            Value(typed(length=9.5), 0.7063, 0.0001, "height"),
        ),
    ),
    Source(
        "gape",
        "Oetker 1998: as wide at 7.21 mm as a San Francisco Bay nauplius is long (428 um, "
        "Vanhaecke and Sorgeloos 1980)",
        "printed to two decimals",
        _fixed(Value({}, 7.21, 0.001)),
        work=_length_at,
    ),
)

DIFFERS: tuple[Differs, ...] = (
    Differs(
        "decapsulation",
        "325 g of 70 % calcium hypochlorite for 500 g of cysts, so 227.5 g of chlorine",
        227.5,
        250,
        0.01,
        typed(cysts=500, bleach=50),
        "the powder recipe takes 0.455 g a gram, the rule 0.5; the factor can be set",
        "Ghent University larviculture newsletter 43 (1997)",
        work=_chlorine_needed,
    ),
    Differs(
        "decapsulation",
        "320 mL of 5.25 % bleach for 100 g of cysts",
        320,
        952.381,
        0.01,
        typed(cysts=100, bleach=52.5),
        "0.168 g of chlorine a gram, a third of the rule; the factor can be set",
        "cyst supplier page",
    ),
    Differs(
        "decapsulation",
        "2.0 L of 12 % bleach for 1362 g of cysts",
        2000,
        5675,
        0.01,
        typed(cysts=1362, bleach=120),
        "0.176 g of chlorine a gram, a third of the rule; the factor can be set",
        "live-food mailing-list archive 1997",
    ),
    Differs(
        "decapsulation",
        "4.3 L of 6 % bleach for 430 g of cysts",
        4300,
        3583.333,
        0.01,
        typed(cysts=430, bleach=60),
        "0.6 g of chlorine a gram, a fifth more than the rule; the factor can be set",
        "decapsulation protocol page 2013",
    ),
    Differs(
        "rotifer-growth",
        "257.6 per mL diluted by 25 % a day yields 0.21 million per L per day",
        0.21,
        0.0644,
        0.0001,
        typed(start=257.6, end=257.6 / 0.75, days=1),
        "density x dilution is 0.0644; the printed yield is 3.3 times that, and not explained",
        "Kostopoulou et al. 2012, Aquaculture Research 43:91, abstract",
        work=_yield,
    ),
)
