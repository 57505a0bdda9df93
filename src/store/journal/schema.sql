-- The journal: a log that only grows. Nothing in it is ever changed or removed: an amendment and
-- an undo are new revisions, and the latest revision of an entry is what counts.

-- What was done to the journal, in order: an act changes one entry or, as an import, many.
CREATE TABLE act (
    id      INTEGER PRIMARY KEY,
    what    TEXT NOT NULL CHECK (what IN ('add', 'amend', 'undo', 'import')),
    done_at INTEGER NOT NULL,                 -- Unix time, milliseconds
    undoes  INTEGER UNIQUE REFERENCES act(id),
    CHECK ((what = 'undo') = (undoes IS NOT NULL))
) STRICT;

-- An entry as an act left it.
CREATE TABLE revision (
    id            INTEGER PRIMARY KEY,
    act           INTEGER NOT NULL REFERENCES act(id),
    entry         INTEGER NOT NULL,           -- the number that the grower sees
    withdrawn     INTEGER NOT NULL CHECK (withdrawn IN (0, 1)),
    at_s          INTEGER NOT NULL,           -- when it was at the tank: Unix time, seconds
    offset_s      INTEGER NOT NULL,           -- and what the clock there was ahead of UTC, seconds
    system        TEXT NOT NULL,
    ec_ms_cm      REAL,                       -- at 25 C
    ph            REAL,
    temperature_c REAL,
    litres        REAL,
    details       TEXT NOT NULL,              -- JSON: what was done, the batch, the note
    UNIQUE (entry, id)
) STRICT;

CREATE INDEX revision_of_act ON revision(act);

-- What counts now, for whoever opens the file with another program.
CREATE VIEW entry AS
    SELECT r.* FROM revision AS r
    JOIN (SELECT entry, max(id) AS id FROM revision GROUP BY entry) USING (id)
    WHERE NOT withdrawn;

-- What saves typing: the last system, units, the scale of a pen.
CREATE TABLE remembered (
    key   TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT;

CREATE TRIGGER act_stays BEFORE UPDATE ON act
    BEGIN SELECT raise(ABORT, 'a journal only grows'); END;
CREATE TRIGGER act_remains BEFORE DELETE ON act
    BEGIN SELECT raise(ABORT, 'a journal only grows'); END;
CREATE TRIGGER revision_stays BEFORE UPDATE ON revision
    BEGIN SELECT raise(ABORT, 'a journal only grows'); END;
CREATE TRIGGER revision_remains BEFORE DELETE ON revision
    BEGIN SELECT raise(ABORT, 'a journal only grows'); END;
