"""What a person enters about a flag: what was done, whom was called, and a note, by number."""

from __future__ import annotations

from collections.abc import Sequence

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.incidents import CallSeen, DoneSeen
from tankwalk.plan.model import Person
from tankwalk.practice.dialog import Hand, Step, Talk, writer
from tankwalk.practice.incidents.incident import Incident
from tankwalk.practice.site import Site

REACHED = ("reached", "not reached", "left a message")
"""How a call ended: the first alone is one that reached somebody."""

SAID = ("comes at once", "comes later", "go on as the plan says", "calls the veterinarian")
"""What is often said; 0 writes other words, Enter keeps the call without."""

OTHER = "somebody else"
"""Whom the plan does not name, or names without a number."""


def did(site: Site, who: str, one: Incident, words: str, step: int | None = None) -> Instant:
    """Keep what was done about a flag; `step` is its number where it is one of the item's.

    Refusal for no words and for people the plan does not name.
    """
    from tankwalk.ledger.entries import DoneAbout, Entry

    said = text.clean(words)
    if not said:
        raise Refusal("Nothing was typed, so nothing is kept: say what was done.")
    now = site.now()
    place = one.key.code if one.key.names_place else one.behind.place
    entry = Entry("done", site.signs(who), now, now, place, one.item.code, one.item.unit)
    site.record(entry, DoneAbout(said, step, one.behind.n))
    return now


def called(
    site: Site,
    who: str,
    one: Incident,
    whom: Person,
    *,
    reached: bool,
    said: str = "",
) -> Instant:
    """Keep a call about a flag: whom, at which number, whether reached, and what was said."""
    from tankwalk.ledger.entries import Call, Entry

    now = site.now()
    place = one.key.code if one.key.names_place else one.behind.place
    entry = Entry("call", site.signs(who), now, now, place, one.item.code, one.item.unit)
    words = text.clean(said)
    site.record(entry, Call(whom.initials, whom.phone, reached, words or None))
    return now


def to_call(site: Site, now: Instant) -> tuple[Person, ...]:
    """Whom one may call, who is on call first, then the others that have a number."""
    first = site.plan.called_at(now.wall)
    others = (one for one in site.plan.people if one.phone and one != first)
    return (*((first,) if first is not None else ()), *others)


# ---- talks by number


def say_done(site: Site, hand: Hand, one: Incident, number: int) -> Talk:
    """Say that a step was done, by its number; 0 asks for other words."""
    step = next((step for step in one.steps if step.number == number), None)
    if number and step is None:
        raise Refusal(f"There is no step {number} here.")
    if step is not None and step.done is not None:
        when = f"{step.done.at.told(site.now())} ({step.done.who})"
        again = yield Step(f"{step.words}: done {when}. Done again?", ("no", "yes, once more"))
        if again.number != 2:
            return "Nothing more was kept."
    who = yield from writer(site, hand, "Who did it?")
    if step is not None:
        words = step.words
    else:
        answer = yield Step("What was done?", writes=True)
        words = answer.words
    at = did(site, who, one, words, number or None)
    return f"Done {at.hm()} ({who}): {text.clean(words)}. Now look again."


def say_called(site: Site, hand: Hand, one: Incident) -> Talk:
    """Enter a call: whom, reached or not, what was said."""
    who = yield from writer(site, hand, "Who called?")
    people = to_call(site, site.now())
    answer = yield Step("Called whom?", tuple(map(_named, people)), OTHER, writes=True)
    whom = people[answer.number - 1] if answer.number else Person(text.clean(answer.words))
    answer = yield Step(f"{whom.initials}:", REACHED)
    reached = answer.number == 1
    said = "" if reached else REACHED[answer.number - 1]
    if reached:
        answer = yield Step(
            f"What did {whom.initials} say?", SAID, "write it", writes=True, enter="keep without"
        )
        said = answer.words
    at = called(site, who, one, whom, reached=reached, said=said)
    return f"Call kept {at.hm()} ({who}): {whom.initials} {_ended(reached, said)}."


def _named(one: Person) -> str:
    return f"{one.initials} {one.phone}".strip()


def _ended(reached: bool, said: str) -> str:
    if not reached:
        return said
    return f"reached, {said}" if said else "reached"


def note(site: Site, hand: Hand, one: Incident) -> Talk:
    """A note about a flag, in one's own words or one of the plan's."""
    from tankwalk.ledger.entries import Entry, Note

    who = yield from writer(site, hand, "Who writes it?")
    canned: Sequence[str] = site.plan.canned_notes
    answer = yield Step(f"Note for {one.place}:", tuple(canned), "write it", writes=True)
    words = text.clean(answer.words)
    if not words:
        raise Refusal("Nothing was typed, so no note is kept.")
    now = site.now()
    place = one.key.code if one.key.names_place else one.behind.place
    entry = Entry("note", site.signs(who), now, now, place, one.item.code, one.item.unit)
    site.record(entry, Note(words))
    return f"Noted for {one.place}."


def take_back(site: Site, hand: Hand, one: Incident) -> Talk:
    """Take back one's own newest step or call about a flag: both entries stay in the record."""
    from tankwalk.ledger.entries import Entry

    who = yield from writer(site, hand, "Who takes something back?")
    mine = [
        line.about
        for line in one.story
        if isinstance(line.about, DoneSeen | CallSeen) and line.who == who
    ]
    if not mine:
        raise Refusal(f"{who} entered nothing about this that could be taken back.")
    last = mine[-1]
    said = last.text if isinstance(last, DoneSeen) else f"the call to {last.whom}"
    yield Step(f"{said}, {last.at.hm()} {who}:", ("take it back",))
    now, of = site.now(), site.plan.find_item(last.item or "")
    unit = "" if of is None else of.unit
    entry = Entry("void", who, now, now, last.place, last.item, unit, None, last.n, "undone")
    site.record(entry)
    return f"Taken back: {said}, {last.at.hm()}."
