"""The room, its pieces and its air changes against published tables, exact solutions and practice."""

from collections.abc import Iterator

import numpy as np

from advisor.physics.air.moist_air import dew_point
from advisor.physics.room import room as r
from advisor.physics.room.air_change import removal_time
from advisor.physics.room.piece import warm_up_time
from advisor.physics.room.room import Room, RoomStart, Segment, room_course
from advisor.physics.room.room_needs import water_to_remove
from tests.oracles import special
from tests.outside.row import Row, against, signed, within
from tests.physics.room.room_cases import board, session
from tests.support import reference_rows

_TABLE = "finisher's starting table (from memory)"
_PRACTICE = "finisher's test days (common practice, no source)"


def rows() -> Iterator[Row]:
    """Every check on the room."""
    yield _removal()
    yield _half_space()
    yield against("water in 90 m3, 20 °C, 70 to 50 %", "steam tables: 17.3 g/m3 saturated (from memory)", 0.311,
                  float(water_to_remove(90.0, 20.0, 0.70, 0.50)), "kg", 3)  # fmt: skip
    for thickness, minutes in ((0.020, 20.0), (0.045, 45.0)):
        yield against(f"lag of a {thickness * 1e3:g} mm board, both faces free", _TABLE, minutes,
                      float(board(8.0, thickness).time_constant) / 60.0, "min", 1)  # fmt: skip
    damp = session((18.0, 0.55), (22.0, 0.85), piece=17.0)
    day = "18 °C 55 %, fan on to 22 °C 85 %: dew point at"
    yield against(f"{day} 2 min", _PRACTICE, 14.8, float(damp.dew_point[0, 2]), "°C", 1)
    yield against(f"{day} 4 min", _PRACTICE, 17.0, float(damp.dew_point[0, 4]), "°C", 1)
    cold = session((20.0, 0.40), (0.0, 0.85))
    day = "20 °C 40 %, fan on to 0 °C:"
    under = float(np.interp(-15.0, -cold.air_temperature[0, :5], cold.seconds[:5])) / 60.0
    yield within(f"{day} under 15 °C after", _PRACTICE, 1.0, 2.0, under, "min", 1)
    yield within(f"{day} air at 10 min", _PRACTICE, 11.0, 12.0, float(cold.air_temperature[0, 10]), "°C", 1)
    humidity = 100.0 * cold.relative_humidity[0, :31]
    yield within(f"{day} lowest humidity", _PRACTICE, 39.0, 47.0, float(humidity.min()), "%", 0)
    yield within(f"{day} highest humidity", _PRACTICE, 39.0, 47.0, float(humidity.max()), "%", 0)
    safe = float(dew_point(21.0, 0.50)) + 3.0
    day = "20 mm board of 8 °C in 21 °C 50 %:"
    yield within(f"{day} over dew + 3 K after", _PRACTICE, 10.0, 15.0,
                 float(warm_up_time(board(8.0), 21.0, safe)) / 60.0, "min", 0)  # fmt: skip
    yield against(f"{day} 18 °C after about", _PRACTICE, 30.0,
                  float(warm_up_time(board(8.0), 21.0, 18.0)) / 60.0, "min", 0)  # fmt: skip


def _removal() -> Row:
    cells = [
        (removal_time(float(row["ach"]) / 3600.0, share) / 60.0, float(row[column]))
        for row in reference_rows("ach_removal.csv")
        for share, column in ((0.1, "min_90"), (0.01, "min_99"), (0.001, "min_999"))
        if row[column]
    ]
    equal = sum(int(ours + 0.5) == minutes for ours, minutes in cells)
    return Row(
        f"minutes to remove 90, 99, 99.9 %, {len(cells)} cells, 1 to 50 air changes an hour",
        "MMWR 1994;43(RR-13) Table S3-1; CDC 2003 Table B.1 (secondary)",
        "whole minutes", f"{equal} equal", f"{len(cells) - equal} differ",
    )  # fmt: skip


def _half_space() -> Row:
    seconds = np.array([120.0, 300.0, 600.0, 1200.0, 3600.0])
    held = Segment(3600.0, 21.0, 0.008, exhaust=100.0)
    ours = room_course(Room(90.0), RoomStart(20.0, 0.008), [held], seconds).wall_temperature[0] - 20.0
    exact = 1.0 - special.erfcx(
        r.WALL_FILM / r.BRICK.conductivity * np.sqrt(seconds * r.BRICK.conductivity / r.BRICK.heat_capacity)
    )
    gap = ours - exact
    worst = int(np.abs(gap).argmax())
    return Row(
        "a wall's face under air 1 K warmer, 2 to 60 min", "Carslaw and Jaeger 1959 section 2.7 (from memory)",
        f"{exact[worst]:.3f} K at {seconds[worst] / 60:g} min", f"{ours[worst]:.3f} K",
        f"{signed(float(gap[worst]), 3)} K",
    )  # fmt: skip
