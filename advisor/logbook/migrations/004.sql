-- Jobs. Nothing is deleted: what was taken back has its undone_at. Times are milliseconds UTC; numbers are SI, °C and
-- fractions, NULL where nobody said.
CREATE TABLE job (
    id INTEGER PRIMARY KEY,
    piece TEXT NOT NULL,
    schedule TEXT,
    made_at INTEGER NOT NULL,
    finished_at INTEGER,
    note TEXT NOT NULL,
    undone_at INTEGER
) STRICT;

-- thinning: of the paint, retarder: of all solvent; hardener m3; lengths m; sanded: grit, 0 for not sanded; panel: a
-- test panel, not the piece
CREATE TABLE coat (
    id INTEGER PRIMARY KEY,
    job INTEGER NOT NULL REFERENCES job (id),
    number INTEGER NOT NULL,
    step TEXT,
    coating TEXT NOT NULL,
    started_at INTEGER NOT NULL,
    ended_at INTEGER NOT NULL,
    thinner TEXT,
    thinning REAL,
    retarder REAL,
    hardener REAL,
    mixed_at INTEGER,
    cup TEXT,
    cup_seconds REAL,
    material REAL,
    surface REAL,
    needle REAL,
    gun_pressure REAL,
    wet_film REAL,
    sanded INTEGER,
    panel INTEGER NOT NULL CHECK (panel IN (0, 1)),
    place TEXT,
    note TEXT NOT NULL,
    undone_at INTEGER,
    CHECK (started_at <= ended_at)
) STRICT;

CREATE UNIQUE INDEX coat_by_number ON coat (job, number) WHERE undone_at IS NULL;
CREATE INDEX coat_by_start ON coat (started_at);

-- coat: NULL for the piece as a whole; good: looked at, nothing wrong; spot: where on the piece; photo: a file's path
CREATE TABLE observation (
    id INTEGER PRIMARY KEY,
    job INTEGER NOT NULL REFERENCES job (id),
    coat INTEGER REFERENCES coat (id),
    at INTEGER NOT NULL,
    defect TEXT,
    good INTEGER NOT NULL CHECK (good IN (0, 1)),
    severity INTEGER CHECK (severity BETWEEN 1 AND 3),
    spot TEXT NOT NULL,
    photo TEXT,
    text TEXT NOT NULL,
    undone_at INTEGER
) STRICT;

CREATE INDEX observation_by_job ON observation (job, at);

CREATE TABLE rework (
    id INTEGER PRIMARY KEY,
    job INTEGER NOT NULL REFERENCES job (id),
    at INTEGER NOT NULL,
    what TEXT NOT NULL,
    undone_at INTEGER
) STRICT;

CREATE INDEX rework_by_job ON rework (job, at);

-- every change, field by field; what one command did has one entry number. undoes: the entry that was taken back
CREATE TABLE job_history (
    id INTEGER PRIMARY KEY,
    entry INTEGER NOT NULL,
    at INTEGER NOT NULL,
    job INTEGER NOT NULL REFERENCES job (id),
    kind TEXT NOT NULL CHECK (kind IN ('made', 'changed', 'undone')),
    of TEXT NOT NULL CHECK (of IN ('job', 'coat', 'observation', 'rework')),
    row INTEGER NOT NULL,
    field TEXT,
    before ANY,
    after ANY,
    undoes INTEGER
) STRICT;

CREATE INDEX job_history_by_job ON job_history (job, entry);
CREATE INDEX job_history_by_entry ON job_history (entry);
CREATE INDEX job_history_by_undoes ON job_history (undoes) WHERE undoes IS NOT NULL;

CREATE TRIGGER job_kept BEFORE DELETE ON job BEGIN SELECT RAISE(ABORT, 'a job is not deleted'); END;
CREATE TRIGGER coat_kept BEFORE DELETE ON coat BEGIN SELECT RAISE(ABORT, 'a coat is not deleted'); END;
CREATE TRIGGER observation_kept BEFORE DELETE ON observation
BEGIN SELECT RAISE(ABORT, 'an observation is not deleted'); END;
CREATE TRIGGER rework_kept BEFORE DELETE ON rework BEGIN SELECT RAISE(ABORT, 'rework is not deleted'); END;
CREATE TRIGGER job_history_kept BEFORE DELETE ON job_history BEGIN SELECT RAISE(ABORT, 'history is not deleted'); END;
CREATE TRIGGER job_history_fixed BEFORE UPDATE ON job_history BEGIN SELECT RAISE(ABORT, 'history is not changed'); END;
