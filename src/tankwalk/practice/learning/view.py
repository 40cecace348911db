"""What the page of judging shows: flags of the last days by rule and place, beside the budget."""

from __future__ import annotations

from tankwalk.clock import Instant
from tankwalk.practice.budget import of_tanks
from tankwalk.practice.learning.dead import DeadSeen, dead_seen
from tankwalk.practice.learning.met import DAYS, AtPlace, ByRule, Met, Uses, by_place, by_rule
from tankwalk.practice.learning.met import kept as flags_kept
from tankwalk.practice.learning.met import uses as counted
from tankwalk.practice.learning.sees import Sees, sees
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
    places: tuple[AtPlace, ...]
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
