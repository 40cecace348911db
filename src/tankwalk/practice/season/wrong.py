"""What went wrong in a season: flags, incidents with what followed, and what was not done."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from tankwalk.clock import Instant, at, zone
from tankwalk.ledger.feeding import BatchEvent, BatchSeen
from tankwalk.ledger.flags import Flagged
from tankwalk.ledger.rounds import RoundSeen
from tankwalk.practice.budget import TOGETHER_HOURS, Run, raised, runs
from tankwalk.practice.doing import deviations
from tankwalk.practice.judging.rules import Rule, recorded
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.livefeed.cones import HARVEST_LATE_HOURS
from tankwalk.practice.past.series import series
from tankwalk.practice.past.window import Window
from tankwalk.practice.site import Site
from tankwalk.practice.stock.numbers import StockNumbers
from tankwalk.rows import NamedTuple
from tankwalk.science.middle import median

LOOK_ON_DAYS = 3
"""For so long after its last look out of band it is looked for when a flag ended, and what was
done about it; common practice, no source."""

USUAL_DAYS = 7
"""The days before an incident whose middle is the usual count of the dead. Common practice."""


class Raised(NamedTuple):
    """Flags by one cause: how many of each level."""

    rule: Rule | None
    watch: int
    act: int
    urgent: int


class Incident(NamedTuple):
    """A flag of ACT or more, by place and item, tanks of one loop together.

    Hours count from its first look: to the first thing done or called (None: nothing was entered)
    and to the first look back in band (None: none within three days). `lost` are the dead in its
    tanks from its first day to `dead_to`, the day after its end, above the middle of the seven
    days before; flags of one tank and day each count the same dead.
    """

    flag: Flag
    item: str
    label: str
    places: tuple[str, ...]
    since: Instant
    sentence: str
    response_h: float | None
    end_h: float | None
    dead_to: date
    lost: int | None


class Wrong(NamedTuple):
    """What went wrong: flags as people met them, incidents, and what was not done.

    `rounds_planned` are those of the days from the first round entered on; `hatch_harvests` all
    harvests of cones that had a time.
    """

    flags: tuple[Raised, ...]
    incidents: tuple[Incident, ...]
    meals_missed: int
    late_hatches: int
    hatch_harvests: int
    meters_failed: int
    meters_checked: int
    rounds_missed: int
    rounds_planned: int
    handovers_not_taken: int
    deviations: tuple[tuple[str, int], ...]


def wrong(
    site: Site,
    since: Instant,
    until: Instant,
    stock: dict[str, StockNumbers],
    rounds: Sequence[RoundSeen],
    batches: Sequence[BatchSeen],
) -> Wrong:
    """All that went wrong between two moments."""
    rows = site.reader.flags.flagged(since.utc, until.utc)
    late, harvested = _hatches(batches)
    checks = [
        check
        for meter in site.plan.instruments
        for check in site.reader.meters.checks(meter.code, MOST_CHECKS)
        if since.utc <= check.at.utc <= until.utc
    ]
    missed, planned = _rounds(site, since, until, rounds)
    drafted = deviations.drafts(site, until, since)
    kinds = Counter(one.kind for one in drafted)
    not_given = (deviations.DeviationKind.MISSED_FEED,)
    untaken = [one for one in site.reader.handovers.never_taken(since.utc)
               if one.at.utc <= until.utc]  # fmt: skip
    return Wrong(
        _by_rule(raised(site.plan, rows), runs(rows)),
        tuple(_incidents(site, rows, until, stock)),
        sum(max(1, len(one.tanks)) for one in drafted if one.kind in not_given),
        late,
        harvested,
        sum(not one.passed for one in checks),
        len(checks),
        missed,
        planned,
        len(untaken),
        tuple((kind.value, many) for kind, many in sorted(kinds.items(), key=lambda k: k[0].value)),
    )


MOST_CHECKS = 10_000
"""Checks of one meter that are looked through: one a day for more than 25 years."""


def _by_rule(rows: Iterable[Flagged], every: Iterable[Run]) -> tuple[Raised, ...]:
    """Flags by what spoke first, each at the worst level it came to; most of them first."""
    worst = {row.n: run.worst.flag for run in every for row in run.rows}
    counted = Counter((recorded(one.rule), Flag(worst[one.n])) for one in rows)
    levels = Flag.WATCH, Flag.ACT, Flag.URGENT
    rules = dict.fromkeys(rule for rule, _ in counted)
    found = [Raised(rule, *(counted[rule, level] for level in levels)) for rule in rules]
    return tuple(sorted(found, key=lambda one: -(one.watch + one.act + one.urgent)))


# ---- incidents


def _incidents(
    site: Site, rows: Sequence[Flagged], until: Instant, stock: dict[str, StockNumbers]
) -> Iterable[Incident]:
    """Runs that came to ACT or more, those of tanks of one loop that began together as one."""
    loops = {tank.code: tank.loop for tank in site.plan.tanks}
    acted = [one for one in runs(rows) if one.worst.flag >= Flag.ACT]
    together: list[list[Run]] = []
    for run in sorted(acted, key=lambda one: one.rows[0].at.utc):
        for group in reversed(together):
            same = group[0].item == run.item and loops.get(group[0].place, group[0].place) == (
                loops.get(run.place, run.place)
            )
            if same and run.rows[0].at.hours_since(group[0].rows[0].at) <= TOGETHER_HOURS:
                group.append(run)
                break
        else:
            together.append([run])
    first = together[0][0].rows[0].at.utc if together else 0
    asked = site.reader.incidents
    acts: list[tuple[str, str | None, Instant]] = [
        (one.place, one.item, one.at) for one in asked.done(first)
    ]
    acts += [(one.place, one.item, one.at) for one in asked.calls(first)]
    for group in together:
        yield _incident(site, group, acts, until, stock)


def _incident(
    site: Site,
    group: Sequence[Run],
    acts: Sequence[tuple[str, str | None, Instant]],
    until: Instant,
    stock: dict[str, StockNumbers],
) -> Incident:
    worst = max((run.worst for run in group), key=lambda one: one.flag)
    start = min((run.rows[0].at for run in group), key=lambda one: one.utc)
    last = max((run.rows[-1].at for run in group), key=lambda one: one.utc)
    places = tuple(dict.fromkeys(run.place for run in group))
    horizon = last.utc + LOOK_ON_DAYS * 86_400
    done = [
        when
        for place, item, when in acts
        if place in places and item in (None, worst.item) and start.utc <= when.utc <= horizon
    ]
    ends = [_end(site, run, min(horizon, until.utc)) for run in group]
    end = max((one for one in ends if one), key=lambda one: one.utc, default=None)
    if any(one is None for one in ends):
        end = None
    item = site.plan.find_item(worst.item)
    response = min(done, key=lambda one: one.utc, default=None)
    dead_to = (end or last).day + timedelta(days=1)
    return Incident(
        Flag(worst.flag),
        worst.item,
        worst.item if item is None else item.label,
        places,
        start,
        worst.sentence or "",
        None if response is None else response.hours_since(start),
        None if end is None else end.hours_since(start),
        dead_to,
        _lost(places, start.day, dead_to, stock),
    )


def _end(site: Site, run: Run, horizon: int) -> Instant | None:
    """The first look in band after the last one out of it; None where there was none in time."""
    item, last = site.plan.find_item(run.item), run.rows[-1].at
    if item is None:
        return None
    after = Window(last.day, last.day + timedelta(days=LOOK_ON_DAYS), last.utc + 1, horizon)
    looks = series(site, run.place, item, after).looks
    return next((one.at for one in looks if one.value is not None and one.flag < Flag.WATCH), None)


def _lost(
    places: Sequence[str], first: date, last: date, stock: dict[str, StockNumbers]
) -> int | None:
    """The dead of tanks from one day to another above their usual; None where no fish are known."""
    lost, known = 0.0, False
    for place in places:
        numbers = stock.get(place)
        if numbers is None:
            continue
        by_day: Counter[date] = Counter()
        for count in numbers.counts:
            by_day[count.at.day] += count.fish
        for one in numbers.movements:
            if one.what == "dead":
                by_day[one.at.day] += one.fish
        before = [many for day, many in sorted(by_day.items()) if day < first][-USUAL_DAYS:]
        if not before:
            continue
        usual = median(before)
        known = True
        days = [day for day in by_day if first <= day <= last]
        lost += max(0.0, sum(by_day[day] for day in days) - usual * len(days))
    return round(lost) if known else None


def lost_once(incidents: Iterable[Incident], stock: dict[str, StockNumbers]) -> int:
    """The fish of all incidents: the dead of a tank's day once, however many flags it had."""
    spans: dict[str, list[tuple[date, date]]] = {}
    for one in sorted(incidents, key=lambda one: one.since.utc):
        first = one.since.day
        for place in one.places:
            there = spans.setdefault(place, [])
            if there and first <= there[-1][1]:
                began, ended = there.pop()
                there.append((began, max(ended, one.dead_to)))
            else:
                there.append((first, one.dead_to))
    return sum(
        _lost([place], *days, stock) or 0 for place, there in spans.items() for days in there
    )


# ---- what was not done


def _hatches(batches: Sequence[BatchSeen]) -> tuple[int, int]:
    """Harvests of cones that were more than two hours over their time, and all that had one."""
    due: dict[str, int] = {}
    late = harvested = 0
    for one in batches:
        if one.event == BatchEvent.SET and one.due_at is not None:
            due[one.batch] = one.due_at
        elif one.event == BatchEvent.HARVEST and (when := due.pop(one.batch, None)) is not None:
            harvested += 1
            late += one.at.utc > when + HARVEST_LATE_HOURS * 3600
    return late, harvested


def _rounds(
    site: Site, since: Instant, until: Instant, rounds: Sequence[RoundSeen]
) -> tuple[int, int]:
    """Planned rounds that nobody signed, and how many were planned, from the first entered on."""
    if not rounds:
        return 0, 0
    tz = zone(site.plan.zone)
    walked = {(one.opened.day, one.checklist) for one in rounds if one.signed is not None}
    first = max(since.day, min(one.opened.day for one in rounds))
    missed = planned = 0
    for nth in range((until.day - first).days + 1):
        day = first + timedelta(days=nth)
        for one in site.plan.checklists:
            if one.is_on(day) and at(day, one.at.hour, one.at.minute, tz).utc <= until.utc:
                planned += 1
                missed += (day, one.code) not in walked
    return missed, planned
