"""Fish: age, condition, growth, spread of sizes, feed."""

from __future__ import annotations

from tankwalk.science import age, growth
from tankwalk.science.calculators.declare import Answer, Calculator, Form, Given, Input, Output

SMALLEST_THERMAL = 1.0
"""g; below it fish are larvae, whose weight does not go with the cube of length."""


def _growth_rate(given: Given) -> Answer:
    start, end = given.number("start"), given.number("end")
    rate = growth.growth_rate(start, end, given.number("days"))
    lost = ("end is below start: the fish lost weight, or it was not the same fish.",)
    return Answer(rate, {"daily_gain": growth.daily_gain(rate)}, lost if end < start else ())


def _condition(given: Given) -> Answer:
    return Answer(growth.condition(given.number("weight"), given.number("length")))


def _relative_condition(given: Given) -> Answer:
    return Answer(
        growth.relative_condition(
            given.number("weight"), given.number("length"), given.number("a"), given.number("b")
        )
    )


def _dph(given: Given) -> Answer:
    hatched, on = given.day("hatched"), given.day("on")
    days = age.dph(hatched, on)
    if days is None:
        return Answer(None, {}, (f"on is {(hatched - on).days} d before the hatch.",))
    return Answer(float(days))


def _thermal_growth(given: Given) -> Answer:
    start = given.number("start")
    tgc = growth.thermal_growth(start, given.number("end"), given.number("degree_days"))
    return Answer(tgc, {}, _thermal(start))


def _thermal_weight(given: Given) -> Answer:
    start = given.number("start")
    weight = growth.thermal_weight(start, given.number("tgc"), given.number("degree_days"))
    return Answer(weight, {}, _thermal(start))


def _thermal(start: float) -> tuple[str, ...]:
    if start >= SMALLEST_THERMAL:
        return ()
    return (
        f"start is below {SMALLEST_THERMAL:g} g: the equation was not tried on larvae, which "
        "change shape as they grow; compare it with your own fish.",
    )


def _degree_days(given: Given) -> Answer:
    return Answer(growth.degree_days(given.series("temperatures"), given.number("base")))


def _size_spread(given: Given) -> Answer:
    found = growth.spread(given.series("values"))
    warnings: tuple[str, ...] = ()
    if found.cv is None:
        why = "one fish" if found.n < 2 else "a mean of 0"
        warnings = (f"values: {why} has no coefficient of variation.",)
    return Answer(found.cv, {"mean": found.mean, "sd": found.sd, "n": float(found.n)}, warnings)


def _feed_conversion(given: Given) -> Answer:
    ratio = growth.feed_conversion(
        given.number("feed"), given.number("start"), given.number("end"), given.number("dead")
    )
    none = ("end with dead is not above start: nothing was put on, so there is no ratio.",)
    return Answer(ratio, {}, none if ratio is None else ())


def _ration(given: Given) -> Answer:
    return Answer(
        growth.ration(given.number("number"), given.number("weight"), given.number("percent"))
    )


_START = Input("start", "mean weight at the start", "g", meant=(0.0005, 20000))
_DEGREE_DAYS = Input("degree_days", "degree-days, base 0 degC", "degC d", meant=(1, 20000))
_THERMAL_SOURCE = (
    "Iwama & Tautz 1981, Can. J. Fish. Aquat. Sci. 38:649 (from memory); cautions: Jobling 2003, "
    "Aquac. Res. 34:581"
)
_THERMAL_RANGE = "fish of 1 g or more, below their best temperature; not tried on larvae"

CALCULATORS: tuple[Calculator, ...] = (
    Calculator(
        "growth-rate",
        "Specific growth rate",
        (
            Input("start", "mean weight at the start", "mg", meant=(0.001, 1000000)),
            Input("end", "mean weight at the end", "mg", meant=(0.001, 1000000)),
            Input("days", "time between", "d", meant=(0.5, 400)),
        ),
        Output("value", "%/d", 2, "SGR"),
        "SGR = 100 ln(end / start) / days\ndaily gain = 100 (exp(SGR / 100) - 1)",
        "Ricker 1979, Growth rates and models, Fish Physiology 8:677 (from memory)",
        "weights above 0; an average over the time, not the rate of a day",
        _growth_rate,
        example="start=2.1 | end=9.8 | days=14",
        also=(Output("daily_gain", "%/d", 2, "put on in a day"),),
        find="SGR weight",
    ),
    Calculator(
        "condition",
        "Condition factor K",
        (
            Input("weight", "weight of the fish", "g", meant=(0.0001, 20000)),
            Input("length", "total length", "cm", meant=(0.3, 150)),
        ),
        Output("value", "", 3, "K", meant=(0.1, 3)),
        "K = 100 W / L^3",
        "Fulton 1904, Fishery Board for Scotland, 22nd report (from memory); Piper et al. 1982, "
        "Fish Hatchery Management, p. 61",
        "fish of one stage and one kind of length; K of larvae is not that of grown fish",
        _condition,
        example="weight=1.2 | length=5.4",
        find="K factor fulton",
    ),
    Calculator(
        "relative-condition",
        "Condition against the stock's usual",
        (
            Input("weight", "weight of the fish", "g", meant=(0.0001, 20000)),
            Input("length", "length", "mm", meant=(2, 1500)),
            Input("a", "factor of the stock, g and mm"),
            Input("b", "exponent of the stock", meant=(2, 4.5)),
        ),
        Output("value", "", 3, "Kn", meant=(0.3, 3)),
        "Kn = W / (a L^b)",
        "Le Cren 1951, The length-weight relationship of the perch, J. Anim. Ecol. 20:201 (from "
        "memory)",
        "the lengths that a and b were fitted to",
        _relative_condition,
        example="weight=1.2 | length=54 | a=0.000008 | b=3",
        find="K factor le cren",
    ),
    Calculator(
        "dph",
        "Days post hatch",
        (
            Input("hatched", "day half the lot had hatched", form=Form.DAY, fact="hatched"),
            Input("on", "day asked about", form=Form.DAY),
        ),
        Output("value", "d", 0, "dph"),
        "dph = on - hatched; the day half the lot had hatched is 0 dph",
        "common practice, no source; labs differ by a day",
        "from the day of hatch on",
        _dph,
        example="hatched=2026-04-19 | on=2026-05-10",
        find="age days old hatch",
    ),
    Calculator(
        "thermal-growth",
        "Thermal growth coefficient",
        (_START, Input("end", "mean weight at the end", "g", meant=(0.0005, 20000)), _DEGREE_DAYS),
        Output("value", "", 3, "TGC, times 1000", meant=(0.02, 10)),
        "TGC = 1000 (end^(1/3) - start^(1/3)) / sum T",
        _THERMAL_SOURCE + "; texts with 100 for 1000 are ten times lower",
        _THERMAL_RANGE,
        _thermal_growth,
        example="start=0.5 | end=2 | degree_days=600",
        find="TGC",
    ),
    Calculator(
        "thermal-weight",
        "Weight from thermal growth",
        (_START, Input("tgc", "coefficient, times 1000", meant=(0.05, 10)), _DEGREE_DAYS),
        Output("value", "g", 3),
        "W = (start^(1/3) + TGC / 1000 sum T)^3",
        _THERMAL_SOURCE,
        _THERMAL_RANGE,
        _thermal_weight,
        example="start=0.5 | tgc=0.7 | degree_days=600",
        find="TGC",
    ),
    Calculator(
        "degree-days",
        "Degree-days",
        (
            Input("temperatures", "daily means in order", "degC", Form.SERIES, meant=(-2, 40)),
            Input("base", "base temperature", "degC", default=0.0, meant=(-5, 30)),
        ),
        Output("value", "degC d", 1),
        "sum of max(0, T - base), one T a day",
        "common practice, no source",
        "one temperature a day",
        _degree_days,
        example="temperatures=15.8 16.1 16.4 16.6",
        find="thermal units ATU temperature",
    ),
    Calculator(
        "size-spread",
        "Spread of sizes",
        (Input("values", "one size a fish", form=Form.SERIES),),
        Output("value", "%", 2, "CV"),
        "CV = 100 s / mean; s = sqrt(sum (x - mean)^2 / (n - 1))",
        "definition",
        "2 fish or more, taken without choosing",
        _size_spread,
        example="values=9.1 9.6 8.8 10.2 9.4",
        also=(Output("mean", "", 4), Output("sd", "", 4), Output("n", "", 0)),
        find="CV variation length weight",
    ),
    Calculator(
        "feed-conversion",
        "Feed conversion ratio",
        (
            Input("feed", "feed given", "g"),
            Input("start", "biomass at the start", "g"),
            Input("end", "biomass at the end", "g"),
            Input("dead", "biomass of the dead", "g", default=0.0),
        ),
        Output("value", "", 2, "FCR", meant=(0.1, 20)),
        "FCR = feed / (end - start + dead); without dead it is the economic ratio",
        "definition",
        "biomass from a census, not from book numbers",
        _feed_conversion,
        example="feed=820 | start=310 | end=1050 | dead=12",
        find="FCR",
    ),
    Calculator(
        "ration",
        "Feed for a day",
        (
            Input("number", "fish in the tank", fact="number"),
            Input("weight", "mean weight", "mg", meant=(0.01, 1000000)),
            Input("percent", "part of body weight a day", "%/d", meant=(0.1, 100)),
        ),
        Output("value", "g/d"),
        "ration = number x weight x percent / 100",
        "definition",
        "any; the percent is the feeding table's",
        _ration,
        example="number=400 | weight=250 | percent=4",
        find="feed amount",
    ),
)
