"""The shop's own cup readings in the logbook, from which its thinning curve is refined.

Humidity calibrations in the logbook: kept with their date, the newest of each sensor in force.
"""

import json
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass

from advisor.physics.paint.viscosity_fit import FlowReading
from advisor.readings.reading import Calibration, Calibrator, Point

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


@dataclass(frozen=True)
class Kept:
    """A calibration as it stands in the logbook; made_at [ms UTC]."""

    id: int
    sensor: str
    made_at: int
    calibration: Calibration


def keep_calibration(
    connection: sqlite3.Connection, sensor: str, made_at: int, found: Calibration, points: Sequence[Point]
) -> None:
    """Keep a calibration, inside the caller's transaction."""
    connection.execute(
        "INSERT INTO calibration (sensor, made_at, gain, offset, uncertainty, points) VALUES (?, ?, ?, ?, ?, ?)",
        (
            sensor,
            made_at,
            found.gain,
            found.offset,
            found.uncertainty,
            json.dumps([[point.shown, point.true, point.uncertainty] for point in points]),
        ),
    )


def calibrations_in_force(connection: sqlite3.Connection) -> dict[str, Kept]:
    """The newest calibration of each sensor."""
    rows = connection.execute(
        "SELECT id, sensor, made_at, gain, offset, uncertainty FROM calibration ORDER BY made_at, id"
    )
    return {
        sensor: Kept(number, sensor, made_at, Calibration(gain, offset, uncertainty))
        for number, sensor, made_at, gain, offset, uncertainty in rows
    }


def calibrator_of(kept: dict[str, Kept]) -> Calibrator:
    """What corrects new readings."""
    return Calibrator(
        {sensor: one.calibration for sensor, one in kept.items()}, {sensor: one.id for sensor, one in kept.items()}
    )
