"""The index of words: a file beside the record and not of it, made from it and thrown away freely.

It lies in the laptop's own folder under the name of the record's first entry, so that the record
stays as it is, also where its folder may not be written. It is made anew whenever it does not fit:
another record, another version, a damaged file. What was amended is asked of the record each time.
"""

from __future__ import annotations

import json
import sqlite3
import unicodedata
from collections.abc import Iterator, Sequence
from contextlib import closing, suppress
from pathlib import Path
from typing import TYPE_CHECKING

from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.ledger.words import WordsIn, WordsSeen
from tankwalk.rows import NamedTuple

if TYPE_CHECKING:
    from tankwalk.ledger.reader import Reader

VERSION = 2
"""Another one for another table, another tokenizer, or other words taken from the record."""

PLAIN = 1000
"""What is added to the version where this SQLite has no FTS5."""

CHUNK = 20_000
"""Entries of the record read between two times that it is told how far it is."""

MOST_SOUGHT = 40
"""Words handed to FTS5, where those beyond are held against what it finds; and signs sought."""

TOKENS = "unicode61 remove_diacritics 2"


class Sought(NamedTuple):
    """One typed word: its letters begin a word of the text, or (`whole`) are all of one."""

    word: str
    whole: bool = False


class WordIndex:
    """The words of one record, up to its newest entry once `steps` was walked through."""

    def __init__(self, reader: Reader, folder: Path | None) -> None:
        self.reader = reader
        self.kept = True
        """Whether it is kept on the disk; else it is made anew each time the program runs."""
        self.plain = not _has_fts5()
        """Whether this SQLite has no FTS5, so that every text is looked through."""
        self._folder = folder
        self._db: sqlite3.Connection | None = None

    def close(self) -> None:
        if self._db is not None:
            self._db.close()
            self._db = None

    # ---- made, and brought up to date

    def steps(self) -> Iterator[float]:
        """Bring it up to date a part at a time; gives how much of it is done, 0 to 1.

        Refusal where another program holds it for long.
        """
        upto = self.reader.spine.last_number()
        if self._db is not None and not self._fits():  # another record, in the place of this one
            self._drop()
        try:
            if self._db is None:
                self._db = self._opened()
            begun = done = self._last()
            while done < upto:
                done = self._take(upto)
                yield (done - begun) / max(1, upto - begun)
        except sqlite3.Error as fault:
            if "locked" in str(fault):
                raise Refusal(
                    "Another program is reading the words of the record just now: ask again."
                ) from fault
            if not self.kept:
                raise Refusal(f"The words could not be read ({fault}).") from fault
            self._drop()  # damaged, or the disk is full: once more, and then in memory alone
            self._folder = None
            yield from self.steps()

    def _opened(self) -> sqlite3.Connection:
        """The file that fits this record, made where there is none; in memory where none can be."""
        first = self.reader.words.digest(1) or "empty"
        if self._folder is not None:
            file = self._folder / f"{first[:16].lower()}.sqlite"
            for _ in range(2):
                with suppress(OSError, sqlite3.Error):
                    return self._kept_in(file, first)
                with suppress(OSError):
                    file.unlink(missing_ok=True)
        self.kept = False
        return self._prepared(sqlite3.connect(":memory:", isolation_level=None), first)

    def _kept_in(self, file: Path, first: str) -> sqlite3.Connection:
        """The index in a file: as it is where it fits, else made anew in its place."""
        file.parent.mkdir(parents=True, exist_ok=True)
        there = file.exists()
        conn = sqlite3.connect(file, timeout=5, isolation_level=None)
        try:
            if there and not self._sound(conn, first):
                conn.close()
                file.unlink()
                conn = sqlite3.connect(file, timeout=5, isolation_level=None)
            return self._prepared(conn, first)
        except BaseException:
            conn.close()
            raise

    def _sound(self, conn: sqlite3.Connection, first: str) -> bool:
        """Whether an index that lies there is whole, of this version, and of this record."""
        if conn.execute("PRAGMA quick_check(1)").fetchone()[0] != "ok":
            return False
        version = conn.execute("PRAGMA user_version").fetchone()[0]
        if version == 0:  # begun by another program a moment ago, or left empty
            return bool(conn.execute("SELECT count(*) FROM sqlite_master").fetchone()[0] == 0)
        return version == self._version and self._is_of(conn, first)

    def _is_of(self, conn: sqlite3.Connection, first: str) -> bool:
        """Whether it was made from this record: its first entry, and the last one it has."""
        row = conn.execute("SELECT first, last, last_digest FROM made_from").fetchone()
        if row is None or row[0] != first:
            return False
        return bool(row[1] == 0 or self.reader.words.digest(row[1]) == row[2])

    def _fits(self) -> bool:
        """Whether the open index still is one of this record."""
        assert self._db is not None
        try:
            return self._is_of(self._db, self.reader.words.digest(1) or "empty")
        except sqlite3.Error:
            return False

    @property
    def _version(self) -> int:
        return VERSION + PLAIN * self.plain

    def _prepared(self, conn: sqlite3.Connection, first: str) -> sqlite3.Connection:
        """The index with its tables; those that are missing are made, together or not at all."""
        conn.create_function("holds", 2, _holds, deterministic=True)
        conn.execute("BEGIN IMMEDIATE")
        if conn.execute("PRAGMA user_version").fetchone()[0] != self._version:
            conn.execute(
                "CREATE TABLE word (id INTEGER PRIMARY KEY, n INTEGER, stands_in TEXT, of TEXT,"
                " place TEXT, item TEXT, text TEXT, at INTEGER, utc_offset INTEGER, who TEXT)"
            )
            conn.execute("CREATE TABLE made_from (first TEXT, last INTEGER, last_digest TEXT)")
            conn.execute("INSERT INTO made_from VALUES (?, 0, '')", (first,))
            conn.execute("COMMIT")
            if not self.plain:
                from sqlite_utils import Database  # a tenth of a second, and only here

                Database(conn).table("word").enable_fts(
                    ["place", "who", "text"], tokenize=TOKENS, create_triggers=True, replace=True
                )
            conn.execute(f"PRAGMA user_version = {self._version}")
        else:
            conn.execute("COMMIT")
        return conn

    def _last(self) -> int:
        """The newest entry whose words it has."""
        assert self._db is not None
        return int(self._db.execute("SELECT last FROM made_from").fetchone()[0])

    def _take(self, upto: int) -> int:
        """Take in the words of the next entries, at most up to one; returns how far it got.

        Another program may be at the same: each part is read and kept in one transaction.
        """
        assert self._db is not None
        conn = self._db
        conn.execute("BEGIN IMMEDIATE")
        try:
            after = self._last()
            end = min(upto, after + CHUNK)
            if end > after:
                conn.executemany(
                    "INSERT INTO word (n, stands_in, of, place, item, text, at, utc_offset, who)"
                    " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
                    (
                        (*one[:1], one.stands_in.value, *one[2:6], one.at.utc, one.at.offset,
                         one.who)
                        for one in self.reader.words.between(after, end)
                    ),
                )  # fmt: skip
                conn.execute(
                    "UPDATE made_from SET last = ?, last_digest = ?",
                    (end, self.reader.words.digest(end)),
                )
            conn.execute("COMMIT")
        except BaseException:
            if conn.in_transaction:
                conn.execute("ROLLBACK")
            raise
        return max(after, end)

    def _drop(self) -> None:
        """Throw it away; it is made anew when it is asked next."""
        file = None
        if self._db is not None:
            with suppress(sqlite3.Error):
                file = self._db.execute("PRAGMA database_list").fetchone()[2]
        self.close()
        if file:
            with suppress(OSError):
                Path(file).unlink(missing_ok=True)

    # ---- asked

    def search(
        self, sought: Sequence[Sought], since: int, most: int, *, handovers: bool = False
    ) -> list[WordsSeen]:
        """The newest texts that hold every word, by entry, the newest first.

        Of pages of handovers, or (else) of all the rest: a page repeats what stands elsewhere.
        Words are data: no sign in them asks for anything.
        """
        assert self._db is not None
        by_letters = [one for one in sought if _has_letters(one.word)]
        signs = [one.word for one in sought if not _has_letters(one.word)]
        first = [] if self.plain else by_letters[:MOST_SOUGHT]
        rest = by_letters[len(first) :]
        where = f"w.stands_in {'=' if handovers else '<>'} :page AND w.at >= :since"
        asked: dict[str, object] = {"page": WordsIn.HANDOVER.value, "since": since}
        if rest:
            where += " AND holds(coalesce(w.place, '') || ' ' || w.who || ' ' || w.text, :rest)"
            asked["rest"] = json.dumps([[_folded(one.word), one.whole] for one in rest])
        for n, sign in enumerate(signs[:MOST_SOUGHT]):
            where += f" AND instr(w.text, :sign{n}) > 0"
            asked[f"sign{n}"] = sign
        columns = ", ".join(f"w.{one}" for one in ("n", *_COLUMNS))
        sql = f"SELECT {columns} FROM word w"
        if first:
            sql += " JOIN word_fts f ON f.rowid = w.id"
            where += " AND word_fts MATCH :match"
            asked["match"] = " ".join(_phrase(one) for one in first)
        sql += f" WHERE {where} ORDER BY w.id DESC LIMIT {most}"
        with closing(self._db.execute(sql, asked)) as rows:
            return [
                WordsSeen(n, WordsIn(stands_in), of, place, item, text, Instant(at, offset), who)
                for n, stands_in, of, place, item, text, at, offset, who in rows
            ]


_COLUMNS = ("stands_in", "of", "place", "item", "text", "at", "utc_offset", "who")


def _phrase(one: Sought) -> str:
    """A word as FTS5 takes it without reading anything into it."""
    quoted = '"' + one.word.replace('"', '""') + '"'
    return quoted if one.whole else quoted + "*"


def _has_letters(word: str) -> bool:
    """Whether FTS5 sees anything in a word: a letter or a digit of any script."""
    return any(unicodedata.category(one)[0] in "LN" for one in word)


def _folded(words: str) -> str:
    """Words without case and accents, as they are compared."""
    apart = unicodedata.normalize("NFKD", words.casefold())
    return "".join(one for one in apart if not unicodedata.combining(one))


def _holds(words: str, sought: str) -> bool:
    """Whether a text holds each of these folded words: at a word's beginning, or a whole one."""
    text = _folded(words)
    return all(_in_text(text, word, whole) for word, whole in json.loads(sought))


def _in_text(text: str, word: str, whole: bool) -> bool:
    """Whether a folded word begins one of a folded text."""
    at = text.find(word)
    while at >= 0:
        end = at + len(word)
        begins = at == 0 or not text[at - 1].isalnum()
        if begins and not (whole and end < len(text) and text[end].isalnum()):
            return True
        at = text.find(word, at + 1)
    return False


def _has_fts5() -> bool:
    """Whether this SQLite was built with FTS5."""
    with closing(sqlite3.connect(":memory:")) as db:
        try:
            db.execute("CREATE VIRTUAL TABLE seen USING fts5(text)")
        except sqlite3.OperationalError:
            return False
    return True
