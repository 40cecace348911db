"""The shift at a glance: what is wrong, what is due, what is altered, who has the room."""

from __future__ import annotations

from typing import NamedTuple

from tankwalk import quantity
from tankwalk.clock import Instant, ago
from tankwalk.ledger import queries
from tankwalk.ledger.queries import FollowUpSeen, HandoverSeen, RoundSeen, Seen
from tankwalk.plan.derived import BY_CODE
from tankwalk.plan.model import Item, Kind, Level, Plan, Tank
from tankwalk.practice import due, rounds
from tankwalk.practice.derived import spread_words
from tankwalk.practice.judging import Flag
from tankwalk.practice.site import SITE, Site

STANDING_DAYS = 14
"""An out-of-band value older than this no longer counts as what is wrong now; it is a gap."""


class Wrong(NamedTuple):
    """An out-of-band value that is the newest of its kind.

    Where a loop stands for its tanks, `tanks` names them. `seen` is the worst reading behind it.
    """

    place: str
    flag: Flag
    sentence: str
    at: Instant
    seen: Seen
    tanks: tuple[str, ...] = ()

    @property
    def places(self) -> tuple[str, ...]:
        """Where it is wrong: the tanks of a loop, else the place itself."""
        return self.tanks or (self.place,)


class Tile(NamedTuple):
    """One tank at a glance."""

    tank: Tank
    dph: int | None
    flag: Flag
    items: tuple[str, ...]
    looked: Instant | None


class Board(NamedTuple):
    """Everything the board shows, at one moment."""

    name: str
    now: Instant
    wrong: tuple[Wrong, ...]
    tiles: tuple[Tile, ...]
    due: tuple[due.Due, ...]
    altered: tuple[FollowUpSeen, ...]
    actions: tuple[FollowUpSeen, ...]
    handover: HandoverSeen | None
    unsigned: RoundSeen | None
    emergency: str
    meters: tuple[str, ...]

    @property
    def longest(self) -> Tile | None:
        """The tank that was looked at longest ago."""
        never = [t for t in self.tiles if t.looked is None]
        seen = [t for t in self.tiles if t.looked is not None]
        if never:
            return never[0]
        return min(seen, key=lambda t: t.looked.utc if t.looked else 0, default=None)


def value_words(item: Item, seen: Seen) -> str:
    """A kept value with its unit, as people say it."""
    if seen.value is None:
        return seen.qualifier or "not taken"
    if item.kind is Kind.CHOICE:
        index = int(seen.value)
        return item.choices[index] if 0 <= index < len(item.choices) else seen.typed
    below = "< " if seen.qualifier == "<" else ""
    return below + quantity.show(seen.value, item.unit, item.decimals)


def wrong_now(plan: Plan, newest: dict[tuple[str, str], Seen], now: Instant) -> tuple[Wrong, ...]:
    """Newest values that are out of band, worst first, then in walking order."""
    order = {t.code: i for i, t in enumerate(rounds.walking_order(plan, now.day))}
    items = {i.code: i for i in plan.items}
    found = []
    for (place, code), seen in newest.items():
        item = items.get(code)
        fresh = now.hours_since(seen.at) <= 24 * STANDING_DAYS
        if item is None or seen.flag < Flag.WATCH or not fresh or not _here(plan, place):
            continue
        if _said_elsewhere(plan, newest, seen):
            continue
        words = f"{item.label} {value_words(item, seen)}"
        found.append(Wrong(place, Flag(seen.flag), words, seen.at, seen))
    found = _by_loop(plan, newest, found)
    return tuple(sorted(found, key=lambda w: (-w.flag, order.get(w.place, -1), w.sentence)))


def _said_elsewhere(plan: Plan, newest: dict[tuple[str, str], Seen], seen: Seen) -> bool:
    """Whether another line says it: one measurement is one message, the worse of the two.

    A derived value and a part of it at the same place are one measurement, while the derived one
    was worked out from it or from a later one.
    """
    for one in plan.items:
        if not one.derived:
            continue
        worked = newest.get((seen.place, one.code))
        if worked is None:
            continue
        parts = {code for _, code in BY_CODE[one.code].items}
        if seen.item in parts and worked.at >= seen.at and worked.flag > seen.flag:
            return True
        if seen.item == one.code:
            here = [newest.get((seen.place, code)) for code in parts]
            if any(p is not None and p.flag >= seen.flag and seen.at >= p.at for p in here):
                return True
    return False


def _by_loop(plan: Plan, newest: dict[tuple[str, str], Seen], wrong: list[Wrong]) -> list[Wrong]:
    """What is out in most tanks of a loop, as one message for the loop.

    At least three tanks, and more than half of those that have the value, are one cause.
    """
    kept = list(wrong)
    for item in plan.items:
        if item.level is not Level.TANK or item.kind is Kind.CHOICE:
            continue
        shared = _shared_part(plan, item)
        for loop in plan.loops:
            tanks = [t.code for t in plan.tanks if t.loop == loop.code]
            here = [w for w in kept if w.seen.item == item.code and w.place in tanks]
            have = [t for t in tanks if (t, item.code) in newest]
            if len(here) < 3 or 2 * len(here) <= len(have):
                continue
            worst = max(here, key=lambda w: (w.flag, w.seen.value or 0.0))
            values = spread_words(item, [w.seen for w in here])
            words = f"{item.label} {values}, {len(here)} of {len(have)} tanks"
            part = shared and newest.get((loop.code, shared.code))
            if shared and part is not None and part.flag < Flag.WATCH:
                words += f"; {shared.label} {value_words(shared, part)} in band"
            one = Wrong(
                loop.code, worst.flag, words, max(w.at for w in here), worst.seen,
                tuple(w.place for w in here),
            )  # fmt: skip
            kept = [w for w in kept if w not in here] + [one]
    return kept


def _shared_part(plan: Plan, item: Item) -> Item | None:
    """The part of a derived item that is read once for the whole loop."""
    if not item.derived:
        return None
    codes = {code for _, code in BY_CODE[item.code].parts}
    return next((i for i in plan.items if i.code in codes and i.level is Level.LOOP), None)


def _here(plan: Plan, place: str) -> bool:
    return place == SITE or place in {t.code for t in plan.tanks} | {p.code for p in plan.loops}


def board(site: Site) -> Board:
    """The board at this moment."""
    now = site.now()
    plan, db = site.plan, site.ledger.db
    newest = queries.newest_of_all(db)
    wrong = wrong_now(plan, newest, now)
    looked = {look.place: look.last for look in due.looks(plan, newest)}
    tiles = []
    for tank in rounds.walking_order(plan, now.day):
        here = [w for w in wrong if tank.code in w.places]
        worst = max((w.flag for w in here), default=Flag.OK)
        words = tuple(w.sentence for w in here)
        tiles.append(Tile(tank, plan.age(tank, now.day), worst, words, looked.get(tank.code)))
    standing = queries.follow_ups(db)
    checklist_due = [
        *due.due_rounds(site, now),
        *due.left_unsigned(site, now),
        *due.due_checks(site, now, newest),
    ]
    unsigned = None
    for checklist in plan.checklists:
        unsigned = unsigned or rounds.unsigned(site, checklist, now)
    return Board(
        plan.name,
        now,
        wrong,
        tuple(tiles),
        tuple(checklist_due),
        tuple(f for f in standing if f.what == "altered"),
        tuple(f for f in standing if f.what == "action"),
        queries.last_handover(db),
        unsigned,
        plan.emergency,
        _meters(site, now),
    )


def _meters(site: Site, now: Instant) -> tuple[str, ...]:
    """Meters whose last check failed or lies more than a day back, each in a few words."""
    found = []
    checked = queries.last_calibrations(site.ledger.db)
    for meter in site.plan.instruments:
        seen = checked.get(meter.code)
        label = f"{meter.kind} {meter.code}"
        if seen is not None and not seen[1]:
            found.append(f"{label} failed its check {seen[0].short()}")
        elif seen is not None and now.hours_since(seen[0]) > 48:
            found.append(f"{label} last checked {ago(now.hours_since(seen[0]))} ago")
    return tuple(found)
