"""Tomorrow's feed, worked backwards: what is set, chilled and weighed, and how long it lasts."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import zip_longest

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.figures import percent_of, show
from tankwalk.pages.due_words import day_words
from tankwalk.pages.lines import Line, Span, blank, line, spread, wrapped
from tankwalk.pages.ration import why_words
from tankwalk.pages.when import at_words
from tankwalk.practice.feeding.forecast import Hatch, Standing, ToSet
from tankwalk.practice.feeding.meals import feed_words
from tankwalk.practice.feeding.tomorrow import (
    Chill,
    DryNeed,
    MealNeed,
    PreyFit,
    Remedy,
    Short,
    Tomorrow,
    Way,
)
from tankwalk.practice.tasks import ConeWater, OutOfLimit
from tankwalk.science.prey import Fit

NAME = 9
"""Cells of the name that stands before a part."""

CLOCK, NEED, AFTER, CAME = 10, 9, 11, 7
"""Cells of a meal's time, of what it needs, of what is left after it, of what came in before it."""

DAY_CELLS, BETWEEN = CLOCK + NEED + AFTER + CAME, 4
"""Cells of one day's meals, and between two days that stand side by side."""

NOTHING = "Nothing has to be set, chilled or weighed for tomorrow by the plan."


def draw(view: Tomorrow, width: int) -> list[Line]:
    """The whole page, as many lines as it needs: the worst first, then what is done tonight."""
    lines = [
        spread(width, [f" TOMORROW  {day_words(view.day)}"], [f"as of {view.now.short()} "], "head")
    ]
    for one in view.short:
        lines += wrapped(width, f"! {short_words(one, view.now)}", "watch", 3)
    for remedy in view.remedies:
        lines += wrapped(width, remedy_words(remedy, view.now), "plain", 2, "   ")
    if view.untold:
        words = f"Nauplii cannot be worked out for {text.named(list(view.untold))}: {_WHY_UNTOLD}"
        lines += wrapped(width, words, "plain", 3)
    if (not view.planned and view.untold != ()) or (not view.planned and view.meals):
        lines += wrapped(width, "No [[cysts]] in the plan: no cone is worked out.", "plain", 2)
    tonight = [row for one in view.to_set for row in _part("SET", set_sentences(one, view), width)]
    for stands in view.standing:
        tonight += _part("STANDS", [stands_words(stands, view.now)], width, _tone(stands))
    if view.chill is not None:
        tone = "plain" if view.chill.enough else "watch"
        name = "KEEP" if view.chill.cold else "CHILL"
        tonight += _part(name, [chill_words(view.chill, view.now)], width, tone)
    for dry in view.dry:
        tonight += _part("WEIGH", [dry_words(dry)], width)
    if tonight:
        lines += [blank(width), *tonight]
    if any(one.need for one in view.meals):
        lines += [blank(width), *_meals(view, width)]
    if view.prey:
        lines += [blank(width), *_prey(view, width)]
    if len(lines) == 1:
        lines += [blank(width), line(width, f" {NOTHING}")]
    return lines


_WHY_UNTOLD = "no ration, no fish entered or no mass sample. The amount is typed at the tank."


def _part(name: str, said: list[str], width: int, tone: str = "plain") -> list[Line]:
    """A part of the page: its name before its first sentence, the others below it."""
    rows: list[Line] = []
    for nth, words in enumerate(said):
        for part in text.wrap(words, width - NAME - 2):
            named = name if not rows else ""
            rows.append(
                line(
                    width,
                    Span(" " + text.pad(named, NAME), "bold"),
                    Span(part, tone if nth == 0 else "dim"),
                )
            )
    return rows


# ---- what is short, and what can be done


def short_words(one: Short, now: Instant) -> str:
    """What runs short, when, by how much: "Nauplii are short from 12:00 to Tue 08:00: 42 % ..."."""
    when = f"at {at_words(one.first, now)}"
    if one.last.utc != one.first.utc:
        when = f"from {at_words(one.first, now)} to {at_words(one.last, now)}"
    return (
        f"Nauplii are short {when}: {one.percent} % is missing, "
        f"{one.there:,.0f} of {one.need:,.0f} thousand are there."
    )


def remedy_words(one: Remedy, now: Instant) -> str:
    """One thing that can be done, a verb first."""
    ready = "" if one.from_ is None else at_words(one.from_, now)
    match one.way:
        case Way.HARVEST:
            return f"Harvest {one.batch} now: it is late; ready by {ready}."
        case Way.EXTRA_CONE:
            return (
                f"Set an extra cone now, {one.grams:.1f} g in {show(one.litres, 'L', 1)}: "
                f"ready {ready}."
            )
        case Way.SHARE:
            part = percent_of(one.share or 0)
            return f"Until more is there every tank gets {part} % of its ration."


# ---- what is set, stands, is chilled and weighed


def set_words(one: ToSet, now: Instant) -> str:
    """A cone to set, in a line: "by Tue 09:30: 61.0 g of AC-7 in 30.5 L"."""
    when = "now, it is late" if one.late else f"by {at_words(one.set_by, now)}"
    return f"{when}: {one.grams:.1f} g of {one.hatch.lot} in {show(one.litres, 'L', 1)}"


def set_sentences(one: ToSet, view: Tomorrow) -> list[str]:
    """A cone to set, sentence by sentence: when and of what, for which meals, how reckoned."""
    now, hatching = view.now, view.hatching
    held = sum(one.cones)
    cones = ""
    if one.cones:
        many = " + ".join(f"{volume:g}" for volume in one.cones)
        cones = f", cone{'s' if len(one.cones) > 1 else ''} of {many} L"
        if held < one.litres:
            cones += f": they hold {held:g} L and no more"
    meals = view.meals_of(one)
    found = [f"{set_words(one, now)}{cones}."]
    if one.shelled:
        of = " and ".join(f"{each.grams:.1f} g of {each.batch}" for each in one.shelled)
        found.append(f"Take {of}, shelled, first.")
    span = ""
    if meals:
        span = f" for {len(meals)} meals, {at_words(meals[0], now)} to {at_words(meals[-1], now)}"
    found += [
        f"Harvest {at_words(one.harvest, now)}{span}.",
        f"{one.thousand:,.0f} thousand and {100 * hatching.margin:.0f} % more; "
        f"{hatch_words(one.hatch)}.",
        f"Water: {hatching.temperature:g} degC, pH {hatching.ph:g} or more, "
        f"{hatching.salinity:g} g/kg, {hatching.light_lux:,.0f} lux.",
    ]
    return found


def hatch_words(one: Hatch) -> str:
    """What a lot is reckoned to give, and from what that is known."""
    how = f"last {one.own}" if one.own else "the plan"
    return f"{one.per_gram / 1000:g} thousand per g, {one.percent:.0f} % hatch ({how})"


def stands_words(one: Standing, now: Instant) -> str:
    """A cone that stands: when it is due and what it should give."""
    due = f"due {at_words(one.due, now)}"
    if one.late:
        due += ", late: harvest it now"
    gives = "how much it gives is not known"
    if one.thousand is not None:
        gives = f"{one.thousand:,.0f} thousand expected"
    words = f"{one.batch} {due}, ready {at_words(one.ready, now)}, {gives}."
    if one.out:
        words += f" {out_words(one.out)}"
    return words


def out_words(out: Sequence[OutOfLimit]) -> str:
    """What of a cone's water was not right, and what that means."""
    wrong = " and ".join(
        f"pH {each.value:g}" if each.of is ConeWater.PH else f"{each.value:g} degC" for each in out
    )
    return f"Its water was {wrong} at the last look: less may come."


def _tone(one: Standing) -> str:
    return "watch" if one.late or one.out else "plain"


def chill_words(one: Chill, now: Instant) -> str:
    """What is kept cold for the first meals of tomorrow."""
    meals = " and ".join(at_words(when, now) for when in one.meals)
    part = "" if one.share >= 1 else f", {percent_of(one.share)} % of the rations,"
    words = f"{one.thousand:,.0f} thousand{part} for {meals}"
    if one.ml is not None and one.batch is not None:
        words += f": {one.ml:,.0f} mL of {one.batch}"
    if not one.enough:
        words += f"; there will be {one.there:,.0f}"
    elif one.cold:
        words += ", cold already"
    return words + "."


def dry_words(one: DryNeed) -> str:
    """Dry feed of tomorrow: "dry feed D1: 3.71 g for 4 tanks"."""
    many = f"{one.tanks} tank{'s' if one.tanks != 1 else ''}"
    known = [f"{one.grams:,.2f} g for {many}"] if one.tanks else []
    if one.untold:
        why = "" if one.why is None else f" ({why_words(one.why)})"
        known.append(f"not known for {text.named(list(one.untold))}{why}")
    return f"{feed_words(one.feed)}: {'; '.join(known)}."


def prey_words(one: PreyFit) -> str:
    """A feed against the mouths: whether it fits, and of which fish."""
    fit = one.fit
    part = f"{100 * fit.part:.0f} % of a mouth"
    said = {
        Fit.FITS: f"fits, {part}",
        Fit.MARGINAL: f"is wide for them, {part}",
        Fit.TOO_WIDE: "is wider than their mouth",
    }[fit.fit]
    return (
        f"{feed_words(one.feed)}, {1000 * fit.width:.0f} um: {said} at {one.length:.1f} mm "
        f"({one.tank})."
    )


def mouth_words(view: Tomorrow) -> str:
    """Whose mouth the feeds were held against, where it is not their own; "" where it is."""
    others = sorted({one.species for one in view.prey if not one.fit.same})
    found = ""
    if others:
        found = f"The mouth is a {view.prey[0].fit.of}'s; these are {text.named(others)}."
    if any(one.fit.beyond for one in view.prey):
        found += " It is known below 10 mm only."
    return found.strip()


def _prey(view: Tomorrow, width: int) -> list[Line]:
    lines: list[Line] = []
    for one in view.prey:
        tone = "plain" if one.fit.fit is Fit.FITS else "watch"
        lines += _part("" if lines else "PREY", [prey_words(one)], width, tone)
    said = mouth_words(view)
    return lines + (_part("", [said], width, "dim") if said else [])


# ---- meal by meal


def _meals(view: Tomorrow, width: int) -> list[Line]:
    """What each meal needs and what is left after it, a column a day where there is room."""
    days = list(dict.fromkeys(one.meal.day for one in view.meals if one.need))
    shown = [day for day in days if (day - view.now.day).days <= 1]
    blocks = [_day(view, day) for day in shown]
    if width >= 1 + 2 * DAY_CELLS + BETWEEN and len(blocks) > 1:
        left, right = blocks
        empty: Line = (Span(" " * DAY_CELLS),)
        pairs = zip_longest(left, right, fillvalue=empty)
        return [line(width, " ", *one, " " * BETWEEN, *other) for one, other in pairs]
    return [line(width, " ", *row) for block in blocks for row in block]


def _day(view: Tomorrow, day: date) -> list[Line]:
    """The meals of one day: time, thousand needed, what is left, what came in."""
    rows = [one for one in view.meals if one.meal.day == day and one.need]
    name = "TODAY" if day == view.now.day else day_words(day).upper()
    found = [
        line(
            DAY_CELLS,
            Span(text.pad(name, CLOCK), "bold"),
            Span(text.pad("thousand", NEED, ">"), "dim"),
            Span(text.pad("have after" if view.kept else "", AFTER, ">"), "dim"),
        ),
        *(_meal(one, kept=view.kept) for one in rows),
    ]
    if len(rows) > 1:
        whole = f"{sum(one.need for one in rows):,.0f}"
        total = Span(text.pad("together", CLOCK) + text.pad(whole, NEED, ">"), "dim")
        found.append(line(DAY_CELLS, total))
    return found


def _meal(one: MealNeed, *, kept: bool) -> Line:
    """One meal; what is left after it is not known where nobody keeps the cones."""
    came = " ".join(batch or "new" for batch in one.ready) if kept else ""
    after = f"{one.after:,.0f}" if kept else ""
    return line(
        DAY_CELLS,
        Span(text.pad(one.meal.hm(), CLOCK)),
        Span(text.pad(f"{one.need:,.0f}", NEED, ">")),
        Span(text.pad(after, AFTER, ">"), "act" if kept and one.after < -0.5 else "plain"),
        Span(text.fit(f" {came}", CAME), "dim"),
    )
