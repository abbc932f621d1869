-- What is kept or told of a coating is kept by the place it is sprayed in too. '' is the one place of a shop that names
-- none, and of all that was kept before: it counts for a place until something is kept of that place itself.
CREATE TABLE verdict_by_place (
    place TEXT NOT NULL,
    coating TEXT NOT NULL,
    at INTEGER NOT NULL,
    boot_id TEXT NOT NULL,
    computed_boottime INTEGER NOT NULL,
    valid_until INTEGER NOT NULL,
    record TEXT NOT NULL,
    PRIMARY KEY (place, coating)
) STRICT;

INSERT INTO verdict_by_place
SELECT '', coating, at, boot_id, computed_boottime, valid_until, record FROM verdict;
DROP TABLE verdict;
ALTER TABLE verdict_by_place RENAME TO verdict;

CREATE TABLE verdict_change_by_place (
    place TEXT NOT NULL,
    coating TEXT NOT NULL,
    at INTEGER NOT NULL,
    state TEXT NOT NULL,
    cannot_tell INTEGER NOT NULL,
    reason TEXT NOT NULL,
    PRIMARY KEY (place, coating, at)
) STRICT, WITHOUT ROWID;

INSERT INTO verdict_change_by_place SELECT '', coating, at, state, cannot_tell, reason FROM verdict_change;
DROP TABLE verdict_change;
ALTER TABLE verdict_change_by_place RENAME TO verdict_change;

CREATE TABLE announced_by_place (
    place TEXT NOT NULL,
    coating TEXT NOT NULL,
    state TEXT NOT NULL,
    cannot_tell INTEGER NOT NULL,
    reason TEXT NOT NULL,
    since INTEGER NOT NULL,
    better_since INTEGER,
    better_state TEXT NOT NULL,
    told_state TEXT NOT NULL,
    told_cannot_tell INTEGER NOT NULL,
    PRIMARY KEY (place, coating)
) STRICT;

INSERT INTO announced_by_place
SELECT '', coating, state, cannot_tell, reason, since, better_since, better_state, told_state, told_cannot_tell
FROM announced;
DROP TABLE announced;
ALTER TABLE announced_by_place RENAME TO announced;

ALTER TABLE notice ADD COLUMN place TEXT NOT NULL DEFAULT '';
DROP INDEX notice_by_subject;
CREATE INDEX notice_by_subject ON notice (coating, place, state, reason, at);

ALTER TABLE plan ADD COLUMN place TEXT NOT NULL DEFAULT '';
