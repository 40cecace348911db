"""The working of one tank's rations: every number with its unit, where it is from, and the sum."""

from __future__ import annotations

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.figures import show
from tankwalk.pages.lines import Line, Span, blank, line, spread, wrapped
from tankwalk.pages.when import at_words
from tankwalk.plan.model import RationBy
from tankwalk.practice.feeding.dispensing import MealList, Portion, Row
from tankwalk.practice.feeding.in_water import Left, LeftHow
from tankwalk.practice.feeding.meals import feed_words
from tankwalk.practice.feeding.rations import Fact, Missing, Need, What

EQUATIONS = {
    RationBy.TANK: "a meal = a day / meals",
    RationBy.FISH: "a meal = nauplii a fish x fish / 1000 / meals",
    RationBy.THOUSAND_FISH: "a meal = g per 1000 fish x fish / 1000 / meals",
    RationBy.BIOMASS: "a meal = % / 100 x fish x mass today / 1000 / meals",
    RationBy.DENSITY: "a meal = (per mL wanted - per mL left) x L",
}
"""How a meal is worked out, by what the ration goes."""

WHY_NOT = {
    Missing.RATION: "The plan has no [[ration]] for it at this age: type what goes in.",
    Missing.FISH: "No fish were ever entered for this tank: type what goes in.",
    Missing.MASS: "No mass sample of the last 60 days: type what goes in, and sample.",
}


def why_words(why: Missing) -> str:
    """Why an amount is not known, in a few words."""
    return {
        Missing.RATION: "no ration in the plan",
        Missing.FISH: "no fish entered",
        Missing.MASS: "no mass sample",
    }[why]


_NAMES = {
    What.FISH: "fish, best estimate",
    What.SAMPLED: "mass of a fish, sampled",
    What.DAYS: "days since",
    What.GROWS: "growth a day",
    What.MASS: "mass of a fish today",
    What.ALL: "all fish together",
    What.VOLUME: "water in the tank",
    What.LEFT: "left in the water",
    What.MEALS: "meals of the day",
    What.DAY: "for the day",
    What.MEAL: "for this meal",
}

NAME, VALUE = 25, 10
"""Cells of a number's name and of the number itself."""

WIDE = 78
"""From this width on there is room for when the fish were counted."""


def draw(view: MealList, tank: str, width: int) -> list[Line]:
    """The working of every feed of a tank at a meal."""
    row = view.row(tank)
    if row is None:
        return [line(width, f" {tank} is no tank of this list.")]
    left = f" RATION  {tank}  {row.tank.treatment or ''}"
    lines = [spread(width, [left], [f"meal {at_words(view.meal, view.now)} "], "head")]
    if row.off is not None:
        off = f"FEED OFF since {at_words(row.off.since, view.now)}, {row.off.who}: {row.off.words}"
        lines += wrapped(width, off, "watch", 2)
    if not row.portions:
        lines += [blank(width), line(width, " No feed is planned for it at this age.")]
    for one in row.portions:
        lines += [blank(width), *_portion(view, row, one, width)]
    return lines


def _portion(view: MealList, row: Row, one: Portion, width: int) -> list[Line]:
    need, unit = one.need, one.feed.unit
    given = "-" if one.listed is None else amount(one.listed, unit)
    answer = [Span(f" {feed_words(one.feed)}: ", "bold"), Span(given, "entry")]
    if one.pours:
        of = " and ".join(
            f"{show(pour.ml, 'mL', 0 if pour.ml >= 10 else 1)} of {pour.batch} at "
            f"{show(pour.per_ml, 'per mL', 0)}"
            for pour in one.pours
        )
        answer.append(Span(f", {of}"))
    lines = [line(width, *answer)]
    if one.full is not None and one.listed is not None and one.listed < one.full and not row.off:
        share = 100 * one.listed / one.full
        lines += wrapped(
            width, f"{share:.0f} % of its ration of {amount(one.full, unit)}: too little is there.",
            "watch", 2,
        )  # fmt: skip
    lines += [_fact(fact, need, view.now, width) for fact in need.facts]
    if need.left is not None:
        lines += wrapped(width, left_words(need.left, view.now), "dim", 3, "   ")
    if need.missing is not None:
        lines += wrapped(width, WHY_NOT[need.missing], "watch", 2, "   ")
    elif need.ration is not None:
        lines += wrapped(width, EQUATIONS[need.ration.by], "dim", 2, "   ")
    if need.ration is not None and need.ration.source:
        lines += wrapped(width, f"Source: {need.ration.source}.", "dim", 2, "   ")
    return lines


def amount(value: float, unit: str) -> str:
    """An amount as it is measured out, with its unit."""
    if unit == "g":
        return f"{value:,.2f} g"
    return f"{value:,.0f} thousand" if value >= 10 else f"{show(value, 'thousand', 2)}"


def _fact(fact: Fact, need: Need, now: Instant, width: int) -> Line:
    """One number of the working: its name, the number on its unit, and where it is from."""
    name = _NAMES.get(fact.what, f"by the plan at {need.age} dph")
    said = ""
    if fact.what is What.FISH:
        said = "an upper guess"
        if fact.at is not None and width >= WIDE:
            said = f"counted {at_words(fact.at, now)}; {said}"
    elif fact.at is not None:
        said = at_words(fact.at, now)
    tone = "bold" if fact.what is What.MEAL else "plain"
    return line(
        width,
        Span("   " + text.pad(name, NAME), "dim"),
        Span(text.pad(_number(fact), VALUE, ">"), tone),
        Span(f" {fact.unit}"),
        Span(f"   {said}" if said else "", "dim"),
    )


def _number(fact: Fact) -> str:
    if fact.what in (What.FISH, What.DAYS, What.MEALS):
        return f"{fact.value:,.0f}"
    digits = 4 if abs(fact.value) < 10 else 2
    return f"{fact.value:,.{digits}f}".rstrip("0").rstrip(".")


def left_words(left: Left, now: Instant) -> str:
    """How it is known what is left in the water."""
    since = "" if left.since is None else at_words(left.since, now)
    eaten = f", {left.eaten:,.0f} eaten an hour" if left.eaten else ""
    carried = f"carried on at {show(left.flow, 'L/min', 1)}{eaten}"
    match left.how:
        case LeftHow.COUNTED:
            return f"Left: counted {since}, {show(left.start, 'per mL', 2)}; {carried}."
        case LeftHow.WORKED_OUT:
            return (
                f"Left: not counted since the meal of {since}; worked out from "
                f"{show(left.start, 'per mL', 2)} then, {carried}."
            )
        case LeftHow.NO_FLOW:
            return "Left: no flow was ever read, so nothing is taken to be left."
        case LeftHow.NOTHING_GIVEN:
            return "Left: nothing was given in the last two days."
