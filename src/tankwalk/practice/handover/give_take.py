"""The talks of the handover, by number: giving, taking with the say-back, lines of one's own."""

from __future__ import annotations

from collections.abc import Callable, Generator, Sequence

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.entries import SaidBack
from tankwalk.practice import times
from tankwalk.practice.dialog import Answer, Hand, Step, Talk, one_of_us, person, with_room, writer
from tankwalk.practice.doing import follow_ups
from tankwalk.practice.handover import drafting, handover_notes
from tankwalk.practice.handover.drafting import GivenPage, HandoverDraft
from tankwalk.practice.handover.handover_notes import SECTIONS
from tankwalk.practice.handover.say_back import Question
from tankwalk.practice.site import Site

HOW = ("in person", "by phone", "read alone")
"""How a room is taken."""

NOTINGS = ("spoken with both", "read in full the next morning")
"""What a lead most often notes of a handover that nobody took."""


Words = Callable[[HandoverDraft], GivenPage]
"""The page of a draft as it is kept."""


def give(site: Site, page: HandoverDraft, words: Words) -> Talk:
    """Give the room with this page, in these words.

    Asked first: a round that is open, and who looks meanwhile at what is out of band.
    """
    if page.unsigned is not None:
        label, begun, by = page.unsigned
        sure = yield Step(
            "Give the room with the round open?",
            ("no, sign it first", "yes, and the page says so"),
            told=f"{label} was begun {begun.told(page.now)} by {by} and is not signed.",
        )
        if sure.number != 2:
            return "Back: nothing was kept."
    who = yield from one_of_us(site, "Who gives the room?")
    covered = yield from _cover(site, page, who)
    drafting.give(site, who, words(drafting.draft(site) if covered else page))
    return f"Given by {who}. Now the one who takes over presses *."


def _cover(site: Site, page: HandoverDraft, who: str) -> Generator[Step, Answer, bool]:
    """Who looks at what is out of band where nobody is there for long; whether it was asked."""
    if page.away is None or not page.uncovered:
        return False
    first = page.uncovered[0]
    places = text.named(dict.fromkeys(one.place for one in page.uncovered))
    back = page.away.end.told(page.now)
    at = Instant(max(first.at.utc, page.now.utc), page.now.offset)
    people = tuple(one.initials for one in site.people)
    answer = yield Step(
        f"Who goes at {at.told(page.now)}?",
        (*people, "nobody goes"),
        told=f"{places}: nobody is to look before {back}.",
    )
    if answer.number > len(people):
        words = f"Nobody looks at {places} before {back}."
        handover_notes.add_line(site, who, "EXPECT", words)
        return True
    for one in page.uncovered:
        due = max(one.at.utc, page.now.utc)
        words = f"look at {', '.join(one.labels)} again"
        follow_ups.open_action(site, who, words, one.place, answer.words, due)
    return True


def take(site: Site, page: HandoverDraft, words: str) -> Talk:
    """Take the room: who, how, and what the page says in these words, said back."""
    last = site.reader.handovers.last()
    if last is None or last.taken is not None:
        raise Refusal(_not_given(with_room(site)))
    who = yield from person(site, "Who takes the room?")
    if own := who == last.who:
        told = f"{who} gave this handover: nobody else has read it."
        sure = yield Step(
            f"Does {who} take it back?", ("yes, and the page says so", "no"), told=told
        )
        if sure.number != 1:
            return "Back: nothing was kept."
    how = yield Step("How is the handover received?", HOW)
    said: list[SaidBack] = []
    for asked in page.asks:
        said.append((yield from _said_back(asked, said, len(page.asks))))
    when = drafting.take(site, last, who, how.words, said, words, own=own)
    return f"Responsibility passed {when.hm()}, {last.who} to {who}."


def _not_given(holder: str) -> str:
    """What who comes into the room does where nobody gave it."""
    nothing = "There is no handover waiting to be taken"
    if not holder:
        return f"{nothing}: it must be given first, with +."
    return (
        f"{nothing}, {holder} has the room: + gives it, then * takes it. Where {holder} has left, "
        "give it as yourself; the page says so."
    )


def _said_back(
    asked: Question, before: Sequence[SaidBack], of: int
) -> Generator[Step, Answer, SaidBack]:
    """One question until it is right; a wrong answer shows its section and asks again."""
    tries, told, shown = 1, "", ""
    right = tuple((one.question, one.answer) for one in before)
    while True:
        answer = yield Step(
            asked.ask,
            asked.choices,
            told=told,
            shown=shown,
            closed=True,
            nth=len(before) + 1,
            of=of,
            right=right,
        )
        if answer.words == asked.right:
            return SaidBack(asked.ask, answer.words, tries)
        tries, shown = tries + 1, asked.section
        told = f"Not {answer.words}. Read {asked.section} again:"


# ---- words of one's own


def to_do(site: Site, hand: Hand) -> Talk:
    """Something to be done by the next shift."""
    who = yield from writer(site, hand, "Who writes it?")
    words = yield Step("To be done by the next shift:", follow_ups.TO_DO, "write it", writes=True)
    said = yield from follow_ups.worded(site, words.words)
    handover_notes.add_line(site, who, "TO DO", said)
    return f"Kept under TO DO. {who} wrote it; / takes it back."


def line(site: Site, hand: Hand) -> Talk:
    """A line of one's own: to which section, by whom, and the words."""
    given, now = site.reader.handovers.last(), site.now()
    last = given is not None and handover_notes.may_add(given, now)
    after = (f"add to the page {given.who} gave at {given.at.hm()}",) if given and last else ()
    which = yield Step(
        "A line of your own: to which section?",
        (*SECTIONS, *after),
        "take the last one back",
    )
    if not which.number:
        return (yield from undo(site, hand))
    if given is not None and which.number > len(SECTIONS):
        return (yield from _add_after(site, given.who))
    section = which.words
    if section == "TO DO":
        return (yield from to_do(site, hand))
    who = yield from writer(site, hand, "Who writes it?")
    usual = follow_ups.ALTERED if section == "ALTERED" else site.plan.canned_notes
    words = yield Step(f"For {section}:", usual, "write it", writes=True)
    undo_by = None
    if section == "ALTERED":
        undo_by = yield from times.ask(site, "To be put back by when?", "no end set")
    handover_notes.add_line(site, who, section, words.words, undo_by)
    return f"Kept under {section}, as {who} adds it; / and 0 take it back."


def _add_after(site: Site, giver: str) -> Talk:
    who = yield from person(site, f"Who adds to it? {giver} gave it.")
    words = yield Step("To be added under the page:", writes=True)
    handover_notes.add_after(site, who, words.words)
    return f"Added under the page, {site.now().hm()} {who}."


def undo(site: Site, hand: Hand) -> Talk:
    """Take the newest line of one's own back."""
    who = yield from writer(site, hand, "Who takes the last line back?")
    return f"Taken back: {handover_notes.take_back(site, who)}"


def note_untaken(site: Site) -> Talk:
    """The lead notes handovers that nobody took."""
    if not handover_notes.unnoted(site, site.now()):
        raise Refusal("There is no handover that nobody took: there is nothing to note.")
    who = yield from person(site, "Which lead notes that it was never taken?")
    words = yield Step("What became of it?", NOTINGS, "write it", writes=True)
    handover_notes.note_untaken(site, who, words.words)
    return f"Noted by {who}: the board no longer says so."
