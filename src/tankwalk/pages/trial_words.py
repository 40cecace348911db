"""A trial in words: what each measure is, how it was made, what the analysis says and assumes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from tankwalk import text
from tankwalk.figures import show
from tankwalk.pages import feed_words
from tankwalk.plan.trial import NO_FISH
from tankwalk.practice.trial.comparing import (
    FAR,
    NORMAL_NEEDS,
    SOME_SPREAD,
    Compared,
    How,
    missing_by_reason,
)
from tankwalk.practice.trial.fates import Unfinished
from tankwalk.practice.trial.gathering import Gathered
from tankwalk.practice.trial.measures import Measure, Missing, Topic, What

__all__ = ["NO_FISH", "assumed", "found", "head", "label", "method", "not_known", "notes", "pair"]

UNIT_IS_TANK = "The tank is the unit"

LABELS = {
    What.CENSUS: "Survival to the census{at}, % of stocked",
    What.CENSUS_LESS: "Survival to the census{at}, % of stocked less fish taken out",
    What.SEEN: "Survival by the dead that were seen,{to}, %",
    What.UNACCOUNTED: "Unaccounted at the census{at}, % of stocked",
    What.LENGTH: "Total length{at}, mm",
    What.MASS: "Wet mass{at}, mg",
    What.CONDITION: "Condition K{at}, 100 g/cm3",
    What.CV_LENGTH: "Spread of lengths{at}, CV %",
    What.CV_MASS: "Spread of masses{at}, CV %",
    What.SGR: "Growth rate SGR of mass to{at}, % a day",
    What.TGC: "Thermal growth TGC x 1000 to{at}",
    What.GAIN: "Biomass gained to{at}, g a tank",
    What.SHARE: "{sample}{at}, % of fish looked at",
    What.LIVE: "Live feed given, thousand a tank a day",
    What.DRY: "Dry feed given, g a tank",
    What.OF_PLAN: "Feed given, % of planned",
    What.MISSED: "Meals missed, of a tank",
    What.FCR: "Feed conversion, dry feed over gain",
    What.WATER: "{item}, mean, {unit}",
    What.OUT: "{item}, % of looks out of band",
    What.STOCKED: "Fish stocked, at the start",
}

METHODS = {
    What.CENSUS: "All fish counted, over the fish stocked. Fish kept of samples count as lost.",
    What.CENSUS_LESS: (
        "All fish counted, over the fish stocked less those taken out alive before (samples kept, "
        "culled, cannibals, moved)."
    ),
    What.SEEN: (
        "Product-limit of the dead that were counted, fish taken out alive leaving the number at "
        "risk on their day. Larvae that vanish are not in it: it is an upper figure, and no census."
    ),
    What.UNACCOUNTED: (
        "The book at the census less the census, over the fish stocked: eaten, decayed, escaped or "
        "miscounted."
    ),
    What.LENGTH: "Mean of the fish measured, one value a tank.",
    What.MASS: "Mean of the fish weighed, one value a tank.",
    What.CONDITION: (
        "100 x mass (g) / length3 (cm) of a tank's two means; not the mean of the fish's own K."
    ),
    What.CV_LENGTH: "Standard deviation of the fish measured over their mean.",
    What.CV_MASS: "Standard deviation of the fish weighed over their mean.",
    What.SGR: "100 (ln last mass - ln first mass) / days, of the first and last sample of a tank.",
    What.TGC: (
        "1000 (last mass^(1/3) - first mass^(1/3)) / degree-days, g; degree-days are the mean of "
        "the days read, times the days, where half of the days were read. Suspect looks are left "
        "out. Not shown to hold for larvae."
    ),
    What.GAIN: (
        "Best number times mean mass at the last sample, less the number at the first times its "
        "mass."
    ),
    What.SHARE: "Fish that had it over fish looked at, one value a tank.",
    What.LIVE: "All live feed entered, over the days of the trial so far.",
    What.DRY: "All dry feed entered.",
    What.OF_PLAN: "Mean over meals of given / planned, where the plan of the meal was kept.",
    What.MISSED: "Planned meals that nobody entered, and those entered as missed.",
    What.FCR: (
        "Dry feed from the first sample of mass to the last, over the biomass gained between them, "
        "only where nothing else was eaten."
    ),
    What.WATER: (
        "Mean of the looks in a tank; a second reading counts in place of the first; suspect "
        "looks are left out."
    ),
    What.OUT: "Looks outside the band in force that day, of those that had one.",
    What.STOCKED: "Fish stocked by the entry, with its method.",
}

WHY = {
    Missing.NOT_STOCKED: "no stocking was entered",
    Missing.NOT_COUNTED: "not counted at this census",
    Missing.NO_CENSUS: "no census yet, and the book holds fish that are gone",
    Missing.NOT_SAMPLED: "not sampled that day",
    Missing.ONE_SAMPLE: "sampled only once",
    Missing.NO_LOOKS: "no reading that counts",
    Missing.NO_PLAN: "no planned amount was kept",
    Missing.MOVED_IN: "fish were moved in later",
    Missing.LIVE_FEED: "live feed was eaten too, and nobody weighed it",
    Missing.NO_GAIN: "no gain to divide by",
}


def label(measure: Measure) -> str:
    """What a measure is, with its moment and its unit."""
    at = to = ""
    if measure.age is not None:
        at, to = f" at {measure.age} dph", f" to {measure.age} dph"
    elif measure.on is not None:
        at, to = f" of {day(measure.on)}", f" to {day(measure.on)}"
    item = measure.item.label if measure.item is not None else ""
    words = LABELS[measure.what].format(
        at=at, to=to, item=item, unit=measure.unit or "no unit", sample=measure.sample.capitalize()
    )
    return words.replace("to at ", "to ").replace("to of ", "to ")


def day(on: date) -> str:
    """A date, "4 May"."""
    return f"{on.day} {on:%b}"


def method(measure: Measure) -> str:
    """How its values were made, in a sentence or two."""
    words = METHODS[measure.what]
    if measure.item is not None and measure.item.code == "ph" and measure.what is What.WATER:
        return f"{words} pH by its hydrogen ions."
    return words


def tanks_words(one: Compared) -> str:
    """How many tanks a treatment has: "n = 4", "n = 3 to 4"."""
    counts = [arm.n for arm in one.arms]
    least, most = min(counts, default=0), max(counts, default=0)
    many = f"{least}" if least == most else f"{least} to {most}"
    return f"n = {many}"


def head(one: Compared) -> str:
    """The first sentence of the page."""
    return f"{label(one.measure)}. {UNIT_IS_TANK}: {tanks_words(one)}."


def p_words(p: float | None) -> str:
    if p is None:
        return "p not known"
    return "p < 0.001" if p < 0.001 else f"p = {p:.3f}"


def unit_of_difference(measure: Measure) -> str:
    """Percents differ in points."""
    return "points" if measure.unit == "%" else measure.unit


def value(measure: Measure, number: float | None, more: int = 0) -> str:
    """A number of a measure, without its unit."""
    return show(number, "", measure.decimals + more)


def found(one: Compared) -> str:
    """What the test says of the treatments, in a line."""
    test = one.test
    if test is None:
        return f"No test: {one.why_not or 'no values'}."
    scale = ", on the arcsine scale" if one.arcsine else ""
    if test.how is How.WELCH:
        told = f"t = {show(test.statistic, '', 2)}, {test.error:.1f} df"
        return f"Treatment  {told}, {p_words(test.p)}, Welch{scale}"
    told = f"F({test.df}, {test.error:g}) = {show(test.statistic, '', 1)}"
    blocked = "blocks allowed for" if test.how is How.BLOCKS else "one-way"
    return f"Treatment  {told}, {p_words(test.p)}, {blocked}{scale}"


def pair(one: Compared, nth: int) -> str:
    """A pair, the larger first: "L18 - E10  7.8 points"."""
    two = one.pairs[nth]
    first, second, size = two.first, two.second, two.difference
    if size < 0:
        first, second, size = second, first, -size
    return f"{first} - {second}  {value(one.measure, size)} {unit_of_pairs(one)}".rstrip()


def unit_of_pairs(one: Compared) -> str:
    """The unit in which its pairs differ."""
    return "degrees" if one.arcsine else unit_of_difference(one.measure)


def pair_limits(one: Compared, nth: int) -> str:
    """Its 95 % limits for all pairs together, p, and g with its limits."""
    two = one.pairs[nth]
    low, high = two.low, two.high
    if low is None or high is None:
        return p_words(two.p)
    if two.difference < 0:
        low, high = -high, -low
    words = f"95 % {value(one.measure, low)} to {value(one.measure, high)}, {p_words(two.p)}"
    if two.g is not None:
        sign = -1 if two.difference < 0 else 1
        words += f", g {sign * two.g.value:.1f}"
        if two.g.low is not None and two.g.high is not None:
            ends = sorted((sign * two.g.low, sign * two.g.high))
            words += f" ({ends[0]:.1f} to {ends[1]:.1f})"
    return words


def findable(one: Compared) -> str:
    """What could have been found, and how many tanks a wanted difference takes."""
    could = one.findable
    if could is None:
        return ""
    unit = unit_of_difference(one.measure)
    percent = "" if could.percent is None else f" ({could.percent:.0f} % of the mean)"
    size = f"{value(one.measure, could.difference)} {unit}".rstrip()
    words = (
        f"8 of 10 such trials would find a true difference of {size}{percent} between two "
        "treatments named beforehand"
    )
    if could.wanted is not None:
        takes = "over 1000" if could.needed is None else f"{could.needed}"
        words += f"; for {could.wanted:g} {unit} it takes {takes} tanks each"
    return f"{words}."


def omega(one: Compared) -> str:
    """How much of the scatter the treatment explains."""
    if one.omega is None:
        return ""
    words = f"Omega squared {max(0.0, one.omega.value):.2f}"
    if one.omega.low is not None and one.omega.high is not None:
        words += f" (95 % {one.omega.low:.2f} to {one.omega.high:.2f})"
    left = " of what blocks left" if one.test and one.test.how is How.BLOCKS else ""
    return f"{words}: the part of the scatter between tanks{left} that treatments explain."


def assumed(one: Compared) -> list[str]:
    """What the analysis takes for granted, a sentence each."""
    if one.assumptions is None or one.test is None:
        return []
    told, test = one.assumptions, one.test
    lines = []
    if told.tanks < NORMAL_NEEDS:
        lines.append(
            f"Normal: {told.tanks} tanks are too few to tell; look at the letters on the scale."
        )
    else:
        lines.append("Normal: look at the letters on the scale; no test of it is made.")
    if told.residual is not None:
        far = "looks apart" if told.residual > FAR else "none looks apart"
        lines.append(
            f"Residuals: the largest is {told.farthest}, {told.residual:.1f} of its standard "
            f"errors; {far}."
        )
    if told.spread_p is not None:
        alike = "unlike" if told.spread_p < 0.05 else "not shown to differ"
        few = " With so few tanks only gross differences show." * (told.fewest < SOME_SPREAD)
        lines.append(
            f"Spreads of the treatments: {alike} (Brown-Forsythe {p_words(told.spread_p)}).{few}"
        )
    if told.bend_p is not None:
        adds = "do not only add" if told.bend_p < 0.05 else "not shown to do more than add"
        lines.append(
            f"Treatments and blocks: {adds} (Tukey's one degree of freedom, "
            f"{p_words(told.bend_p)})."
        )
    if test.how is How.BLOCKS:
        blocks = p_words(test.block_p)
        lines.append(f"Blocks: {blocks}; they stay in the model whatever it is, as planned.")
    if not test.complete:
        lines.append(
            "A tank is missing: least squares, sums of squares of type II (without an interaction "
            "those of type III too); nothing was filled in."
        )
    lines.append("Independent: tanks of one loop share water, which no test sees.")
    return lines


def not_known(measure: Measure) -> list[str]:
    """Tanks without a value, and why."""
    return [
        f"{text.named(tanks, 12)}: {WHY[why]}" for why, tanks in missing_by_reason(measure).items()
    ]


def analysis(one: Compared) -> str:
    """How treatments were compared, for the methods."""
    if one.test is None:
        return ""
    match one.test.how:
        case How.BLOCKS:
            return (
                "Two-way analysis of variance of tank values, treatment and block fixed, no "
                "interaction; pairs by Tukey-Kramer with the error mean square."
            )
        case How.ONE_WAY:
            return "One-way analysis of variance of tank values; pairs by Tukey-Kramer."
        case How.WELCH:
            return "Welch's t test of tank values."


# ---- what was not as planned


def notes(page: Gathered, measure: Measure | None = None) -> Iterator[tuple[str, bool]]:
    """Footnotes, each with whether it is open; what is after the day of a measure says so."""
    apart = page.not_as_planned
    if page.unfinished is not None:
        yield unfinished(page.unfinished), True

    def after(on: date) -> str:
        if measure is None or measure.on is None or on <= measure.on:
            return ""
        return " (after this)"

    labels = {item.item.code: item.item.label for item in page.waters}
    for draft in apart.drafted:
        yield f"{feed_words.deviation(draft)}{after(draft.at.day)}; not written down yet", True
    for one in apart.deviations:
        whom = text.named(one.tanks, 6) if one.tanks else "all"
        words = one.text.removeprefix("Deviation: ").rstrip(".")
        state = "open" if one.open else f"closed: {one.effect.rstrip('.')}"
        yield f"{whom} {day(one.at.day)}: {words}{after(one.at.day)}; {state}", one.open
    for incident in apart.incidents:
        items = text.named([labels.get(code, code) for code in incident.items], 4)
        mark = incident.worst.mark
        yield (
            f"{incident.tank} {day(incident.at.day)}: {mark} {items}{after(incident.at.day)}",
            False,
        )


def unfinished(one: Unfinished) -> str:
    """That a census is under way, and which one is compared."""
    told = f"census of {day(one.on)} unfinished, {one.counted} of {one.tanks} tanks counted"
    return f"{told}: the last whole one is compared" if one.whole_before else told


def summary(page: Gathered, measure: Measure) -> str:
    """Footnotes in a sentence: how many are open, and which tanks they touch."""
    apart = page.not_as_planned
    parts = []
    if page.unfinished is not None and measure.topic is Topic.SURVIVAL:
        parts.append(unfinished(page.unfinished))
    many = len(apart.deviations) + len(apart.drafted)
    if many:
        there = {code for one in apart.deviations for code in one.tanks}
        there |= {code for draft in apart.drafted for code in (draft.tanks or (draft.place,))}
        tanks = [tank.code for tank in page.tanks if tank.code in there]
        still = f"{apart.open} open" if apart.open else "all closed"
        parts.append(f"{many} deviation{'s' * (many != 1)}, {still}: {text.named(tanks, 10)}")
    for one in apart.incidents:
        late = " (after this)" if measure.on is not None and one.at.day > measure.on else ""
        parts.append(f"{one.tank} {day(one.at.day)} {one.worst.mark}{late}")
    missing = sum(len(these) for these in missing_by_reason(measure).values())
    if missing:
        parts.append(f"{missing} tank{'s' * (missing != 1)} without a value")
    return "; ".join(parts)


def design(page: Gathered) -> str:
    """How many tanks of which treatments in which blocks."""
    counts = ", ".join(
        f"{code} {sum(tank.treatment == code for tank in page.tanks)}" for code in page.treatments
    )
    blocks = f"; blocks {', '.join(page.blocks)}" if page.blocks else "; no blocks"
    return f"Tanks by treatment: {counts}{blocks}."


def marks_left_out(page: Gathered) -> str:
    """How many looks were left out as suspect."""
    many = sum(len(one.suspect) for one in page.waters)
    if not many:
        return "No look at the water was suspect."
    tanks = dict.fromkeys(one.tank.code for one in page.waters if one.suspect)
    items = dict.fromkeys(one.item.label for one in page.waters if one.suspect)
    return (
        f"{many} looks at {text.named(items, 4)} in {text.named(tanks, 12)} are suspect (a meter "
        "that failed its check) and are left out."
    )


TOPICS = {
    Topic.SURVIVAL: "Survival",
    Topic.GROWTH: "Growth",
    Topic.FEED: "Feed",
    Topic.WATER: "Water",
    Topic.START: "Start",
}


def imbalance(page: Gathered) -> str:
    """How alike the tanks were stocked."""
    fish = [fate.stocked for fate in page.fates if fate.stocked]
    if not fish:
        return "No stocking was entered."
    errors = [
        100 * fate.plus_minus / fate.stocked
        for fate in page.fates
        if fate.stocked and fate.plus_minus is not None
    ]
    known = f", each give or take {max(errors):.0f} %" if errors else ", errors not entered"
    means = []
    for code in page.treatments:
        these = [f.stocked for f in page.fates if f.tank.treatment == code and f.stocked]
        if these:
            means.append(f"{code} {sum(these) / len(these):,.0f}")
    least, most = min(fish), max(fish)
    apart = "all alike by the entries" if least == most else f"{least:,} to {most:,}"
    return f"Stocked a tank: {', '.join(means)} ({apart}{known})."


def columns_of(treatments: Sequence[str]) -> int:
    """Cells of the name of a treatment."""
    return max((text.width(code) for code in treatments), default=3)
