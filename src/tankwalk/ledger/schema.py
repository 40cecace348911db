"""The tables of the record, the guards that keep them append-only, and the views of what holds now.

`entry` is the spine: one row for everything that was ever recorded. Each kind of entry has one
narrow table of its own, keyed by `entry.n`. Small dictionaries (place, item, person, instrument,
band) give names their numbers once and for all. Nothing is updated or deleted: a correction is a
new entry whose `amends` names the old one.
"""

from __future__ import annotations

from collections.abc import Container, Iterable

APPLICATION_ID = 0x746B776B  # "tkwk"
VERSION = 10

KINDS: dict[str, int] = {
    "reading": 1,
    "round": 2,
    "note": 3,
    "void": 4,
    "plan": 5,
    "movement": 6,
    "meal": 7,
    "sample": 8,
    "batch": 9,
    "calibration": 10,
    "dose": 11,
    "follow-up": 12,
    "handover": 13,
    "derived": 14,
    "flag": 15,
    "suspect": 16,
    "done": 17,
    "call": 18,
    "look": 19,
    "sampling": 20,
    "fish": 21,
    "sheet": 22,
    "import": 23,
}
"""Number of each kind of entry, as kept in `entry.kind` and named by the table `kind`."""

TABLES = """
CREATE TABLE kind (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE) STRICT;
CREATE TABLE station (id INTEGER PRIMARY KEY, key TEXT NOT NULL UNIQUE, name TEXT NOT NULL) STRICT;
CREATE TABLE place (
  id INTEGER PRIMARY KEY, code TEXT NOT NULL UNIQUE CHECK (length(code) > 0)) STRICT;
CREATE TABLE item (
  id INTEGER PRIMARY KEY, code TEXT NOT NULL, unit TEXT NOT NULL, UNIQUE (code, unit)) STRICT;
CREATE TABLE person (id INTEGER PRIMARY KEY, initials TEXT NOT NULL UNIQUE) STRICT;
CREATE TABLE instrument (id INTEGER PRIMARY KEY, code TEXT NOT NULL UNIQUE) STRICT;
CREATE TABLE band (id INTEGER PRIMARY KEY, limits TEXT NOT NULL UNIQUE) STRICT;

CREATE TABLE entry (
  n INTEGER PRIMARY KEY,
  station INTEGER NOT NULL REFERENCES station (id),
  local INTEGER NOT NULL CHECK (local > 0),           -- station + local: unique everywhere
  observed_at INTEGER NOT NULL,                       -- UTC seconds
  late_s INTEGER NOT NULL CHECK (late_s >= 0),        -- recorded this many seconds after
  utc_offset INTEGER NOT NULL CHECK (utc_offset BETWEEN -1080 AND 1080), -- wall clock, minutes
  who INTEGER NOT NULL REFERENCES person (id),
  kind INTEGER NOT NULL REFERENCES kind (id),
  round INTEGER,
  place INTEGER REFERENCES place (id),
  item INTEGER REFERENCES item (id),
  amends INTEGER REFERENCES entry (n) CHECK (amends < n),
  reason TEXT,
  digest BLOB NOT NULL CHECK (length(digest) = 32)
) STRICT;
CREATE INDEX amended ON entry (amends) WHERE amends IS NOT NULL;

-- `typed` is NULL where it is just the value as the program would write it (see readings.typed).
CREATE TABLE reading (
  place INTEGER NOT NULL REFERENCES place (id),
  item INTEGER NOT NULL REFERENCES item (id),
  observed_at INTEGER NOT NULL,
  entry INTEGER NOT NULL REFERENCES entry (n),
  value REAL,
  typed TEXT,
  typed_unit TEXT,
  qualifier TEXT CHECK (qualifier IN
    ('<', 'not due', 'not looked', 'could not', 'no fish', 'unsafe')),
  instrument INTEGER REFERENCES instrument (id),
  band INTEGER REFERENCES band (id),
  flag INTEGER NOT NULL CHECK (flag BETWEEN 0 AND 4),
  recheck INTEGER NOT NULL CHECK (recheck IN (0, 1)),
  PRIMARY KEY (place, item, observed_at, entry),
  CHECK ((value IS NULL) = (qualifier IS NOT NULL AND qualifier <> '<'))
) STRICT, WITHOUT ROWID;

CREATE TABLE mort (
  entry INTEGER NOT NULL REFERENCES entry (n),
  cause TEXT NOT NULL, fish INTEGER NOT NULL CHECK (fish >= 0),
  PRIMARY KEY (entry, cause)) STRICT, WITHOUT ROWID;
CREATE TABLE round (
  entry INTEGER PRIMARY KEY REFERENCES entry (n), number INTEGER NOT NULL,
  checklist TEXT NOT NULL,
  event TEXT NOT NULL CHECK (event IN ('open', 'resume', 'sign')), meaning TEXT) STRICT;
CREATE TABLE note (entry INTEGER PRIMARY KEY REFERENCES entry (n), text TEXT NOT NULL) STRICT;
CREATE TABLE plan_version (
  entry INTEGER PRIMARY KEY REFERENCES entry (n), digest TEXT NOT NULL, text TEXT NOT NULL) STRICT;
CREATE TABLE movement (
  entry INTEGER PRIMARY KEY REFERENCES entry (n),
  what TEXT NOT NULL CHECK (what IN ('stocked', 'moved in', 'moved out', 'culled', 'sampled',
    'escaped', 'census')),
  fish INTEGER NOT NULL CHECK (fish >= 0), plus_minus REAL, method TEXT, other_place TEXT) STRICT;
CREATE TABLE meal (
  entry INTEGER PRIMARY KEY REFERENCES entry (n), feed TEXT NOT NULL, amount REAL NOT NULL,
  unit TEXT NOT NULL, planned REAL, left_over INTEGER, event TEXT) STRICT;
CREATE TABLE sample (
  entry INTEGER PRIMARY KEY REFERENCES entry (n), what TEXT NOT NULL,
  looked_at INTEGER NOT NULL CHECK (looked_at > 0), with_it INTEGER, mean REAL, sd REAL,
  unit TEXT) STRICT;
CREATE TABLE batch (
  entry INTEGER PRIMARY KEY REFERENCES entry (n), batch TEXT NOT NULL, event TEXT NOT NULL,
  lot TEXT, grams REAL, litres REAL, temperature REAL, ph REAL, salinity REAL, per_ml REAL,
  hatch_percent REAL, due_at INTEGER, text TEXT) STRICT;
CREATE TABLE calibration (
  entry INTEGER PRIMARY KEY REFERENCES entry (n), instrument TEXT NOT NULL,
  what TEXT NOT NULL, reference REAL, as_found REAL, as_left REAL, unit TEXT,
  passed INTEGER NOT NULL CHECK (passed IN (0, 1))) STRICT;
CREATE TABLE dose (
  entry INTEGER PRIMARY KEY REFERENCES entry (n), chemical TEXT NOT NULL, amount REAL NOT NULL,
  unit TEXT NOT NULL, volume_l REAL, expected REAL, expected_unit TEXT) STRICT;
CREATE TABLE follow_up (
  entry INTEGER PRIMARY KEY REFERENCES entry (n),
  opened INTEGER REFERENCES entry (n),                -- the entry that opened it; NULL in itself
  what TEXT NOT NULL CHECK (what IN ('action', 'altered')),
  event TEXT NOT NULL CHECK (event IN ('open', 'done', 'close', 'drop', 'reopen')),
  text TEXT NOT NULL, owner TEXT, due_at INTEGER) STRICT;
CREATE TABLE handover (
  entry INTEGER PRIMARY KEY REFERENCES entry (n),
  given INTEGER REFERENCES entry (n),                 -- the entry that gave it; NULL in itself
  event TEXT NOT NULL CHECK (event IN ('give', 'take')), text TEXT NOT NULL, how TEXT) STRICT;
"""

DERIVED_TABLES = """
CREATE TABLE working (
  id INTEGER PRIMARY KEY, calculator TEXT NOT NULL, equation TEXT NOT NULL,
  facts TEXT NOT NULL, UNIQUE (calculator, equation, facts)) STRICT;
CREATE TABLE derived (
  entry INTEGER PRIMARY KEY REFERENCES entry (n),
  working INTEGER NOT NULL REFERENCES working (id)) STRICT;
CREATE TABLE part (
  entry INTEGER NOT NULL REFERENCES entry (n), input TEXT NOT NULL,
  of INTEGER NOT NULL REFERENCES entry (n), PRIMARY KEY (entry, input)) STRICT, WITHOUT ROWID;
CREATE INDEX part_of ON part (of);
"""
"""Version 2: readings that were worked out, the readings they came from, and by which equation."""

JUDGED_TABLES = """
CREATE INDEX flagged ON reading (observed_at) WHERE flag >= 2;
CREATE TABLE judged (
  entry INTEGER PRIMARY KEY REFERENCES entry (n),
  rule TEXT NOT NULL, sentence TEXT NOT NULL) STRICT;  -- why a reading was flagged
CREATE TABLE flag_event (
  entry INTEGER PRIMARY KEY REFERENCES entry (n),      -- whose place and item name the flag
  event TEXT NOT NULL CHECK (event IN ('close', 'shelve', 'return')),
  instrument TEXT,                                     -- of a flag that names a meter
  until_at INTEGER) STRICT;
CREATE TABLE suspect (
  entry INTEGER PRIMARY KEY REFERENCES entry (n), instrument TEXT NOT NULL,
  since_at INTEGER NOT NULL, until_at INTEGER NOT NULL,
  CHECK (since_at <= until_at)) STRICT;
CREATE TABLE closing (
  entry INTEGER PRIMARY KEY REFERENCES entry (n),      -- the follow-up that was opened
  rule TEXT NOT NULL CHECK (rule IN
    ('task', 'meter', 'safety', 'health', 'treatment', 'deviation')),
  about TEXT) STRICT;                                  -- what it was drafted from
CREATE TABLE said_back (
  entry INTEGER NOT NULL REFERENCES entry (n), question TEXT NOT NULL, answer TEXT NOT NULL,
  tries INTEGER NOT NULL CHECK (tries > 0), PRIMARY KEY (entry, question)) STRICT, WITHOUT ROWID;
"""
"""Version 3: why a reading was flagged, what people did about a flag, readings of a meter that
failed its check, who may close a follow-up, and what was said back at a handover."""

GIST_TABLE = """
CREATE TABLE handover_gist (
  entry INTEGER NOT NULL REFERENCES entry (n), section TEXT NOT NULL, text TEXT NOT NULL,
  PRIMARY KEY (entry, section)) STRICT, WITHOUT ROWID;
"""
"""Version 4: what a handover's page says first, by section, told to whom comes after days."""

SEEKING = """
CREATE INDEX round_number ON round (number);
CREATE INDEX turn_of ON follow_up (opened) WHERE opened IS NOT NULL;
CREATE INDEX drafted_from ON closing (about) WHERE about IS NOT NULL;
CREATE INDEX handover_given ON handover (given);        -- NULL: it was given, else taken
CREATE INDEX handover_words ON entry (n) WHERE reason GLOB 'handover: *';
CREATE INDEX moved ON entry (place, observed_at) WHERE kind = 6;
CREATE INDEX checked ON calibration (instrument);
CREATE INDEX suspect_until ON suspect (until_at);
CREATE INDEX shelved_until ON flag_event (until_at) WHERE until_at IS NOT NULL;
CREATE INDEX dosed ON dose (chemical);
CREATE TABLE carried (opened INTEGER PRIMARY KEY REFERENCES entry (n)) STRICT;
"""
"""Version 4: what lets a question seek, however old the record. Nothing that was recorded is here.

`carried` is an index that SQLite cannot keep by itself: the follow-ups that may still be open.
Triggers keep it (see `KEEPERS`), `CARRY` fills it anew, and it may hold a few that are not open.
"""

KEEPERS = {
    "carry_opened": (
        "AFTER INSERT ON follow_up WHEN NEW.opened IS NULL BEGIN "
        "INSERT OR IGNORE INTO carried VALUES (NEW.entry); END"
    ),
    "carry_reopened": (
        "AFTER INSERT ON follow_up WHEN NEW.opened IS NOT NULL AND NEW.event = 'reopen' BEGIN "
        "INSERT OR IGNORE INTO carried VALUES (NEW.opened); END"
    ),
    "carry_no_more": (
        "AFTER INSERT ON follow_up WHEN NEW.event IN ('close', 'drop') BEGIN "
        "DELETE FROM carried WHERE opened = NEW.opened; END"
    ),
    "carry_again": (  # what ended it was corrected or taken back
        "AFTER INSERT ON entry WHEN NEW.amends IS NOT NULL BEGIN "
        "INSERT OR IGNORE INTO carried SELECT f.opened FROM follow_up f "
        "WHERE f.entry = NEW.amends AND f.opened IS NOT NULL; END"
    ),
}
"""Triggers that keep `carried`, made with the guards."""

NOT_CARRIED = """
SELECT o.entry FROM follow_up o WHERE o.opened IS NULL
AND o.entry NOT IN (SELECT opened FROM carried)
AND NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = o.entry)
AND NOT EXISTS (SELECT 1 FROM follow_up e WHERE e.opened = o.entry
  AND e.event IN ('close', 'drop') AND NOT EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.entry)
  AND NOT EXISTS (SELECT 1 FROM follow_up r WHERE r.opened = o.entry AND r.event = 'reopen'
    AND r.entry > e.entry))
"""
"""Follow-ups that may be open and that `carried` lacks: none, unless somebody took them out."""

CARRY = f"INSERT INTO carried {NOT_CARRIED}"

DICTIONARIES = {
    "kind": "name = NEW.name",
    "station": "key = NEW.key",
    "place": "code = NEW.code",
    "item": "code = NEW.code AND unit = NEW.unit",
    "person": "initials = NEW.initials",
    "instrument": "code = NEW.code",
    "band": "limits = NEW.limits",
    "working": ("calculator = NEW.calculator AND equation = NEW.equation AND facts = NEW.facts"),
}
"""Tables that give names their numbers, and what makes a name "already there"."""

KEYED = (
    "round note plan_version movement meal sample batch calibration dose follow_up handover "
    "derived judged flag_event suspect closing done call look served batch_of sitting fish "
    "found transcribed sheet_stop second_entry import_file"
).split()
GUARDED: dict[str, str] = {
    **{table: f"id = NEW.id OR {same}" for table, same in DICTIONARIES.items()},
    "entry": "n = NEW.n",
    "reading": (
        "place = NEW.place AND item = NEW.item"
        " AND observed_at = NEW.observed_at AND entry = NEW.entry"
    ),
    "mort": "entry = NEW.entry AND cause = NEW.cause",
    "part": "entry = NEW.entry AND input = NEW.input",
    "said_back": "entry = NEW.entry AND question = NEW.question",
    "handover_gist": "entry = NEW.entry AND section = NEW.section",
    "poured": "entry = NEW.entry AND batch = NEW.batch",
    "counted": "entry = NEW.entry AND what = NEW.what",
    "series": "entry = NEW.entry AND nth = NEW.nth",
    "bundle": "id = NEW.id OR entry = NEW.entry AND nth = NEW.nth",
    "imported": "bundle = NEW.bundle AND at = NEW.at",
    **dict.fromkeys(KEYED, "entry = NEW.entry"),
}
"""Every table, and what makes a row "already there" for the guard against INSERT OR REPLACE."""

STANDS = {"imported": "EXISTS (SELECT 1 FROM bundle WHERE id = {row}.bundle)"}
"""Tables whose rows are guarded once they stand, and when that is: what was put down before an
import ended belongs to nothing, and may be taken away. What stands is not added to either."""


def guards(there: Container[str] | None = None) -> list[str]:
    """Statements that (re)make the guards; they must run after every migration, which drops them.

    `there` are the tables of a record of an older version, None where it has all.

    REPLACE goes round a DELETE trigger where recursive_triggers is off, as it is in most SQLite
    tools, so a row that is already there is refused before the insert too.
    """
    made = []
    for table, same in GUARDED.items():
        if there is not None and table not in there:
            continue
        refuse = f"SELECT RAISE(ABORT, 'the record is append-only: {table}')"
        exists, gone = f"EXISTS (SELECT 1 FROM {table} WHERE {same})", ""
        if table in STANDS:
            exists += f" OR {STANDS[table].format(row='NEW')}"
            gone = f"WHEN {STANDS[table].format(row='OLD')} "
        for name, when in (
            (f"guard_{table}_update", f"UPDATE ON {table} "),
            (f"guard_{table}_delete", f"DELETE ON {table} {gone}"),
            (f"guard_{table}_replace", f"INSERT ON {table} WHEN {exists} "),
        ):
            made.append(f"DROP TRIGGER IF EXISTS {name}")
            made.append(f"CREATE TRIGGER {name} BEFORE {when}BEGIN {refuse}; END")
    for name, body in KEEPERS.items():
        if there is not None and "carried" not in there:
            continue
        made.append(f"DROP TRIGGER IF EXISTS {name}")
        made.append(f"CREATE TRIGGER {name} {body}")
    return made


def unguarded(triggers: Iterable[tuple[str, str]]) -> str:
    """The first trigger, by name, that is missing, not as it was made, or nobody's; "" if none.

    `triggers` are those of a record of this version, by name and statement.
    """
    return min((name for name, _ in {*triggers} ^ {*by_name().items()}), default="")


def by_name() -> dict[str, str]:
    """The statement that makes each guard, by its name."""
    return {sql.split(" ", 3)[2]: sql for sql in guards() if sql.startswith("CREATE")}


VIEWS = """
CREATE VIEW entries AS
SELECT e.n, s.name AS station, e.local, k.name AS kind,
  datetime(e.observed_at + e.utc_offset * 60, 'unixepoch') AS observed_local,
  datetime(e.observed_at, 'unixepoch') AS observed_utc,
  datetime(e.observed_at + e.late_s, 'unixepoch') AS recorded_utc,
  e.utc_offset, p.initials AS who, e.round, pl.code AS place, i.code AS item, i.unit AS unit,
  e.amends, e.reason,
  EXISTS (SELECT 1 FROM entry a WHERE a.amends = e.n) AS amended
FROM entry e JOIN kind k ON k.id = e.kind JOIN station s ON s.id = e.station
JOIN person p ON p.id = e.who LEFT JOIN place pl ON pl.id = e.place
LEFT JOIN item i ON i.id = e.item;

CREATE VIEW readings_ever AS
SELECT e.n, e.observed_local, e.observed_utc, e.recorded_utc, e.who, e.round, e.place, e.item,
  r.value, e.unit, coalesce(r.typed, printf('%.10g', r.value)) AS typed, r.typed_unit,
  r.qualifier, m.code AS instrument, b.limits AS band,
  CASE r.flag WHEN 0 THEN 'ok' WHEN 1 THEN 'check' WHEN 2 THEN 'watch' WHEN 3 THEN 'act'
    ELSE 'urgent' END AS flag,
  r.recheck, e.amends, e.amended, e.reason
FROM reading r JOIN entries e ON e.n = r.entry LEFT JOIN instrument m ON m.id = r.instrument
LEFT JOIN band b ON b.id = r.band;

CREATE VIEW readings AS SELECT * FROM readings_ever WHERE amended = 0;

CREATE VIEW notes AS
SELECT e.n, e.observed_local, e.observed_utc, e.who, e.place, e.item, e.round, t.text
FROM note t JOIN entries e ON e.n = t.entry WHERE e.amended = 0;

CREATE VIEW follow_ups AS
SELECT coalesce(f.opened, f.entry) AS opened, f.entry, f.what, f.event, f.text, f.owner, f.due_at,
  e.observed_at, e.utc_offset, p.initials AS who, pl.code AS place
FROM follow_up f JOIN entry e ON e.n = f.entry JOIN person p ON p.id = e.who
LEFT JOIN place pl ON pl.id = e.place;
"""

JUDGED_VIEWS = """
CREATE VIEW suspects AS
SELECT s.entry, s.instrument, e.place, e.item, s.since_at, s.until_at, e.who, e.reason
FROM suspect s JOIN entries e ON e.n = s.entry WHERE e.amended = 0;

CREATE VIEW readings_judged AS
SELECT r.*, j.rule, j.sentence,
  EXISTS (SELECT 1 FROM suspects s WHERE s.instrument = r.instrument AND s.item = r.item
    AND CAST(strftime('%s', r.observed_utc) AS INTEGER) BETWEEN s.since_at AND s.until_at)
    AS suspect
FROM readings r LEFT JOIN judged j ON j.entry = r.n;
"""
"""Version 3: every reading that stands, why it was flagged, and whether its meter is suspect."""

DERIVED_VIEWS = """
CREATE VIEW derived_readings AS
SELECT r.*, w.calculator, w.equation, w.facts,
  (SELECT group_concat(p.input || ' = entry ' || p.of, ', ') FROM part p WHERE p.entry = r.n)
    AS parts
FROM derived d JOIN readings r ON r.n = d.entry JOIN working w ON w.id = d.working;
"""


def statements(script: str) -> list[str]:
    """The single statements of one of the scripts above (which hold no ';' but as their end)."""
    lines = (line.split("--")[0] for line in script.splitlines())
    return [s.strip() for s in "\n".join(lines).split(";") if s.strip()]
