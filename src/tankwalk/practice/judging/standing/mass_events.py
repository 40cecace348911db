"""A mass event as a flag: many dead at once, from their entry until a person closes it.

No reading raises it, so no reading clears it: it follows from movements of fish that stand.
"""

from __future__ import annotations

from collections.abc import Iterable

from tankwalk.clock import Instant
from tankwalk.ledger.flags import Done, Flagged
from tankwalk.ledger.readings import Seen
from tankwalk.ledger.stock import MovedFish, What
from tankwalk.plan.model import MASS_EVENT, Plan
from tankwalk.practice.judging.standing.flags import Key, Standing
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import Site
from tankwalk.practice.stock.dead import MORTS
from tankwalk.practice.stock.numbers import begins

LOOKED_AT = ("do", "temp", "ph", MORTS)
"""What is read to look at such a tank again, of what the plan has. Common practice, no source."""


def key_of(tank: str) -> Key:
    """The flag of a tank's mass event."""
    return Key("place", tank, MASS_EVENT.code)


def asked(plan: Plan, tank: str) -> tuple[tuple[str, str], ...]:
    """What is read to look at the tank of a mass event again, by place and item."""
    known = {item.code for item in plan.items}
    return tuple((tank, code) for code in LOOKED_AT if code in known)


def events(site: Site, now: Instant) -> dict[str, list[MovedFish]]:
    """The mass events of the fish that are in the tanks, by tank, oldest first."""
    return site.worked_at(now, "mass events", lambda: _read(site, now))


def _read(site: Site, now: Instant) -> dict[str, list[MovedFish]]:
    plan = site.plan
    since = {tank.code: begins(plan, tank) for tank in plan.tanks}
    if not since:
        return {}
    moved = site.reader.stock.all_movements(sorted(since), min(since.values()))
    found = {
        tank: [
            one for one in those if one.what == What.DEAD and since[tank] <= one.at.utc <= now.utc
        ]
        for tank, those in moved.items()
    }
    return {tank: those for tank, those in found.items() if those}


def seen_of(site: Site, tank: str, n: int, now: Instant) -> Seen | None:
    """A mass event by its entry, as flags see what was read; None for one that stands no more."""
    return next((_seen(tank, one) for one in events(site, now).get(tank, ()) if one.n == n), None)


def _seen(tank: str, moved: MovedFish) -> Seen:
    return Seen(
        moved.n, tank, MASS_EVENT.code, MASS_EVENT.unit, float(moved.fish), str(moved.fish), None,
        moved.reason, moved.at, moved.who, None, int(Flag.URGENT), False, None,
    )  # fmt: skip


def flagged(site: Site, now: Instant) -> list[Flagged]:
    """Every mass event of the fish that are there, as what was flagged is told."""
    return [
        Flagged(tank, MASS_EVENT.code, MASS_EVENT.unit, one.n, one.at, int(Flag.URGENT), None, None)
        for tank, those in events(site, now).items()
        for one in those
    ]


def standing(site: Site, now: Instant) -> list[Standing]:
    """The mass events that nobody has closed, one flag a tank."""
    every = events(site, now)
    if not every:
        return []
    first = min(one.at.utc for those in every.values() for one in those)
    closed: dict[str, int] = {}
    for act in site.reader.flags.done(first):
        if act.item == MASS_EVENT.code and act.event == "close":
            closed[act.place] = max(act.n, closed.get(act.place, 0))
    found = []
    for tank, those in every.items():
        still = [one for one in those if one.n > closed.get(tank, 0)]
        if still:
            last = still[-1]
            found.append(
                Standing(
                    key_of(tank), tank, Flag.URGENT, words(still), still[0].at, last.at,
                    _seen(tank, last),
                )
            )  # fmt: skip
    return found


def closed(acts: Iterable[Done]) -> set[str]:
    """The tanks whose mass events were closed by some acts."""
    return {act.place for act in acts if (act.item, act.event) == (MASS_EVENT.code, "close")}


def words(those: list[MovedFish]) -> str:
    """Mass events in words: how many died in all, and how sure that is."""
    fish = sum(one.fish for one in those)
    said = f"{MASS_EVENT.label} {fish:,} {MASS_EVENT.unit}"
    errors = [one.plus_minus for one in those]
    if any(error is None for error in errors):
        return said
    half = sum((error or 0.0) ** 2 for error in errors) ** 0.5
    return f"{said} +/- {half:,.0f}" if half else said
