"""What live feed waits for: what runs by the clock, harvests, the next step of each batch."""

from __future__ import annotations

from tankwalk.clock import Instant, at, zone
from tankwalk.ledger.feeding import BatchEvent, BatchKind
from tankwalk.plan.feed_model import FeedKind
from tankwalk.practice.livefeed import cones, timers
from tankwalk.practice.livefeed.batches import LiveBatch, Next, State, live_batches
from tankwalk.practice.livefeed.cones import HARVEST_LATE_HOURS, due_at
from tankwalk.practice.site import Site
from tankwalk.practice.tasks import NEXT_HOURS, BatchDue, ConeToSet, Due, DueState, NextStep

LATE_HOURS = 1.0
"""A step of a batch is overdue so long after its hour. Common practice, no source."""

WARM_HOURS = 6.0
"""Nauplii that stood warm so long are past chilling: they molt 6 to 8 h after hatching.

At 25 degC; FAO Fisheries Technical Paper 361, from memory.
"""

LATE_NOW = 0.01
"""Hours late of a cone that should stand by now and is not set."""

USE_BY = (NextStep.DISCARD, NextStep.POUR)
"""Steps whose hour is the last that is good: they are late from that minute on."""


def live_feed_due(site: Site, now: Instant) -> list[Due]:
    """All that live feed waits for; steps and cones to set where the plan has live feed."""
    return list(site.worked_at(now, "live feed due", lambda: _live_feed_due(site, now)))


def _live_feed_due(site: Site, now: Instant) -> list[Due]:
    plan = site.plan
    live_batches(site, now)  # it looks back furthest: what is asked after it is read already
    found = [*timers.timers_due(site, now), *cones.cones_due(site, now)]
    if plan.cultures or any(feed.kind is FeedKind.LIVE for feed in plan.feeds):
        found += [*batches_due(site, now), *cones_to_set(site, now)]
    return found


def batches_due(site: Site, now: Instant) -> list[Due]:
    """The next step of each batch that is due within two hours or past, the latest first.

    The harvest of a cone, and that it is too late for it, is told by `cones.cones_due`; a vessel
    in which nothing was begun waits for nobody.
    """
    found = []
    for one in live_batches(site, now):
        step = one.next
        if step is None or (step.step is NextStep.HARVEST and one.kind is BatchKind.CONE):
            continue
        if step.step is NextStep.SET or _harvest_leads(one, step, now):
            continue
        past = -step.hours(now)
        if past < -NEXT_HOURS or (step.step is NextStep.CHILL and past > WARM_HOURS):
            continue
        found.append(_due(one, step, past))
    return sorted(found, key=lambda due: -due.late_hours)


def _harvest_leads(one: LiveBatch, step: Next, now: Instant) -> bool:
    """Whether the line of its harvest says it all: it is too late, or too near for a check."""
    if one.kind is not BatchKind.CONE or one.state is not State.HATCHING:
        return False
    due = due_at(list(one.events))
    near = due is not None and due - now.utc <= NEXT_HOURS * 3600
    return step.step is NextStep.DISCARD or near


def _due(one: LiveBatch, step: Next, past: float) -> Due:
    grace = 0.0 if step.step in USE_BY else LATE_HOURS
    if past > grace:
        state = DueState.OVERDUE
    else:
        state = DueState.NOW if past >= 0 else DueState.TO_COME
    left = one.left
    still = left is not None and left.chilled and past * 3600 < left.block_at.utc - left.warn_at.utc
    facts = BatchDue(one.name, one.kind, step.step, step.at, state, past, step.from_, still)
    return Due(past - grace, facts)


def cones_to_set(site: Site, now: Instant) -> list[Due]:
    """Cones that the meals to come want: from the evening before on, until they are set.

    By day it is asked only while no cone was set today: the next one is tomorrow's.
    """
    plan = site.plan
    if not plan.cysts or not plan.rations:
        return []
    evening = now.wall.time() >= plan.hatching.evening
    midnight = at(now.day, 0, 0, zone(plan.zone)).utc
    if not evening and any(
        one.event == BatchEvent.SET and one.kind == BatchKind.CONE and one.at.utc <= now.utc
        for one in site.reader.feeding.batches(midnight)
    ):
        return []
    from tankwalk.practice.feeding import setting

    found = []
    for one in setting.worked_back(site).to_set:
        past = now.hours_since(one.set_by)
        if one.set_by.day > now.day and not evening:
            continue
        facts = ConeToSet(one.set_by, one.grams, one.litres, one.hatch.lot, past, one.late)
        # What is set late by as much is harvested as late.
        found.append(Due(LATE_NOW if one.late else past - HARVEST_LATE_HOURS, facts))
    return found
