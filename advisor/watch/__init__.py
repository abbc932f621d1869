"""The daemon: sources to logbook, logbook to verdict, verdict to notices."""
