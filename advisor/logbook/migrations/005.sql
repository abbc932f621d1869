-- what was told of a job: of which coat (for the pot: the first one out of it), and what; each once. notice: its text
CREATE TABLE job_told (
    job INTEGER NOT NULL REFERENCES job (id),
    coat INTEGER NOT NULL REFERENCES coat (id),
    kind TEXT NOT NULL,
    at INTEGER NOT NULL,
    notice INTEGER NOT NULL REFERENCES notice (id),
    PRIMARY KEY (coat, kind)
) STRICT, WITHOUT ROWID;

CREATE INDEX job_told_by_notice ON job_told (notice);
