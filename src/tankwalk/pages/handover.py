"""The page of the handover: five sections, who gave and took the room, and what is said back."""

from __future__ import annotations

from typing import NamedTuple, assert_never

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.ledger.handovers import HandoverWords
from tankwalk.pages import due_words, follow_up_words, meter_words, steps
from tankwalk.pages.lines import Line, Span, blank, filled, flag_tone, line, spread, wrapped
from tankwalk.pages.readings import withdrawn_words
from tankwalk.pages.room_words import untaken, waiting
from tankwalk.plan.responses import response
from tankwalk.practice.dialog import Asking
from tankwalk.practice.due.attendance import GIST
from tankwalk.practice.handover.drafting import GivenPage, HandoverDraft, Section
from tankwalk.practice.handover.handover_notes import ADDED, NeverTaken
from tankwalk.practice.handover.lines import (
    CarriedLine,
    DueLine,
    EmergencyLine,
    FlagLine,
    MeterLine,
    NeverTakenLine,
    NextMealLine,
    NoteLine,
    NotTakenLine,
    OwnLine,
    PageLine,
    ResponseLine,
    ShelvedLine,
    SignedLine,
    SteadyLine,
    UnseenLine,
    WantedLine,
    WithdrawnLine,
)
from tankwalk.practice.judging.verdict import Flag
from tankwalk.practice.site import SITE

MEANING = {
    "STOCK": "tanks that are not steady, worst first",
    "TASKS": "not done, half done, skipped with reason",
    "ALTERED": "anything not as normal, and until when",
    "TO DO": "open actions: who, by when",
    "EXPECT": "if this, then that",
}

NOTHING = {
    "ALTERED": "nothing altered",
    "TO DO": "no open action",
    "EXPECT": "nothing special expected",
}
"""What a section says that has no line."""

ADDED_AFTER = "ADDED AFTER GIVING"
ON_THE_PAGE_TAKEN = "ON THE PAGE THAT WAS TAKEN"
"""Headings of what stands under a page."""


class Words(NamedTuple):
    """A line of the page in words, and its tone."""

    words: str
    tone: str = "plain"


def draw(draft: HandoverDraft, width: int) -> list[Line]:
    """The whole page, as many lines as it needs."""
    lines = _head(draft, width)
    for section in draft.sections:
        lines += [blank(width), *_section(section, draft.now, width)]
    for heading, added in under(draft):
        lines += [blank(width), line(width, Span(f" {heading}", "bold"))]
        for words in added:
            lines += _hanging(width, Words(words))
    lines.append(blank(width))
    lines.append(
        line(width, Span(f" Drafted from the record up to entry {draft.last_entry}.", "dim"))
    )
    return lines


def draw_said_back(draft: HandoverDraft, asking: Asking, width: int, height: int) -> list[Line]:
    """The page while it is said back: out of sight, but for the section that is read again."""
    below = steps.draw(asking, width)
    room = height - len(below)
    lines = [*_head(draft, width), blank(width)]
    if asking.step.shown:
        lines += wrapped(width, asking.step.told, "watch", 3)
        section = draft.section(asking.step.shown)
        lines += [blank(width), *_section(section, draft.now, width)]
    else:
        lines += wrapped(width, "Say back what the page says. It is out of sight now.", "plain", 2)
    return [*filled(lines, width, room), *below][-height:]


def _head(draft: HandoverDraft, width: int) -> list[Line]:
    title, when = f" HANDOVER  {draft.site}", f"{draft.now.short()} "
    if text.width(title) + text.width(when) + 2 <= width:
        lines = [spread(width, [title], [when], "head")]
    else:
        lines = [spread(width, [each], [], "head") for each in (title, f" {when}")]
    return [*lines, *wrapped(width, room(draft), "watch" if _waiting(draft) else "plain", 4)]


def _section(section: Section, now: Instant, width: int) -> list[Line]:
    meaning = Span(f"  {MEANING[section.name]}", "dim")
    lines = [line(width, Span(f" {section.name}", "bold"), meaning)]
    for words in said(section, now):
        lines += _hanging(width, words)
    return lines


def _hanging(width: int, said: Words) -> list[Line]:
    first, *rest = wrapped(width, said.words, said.tone, 400, indent="   ")
    return [first, *rest]


# ---- the lines in words


def said(section: Section, now: Instant) -> list[Words]:
    """The lines of a section, or that there is nothing to tell."""
    if not section.lines and section.name in NOTHING:
        return [Words(NOTHING[section.name])]
    return [Words(line_words(one, now), _tone(one)) for one in section.lines]


def _tone(one: PageLine) -> str:
    """What makes a line stand out: how serious a flag is, that it is late or was never taken."""
    match one:
        case FlagLine(flag) if flag.flag >= Flag.WATCH:
            return flag_tone(flag.flag)
        case CarriedLine(carried) if carried.terms.late:
            return "watch"
        case NeverTakenLine():
            return "watch"
        case _:
            return "plain"


def line_words(one: PageLine, now: Instant) -> str:
    """One line of the page in words."""
    match one:
        case FlagLine(flag):
            return f"{flag.place} {flag.flag.mark}  {flag.sentence} at {flag.at.told(now)}"
        case ShelvedLine(flag):
            until = "" if flag.until is None else f" until {flag.until.short()}"
            return f"{flag.place} flag shelved{until}: {flag.sentence}, {flag.reason}"
        case WithdrawnLine(back):
            return withdrawn_words(back, now)
        case NoteLine(note):
            return f"{note.place or SITE} note {note.at.told(now)} {note.who}: {note.text}"
        case OwnLine(own):
            return f"{own.who} adds: {own.text}"
        case UnseenLine(places):
            return f"not looked at for a day or longer: {', '.join(places)}"
        case SteadyLine(steady, tanks):
            return f"{steady} of {tanks} tanks steady"
        case NeverTakenLine(untaken):
            return _never_taken(untaken)
        case DueLine(due):
            return due_words.line(due, now)
        case NextMealLine(at):
            return f"next meal {at.told(now)}"
        case SignedLine(label, at, by):
            return f"{label} signed {at.told(now)} by {by}"
        case NotTakenLine(label, second, reason, places):
            what = f"{label} second reading" if second else label
            return f"not taken: {what}, {', '.join(places)} ({reason})"
        case WantedLine(owed):
            wanted = ", ".join(f"{place} {label}" for place, label in owed)
            return f"second reading still wanted: {wanted}"
        case CarriedLine(carried, new):
            terms = follow_up_words.terms(carried) + (f", new from {carried.seen.who}" * new)
            return f"{follow_up_words.said(carried)} ({terms})"
        case MeterLine(state):
            return meter_words.altered(state, now)
        case ResponseLine(place, label, first):
            return f"if {place} {label} is still out: {response(first)}"
        case EmergencyLine(words):
            return words
        case never:
            assert_never(never)


def _never_taken(one: NeverTaken) -> str:
    words = f"{untaken(one)} was never taken"
    if one.noted is None:
        return words
    return f"{words}; noted {one.noted.at.short()} by {one.noted.who}: {one.noted.text}"


def under(draft: HandoverDraft) -> list[tuple[str, list[str]]]:
    """What stands under the page, by heading: what was added, and what was read by its taker."""
    both = (
        (ADDED_AFTER, [_dated(one) for one in draft.added]),
        (
            ON_THE_PAGE_TAKEN,
            [
                _dated(one) if one.part == ADDED else f"{one.part}: {one.who} adds: {one.text}"
                for one in draft.read
            ],
        ),
    )
    return [(heading, lines) for heading, lines in both if lines]


def _dated(one: HandoverWords) -> str:
    return f"{one.at.short()} {one.who}: {one.text}"


# ---- the page as it is kept


def text_of(draft: HandoverDraft) -> str:
    """The page as plain text, as it is kept when given or taken."""
    body = [f"HANDOVER {draft.site}, {draft.now.iso()}, since {draft.since.short()}"]
    for section in draft.sections:
        body += [section.name, *(f"  {one.words}" for one in said(section, draft.now))]
    for heading, lines in under(draft):
        body += [heading, *(f"  {words}" for words in lines)]
    return "\n".join(body)


def given(draft: HandoverDraft) -> GivenPage:
    """The page as it is kept when the room is given, with what is told of it after days."""
    first = [(name, said(draft.section(name), draft.now)) for name in GIST]
    gist = ((name, " ".join(lines[0].words.split())) for name, lines in first if lines)
    return GivenPage(text_of(draft), tuple(gist))


# ---- who has the room


def _waiting(draft: HandoverDraft) -> bool:
    return draft.last is not None and draft.last.taken is None


def room(draft: HandoverDraft) -> str:
    """Who gave the room, who took it when and how, and how well it was said back."""
    last = draft.last
    if last is None:
        return "No handover has been given yet."
    if last.taken is None:
        return f"Given {last.at.short()} by {last.who}, {waiting(last.at, draft.now)}."
    how = f", {last.how}" if last.how else ""
    passed = f"Responsibility passed {last.taken.short()}, {last.who} to {last.taken_by}{how}."
    if not last.said:
        return passed
    again = sum(one.tries > 1 for one in last.said)
    first = f"{again} not at the first try" if again else "right at the first try"
    return f"{passed} Said back: {len(last.said)} answers, {first}."
