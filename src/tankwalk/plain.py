"""The round line by line: one prompt a line, one answer a line, nothing repainted.

For a screen reader, a slow link, an old console, a script: the same walk as on the screen, with
the same judgements. Answers are what the number pad would type: a value, + - * / or a menu number.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial

from tankwalk import plain_flag
from tankwalk.clock import Instant, is_ahead, past
from tankwalk.errors import Refusal
from tankwalk.pages import hazard_words
from tankwalk.pages.correction_words import beside
from tankwalk.pages.incident_words import open_words, to_call
from tankwalk.pages.readings import band_words, moved_words, state_words
from tankwalk.pages.walk import facts
from tankwalk.plain_idle import Attended
from tankwalk.practice import clock_check
from tankwalk.practice.dialog import LONGEST_WORDS, too_long
from tankwalk.practice.judging.standing.flags import Key
from tankwalk.practice.judging.standing.wrong_now import wrong_now
from tankwalk.practice.judging.verdict import Flag, value_words
from tankwalk.practice.round import looks, rounds
from tankwalk.practice.round.questions import AskWords
from tankwalk.practice.round.view import StopView, WalkView
from tankwalk.practice.round.walk import Walk
from tankwalk.practice.site import Site

Say = Callable[[str], None]

WORDS = {"undo": "take back your newest entry", "back": "leave the question", "end": "stop here",
         "up": "one item back", "down": "one item on", "next": "next stop",
         "note": "write a note", "flag": "done, called, look again: the worst flag here",
         "m": "next meter", "worked": "what can be worked out here",
         "help": "this list"}  # fmt: skip
"""Words that may be answered instead of a value."""


def walk(
    site: Site, answers: Iterator[str], say: Say, who: str | None, checklist: str | None
) -> int:
    """Walk a round to its signature; 0 when signed, 1 when the answers ended before that."""
    chosen = rounds.named_checklist(site, checklist)
    initials = who or _who(site, answers, say)
    if initials is None:
        return 1
    if not _clock_is_right(site, initials, answers, say):
        return 1
    found = rounds.begin(site, chosen, initials)
    at = Walk(site, found, site.signs(initials))
    try:
        return _to_the_signature(at, answers, say)
    except BrokenPipeError:  # nobody reads any more; what was signed before that is signed
        return 0 if at.signed else 1


def _to_the_signature(at: Walk, answers: Iterator[str], say: Say) -> int:
    seen = at.view(worked=False)
    say(f"{seen.label}, {seen.who}, {seen.now.short()}. {seen.done} of {seen.asked} done.")
    for hazard in rounds.hazards(at.site, at.site.plan.checklist(at.round.checklist)):
        say(hazard_words.WORDS[hazard])
    say(f"Answer with a value or + - * /; or with a word: {', '.join(WORDS)}.")
    return 0 if through(at, answers, say) else 1


def look(
    site: Site,
    answers: Iterator[str],
    say: Say,
    who: str | None,
    place: str,
    items: Sequence[str],
) -> int:
    """Look at one place, as a small round that signs itself; 0 when it did, 1 when not.

    Where a flag stands there afterwards, what was done about it is asked.
    """
    asked = looks.asked_at(site, place, items)
    initials = who or _who(site, answers, say)
    if initials is None:
        return 1
    at = looks.LookWalk(site, asked, initials)
    seen = at.view(worked=False)
    say(f"{seen.label}, {place}, {seen.who}, {seen.now.short()}. {seen.asked} asked.")
    if not through(at, answers, say):
        return 1
    say(f"The look is over: {seen.asked} kept, signed by {at.who}.")
    flags = wrong_now(site, site.reader.readings.newest_of_all(), site.now()).wrong
    here = next((one.key for one in flags if place in (one.place, *one.places)), None)
    if here is not None:
        _flag(at, here, answers, say)
    return 0


def through(at: Walk, answers: Iterator[str], say: Say) -> bool:
    """Walk a round, or a look, to its signature; False where the answers ended before that."""
    stop = -1
    there = Attended(at.at_desk(), answers, say)
    while not at.signed:
        stop = _prompt(at.view(worked=False), stop, say)
        line = there.next(at.signer, at.hand_to)
        if line is None:
            say(_stopped(at))
            return False
        if line.strip().lower() == "flag" and not isinstance(at.question, AskWords):
            place = "" if at.at_end else at.slot.place
            found = plain_flag.here(at.site, place)
            if not found:
                say("Nothing is out of band.")
            elif _flag(at, found[0], answers, say):
                at.reload()
            stop = -1
            continue
        if _word(at, line, say):
            if line.strip().lower() in ("end", "q"):
                say(_stopped(at))
                return False
            continue
        if len(line) > LONGEST_WORDS:
            say(too_long(LONGEST_WORDS))
            continue
        reply = at.answer(line)
        if reply.sentence:
            say(reply.sentence)
        if reply.flag is Flag.URGENT and at.question is None:
            _say_whom_to_call(at, say)
    return True


def _say_whom_to_call(at: Walk, say: Say) -> None:
    """Whom to call about the URGENT that was just kept, as long as nobody was reached."""
    now = at.view(worked=False).open
    calls = () if now is None else tuple(to_call(one.call) for one in now.flags)
    first = next((words for words in calls if words), "")
    if first:
        say(f"{first[:1].upper()}{first[1:]}. To enter the call: flag.")


def _flag(at: Walk, key: Key, answers: Iterator[str], say: Say) -> bool:
    """What is done about a flag, until an empty line; False where the answers ended."""
    on = partial(through, answers=answers, say=say)
    return plain_flag.flag(at.site, key, at.who, answers, say, on)


def _stopped(at: Walk) -> str:
    """What is said where one stops before the signature."""
    seen = at.view(worked=False)
    if lost := at.site.ledger.lost():
        return lost
    return f"Stopped. {seen.done} of {seen.asked} are kept. Go on with the same command."


def _clock_is_right(site: Site, who: str, answers: Iterator[str], say: Say) -> bool:
    """Ask where the record speaks against the clock; False where it is to be set first."""
    doubt = site.clock_doubt()
    if doubt is None:
        return True
    words = clock_check.asked(doubt)
    while True:
        say(f"{words.told} {words.ask} 1 {words.yes}; 2 {words.no}")
        typed = (next(answers, None) or "2").strip()
        if typed == "1":
            clock_check.keep_mark(site, who)
            return True
        if typed == "2":
            say("Nothing was kept: set the clock, then start again.")
            return False


def _who(site: Site, answers: Iterator[str], say: Say) -> str | None:
    people = site.people
    while True:
        listed = ", ".join(f"{i} {p.initials} {p.name}".rstrip() for i, p in enumerate(people, 1))
        say(f"Who is doing this round? Your initials go on every entry. {listed}")
        line = next(answers, None)
        if line is None:
            return None
        typed = line.strip()
        numbers = [str(i) for i in range(1, len(people) + 1)]
        if typed in numbers:
            return people[numbers.index(typed)].initials
        try:
            return site.signs(typed)
        except Refusal as refusal:
            say(str(refusal))


def _word(at: Walk, line: str, say: Say) -> bool:
    """Do an act given by word; False when the line is an answer."""
    word = line[:LONGEST_WORDS].strip().lower()
    word = {"?": "help", "q": "end", "meter": "m"}.get(word, word)
    if isinstance(at.question, AskWords):
        if word or len(line) > LONGEST_WORDS:
            return False
        at.back()
        say(at.said.sentence)
        return True
    if word not in WORDS:
        return False
    if word == "undo":
        undone = at.undo().sentence
        if undone:
            say(undone)
    elif word == "back":
        if at.back():
            say(at.said.sentence)
    elif word in ("up", "down"):
        at.move(word)
    elif word == "next":
        at.move("right")
    elif word == "m":
        say(at.next_meter().sentence)
    elif word == "note":
        refused = at.note().sentence
        if refused:
            say(refused)
    elif word == "worked":
        for state in at.worked():
            say(f"{state.item.label} {state_words(state)[0]}")
    elif word == "help":
        say("A value, or: + all right, - problem, * measure again, / not taken; or a word: "
            + "; ".join(f"{w}, {does}" for w, does in WORDS.items()))  # fmt: skip
    return True


def _prompt(seen: WalkView, stop: int, say: Say) -> int:
    """Say where one stands and what is asked; returns the stop, to say it only on arrival."""
    here = seen.here
    number = here.number if isinstance(here, StopView) else 0
    if number != stop:
        if isinstance(here, StopView):
            about = f"{here.title}, stop {number} of {seen.stops}. {facts(here)}"
            say(about.rstrip())
            for words, _ in open_words(here.open, seen.now):
                say(f"Open here: {words}.")
            for words in moved_words(here.moved, here.entry.line.slot.place, seen.now):
                say(words)
        else:
            say("End of the round.")
    asked = seen.question
    if asked is not None:
        names = {"Esc": "an empty line", "Enter": "a line"}
        options = "; ".join(f"{names.get(key, key)} {words}" for key, words in asked.options())
        dot = "" if asked.words.endswith((".", "?", ":")) else "."
        say(f"{asked.words}{dot} {options}")
    elif isinstance(here, StopView):
        say(_wanted(here, seen.now))
    return number


def _wanted(here: StopView, now: Instant) -> str:
    """What is wanted now, what was last seen, and the answers or the band."""
    slot, before = here.entry.line.slot, here.entry.line.before
    parts = [f"{slot.place} {slot.item.label}" + (f", {slot.item.unit}" if slot.item.unit else "")]
    other = here.entry.by_other
    if other is not None:
        read = value_words(slot.item, other, bare=True)
        parts.append(f"{other.who} read {read} at {other.at.hm()} in this round")
    if before is not None:
        hours = now.hours_since(before.at)
        when = before.at.long() if is_ahead(hours) else past(hours)
        told = beside(before, now, slot.item)
        parts.append(
            f"last {value_words(slot.item, before, bare=True)} {when}{', ' * bool(told)}{told}"
        )
    if slot.item.answers:
        parts.append("+ or " + ", ".join(f"{key} {word}" for key, word in slot.item.answers))
    if slot.item.kind.by_band and band_words(slot):
        parts.append(f"band {band_words(slot)}")
    return ". ".join(parts) + ":"
