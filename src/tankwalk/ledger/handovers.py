"""Questions about handovers: given, taken, said back, and people's own words on them."""

from __future__ import annotations

from itertools import pairwise

from tankwalk.clock import Instant
from tankwalk.ledger.notes import NoteSeen
from tankwalk.ledger.questions import NO_LIMIT, Questions, back_to, stands
from tankwalk.ledger.sqlite_errors import reads_record
from tankwalk.rows import NamedTuple

WORDS = "handover: "
"""How the reason of a note begins that belongs to a handover; what follows says to which part."""


def for_handover(note: NoteSeen) -> bool:
    """Whether a note holds words for a handover, and is none of a round."""
    return (note.reason or "").startswith(WORDS)


class SaidSeen(NamedTuple):
    """What was said back when a handover was taken, and at which try it was right."""

    question: str
    answer: str
    tries: int


class HandoverSeen(NamedTuple):
    """A handover that was given, who took it when and how, and what they said back."""

    n: int
    text: str
    at: Instant
    who: str
    taken: Instant | None
    taken_by: str | None
    how: str | None
    said: tuple[SaidSeen, ...] = ()
    gist: tuple[tuple[str, str], ...] = ()
    """What its page says first by section; none for one from before the record kept that."""


class Given(NamedTuple):
    """That a handover was given, when and by whom."""

    n: int
    at: Instant
    who: str


class Untaken(NamedTuple):
    """A handover that nobody took before the next one was given (`then`, its entry)."""

    n: int
    at: Instant
    who: str
    then: int


class HandoverWords(NamedTuple):
    """A person's own words for a handover; `part` is a section, or what else they are."""

    n: int
    part: str
    text: str
    at: Instant
    who: str


class HandoverQuestions(Questions):
    """Handovers given and taken, and people's own words on them."""

    @reads_record
    def last(self) -> HandoverSeen | None:
        """The newest handover given, None before the first."""
        row = self.db.execute(
            f"""SELECT h.entry, h.text, e.observed_at, e.utc_offset, w.initials
                FROM handover h INDEXED BY handover_given CROSS JOIN entry e ON e.n = h.entry
                CROSS JOIN person w ON w.id = e.who
                WHERE h.given IS NULL AND h.event = 'give' AND {stands("h.entry")}
                ORDER BY h.entry DESC LIMIT 1"""
        ).fetchone()
        if row is None:
            return None
        n, text, at, offset, who = row
        gist = self.db.execute("SELECT section, text FROM handover_gist WHERE entry = ?", (n,))
        given = HandoverSeen(
            n, text, Instant(at, offset), who, None, None, None, (), tuple(gist.fetchall())
        )
        row = self.db.execute(
            f"""SELECT h.entry, h.how, e.observed_at, e.utc_offset, w.initials
                FROM handover h INDEXED BY handover_given CROSS JOIN entry e ON e.n = h.entry
                CROSS JOIN person w ON w.id = e.who
                WHERE h.given = ? AND h.event = 'take' AND {stands("h.entry")}
                ORDER BY h.entry LIMIT 1""",
            (n,),
        ).fetchone()
        if row is None:
            return given
        taking, how, at, offset, who = row
        said = self.db.execute(
            "SELECT question, answer, tries FROM said_back WHERE entry = ? ORDER BY question",
            (taking,),
        )
        said_back = tuple(SaidSeen(*one) for one in said)
        return given._replace(taken=Instant(at, offset), taken_by=who, how=how, said=said_back)

    @reads_record
    def last_taken(self, before: int = NO_LIMIT) -> int:
        """The newest handover given before entry `before` that was taken; 0 before the first."""
        row = self.db.execute(
            f"""SELECT h.given FROM handover h INDEXED BY handover_given
                WHERE h.given < ? AND h.event = 'take' AND {stands("h.entry")}
                ORDER BY h.given DESC LIMIT 1""",
            (before,),
        ).fetchone()
        return 0 if row is None else int(row[0])

    @reads_record
    def never_taken(self, since: int) -> list[Untaken]:
        """Handovers given since a UTC second that another one followed before anybody took them."""
        newest_first = self.db.execute(
            f"""SELECT h.entry, w.initials, e.observed_at, e.late_s, e.utc_offset,
                  EXISTS (SELECT 1 FROM handover t INDEXED BY handover_given
                    WHERE t.given = h.entry AND t.event = 'take' AND {stands("t.entry")})
                FROM handover h INDEXED BY handover_given CROSS JOIN entry e ON e.n = h.entry
                CROSS JOIN person w ON w.id = e.who
                WHERE h.given IS NULL AND h.event = 'give' AND {stands("h.entry")}
                ORDER BY h.entry DESC"""
        )
        given = [*back_to(newest_first, since, 2)][::-1]
        return [
            Untaken(n, Instant(at, offset), who, after[0])
            for (n, who, at, _, offset, taken), after in pairwise(given)
            if not taken
        ]

    @reads_record
    def given(self, since: int) -> list[Given]:
        """Handovers given since a UTC second, oldest first."""
        newest_first = self.db.execute(
            f"""SELECT h.entry, w.initials, e.observed_at, e.late_s, e.utc_offset
                FROM handover h INDEXED BY handover_given CROSS JOIN entry e ON e.n = h.entry
                CROSS JOIN person w ON w.id = e.who
                WHERE h.given IS NULL AND h.event = 'give' AND {stands("h.entry")}
                ORDER BY h.entry DESC"""
        )
        found = back_to(newest_first, since, 2)
        return [Given(n, Instant(at, offset), who) for n, who, at, _, offset in found][::-1]

    @reads_record
    def words(self, after: int) -> list[HandoverWords]:
        """Words for handovers entered after entry `after` that stand, oldest first."""
        sql = f"""
          SELECT e.n, substr(e.reason, {len(WORDS) + 1}), t.text, e.observed_at, e.utc_offset,
            w.initials
          FROM entry e INDEXED BY handover_words CROSS JOIN note t ON t.entry = e.n
          CROSS JOIN person w ON w.id = e.who
          WHERE e.n > ? AND e.reason GLOB '{WORDS}*' AND {stands("e.n")} ORDER BY e.n"""
        return [
            HandoverWords(n, part, words, Instant(at, offset), who)
            for n, part, words, at, offset, who in self.db.execute(sql, (after,))
        ]
