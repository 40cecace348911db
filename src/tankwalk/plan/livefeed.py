"""Reading what the fish are to get and from what it is hatched: rations, hatching, cysts."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from tankwalk.plan.fields import Names, PlanRow, kind_of, quoted
from tankwalk.plan.model import Cysts, Feed, FeedKind, Hatching, Ration, RationBy
from tankwalk.plan.rooms import read_code

_FOR = {
    RationBy.TANK: tuple(FeedKind),
    RationBy.FISH: (FeedKind.LIVE,),
    RationBy.DENSITY: (FeedKind.LIVE,),
    RationBy.THOUSAND_FISH: (FeedKind.DRY, FeedKind.PASTE),
    RationBy.BIOMASS: (FeedKind.DRY, FeedKind.PASTE),
}
"""By what each kind of feed can be reckoned."""

MOST_PERCENT = 200.0
"""Of their own weight, fish are given no more in a day."""
OLDEST_DPH = 999


def read_rations(
    rows: Sequence[PlanRow], feeds: Names, treatments: Names, known: Sequence[Feed]
) -> tuple[Ration, ...]:
    """The [[ration]] tables; two of one feed for one treatment may not share an age."""
    kinds = {feed.code: feed.kind for feed in known}
    rations: list[tuple[PlanRow, Ration]] = []
    for nth, row in enumerate(rows, 1):
        feed = row.reference("feed", feeds, need=True)
        treatment = row.reference("treatment", treatments)
        row.call(" ".join(filter(None, (feed, treatment))) or None, nth)
        by = row.one_of("by", {b.value: b for b in RationBy}, RationBy.TANK, need=True)
        _fits(row, feed, by, kinds)
        points = _points(row, by)
        grows = _part(row, "grows", 1.0)
        if row.has("grows") and by is not RationBy.BIOMASS and not row.unsure("by"):
            row.fault("grows", "grows means nothing where by is not biomass", "leave the line out")
        eats = row.measure("eats", "")
        if row.has("eats") and by is not RationBy.DENSITY and not row.unsure("by"):
            row.fault("eats", "eats means nothing where by is not density", "leave the line out")
        elif eats is not None and eats < 0:
            row.fault("eats", f"eats {eats:g} is below 0", "leave the line out")
        source = row.text("source", limit=200) or ""
        if feed is None or not points or row.unsure("treatment"):
            continue
        ration = Ration(feed, treatment, by, points, grows or 0.0, eats or 0.0, source)
        _apart(row, ration, rations)
        rations.append((row, ration))
    return tuple(ration for _, ration in rations)


def _fits(row: PlanRow, feed: str | None, by: RationBy, kinds: dict[str, FeedKind]) -> None:
    kind = kinds.get(feed or "")
    if kind is None or row.unsure("by") or not row.has("by") or kind in _FOR[by]:
        return
    fitting = " or ".join(f'"{b.value}"' for b in RationBy if kind in _FOR[b])
    what = f'{feed} is {kind.value} feed, which is not reckoned by "{by.value}"'
    row.fault("by", what, f"write by = {fitting}, or give the feed another kind")


def _apart(row: PlanRow, ration: Ration, others: Sequence[tuple[PlanRow, Ration]]) -> None:
    first, last = ration.points[0][0], ration.points[-1][0]
    for other_row, other in others:
        same = (other.feed, other.treatment) == (ration.feed, ration.treatment)
        if same and other.points[0][0] <= last and first <= other.points[-1][0]:
            whom = f" for {ration.treatment}" if ration.treatment else ""
            row.fault(
                "points",
                f"the ration of {ration.feed}{whom} at {first}-{last} dph already stands "
                f"on line {other_row.table.line}",
                "leave one out, or give the two different treatments or ages",
            )
            return


def _points(row: PlanRow, by: RationBy) -> tuple[tuple[int, float], ...]:
    """Ages and amounts, in the order of age; () after a fault."""
    value = row.take("points", need=True)
    if value is None:
        return ()
    if not isinstance(value, list) or not value:
        how = kind_of(value) if not isinstance(value, list) else "an empty list"
        row.fault("points", f"points is {how} where ages and amounts are wanted")
        return ()
    points: list[tuple[int, float]] = []
    for entry in value:
        if not isinstance(entry, dict) or set(entry) != {"dph", "amount"}:
            row.fault("points", "a point of the ration is not an age and an amount")
            return ()
        age = entry["dph"]
        if not isinstance(age, int) or isinstance(age, bool) or not 0 <= age <= OLDEST_DPH:
            row.fault("points", f"dph {quoted(age)} is not an age in whole days")
            return ()
        amount = row.as_measure("points", entry["amount"], "")
        if amount is None:
            return ()
        if amount < 0:
            row.fault("points", f"the amount at {age} dph is below 0")
            return ()
        if by is RationBy.BIOMASS and amount > MOST_PERCENT and not row.unsure("by"):
            row.fault("points", f"{amount:g} % of the fish's own weight a day is too much")
            return ()
        points.append((age, amount))
    for (earlier, _), (later, _) in pairwise(points):
        if later <= earlier:
            what = f"the ration goes from {earlier} to {later} dph"
            row.fault("points", what, "put the ages in order, none twice")
            return ()
    return tuple(points)


def _part(row: PlanRow, key: str, most: float) -> float | None:
    """A part of 1, also written as percent; from 0 to `most`."""
    part = row.measure(key, "fraction")
    if part is not None and not 0 <= part <= most:
        row.fault(key, f"{key} {part:g} is not from 0 to {most:g}")
        return None
    return part


def _between(row: PlanRow, key: str, unit: str, low: float, high: float, usual: float) -> float:
    """A number in a unit that can be meant; the usual one where it is left out or wrong."""
    number = row.measure(key, unit)
    if number is None:
        return usual
    if not low <= number <= high:
        row.fault(key, f"{key} {number:g} {unit}".rstrip() + f" is not from {low:g} to {high:g}")
        return usual
    return number


def read_hatching(rows: Sequence[PlanRow]) -> Hatching:
    """The [hatching] table; what it leaves out is as everywhere."""
    usual = Hatching()
    if not rows:
        return usual
    row = rows[0]
    margin = _part(row, "margin", 2.0)
    return Hatching(
        grams_per_l=_between(row, "density", "g/L", 0.1, 20, usual.grams_per_l),
        hours=_between(row, "hours", "h", 6, 72, usual.hours),
        temperature=_between(row, "temperature", "degC", 10, 40, usual.temperature),
        ph=_between(row, "ph", "", 5, 11, usual.ph),
        salinity=_between(row, "salinity", "g/kg", 0.5, 120, usual.salinity),
        light_lux=_between(row, "light", "lux", 0, 100_000, usual.light_lux),
        margin=usual.margin if margin is None else margin,
        ready_min=_between(row, "ready", "min", 0, 720, usual.ready_min),
        harvest=row.time_of_day("harvest"),
        cones_l=_cones(row),
        evening=row.time_of_day("evening") or usual.evening,
    )


def _cones(row: PlanRow) -> tuple[float, ...]:
    """The volumes of the cones there are, in L, smallest first; several may be alike."""
    value = row.take("cones")
    if value is None:
        return ()
    if not isinstance(value, list) or not value:
        row.fault("cones", "cones is no list of volumes")
        return ()
    found = []
    for entry in value:
        litres = row.as_measure("cones", entry, "L")
        if litres is None:
            return ()
        if not 0 < litres <= 5000:
            row.fault("cones", f"a cone of {litres:g} L is not above 0 and at most 5000 L")
            return ()
        found.append(litres)
    return tuple(sorted(found))


def read_cysts(rows: Sequence[PlanRow], names: Names) -> tuple[Cysts, ...]:
    """The [[cysts]] tables, each lot by its code."""
    lots = []
    for nth, row in enumerate(rows, 1):
        code = read_code(row, names, nth)
        per_gram = row.measure("per_gram", "", need=True)
        if per_gram is not None and not 1000 <= per_gram <= 1_000_000:
            what = f"per_gram {per_gram:g} is not from 1000 to 1000000 nauplii"
            row.fault("per_gram", what)
        row.take("hatch", need=True)
        hatch = _part(row, "hatch", 1.0)
        if hatch == 0:
            row.fault("hatch", "hatch is 0: nothing would hatch")
        order_at = row.measure("order_at", "g")
        if order_at is not None and order_at < 0:
            row.fault("order_at", f"order_at {order_at:g} g is below 0")
        lots.append(
            Cysts(
                code,
                row.text("label", limit=60) or "",
                per_gram or 0.0,
                hatch or 0.0,
                order_at,
                row.text("source", limit=120) or "",
            )
        )
    return tuple(lots)
