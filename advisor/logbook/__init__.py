"""The memory: the SQLite logbook, and how its readings become conditions."""
