"""Another limit tried on the days gone by: which flags there would have been with it.

Every look is judged again by the judge of the walk (`judging/verdict.py`), once with the band as
the plan has it and once with the other limit. What other rules said stays as it was said: a limit
does not touch it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from enum import Enum

from tankwalk import figures
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.flags import Flagged
from tankwalk.ledger.readings import Seen
from tankwalk.plan.bands import band_at, limit_words, limits_at, rule_at, target_on
from tankwalk.plan.edit import Because, with_band
from tankwalk.plan.faults import PlanFaults
from tankwalk.plan.model import Band, BandRule, Item, Level, Limits, Plan
from tankwalk.practice.budget import Run, runs
from tankwalk.practice.judging.rules import Rule
from tankwalk.practice.judging.slips import Around
from tankwalk.practice.judging.verdict import Flag, judge
from tankwalk.practice.learning.met import Followed, Met, kept
from tankwalk.practice.learning.sees import Sees, sees
from tankwalk.practice.past.series import LookAt, Series, bands_of, series
from tankwalk.practice.past.window import Window
from tankwalk.practice.site import SITE, Site
from tankwalk.rows import NamedTuple

OF_THE_BAND = (Rule.BAND, Rule.CHANGE, Rule.SETTING, None)
"""Rules that a band decides; what others said stays said."""
MOST = 0.95
"""The part of the looks whose ends are named beside the band."""


class Form(Enum):
    """How the WATCH limits of a band are written."""

    ENDS = "lowest and highest"
    WITHIN = "away from its target"
    PERCENT = "percent away from its target"


class Ask(NamedTuple):
    """What may be moved of a band at one place: its form, and what stands now."""

    form: Form
    low: float | None
    high: float | None
    within: float | None
    """Distance from the target, in the item's unit or in percent."""
    target: float | None


class Case(NamedTuple):
    """One item at one place, in days gone by: its looks, its band, its flags, what moves in it."""

    site: str
    now: Instant
    place: str
    item: Item
    series: Series
    band: Band
    rule: BandRule
    flags: tuple[Met, ...]
    """As they were raised, oldest first."""
    again: int
    """How many the band of today's plan would have raised."""
    out: int
    """Looks that they stand on."""
    ask: Ask
    usual: tuple[float, float] | None
    """Ends of what 19 of 20 looks were; None without one."""
    sees: Sees | None
    """What is told of it at one tank beside the others, whatever the limits; None elsewhere."""


class Tried(NamedTuple):
    """What another limit would have done; `plan` holds it, ready to be written."""

    case: Case
    moved: tuple[tuple[str, float], ...]
    band: Band
    flags: int
    act: int
    out: int
    """Looks that they would have stood on."""
    told: tuple[Met, ...]
    """Flags that people acted on, or that stand now, and that it still tells."""
    lost: tuple[Met, ...]
    """Those it no longer tells."""
    plan: Plan
    series: Series
    """The looks with the flags they would have had, and the band that would have been."""


# ---- the case


def case(site: Site, place: str, named: str, window: Window) -> Case:
    """What is known of an item at a place. Refusal where no limit of a band can be moved there."""
    with site.ledger.reading():
        now, item = site.now(), _item(site.plan, place, named)
        rule = rule_at(site.plan, item, place, now.day)
        band = band_at(site.plan, item, place, now.day)
        if not item.kind.by_band or rule is None or band is None:
            raise Refusal(f"{place} {item.label} has no band that a limit could be moved in.")
        seen = series(site, place, item, window)
        flags = tuple(one for one in kept(site, window, now).met
                      if one.item == item.code and place in one.places)  # fmt: skip
        again = _runs(site, site.plan, seen, _others(flags, seen))
        values = sorted(look.value for look in seen.taken
                        if look.value is not None and not look.suspect)  # fmt: skip
        return Case(
            site.plan.name, now, place, item, seen, band, rule, flags, len(again),
            _looks(again), _ask(rule, band), _most(values), _sees(site, place, item, window, now),
        )  # fmt: skip


def _sees(site: Site, place: str, item: Item, window: Window, now: Instant) -> Sees | None:
    if site.plan.find_tank(place) is None:
        return None
    return next(iter(sees(site, window, now, (item,))), None)


def movable(site: Site, place: str) -> tuple[Item, ...]:
    """What has a band today at a place whose limits can be moved, in the order of the plan."""
    day = site.now().day
    return tuple(item for item in site.plan.items if _has_band(site.plan, item, place, day))


def _has_band(plan: Plan, item: Item, place: str, day: date) -> bool:
    level = Level.SITE if place == SITE else Level.LOOP
    return (
        item.level is (level if plan.find_tank(place) is None else Level.TANK)
        and item.kind.by_band
        and rule_at(plan, item, place, day) is not None
        and band_at(plan, item, place, day) is not None
    )


def _item(plan: Plan, place: str, named: str) -> Item:
    """An item by its code, or as it stands on the page. Refusal for one that is none."""
    known = {SITE, *(t.code for t in plan.tanks), *(one.code for one in plan.loops)}
    if place not in known:
        raise Refusal(f"{place[:20]} is no tank and no loop here.")
    wanted = named.strip().casefold()
    item = plan.find_item(named) or next(
        (one for one in plan.items if wanted in (one.code.casefold(), one.label.casefold())), None
    )
    if item is None:
        raise Refusal(f"{named[:20]} is no item of the plan.")
    return item


def _ask(rule: BandRule, band: Band) -> Ask:
    if rule.watch_within is not None:
        return Ask(Form.WITHIN, None, None, rule.watch_within, band.target)
    if rule.watch_within_percent is not None:
        return Ask(Form.PERCENT, None, None, rule.watch_within_percent, band.target)
    limits = band.limits
    return Ask(Form.ENDS, limits.watch_below, limits.watch_above, None, band.target)


def _most(values: Sequence[float]) -> tuple[float, float] | None:
    """The lowest and the highest of the looks but for one in forty on each side."""
    if not values:
        return None
    out = round(len(values) * (1 - MOST) / 2)
    return values[out], values[len(values) - 1 - out]


# ---- judged again


def judged_again(site: Site, plan: Plan, seen: Series) -> dict[int, Flag]:
    """Every look of a series by its band alone, as the walk would judge it by a plan.

    A second reading was asked for by the band of its day: where the first would have been in band,
    it is the look. What a failed check condemned is none.
    """
    found: dict[int, Flag] = {}
    last: Seen | None = None
    tank = plan.find_tank(seen.place)
    for look in seen.taken:
        if look.suspect or look.value is None:
            continue
        day = look.at.day
        item = seen.item if tank is None else seen.item.at_age(plan.age(tank, day))
        band = band_at(plan, item, seen.place, day)
        found[look.n] = _flag(item, look.value, look, band, last)
        if look.first is not None:
            found[look.n] = min(found[look.n], _flag(item, look.first, look, band, last))
        last = _as_seen(seen, look)
    return found


def _flag(item: Item, value: float, look: LookAt, band: Band | None, last: Seen | None) -> Flag:
    """What the walk says of a value by its band and its change since the last look."""
    around = Around(None if last is None else last.value, None, 0.0)
    return judge(
        item, value, f"{value:g}", band, last, look.at, around, sure=True, below=look.below
    ).flag


def _as_seen(seen: Series, look: LookAt) -> Seen:
    return Seen(
        look.n, seen.place, seen.item.code, seen.item.unit, look.value, f"{look.value:g}",
        "<" if look.below else None, None, look.at, look.who, look.instrument, look.flag,
        look.first is not None, None,
    )  # fmt: skip


def _others(flags: Sequence[Met], seen: Series) -> dict[int, Flag]:
    """Looks of the series that a rule flagged which no band decides."""
    by_others = {n for one in flags if one.rule not in OF_THE_BAND for n in one.readings}
    return {look.n: look.flag for look in seen.looks if look.n in by_others}


def _runs(site: Site, plan: Plan, seen: Series, others: Mapping[int, Flag]) -> list[Run]:
    """The flags that a plan would have raised."""
    found = judged_again(site, plan, seen)
    rows = []
    for look in seen.taken:
        flag = max(found.get(look.n, Flag.OK), others.get(look.n, Flag.OK))
        if flag >= Flag.WATCH:
            rows.append(
                Flagged(seen.place, seen.item.code, seen.item.unit, look.n, look.at, flag, None,
                        None)
            )  # fmt: skip
    return runs(rows)


def _looks(flags: Sequence[Run]) -> int:
    """How many looks some flags stand on."""
    return sum(len(one.rows) for one in flags)


# ---- another limit


def tried(
    site: Site,
    known: Case,
    low: float | None = None,
    high: float | None = None,
    within: float | None = None,
    because: Because | None = None,
) -> Tried:
    """What other WATCH limits would have done; None leaves one as it is.

    `because` is whose it is and why, once it is to be written. Refusal for limits that are none,
    that lie beyond where the plan or the species' profile acts, and for none that differs.
    """
    moved = _moved(known, low, high, within)
    _bounds(site.plan, known, moved)
    day = known.now.day
    said = because or Because(known.band.owner, known.band.source, day, "")
    try:
        plan = with_band(site.plan, known.rule, known.item, known.place, moved, said)
    except PlanFaults as faults:
        raise Refusal(f"{faults.faults[0].what}: nothing was tried.") from None
    band = band_at(plan, known.item, known.place, day)
    now = known.band.limits
    if band is None or _urgent(band.limits) != _urgent(now) or _act(band.limits) != _act(now):
        raise Refusal("ACT and URGENT are not moved here: nothing was tried.")
    after = _runs(site, plan, known.series, _others(known.flags, known.series))
    flagged = {row.n for run in after for row in run.rows}
    acted = [one for one in known.flags if one.followed in (Followed.ACTED, Followed.STANDS)]
    return Tried(
        known,
        tuple(moved.items()),
        band,
        len(after),
        sum(run.worst.flag >= Flag.ACT for run in after),
        _looks(after),
        tuple(one for one in acted if flagged.intersection(one.readings)),
        tuple(one for one in acted if flagged.isdisjoint(one.readings)),
        plan,
        _as_if(plan, known.series, {row.n: Flag(row.flag) for run in after for row in run.rows}),
    )


def _flagged(look: LookAt, flag: Flag) -> LookAt:
    """A look with another flag; what is in band is not measured again."""
    again = look.first if flag >= Flag.WATCH or look.flag < Flag.WATCH else None
    return look._replace(flag=flag, first=again)


def _as_if(plan: Plan, seen: Series, flags: Mapping[int, Flag]) -> Series:
    """A series as it would stand with another plan."""
    return seen._replace(
        looks=tuple(_flagged(one, flags.get(one.n, Flag.OK)) for one in seen.looks),
        bands=bands_of(plan, seen.item, seen.place, seen.window),
    )


def _urgent(limits: Limits) -> tuple[float | None, float | None]:
    return limits.urgent_below, limits.urgent_above


def _act(limits: Limits) -> tuple[float | None, float | None]:
    return limits.act_below, limits.act_above


def _moved(
    known: Case, low: float | None, high: float | None, within: float | None
) -> dict[str, float]:
    """The keys of the band that differ, with their numbers."""
    ask = known.ask
    if ask.form is Form.ENDS:
        if within is not None:
            raise Refusal("This band has a lowest and a highest, no distance.")
        wanted = {"watch_below": (low, ask.low), "watch_above": (high, ask.high)}
    else:
        if low is not None or high is not None:
            raise Refusal("This band lies around a target: give how far from it is in band.")
        key = "watch_within" if ask.form is Form.WITHIN else "watch_within_percent"
        wanted = {key: (within, ask.within)}
    moved = {key: new for key, (new, old) in wanted.items() if new is not None and new != old}
    if not moved:
        raise Refusal("These are the limits that hold: nothing was tried.")
    return moved


def _bounds(plan: Plan, known: Case, moved: Mapping[str, float]) -> None:
    """Refusal for WATCH limits beyond ACT, of this band or of the species' own profile."""
    rule, day = known.rule, known.now.day
    fields = {key: value for key, value in moved.items() if key in BandRule._fields}
    rest = {key: value for key, value in moved.items() if key not in fields}
    new = rule._replace(**fields, limits=rule.limits._replace(**rest))  # type: ignore[arg-type]
    limits = limits_at(new, target_on(new, day))
    if limits.watch_below is not None and limits.watch_above is not None:
        if limits.watch_below >= limits.watch_above:
            low, high = (limit_words(one, known.item) for one in
                         (limits.watch_below, limits.watch_above))  # fmt: skip
            raise Refusal(f"The lowest, {low}, is not below the highest, {high}.")
    _inside(limits, known.band.limits, known.item, "ACT of this band")
    seed = rule_at(plan._replace(bands=()), known.item, known.place, day)
    if seed is not None:
        theirs = limits_at(seed, target_on(seed, day))
        _inside(limits, theirs, known.item, f"where the species' profile acts ({seed.source})")


def _inside(limits: Limits, act: Limits, item: Item, whose: str) -> None:
    for name, watch, lows, below in (
        ("lowest", limits.watch_below, (act.act_below, act.urgent_below), True),
        ("highest", limits.watch_above, (act.act_above, act.urgent_above), False),
    ):
        edge = next((one for one in lows if one is not None), None)
        if watch is None or edge is None or (watch >= edge if below else watch <= edge):
            continue
        raise Refusal(
            f"The {name} may not be {figures.show(watch, item.unit, item.decimals)}: it is beyond "
            f"{limit_words(edge, item)}, {whose}. Limits of ACT and URGENT are not moved here."
        )
