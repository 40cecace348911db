"""A paper round begun: of which day the sheet is, who walked it, who types it in, and when it was.

What was begun and not signed is gone on with, whether it was begun on paper or at the laptop.
"""

from __future__ import annotations

from collections.abc import Generator
from datetime import date, timedelta

from tankwalk.clock import Instant, at, zone
from tankwalk.errors import Refusal
from tankwalk.ledger.rounds import RoundSeen
from tankwalk.plan.model import Checklist
from tankwalk.practice import times
from tankwalk.practice.dialog import ONE_DIGIT, Answer, Hand, Step, writer
from tankwalk.practice.open_rounds import NEWEST, from_paper
from tankwalk.practice.round import rounds
from tankwalk.practice.site import Site
from tankwalk.practice.transcribing.sheet_dose import dose
from tankwalk.practice.transcribing.sheet_site import SheetSite
from tankwalk.practice.transcribing.sheet_walk import SheetWalk

Setup = Generator[Step, Answer, SheetWalk | str]
"""What is begun: a sheet, or what was kept of a dose, in words."""

DAYS = 7
"""So many days back a sheet is typed in by number. Common practice, no source."""

NO_ROUND = f"Every round of the last {DAYS} days is signed. Is it a dose?"

EARLY_S = 3 * 3600
"""A round is not walked on paper longer before its time. Common practice, no source."""


def setup(site: Site, hand: Hand, checklist: Checklist | None = None) -> Setup:
    """Go on with a sheet, or begin one; of one checklist where it is named."""
    for one in from_paper(site, checklist):
        typed = len(site.reader.readings.of_round(one.number, one.first))
        label = site.plan.checklist(one.checklist).label
        answer = yield Step(
            f"{label} of {one.opened.short()}, walked by {one.who}: {typed} typed in, not signed.",
            ("another sheet",),
            enter="go on there",
        )
        if answer.number == 0:
            typist = yield from writer(site, hand, "Who types it in?")
            return go_on(site, one, typist)
    which = yield from _which(site, checklist)
    if which is None:
        return (yield from dose(site, hand))
    asked, day = which
    known = begun_that_day(site, asked, day)
    if known is not None:
        yield Step(
            f"It was begun at the laptop at {known.opened.hm()} by {known.who}: "
            "the sheet goes on with that round.",
            enter="go on",
        )
        walker = yield from _of_that_day(site, "Who walked the rest?", day)
        typist = yield from writer(site, hand, "Who types it in?")
        return go_on(site, known, typist, walker)
    walker = yield from _of_that_day(site, "Whose initials are on the sheet?", day)
    typist = yield from writer(site, hand, "Who types it in?")
    began = yield from _began(site, asked, day)
    return SheetWalk(site, begin(site, asked, walker, typist, began), walker, typist)


def missing(site: Site, checklist: Checklist | None = None) -> list[tuple[Checklist, date]]:
    """Rounds of the last days that nobody signed or types in, the newest first.

    Those that are to come are not among them.
    """
    now, tz = site.now(), zone(site.plan.zone)
    there = {
        (one.checklist, one.opened.day)
        for one in site.reader.rounds.newest(NEWEST)
        if one.signed is not None or one.typist is not None
    }
    found = []
    for day in (now.day - timedelta(days=back) for back in range(DAYS)):
        for one in sorted(site.plan.checklists, key=lambda c: c.at, reverse=True):
            planned = at(day, one.at.hour, one.at.minute, tz)
            early = planned.utc - now.utc > EARLY_S
            if checklist not in (None, one) or not one.is_on(day) or early:
                continue
            if (one.code, day) not in there:
                found.append((one, day))
    return found


def _which(
    site: Site, checklist: Checklist | None
) -> Generator[Step, Answer, tuple[Checklist, date] | None]:
    """Which round of which day; None for a dose alone."""
    now, tz = site.now(), zone(site.plan.zone)
    found = missing(site, checklist)[:ONE_DIGIT]
    alone = "a dose that stands on a sheet" if site.plan.products and checklist is None else ""
    if not found and not alone:
        what = "round" if checklist is None else f"{checklist.label}"
        raise Refusal(f"Every {what} of the last {DAYS} days is signed, or being typed in.")
    named = {now.day: "today, ", now.day - timedelta(days=1): "yesterday, "}
    words = [
        f"{one.label}, {named.get(day, '')}{at(day, 12, 0, tz).short()[:-6]}" for one, day in found
    ]
    ask = "Which round is on the sheet? None of these is signed."
    answer = yield Step(ask if found else NO_ROUND, tuple(words), zero=alone)
    return found[answer.number - 1] if answer.number else None


def _of_that_day(site: Site, ask: str, day: date) -> Generator[Step, Answer, str]:
    answer = yield Step(ask, tuple(one.initials for one in site.plan.people_on(day)))
    return answer.words


def _began(site: Site, asked: Checklist, day: date) -> Generator[Step, Answer, Instant]:
    """When it was begun; a time long before that of its round is asked for once more."""
    told, tz = "", zone(site.plan.zone)
    planned, early = at(day, asked.at.hour, asked.at.minute, tz), -1
    while True:
        answer = yield Step(
            "When was it begun, by the sheet? A time, as 0650", writes=True, told=told
        )
        try:
            began = at(day, *times.of_day(answer.words), tz)
            if began.utc <= site.now().utc:
                if planned.utc - began.utc <= EARLY_S or began.utc == early:
                    return began
                early = began.utc
                told = f"{began.hm()} is long before {planned.hm()}, the time of {asked.label}: "
                told += "another round? Type it again if the sheet says so."
                continue
            told = f"{began.told(site.now())} is still to come: read the sheet again."
        except Refusal as refusal:
            told = str(refusal)


def begun_that_day(site: Site, checklist: Checklist, day: date) -> RoundSeen | None:
    """A round of that day that was begun and not signed; Refusal where one was signed."""
    that_day = [
        one
        for one in site.reader.rounds.newest(NEWEST)
        if one.checklist == checklist.code and one.opened.day == day
    ]
    signed = next((one for one in that_day if one.signed is not None), None)
    if signed is not None and signed.signed is not None:
        raise Refusal(
            f"{checklist.label} of {signed.opened.short()} is signed, {signed.signed.hm()} by "
            f"{signed.signed_by}: nothing more is typed into it."
        )
    return that_day[0] if that_day else None


def begin(site: Site, checklist: Checklist, walker: str, typist: str, began: Instant) -> RoundSeen:
    """Open a round as it was begun on paper."""
    typist = site.signs(typist)
    then = SheetSite(site, typist, began)
    walker = then.signs(walker)  # who has left since walked it then
    with site.ledger.writing() as ledger:
        number = ledger.reader.rounds.next_number()
        n = rounds.event(then, began, walker, number, checklist.code, "open")
    return RoundSeen(number, n, checklist.code, walker, began, None, None, typist)


def go_on(site: Site, found: RoundSeen, typist: str, walker: str = "") -> SheetWalk:
    """Go on with a round that was begun, on paper or at the laptop; who types is in the record."""
    typist = site.signs(typist)
    if found.typist != typist:
        then = SheetSite(site, typist, found.opened)
        who = walker or found.who
        rounds.event(then, found.opened, who, found.number, found.checklist, "resume")
    return SheetWalk(site, found, walker or found.who, typist)
