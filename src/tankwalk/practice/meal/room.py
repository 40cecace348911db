"""Talks about a whole meal, by number: who feeds, given earlier, not given, paused, on again."""

from __future__ import annotations

from collections.abc import Generator, Sequence

from tankwalk.clock import Instant, ago, at, zone
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import Entry
from tankwalk.practice.dialog import Answer, Hand, Step, Talk, one_of_us, writer
from tankwalk.practice.feeding import giving, meals
from tankwalk.practice.judging.standing.withdrawn import UNDONE
from tankwalk.practice.meal import which
from tankwalk.practice.meal.held import Held
from tankwalk.practice.meal.questions import NO_TIME, OFF, PAUSE, RAN_OUT
from tankwalk.practice.meal.stops import Stop
from tankwalk.practice.meal.which import MealStands
from tankwalk.practice.site import SITE, Site
from tankwalk.practice.times import choices as times_to_come
from tankwalk.practice.times import typed as time_typed
from tankwalk.rows import NamedTuple
from tankwalk.text import named


class Whom(NamedTuple):
    """A place that a pause or a missed meal is for: the words, its code, and its tanks."""

    words: str
    place: str
    tanks: tuple[Stop, ...]


def who_feeds(site: Site, hand: Hand, last: str) -> Generator[Step, Answer, str]:
    """Who gives the meal; Enter is the one who began it, or who has the room."""
    who = hand.of(site.now())
    if who:
        return who
    if last:
        people = tuple(p.initials for p in site.people)
        answer = yield Step("Who gives this meal?", people, enter=f"{last}, who began it")
        who = answer.words or last
    else:
        who = yield from one_of_us(site, "Who gives this meal?")
    hand.named(who, site.now())
    return who


def which_meal(
    meal: Instant, stands: Sequence[MealStands], now: Instant, *, chosen: bool
) -> Generator[Step, Answer, Instant]:
    """Which planned meal is given: asked where two are open, or the one chosen is far ahead."""
    others = [one for one in reversed(which.open_now(stands, now)) if one.at != meal]
    ahead = meal.utc - int(meals.EARLY_HOURS * 3600) > now.utc
    if not ahead and (chosen or not others):
        return meal
    words = f"{meal.hm()}, in {ago(meal.hours_since(now))}" if ahead else meal.hm()
    more = [f"{one.at.hm()}, not entered for {named(one.waiting)}" for one in others]
    if ahead and not more:
        yield Step(f"Meal {words}. Give it now?", ("give it now",))
        return meal
    answer = yield Step("Which meal is this?", (words, *more))
    return meal if answer.number == 1 else others[answer.number - 2].at


def given_earlier(site: Site) -> Generator[Step, Answer, Instant]:
    """When a meal was given that is entered only now."""
    answer = yield Step("When was it given? Type the time, as 1015:", writes=True)
    return which.earlier(site, answer.words)


def not_given(
    site: Site,
    hand: Hand,
    meal: Instant,
    stops: tuple[Stop, ...],
    held: Held,
    marked: str = "",
) -> Talk:
    """A meal that is not given, or a pause: what, for whom, how long, and by whom.

    Feed off from now on is proposed for the tank that is marked, never for the whole room.
    """
    off = _off(stops)
    ways = ["missed: no time", "missed: feed ran out", "planned pause", "feed off from now on"]
    on = [f"feed on again: {one.words}" for one in off]
    answer = yield Step(
        f"Meal {meal.hm()}: what is it?", (*ways, *on), "missed: why, in words", writes=True
    )
    if answer.number > len(ways):
        return (yield from _on_again(site, hand, off[answer.number - len(ways) - 1]))
    kind = answer.number
    why = {1: NO_TIME, 2: RAN_OUT, 3: PAUSE, 4: OFF}.get(kind, f"{meals.MISSED}{answer.words}")
    whom = yield from _whom(site, stops, marked if kind == 4 else "")
    until = ""
    if kind == 3:
        until = yield from _how_long(site, meal)
    if kind == 4:
        answer = yield Step("Why is feed off?", _reasons(site), "in words", writes=True)
        why = f"{OFF}, {answer.words}"
    who = yield from writer(site, hand, "Who says so?")
    lasting = kind == 4 or bool(until)
    event = f"{why} {until}".strip()
    many = _keep(site, who, meal, whom, event, held, lasting=lasting)
    if not many:
        return f"Every tank of {whom.words} was fed already: nothing was kept."
    holds = " Off at every meal until / turns feed on again." if kind == 4 else ""
    return f"Kept for {whom.words}: {event} ({who}).{holds}"


def take_back(site: Site, hand: Hand, meal: Instant) -> Talk:
    """Take back what was entered last without feed: missed, a pause, feed off or on."""
    since = at(meal.day, 0, 0, zone(site.plan.zone)).utc
    said = [
        one
        for one in site.reader.feeding.meals(since)
        if one.event is not None and one.meal_at in (None, meal.utc)
    ]
    if not said:
        raise Refusal("Nothing was entered here that could be taken back.")
    last = max(said, key=lambda one: one.n)
    whom = "all tanks" if last.place == SITE else last.place
    who = yield from writer(site, hand, "Who takes something back?")
    yield Step(f"{whom}: {last.event}, {last.at.hm()} {last.who}:", ("take it back",))
    now = site.now()
    site.record(Entry("void", who, now, now, last.place, amends=last.n, reason=UNDONE))
    return f"Taken back: {whom}, {last.event}, {last.at.hm()}."


def _off(stops: tuple[Stop, ...]) -> list[Whom]:
    """What is off feed now, tank by tank."""
    found = [one for one in stops if one.off is not None]
    single = [Whom(one.tank.code, one.tank.code, (one,)) for one in found]
    if len(found) > 1:
        return [Whom(f"all {len(found)} that are off", "", tuple(found)), *single]
    return single


def _on_again(site: Site, hand: Hand, whom: Whom) -> Talk:
    who = yield from writer(site, hand, "Who turns it on?")
    with site.ledger.writing():
        for one in whom.tanks:
            place = one.off.place if one.off is not None and len(whom.tanks) > 1 else ""
            _record(site, who, place or one.tank.code, meals.FEED_ON, None)
    return f"Feed is on again: {whom.words} ({who})."


def _whom(site: Site, stops: tuple[Stop, ...], marked: str) -> Generator[Step, Answer, Whom]:
    """For all tanks by 0, one tank or a loop; Enter is the tank that is marked, else all.

    Tanks come first, so that where they are numbered T01, T02 ... a number is its tank.
    """
    fed = tuple(one for one in stops if one.fed)
    every = Whom("all tanks", SITE, fed)
    loops = [
        Whom(f"loop {loop.code}", loop.code, tuple(s for s in fed if s.tank.loop == loop.code))
        for loop in site.plan.loops
    ]
    some = [one for one in loops if one.tanks] if len(loops) > 1 else []
    tanks = [Whom(one.tank.code, one.tank.code, (one,)) for one in fed]
    offered = [*tanks, *some]
    enter = next((one for one in tanks if one.place == marked), every)
    named = tuple(one.words for one in offered)
    answer = yield Step("For whom?", named, zero=every.words, enter=enter.words)
    if answer.number:
        return offered[answer.number - 1]
    return every if answer.words else enter


def _how_long(site: Site, meal: Instant) -> Generator[Step, Answer, str]:
    """How long a pause holds, in the words that the record goes by; "" for this meal alone."""
    offered = times_to_come(site)[:4]
    words = ("this meal alone", *(f"until {when.hm()}" for _, when in offered))
    answer = yield Step(
        "How long?", words, "until a time, as 1630", writes=True, enter="this meal alone"
    )
    if answer.number > 1:
        return f"until {offered[answer.number - 2][1].hm()}"
    if answer.number == 1 or not answer.words:
        return ""
    return f"until {time_typed(site, answer.words).hm()}"


def _reasons(site: Site) -> tuple[str, ...]:
    """Why feed is off: the flags that stand, worst first; else what is usual."""
    from tankwalk.practice.incidents.at_place import open_now

    flags = open_now(site, site.now()).flags[:5]
    found = tuple(f"{one.place} {one.item.label} {one.flag.word}" for one in flags)
    return found or ("sampling", "treatment", "water")


def _keep(
    site: Site, who: str, meal: Instant, whom: Whom, event: str, held: Held, *, lasting: bool
) -> int:
    """One entry for the place where none of its tanks was fed, else one a tank that was not."""
    if lasting:
        _record(site, who, whom.place, event, None)
        return 1
    hungry = [one for one in whom.tanks if not held.fed(one) and held.missed(one) is None]
    with site.ledger.writing():
        if len(hungry) == len(whom.tanks) and len(hungry) > 1:
            _record(site, who, whom.place, event, meal)
        else:
            for one in hungry:
                _record(site, who, one.tank.code, event, meal)
    return len(hungry)


def _record(site: Site, who: str, place: str, event: str, meal: Instant | None) -> int:
    """No feed at a place: at one meal, or without it as its words say."""
    unit = site.plan.feeds[0].unit if site.plan.feeds else "g"
    return giving.pause(site, who, place, event, meal_at=meal, unit=unit)
