"""A time to come or a past one, chosen by number or typed on the pad: 1630 is half past four."""

from __future__ import annotations

import re
from collections.abc import Generator
from datetime import timedelta

from tankwalk.clock import Instant, at, parse_instant, zone
from tankwalk.errors import Refusal
from tankwalk.practice.dialog import Answer, Step
from tankwalk.practice.site import Site

SOON_HOURS = (1, 2, 4, 8)
LATER_DAYS = (1, 2, 7)
LATER_HOUR = 12
"""Times that are offered beside the next round. Common practice, no source."""

TYPED = re.compile(r"([0-9]{1,2})(?:[.,:]?([0-9]{2}))?")


def ask(site: Site, question: str, without: str = "") -> Generator[Step, Answer, int | None]:
    """Ask for a time to come, as a UTC second; None where Enter answers `without`."""
    told = ""
    while True:
        offered = choices(site)
        words = tuple(words for words, _ in offered)
        answer = yield Step(
            question, words, "a time, as 1630", writes=True, enter=without, told=told
        )
        if answer.number:
            return offered[answer.number - 1][1].utc
        if not answer.words:
            return None
        try:
            return typed(site, answer.words).utc
        except Refusal as refusal:
            told = str(refusal)


def choices(site: Site) -> list[tuple[str, Instant]]:
    """Times to come that people name most: in some hours, at the next round, on a later day."""
    now, tz = site.now(), zone(site.plan.zone)
    found = []
    for hours in SOON_HOURS:
        when = Instant(now.utc + hours * 3600, now.offset)
        found.append((f"in {hours} h, {when.hm()}", when))
    ahead = [
        (f"{when.hm()} {one.label}", when)
        for one in sorted(site.plan.checklists, key=lambda c: c.at)
        if (when := at(now.day, one.at.hour, one.at.minute, tz)).utc > now.utc
    ]
    found += ahead[:1]
    for days in LATER_DAYS:
        when = at(now.day + timedelta(days=days), LATER_HOUR, 0, tz)
        found.append((when.short(), when))
    return found


def typed(site: Site, words: str) -> Instant:
    """A time of day as typed: today, or tomorrow where it is past. Refusal for no time of day."""
    hour, minute = of_day(words)
    now, tz = site.now(), zone(site.plan.zone)
    today = at(now.day, hour, minute, tz)
    return today if today.utc > now.utc else at(now.day + timedelta(days=1), hour, minute, tz)


def past(site: Site, words: str) -> Instant:
    """A time of day as typed that is past: today, or yesterday. Refusal for no time of day."""
    hour, minute = of_day(words)
    now, tz = site.now(), zone(site.plan.zone)
    today = at(now.day, hour, minute, tz)
    return today if today.utc <= now.utc else at(now.day - timedelta(days=1), hour, minute, tz)


def of_day(words: str) -> tuple[int, int]:
    """Hour and minute of a time of day as typed; Refusal for anything else."""
    found = TYPED.fullmatch(words.strip())
    hour, minute = (int(found[1]), int(found[2] or 0)) if found else (99, 0)
    if hour > 23 or minute > 59:
        raise Refusal(f"{words.strip()[:20]!r} is no time of day: type it as 1630.")
    return hour, minute


def since(site: Site, words: str) -> Instant:
    """The beginning of a stretch of time: a day or a moment in ISO 8601, or so many days: 10d.

    Refusal for anything else.
    """
    tz = zone(site.plan.zone)
    if days := re.fullmatch(r"([0-9]{1,4}) ?d", words.strip()):
        return at(site.now().day - timedelta(days=int(days[1])), 0, 0, tz)
    return parse_instant(words, tz)
