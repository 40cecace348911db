"""A flag line by line: what was done, the call, a note and the next look, as on its page."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from tankwalk.errors import Refusal
from tankwalk.pages import incident as page
from tankwalk.pages import incident_words
from tankwalk.pages.lines import plain
from tankwalk.practice.dialog import Asking, Hand, Talk
from tankwalk.practice.incidents import acting, looking
from tankwalk.practice.incidents.incident import Incident, incident
from tankwalk.practice.incidents.trend import trend
from tankwalk.practice.judging.standing.flags import Key
from tankwalk.practice.judging.standing.wrong_now import wrong_now
from tankwalk.practice.round.looks import Asked, LookWalk
from tankwalk.practice.site import Site

Say = Callable[[str], None]
Through = Callable[[LookWalk], bool]
"""Walks a look to its end; False where the answers ended before that."""

WIDTH = 80


def here(site: Site, place: str) -> tuple[Key, ...]:
    """The flags that stand at a place, worst first; without any there, those of everywhere."""
    found = wrong_now(site, site.reader.readings.newest_of_all(), site.now()).wrong
    there = tuple(one.key for one in found if place in (one.place, *one.places))
    return there or tuple(one.key for one in found)


def flag(
    site: Site, key: Key, who: str, answers: Iterator[str], say: Say, through: Through
) -> bool:
    """One flag until an empty line leads back; False where the answers ended."""
    hand = Hand()
    hand.named(who, site.now())
    one = incident(site, key)
    if one is not None:
        say(plain(page.draw(one, WIDTH, None)))
    while one is not None:
        say(_asked(one))
        line = next(answers, None)
        if line is None:
            return False
        typed = line.strip().lower()
        if typed in ("", "back"):
            return True
        if typed in ("look", "*"):
            if not _look(site, one, who, say, through):
                return False
        elif typed == "-" or typed.isdecimal():
            if not _act(site, hand, one, typed, answers, say):
                return False
        else:
            say(f"{typed!r} is none of these.")
        one = incident(site, key)
    return True


def _asked(one: Incident) -> str:
    """What can be answered, by number: steps, the call, other words, a look."""
    steps = [
        f"{step.number} {step.words}" + (f" (done {step.done.at.hm()})" if step.done else "")
        for step in one.steps
    ]
    call = f"{page.call_number(one)} called {incident_words.person_words(one.call.on_call)}"
    parts = [*steps, call, "0 done in other words", "- note", "look again", "an empty line: back"]
    return f"{one.place} {one.item.label}, what was done? {'; '.join(parts)}"


def _act(
    site: Site, hand: Hand, one: Incident, typed: str, answers: Iterator[str], say: Say
) -> bool:
    if typed == "-":
        talk = acting.note(site, hand, one)
    elif int(typed) == page.call_number(one):
        talk = acting.say_called(site, hand, one)
    else:
        talk = acting.say_done(site, hand, one, int(typed))
    return talked(talk, answers, say)


def talked(talk: Talk, answers: Iterator[str], say: Say) -> bool:
    """A talk by number, a line an answer; False where the answers ended before it."""
    asking = Asking(talk)
    while not asking.over:
        step = asking.step
        if step.told and not step.shown:
            say(step.told)
        listed = [f"{n} {words}" for n, words in enumerate(step.choices, 1)]
        zero = [f"0 {step.zero}"] if step.zero else []
        enter = [f"an empty line: {step.enter}"] if step.enter else []
        asked = step.ask if step.ask.endswith(("?", ":", ".")) else f"{step.ask}:"
        say(f"{asked} {'; '.join((*listed, *zero, *enter))}".rstrip())
        line = next(answers, None)
        if line is None:
            return False
        if line.strip():
            for character in line.strip():
                if not asking.over:
                    asking.type(character)
            if not asking.over and asking.typed:
                asking.enter()
        else:
            asking.enter()
        if asking.said and not asking.over:
            say(asking.said)
    if asking.said:
        say(asking.said)
    return True


def _look(site: Site, one: Incident, who: str, say: Say, through: Through) -> bool:
    asked: Asked = ((one.behind.place, one.item.code),)
    if one.standing is not None:
        asked = looking.asked(site.plan, one.standing)
    try:
        walk = LookWalk(site, asked, who)
    except Refusal as refusal:
        say(str(refusal))
        return True
    if not through(walk):
        return False
    after = incident(site, one.key)
    if after is not None:
        say(incident_words.found(after, trend(after)))
    return True
