"""Which flags of single readings live: their looks, read together, have not cleared them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date

from tankwalk.clock import Instant
from tankwalk.ledger.flags import Flagged
from tankwalk.ledger.readings import Seen
from tankwalk.plan.bands import band_at
from tankwalk.plan.model import Item, Limits, Plan
from tankwalk.practice.judging.standing.condemned import Condemned
from tankwalk.practice.judging.standing.life import Life, life
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple

LIFE = 8
"""Looks back in which a flag's life is followed."""


class Living(NamedTuple):
    """A flag that lives: the newest look that counts, the one behind it, and where it is."""

    item: Item
    row: Flagged
    newest: Seen
    behind: Seen
    life: Life


def living(
    site: Site,
    flagged: Sequence[tuple[Item, Flagged, Seen]],
    condemned: Condemned,
    now: Instant,
) -> list[Living]:
    """Of flags of items at places those that live; each comes with the newest reading there.

    Their looks are one question, and so is what they were worked out from.
    """
    readings = site.reader.readings
    pairs = [(row.place, row.item, row.unit) for _, row, _ in flagged]
    every = readings.looks_of(pairs, LIFE, now.utc) if pairs else {}
    condemned.learn_looks(every)
    still: list[tuple[Item, Flagged, Seen, int, int, Life]] = []
    for item, row, seen in flagged:
        looks = condemned.counting(row.item, every.get((row.place, row.item), []))
        lived = life(item, looks, _limits_of(site.plan, item, row.place, now))
        if lived.raised is None or lived.newest is None:
            continue
        last = seen.n if condemned.of(seen) is None else looks[-1].n
        still.append((item, row, seen, last, lived.newest.n, lived))
    known = {seen.n: seen for _, _, seen in flagged}
    asked = {n for *_, last, behind, _ in still for n in (last, behind) if n not in known}
    if asked:
        known |= readings.seen_of(sorted(asked))
    return [
        Living(item, row, known.get(last, seen), known[behind], lived)
        for item, row, seen, last, behind, lived in still
        if behind in known
    ]


def _limits_of(plan: Plan, item: Item, place: str, now: Instant) -> Callable[[int], Limits | None]:
    """The band of an item at a place by UTC second; each day's is looked up once."""
    known: dict[date, Limits | None] = {}

    def limits(at: int) -> Limits | None:
        then = Instant(at, now.offset)
        if then.day not in known:
            known[then.day] = limits_on(plan, item, place, then)
        return known[then.day]

    return limits


def limits_on(plan: Plan, item: Item, place: str, now: Instant) -> Limits | None:
    """The limits of an item at a place on a day, None where it has no band."""
    band = band_at(plan, item, place, now.day)
    return None if band is None else band.limits
