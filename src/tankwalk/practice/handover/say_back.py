"""Saying a handover back: questions made from the page, answered by number by the one who takes it.

Wrong choices come from the same plan, and none of them is true: a second tank as bad as the worst,
or two things due at the same minute, are not set against each other.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import timedelta
from zlib import crc32

from tankwalk import text
from tankwalk.clock import Instant, at, zone
from tankwalk.ledger.follow_up_kinds import FollowUpWhat
from tankwalk.ledger.follow_ups import FollowUpSeen
from tankwalk.plan.model import Plan
from tankwalk.practice.due.all_due import LATE_HOURS
from tankwalk.practice.feeding import meals
from tankwalk.practice.judging.standing.flags import Standing
from tankwalk.practice.livefeed import cones
from tankwalk.practice.round import rounds
from tankwalk.practice.site import SITE, Site, placed
from tankwalk.rows import NamedTuple

CHOICES = 4
"""Most choices of a question."""

CELLS = 60
"""Most cells of a choice: a longer one is cut."""


class Question(NamedTuple):
    """What is asked, the section of the page that answers it, the choices, and the right one."""

    ask: str
    section: str
    choices: tuple[str, ...]
    right: str


class Coming(NamedTuple):
    """Something with a time that is still to come: when, what, and its section of the page."""

    at: Instant
    what: str
    section: str


def questions(
    plan: Plan,
    wrong: Sequence[Standing],
    altered: Sequence[FollowUpSeen],
    coming: Sequence[Coming],
    now: Instant,
    seed: int,
) -> tuple[Question, ...]:
    """What there is to ask of a page: worst, altered, due next. A quiet page asks less.

    The order of the choices follows from `seed`, so that one page always asks the same.
    """
    asked = (_worst(plan, wrong, seed), _altered(plan, altered, seed), _next(coming, now, seed))
    return tuple(one for one in asked if one is not None)


def coming(site: Site, carried: Iterable[FollowUpSeen], now: Instant) -> list[Coming]:
    """What is to come, soonest first: rounds of today, the next meal, harvests, what has a time."""
    tz = zone(site.plan.zone)
    signed = rounds.signed_today(site, now)
    found = []
    for one in site.plan.checklists:
        when = at(now.day, one.at.hour, one.at.minute, tz)
        if one.is_on(now.day) and one.code not in signed and now.hours_since(when) <= LATE_HOURS:
            found.append(Coming(when, one.label, "TASKS"))
    day_before = at(now.day - timedelta(days=1), 0, 0, tz)
    meal = meals.next_open(site.plan, meals.read(site, day_before.utc, now), now)
    if meal is not None:
        found.append(Coming(meal, "meal", "TASKS"))
    for batch, when in cones.harvests(site, now):
        found.append(Coming(when, f"harvest of cone {batch}", "TASKS"))
    for kept in carried:
        if kept.due_at is not None and kept.due_at > now.utc:
            section = "ALTERED" if kept.what is FollowUpWhat.ALTERED else "TO DO"
            what = placed(kept.place, kept.text)
            found.append(Coming(Instant(kept.due_at, now.offset), what, section))
    return sorted(found, key=lambda c: c.at.utc)


def _worst(plan: Plan, wrong: Sequence[Standing], seed: int) -> Question | None:
    """Which tank is worst, against tanks that are not as bad; of what tanks share, what it is."""
    if not wrong:
        return None
    first = wrong[0]
    if plan.find_tank(first.place) is None:
        return _worst_shared(plan, wrong, seed)
    as_bad = {place for one in wrong if one.flag >= first.flag for place in one.places}
    others = [tank.code for tank in plan.tanks if tank.code not in as_bad]
    return _question("Which tank is worst?", "STOCK", first.place, others, seed)


def _worst_shared(plan: Plan, wrong: Sequence[Standing], seed: int) -> Question | None:
    """What is worst at a loop, a meter or the site, against what is well there."""
    first = wrong[0]
    item = plan.find_item(first.key.item)
    if item is None:
        return None
    out = {one.key.item for one in wrong}
    well = [i for i in plan.items if i.code not in out and i.level is item.level]
    others = [f"{first.place} {one.label}" for one in well]
    return _question("What is worst?", "STOCK", f"{first.place} {item.label}", others, seed)


def _begun(words: str) -> str:
    """Words as a sentence begins; "pH meter" stays as it is written."""
    return words if words[1:2].isupper() else words[:1].upper() + words[1:]


def _altered(plan: Plan, altered: Sequence[FollowUpSeen], seed: int) -> Question | None:
    """What is altered, against the same done elsewhere and meters nobody put away."""
    if not altered:
        return None
    first = altered[0]
    words = " ".join(f"{one.place} {one.text}" for one in altered).casefold()
    others = [
        f"{tank.code} {first.text}"
        for tank in plan.tanks
        if first.place not in (None, SITE) and tank.code.casefold() not in words
    ]
    others = _drawn(others, seed, CHOICES - 2)
    others += [
        f"{_begun(meter.kind)} {meter.code} put away"
        for meter in plan.instruments
        if meter.code.casefold() not in words.split()
    ]
    others.append("nothing: all is as normal")
    return _question(
        "What is off or altered?",
        "ALTERED",
        placed(first.place, first.text),
        others,
        seed,
        keep=True,
    )


def _next(coming: Sequence[Coming], now: Instant, seed: int) -> Question | None:
    """What is due next, against what comes later."""
    if not coming:
        return None
    first = coming[0]
    later = [_timed(one, now) for one in coming if one.at.utc > first.at.utc]
    return _question("What is due next?", first.section, _timed(first, now), later, seed)


def _timed(one: Coming, now: Instant) -> str:
    return f"{one.at.told(now)} {one.what}"


def _question(
    ask: str, section: str, right: str, others: list[str], seed: int, *, keep: bool = False
) -> Question | None:
    """A question with its choices in an order of their own; None where there is but one."""
    right = text.fit(right, CELLS)
    wrong = [w for w in dict.fromkeys(text.fit(w, CELLS) for w in others) if w != right]
    wrong = wrong[: CHOICES - 1] if keep else _drawn(wrong, seed, CHOICES - 1)
    if not wrong:
        return None
    return Question(ask, section, tuple(_drawn([right, *wrong], seed + 1, CHOICES)), right)


def _drawn(words: Sequence[str], seed: int, most: int) -> list[str]:
    """Some of the words, in an order that looks like none and is always the same."""
    return sorted(words, key=lambda w: crc32(f"{seed} {w}".encode()))[:most]
