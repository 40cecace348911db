"""Feed that the plan does not give, in words: the question before it, the deviation after it."""

from __future__ import annotations

from typing import assert_never

from tankwalk.clock import ago
from tankwalk.pages.due_words import day_words
from tankwalk.practice.doing.deviations import (
    DraftDeviation,
    FeedLeftOut,
    LateMeal,
    MealNotGiven,
    MeasureLeftOut,
    MissedMeal,
    ShortRation,
    WrongFeed,
)
from tankwalk.practice.feeding.meals import FeedDoubt, FeedFault, GivenTwice

PAUSE = "pause: "


def no_feed(event: str) -> str:
    """Why there was no feed, by the words of the record: "missed: no time", "planned pause"."""
    if event == f"{PAUSE}planned":
        return "planned pause"
    return event.removeprefix(PAUSE)


def question(doubt: FeedDoubt | GivenTwice) -> str:
    """What is asked before a meal is kept."""
    if isinstance(doubt, GivenTwice):
        since = ago(doubt.hours)
        when = f"{doubt.at.hm()} by {doubt.who}, {'just now' if since == 'now' else f'{since} ago'}"
        return f"{doubt.place} got {doubt.feed} at {when}. Give it again?"
    return f"{_doubted(doubt, 'today')}. Continue?"


def _doubted(one: FeedDoubt, day: str) -> str:
    """Why the plan does not give it; `day` is what the day is called whose age it names."""
    whom = _whom(one.place, one.treatment)
    match one.fault:
        case FeedFault.NO_FEED_OF_PLAN:
            return f"{whom}: {one.feed} is no feed of the plan ({', '.join(one.known)})"
        case FeedFault.NO_AGE:
            return f"{whom}: no fish of a known age by the plan"
        case FeedFault.OTHER_TREATMENT:
            return f"{whom}: {one.feed} is not planned for {one.treatment or 'this tank'}"
        case FeedFault.TOO_EARLY:
            return f"{whom}: {one.feed} starts at {one.limit} dph, {day} {one.age}"
        case FeedFault.ENDED:
            return f"{whom}: {one.feed} ended after {one.limit} dph, {day} {one.age}"
        case never:
            assert_never(never)


def deviation(draft: DraftDeviation) -> str:
    """A draft of a deviation: what was planned, and what was entered."""
    whom = ", ".join(draft.tanks) or _whom(draft.place, draft.treatment)
    match draft.facts:
        case WrongFeed(doubt, amount, unit, who):
            got = f"got {amount:g} {unit} {draft.at.short()} ({who})"
            return f"{_doubted(doubt, 'that day')}; {got}"
        case MissedMeal(feeds, others):
            planned = f" ({', '.join(feeds)} planned)" if feeds else ""
            return f"{whom}: no feed at {draft.at.short()}{planned}; {others} other tanks were fed"
        case MealNotGiven(feeds, why, who):
            planned = f" ({', '.join(feeds)})" if feeds else ""
            return f"{whom}: meal {draft.at.short()} not given{planned}: {why} ({who})"
        case LateMeal(hours, who):
            return f"{whom}: meal {draft.at.short()} given {ago(hours)} late ({', '.join(who)})"
        case ShortRation(feed, times, least, most):
            when = ", ".join([day_words(draft.at.day), *(at.hm() for at in times)])
            percent = (
                f"{least:.0f} %" if round(least) == round(most) else f"{least:.0f}-{most:.0f} %"
            )
            return f"{whom}: short of {feed}, {percent} of the plan, {when}"
        case FeedLeftOut(feed, day, age, got):
            planned = f"no {feed} on {day_words(day)}, planned at {age} dph"
            return f"{whom}: {planned}; got {', '.join(got)}"
        case MeasureLeftOut(label, reason):
            return f"{whom}: {label} not taken {draft.at.short()} ({reason})"
        case never:
            assert_never(never)


def _whom(place: str, treatment: str | None) -> str:
    return f"{place} {treatment}" if treatment else place
