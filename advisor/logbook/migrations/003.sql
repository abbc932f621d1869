-- a session meant: at is its start; spray [s] a coat; seen_at: acknowledged, so that only worse news is told from then on
CREATE TABLE plan (
    id INTEGER PRIMARY KEY,
    made_at INTEGER NOT NULL,
    at INTEGER NOT NULL,
    coating TEXT NOT NULL,
    coats INTEGER NOT NULL,
    spray REAL NOT NULL,
    note TEXT NOT NULL,
    dropped_at INTEGER,
    seen_at INTEGER,
    done_at INTEGER
) STRICT;

CREATE INDEX plan_open ON plan (at) WHERE dropped_at IS NULL;

-- what was told of it when; lead says for which notice
CREATE TABLE plan_told (
    id INTEGER PRIMARY KEY,
    plan_id INTEGER NOT NULL REFERENCES plan (id),
    lead TEXT NOT NULL,
    at INTEGER NOT NULL,
    state TEXT NOT NULL,
    cannot_tell INTEGER NOT NULL,
    reason TEXT NOT NULL
) STRICT;

CREATE INDEX plan_told_by_plan ON plan_told (plan_id, id);
