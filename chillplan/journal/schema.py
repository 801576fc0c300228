"""The tables of a journal, and how an older journal becomes a newer one.

Dates are ISO text (``2026-11-25``), times ISO text to the second without zone (local clock), temperatures °C.
Text is never null: an empty text means nothing was said. Numbers and dates that are not known are null.
``entries`` and ``changes`` are the full history: nothing is ever removed from them, an undo is an entry too.
``brought`` holds what a grower's page sent, by the identifier it has there, so that it is taken once.
"""

from __future__ import annotations

__all__ = ["APPLICATION_ID", "CONTENT_TABLES", "HISTORY_TABLES", "MIGRATIONS"]

APPLICATION_ID = 0x43484C50
"""Mark in the file header that tells a journal from any other SQLite file ("CHLP")."""

CONTENT_TABLES = ("lots", "batches", "treatments", "checks", "readings", "sowings", "counts", "learned", "tasks")
HISTORY_TABLES = ("entries", "changes", "brought")

_FIRST = """
CREATE TABLE lots (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    species TEXT NOT NULL CHECK (species <> ''),
    source TEXT NOT NULL DEFAULT '',
    year INTEGER,
    note TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE TABLE batches (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    lot INTEGER NOT NULL REFERENCES lots (id),
    label TEXT NOT NULL DEFAULT '',
    place TEXT NOT NULL CHECK (place <> ''),
    set_temperature REAL NOT NULL,
    seeds INTEGER CHECK (seeds > 0),
    started_on TEXT NOT NULL,
    plant_out TEXT,
    frost_free TEXT,
    check_every INTEGER NOT NULL DEFAULT 7 CHECK (check_every > 0),
    closed_on TEXT,
    outcome TEXT NOT NULL DEFAULT '',
    note TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX batches_of_lot ON batches (lot);
CREATE INDEX batches_open ON batches (id) WHERE closed_on IS NULL;
CREATE UNIQUE INDEX batches_label ON batches (label) WHERE label <> '';
CREATE TABLE treatments (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    batch INTEGER NOT NULL REFERENCES batches (id),
    position INTEGER NOT NULL,
    kind TEXT NOT NULL CHECK (kind <> ''),
    started_on TEXT,
    ended_on TEXT,
    days_low REAL,
    days_high REAL,
    temperature_low REAL,
    temperature_high REAL,
    zero_low REAL,
    full_low REAL,
    full_high REAL,
    zero_high REAL,
    reversal REAL,
    detail TEXT NOT NULL DEFAULT '',
    UNIQUE (batch, position)
) STRICT;
CREATE TABLE checks (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    batch INTEGER NOT NULL REFERENCES batches (id),
    date TEXT NOT NULL,
    finding TEXT NOT NULL CHECK (finding IN ('fine', 'dry', 'mould', 'sprouted')),
    sprouted INTEGER CHECK (sprouted >= 0),
    stage TEXT NOT NULL DEFAULT '',
    note TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX checks_of_batch ON checks (batch, date, id);
CREATE TABLE readings (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    place TEXT NOT NULL CHECK (place <> ''),
    at TEXT NOT NULL,
    temperature REAL NOT NULL
) STRICT;
CREATE UNIQUE INDEX readings_of_place ON readings (place, at, temperature);
CREATE TABLE sowings (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    lot INTEGER NOT NULL REFERENCES lots (id),
    batch INTEGER REFERENCES batches (id),
    site TEXT NOT NULL DEFAULT '',
    date TEXT NOT NULL,
    seeds INTEGER NOT NULL CHECK (seeds > 0),
    viability REAL CHECK (viability BETWEEN 0 AND 1),
    depth_cm REAL,
    expected_low REAL CHECK (expected_low BETWEEN 0 AND 1),
    expected_middle REAL CHECK (expected_middle BETWEEN 0 AND 1),
    expected_high REAL CHECK (expected_high BETWEEN 0 AND 1),
    expected_on TEXT,
    closed_on TEXT,
    note TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX sowings_of_lot ON sowings (lot);
CREATE INDEX sowings_of_batch ON sowings (batch);
CREATE TABLE counts (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    sowing INTEGER NOT NULL REFERENCES sowings (id),
    date TEXT NOT NULL,
    emerged INTEGER NOT NULL CHECK (emerged >= 0),
    note TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX counts_of_sowing ON counts (sowing, date, id);
CREATE TABLE learned (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    site TEXT NOT NULL DEFAULT '',
    species TEXT NOT NULL CHECK (species <> ''),
    phase INTEGER NOT NULL DEFAULT 0,
    made_on TEXT NOT NULL,
    published_low REAL NOT NULL,
    published_high REAL NOT NULL,
    days_low REAL NOT NULL,
    days_high REAL NOT NULL,
    sowings INTEGER NOT NULL,
    seeds INTEGER NOT NULL,
    note TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX learned_of_species ON learned (species, site, made_on, id);
CREATE TABLE entries (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    at TEXT NOT NULL,
    text TEXT NOT NULL,
    undoes INTEGER REFERENCES entries (id),
    undone_by INTEGER REFERENCES entries (id)
) STRICT;
CREATE INDEX entries_standing ON entries (id) WHERE undone_by IS NULL AND undoes IS NULL;
CREATE TABLE changes (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    entry INTEGER NOT NULL REFERENCES entries (id),
    subject TEXT NOT NULL,
    row INTEGER NOT NULL,
    before TEXT,
    after TEXT
) STRICT;
CREATE INDEX changes_of_entry ON changes (entry, id);
"""

_SECOND = """
CREATE TABLE tasks (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    code TEXT NOT NULL UNIQUE CHECK (code <> ''),
    batch TEXT NOT NULL,
    species TEXT NOT NULL CHECK (species <> ''),
    kind TEXT NOT NULL CHECK (kind <> ''),
    action TEXT NOT NULL,
    place TEXT NOT NULL DEFAULT '',
    site TEXT NOT NULL DEFAULT '',
    first_day TEXT NOT NULL,
    last_day TEXT NOT NULL,
    plant_out TEXT,
    seeds INTEGER CHECK (seeds > 0),
    done_on TEXT,
    dropped_on TEXT
) STRICT;
CREATE INDEX tasks_open ON tasks (last_day) WHERE done_on IS NULL AND dropped_on IS NULL;
"""

_THIRD = """
CREATE TABLE brought (
    id TEXT NOT NULL PRIMARY KEY CHECK (id <> ''),
    entry INTEGER NOT NULL REFERENCES entries (id),
    body TEXT NOT NULL
) STRICT;
"""

_FOURTH = """
ALTER TABLE tasks ADD COLUMN recipe TEXT NOT NULL DEFAULT '';
ALTER TABLE tasks ADD COLUMN cold_done REAL NOT NULL DEFAULT 0;
ALTER TABLE tasks ADD COLUMN lot TEXT NOT NULL DEFAULT '';
"""

_FIFTH = """
ALTER TABLE tasks ADD COLUMN note TEXT NOT NULL DEFAULT '';
ALTER TABLE tasks ADD COLUMN instead_of TEXT NOT NULL DEFAULT '';
"""

MIGRATIONS: tuple[str, ...] = (_FIRST, _SECOND, _THIRD, _FOURTH, _FIFTH)
"""Scripts in order; a journal's ``user_version`` counts those it has been through."""
