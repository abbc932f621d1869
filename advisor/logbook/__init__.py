"""The memory: the SQLite logbook."""
