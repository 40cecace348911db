"""A person's own words on a handover: lines on the page, what is added after giving, what the lead
notes about one that nobody took.

They are notes of the record whose reason says to which part they belong, so every Enter is on the
disk before the page is given, and taking a line back keeps both.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from tankwalk import text
from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.handovers import WORDS, HandoverSeen, HandoverWords, Untaken
from tankwalk.practice.doing import follow_ups
from tankwalk.practice.site import SITE, Site, placed
from tankwalk.rows import NamedTuple

SECTIONS = ("STOCK", "TASKS", "ALTERED", "TO DO", "EXPECT")
"""The sections of a handover. A line of one's own under ALTERED or TO DO is carried over."""

ADDED = "added"
NOTED = "never taken"
"""Parts of a handover's words that are no section."""

ADD_MINUTES = 30
"""How long after giving the one who gave may add to the page. Common practice, no source."""

NEVER_TAKEN_DAYS = 14
"""How far back handovers that nobody took are listed."""

ABOUT = "handover"
"""What a follow-up was drafted from that was written on the handover's page."""


class NeverTaken(NamedTuple):
    """A handover that nobody took, and what the lead noted about it."""

    given: Untaken
    noted: HandoverWords | None


class OwnWords(NamedTuple):
    """What people wrote that the next one to take the room has not read yet.

    `read` is what they wrote on the page that was taken last, while it is the last one.
    """

    lines: tuple[HandoverWords, ...]
    added: tuple[HandoverWords, ...]
    read: tuple[HandoverWords, ...]
    never_taken: tuple[NeverTaken, ...]

    def of(self, section: str) -> list[HandoverWords]:
        """The lines of one section."""
        return [words for words in self.lines if words.part == section]


def own_words(site: Site, now: Instant) -> OwnWords:
    """Lines and additions since the handover that was last taken; handovers nobody took."""
    reader = site.reader
    taken = reader.handovers.last_taken()
    before = reader.handovers.last_taken(taken)
    given = reader.handovers.last()
    missed = reader.handovers.never_taken(now.utc - NEVER_TAKEN_DAYS * 86_400)
    words = reader.handovers.words(min([before, *(one.n for one in missed)]))
    fresh = [w for w in words if w.n > taken]
    last = given is not None and given.n == taken
    return OwnWords(
        tuple(w for w in fresh if w.part in SECTIONS),
        tuple(w for w in fresh if w.part == ADDED),
        tuple(w for w in words if last and before < w.n < taken and w.part != NOTED),
        _noted(missed, words),
    )


def unnoted(site: Site, now: Instant) -> tuple[NeverTaken, ...]:
    """Handovers that nobody took and the lead has not noted, the newest last."""
    handovers = site.reader.handovers
    missed = handovers.never_taken(now.utc - NEVER_TAKEN_DAYS * 86_400)
    if not missed:
        return ()
    words = handovers.words(min(one.n for one in missed))
    return tuple(one for one in _noted(missed, words) if one.noted is None)


def _noted(missed: Iterable[Untaken], words: Sequence[HandoverWords]) -> tuple[NeverTaken, ...]:
    """Each handover that nobody took, with what the lead noted about it."""
    return tuple(
        NeverTaken(one, next((w for w in words if w.part == NOTED and w.n > one.then), None))
        for one in missed
    )


def add_line(site: Site, who: str, section: str, words: str, undo_by: int | None = None) -> int:
    """A line of one's own on the page, in a section. Returns its entry number.

    Under TO DO it is an action and under ALTERED something altered, both carried over until closed.
    """
    if section == "TO DO":
        return follow_ups.open_action(site, who, words, about=ABOUT)
    if section == "ALTERED":
        return follow_ups.open_altered(site, who, words, undo_by=undo_by, about=ABOUT)
    if section not in SECTIONS:
        raise Refusal(f"The page has no section {section[:20]!r}: nothing was kept.")
    return _note(site, who, section, words)


def take_back(site: Site, who: str) -> str:
    """Take the newest line back that was written since the last giving; what it said, in words."""
    who = site.signs(who)
    with site.ledger.writing() as ledger:
        given = ledger.reader.handovers.last()
        after = 0 if given is None else given.n
        words = [w for w in ledger.reader.handovers.words(after) if w.part != NOTED]
        carried = [
            one
            for one in ledger.reader.follow_ups.open()
            if one.about == ABOUT and one.opened > after
        ]
        line = max(words, key=lambda w: w.n, default=None)
        one = max(carried, key=lambda c: c.opened, default=None)
        if one is not None and (line is None or one.opened > line.n):
            follow_ups.drop(site, who, one.opened, "taken back from the handover")
            return placed(one.place, one.text)
        if line is None:
            raise Refusal("No line of one's own is on this page: nothing was taken back.")
        from tankwalk.ledger.entries import Entry

        now = site.now()
        site.record(Entry("void", who, now, now, SITE, amends=line.n, reason="taken back"))
        return line.text


def may_add(given: HandoverSeen | None, now: Instant) -> bool:
    """Whether something may still be added to a page that was given."""
    return given is not None and 0 <= now.hours_since(given.at) * 60 <= ADD_MINUTES


def add_after(site: Site, who: str, words: str) -> int:
    """Add to the page that was given last, under it. Refusal after its time, or for another one."""
    who = site.signs(who)
    with site.ledger.writing() as ledger:
        given = ledger.reader.handovers.last()
        if given is None or not may_add(given, site.now()):
            raise Refusal(
                f"Only for {ADD_MINUTES} min after giving may something be added to the page: "
                "nothing was kept. Write it on the next one."
            )
        if given.who != who:
            raise Refusal(
                f"{given.who} gave this page, so {given.who} adds to it: nothing was kept. "
                "Write an action, or a line on the next page."
            )
        return _note(site, who, ADDED, words)


def note_untaken(site: Site, who: str, words: str) -> int:
    """The lead notes that handovers were never taken; then the board no longer says so.

    Where the plan names no lead, anyone may. Refusal where there is nothing to note.
    """
    who = site.signs(who)
    leads = follow_ups.leads(site.plan)
    with site.ledger.writing():
        if not unnoted(site, site.now()):
            raise Refusal("There is no handover that nobody took: nothing was kept.")
        if leads and who not in leads:
            raise Refusal(f"The lead notes this ({', '.join(leads)}), not {who}: nothing was kept.")
        return _note(site, who, NOTED, words)


def _note(site: Site, who: str, part: str, words: str) -> int:
    words = text.clean(words)
    if not words:
        raise Refusal("Nothing was typed, so no line is kept.")
    from tankwalk.ledger.entries import Entry, Note

    now = site.now()
    entry = Entry("note", site.signs(who), now, now, SITE, reason=WORDS + part)
    return site.record(entry, Note(words))
