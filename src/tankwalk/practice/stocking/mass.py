"""A mass event: many dead at once, estimated by volume or weight, and whether anybody is called.

It is never forced through the count of the dead: that is for what was counted one by one. It is a
flag from then on (`judging/standing/mass_events.py`), until a person closes it.
"""

from __future__ import annotations

from tankwalk import text
from tankwalk.ledger.entries import Call, Entry, Movement
from tankwalk.ledger.stock import What
from tankwalk.plan.model import MASS_EVENT
from tankwalk.practice.counting.pad import About, Sort
from tankwalk.practice.counting.sitting import Sitting
from tankwalk.practice.dialog import Step, Talk
from tankwalk.practice.livefeed.asking import number, wanted, whole
from tankwalk.practice.site import Site
from tankwalk.practice.stock.numbers import Best
from tankwalk.practice.stocking import samples
from tankwalk.practice.stocking.doubts import AGAIN, RIGHT, of_going

MOST = 10_000_000

BY = (("by volume", "mL"), ("by weight", "g"))
"""How the dead are estimated from sub-samples, and in what they are measured."""

OTHERWISE = "another way, with its +/-"


def mass_event(site: Site, who: str, tank: str, held: Best) -> Talk:
    """So many dead that nobody counts them: sub-samples times all, or an estimate; then the call.

    Nothing of it is in the counts of the dead.
    """
    ways = (*(words for words, _ in BY), OTHERWISE)
    answer = yield Step(
        f"{tank}: many dead at once, about {held.fish:,} were there. Estimated how?", ways
    )
    if answer.words == OTHERWISE:
        said = yield from _guessed(site, who, tank, held)
    else:
        way, unit = BY[answer.number - 1]
        size = yield from wanted(number("One sub-sample of the dead", unit, 0.1, MOST))
        every = yield from wanted(number("All of the dead", unit, size, MOST))
        about = About(Sort.DEAD, size, liters=every / 1000, place=tank)
        sitting = Sitting(site, who, about)
        how = f"sub-samples {way}, {size:g} {unit} of {every:g} {unit}"
        said = yield from samples.counted_out(site, sitting, tank, What.DEAD, how)
    called = yield from _called(site, who, tank)
    return f"{said} {called}"


def _guessed(site: Site, who: str, tank: str, held: Best) -> Talk:
    fish = yield from whole(f"{tank}: about how many died", MOST)
    error = yield from wanted(number(f"{fish:,} dead, +/- how many (95 %)", "", 0, MOST))
    doubts = of_going(site, tank, What.DEAD, fish, held)
    words = f"{tank} mass event {fish:,} +/- {error:,.0f}, estimated"
    choices = (AGAIN, RIGHT) if doubts else ("keep it", AGAIN)
    answer = yield Step(f"{words}.", choices, told=" ".join(doubts))
    if answer.words == AGAIN:
        return (yield from _guessed(site, who, tank, held))
    now = site.now()
    entry = Entry("movement", site.signs(who), now, now, tank)
    site.record(entry, Movement(What.DEAD, fish, error, "estimated"))
    return f"Kept {now.hm()} ({who}): {words}."


def _called(site: Site, who: str, tank: str) -> Talk:
    """Is anybody called? Kept as a call about the tank, or said that somebody has to be."""
    now = site.now()
    first = site.plan.called_at(now.wall)
    people = [one for one in site.plan.people if one.phone]
    people.sort(key=lambda one: one != first)
    names = tuple(f"{one.initials} {one.phone}" for one in people)
    answer = yield Step("Is anybody called? It is kept whom.", names, zero="nobody yet")
    if not answer.number:
        if first is not None and first.phone:
            return f"Call {first.initials} now: {first.phone}."
        return f"Call somebody now. {site.plan.emergency}".strip()
    whom = people[answer.number - 1]
    answer = yield Step(f"{whom.initials}:", ("reached", "not reached", "left a message"))
    reached = answer.number == 1
    of = MASS_EVENT
    entry = Entry("call", site.signs(who), now, now, tank, of.code, of.unit)
    said = of.code if reached else answer.words
    site.record(entry, Call(whom.initials, whom.phone, reached, text.clean(said)))
    return f"Call kept: {whom.initials} {answer.words}."
