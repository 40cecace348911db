"""Deaths and survival: daily rates, product-limit curves, what a census leaves unaccounted."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, log, sqrt

from tankwalk.errors import Refusal
from tankwalk.rows import NamedTuple
from tankwalk.science.distributions import Interval, beta_quantile, normal_quantile, probability
from tankwalk.science.limits import above_zero, answer, finite, zero_or_more

MOST_EXACT = 10_000_000
"""Exact limits of a fraction are worked out for up to this many; above it no one asks."""


class Account(NamedTuple):
    """What the book says is in a tank, and what a census leaves unaccounted."""

    book: float
    unaccounted: float
    percent: float | None
    """Of the book number; None where that is 0."""


class LogRank(NamedTuple):
    """Two survival curves compared: chi-square with one degree of freedom."""

    statistic: float | None
    expected: float
    """Deaths expected in the first group, were both alike."""


def daily_mortality(dead: float, number: float) -> float:
    """Dead in a day as a part of the fish alive at its start, in %/d.

    Equation: 100 d / n. Parameters: `dead` 0 or more; `number` above 0, and not below `dead`.
    Range: any. Errors: Refusal naming the input. Source: definition.
    """
    zero_or_more("dead", dead)
    above_zero("number", number)
    if dead > number:
        raise Refusal(f"dead is {dead:g}, more than the {number:g} fish in number.")
    return 100 * dead / number


def survival(stocked: float, deaths: Sequence[float], removed: Sequence[float] = ()) -> float:
    """Survival with fish taken out alive, as a fraction.

    Equation: S = product of (1 - d_i / n_i); n_i is what is left at the start of day i.
    Parameters: `stocked` above 0; `deaths` a day (or any other span), 0 or more; `removed` alive at
    the end of the same days, samples and transfers, 0 or more, as many or none at all.
    Returns 1 down to 0. Range: deaths that were seen; losses not seen need a census.
    Errors: Refusal naming the input; more dead or taken out than there were.
    Source: Kaplan & Meier 1958, J. Am. Stat. Assoc. 53:457, product-limit (from memory).
    """
    left = above_zero("stocked", stocked)
    if not deaths:
        raise Refusal("deaths has to hold at least one day; a day without any is 0.")
    if removed and len(removed) != len(deaths):
        raise Refusal(f"removed has {len(removed)} days and deaths {len(deaths)}: as many or none.")
    alive = 1.0
    for i, dead in enumerate(deaths):
        if zero_or_more("deaths", dead) > left:
            raise Refusal(f"deaths has {dead:g} on day {i + 1}, and only {left:g} were left.")
        # Written as one division, so that the last death leaves exactly 0.
        if left:
            alive *= (left - dead) / left
        left -= dead
        taken = zero_or_more("removed", removed[i]) if removed else 0.0
        if taken > left:
            raise Refusal(f"removed has {taken:g} on day {i + 1}, and only {left:g} were left.")
        left -= taken
    return alive


class Alive(NamedTuple):
    """A survival curve after one day with deaths or fish taken out: the part still alive."""

    day: float
    at_risk: float
    """Fish at its start."""
    part: float
    low: float
    high: float


def product_limit(
    stocked: float,
    days: Sequence[float],
    deaths: Sequence[float],
    removed: Sequence[float],
    came: Sequence[float] = (),
) -> list[Alive]:
    """The survival curve of a tank by its counted dead, with 95 % limits a point.

    Equation: S = product of (1 - d_i / n_i); limits S^exp(-+ z s / ln S), s^2 = sum of
    d_i / (n_i (n_i - d_i)), on the scale of ln(-ln S).
    Parameters: `stocked` above 0, or 0 where `came` says what came in; `days` rising, `deaths` and
    `removed` alive at the end of each, `came` at its beginning, 0 or more, all as many.
    Returns a point a day; where none or all have died the limits are the value itself.
    Range: the dead that were seen. The limits take fish as independent, which fish of one tank are
    not: they say how sure a tank's own curve is, and never compare treatments.
    Errors: Refusal naming the input; more dead or taken out than there were.
    Source: Kaplan & Meier 1958, J. Am. Stat. Assoc. 53:457; Greenwood 1926; the scale: Kalbfleisch
    & Prentice 1980 (all from memory).
    """
    if not came:
        above_zero("stocked", stocked)
    if not len(days) == len(deaths) == len(removed) or (came and len(came) != len(days)):
        raise Refusal("days, deaths, removed and what came have to be as many.")
    z = normal_quantile(0.975)
    left, alive, spread = stocked, 1.0, 0.0
    found = []
    for day, dead, taken, new in zip(days, deaths, removed, came or [0] * len(days), strict=True):
        left += zero_or_more("came", new)
        if zero_or_more("deaths", dead) + zero_or_more("removed", taken) > left:
            raise Refusal(
                f"deaths and removed have {dead + taken:g} on day {day:g}, and only {left:g} were "
                "left."
            )
        at_risk = left
        if dead:
            alive *= (left - dead) / left
            spread += dead / (left * (left - dead)) if left > dead else 0.0
        left -= dead + taken
        low = high = alive
        if 0 < alive < 1:
            width = z * sqrt(spread) / log(alive)
            low, high = alive ** exp(-width), alive ** exp(width)
        found.append(Alive(day, at_risk, alive, low, high))
    return found


def death_rate(start: float, end: float, days: float) -> float | None:
    """Instantaneous death rate Z, per day.

    Equation: Z = ln(start / end) / days.
    Parameters: `start` above 0, `end` 0 or more, `days` above 0. Returns None where none are left.
    Range: a steady rate; below 0 where there are more at the end. Errors: Refusal naming the input.
    Source: Ricker 1975, Bull. Fish. Res. Board Can. 191, eq. 1.5 (number from memory).
    """
    above_zero("start", start)
    zero_or_more("end", end)
    above_zero("days", days)
    if end == 0:
        return None
    return answer((log(start) - log(end)) / days, "start", "end", "days")


def count_gap(
    stocked: float,
    dead: float,
    sampled: float,
    culled: float,
    in_: float,
    out: float,
    census: float,
) -> Account:
    """What a census leaves unaccounted, in fish.

    Equation: book = stocked - dead - sampled - culled + in - out; unaccounted = book - census.
    Parameters: numbers of fish, 0 or more; `in_` is the input "in". Returns book, unaccounted
    (below 0: more were counted than the book holds, so a count was low) and it in % of the book.
    Range: any. Errors: Refusal naming the input; more taken out than there were.
    Source: definition. In walleye most of it is lost early: Neibauer et al. 2024, Front. Aquac.
    """
    parts = {
        "stocked": stocked,
        "dead": dead,
        "sampled": sampled,
        "culled": culled,
        "in": in_,
        "out": out,
        "census": census,
    }
    for name, value in parts.items():
        zero_or_more(name, value)
    book = stocked + in_ - dead - sampled - culled - out
    if book < 0:
        raise Refusal(
            f"stocked and in are {stocked + in_:g} fish, and more than that were dead, sampled, "
            "culled or moved out."
        )
    gap = book - census
    return Account(book, gap, 100 * gap / book if book > 0 else None)


# ---- fractions


def wilson_limits(count: float, of: float, confidence: float) -> Interval:
    """Limits of a fraction from a count, by Wilson's score.

    Equation: (p + z^2/2n -+ z sqrt(p(1-p)/n + z^2/4n^2)) / (1 + z^2/n).
    Parameters: `count` 0 to `of`, `of` above 0, `confidence` such as 0.95. Returns two fractions.
    Range: units that are independent; fish of one tank are not. Errors: Refusal naming the input.
    Source: Wilson 1927, J. Am. Stat. Assoc. 22:209 (from memory); Newcombe 1998, Stat. Med.
    17:857, method 3.
    """
    _part(count, of)
    z = normal_quantile((1 + probability("confidence", confidence)) / 2)
    # Over n, so that no count and no remainder of 0 leaves a rest of rounding.
    total = of + z**2
    middle = count + z**2 / 2
    half = z * sqrt(count * (of - count) / of + z**2 / 4)
    low = (middle - half) / total if count > 0 else 0.0
    high = (middle + half) / total if count < of else 1.0
    return Interval(low, high)


def exact_limits(count: float, of: float, confidence: float) -> Interval:
    """Exact limits of a fraction from a count: never too narrow, so best at none and at all.

    Equation: low = Beta(alpha/2; x, n-x+1), high = Beta(1-alpha/2; x+1, n-x).
    Parameters, range and errors as wilson_limits; `of` at most ten million.
    Source: Clopper & Pearson 1934, Biometrika 26:404 (from memory); Newcombe 1998, Stat. Med.
    17:857, method 5.
    """
    _part(count, of)
    if of > MOST_EXACT:
        raise Refusal(f"of has to be at most {MOST_EXACT:,} for exact limits; take wilson.")
    tail = (1 - probability("confidence", confidence)) / 2
    low = beta_quantile(tail, count, of - count + 1) if count > 0 else 0.0
    high = beta_quantile(1 - tail, count + 1, of - count) if count < of else 1.0
    return Interval(low, high)


def _part(count: float, of: float) -> None:
    zero_or_more("count", count)
    above_zero("of", of)
    if count > of:
        raise Refusal(f"count is {count:g}, more than the {of:g} it is a part of.")


# ---- survival curves


def survival_curve(times: Sequence[float], events: Sequence[float], at: float) -> float:
    """Fraction alive at a time, by the product-limit estimate.

    Equation: S(t) = product over deaths up to t of (1 - d_i / n_i).
    Parameters: `times` 0 or more, one a fish; `events`, 1 for a death then and 0 for a fish taken
    out alive then (which counts as at risk at that time); `at` 0 or more, in the same unit.
    Range: fish taken out for reasons that have nothing to do with dying; past the last time the
    curve is only carried on. Errors: Refusal naming the input.
    Source: Kaplan & Meier 1958, J. Am. Stat. Assoc. 53:457 (from memory).
    """
    _curve("times", "events", times, events)
    zero_or_more("at", at)
    alive = 1.0
    for time, dead in _deaths(times, events).items():
        if time <= at:
            at_risk = sum(other >= time for other in times)
            alive *= (at_risk - dead) / at_risk
    return alive


def log_rank(
    times1: Sequence[float],
    events1: Sequence[float],
    times2: Sequence[float],
    events2: Sequence[float],
) -> LogRank:
    """The log-rank test of two survival curves; its statistic is None where no one died.

    Equation: (O1 - E1)^2 / V, E1 = sum d n1/n, V = sum d (n1/n)(n2/n)(n-d)/(n-1).
    Parameters as survival_curve. Range: units that are independent: fish of one tank are not, so
    that tanks of a thousand fish always differ. Errors: Refusal naming the input.
    Source: Mantel 1966, Cancer Chemother. Rep. 50:163 (from memory); the caution: Hurlbert 1984,
    Ecol. Monogr. 54:187 (from memory).
    """
    _curve("times1", "events1", times1, events1)
    _curve("times2", "events2", times2, events2)
    seen = sum(events1)
    expected = variance = 0.0
    for time, dead in _deaths((*times1, *times2), (*events1, *events2)).items():
        first = sum(other >= time for other in times1)
        both = first + sum(other >= time for other in times2)
        share = first / both
        expected += dead * share
        if both != 1:
            variance += dead * share * (1 - share) * (both - dead) / (both - 1)
    return LogRank((seen - expected) ** 2 / variance if variance > 0 else None, expected)


def _deaths(times: Sequence[float], events: Sequence[float]) -> dict[float, float]:
    """How many died at each time at which any did, in order of time."""
    found: dict[float, float] = {}
    for time, event in sorted(zip(times, events, strict=True)):
        if event:
            found[time] = found.get(time, 0.0) + event
    return found


def _curve(
    times_key: str, events_key: str, times: Sequence[float], events: Sequence[float]
) -> None:
    if not times:
        raise Refusal(f"{times_key} has to hold at least one time.")
    if len(times) != len(events):
        raise Refusal(
            f"{events_key} has {len(events)} numbers and {times_key} {len(times)}: one each."
        )
    for time in times:
        zero_or_more(times_key, time)
    for event in events:
        if finite(events_key, event) not in (0, 1):
            raise Refusal(f"{events_key} has to be 1 (died) or 0 (taken out), not {event:g}.")


# ---- how many to count


def count_needed(
    error: float, confidence: float, share: float | None = None, of: float | None = None
) -> float:
    """How many to count for limits of give or take an error.

    Without a share n = (z / e)^2 things that scatter by chance, e a part of the count. With one
    n = z^2 p (1 - p) / e^2 looked at, e in the unit of the share; n / (1 + (n - 1) / N) of N.
    Parameters: error above 0, as a fraction; confidence and share between 0 and 1; of, how many
    there are, 1 or more. Returns a number, not rounded.
    Range: one apart from the other; a share of about 0.1 to 0.9.
    Errors: Refusal outside it.
    Source: Cochran 1977, Sampling Techniques, 4.4; Elliott 1977, n = 1 / D^2 for a standard error;
    both from memory.
    """
    above_zero("error", error)
    z = normal_quantile(0.5 + probability("confidence", confidence) / 2)
    if share is None:
        return answer((z / error) * (z / error), "error")
    probability("share", share)
    n = answer(z * z * share * (1 - share) / error / error, "error")
    return n if of is None else n / (1 + (n - 1) / above_zero("of", of))
