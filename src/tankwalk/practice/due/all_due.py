"""What is due, what is overdue, and how long nobody has looked."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from tankwalk.clock import Instant, at, zone
from tankwalk.ledger.readings import Seen
from tankwalk.plan.model import Instrument, Item, Level, Plan
from tankwalk.practice.doing import deviations
from tankwalk.practice.due import attendance, owed
from tankwalk.practice.due.live import live_feed_due
from tankwalk.practice.incidents import owed as incidents_owe
from tankwalk.practice.incidents.incident import Incident
from tankwalk.practice.site import SITE, Site
from tankwalk.practice.tasks import (
    CheckDue,
    Due,
    DueState,
    MetersDue,
    RoundDue,
    RoundUnsigned,
    of_days,
    worst_first,
)
from tankwalk.rows import NamedTuple

MANY = 5
"""So many checks of one round that were never done yet are told as one. Common practice."""

EARLY_HOURS = 1.0
"""A round counts as due this long before its time. Common practice, no source."""

JUST_LATE = 0.1
"""Hours late of what was never done: overdue, and after all that is late by a time."""

LATE_HOURS = 1.0
"""A round is overdue this long after its time. Common practice, no source."""


NEWEST_ROUNDS = 60
"""So many rounds are looked through: those of today and of the week before are among them."""


def everything(
    site: Site, now: Instant, newest: dict[tuple[str, str], Seen], wrong: Sequence[Incident] = ()
) -> list[Due]:
    """All that is due or overdue, worst first.

    `newest` are the newest readings of the record, `wrong` the flags that stand.
    """
    # These look back furthest, at meals, and at batches and samples: each is read once.
    drafted = deviations.drafted(site, now)
    live = live_feed_due(site, now)
    return worst_first(
        (
            *attendance.unattended(site, now),
            *incidents_owe.owed(site.plan, wrong, now),
            *due_rounds(site, now),
            *left_unsigned(site, now),
            *owed.meals_due(site, now),
            *drafted,
            *due_meters(site, now),
            *due_checks(site, now, newest),
            *owed.samples_due(site, now),
            *owed.samples_left(site, now),
            *owed.changes(site.plan, now),
            *attendance.gap(site.plan, now),
            *live,
        )
    )


def due_rounds(site: Site, now: Instant) -> list[Due]:
    """Today's rounds that are not signed, in order of their time."""
    tz = zone(site.plan.zone)
    found = []
    done = site.reader.rounds.newest(NEWEST_ROUNDS)
    for checklist in sorted(site.plan.checklists, key=lambda c: c.at):
        if not checklist.is_on(now.day):
            continue
        when = at(now.day, checklist.at.hour, checklist.at.minute, tz)
        today = [r for r in done if r.checklist == checklist.code and r.opened.day == now.day]
        if any(r.signed for r in today):
            continue
        late = now.hours_since(when)
        if late > LATE_HOURS:
            state = DueState.OVERDUE
        else:
            state = DueState.NOW if late >= -EARLY_HOURS else DueState.TO_COME
        facts = RoundDue(checklist.label, when, state, late)
        if today:
            begun = today[0]
            facts = facts._replace(state=DueState.BEGUN, begun=begun.opened, by=begun.who)
        found.append(Due(late - LATE_HOURS, facts))
    return found


def left_unsigned(site: Site, now: Instant) -> list[Due]:
    """Rounds of the last seven days, before today, that were begun and never signed."""
    found = []
    week = now.day - timedelta(days=7)
    for seen in site.reader.rounds.newest(NEWEST_ROUNDS):
        if seen.signed is None and week <= seen.opened.day < now.day:
            label = next(
                (c.label for c in site.plan.checklists if c.code == seen.checklist), seen.checklist
            )
            facts = RoundUnsigned(label, seen.opened, seen.who)
            found.append(Due(now.hours_since(seen.opened), facts))
    return found


def due_checks(site: Site, now: Instant, newest: dict[tuple[str, str], Seen]) -> list[Due]:
    """Checks that are done every so many days and are overdue, the latest first."""
    found = []
    places = {
        Level.SITE: [SITE],
        Level.LOOP: [loop.code for loop in site.plan.loops],
        Level.TANK: [tank.code for tank in site.plan.tanks],
    }
    ages = {tank.code: site.plan.age(tank, now.day) for tank in site.plan.tanks}
    never: dict[str, list[CheckDue]] = {}
    for item in site.plan.items:
        if item.every_days is None:
            continue
        for place in places[item.level]:
            if item.level is Level.TANK and not item.asked_at(ages[place]):
                continue
            seen = newest.get((place, item.code))
            if seen is None:
                check = CheckDue(item.label, place, DueState.NOT_DONE)
                never.setdefault(_asked_by(site.plan, item), []).append(check)
                continue
            late = (now.day - seen.at.day).days - item.every_days
            if late >= 0:
                facts = CheckDue(item.label, place, of_days(late), late, seen.at)
                found.append(Due(late * 24, facts))
    for label, checks in never.items():
        if len(checks) >= MANY:  # a new room: one line, and not a page of them
            checks = [CheckDue(label, SITE, DueState.NOT_DONE, many=len(checks))]
        found += [Due(JUST_LATE, check) for check in checks]
    return sorted(found, key=lambda d: -d.late_hours)


def _asked_by(plan: Plan, item: Item) -> str:
    """The first round that asks an item."""
    return next(
        one.label
        for one in plan.checklists
        if item.code in (one.glance, *one.site, *one.loop, *one.tank)
    )


def due_meters(site: Site, now: Instant) -> list[Due]:
    """Meters whose check is due or overdue; those that wait since the same day are one line.

    A meter that failed its check is out of use until it passes one, so nothing of it is due.
    """
    meters = [m for m in site.plan.instruments if m.check_every_days is not None]
    if not meters:
        return []
    newest = site.reader.meters.newest_checks([meter.code for meter in meters])
    checked = {code: (late[0].at, late[0].passed) for code, late in newest.items() if late}
    never = tuple(m for m in meters if m.code not in checked)
    found = [Due(JUST_LATE, MetersDue(never, DueState.NOT_DONE))] if never else []
    since: dict[tuple[float, date], list[Instrument]] = {}
    for meter in meters:
        last, passed = checked.get(meter.code, (now, False))
        if not passed:
            continue
        every = meter.check_every_days or 0.0
        days = (now.day - last.day).days if every >= 1 else now.hours_since(last) / 24
        if days >= every:
            since.setdefault((days - every, last.day), []).append(meter)
    for (late, _), these in since.items():
        last = max(checked[meter.code][0] for meter in these)
        found.append(Due(late * 24, MetersDue(tuple(these), of_days(late), late, last)))
    return found


class LastLook(NamedTuple):
    """How long ago anybody looked at a tank; None when nobody ever did."""

    place: str
    last: Instant | None

    def hours(self, now: Instant) -> float | None:
        return None if self.last is None else now.hours_since(self.last)


def looks(plan: Plan, newest: dict[tuple[str, str], Seen]) -> list[LastLook]:
    """The newest look at each tank, in the plan's order."""
    last: dict[str, Instant] = {}
    worked_out = {item.code for item in plan.items if item.derived}
    for (place, code), seen in newest.items():
        if code in worked_out:  # nobody looked for it
            continue
        if place not in last or seen.at > last[place]:
            last[place] = seen.at
    return [LastLook(t.code, last.get(t.code)) for t in plan.tanks]
