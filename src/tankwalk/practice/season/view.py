"""The season page as one value: by lot and treatment, what went in and out, wrong, and its cost."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.feeding import BatchEvent, BatchSeen, MealSeen
from tankwalk.ledger.rounds import RoundSeen
from tankwalk.practice.season.groups import Amount, Group, before, dosed, fed_with, groups
from tankwalk.practice.season.wrong import Wrong, lost_once, wrong
from tankwalk.practice.site import SITE, Site
from tankwalk.practice.stock.numbers import numbers
from tankwalk.rows import NamedTuple

LONG_ROUND_H = 4.0
"""A round that was open for longer counts as so many hours: it was left open, not walked on.
Common practice, no source."""


class Work(NamedTuple):
    """What people put in: rounds signed and their hours, meals, and days on which each was there.

    `hours` are from opening to signature of each round, at most four each: no time sheet.
    """

    rounds: int
    hours: float
    meals: int
    people: int
    people_days: int


class Cost(NamedTuple):
    """What it cost, in fish, feed and hours; a plan holds no prices, so no money.

    `lost` are fish lost in incidents above the usual day, `thrown_g` feed by weight that was thrown
    out, `thrown_l` live feed, `thrown` how often.
    """

    lost: int
    thrown: int
    thrown_g: float
    thrown_l: float
    hours: float


class Season(NamedTuple):
    """A season from one moment to another."""

    site: str
    now: Instant
    since: Instant
    until: Instant
    groups: tuple[Group, ...]
    loops: tuple[tuple[str, tuple[Amount, ...]], ...]
    """What each loop and the site were dosed with."""
    earlier: tuple[Amount, ...]
    """What tanks were fed in this time before the fish that are there were stocked."""
    cysts_g: float
    cones: int
    work: Work
    wrong: Wrong
    cost: Cost


def season(
    site: Site,
    since: Instant | None = None,
    until: Instant | None = None,
    tell: Callable[[float], None] | None = None,
) -> Season:
    """The season up to a moment (now), from the first stocking of the fish that are there.

    `tell` is told how much of it is read, 0 to 1: years of a large site take seconds.

    Refusal for an end before the beginning, and where nothing says when it began.
    """

    def done(share: float) -> None:
        if tell is not None:
            tell(share)

    now = site.now()
    end = now if until is None or until.utc > now.utc else until
    with site.ledger.reading():
        stock = numbers(site, [one.code for one in site.plan.tanks], end)
        begun = since or min(
            (one.since for one in stock.values()), key=lambda at: at.utc, default=None
        )
        if begun is None:
            raise Refusal(
                "No fish were entered as stocked, so the season has no beginning: give one with "
                "--since DAY."
            )
        if begun.utc >= end.utc:
            raise Refusal("The season would end before it begins: give another --since or --until.")
        reader = site.reader
        done(0.0)
        fed = [
            one
            for one in reader.feeding.meals(begun.utc)
            if one.event is None and one.amount > 0 and begun.utc <= one.at.utc <= end.utc
        ]
        done(0.3)
        walked = [one for one in reader.rounds.since(begun.utc)
                  if begun.utc <= one.opened.utc <= end.utc]  # fmt: skip
        batches = [one for one in reader.feeding.batches(begun.utc) if one.at.utc <= end.utc]
        doses = [one for one in reader.doses.since(begun.utc) if one.at.utc <= end.utc]
        places = [*(one.code for one in site.plan.loops), SITE]
        by_loop = [(place, tuple(dosed(doses, [place]))) for place in places]
        done(0.4)
        wrongs = wrong(site, begun, end, stock, walked, batches)
        done(0.8)
        work = _work(walked, fed)
        sets = [one for one in batches if one.event == BatchEvent.SET and one.grams]
        found = Season(
            site.plan.name,
            now,
            begun,
            end,
            tuple(groups(site, begun, end, fed)),
            tuple((place, amounts) for place, amounts in by_loop if amounts),
            tuple(fed_with(site.plan, [one for one in fed if before(stock, one)])),
            sum(one.grams or 0.0 for one in sets),
            len(sets),
            work,
            wrongs,
            _cost(lost_once(wrongs.incidents, stock), batches, work),
        )
    done(1.0)
    return found


def _work(rounds: Sequence[RoundSeen], fed: Sequence[MealSeen]) -> Work:
    signed = [one for one in rounds if one.signed is not None]
    hours = sum(
        min(LONG_ROUND_H, one.signed.hours_since(one.opened)) for one in signed if one.signed
    )
    there = {(one.who, one.opened.day) for one in rounds}
    there |= {(one.who, one.at.day) for one in fed}
    meals = {(one.meal_at or one.at.utc) for one in fed}
    return Work(len(signed), hours, len(meals), len({who for who, _ in there}), len(there))


def _cost(lost: int, batches: Sequence[BatchSeen], work: Work) -> Cost:
    thrown = [one for one in batches if one.event == BatchEvent.DISCARD]
    return Cost(
        lost,
        len(thrown),
        sum(one.grams or 0.0 for one in thrown),
        sum(one.litres or 0.0 for one in thrown),
        work.hours,
    )
