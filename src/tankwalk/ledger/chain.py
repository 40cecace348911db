"""The digest chain: what makes an altered entry show.

Every entry's SHA-256 covers the digest of the entry before it on its station and everything the
entry says, in names rather than dictionary numbers, so that renaming a tank in a dictionary shows
as well. References to other entries are hashed as station and local number, which stay true when
records of several stations are brought together.

A station's first entry chains to the station's name.

The chain cannot see that the newest entries of a station were cut off: `proof` says what can.
"""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Callable, Sequence

from tankwalk.clock import Instant
from tankwalk.errors import Refusal
from tankwalk.figures import number_text
from tankwalk.ledger import canonical
from tankwalk.ledger.canonical import DIGEST, FLAG, KIND, LOCAL, STATION, N, quoted
from tankwalk.ledger.entries import TABLE, Derived, Detail, Reading
from tankwalk.ledger.schema import KINDS, VERSION
from tankwalk.rows import NamedTuple
from tankwalk.sums import sha256

DETAIL_TABLES: dict[str, tuple[str, ...]] = {
    "reading": ("reading", "judged", "mort", "transcribed"),
    "round": ("round", "transcribed"),
    "note": ("note", "counted", "transcribed"),
    "void": ("transcribed",),
    "plan": ("plan_version",),
    "movement": ("movement", "counted"),
    "meal": ("meal", "served", "poured"),
    "sample": ("sample",),
    "batch": ("batch", "batch_of", "counted"),
    "calibration": ("calibration",),
    "dose": ("dose", "transcribed"),
    "follow-up": ("follow_up", "closing", "transcribed"),
    "handover": ("handover", "said_back", "handover_gist"),
    "derived": ("reading", "judged", "derived", "part", "transcribed"),
    "flag": ("flag_event", "found", "transcribed"),
    "suspect": ("suspect",),
    "done": ("done",),
    "call": ("call",),
    "look": ("look",),
    "sampling": ("sitting",),
    "fish": ("fish",),
    "sheet": ("sheet_stop", "second_entry"),
    "import": ("import_file", "series"),
}
"""Tables that may hold rows for an entry of each kind."""

_REAL = {d: {f for f, t in d.__annotations__.items() if "float" in str(t)} for d in TABLE}
"""Fields that SQLite gives back as a float, also where a whole number was handed in."""

_REFERENCES = ("opened", "given", "of", "flagged", "sitting")
"""Fields that hold the number of another entry."""

Said = tuple[object, ...]
"""What an entry says, in names: see `digest`."""


class Link(NamedTuple):
    """What is hashed of the spine: names and plain numbers, in this order."""

    station: str
    local: int
    observed_at: int
    late_s: int
    utc_offset: int
    who: str
    kind: str
    round: int | None
    place: str | None
    item: str | None
    unit: str | None
    amends: str | None
    reason: str | None


def said(detail: Detail, refs: Callable[[int], str]) -> Said:
    """A detail as hashed: its table, then its fields in order; entry numbers as station:local."""
    values: list[object] = list(detail)
    for i, name in enumerate(detail._fields):
        value = values[i]
        if value is None:
            continue
        if name in _REFERENCES and isinstance(value, int):
            values[i] = refs(value)
        elif name in _REAL[type(detail)] and isinstance(value, int | float):
            if not math.isfinite(value):
                raise Refusal(f"{value} is no number to keep: nothing was kept. Type it again.")
            values[i] = value + 0.0  # a float; and SQLite gives -0.0 back as 0.0
        elif isinstance(value, bool):
            values[i] = int(value)
    return (TABLE[type(detail)], *values)


def first(station_name: object) -> bytes:
    """What the first entry of a station chains to; a damaged file may hold a name that is none."""
    return sha256(str(station_name).encode("utf-8", "surrogatepass")).digest()


def digest(before: bytes, link: Sequence[object], details: list[Said]) -> bytes:
    """SHA-256 over the digest before and the canonical JSON of what the entry says.

    `link` is a Link, or its values in their order.
    """
    body = canonical.encoded([*link, *details])
    return sha256(before + body.encode("utf-8", "surrogatepass")).digest()


class Damage(NamedTuple):
    """The first thing found wrong with the record, in a sentence."""

    sentence: str
    entry: int | None = None


_WORKING = "SELECT calculator, equation, facts FROM working WHERE id = ?"
_REFERENCE = (
    "SELECT s.key || ':' || x.local FROM entry x JOIN station s ON s.id = x.station WHERE x.n = ?"
)

_ENTRIES = f"""
SELECT {", ".join(f"e.{column}" for column in canonical.SPINE)},
  {", ".join(f"r.{column}" for column in canonical.READING)}
FROM entry e LEFT JOIN reading r ON r.place = e.place AND r.item = e.item
  AND r.observed_at = e.observed_at AND r.entry = e.n
WHERE e.n >= ? ORDER BY e.n LIMIT ?
"""
"""Entries, each with its reading: asking for each reading by itself takes twice as long."""

_IN_ORDER_OF = {
    "mort": "cause", "part": "input", "said_back": "question", "handover_gist": "section",
    "poured": "batch", "counted": "what",
    "series": "nth",
}  # fmt: skip
"""Column that sets the order of rows, in tables that may hold several of one entry."""


def _names(db: sqlite3.Connection) -> canonical.Names:
    return canonical.Names(
        {n: (key, name) for n, key, name in db.execute("SELECT id, key, name FROM station")},
        dict(db.execute("SELECT id, initials FROM person")),
        dict(db.execute("SELECT id, name FROM kind")),
        dict(db.execute("SELECT id, coalesce(code, id) FROM place")),
        {n: (code, unit) for n, code, unit in
         db.execute("SELECT id, coalesce(code, id), unit FROM item")},
        dict(db.execute("SELECT id, coalesce(code, id) FROM instrument")),
        dict(db.execute("SELECT id, coalesce(limits, id) FROM band")),
    )  # fmt: skip


def _rows(detail: type[Detail]) -> str:
    """SQL for the rows of a stretch of entries: the table, the fields as kept, the entry.

    In order of entry, then of what tells the rows of one entry apart.
    """
    table = TABLE[detail]
    fields = ["working"] if detail is Derived else detail._fields
    by = f", {_IN_ORDER_OF[table]}" if table in _IN_ORDER_OF else ""
    return (
        f"SELECT '{table}', {', '.join(fields)}, entry FROM {table} "
        f"WHERE entry BETWEEN ? AND ? ORDER BY entry{by}"
    )


_STATEMENTS = {t: _rows(d) for d, t in TABLE.items() if d is not Reading}

_REFERRING = {
    TABLE[detail]: 1 + k
    for detail in TABLE
    for k, field in enumerate(detail._fields)
    if field in _REFERENCES
}
"""Where the row of a table has the number of another entry."""

_ORDER = sorted(
    dict.fromkeys(table for tables in DETAIL_TABLES.values() for table in tables),
    key=lambda table: (table == "transcribed", table == "counted"),  # the last of several kinds
)
"""All tables of details, those of one kind in the order in which they are hashed."""

_STRETCH = 5000
"""Entries that are read and checked together: a few MB."""

_WORKINGS = 2000
"""Workings that are held at once: each is as long as a page, and there may be many."""


class Record:
    """The record while it is walked: a stretch of entries with their details at a time."""

    def __init__(self, db: sqlite3.Connection) -> None:
        self.db = db
        self.names = names = _names(db)
        self.hashed = dict.fromkeys(_ORDER, 0)  # rows of each table that stand beside their entry
        self._pieces = canonical.pieces(names)
        self._workings: dict[object, str] = {}
        self._own = {table: self._referring for table in _REFERRING}
        self._own |= {"derived": self._derived, "part": self._part}  # of these there are many
        self._keys = {n: text[:-1] for n, text in self._pieces.stations.items()}
        self._start = 0
        self._entries: list[canonical.Row] = []
        there = _tables(db)
        self._tables = [table for table in _ORDER if table in _STATEMENTS and table in there]
        self._kinds = {
            table: {n for n, kind in names.kinds.items() if table in DETAIL_TABLES.get(kind, ())}
            for table in _ORDER
        }

    def stretch(self, start: int) -> tuple[list[canonical.Row], list[bytes | None]]:
        """The next entries from number `start` on, and what is hashed of each.

        None for an entry that holds anything unusual; see `said`.
        """
        self._entries = entries = self.db.execute(_ENTRIES, (start, _STRETCH)).fetchall()
        if not entries:
            return [], []
        self._start = entries[0][N]
        reads = self._kinds["reading"]
        beside: list[str | None] = [""] * len(entries)
        if entries[-1][N] - self._start == len(entries) - 1:  # none is missing between them
            for table in self._tables:
                self._add(table, beside)
            self.hashed["reading"] += sum(
                [entry[FLAG] is not None and entry[KIND] in reads for entry in entries]
            )
        return entries, canonical.bodies(self._pieces, entries, beside, reads, self._reference)

    def _add(self, table: str, beside: list[str | None]) -> None:
        """Put the JSON of each row of a table beside its entry of the stretch, and count it."""
        entries, start, kinds = self._entries, self._start, self._kinds[table]
        piece = self._own.get(table, self._other)
        added = 0
        for row in self.db.execute(_STATEMENTS[table], (start, entries[-1][N])):
            try:
                k = row[-1] - start
                if entries[k][KIND] not in kinds:
                    continue
            except TypeError:  # only a damaged file holds anything but a whole number
                continue
            added += 1
            try:
                beside[k] += piece(row)
            except TypeError:
                beside[k] = None
        self.hashed[table] += added

    def _other(self, row: canonical.Row) -> str:
        """The JSON of a row of any table, after a comma."""
        return f",{canonical.encoded(row[:-1])}"

    def _referring(self, row: canonical.Row) -> str:
        """The JSON of a row that may hold the number of another entry, after a comma."""
        return f",{canonical.encoded(self._detail(row))}"

    def _derived(self, row: canonical.Row) -> str:
        """The JSON of a working, after a comma; one is that of many entries."""
        piece = self._workings.get(row[1])
        if piece is None:
            piece = self._referring(row)
            if len(self._workings) == _WORKINGS:
                self._workings.clear()
            self._workings[row[1]] = piece
        return piece

    def _part(self, row: canonical.Row) -> str:
        """The JSON of a part, after a comma: nearly all are of the minutes before."""
        _, name, of, _ = row
        try:
            if of >= self._start:
                entry = self._entries[of - self._start]
                key = self._keys[entry[STATION]]
                return f',["part",{quoted(name)},{key}:{entry[LOCAL]}"]'
        except (KeyError, IndexError, TypeError):
            pass
        return self._referring(row)

    def _detail(self, row: canonical.Row) -> Said:
        """A row of a table of details as hashed."""
        table = row[0]
        if table == "derived":
            return (table, *(self.db.execute(_WORKING, (row[1],)).fetchone() or (None,) * 3))
        k = _REFERRING.get(table)
        if k is not None and row[k] is not None:
            return (*row[:k], self._reference(row[k]), *row[k + 1 : -1])
        return row[:-1]

    def _reference(self, n: object) -> object:
        """An entry as station:local. A number that names nothing stands for itself."""
        k = n - self._start if isinstance(n, int) else -1
        if 0 <= k < len(self._entries):  # most are of the minutes before
            found, station, local = self._entries[k][:3]
            if found == n and station in self.names.stations:
                return f"{self.names.stations[station][0]}:{local}"
        named = self.db.execute(_REFERENCE, (n,)).fetchone()
        return n if named is None or named[0] is None else named[0]

    def said(self, row: canonical.Row) -> tuple[Sequence[object], list[Said]]:
        """What an entry of the stretch says, all of it asked for by itself: see `digest`."""
        (
            n, station, local, observed_at, late_s, offset, who, kind, in_round, place, item,
            amends, reason, _, value, typed, unit, qualifier, meter, band, flag, recheck,
        ) = row  # fmt: skip
        stations, people, kinds, places, items, instruments, bands = self.names
        details: list[Said] = []
        for table in DETAIL_TABLES[kinds[kind]]:
            if table == "reading" and flag is not None:
                if typed is None and isinstance(value, float):
                    typed = number_text(value)  # as the append path left it out
                meter, band = instruments.get(meter, meter), bands.get(band, band)
                details.append((table, value, typed, unit, qualifier, meter, band, flag, recheck))
            elif table in self._tables:
                rows = self.db.execute(_STATEMENTS[table], (n, n))
                details += map(self._detail, rows)
        if amends is not None:
            amends = self._reference(amends)
        link = (stations[station][0], local, observed_at, late_s, offset, people[who], kinds[kind],
                in_round, places.get(place, place), *items.get(item, (item, None)), amends,
                reason)  # fmt: skip
        return link, details


def _tables(db: sqlite3.Connection) -> set[str]:
    """Tables of the record; one of an older version has not all of them yet."""
    return {name for (name,) in db.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")}


def verify(db: sqlite3.Connection, progress: Callable[[int], None] | None = None) -> Damage | None:
    """Walk the whole chain; the first damage found, or None when every digest holds.

    `progress` is called with the number of entries seen, every few thousand.
    """
    usual = db.text_factory
    # Readings lie by place and item and are walked by time: the newest page of each stays at hand.
    cache = db.execute("PRAGMA cache_size").fetchone()[0]
    db.execute("PRAGMA cache_size = -16000")
    began = not db.in_transaction
    if began:
        db.execute("BEGIN")  # names, entries and details of one moment
    try:
        try:
            return _walk(db, progress)
        except sqlite3.OperationalError:  # text that is not UTF-8, written by another hand
            db.text_factory = lambda raw: raw.decode("utf-8", "surrogateescape")
            return _walk(db, progress)
    finally:
        db.text_factory = usual
        if began and db.in_transaction:
            db.execute("ROLLBACK")
        db.execute(f"PRAGMA cache_size = {cache}")


def _walk(db: sqlite3.Connection, progress: Callable[[int], None] | None) -> Damage | None:
    from hashlib import sha256 as quick  # half the time, and a record has millions

    record = Record(db)
    stations = record.names.stations
    last = {number: (0, first(name)) for number, (_, name) in stations.items()}
    seen, start = 0, -(1 << 63)
    while (stretch := record.stretch(start))[0]:
        for row, body in zip(*stretch, strict=True):
            seen += 1
            station, local, kept = row[STATION], row[LOCAL], row[DIGEST]
            before_local, before = last.get(station, (0, b""))
            if (
                body is None
                or row[N] != seen
                or local != before_local + 1
                or quick(before + body).digest() != kept
            ):
                damage = _damage(record, row, seen, before_local, before)
                if damage is not None:
                    return damage
            last[station] = (local, kept)
        if progress and seen % _STRETCH == 0:
            progress(seen)
        start = seen + 1
    return _stray(db, record.hashed) or _imported(db)


def _damage(
    record: Record, row: canonical.Row, seen: int, before_local: int, before: bytes
) -> Damage | None:
    """What is wrong with an entry, the `seen`th of the file; None when its digest holds."""
    n, station, local, observed_at, _, offset, who, kind, _, place, item, _, _, kept = row[:14]
    names = record.names
    initials, kind = names.people.get(who), names.kinds.get(kind)
    if (
        names.stations.get(station, (None,))[0] is None
        or initials is None
        or kind not in DETAIL_TABLES
    ):
        return Damage(
            f"Entry {n} was altered: it names a station, person or kind that is not there.", n
        )
    altered = f"Entry {n} was altered, or entries before it were removed: it"
    if n != seen:
        return Damage(f"{altered} follows entry {seen - 1}.", n)
    if local != before_local + 1:
        return Damage(
            f"{altered} is number {local} of its station and follows number {before_local}.", n
        )
    if digest(before, *record.said(row)) == kept:
        return None
    when = _when(observed_at, offset)
    place, item = names.places.get(place, place), names.items.get(item, (item,))[0]
    what = " ".join(str(x) for x in (place, item or kind) if x)
    return Damage(f"Entry {n} was altered: {what}, {when}, entered by {initials}.", n)


def _stray(db: sqlite3.Connection, hashed: dict[str, int]) -> Damage | None:
    """A detail row that no entry of the right kind stands behind, or a kind of another name.

    `hashed` is how many rows of each table went into a digest: a table without more has no stray.
    """
    kinds: dict[str, list[str]] = {}
    for kind, tables in DETAIL_TABLES.items():
        for table in tables:
            kinds.setdefault(table, []).append(str(KINDS[kind]))
    there = _tables(db)
    for table, numbers in kinds.items():
        if table not in there:
            continue
        if db.execute(f"SELECT count(*) FROM {table}").fetchone()[0] == hashed[table]:
            continue
        same = "e.n = d.entry"
        if table == "reading":
            same += " AND e.place = d.place AND e.item = d.item"
            same += " AND e.observed_at = d.observed_at"
        found = db.execute(
            f"SELECT d.entry FROM {table} d LEFT JOIN entry e ON {same} "
            f"WHERE e.n IS NULL OR e.kind NOT IN ({', '.join(numbers)}) LIMIT 1"
        ).fetchone()
        if found:
            return Damage(f"A row of {table} was added by hand to entry {found[0]}.", found[0])
    kept = dict(db.execute("SELECT name, id FROM kind"))
    older = db.execute("PRAGMA user_version").fetchone()[0] < VERSION
    # A record of an older version has fewer kinds, none of another name or number.
    if not (kept.items() <= KINDS.items() if older else kept == KINDS):
        return Damage("The table that names the kinds of entry was altered.")
    return None


def _imported(db: sqlite3.Connection) -> Damage | None:
    """The first series that was imported and whose values are not those that were kept."""
    there = _tables(db)
    if "imported" not in there:
        return None
    from tankwalk.ledger.series_sums import altered

    n = altered(db, "bundle" in there)
    if n is None:
        return None
    return Damage(f"Entry {n} was altered: values of the file that it imported.", n)


def _when(observed_at: int, offset: int) -> str:
    try:
        return Instant(observed_at, offset).short()
    except (TypeError, ValueError, OverflowError, OSError):
        return f"at second {observed_at}"
