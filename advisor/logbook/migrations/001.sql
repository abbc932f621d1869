-- Times are milliseconds UTC since 1970; values are whole numbers of the quantity's resolution (catalog/quantities.csv).

CREATE TABLE series (
    id INTEGER PRIMARY KEY,
    sensor TEXT NOT NULL,
    place TEXT NOT NULL,
    quantity TEXT NOT NULL,
    UNIQUE (sensor, place, quantity)
) STRICT;

-- value is NULL when the sensor gave none; reason is '' for a good reading
CREATE TABLE reading (
    series_id INTEGER NOT NULL REFERENCES series (id),
    at INTEGER NOT NULL,
    value INTEGER,
    level TEXT NOT NULL CHECK (level IN ('good', 'suspect', 'bad')),
    reason TEXT NOT NULL,
    calibration_id INTEGER,
    PRIMARY KEY (series_id, at)
) STRICT, WITHOUT ROWID;

CREATE TABLE reject (
    id INTEGER PRIMARY KEY,
    at INTEGER NOT NULL,
    source TEXT NOT NULL,
    reason TEXT NOT NULL,
    text TEXT NOT NULL
) STRICT;

CREATE TABLE event (
    id INTEGER PRIMARY KEY,
    at INTEGER NOT NULL,
    kind TEXT NOT NULL,
    detail TEXT NOT NULL
) STRICT;

-- the newest verdict of each coating, whole; older ones only where the state or its reason changed
CREATE TABLE verdict (
    coating TEXT PRIMARY KEY,
    at INTEGER NOT NULL,
    boot_id TEXT NOT NULL,
    computed_boottime INTEGER NOT NULL,
    valid_until INTEGER NOT NULL,
    record TEXT NOT NULL
) STRICT;

CREATE TABLE verdict_change (
    coating TEXT NOT NULL,
    at INTEGER NOT NULL,
    state TEXT NOT NULL,
    cannot_tell INTEGER NOT NULL,
    reason TEXT NOT NULL,
    PRIMARY KEY (coating, at)
) STRICT, WITHOUT ROWID;

-- what was last announced of each coating, and what the person was last told
CREATE TABLE announced (
    coating TEXT PRIMARY KEY,
    state TEXT NOT NULL,
    cannot_tell INTEGER NOT NULL,
    reason TEXT NOT NULL,
    since INTEGER NOT NULL,
    better_since INTEGER,
    better_state TEXT NOT NULL,
    told_state TEXT NOT NULL,
    told_cannot_tell INTEGER NOT NULL
) STRICT;

CREATE TABLE notice (
    id INTEGER PRIMARY KEY,
    at INTEGER NOT NULL,
    kind TEXT NOT NULL,
    coating TEXT NOT NULL,
    state TEXT NOT NULL,
    reason TEXT NOT NULL,
    text TEXT NOT NULL,
    urgent INTEGER NOT NULL,
    expires_at INTEGER NOT NULL
) STRICT;

CREATE INDEX notice_by_subject ON notice (coating, state, reason, at);

CREATE TABLE outbox (
    notice_id INTEGER NOT NULL REFERENCES notice (id),
    destination TEXT NOT NULL,
    status TEXT NOT NULL CHECK (status IN ('pending', 'sent', 'expired', 'dead')),
    tries INTEGER NOT NULL,
    next_try_at INTEGER NOT NULL,
    last_error TEXT NOT NULL,
    PRIMARY KEY (notice_id, destination)
) STRICT, WITHOUT ROWID;

CREATE INDEX outbox_pending ON outbox (next_try_at) WHERE status = 'pending';

-- humidity: true = gain * shown + offset [fraction]
CREATE TABLE calibration (
    id INTEGER PRIMARY KEY,
    sensor TEXT NOT NULL,
    made_at INTEGER NOT NULL,
    gain REAL NOT NULL,
    offset REAL NOT NULL,
    uncertainty REAL NOT NULL,
    points TEXT NOT NULL
) STRICT;

CREATE TABLE memory (
    key TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID;
