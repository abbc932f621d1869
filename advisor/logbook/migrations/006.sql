-- a destination is kept by its name (json, json-2 ...): its address holds a token, and has no place in a logbook
CREATE TABLE outbox_by_name (
    notice_id INTEGER NOT NULL REFERENCES notice (id),
    destination TEXT NOT NULL,
    status TEXT NOT NULL CHECK (status IN ('pending', 'sent', 'expired', 'dead')),
    tries INTEGER NOT NULL,
    next_try_at INTEGER NOT NULL,
    last_error TEXT NOT NULL,
    PRIMARY KEY (notice_id, destination)
) STRICT, WITHOUT ROWID;

INSERT INTO outbox_by_name
SELECT notice_id, kind || CASE number WHEN 1 THEN '' ELSE '-' || number END, status, tries, next_try_at, last_error
FROM (
    SELECT *, ROW_NUMBER() OVER (PARTITION BY notice_id, kind ORDER BY destination) AS number
    FROM (SELECT *, substr(destination, 1, max(instr(destination, '://') - 1, 0)) AS kind FROM outbox)
);

DROP TABLE outbox;
ALTER TABLE outbox_by_name RENAME TO outbox;
CREATE INDEX outbox_pending ON outbox (next_try_at) WHERE status = 'pending';
