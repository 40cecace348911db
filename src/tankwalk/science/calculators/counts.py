"""Counts: deaths, survival, what is unaccounted, limits of what was counted."""

from __future__ import annotations

from math import log

from tankwalk.science import signals, survival
from tankwalk.science.calculators.declare import (
    MEASURE,
    Answer,
    Calculator,
    Form,
    Given,
    Input,
    Output,
)
from tankwalk.science.distributions import poisson_limits
from tankwalk.science.limits import above_zero


def _daily_mortality(given: Given) -> Answer:
    return Answer(survival.daily_mortality(given.number("dead"), given.number("number")))


def _survival(given: Given) -> Answer:
    days = above_zero("days", given.number("days"))
    removed = given.series("removed") if given.has("removed") else ()
    left = survival.survival(given.number("stocked"), given.series("deaths"), removed)
    # 0 - log, so that a survival of 1 gives 0 and not -0.
    return Answer(left, {"z": (0.0 - log(left)) / days if left > 0 else None})


def _death_rate(given: Given) -> Answer:
    start, end = given.number("start"), given.number("end")
    rate = survival.death_rate(start, end, given.number("days"))
    if rate is None:
        return Answer(None, {}, ("end is 0: with none left there is no rate.",))
    more = ("end is above start: fish were added, or a count is off.",)
    return Answer(rate, {}, more if end > start else ())


def _count_gap(given: Given) -> Answer:
    found = survival.count_gap(
        *(
            given.number(key)
            for key in ("stocked", "dead", "sampled", "culled", "in", "out", "census")
        )
    )
    more = ("census is above the book: the stocking count or the census is off.",)
    return Answer(
        found.unaccounted,
        {"book": found.book, "percent": found.percent},
        more if found.unaccounted < 0 else (),
    )


def _proportion(given: Given) -> Answer:
    count, of, confidence = given.number("count"), given.number("of"), given.number("confidence")
    wilson = given.word("method") == "wilson"
    limits = survival.wilson_limits if wilson else survival.exact_limits
    low, high = limits(count, of, confidence)
    end = ("count is none or all: method=exact is never too narrow there.",)
    return Answer(
        count / of, {"low": low, "high": high}, end if wilson and count in (0, of) else ()
    )


def _count_limits(given: Given) -> Answer:
    count = given.number("count")
    low, high = poisson_limits(count, given.number("confidence"))
    return Answer(count, {"low": low, "high": high})


def _mortality_limit(given: Given) -> Answer:
    expected, quantile = given.number("expected"), given.number("quantile")
    if given.has("number"):
        limit = signals.binomial_limit(expected, given.count("number"), quantile)
    else:
        limit = signals.poisson_limit(expected, quantile)
    return Answer(float(limit))


def _survival_curve(given: Given) -> Answer:
    times, at = given.series("times"), given.number("at")
    alive = survival.survival_curve(times, given.series("events"), at)
    past = (f"at is past the last time, {max(times):g}: the curve is only carried on.",)
    return Answer(alive, {}, past if at > max(times) else ())


_CONFIDENCE = Input("confidence", "how sure, as a fraction", default=0.95)
_UNITS_ALONE = "fish counted one apart from the other; fish of one tank are not"

CALCULATORS: tuple[Calculator, ...] = (
    Calculator(
        "daily-mortality",
        "Deaths in a day",
        (
            Input("dead", "dead in the day", form=Form.COUNT, item="morts"),
            Input("number", "fish at the start of the day", fact="number"),
        ),
        Output("value", "%/d", 2),
        "100 dead / number",
        "definition",
        "number alive at the start of the day",
        _daily_mortality,
        example="dead=7 | number=1450",
        find="morts dead deaths",
    ),
    Calculator(
        "survival",
        "Survival from the dead seen",
        (
            Input("stocked", "fish stocked", form=Form.COUNT),
            Input("deaths", "dead, day by day", form=Form.SERIES),
            Input("days", "time in all", "d"),
            Input("removed", "taken out alive, same days", form=Form.SERIES, needed=False),
        ),
        Output("value", "fraction", 3),
        "S = product of (1 - dead_i / n_i), n_i left at the start of day i; z = -ln(S) / days",
        "Kaplan & Meier 1958, J. Am. Stat. Assoc. 53:457 (from memory)",
        "deaths that were seen; what was eaten or decayed only a census shows",
        _survival,
        example="stocked=1500 | deaths=12 9 7 4 | days=4",
        also=(Output("z", "per d", 4, "death rate"),),
        find="morts",
    ),
    Calculator(
        "death-rate",
        "Instantaneous death rate",
        (
            Input("start", "fish at the start"),
            Input("end", "fish at the end"),
            Input("days", "time between", "d"),
        ),
        Output("value", "per d", 4, "Z"),
        "Z = ln(start / end) / days",
        "Ricker 1975, Bull. Fish. Res. Board Can. 191, eq. 1.5 (number from memory)",
        "a steady rate over the time",
        _death_rate,
        example="start=1500 | end=1310 | days=14",
        find="morts mortality",
    ),
    Calculator(
        "count-gap",
        "Fish unaccounted at a census",
        (
            Input("stocked", "fish stocked", form=Form.COUNT),
            Input("dead", "dead taken out", form=Form.COUNT),
            Input("sampled", "taken for samples", form=Form.COUNT, default=0.0),
            Input("culled", "culled", form=Form.COUNT, default=0.0),
            Input("in", "moved in", form=Form.COUNT, default=0.0),
            Input("out", "moved out", form=Form.COUNT, default=0.0),
            Input("census", "counted now"),
        ),
        Output("value", "", 0, "unaccounted fish"),
        "book = stocked - dead - sampled - culled + in - out\n"
        "unaccounted = book - census; percent of the book",
        "definition; in walleye most of it is lost in the first 8 days: Neibauer et al. 2024, "
        "Front. Aquac.",
        "any; below 0 more were counted than the book holds",
        _count_gap,
        example="stocked=1500 | dead=120 | sampled=20 | census=1290",
        also=(Output("book", "", 0, "by the book"), Output("percent", "%", 1, "of the book")),
        find="census inventory missing",
    ),
    Calculator(
        "proportion",
        "A fraction with its limits",
        (
            Input("count", "counted", form=Form.COUNT),
            Input("of", "out of", form=Form.COUNT),
            _CONFIDENCE,
            Input(
                "method",
                "how the limits are found",
                form=Form.WORD,
                default="wilson",
                choices=("wilson", "exact"),
            ),
        ),
        Output("value", "fraction", 3),
        "wilson: (p + z^2/2n -+ z sqrt(p(1-p)/n + z^2/4n^2)) / (1 + z^2/n)\n"
        "exact: low Beta(alpha/2; x, n-x+1), high Beta(1-alpha/2; x+1, n-x)",
        "Wilson 1927, J. Am. Stat. Assoc. 22:209; Clopper & Pearson 1934, Biometrika 26:404 (both "
        "from memory); Newcombe 1998, Stat. Med. 17:857, methods 3 and 5",
        _UNITS_ALONE,
        _proportion,
        example="count=7 | of=30",
        also=(Output("low", "fraction", 3), Output("high", "fraction", 3)),
        find="percent share interval",
    ),
    Calculator(
        "count-limits",
        "A count with its limits",
        (Input("count", "counted", form=Form.COUNT), _CONFIDENCE),
        Output("value", "", 0),
        "low = chi2(alpha/2; 2c) / 2; high = chi2(1 - alpha/2; 2c + 2) / 2",
        "Garwood 1936, Biometrika 28:437 (from memory)",
        "things spread by chance alone, as in a well mixed sample",
        _count_limits,
        example="count=31",
        also=(Output("low", "", 1), Output("high", "", 1)),
        find="interval Poisson",
    ),
    Calculator(
        "mortality-limit",
        "Deaths that chance explains",
        (
            Input("expected", "deaths usual for the day"),
            Input("quantile", "part of days within", default=0.99),
            Input("number", "fish, for few of them", form=Form.COUNT, needed=False, fact="number"),
        ),
        Output("value", "", 0, "deaths; an alarm is more"),
        "smallest c with P(X <= c) >= quantile\n"
        "X Poisson with mean expected; with number binomial, chance expected / number",
        "quantiles of Poisson and binomial by definition",
        "deaths one apart from the other, expected from 5 days or more; where variance is above "
        "the mean it alarms too often",
        _mortality_limit,
        example="expected=4",
        find="morts alarm",
    ),
    Calculator(
        "survival-curve",
        "Survival at a time",
        (
            Input("times", "time of each fish", form=Form.SERIES),
            Input("events", "1 died then, 0 taken out", form=Form.SERIES),
            Input("at", "time asked about", of=MEASURE),
        ),
        Output("value", "fraction", 3, "S(t)"),
        "S(t) = product over deaths up to t of (1 - d_i / n_i)",
        "Kaplan & Meier 1958, J. Am. Stat. Assoc. 53:457 (from memory)",
        "fish taken out for reasons apart from dying; it describes a tank and tests no treatment",
        _survival_curve,
        example="times=3 5 8 12 | events=1 1 0 1 | at=10",
        find="Kaplan Meier",
    ),
)
