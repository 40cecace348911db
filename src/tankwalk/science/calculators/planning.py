"""Before it is done, declared: tanks of a trial, how many to count, and a day to come."""

from __future__ import annotations

from datetime import timedelta
from math import ceil

from tankwalk.errors import Refusal
from tankwalk.science import comparison, growth, survival
from tankwalk.science.calculators.declare import (
    MEASURE,
    Answer,
    Calculator,
    Extra,
    Form,
    Given,
    Input,
    Output,
)

LONGEST = 400.0
"""Days ahead that a date is said for."""


def _tanks(given: Given) -> Answer:
    difference, sd, power, alpha = (
        given.number(key) for key in ("difference", "sd", "power", "alpha")
    )
    groups = given.count("groups")
    n = comparison.tanks_needed(difference, sd, power, alpha, groups)
    also: dict[str, Extra] = {
        "tanks": float(n * groups),
        "found": comparison.found_with(n, sd, power, alpha, groups),
        "with_three": comparison.found_with(3, sd, power, alpha, groups),
    }
    return Answer(float(n), also)


def _count(given: Given) -> Answer:
    share = given.maybe("share")
    needed = survival.count_needed(
        given.number("error") / 100, given.number("confidence"), share, given.maybe("of")
    )
    if share is None and given.has("of"):
        raise Refusal("of is asked with a share alone.")
    return Answer(float(ceil(needed - 1e-9)), {"exactly": needed})


def _days_to(given: Given) -> Answer:
    needed, done, warm, base = (
        given.number(key) for key in ("needed", "done", "temperature", "base")
    )
    days = growth.days_to(needed, done, warm, base)
    also: dict[str, Extra] = {"day": None, "warmer": growth.days_to(needed, done, warm + 1, base)}
    also["cooler"] = growth.days_to(needed, done, warm - 1, base) if warm - 1 > base else None
    if given.has("from") and days <= LONGEST:
        also["day"] = (given.day("from") + timedelta(days=ceil(days - 1e-9))).isoformat()
    return Answer(days, also)


TRIAL: tuple[Calculator, ...] = (
    Calculator(
        "tanks-needed",
        "Tanks a treatment, before the trial",
        (
            Input("difference", "difference between two means that matters", of=MEASURE),
            Input("sd", "spread between tanks of one treatment", of=MEASURE),
            Input("power", "chance to find it", default=0.8),
            Input("alpha", "chance to find what is not there", default=0.05),
            Input("groups", "treatments", form=Form.COUNT, default=2, meant=(2, 30)),
        ),
        Output("value", "", 0, "tanks a treatment"),
        "smallest n with difference >= shift s sqrt(2/n), shift of the noncentral t with "
        "groups (n - 1) degrees of freedom",
        "Cohen 1988, Statistical power analysis, ch. 2 (from memory)",
        "tank means, about normal, one pair planned before; for several pairs lower alpha",
        _tanks,
        example="difference=8 | sd=5 | groups=3",
        also=(
            Output("tanks", "", 0, "tanks in all"),
            Output("found", "", 2, "difference found with so many"),
            Output("with_three", "", 2, "difference found with 3 a treatment"),
        ),
        find="power sample size replicates trial design",
    ),
)

COUNTS: tuple[Calculator, ...] = (
    Calculator(
        "count-needed",
        "How many to count",
        (
            Input("error", "give or take, of the count or of the share", "%", meant=(0.5, 50)),
            Input("confidence", "how sure, as a fraction", default=0.95),
            Input("share", "share you expect, where it is one", "fraction", needed=False),
            Input("of", "how many there are in all", needed=False),
        ),
        Output("value", "", 0, "to count in all"),
        "a number: (z / e)^2; a share: z^2 p (1 - p) / e^2, e in points, / (1 + (n - 1) / N)",
        "Cochran 1977, Sampling Techniques, 4.4; Elliott 1977; both from memory",
        "animals one apart from the other, a well mixed tank; a share of 0.1 to 0.9",
        _count,
        example="error=10 %",
        also=(Output("exactly", "", 1, "before rounding up"),),
        find="sample size subsample precision larvae rotifers",
    ),
)

FISH: tuple[Calculator, ...] = (
    Calculator(
        "degree-days-to",
        "Days to a stage by degree-days",
        (
            Input("needed", "degree-days the stage takes", "degC d", meant=(1, 20000)),
            Input("done", "degree-days so far", "degC d", default=0, meant=(0, 20000)),
            Input(
                "temperature",
                "daily mean to come",
                "degC",
                item="temp",
                meant=(-2, 40),
            ),
            Input("base", "base temperature", "degC", default=0, meant=(-5, 30)),
            Input("from", "day it is counted from", form=Form.DAY, needed=False, fact="today"),
        ),
        Output("value", "d", 1),
        "days = (needed - done) / (T - base)",
        "Definition; the degree-days of a stage are your own stock's",
        "one steady temperature above the base",
        _days_to,
        example="needed=190 | done=64 | temperature=15.5 | from=2026-04-12",
        also=(
            Output("day", "", 0, "the day"),
            Output("warmer", "d", 1, "with 1 degC more"),
            Output("cooler", "d", 1, "with 1 degC less"),
        ),
        find="hatch date first feeding thermal units ATU forecast eggs",
    ),
)
