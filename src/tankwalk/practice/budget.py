"""The flag budget: how many flags a week raised against what people can still take seriously.

A band that flags good water teaches people to press past it, so who flags most is named.
"""

from __future__ import annotations

from collections import Counter

from tankwalk.clock import Instant
from tankwalk.ledger.flags import Flagged
from tankwalk.plan.model import Plan
from tankwalk.practice.judging.rules import Rule, is_shared, recorded
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

# Seeds, to be tuned by a site. Common practice, no source.

DAYS = 7
WATCH_A_DAY, ACT_A_DAY = 3, 0
"""What an ordinary day of twelve tanks may raise."""
TANKS = 12
TOGETHER_HOURS = 3.0
"""Tanks of one loop that are out in one item within this time are one flag."""
AGAIN_HOURS = 30.0
"""Out again at the next looks within this time is the same flag, still standing."""
NAMED = 3
"""How many of the noisiest bands are named."""


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
    allowed = round(WATCH_A_DAY * DAYS * max(1.0, len(site.plan.tanks) / TANKS))
    return Budget(Instant(since, now.offset), len(found) - acted, acted, allowed, tuple(noisiest))


def raised(plan: Plan, rows: list[Flagged]) -> list[Flagged]:
    """The first reading of each flag; the worst one where most tanks of a loop, or of a batch of
    feed, are out together."""
    last: dict[tuple[str, str], Instant] = {}
    first: list[Flagged] = []
    for row in rows:
        before, last[row.place, row.item] = last.get((row.place, row.item)), row.at
        if before is None or row.at.hours_since(before) > AGAIN_HOURS:
            first.append(row)
    tanks = {tank.code: tank.loop for tank in plan.tanks}
    many = Counter(tanks.values())
    clusters: dict[tuple[str, str], list[list[Flagged]]] = {}
    for row in first:
        key = tanks.get(row.place, row.place), row.item
        here = clusters.setdefault(key, [])
        if here and row.at.hours_since(here[-1][0].at) <= TOGETHER_HOURS:
            here[-1].append(row)
        else:
            here.append([row])
    found: list[Flagged] = []
    for (loop, _), groups in clusters.items():
        for group in groups:
            of_batch = any(recorded(row.rule) is Rule.BATCH for row in group)
            if of_batch or is_shared(len(group), many[loop]):
                found.append(max(group, key=lambda row: row.flag))
            else:
                found += group
    return found
