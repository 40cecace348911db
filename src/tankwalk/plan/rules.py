"""Reading bands: what is wanted, for whom, from whom, and whether the limits make sense."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from tankwalk.plan.bands import limits_at, narrowness
from tankwalk.plan.fields import Names, PlanRow, kind_of, quoted
from tankwalk.plan.model import BandRule, Item, Level, Limits, Ramp
from tankwalk.rows import NamedTuple

_STEPS = ("watch", "act", "urgent")
_EDGES = tuple(f"{step}_{side}" for step in _STEPS for side in ("below", "above"))
_CHANGES = ("watch_change", "act_change")
_FALLS = ("watch_fall_percent", "act_fall_percent")
_RATIOS = ("watch_ratio_below", "act_ratio_below")
_SHARES = ("watch_share_percent", "act_share_percent")
_OTHERS = ("doubled_within", *_FALLS, *_RATIOS, *_SHARES)
_WITHIN = tuple(f"{step}_within" for step in _STEPS)
_PERCENT = ("watch_within_percent", "act_within_percent")
_WAYS = {way: way for way in ("either", "fall", "rise")}
# From the lowest limit to the highest; the two watch limits may not even meet.
_ORDER = ("urgent_below", "act_below", "watch_below", "watch_above", "act_above", "urgent_above")


@dataclass(frozen=True, slots=True)
class KnownCodes:
    """What a band may refer to."""

    items: Mapping[str, Item]
    item_names: Names
    tanks: Names
    loops: Names
    treatments: Names
    species: Names


def read_bands(rows: Sequence[PlanRow], known: KnownCodes) -> tuple[BandRule, ...]:
    """The [[band]] tables of a plan."""
    rules: list[tuple[PlanRow, BandRule]] = []
    for nth, row in enumerate(rows, 1):
        code = row.reference("item", known.item_names, need=True)
        scope = _scope(row, known)
        row.call(" ".join(filter(None, (code, *scope))) or None, nth)
        item = known.items.get(code or "")
        if item is None:
            continue
        _fits_level(row, item)
        rule = read_rule(row, item, scope, known.item_names)
        # Two bands are compared only when both say what they mean.
        says = [key for key in (*Scope._fields, "dph") if row.has(key)]
        if all(getattr(rule, key) is not None for key in says):
            _alone(row, rule, rules)
            rules.append((row, rule))
    return tuple(rule for _, rule in rules)


class Scope(NamedTuple):
    """For whom a band holds; None where it does not say."""

    tank: str | None = None
    treatment: str | None = None
    loop: str | None = None
    species: str | None = None


def _scope(row: PlanRow, known: KnownCodes) -> Scope:
    if isinstance(species := row.table.values.get("species"), str):
        row.table.values["species"] = species.casefold()
    scope = Scope(
        row.reference("tank", known.tanks),
        row.reference("treatment", known.treatments),
        row.reference("loop", known.loops),
        row.reference("species", known.species),
    )
    places = [key for key in ("tank", "treatment", "loop") if row.has(key)]
    if len(places) > 1:
        row.fault(
            places[1],
            f"{' and '.join(places)} are given, and a band holds for one of them",
            f"leave out all but one of: {', '.join(places)}",
        )
    return scope


def _fits_level(row: PlanRow, item: Item) -> None:
    """An item asked of a loop has no band by tank; one asked of the site, none by loop."""
    outside = {
        Level.TANK: (),
        Level.LOOP: ("tank", "treatment"),
        Level.SITE: ("tank", "treatment", "loop"),
    }[item.level]
    for key in outside:
        if row.has(key):
            row.fault(
                key,
                f"{key} is given, and {item.code} is asked of the {item.level.value}",
                "leave the line out",
            )


def read_rule(row: PlanRow, item: Item, scope: Scope, names: Names | None = None) -> BandRule:
    """What a band says, in the item's unit, checked."""
    if not item.kind.by_band:
        row.fault(
            "item",
            f"{item.code} is a choice of words and has no band",
            "use watch_on and act_on of the item",
        )
    edges = {key: row.measure(key, item.unit) for key in _EDGES}
    changes = {key: _distance(row, key, item.unit) for key in _CHANGES}
    way = row.one_of("change_way", _WAYS, "either")
    numbers: dict[str, Any] = {**edges, **changes}
    limits = Limits(change_way=way, sees=row.measure("sees", item.unit), **numbers)
    limits = _others(row, item, limits, names)
    distances: dict[str, Any] = {key: _distance(row, key, item.unit) for key in _WITHIN}
    distances |= {key: _distance(row, key, "%") for key in _PERCENT}
    rule = BandRule(
        item=item.code,
        limits=limits,
        target=row.measure("target", item.unit),
        ramp=_ramp(row, item.unit),
        **distances,
        **scope._asdict(),
        dph=row.ages(),
        owner=row.text("owner", limit=60) or "",
        source=row.text("source", limit=200) or "common practice",
        dated=row.day("dated"),
        note=row.text("note", limit=300) or "",
        line=row.table.line,
    )
    _check(row, rule, item)
    return rule


def _distance(row: PlanRow, key: str, unit: str) -> float | None:
    distance = row.measure(key, unit, difference=True)
    if distance is not None and distance <= 0:
        row.fault(key, f"{key} {distance:g} is not above 0")
        return None
    return distance


def _others(row: PlanRow, item: Item, limits: Limits, names: Names | None) -> Limits:
    """Limits that are no edge of a band: doubled in some hours, a fall in percent, a ratio."""
    within = row.measure("doubled_within", "h")
    if within is not None and not 1 <= within <= 24 * 31:
        row.fault("doubled_within", f"doubled_within {within:g} h is not 1 hour to 31 days")
        within = None
    falls: dict[str, Any] = {key: _distance(row, key, "%") for key in _FALLS}
    for key, fall in falls.items():
        if fall is not None and fall >= 100:
            row.fault(key, f"{key} {fall:g} is not below 100: nothing falls by more than it was")
    ratios: dict[str, Any] = {key: row.measure(key, "") for key in _RATIOS}
    for key, ratio in ratios.items():
        if ratio is not None and ratio <= 0:
            row.fault(key, f"{key} {ratio:g} is not above 0")
    of = row.text("ratio_of", limit=40) if names is None else row.reference("ratio_of", names)
    for key in ("ratio_of",) if of is None else ():
        if any(ratio is not None for ratio in ratios.values()) and not row.has(key):
            row.fault(_first_given(row, _RATIOS), "a ratio is given without ratio_of",
                      'add ratio_of = "chloride", or another item')  # fmt: skip
    if of is not None and not any(row.has(key) for key in _RATIOS):
        row.fault("ratio_of", "ratio_of is given without a limit", "add watch_ratio_below = ...")
    if of == item.code:
        row.fault("ratio_of", f"ratio_of is {quoted(of)} itself, of which it is always 1")
    shares = _shares(row, item)
    return limits._replace(doubled_within=within, ratio_of=of, **falls, **ratios, **shares)


def _shares(row: PlanRow, item: Item) -> dict[str, Any]:
    """What part of the fish left may be dead in a day, in percent."""
    shares: dict[str, Any] = {key: _distance(row, key, "%") for key in _SHARES}
    for key, share in shares.items():
        if share is None:
            continue
        if not item.kind.of_animals:
            what = f"{key} is for counts of the dead, and {quoted(item.code)} is none"
            row.fault(key, what, "leave it out")
        elif share > 100:
            row.fault(key, f"{key} {share:g} is above 100: no more die than there are")
    return shares


def _first_given(row: PlanRow, keys: Sequence[str]) -> str:
    return next(key for key in keys if row.has(key))


def _ramp(row: PlanRow, unit: str) -> Ramp | None:
    value = row.take("ramp")
    if value is None:
        return None
    if not isinstance(value, list):
        row.fault("ramp", f"ramp is {kind_of(value)} where a list of dated targets is wanted")
        return None
    points = []
    for entry in value:
        if not isinstance(entry, dict) or set(entry) != {"on", "target"}:
            row.fault("ramp", "a point of the ramp is not a date and a target")
            return None
        on = row.as_day("ramp", entry["on"])
        target = row.as_measure("ramp", entry["target"], unit)
        if on is None or target is None:
            return None
        points.append((on, target))
    if len(points) < 2:
        row.fault("ramp", "a ramp needs 2 dated targets or more")
        return None
    for (earlier, _), (later, _) in pairwise(points):
        if later <= earlier:
            what = f"the ramp goes from {earlier} to {later}"
            row.fault("ramp", what, "put the dates in order, none twice")
            return None
    return Ramp(tuple(points))


def _check(row: PlanRow, rule: BandRule, item: Item) -> None:
    """Whether the parts of a rule fit each other. One fault a rule: the first found."""
    if row.has("target") and row.has("ramp"):
        row.fault("ramp", "target and ramp are both given", "leave one of them out")
        return
    aimed = row.has("target") or row.has("ramp")
    for step in _STEPS:
        near = [key for key in (f"{step}_within", f"{step}_within_percent") if row.has(key)]
        far = [key for key in (f"{step}_below", f"{step}_above") if row.has(key)]
        if near and not aimed:
            row.fault(
                near[0],
                f"{near[0]} is given without a target",
                "add target = ..., or give below and above limits instead",
            )
            return
        if len(near) + bool(far) > 1:
            both = (near + far)[:2]
            row.fault(both[1], f"{both[0]} and {both[1]} are both given", "leave one of them out")
            return
    if row.has("change_way") and not any(row.has(key) for key in _CHANGES):
        row.fault("change_way", "change_way is given without a change", "add watch_change = ...")
        return
    if not any(row.has(key) for key in ("target", "ramp", *_EDGES, *_CHANGES, *_OTHERS)):
        row.fault("item", "this band sets no limit", "add watch_below, watch_above or a target")
        return
    targets: list[float | None] = [rule.target]
    if rule.ramp is not None:
        targets = [target for _, target in rule.ramp.points]
    # Straight lines between the points: what is in order at both ends is in order between.
    for target in targets:
        sound = _in_nature(row, rule, target, item) and _in_order(row, rule, target)
        if not sound or not _act_occurs(row, rule, target, item):
            return


def _key_of(row: PlanRow, step_side: str) -> str:
    """The key that made a limit: the limit itself, or the distance it came from."""
    step = step_side.split("_")[0]
    for key in (step_side, f"{step}_within", f"{step}_within_percent"):
        if row.has(key):
            return key
    return "item"


def _in_order(row: PlanRow, rule: BandRule, target: float | None) -> bool:
    limits = limits_at(rule, target)
    given = [(name, value) for name in _ORDER if (value := getattr(limits, name)) is not None]
    for (low, below), (high, above) in pairwise(given):
        apart = low.endswith("below") and high.endswith("above")
        if below > above or (apart and below == above):
            key = _key_of(row, high if high.endswith("above") else low)
            row.fault(
                key,
                f"{low} {below:g} is not below {high} {above:g}",
                "from low to high: urgent, act, watch below, then watch, act, urgent above",
            )
            return False
    watch, act = rule.limits.watch_change, rule.limits.act_change
    if watch is not None and act is not None and watch > act:
        row.fault(
            "act_change",
            f"act_change {act:g} is less than watch_change {watch:g}",
            "give the larger change to act_change",
        )
        return False
    for milder, worse, more in (
        ("watch_fall_percent", "act_fall_percent", True),
        ("watch_ratio_below", "act_ratio_below", False),
        ("watch_share_percent", "act_share_percent", True),
    ):
        one, two = getattr(rule.limits, milder), getattr(rule.limits, worse)
        if one is not None and two is not None and (two < one if more else two > one):
            words = "less" if more else "more"
            row.fault(
                worse,
                f"{worse} {two:g} is {words} than {milder} {one:g}",
                f"give the {'larger' if more else 'smaller'} one to {worse}",
            )
            return False
    low_end = max((v for n, v in given if n.endswith("below")), default=None)
    high_end = min((v for n, v in given if n.endswith("above")), default=None)
    if target is None:
        return True
    if (low_end is not None and target < low_end) or (high_end is not None and target > high_end):
        key = "ramp" if rule.ramp else "target"
        row.fault(key, f"the target {target:g} is outside its own limits", "move the target")
        return False
    return True


def _in_nature(row: PlanRow, rule: BandRule, target: float | None, item: Item) -> bool:
    """A stated value outside what the item can take could never be met: a slip of unit."""
    if item.plausible is None:
        return True
    low, high = item.plausible
    stated = [(name, value) for name in _EDGES if (value := getattr(rule.limits, name)) is not None]
    if target is not None:
        stated.append(("ramp" if rule.ramp else "target", target))
    for key, value in stated:
        if not low <= value <= high:
            unit = f" {item.unit}" if item.unit else ""
            what = f"{key} {value:g}{unit} is not plausible: {item.code} takes {low:g} to {high:g}"
            row.fault(key, what, "give the value in the unit of the item, or with its own unit")
            return False
    return True


def _act_occurs(row: PlanRow, rule: BandRule, target: float | None, item: Item) -> bool:
    """An action limit that no value can pass without passing the urgent one never speaks."""
    limits = limits_at(rule, target)
    for side, act, urgent in (
        ("below", limits.act_below, limits.urgent_below),
        ("above", limits.act_above, limits.urgent_above),
    ):
        if act is not None and act == urgent:
            key = _key_of(row, f"act_{side}")
            what = f"act_{side} {act:g} is the urgent limit too, so ACT cannot occur"
            row.fault(key, what, "put urgent farther out, or leave one of them out")
            return False
    if item.plausible is None:
        return True
    low, high = item.plausible
    for key, edge, end in (
        ("act_below", rule.limits.act_below, low),
        ("act_above", rule.limits.act_above, high),
    ):
        if edge is not None and edge == end:
            what = f"{key} {edge:g} is the end of what {item.code} takes, so ACT cannot occur"
            row.fault(key, what, "move the limit, or widen plausible of the item")
            return False
    return True


def _alone(row: PlanRow, rule: BandRule, others: Sequence[tuple[PlanRow, BandRule]]) -> None:
    """Two bands of one scope for one item and age leave open which of them holds."""
    for _, other in others:
        same = (
            rule.item == other.item
            and narrowness(rule) == narrowness(other)
            and all(getattr(rule, key) == getattr(other, key) for key in Scope._fields)
        )
        if same and _share_an_age(rule, other):
            ages = "" if rule.dph is None else f" at {rule.dph[0]}-{rule.dph[1]} dph"
            key = "dph" if rule.dph is not None else "item"
            what = f"{quoted(rule.item)}{ages} already has the band on line {other.line}"
            row.fault(key, what, "leave one out, or give the two different tanks, loops or ages")
            return


def _share_an_age(one: BandRule, two: BandRule) -> bool:
    if one.dph is None or two.dph is None:
        return one.dph is two.dph
    return one.dph[0] <= two.dph[1] and two.dph[0] <= one.dph[1]
