"""A sample fish by fish, in words: what is asked, what fish come to, why a number is in doubt."""

from __future__ import annotations

from collections.abc import Mapping

from tankwalk.figures import number_text, show
from tankwalk.pages.when import day_of
from tankwalk.practice.samples.doubts import Doubt, Slip, Why
from tankwalk.practice.samples.fish import (
    EATEN_CV,
    USUAL,
    Enough,
    Look,
    Share,
    Sizes,
    Worked,
)
from tankwalk.practice.samples.since import Grown
from tankwalk.practice.samples.sitting import Ended, FishSitting
from tankwalk.practice.samples.sitting_talk import NAMES, named
from tankwalk.practice.samples.sitting_view import SittingView
from tankwalk.science.samples import PREY_FROM, PREY_TO

HOW = {
    Look.LENGTH: "total length mm",
    Look.MASS: "mass mg",
    Look.BLADDER: "bladder + filled - not",
    Look.GUT: "gut + food - empty",
    Look.DEFORMED: "+ straight - deformed",
}
"""What is typed of each fish."""

HAD = {Look.BLADDER: "swim bladder filled", Look.GUT: "gut with food", Look.DEFORMED: "deformed"}
"""What so many of the fish had."""

SLIPS = {
    Slip.TENFOLD: "if the decimal mark was left out",
    Slip.TENTH: "if the decimal mark is a place too far left",
    Slip.CM: "if it was read in cm",
    Slip.GRAMS: "if it was read in g",
}

LOOKS = {
    Look.LENGTH: "length, mm",
    Look.MASS: "mass, mg",
    Look.BLADDER: "swim bladder",
    Look.GUT: "gut fill",
    Look.DEFORMED: "deformities",
}
"""What is asked of a fish, over the entry."""


def title(view: SittingView) -> str:
    """ "T07 length and mass, fish by fish"."""
    return f"{view.tank} {named(view.looks)}, fish by fish"


def how(view: SittingView) -> str:
    """What is typed of each fish."""
    if len(view.looks) > 3:
        return "Each fish: a number where a unit is asked, else + as it should be, - not."
    return f"Each: {', '.join(HOW[look] for look in view.looks)}."


def how_short(view: SittingView) -> str:
    """What is typed of each fish, where it is narrow: "length, mass, gut fill"."""
    return f"{named(view.looks).capitalize()}."


def size_lines(worked: Worked, looks: tuple[Look, ...]) -> list[tuple[str, ...]]:
    """What measured fish come to, a row of parts each."""
    rows = []
    for look in looks:
        sizes = worked.sizes(look) if look.measured else None
        if sizes is not None:
            rows.append(_sizes(look, sizes))
    return rows


def _sizes(look: Look, sizes: Sizes) -> tuple[str, ...]:
    digits = 2 if sizes.mean < 100 else 1
    name = NAMES[look].capitalize()
    parts = [f"{name} {show(sizes.mean, look.unit, digits)}"]
    if sizes.sd is not None and sizes.limits is not None and sizes.cv is not None:
        low, high = (show(one, "", digits - 1) for one in sizes.limits)
        parts += [
            f"SD {show(sizes.sd, '', digits)}",
            f"CV {sizes.cv:.0f} %",
            f"95 % {low} - {high}",
        ]
    return tuple(parts)


def shape_parts(worked: Worked) -> tuple[str, ...]:
    """Condition, and how many had what: "K 0.71 (0.68 - 0.74)"."""
    parts: list[str] = []
    k = worked.condition
    if k is not None:
        sure = "" if k.limits is None else f" ({k.limits.low:.2f} - {k.limits.high:.2f})"
        parts.append(f"K {k.mean:.2f}{sure}")
    return (*parts, *(share_words(share) for share in worked.shares))


def fit_words(worked: Worked) -> str:
    """How mass goes with length, "" of too few fish: "mass goes with length^2.9 (2.7 - 3.2)"."""
    fit = worked.fit
    if fit is None:
        return ""
    return f"mass goes with length^{fit.b:.2f} ({fit.low:.2f} - {fit.high:.2f}), {fit.n} fish"


def decimals(view: SittingView) -> dict[Look, int]:
    """Decimals of the numbers of each look: the most that was typed, at least one."""
    found = {}
    for look in view.looks:
        typed = [getattr(one, look.value) for one in view.fish]
        texts = [number_text(value) for value in typed if value is not None]
        found[look] = max([1, *(len(one.partition(".")[2]) for one in texts)])
    return found


def share_words(share: Share) -> str:
    """ "Swim bladder filled 18 of 20 (70 - 97 %)"."""
    low, high = (f"{100 * one:.0f}" for one in share.limits)
    return f"{HAD[share.look].capitalize()} {share.had} of {share.of} ({low} - {high} %)"


def enough_words(look: Look, sizes: Sizes) -> str:
    """Whether so many fish tell the mean: "length to +/- 7 %, wanted 5 %: 20 in all"."""
    name = NAMES[look]
    if sizes.half is None or sizes.wanted is None:
        return f"{name}: one fish tells no spread"
    has = f"{name} to +/- {sizes.half:.1f} %"
    if sizes.enough is Enough.ENOUGH:
        return f"{has}, enough"
    if sizes.n < 5:
        return f"{has}, too few to tell"
    if sizes.needed is None:
        return f"{has}, wanted {sizes.wanted:.0f} %: they differ too much"
    usual = f", {USUAL[look]} are usual" if sizes.n < USUAL[look] else ""
    return f"{has}, wanted {sizes.wanted:.0f} %: {sizes.needed} in all{usual}"


def enough_parts(worked: Worked, looks: tuple[Look, ...]) -> tuple[str, ...]:
    """Whether the fish so far are enough, look by look."""
    return tuple(
        enough_words(look, sizes)
        for look in looks
        if look.measured and (sizes := worked.sizes(look)) is not None
    )


def grown_parts(grown: Grown | None, view: SittingView | None = None) -> tuple[str, ...]:
    """What they grew since they were last looked at."""
    if grown is None:
        return ()
    when = "" if view is None else f" since {day_of(grown.since, view.now)}"
    parts = []
    if grown.mm is not None and grown.mm_a_day is not None:
        word = "grew" if grown.mm >= 0 else "shorter by"
        parts.append(
            f"{word} {abs(grown.mm):.1f} mm in {grown.days:.0f} d{when}, {grown.mm_a_day:.2f} mm/d"
        )
        when = ""
    if grown.sgr is not None:
        parts.append(f"SGR {grown.sgr:.1f} %/d{when}")
    if grown.tgc is not None and grown.warmth is not None:
        parts.append(f"TGC {grown.tgc:.2f} ({grown.warmth:.0f} degC d)")
    return tuple(parts)


def eaten_words(worked: Worked) -> str:
    """Who could eat whom; "" where nothing is to be said."""
    eaten, lengths = worked.eaten, worked.lengths
    if eaten is None or lengths is None or not worked.eaters:
        return ""
    first = f"{100 * eaten.share:.0f} % of them ({eaten.number} of {eaten.n})"
    tested = f"{PREY_FROM:.0f} - {PREY_TO:.0f} mm"
    beyond = f" (the rule was tested on {tested})" if eaten.beyond else ""
    act, mark = worked.eaters > 1, "!!" if worked.eaters > 1 else "!"
    grade = "Grade or cull, all tanks of a block or none: ask the lead."
    return (
        f"{mark} Cannibals: the longest, {eaten.longest:.1f} mm, could swallow fish up to "
        f"{eaten.prey:.1f} mm{beyond}: {first}, and lengths spread by {lengths.cv or 0:.0f} % "
        f"(over {EATEN_CV:.0f} %). {grade if act else 'Sample again soon.'}"
    )


def doubt_words(doubt: Doubt) -> tuple[str, ...]:
    """Why a number is asked about, then what can be chosen, a line each."""
    unit, first = doubt.look.unit, number_text(doubt.first)
    against = doubt.against
    match doubt.why:
        case Why.FAR:
            why = f"is far from what fish are here, {show(against, unit, 1)}"
        case Why.MOST:
            why = f"is the largest so far, {show(doubt.first - against, unit, 1)} above the next"
        case Why.LEAST:
            why = f"is the smallest so far, {show(against - doubt.first, unit, 1)} below the next"
        case Why.SHAPE:
            why = f"gives K {against:.2f}: length and mass do not go together (0.3 - 2)"
    head = f"Fish {doubt.nth}: {first} {unit} {why}."
    if doubt.second is not None:
        return (
            f"Fish {doubt.nth}: two numbers that do not agree. Which is it?",
            f"1   {first} {unit}   first",
            f"2   {number_text(doubt.second)} {unit}   second",
        )
    if not doubt.guesses:
        return (f"{head} Measure it again, and type it.",)
    lines = [f"{head} Which is it? It stays out until then.", f"1   {first} {unit}   as typed"]
    lines += [
        f"{nth}   {number_text(guess.value)} {unit}   {SLIPS[guess.slip]}"
        for nth, guess in enumerate(doubt.guesses, 2)
    ]
    return tuple(lines)


def last_of(view: SittingView) -> str:
    """What is said where nothing else is: the fish before, or how to begin."""
    done = [one for one in view.fish if one.nth != view.asked.nth]
    if not done:
        return "Type it and press Enter: every fish is on the disk at once."
    one = done[-1]
    out = "" if one.left_out is None else f", left out: {one.left_out}"
    return f"kept  fish {one.nth}: {cell(one, view.looks, decimals(view))}{out}"


def cell(one: object, looks: tuple[Look, ...], digits: Mapping[Look, int] | None = None) -> str:
    """A fish in a cell: its numbers, then a sign for each thing looked at."""
    parts, signs = [], ""
    for look in looks:
        value = getattr(one, look.value)
        if look.measured:
            if value is None:
                parts.append("-")
            else:
                parts.append(
                    number_text(value) if digits is None else show(value, "", digits[look])
                )
        else:
            signs += "." if value is None else "+" if value == look.as_it_should_be else "-"
    return " ".join([*parts, signs] if signs else parts)


def ended(sitting: FishSitting, end: Ended) -> str:
    """What the end kept, in sentences."""
    from tankwalk.practice.samples.entering import figures

    many = len(sitting.fish)
    said = "; ".join(f"{one.what} {figures(one)}" for one in end.samples)
    if end.kept and end.died:
        fate = f"{many - end.died} put back, {end.died} died and left the number of the tank"
    elif end.kept and end.kept < many:
        fate = f"{many - end.kept} put back, {end.kept} kept: the number of the tank is "
        fate += f"{end.kept} lower"
    elif end.kept:
        fate = f"{end.kept} kept: the number of the tank is {end.kept} lower"
    else:
        fate = f"all {many} put back"
    fed = "".join(
        f" {ration_words(one.feed, one.before, one.after, one.unit)}" for one in end.rations
    )
    return f"Kept ({sitting.who}): {sitting.seen.place} {said}. {fate.capitalize()}.{fed}"


def ration_words(feed: str, before: float | None, after: float, unit: str) -> str:
    """ "Ration of dry feed refreshed: 4.1 -> 4.6 g a day."."""
    old = "none" if before is None else show(before, "", 2)
    return f"Ration of {feed} refreshed: {old} -> {show(after, unit, 2)} a day."


def come_to(view: SittingView) -> list[str]:
    """What the fish so far come to, in sentences: all that the page shows of it."""
    worked = view.worked
    parts = [*size_lines(worked, view.looks), shape_parts(worked)]
    parts += [enough_parts(worked, view.looks), grown_parts(view.grown, view)]
    parts += [(fit_words(worked),)] if worked.fit else []
    said = [f"{last_of(view)}; {len(view.fish)} of {view.planned}"]
    said += [", ".join(one) for one in parts if one]
    return [*said, eaten_words(worked)] if worked.eaters else said
