"""A round as people have it in hand: which is due, opening it, taking it up again, signing it."""

from __future__ import annotations

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.rounds import RoundSeen
from tankwalk.plan.model import Checklist, Hazard
from tankwalk.practice.open_rounds import open_rounds
from tankwalk.practice.site import SITE, Site

SIGNING = "I took these readings, and they are what I saw"
"""What a signature under a round means."""


def due_checklist(site: Site, now: Instant) -> Checklist:
    """The round a person most likely wants now: the nearest in time that is not signed today."""
    if not site.plan.checklists:
        raise Refusal("The plan has no checklist: add a [[checklist]] to plan.toml.")
    minute = now.wall.hour * 60 + now.wall.minute

    def distance(checklist: Checklist) -> int:
        apart = abs(checklist.at.hour * 60 + checklist.at.minute - minute)
        return min(apart, 1440 - apart)

    done = signed_today(site, now)
    still = [c for c in site.plan.checklists if c.code not in done]
    return min(still or site.plan.checklists, key=distance)


def signed_today(site: Site, now: Instant) -> dict[str, RoundSeen]:
    """Rounds of this local day that are signed, by checklist."""
    found: dict[str, RoundSeen] = {}
    for seen in site.reader.rounds.newest():
        if seen.signed is not None and seen.opened.day == now.day:
            found.setdefault(seen.checklist, seen)
    return found


def named_checklist(site: Site, name: str | None) -> Checklist:
    """The round a person names by code or label; the one that is due when they name none."""
    if name is None:
        return due_checklist(site, site.now())
    for one in site.plan.checklists:
        if name.casefold() in (one.code.casefold(), one.label.casefold()):
            return one
    known = ", ".join(c.code for c in site.plan.checklists)
    raise Refusal(f"There is no round {text.clean(name)[:20]!r} in the plan ({known}).")


def unsigned(site: Site, checklist: Checklist, now: Instant) -> RoundSeen | None:
    """A round of this checklist that was begun and can still be taken up."""
    found = open_rounds(site, now)
    return next((one for one in found if one.checklist == checklist.code), None)


def begun(site: Site, now: Instant) -> RoundSeen | None:
    """A round that was begun and can still be taken up: that of the first checklist in the plan."""
    order = [one.code for one in site.plan.checklists]
    found = [one for one in open_rounds(site, now) if one.checklist in order]
    return min(found, key=lambda one: order.index(one.checklist), default=None)


def begin(site: Site, checklist: Checklist, who: str) -> RoundSeen:
    """Take up the unsigned round of this checklist, or open a new one."""
    now = site.now()
    who = site.signs(who)
    with site.ledger.writing() as ledger:
        found = unsigned(site, checklist, now)
        if found is not None:
            if found.who != who:
                event(site, now, who, found.number, checklist.code, "resume")
            return found
        number = ledger.reader.rounds.next_number()
        n = event(site, now, who, number, checklist.code, "open")
    return RoundSeen(number, n, checklist.code, who, now, None, None)


def sign(site: Site, found: RoundSeen, who: str, meaning: str = SIGNING) -> None:
    """Sign a round; `meaning` is what the signature says. Refusal for someone who has left."""
    event(site, site.now(), site.signs(who), found.number, found.checklist, "sign", meaning)


def event(
    site: Site,
    now: Instant,
    who: str,
    number: int,
    checklist: str,
    what: str,
    meaning: str | None = None,
) -> int:
    """One event of a round; what only reads rounds (the board) need not load what writes them."""
    from tankwalk.ledger.entries import Entry, Round

    detail = Round(number, checklist, what, meaning)
    return site.record(Entry("round", who, now, now, SITE, round=number), detail)


# ---- what can hurt, said once, where a round begins

NIGHT_FROM, NIGHT_TO = 21, 6
"""Hours of the wall clock between which one is likely alone. Common practice, no source."""


def hazards(site: Site, checklist: Checklist) -> tuple[Hazard, ...]:
    """The hazards of a round begun now: that of the hour, then those of what it asks, each once."""
    hour = site.now().wall.hour
    asked = {*checklist.site, *checklist.loop, *checklist.tank}
    found = {item.hazard for item in site.plan.items if item.code in asked}
    if hour >= NIGHT_FROM or hour < NIGHT_TO:
        found.add(Hazard.NIGHT)
    return tuple(hazard for hazard in Hazard if hazard in found)
