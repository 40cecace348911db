"""What the page of judging shows: flags of the last days by rule and place, beside the budget."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.plan.model import Item
from tankwalk.practice.budget import of_tanks
from tankwalk.practice.learning.dead import DeadSeen, dead_seen
from tankwalk.practice.learning.met import DAYS, ByRule, Met, Uses, by_place, by_rule
from tankwalk.practice.learning.met import AtPlace as Flagged
from tankwalk.practice.learning.met import kept as flags_kept
from tankwalk.practice.learning.met import uses as counted
from tankwalk.practice.learning.sees import Sees, sees
from tankwalk.practice.learning.trying import movable
from tankwalk.practice.past.window import window
from tankwalk.practice.site import Site
from tankwalk.rows import NamedTuple


class Week(NamedTuple):
    """Flags a week of one level: false ones, those chance may raise, and all with their budget."""

    false: float
    borne: float
    all: float
    budget: float


class Learned(NamedTuple):
    """Judging at this site over some days."""

    site: str
    now: Instant
    days: int
    uses: Uses
    watch: Week
    act: Week
    rules: tuple[ByRule, ...]
    places: tuple[Flagged, ...]
    flags: tuple[Met, ...]
    sees: tuple[Sees, ...]
    dead: DeadSeen | None


def learned(site: Site, days: int = DAYS) -> Learned:
    """What judging did in the last days, up to now. Refusal for no 1 to 3660 days."""
    with site.ledger.reading():
        now = site.now()
        span = window(site, now, days)
        met = flags_kept(site, span, now).met
        limits, tanks = site.plan.judging, of_tanks(site.plan)
        weeks = max(1.0, days / 7)
        every = counted(met)
        false = counted(one for one in met if one.false)
        return Learned(
            site.plan.name,
            now,
            days,
            every,
            Week(
                false.watch / weeks,
                7 * limits.false_watch_a_day * tanks,
                every.watch / weeks,
                7 * limits.watch_a_day * tanks,
            ),
            Week(
                false.act / weeks,
                7 * limits.false_act_a_day * tanks,
                every.act / weeks,
                7 * limits.act_a_day * tanks,
            ),
            by_rule(met),
            by_place(met, {item.code: item for item in site.plan.items}),
            met,
            sees(site, span, now),
            dead_seen(site, now),
        )


class OfItem(NamedTuple):
    """One item at a place: what came of its flags."""

    item: Item
    uses: Uses


class AtPlace(NamedTuple):
    """Judging at one place over some days: each item that has a band there, most flags first."""

    place: str
    now: Instant
    days: int
    items: tuple[OfItem, ...]


def at_place(site: Site, place: str, days: int = DAYS) -> AtPlace:
    """What judging did at one place. Refusal for no 1 to 3660 days."""
    with site.ledger.reading():
        now = site.now()
        met = flags_kept(site, window(site, now, days), now).met
        here = [one for one in met if place in one.places]
        found = [
            OfItem(item, counted(one for one in here if one.item == item.code))
            for item in movable(site, place)
        ]
        return AtPlace(place, now, days, tuple(sorted(found, key=lambda one: -one.uses.flags)))
