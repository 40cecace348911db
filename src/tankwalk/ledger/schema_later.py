"""The tables and views that versions 5 and later of the record added: see `schema`."""

from __future__ import annotations

INCIDENT_TABLES = """
CREATE TABLE done (
  entry INTEGER PRIMARY KEY REFERENCES entry (n),      -- whose place and item name the flag
  text TEXT NOT NULL, step INTEGER CHECK (step > 0),   -- which step of the item, if one of them
  flagged INTEGER REFERENCES entry (n)) STRICT;        -- the reading behind the flag
CREATE TABLE call (
  entry INTEGER PRIMARY KEY REFERENCES entry (n), whom TEXT NOT NULL, phone TEXT NOT NULL,
  reached INTEGER NOT NULL CHECK (reached IN (0, 1)), said TEXT) STRICT;
CREATE TABLE look (
  entry INTEGER PRIMARY KEY REFERENCES entry (n),      -- whose place is looked at
  number INTEGER NOT NULL,                             -- in the numbers of rounds
  event TEXT NOT NULL CHECK (event IN ('open', 'sign')),
  items TEXT NOT NULL) STRICT;
CREATE INDEX look_number ON look (number);
"""
"""Version 5: what was done about a flag, calls, and looks, which are small rounds of their own."""

INCIDENT_VIEWS = """
CREATE VIEW dones AS
SELECT e.n, e.observed_local, e.observed_utc, e.who, e.place, e.item, d.step, d.text, d.flagged
FROM done d JOIN entries e ON e.n = d.entry WHERE e.amended = 0;

CREATE VIEW calls AS
SELECT e.n, e.observed_local, e.observed_utc, e.who, e.place, e.item, c.whom, c.phone, c.reached,
  c.said
FROM call c JOIN entries e ON e.n = c.entry WHERE e.amended = 0;
"""

FEED_TABLES = """
CREATE TABLE served (
  entry INTEGER PRIMARY KEY REFERENCES entry (n),
  meal_at INTEGER NOT NULL) STRICT;                    -- UTC second of the planned meal
CREATE TABLE poured (
  entry INTEGER NOT NULL REFERENCES entry (n), batch TEXT NOT NULL CHECK (length(batch) > 0),
  ml REAL NOT NULL CHECK (ml > 0), per_ml REAL NOT NULL CHECK (per_ml >= 0),
  PRIMARY KEY (entry, batch)) STRICT, WITHOUT ROWID;
CREATE TABLE batch_of (
  entry INTEGER PRIMARY KEY REFERENCES entry (n),      -- the event that begins the batch
  kind TEXT NOT NULL CHECK (kind IN
    ('cone', 'shelled', 'rotifers', 'algae', 'cysts', 'feed')),
  source TEXT CHECK (length(source) > 0)) STRICT;
CREATE TABLE counted (
  entry INTEGER NOT NULL REFERENCES entry (n),
  what TEXT NOT NULL CHECK (what IN ('nauplii', 'rotifers', 'eggs', 'cells', 'larvae', 'cysts',
    'umbrella', 'embryos', 'fish')),
  ml REAL NOT NULL CHECK (ml > 0),                     -- of one sub-sample
  dilution REAL NOT NULL CHECK (dilution > 0),         -- how many times it was diluted
  counts TEXT NOT NULL CHECK (length(counts) > 0 AND counts NOT GLOB '*[^0-9 ]*'),
  PRIMARY KEY (entry, what)) STRICT, WITHOUT ROWID;
CREATE INDEX batch_named ON batch (batch);
CREATE INDEX poured_from ON poured (batch);
CREATE INDEX batches_of ON batch_of (kind);
"""
"""Version 6: the planned meal that feed belongs to, from which batch it was poured, what a batch is
and is made from, and sub-samples as they were counted."""

FEED_VIEWS = """
CREATE VIEW meals AS
SELECT e.n, e.observed_local, e.observed_utc, e.who, e.place, m.feed, m.amount, m.unit, m.planned,
  m.left_over, m.event,
  datetime(s.meal_at + e.utc_offset * 60, 'unixepoch') AS meal_local,
  (SELECT group_concat(printf('%g mL of %s at %g per mL', p.ml, p.batch, p.per_ml), ', ')
    FROM poured p WHERE p.entry = m.entry) AS poured
FROM meal m JOIN entries e ON e.n = m.entry LEFT JOIN served s ON s.entry = m.entry
WHERE e.amended = 0;

CREATE VIEW batches AS
SELECT e.n, e.observed_local, e.observed_utc, e.who, b.batch, b.event, o.kind, o.source, b.lot,
  b.grams, b.litres, b.temperature, b.ph, b.salinity, b.per_ml, b.hatch_percent,
  datetime(b.due_at, 'unixepoch') AS due_utc, b.text
FROM batch b JOIN entries e ON e.n = b.entry LEFT JOIN batch_of o ON o.entry = b.entry
WHERE e.amended = 0;

CREATE VIEW counts AS
SELECT e.n, e.observed_local, e.observed_utc, e.who, e.kind, e.place, b.batch, c.what, c.ml,
  c.dilution, c.counts
FROM counted c JOIN entries e ON e.n = c.entry LEFT JOIN batch b ON b.entry = c.entry
WHERE e.amended = 0;
"""

SAMPLE_TABLES = """
CREATE TABLE moved_fish (                             -- takes the name and the rows of movement
  entry INTEGER PRIMARY KEY REFERENCES entry (n),
  what TEXT NOT NULL CHECK (what IN ('stocked', 'moved in', 'moved out', 'culled', 'cannibals',
    'sampled', 'returned', 'escaped', 'dead', 'census')),
  fish INTEGER NOT NULL CHECK (fish >= 0), plus_minus REAL, method TEXT, other_place TEXT) STRICT;
INSERT INTO moved_fish SELECT entry, what, fish, plus_minus, method, other_place FROM movement;
DROP TABLE movement;
ALTER TABLE moved_fish RENAME TO movement;
CREATE TABLE sitting (
  entry INTEGER PRIMARY KEY REFERENCES entry (n),      -- whose place is the tank
  event TEXT NOT NULL CHECK (event IN ('open', 'end')),
  what TEXT NOT NULL CHECK (length(what) > 0),         -- codes with blanks between
  planned INTEGER NOT NULL CHECK (planned >= 0),       -- so many fish
  opened INTEGER REFERENCES entry (n),                 -- the entry that opened it; NULL in itself
  fate TEXT CHECK (fate IN ('returned', 'kept')),
  CHECK ((event = 'open') = (opened IS NULL))) STRICT;
CREATE TABLE fish (
  entry INTEGER PRIMARY KEY REFERENCES entry (n),
  sitting INTEGER NOT NULL REFERENCES entry (n),       -- the entry that opened the sitting
  nth INTEGER NOT NULL CHECK (nth > 0),
  length REAL CHECK (length > 0),                      -- mm
  mass REAL CHECK (mass > 0),                          -- mg
  bladder INTEGER CHECK (bladder >= 0), gut INTEGER CHECK (gut >= 0),
  deformed INTEGER CHECK (deformed >= 0), left_out TEXT) STRICT;
CREATE INDEX sitting_ended ON sitting (opened) WHERE opened IS NOT NULL;
CREATE INDEX fish_of ON fish (sitting);
CREATE INDEX feed_off ON meal (entry) WHERE event = 'feed on' OR event GLOB 'pause: feed off*';
"""
"""Version 7: more ways for fish to go (see `stock.What`), samples fish by fish, and a way to seek
what turned feed off and on."""

SAMPLE_VIEWS = """
CREATE VIEW movements AS
SELECT e.n, e.observed_local, e.observed_utc, e.who, e.place, m.what, m.fish, m.plus_minus,
  m.method, m.other_place, e.reason
FROM movement m JOIN entries e ON e.n = m.entry WHERE e.amended = 0;

CREATE VIEW sittings AS
SELECT e.n, e.observed_local, e.observed_utc, e.who, e.place, s.event, s.what, s.planned, s.opened,
  s.fate
FROM sitting s JOIN entries e ON e.n = s.entry WHERE e.amended = 0;

CREATE VIEW fish_seen AS
SELECT e.n, e.observed_local, e.observed_utc, e.who, e.place, f.sitting, f.nth,
  f.length AS length_mm, f.mass AS mass_mg, f.bladder, f.gut, f.deformed, f.left_out
FROM fish f JOIN entries e ON e.n = f.entry WHERE e.amended = 0;
"""

FOUND_TABLES = """
CREATE TABLE flag_turn (                              -- takes the name and the rows of flag_event
  entry INTEGER PRIMARY KEY REFERENCES entry (n),      -- whose place and item name the flag
  event TEXT NOT NULL CHECK (event IN ('close', 'shelve', 'return', 'raise', 'end')),
  instrument TEXT,                                     -- of a flag that names a meter
  until_at INTEGER) STRICT;
INSERT INTO flag_turn SELECT entry, event, instrument, until_at FROM flag_event;
DROP TABLE flag_event;
ALTER TABLE flag_turn RENAME TO flag_event;
CREATE INDEX shelved_until ON flag_event (until_at) WHERE until_at IS NOT NULL;
CREATE INDEX raised ON flag_event (entry) WHERE event IN ('raise', 'end');
CREATE TABLE found (
  entry INTEGER PRIMARY KEY REFERENCES entry (n),      -- an event of a flag of a whole round
  kind TEXT NOT NULL CHECK (length(kind) > 0),         -- what it is about: place, loop, meter, lot
  code TEXT NOT NULL CHECK (length(code) > 0),
  rule TEXT NOT NULL, level INTEGER NOT NULL CHECK (level BETWEEN 1 AND 4),
  sentence TEXT NOT NULL, response TEXT NOT NULL,      -- what is done first
  places TEXT NOT NULL) STRICT;                        -- codes with blanks between
"""
"""Version 8: flags that a whole round raised and ended, beside those that follow from a reading."""

FOUND_VIEWS = """
CREATE VIEW found_flags AS
SELECT e.n, e.observed_local, e.observed_utc, e.who, e.round, e.item, v.event, f.kind, f.code,
  f.rule, f.level, f.sentence, f.response, f.places, e.reason
FROM found f JOIN flag_event v ON v.entry = f.entry JOIN entries e ON e.n = f.entry
WHERE e.amended = 0;
"""

PAPER_TABLES = """
CREATE TABLE transcribed (
  entry INTEGER PRIMARY KEY REFERENCES entry (n),      -- typed in later from paper
  typist TEXT NOT NULL CHECK (length(typist) > 0)) STRICT;
CREATE TABLE sheet_stop (
  entry INTEGER PRIMARY KEY REFERENCES entry (n),      -- whose place is the stop
  number INTEGER NOT NULL,                             -- of the round
  stop TEXT NOT NULL CHECK (length(stop) > 0),         -- glance, site, loop, tank
  at INTEGER NOT NULL,                                 -- UTC second by the sheet
  walker TEXT NOT NULL CHECK (length(walker) > 0)) STRICT;
CREATE TABLE second_entry (
  entry INTEGER PRIMARY KEY REFERENCES entry (n),
  of INTEGER NOT NULL REFERENCES entry (n),            -- the reading that was typed a second time
  typed TEXT NOT NULL) STRICT;
CREATE INDEX sheet_of ON sheet_stop (number);
CREATE INDEX second_of ON second_entry (of);
"""
"""Version 9: a round typed in from paper: what of it, by whom, when it was walked by its sheet, and
which of its values were typed twice."""

PAPER_VIEWS = """
CREATE VIEW transcriptions AS
SELECT e.n, e.kind, e.observed_local, e.observed_utc, e.recorded_utc, e.who, t.typist, e.round,
  e.place, e.item
FROM transcribed t JOIN entries e ON e.n = t.entry WHERE e.amended = 0;
"""

IMPORT_TABLES = """
CREATE TABLE import_file (
  entry INTEGER PRIMARY KEY REFERENCES entry (n),
  source TEXT NOT NULL CHECK (length(source) > 0),     -- a logger, or what the old sheets are
  file TEXT NOT NULL, digest TEXT NOT NULL,            -- its name, and SHA-256 of its bytes
  head TEXT NOT NULL,                                  -- the words of its head, see `heads`
  understood TEXT NOT NULL,                            -- how it was read, as JSON
  kept INTEGER NOT NULL CHECK (kept >= 0),             -- values
  refused INTEGER NOT NULL CHECK (refused >= 0)) STRICT;
CREATE TABLE series (
  entry INTEGER NOT NULL REFERENCES entry (n), nth INTEGER NOT NULL CHECK (nth > 0),
  place TEXT NOT NULL, item TEXT NOT NULL, unit TEXT NOT NULL,
  kept INTEGER NOT NULL CHECK (kept >= 0), first_at INTEGER NOT NULL, last_at INTEGER NOT NULL,
  digest TEXT NOT NULL,                                -- SHA-256 of its rows, in order of time
  PRIMARY KEY (entry, nth)) STRICT, WITHOUT ROWID;
CREATE TABLE imported (
  entry INTEGER NOT NULL REFERENCES entry (n), nth INTEGER NOT NULL,  -- the series
  at INTEGER NOT NULL, value REAL NOT NULL,            -- UTC second; in the unit of the series
  below INTEGER NOT NULL CHECK (below IN (0, 1)),      -- the value is a detection limit
  line INTEGER NOT NULL,                               -- of the file
  typed TEXT,                                          -- the cell, NULL where it is the value
  PRIMARY KEY (entry, nth, at)) STRICT, WITHOUT ROWID;
CREATE INDEX series_of ON series (place, item, unit, last_at);
CREATE INDEX import_of ON import_file (digest);
CREATE INDEX import_headed ON import_file (head);
"""
"""Version 9: files that were imported, the series in each, and their values, by time."""

IMPORT_VIEWS = """
CREATE VIEW imports AS
SELECT e.n, e.observed_local, e.observed_utc, e.who, f.source, f.file, f.digest, f.kept, f.refused,
  f.understood
FROM import_file f JOIN entries e ON e.n = f.entry WHERE e.amended = 0;

CREATE VIEW imported_values AS
SELECT e.n, f.source, f.file, i.line, s.place, s.item, datetime(i.at, 'unixepoch') AS utc, i.value,
  s.unit, i.below, coalesce(i.typed, printf('%.10g', i.value)) AS typed
FROM import_file f JOIN entries e ON e.n = f.entry JOIN series s ON s.entry = f.entry
JOIN imported i ON i.entry = s.entry AND i.nth = s.nth WHERE e.amended = 0;
"""

BUNDLE_TABLES = """
CREATE TABLE bundle (
  id INTEGER PRIMARY KEY, entry INTEGER NOT NULL, nth INTEGER NOT NULL, -- the series
  UNIQUE (entry, nth), FOREIGN KEY (entry, nth) REFERENCES series (entry, nth)) STRICT;
CREATE TABLE bundled (                                -- takes the name and the rows of imported
  bundle INTEGER NOT NULL,                             -- not among those above: not yet imported
  at INTEGER NOT NULL, value REAL NOT NULL,            -- UTC second; in the unit of the series
  below INTEGER NOT NULL CHECK (below IN (0, 1)),      -- the value is a detection limit
  line INTEGER NOT NULL,                               -- of the file
  typed TEXT,                                          -- the cell, NULL where it is the value
  PRIMARY KEY (bundle, at)) STRICT, WITHOUT ROWID;
INSERT INTO bundle (entry, nth) SELECT entry, nth FROM series ORDER BY entry, nth;
INSERT INTO bundled SELECT b.id, i.at, i.value, i.below, i.line, i.typed
  FROM bundle b CROSS JOIN imported i ON i.entry = b.entry AND i.nth = b.nth ORDER BY b.id, i.at;
DROP VIEW imported_values;
DROP TABLE imported;
ALTER TABLE bundled RENAME TO imported;
"""
"""Version 10: values lie in bundles, which stand from the moment on that their import's entry names
them: a long file is put down some values at a time, and nobody waits for the whole of it."""

BUNDLE_VIEWS = """
CREATE VIEW imported_values AS
SELECT e.n, f.source, f.file, i.line, s.place, s.item, datetime(i.at, 'unixepoch') AS utc, i.value,
  s.unit, i.below, coalesce(i.typed, printf('%.10g', i.value)) AS typed
FROM import_file f JOIN entries e ON e.n = f.entry JOIN series s ON s.entry = f.entry
JOIN bundle b ON b.entry = s.entry AND b.nth = s.nth JOIN imported i ON i.bundle = b.id
WHERE e.amended = 0;
"""
