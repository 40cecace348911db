"""What runs by the clock: baths, cysts that take up water, enrichments; read from the record."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk.clock import Instant
from tankwalk.ledger.feeding import BatchEvent, BatchSeen
from tankwalk.practice.livefeed import guided
from tankwalk.practice.livefeed.guided import Guide, Procedure, Stage
from tankwalk.practice.site import Site
from tankwalk.practice.tasks import Due, Runs, TimerDue

BACK_HOURS = 36
"""So far back one looks for what runs: an enrichment takes a day. Common practice, no source."""

STALE_HOURS = 12
"""What is over for so long runs no more: somebody forgot to say so. Common practice, no source."""


def running(site: Site, now: Instant) -> tuple[TimerDue, ...]:
    """All that runs now, the first to end first: one question to the record."""
    return of_events(site.reader.feeding.batches(now.utc - BACK_HOURS * 3600), now)


def timers_due(site: Site, now: Instant) -> list[Due]:
    """What runs by the clock, each due when its time is over."""
    return [Due(now.hours_since(one.at), one) for one in running(site, now)]


def of_events(events: Sequence[BatchSeen], now: Instant) -> tuple[TimerDue, ...]:
    """What runs by some events of batches."""
    found = [timer for guide in guided.guides(events) if (timer := _of_guide(guide)) is not None]
    newest: dict[str, BatchSeen] = {}
    for one in events:
        newest[one.batch] = one
    found += [
        TimerDue(Runs.ENRICH, one.batch, Instant(one.due_at, one.at.offset))
        for one in newest.values()
        if one.event == BatchEvent.ENRICH and one.due_at is not None
    ]
    fresh = [timer for timer in found if now.hours_since(timer.at) < STALE_HOURS]
    return tuple(sorted(fresh, key=lambda timer: timer.at.utc))


def _of_guide(guide: Guide) -> TimerDue | None:
    """What runs of a procedure: only a stage that has a time."""
    if guide.due is None or guide.stage not in (Stage.HYDRATE, Stage.BATH):
        return None
    if guide.stage is Stage.HYDRATE:
        return TimerDue(Runs.HYDRATE, guide.batch, guide.due)
    what = Runs.BATH if guide.procedure is Procedure.SHELL else Runs.GEAR
    return TimerDue(what, guide.batch, guide.due)
