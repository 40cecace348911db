"""The flag budget: how many flags a week raised against what people can still take seriously.

A band that flags good water teaches people to press past it, so who flags most is named.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from tankwalk.clock import Instant
from tankwalk.ledger.flags import Flagged
from tankwalk.plan.model import Plan
from tankwalk.practice.judging.rules import Rule, is_shared, recorded
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

DAYS = 7
TANKS = 12
"""The limits of judging are by the day of so many tanks."""

# Seeds, to be tuned by a site. Common practice, no source.

TOGETHER_HOURS = 3.0
"""Tanks of one loop that are out in one item within this time are one flag."""
AGAIN_HOURS = 30.0
"""Out again at the next looks within this time is the same flag, still standing."""
NAMED = 3
"""How many of the noisiest bands are named."""
OFTEN = 2
"""So many flags of one item at one place in a week make one ask whether its band is right."""


class Noise(NamedTuple):
    """How many flags one band raised, and where most of them."""

    item: str
    label: str
    flags: int
    place: str


class Budget(NamedTuple):
    """A week's flags beside what was allowed, and who raised most of them."""

    since: Instant
    watch: int
    act: int
    allowed_watch: int
    noisiest: tuple[Noise, ...]

    @property
    def over(self) -> bool:
        return self.watch + self.act > self.allowed_watch


def week(site: Site, now: Instant) -> Budget:
    """The flags of the last seven days, counted as people met them: one cause, one flag."""
    since = now.utc - DAYS * 86400
    rows = site.reader.flags.flagged(since, now.utc)
    found = raised(site.plan, rows)
    items = {item.code: item.label for item in site.plan.items}
    by_item = Counter(one.item for one in found)
    places = Counter((one.item, one.place) for one in found)
    noisiest = []
    for code, many in sorted(by_item.items(), key=lambda pair: (-pair[1], pair[0]))[:NAMED]:
        place = max((n, p) for (item, p), n in places.items() if item == code)[1]
        noisiest.append(Noise(code, items.get(code, code), many, place))
    acted = sum(one.flag >= Flag.ACT for one in found)
    allowed = round(site.plan.judging.watch_a_day * DAYS * of_tanks(site.plan))
    return Budget(Instant(since, now.offset), len(found) - acted, acted, allowed, tuple(noisiest))


def often(site: Site, now: Instant) -> tuple[Noise, ...]:
    """Where one item was flagged again and again in the last seven days, most often first."""
    rows = site.reader.flags.flagged(now.utc - DAYS * 86400, now.utc)
    counted = Counter((one.item, one.place) for one in raised(site.plan, rows))
    items = {item.code: item.label for item in site.plan.items}
    found = [
        Noise(item, items[item], many, place)
        for (item, place), many in counted.items()
        if many >= OFTEN and item in items
    ]
    return tuple(sorted(found, key=lambda one: (-one.flags, one.place, one.item))[:NAMED])


def raised(plan: Plan, rows: list[Flagged]) -> list[Flagged]:
    """The first reading of each flag; the worst one where most tanks of a loop, or of a batch of
    feed, are out together."""
    return [max((run.rows[0] for run in one), key=lambda row: row.flag) for one in met(plan, rows)]


class Run(NamedTuple):
    """Looks out of band of one place and item, one after another: one flag."""

    place: str
    item: str
    rows: tuple[Flagged, ...]

    @property
    def worst(self) -> Flagged:
        return max(self.rows, key=lambda one: one.flag)


def runs(rows: Iterable[Flagged]) -> list[Run]:
    """Looks out of band, oldest first, put together while none is more than a day after the one
    before."""
    open_runs: dict[tuple[str, str], list[Flagged]] = {}
    found: list[list[Flagged]] = []
    for row in rows:
        here = open_runs.get((row.place, row.item))
        if here is None or row.at.hours_since(here[-1].at) > AGAIN_HOURS:
            here = open_runs[row.place, row.item] = []
            found.append(here)
        here.append(row)
    return [Run(one[0].place, one[0].item, tuple(one)) for one in found]


def met(plan: Plan, rows: Iterable[Flagged]) -> list[tuple[Run, ...]]:
    """Flags as people met them: runs that began together in most tanks of a loop, or by one batch
    of feed, are one."""
    tanks = {tank.code: tank.loop for tank in plan.tanks}
    many = Counter(tanks.values())
    clusters: dict[tuple[str, str], list[list[Run]]] = {}
    for run in runs(rows):
        key = tanks.get(run.place, run.place), run.item
        here = clusters.setdefault(key, [])
        if here and run.rows[0].at.hours_since(here[-1][0].rows[0].at) <= TOGETHER_HOURS:
            here[-1].append(run)
        else:
            here.append([run])
    found: list[tuple[Run, ...]] = []
    for (loop, _), groups in clusters.items():
        for group in groups:
            of_batch = any(recorded(run.rows[0].rule) is Rule.BATCH for run in group)
            if of_batch or is_shared(len(group), many[loop]):
                found.append(tuple(group))
            else:
                found += [(run,) for run in group]
    return found


def of_tanks(plan: Plan) -> float:
    """How many times twelve tanks a site has, at least once: what its limits are multiplied by."""
    return max(1.0, len(plan.tanks) / TANKS)
