"""Questions about words: all that people wrote, and what was judged, by the entry it stands in."""

from __future__ import annotations

from enum import Enum

from tankwalk.clock import Instant
from tankwalk.ledger.questions import Questions
from tankwalk.ledger.schema import KINDS
from tankwalk.ledger.sqlite_errors import reads_record
from tankwalk.rows import NamedTuple


class WordsIn(Enum):
    """What words stand in; the values are what an index of them keeps."""

    NOTE = "note"
    LINE = "handover line"
    HANDOVER = "handover"
    DONE = "done"
    CALL = "call"
    FOLLOW_UP = "follow-up"
    FLAG = "flag"
    REASON = "reason"
    BATCH = "batch"
    DOSE = "dose"
    MOVEMENT = "movement"
    IMPORT = "import"


class WordsSeen(NamedTuple):
    """Words of one entry: what they stand in, and what of it (the turn of a follow-up, an event).

    Also of an entry that was amended since: `SpineQuestions.amended` tells which.
    """

    n: int
    stands_in: WordsIn
    of: str
    place: str | None
    item: str | None
    text: str
    at: Instant
    who: str


_SOURCES = (
    (WordsIn.NOTE, "''", "d.text", "note", "note", "NOT coalesce(e.reason GLOB 'handover: *', 0)"),
    (WordsIn.LINE, "substr(e.reason, 11)", "d.text", "note", "note", "e.reason GLOB 'handover: *'"),
    (WordsIn.HANDOVER, "d.event", "d.text", "handover", "handover", "d.event = 'give'"),
    (WordsIn.DONE, "''", "d.text", "done", "done", "1"),
    (WordsIn.CALL, "''", "d.whom || ', ' || d.phone || coalesce(': ' || d.said, '')",
     "call", "call", "1"),
    (WordsIn.FOLLOW_UP, "d.what || ' ' || d.event",
     "d.text || coalesce(' (' || d.owner || ')', '')", "follow_up", "follow-up", "1"),
    (WordsIn.FLAG, "d.rule", "d.sentence", "judged", "", "1"),
    (WordsIn.BATCH, "d.event", "d.batch || coalesce(', ' || d.lot, '') || coalesce(': ' || d.text,"
     " '')", "batch", "batch", "1"),
    (WordsIn.DOSE, "''", "d.chemical || printf(', %g ', d.amount) || d.unit", "dose", "dose", "1"),
    (WordsIn.MOVEMENT, "d.what", "d.what || ' ' || d.fish || coalesce(', ' || d.method, '') ||"
     " coalesce(', ' || d.other_place, '')", "movement", "movement", "1"),
    (WordsIn.IMPORT, "''", "d.file || ', ' || d.kept || ' values of ' || d.source || "
     "printf(', %d not taken', d.refused)", "import_file", "import", "1"),
)  # fmt: skip
"""What words stand in; what of it, and the words, as SQL; the table `d` and the kind of entry it
belongs to ("" where of several); which rows of it."""

_HEAD = """SELECT e.n, '{kind}', {of}, (SELECT code FROM place WHERE id = e.place),
  (SELECT code FROM item WHERE id = e.item), {words}, e.observed_at, e.utc_offset,
  (SELECT initials FROM person WHERE id = e.who)"""

_REASONS = (
    _HEAD.format(
        kind=WordsIn.REASON.value, of="(SELECT name FROM kind WHERE id = e.kind)", words="e.reason"
    )
    # What follows from a correction by itself has no person's words.
    + f""" FROM entry e NOT INDEXED WHERE e.n > :after AND e.n <= :upto AND e.reason IS NOT NULL
  AND e.reason NOT GLOB 'handover: *' AND e.kind <> {KINDS["derived"]}"""
)

_DETAILS = tuple(
    _HEAD.format(kind=kind.value, of=of, words=words)
    # From the entries to their words: of the tables of words SQLite holds some for so small, by its
    # statistics of a record's first day, that it walked through them.
    + f""" FROM entry e NOT INDEXED CROSS JOIN {table} d ON d.entry = e.n
  WHERE e.n > :after AND e.n <= :upto AND {which}"""
    + (f" AND e.kind = {KINDS[entry]}" if entry else "")
    for kind, of, words, table, entry, which in _SOURCES
)


class WordQuestions(Questions):
    """All that people wrote."""

    @reads_record
    def between(self, after: int, upto: int) -> list[WordsSeen]:
        """The words of the entries after one up to another one, by number, amended or not."""
        asked = {"after": after, "upto": upto}
        rows = [row for sql in (*_DETAILS, _REASONS) for row in self.db.execute(sql, asked)]
        return [
            WordsSeen(n, WordsIn(kind), of or "", place, item, words, Instant(at, offset), who)
            for n, kind, of, place, item, words, at, offset, who in sorted(
                rows, key=lambda row: row[:2]
            )
            if words
        ]

    @reads_record
    def digest(self, n: int) -> str | None:
        """The digest of an entry in hex, which no other record has; None for no such entry."""
        row = self.db.execute("SELECT hex(digest) FROM entry WHERE n = ?", (n,)).fetchone()
        return None if row is None else str(row[0])
