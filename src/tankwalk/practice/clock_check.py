"""Is the laptop's clock right? Asked before anything is kept where the record speaks against it."""

from __future__ import annotations

from collections.abc import Generator

from tankwalk.errors import Refusal
from tankwalk.ledger.entries import Entry, Note
from tankwalk.practice.dialog import Answer, Step, person
from tankwalk.practice.site import SITE, ClockDoubt, Site
from tankwalk.rows import NamedTuple

REASON = "clock"
"""What a mark gives as its reason: by it a mark is known among the notes of the site."""

STOPPED = "Nothing is kept until the clock is set: q leaves, set it, then start again."


class Asked(NamedTuple):
    """What is asked of a clock in doubt, in words that the screen and the plain lines share."""

    told: str
    ask: str
    yes: str
    no: str


def asked(doubt: ClockDoubt) -> Asked:
    """The doubt in words, and the two answers."""
    return Asked(
        f"The clock reads {doubt.now.long()}. {doubt.words}",
        "Is the clock right?",
        "the clock is right: go on, with a mark in the record",
        "stop, and set the clock",
    )


def refuse(site: Site) -> None:
    """Refusal where a command would keep something by a clock that is in doubt."""
    doubt = site.clock_doubt()
    if doubt is not None:
        raise Refusal(
            f"The clock reads {doubt.now.long()}. {doubt.words} Nothing was kept: set the "
            "clock, or open tankwalk and say there that it is right."
        )


def keep_mark(site: Site, who: str) -> None:
    """Keep that a person says the clock is right, as a note at the site; what follows is kept."""
    doubt = site.clock_doubt()
    if doubt is None:
        return
    now = site.now()
    against = "is later than this" if doubt.back else "is long before this"
    words = (
        f"The clock is right, says {who}. The last entry before, {doubt.newest.long()}, {against}."
    )
    entry = Entry("note", site.signs(who), now, now, SITE, reason=REASON)
    site.record(entry, Note(words), sure=True)


def talk(site: Site, doubt: ClockDoubt) -> Generator[Step, Answer, str]:
    """Ask by number; gives "" where one may go on, else what is said on the board."""
    words = asked(doubt)
    answer = yield Step(words.ask, (words.yes, words.no), told=words.told)
    if answer.number != 1:
        return STOPPED
    who = yield from person(site, "Who says so?")
    keep_mark(site, who)
    return ""
