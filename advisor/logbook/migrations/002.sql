-- the shop's own cup readings: share of thinner by volume of the mix, °C, mm2/s; tin says which readings belong together
CREATE TABLE cup_reading (
    id INTEGER PRIMARY KEY,
    at INTEGER NOT NULL,
    coating TEXT NOT NULL,
    tin TEXT NOT NULL,
    cup TEXT NOT NULL,
    seconds REAL NOT NULL,
    share REAL NOT NULL,
    temperature REAL NOT NULL,
    viscosity REAL NOT NULL,
    in_range INTEGER NOT NULL
) STRICT;

CREATE INDEX cup_reading_by_coating ON cup_reading (coating, at);
