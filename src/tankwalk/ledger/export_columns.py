"""What a column of an exported table holds, and the columns that every entry has."""

from __future__ import annotations

from enum import Enum

from tankwalk.rows import NamedTuple


class As(Enum):
    """What a value from the record is, and so how it is written."""

    WHOLE = "whole number"
    NUMBER = "number"
    WORDS = "words of a person, or codes"
    YES_NO = "0 or 1"
    MOMENT = "UTC second, at the wall clock's offset of the entry"
    PLACE = "number of a place"
    ITEM = "number of an item"
    UNIT = "number of an item, for its unit"
    PERSON = "number of a person"
    METER = "number of a meter"
    FLAG = "level of a flag"
    # What follows is made of the entry, not read for itself.
    OBSERVED = "observed"
    DAY = "local day"
    RECORDED = "recorded"
    TYPIST = "who typed it in"
    STATUS = "status"
    NEXT = "the entry that corrects it"
    SOURCE = "where it comes from"
    SITE = "the site's name"
    PLAN_FILE = "file of a plan"


class Column(NamedTuple):
    """A column: its name, what SQL gives it, what that is, and what it says to a reader.

    `refers` is "table.column" of the package; `needed` whether it is never missing.
    """

    name: str
    sql: str
    kind: As
    says: str
    unit: str = ""
    one_of: tuple[str, ...] = ()
    refers: str = ""
    needed: bool = False


FLAGS = ("ok", "check", "watch", "act", "urgent")
STATUS = ("stands", "suspect", "amended", "withdrawn")
SOURCE = ("entered", "worked out", "transcribed")

ENTRY = Column("entry", "e.n", As.WHOLE, "number of the entry in the record", needed=True)
SITE = Column("site", "NULL", As.SITE, "name of the site in its plan")
PLACE = Column("place", "e.place", As.PLACE, "tank, loop or site", refers="places.place")
ITEM = Column("item", "e.item", As.ITEM, "code of the item")
UNIT = Column("unit", "e.item", As.UNIT, "unit of the item")
OBSERVED = Column(
    "observed", "NULL", As.OBSERVED, "when it was seen or done, ISO 8601 with offset", needed=True
)
DAY = Column("day", "NULL", As.DAY, "local day on which it was seen or done", needed=True)
RECORDED = Column(
    "recorded", "NULL", As.RECORDED, "when it was entered, ISO 8601 with offset", needed=True
)
LATE = Column("late_s", "e.late_s", As.WHOLE, "entered so long after it was seen", "s", needed=True)
WHO = Column(
    "who", "e.who", As.PERSON, "initials of the one who saw or did it", refers="people.person",
    needed=True,
)  # fmt: skip
TYPIST = Column("typist", "NULL", As.TYPIST, "initials of the one who typed it in from paper")
ROUND = Column("round", "e.round", As.WHOLE, "number of the round or look")
STATUS_OF = Column(
    "status", "NULL", As.STATUS,
    "stands; suspect: stands, but its meter failed its check, or it was worked out from such a "
    "reading; amended: corrected by another entry; withdrawn: taken back",
    one_of=STATUS, needed=True,
)  # fmt: skip
SUPERSEDES = Column("supersedes", "e.amends", As.WHOLE, "the entry that this one corrects")
NEXT = Column("superseded_by", "NULL", As.NEXT, "the entry that corrected this one or took it back")
REASON = Column("reason", "e.reason", As.WORDS, "the person's own words for it")
SOURCE_OF = Column(
    "source", "NULL", As.SOURCE,
    "entered by a person; worked out from other readings; transcribed from paper",
    one_of=SOURCE, needed=True,
)  # fmt: skip

HEAD = (ENTRY, PLACE)
SEEN = (OBSERVED, DAY, RECORDED, LATE, WHO, TYPIST, ROUND)
AMENDED = (SUPERSEDES, NEXT, REASON, SOURCE_OF)
TAIL = (*SEEN, STATUS_OF, *AMENDED)
"""What every table of entries ends with."""


class Table(NamedTuple):
    """A table of the package: what it is of, where its rows are, and its columns.

    `rows` is SQL from FROM on, with the entry as `e` and what it holds as `d`; rows come in the
    order of `order`, which begins with the entry and is unique. `place`, `item` and `at` are SQL
    for what a part of the record is chosen by.
    """

    name: str
    says: str
    rows: str
    columns: tuple[Column, ...]
    order: tuple[str, ...] = ("d.entry",)
    key: tuple[str, ...] = ("entry",)
    place: str = "(SELECT code FROM place WHERE id = e.place)"
    item: str = "(SELECT code FROM item WHERE id = e.item)"
    at: str = "e.observed_at"


def of(table: str, joined: str = "") -> str:
    """SQL for the rows of a table of the record, each with its entry."""
    return f"FROM {table} d CROSS JOIN entry e ON e.n = d.entry{joined}"


def whole(name: str, says: str, unit: str = "", sql: str = "") -> Column:
    """A column of whole numbers, named as in the record unless `sql` says otherwise."""
    return Column(name, sql or f"d.{name}", As.WHOLE, says, unit)


def number(name: str, says: str, unit: str = "", sql: str = "") -> Column:
    """A column of numbers."""
    return Column(name, sql or f"d.{name}", As.NUMBER, says, unit)


def words(name: str, says: str, sql: str = "", one_of: tuple[str, ...] = ()) -> Column:
    """A column of words or codes."""
    return Column(name, sql or f"d.{name}", As.WORDS, says, one_of=one_of)


def moment(name: str, says: str, sql: str = "") -> Column:
    """A column of moments."""
    return Column(name, sql or f"d.{name}", As.MOMENT, says)


def entry_in(name: str, table: str, says: str, sql: str = "") -> Column:
    """A column that names an entry of a table, which is exported whenever this one is."""
    return Column(name, sql or f"d.{name}", As.WHOLE, says, refers=f"{table}.entry", needed=True)
