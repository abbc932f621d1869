"""One door for the air: typed values, a file and the logbook each give conditions and series over a span."""
