"""Words that the pages of stock share: a number with its error, a gap and its verdict."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.practice.stock.numbers import Number
from tankwalk.practice.stock.reconciling import Judged, Verdict


def date_of(at: Instant, now: Instant) -> str:
    """The day of a moment by its date, as stock is told by: "4 May", "today"."""
    return "today" if at.day == now.day else f"{at.wall.day} {at.wall.strftime('%b')}"


UNKNOWN = "?"
"""An error that nobody entered."""

VERDICTS = {
    Verdict.CHANCE: "within the error of the counts",
    Verdict.FINE: "fine",
    Verdict.EXPLAIN: "5 - 15 %: say why",
    Verdict.INVESTIGATE: "look into it",
    Verdict.LARVAE: "as expected of larvae",
    Verdict.MORE: "more than the book had: a count was low",
}

TONES = {
    Verdict.CHANCE: "plain",
    Verdict.FINE: "plain",
    Verdict.EXPLAIN: "check",
    Verdict.INVESTIGATE: "watch",
    Verdict.LARVAE: "plain",
    Verdict.MORE: "check",
}


def fish(many: int) -> str:
    """A number of fish: 4,400, and what is taken off as -575."""
    return f"{many:,}"


def error(number: Number) -> str:
    """The +/- of a number, in fish; "" where it was counted one by one."""
    if number.plus_minus is None:
        return UNKNOWN
    return f"{number.plus_minus:,.0f}" if number.plus_minus else ""


def percents(low: float | None, high: float | None) -> str:
    """Limits in percent: "23 - 34 %"; "" where they are not known."""
    return "" if low is None or high is None else f"{low:.0f} - {high:.0f} %"


def part(value: float | None, plus_minus: float | None = None) -> str:
    """A part of 1 in percent, with its error in points: "60 % +/- 5"."""
    if value is None:
        return "not known"
    more = "" if plus_minus is None else f" +/- {100 * plus_minus:.0f}"
    return f"{100 * value:.0f} %{more}"


def gap(one: Judged) -> str:
    """A census against what was expected: "1,131 of 3,929 missing, 29 % (22 - 36 %)"."""
    lost, expected = one.gap.lost, one.gap.expected.fish
    which = "missing" if lost >= 0 else "too many"
    percent = one.gap.percent
    if percent is None:
        return f"{fish(abs(lost))} {which}, none were expected"
    limits = percents(one.low, one.high)
    more = f" ({limits})" if limits else ""
    return f"{fish(abs(lost))} of {fish(expected)} {which}, {percent:.0f} %{more}"


def mass(grams: float) -> str:
    """Biomass as one says it: g below a kilogram."""
    return f"{grams / 1000:.2f} kg" if grams >= 1000 else f"{grams:.0f} g"


def handling(late: float | None) -> str:
    """When a tank is handled next: "today", "in 3 d", "2 d over"; "" where nothing is planned."""
    if late is None:
        return ""
    days = round(late)
    return "today" if days == 0 else f"{days} d over" if days > 0 else f"in {-days} d"
