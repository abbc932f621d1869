"""The shop's own cup readings in the logbook, from which its thinning curve is refined."""

import sqlite3

from advisor.physics.viscosity_fit import FlowReading

MOST_READINGS = 200  # the newest of a coating: older tins say little of today's


def keep_cup_reading(
    connection: sqlite3.Connection, at: int, coating: str, cup: str, seconds: float, reading: FlowReading
) -> None:
    """Keep a reading, at [ms UTC], inside the caller's transaction."""
    connection.execute(
        "INSERT INTO cup_reading (at, coating, tin, cup, seconds, share, temperature, viscosity, in_range)"
        " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        (
            at, coating, reading.pot, cup, seconds, reading.share, reading.temperature, reading.viscosity,
            int(reading.in_range),
        ),
    )  # fmt: skip


def cup_readings(connection: sqlite3.Connection, coating: str) -> list[FlowReading]:
    """The newest readings of a coating, the oldest of them first."""
    rows = connection.execute(
        "SELECT tin, share, temperature, viscosity, in_range FROM cup_reading WHERE coating = ?"
        " ORDER BY at DESC, id DESC LIMIT ?",
        (coating, MOST_READINGS),
    ).fetchall()
    return [
        FlowReading(tin, share, temperature, viscosity, bool(in_range))
        for tin, share, temperature, viscosity, in_range in reversed(rows)
    ]
