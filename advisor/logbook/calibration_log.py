"""Humidity calibrations in the logbook: kept with their date, the newest of each sensor in force."""

import json
import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass

from advisor.readings.calibration import Calibration, Calibrator, Point


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
