"""The page of a season: what went in and came out by lot and treatment, went wrong, and cost."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from tankwalk import text
from tankwalk.clock import ago
from tankwalk.pages.lines import Line, Span, blank, line, spread, wrapped
from tankwalk.practice.judging.rules import Rule

if TYPE_CHECKING:
    from tankwalk.practice.season.groups import Amount, Group, Sum
    from tankwalk.practice.season.view import Season
    from tankwalk.practice.season.wrong import Incident, Raised, Wrong

LABEL = 27
"""Cells of what a row says of each group."""

NARROWEST = 16
"""Cells a group takes at the least; where they do not all fit they stand below each other."""

CAUSES = {
    Rule.BAND: "out of its band",
    Rule.CHANGE: "a jump since the last look",
    Rule.SETTING: "a setting that was not as planned",
    Rule.SLIP: "a likely slip",
    Rule.SLOPE: "on its way out of band",
    Rule.DOUBLED: "doubled",
    Rule.FELL_BY: "a fall since the last rounds",
    Rule.RATIO: "too little beside it",
    Rule.AHEAD: "on its way out before the next look",
    Rule.DRIFT: "a slow drift",
    Rule.SISTERS: "unlike its sisters",
    Rule.UNCHANGED: "a value that never moved",
    Rule.METER_UP: "a meter reads high",
    Rule.METER_DOWN: "a meter reads low",
    Rule.METER_PASSED: "a meter that had passed its check",
    Rule.LOOP_UP: "its loop, up",
    Rule.LOOP_DOWN: "its loop, down",
    Rule.TANK_UP: "up, while its loop stayed",
    Rule.TANK_DOWN: "down, while its loop stayed",
    Rule.BATCH: "a batch of feed",
    Rule.JUMP: "dead: a jump",
    Rule.ODD: "dead: unlike the other tanks",
    Rule.SHARE: "dead: a share of the book",
    Rule.RISE: "dead: a slow rise",
    Rule.TOO_FEW: "dead: too few to be true",
    Rule.TWICE: "dead: counted twice",
    Rule.TREATMENT: "dead: a treatment",
    Rule.LOT: "dead: a lot",
    Rule.RESPONSE: "a feeding response that fell",
}
"""Why a flag was raised, by the rule that spoke."""

DEVIATIONS = {
    "wrong-feed": "feed the plan did not give",
    "missed-feed": "meal not given",
    "late-feed": "late meal",
    "short-feed": "short ration",
    "missed-treatment": "measure left out",
}


def draw(season: Season, width: int) -> list[Line]:
    """The whole page; every line says what it is of."""
    days = max(1, round(season.until.hours_since(season.since) / 24))
    lines = [spread(width, [f" SEASON  {season.site}"], [f"{season.now.short()} "], "head")]
    said = (
        f"{season.since.long()} to {season.until.long()}, {days} days. Means are over tanks, with "
        "n = tanks; fish are not averaged as if they were tanks."
    )
    lines += wrapped(width, said, "dim", 4)
    if not season.groups:
        lines += [blank(width), line(width, Span("   No fish in this time.", "dim"))]
    for few in _few(season.groups, width):
        lines += [blank(width), *_table(few, width)]
    lines += _section("WHAT ELSE WENT IN", _else_in(season), width)
    lines += _section("WHAT WENT WRONG", _wrong(season.wrong), width)
    lines += _section("INCIDENTS", [w for one in season.wrong.incidents
                                     for w in _incident(one, season.now.day.year)],
                      width, "No flag came to ACT.")  # fmt: skip
    return [*lines, *_section("WHAT IT COST", _cost(season), width)]


def _section(title: str, said: Sequence[str], width: int, nothing: str = "Nothing.") -> list[Line]:
    lines = [blank(width), line(width, Span(f" {title}", "bold"))]
    for one in said or [nothing]:
        lines += wrapped(width, one, "plain" if said else "dim", 6, "   ")
    return lines


def _few(groups: Sequence[Group], width: int) -> list[Sequence[Group]]:
    """The groups, as many beside each other as fit."""
    many = max(1, (width - LABEL) // NARROWEST)
    return [groups[n : n + many] for n in range(0, len(groups), many)]


def _table(groups: Sequence[Group], width: int) -> list[Line]:
    """What went into some groups and what came out, a column each."""
    size = (width - LABEL) // len(groups)
    heads = [
        " ".join(part for part in (one.lot, one.treatment) if part) or "fish" for one in groups
    ]
    lines = [_row("", heads, size, width, "bold")]
    lots = [f"n = {len(one.tanks)} tanks" for one in groups]
    lines.append(_row("", lots, size, width, "dim"))
    lines.append(line(width, Span(" IN", "bold")))
    lines.append(_row("stocked, fish", [_fish(one.stocked) for one in groups], size, width))
    lines += _amounts(groups, lambda one: one.feeds, "", size, width)
    lines += _amounts(groups, lambda one: one.doses, "dose of ", size, width)
    lines.append(line(width, Span(" OUT", "bold")))
    rows: list[tuple[str, list[str]]] = [
        ("seen dead, fish", [_fish(one.dead) for one in groups]),
        ("taken out alive, fish", [f"{one.alive_out:,}" for one in groups]),
        ("census, fish", [_counted(one, one.census) for one in groups]),
        ("unaccounted, fish", [_counted(one, one.unaccounted) for one in groups]),
        ("best now, fish", [_fish(one.best) for one in groups]),
        ("mean mass, mg", ["-" if one.mass is None else f"{one.mass.mean:.1f}" for one in groups]),
        ("  lowest to highest tank",
         ["-" if one.mass is None else f"{one.mass.low:.1f} - {one.mass.high:.1f}"
          for one in groups]),
        ("biomass now, g",
         ["-" if (b := one.biomass_g) is None else f"{b:,.0f}" for one in groups]),
        ("dry feed, mg a fish now",
         ["-" if (d := one.dry_per_fish) is None else f"{d:.1f}" for one in groups]),
        ("biomass gained, g", ["-" if one.gain.gain_g is None else f"{one.gain.gain_g:,.0f}"
                               for one in groups]),
        ("  dry feed meanwhile, g", [f"{one.gain.dry_g:,.1f}" for one in groups]),
        ("dry feed, g a g gained",
         ["-" if (r := one.gain.ratio) is None else f"{r:.2f}{'*' * one.gain.live}"
          for one in groups]),
    ]  # fmt: skip
    lines += [_row(label, values, size, width) for label, values in rows]
    for words in _notes(groups):
        lines += wrapped(width, words, "dim", 4, "   ")
    return lines


def _row(label: str, values: Sequence[str], size: int, width: int, tone: str = "plain") -> Line:
    cells = [Span(text.pad(value, size - 1, ">") + " ", tone) for value in values]
    return line(width, Span(text.pad(f"   {label}", LABEL), "plain"), *cells)


def _fish(one: Sum) -> str:
    """Fish with their error, where it is known and not nothing."""
    return f"{one.fish:,} {_give_or_take(one.plus_minus)}".rstrip()


def _give_or_take(plus_minus: float | None) -> str:
    if plus_minus is None:
        return "+/- ?"
    return f"+/- {plus_minus:,.0f}" if plus_minus >= 0.5 else ""


def _counted(group: Group, one: Sum | None) -> str:
    """What a census found, with how many of the tanks it is of where it is not all."""
    if one is None:
        return "not counted"
    some = f" ({one.tanks} of {len(group.tanks)})" if one.tanks < len(group.tanks) else ""
    return _fish(one) + some


def _amounts(
    groups: Sequence[Group],
    of: Callable[[Group], Sequence[Amount]],
    before: str,
    size: int,
    width: int,
) -> list[Line]:
    """A row for everything that went into one of the groups."""
    kinds = dict.fromkeys((a.code, a.unit) for one in groups for a in of(one))
    lines = []
    for code, unit in kinds:
        found = [next((a for a in of(one) if (a.code, a.unit) == (code, unit)), None)
                 for one in groups]  # fmt: skip
        label = next(a.label for a in found if a is not None)
        values = ["-" if a is None else _number(a.amount) for a in found]
        lines.append(_row(f"{before}{label}, {_unit(unit)}", values, size, width))
    return lines


def _unit(unit: str) -> str:
    return "thousands" if unit == "thousand" else unit


def _number(amount: float) -> str:
    return f"{amount:,.0f}" if amount >= 100 else f"{amount:,.1f}"


def _notes(groups: Sequence[Group]) -> list[str]:
    """What has to be said of the numbers above."""
    said = []
    if any(one.census is None for one in groups):
        said.append("Not counted: best is the book, an upper guess, as larvae vanish unseen.")
    if any(one.gain.ratio is not None and one.gain.live for one in groups):
        said.append(
            "* Live feed was eaten too and is not in it: this is no feed conversion ratio (FCR). "
            "Gain is biomass by best, since the first sample of mass."
        )
    for why in dict.fromkeys(one.gain.why for one in groups if one.gain.ratio is None):
        said.append(f"Dry feed a g gained is not worked out: {why}.")
    return said


def _else_in(season: Season) -> list[str]:
    said = [
        f"{place}: {amount.label} {_number(amount.amount)} {amount.unit} in {_times(amount.times)}"
        for place, amounts in season.loops
        for amount in amounts
    ]
    said += [
        f"Before these fish were stocked: {one.label} {_number(one.amount)} {_unit(one.unit)}."
        for one in season.earlier
    ]
    if season.cones:
        said.append(f"Cysts set: {season.cysts_g:,.0f} g in {_many(season.cones, 'batch')}.")
    work = season.work
    said.append(
        f"Work: {_many(work.rounds, 'round')} signed, {work.hours:,.1f} h from opening to "
        f"signature (no time sheet); {_many(work.meals, 'meal')}; {_many(work.people, 'person')} "
        f"on {_many(work.people_days, 'person-day')}."
    )
    return said


def _times(many: int) -> str:
    return f"{many} dose" + "s" * (many != 1)


PLURALS = {"batch": "batches", "person": "people"}


def _many(many: int, word: str) -> str:
    return f"{many:,} {word if many == 1 else PLURALS.get(word, word + 's')}"


def _wrong(found: Wrong) -> list[str]:
    watch, act = sum(one.watch for one in found.flags), sum(one.act for one in found.flags)
    said = [f"Flags: {_levels(watch, act, sum(one.urgent for one in found.flags))}."]
    said += [f"- {_cause(one)}: {_levels(one.watch, one.act, one.urgent)}" for one in found.flags]
    if found.rounds_planned:
        said.append(f"Rounds not signed: {found.rounds_missed} of {found.rounds_planned} planned.")
    said.append(f"Meals not given: {_many(found.meals_missed, 'meal')} of a tank.")
    if found.hatch_harvests:
        said.append(f"Harvests more than 2 h late: {found.late_hatches} of {found.hatch_harvests}.")
    if found.meters_checked:
        said.append(
            f"Meters that failed their check: {found.meters_failed} of "
            f"{_many(found.meters_checked, 'check')}."
        )
    said.append(f"Handovers not taken over: {found.handovers_not_taken}.")
    kept = ", ".join(f"{DEVIATIONS.get(kind, kind)} {many}" for kind, many in found.deviations)
    said.append(f"Departures from the plan that nobody kept yet: {kept or 'none'}.")
    return said


def _levels(watch: int, act: int, urgent: int) -> str:
    """Flags by level: "WATCH 11, ACT 1"; none where there is none."""
    counted = (("WATCH", watch), ("ACT", act), ("URGENT", urgent))
    return ", ".join(f"{word} {many}" for word, many in counted if many) or "none"


def _cause(one: Raised) -> str:
    return CAUSES.get(one.rule, "other") if one.rule is not None else "other"


def _incident(one: Incident, year: int) -> list[str]:
    where = text.named(one.places)
    response = (
        "nothing done or called was entered"
        if one.response_h is None
        else f"first response after {ago(one.response_h)}"
    )
    end = "not seen back in band" if one.end_h is None else (
        f"back in band after {ago(one.end_h)}"
    )  # fmt: skip
    lost = "" if one.lost is None else f"; {one.lost:,} dead above the usual day"
    when = one.since.short() if one.since.day.year == year else one.since.long()
    return [
        f"{when}  {one.flag.mark} {where} {one.sentence or one.label}: {response}; {end}{lost}."
    ]


def _cost(season: Season) -> list[str]:
    cost = season.cost
    thrown = []
    if cost.thrown_g:
        thrown.append(f"{cost.thrown_g:,.0f} g")
    if cost.thrown_l:
        thrown.append(f"{cost.thrown_l:,.1f} L of live feed")
    return [
        f"Fish lost in incidents above the usual day: {cost.lost:,}.",
        f"Feed thrown out: {' and '.join(thrown) or 'none entered'}"
        + (f", {cost.thrown} times." if cost.thrown else "."),
        f"Hours of rounds: {cost.hours:,.1f} h.",
        "Money is left out: the plan holds no prices.",
    ]
