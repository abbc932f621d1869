"""Makes the seven invented days of readings; the data are invented, the moist-air arithmetic is not.

    python sensor_fixtures/make.py [FOLDER]

Each day is a boathouse on an estuary: a shop logged every minute, the air outdoors every ten. Seeded, so that the
same bytes come out every time; a test checks that. What each day must give stands in answers.toml.
"""

import json
import random
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from math import exp, isfinite
from pathlib import Path
from zoneinfo import ZoneInfo

from advisor.physics.air.moist_air import dew_point, relative_humidity_from_dew_point

ZONE = ZoneInfo("Europe/London")
HEADER = "time,place,sensor,air_temperature_c,relative_humidity_pct,surface_temperature_c,particles_5um_per_m3"
SEA_LEVEL_DUST = 2500.0  # counts over 5 µm per m3 of the clean shop


@dataclass(frozen=True)
class Air:
    """Air temperature [°C], humidity [%], surface of the pieces [°C], counts over 5 µm [1/m3]."""

    temperature: float
    humidity: float
    surface: float
    particles: float = SEA_LEVEL_DUST


@dataclass(frozen=True)
class Day:
    """One invented day: air in the shop and outdoors by minute of the day, and lines put in by hand."""

    name: str
    date: str
    seed: int
    shop: Callable[[float], Air]
    outdoors: Callable[[float], Air]
    from_hour: int = 6
    to_hour: int = 22
    edit: Callable[[str, int], list[str]] = lambda line, minute: [line]
    end: str = ""


def hours(clock: str) -> float:
    """Minute of the day of `14:05`."""
    hour, minute = clock.split(":")
    return int(hour) * 60.0 + int(minute)


def between(minute: float, points: list[tuple[str, float]]) -> float:
    """Straight lines through (clock, value) points."""
    times = [(hours(clock), value) for clock, value in points]
    if minute <= times[0][0]:
        return times[0][1]
    for (start, low), (stop, high) in pairwise(times):
        if minute <= stop:
            return low + (high - low) * (minute - start) / (stop - start)
    return times[-1][1]


def towards(start: float, target: float, minutes: float, constant: float) -> float:
    """Exponential approach after so many minutes."""
    return target if minutes > 60 * constant else target + (start - target) * exp(-max(minutes, 0.0) / constant)


def humidity_for(temperature: float, dew: float) -> float:
    """Relative humidity [%] of air with this dew point."""
    return 100.0 * float(relative_humidity_from_dew_point(temperature, min(dew, temperature)))


def good_shop(minute: float) -> Air:
    temperature = between(minute, [("06:00", 19.6), ("09:00", 20.4), ("14:00", 22.6), ("22:00", 21.0)])
    humidity = between(minute, [("06:00", 53.0), ("14:00", 45.5), ("22:00", 50.0)])
    return Air(temperature, humidity, temperature - 0.5)


def humid_shop(minute: float) -> Air:
    temperature = between(minute, [("06:00", 21.0), ("14:00", 24.5), ("17:00", 24.0), ("22:00", 21.5)])
    humidity = between(minute, [("06:00", 58.0), ("12:00", 54.0), ("16:00", 57.0), ("20:30", 84.0), ("22:00", 87.0)])
    return Air(temperature, humidity, temperature - 0.4)


def cold_shop(minute: float) -> Air:
    temperature = between(minute, [("06:00", 9.0), ("07:00", 9.2), ("11:30", 19.6), ("22:00", 20.5)])
    piece = between(minute, [("06:00", 9.0), ("07:30", 9.2), ("12:15", 19.2), ("22:00", 20.2)])
    return Air(temperature, humidity_for(temperature, 5.0), piece)


def dusty_shop(minute: float) -> Air:
    sanding = between(minute, [("09:00", SEA_LEVEL_DUST), ("09:40", 900_000.0)])
    cleaned = towards(900_000.0, SEA_LEVEL_DUST, minute - hours("09:45"), 8.0)
    counts = sanding if minute < hours("09:45") else cleaned
    return Air(21.3, 51.0, 20.9, counts)


def winter_out(minute: float) -> Air:
    return Air(0.0, 85.0, 0.0)


def winter_shop(minute: float) -> Air:
    outside_dew = float(dew_point(0.0, 0.85))
    inside_dew = float(dew_point(20.0, 0.42))
    opened, shut = hours("14:00"), hours("14:20")
    temperature, dew, piece = 20.0, inside_dew, 19.5
    if minute >= opened:
        temperature = towards(20.0, 11.5, min(minute, shut) - opened, 3.5)
        dew = towards(inside_dew, outside_dew, min(minute, shut) - opened, 3.5)
        piece = towards(19.5, 12.0, min(minute, shut) - opened, 40.0)
    if minute >= shut:
        temperature = towards(temperature, 19.6, minute - shut, 12.0)
        dew = towards(dew, inside_dew - 1.5, minute - shut, 90.0)
        piece = towards(piece, 19.2, minute - shut, 40.0)
    return Air(temperature, humidity_for(temperature, dew), piece)


def front_out(minute: float) -> Air:
    temperature = between(minute, [("06:00", 16.0), ("10:00", 22.0), ("22:00", 21.0)])
    return Air(temperature, between(minute, [("06:00", 88.0), ("10:00", 85.0)]), temperature)


def front_shop(minute: float) -> Air:
    outside_dew = float(dew_point(22.0, 0.85))
    inside_dew = float(dew_point(18.4, 0.55))
    after = minute - hours("11:00")
    temperature = towards(18.4, 20.2, after, 6.0)
    dew = towards(inside_dew, outside_dew - 0.6, after, 5.0)
    return Air(temperature, humidity_for(temperature, dew), towards(17.0, 19.6, after, 60.0))


def fault_shop(minute: float) -> Air:
    temperature = between(minute, [("06:00", 20.6), ("14:00", 21.6), ("23:59", 20.8)])
    return Air(temperature, between(minute, [("06:00", 52.0), ("14:00", 49.0), ("23:59", 51.0)]), temperature - 0.4)


def fault_edit(line: str, minute: int) -> list[str]:
    """The day's faults, put in by hand."""
    time, place, sensor, temperature, humidity, piece, counts = line.split(",")

    def row(*fields: str) -> str:
        return ",".join(fields)

    if hours("07:30") <= minute < hours("07:45"):
        return [row(time, place, sensor, "unavailable", "unavailable", piece, counts)]
    if minute == hours("09:00"):
        return [row(time, place, sensor, temperature, "nan", piece, counts)]
    if hours("10:00") <= minute < hours("10:10"):
        return [row(time, place, sensor, f"{float(temperature) * 1.8 + 32:.1f}", humidity, piece, counts)]
    if hours("11:00") <= minute < hours("13:30"):
        return [row(time, place, sensor, temperature, "99.9", piece, counts)]
    if hours("14:00") <= minute < hours("14:40"):
        return []
    if hours("15:00") <= minute < hours("16:30"):
        off = f"{float(humidity) + 12.0:.1f}" if minute >= hours("15:30") else humidity
        return [line, row(time, place, "window", temperature, off, "", "")]
    if minute >= hours("17:00"):
        return [row(time, place, sensor, "21.3", "49.4", piece, counts)]
    return [line]


def mild_out(minute: float) -> Air:
    temperature = between(minute, [("06:00", 12.0), ("14:00", 18.0), ("22:00", 13.0)])
    return Air(temperature, between(minute, [("06:00", 82.0), ("14:00", 60.0), ("22:00", 80.0)]), temperature)


DAYS = (
    Day("good-day", "2025-09-18", 1, good_shop, mild_out),
    Day("humid-evening", "2025-08-26", 2, humid_shop, mild_out),
    Day("cold-morning", "2025-11-04", 3, cold_shop, winter_out),
    Day("dusty-clean-down", "2025-10-02", 4, dusty_shop, mild_out),
    Day("winter-door", "2026-01-20", 5, winter_shop, winter_out),
    Day("warm-damp-front", "2025-06-03", 6, front_shop, front_out),
    Day("sensor-faults", "2025-10-21", 7, fault_shop, mild_out, to_hour=24, edit=fault_edit,
        end="2025-10-21T23:59:30+01:00,shop,shelf,21."),
)  # fmt: skip


def lines(day: Day) -> Iterator[str]:
    """The lines of one day's file."""
    noise = random.Random(day.seed)

    def wobble(size: float) -> float:
        return size * (2.0 * noise.random() - 1.0)

    yield HEADER
    midnight = datetime.fromisoformat(day.date).replace(tzinfo=ZONE)
    for minute in range(day.from_hour * 60, day.to_hour * 60):
        stamp = (midnight + timedelta(minutes=minute)).isoformat()
        if minute % 10 == 0:
            out = day.outdoors(minute)
            temperature, humidity = out.temperature + wobble(0.15), out.humidity + wobble(0.6)
            yield f"{stamp},outdoors,mast,{temperature:.1f},{humidity:.1f},,"
        air = day.shop(minute)
        counts = air.particles * (1.0 + wobble(0.12))
        line = (
            f"{stamp},shop,shelf,{air.temperature + wobble(0.06):.1f},{air.humidity + wobble(0.15):.1f},"
            f"{air.surface + wobble(0.06):.1f},{counts:.0f}"
        )
        yield from day.edit(line, minute)


def text(day: Day) -> str:
    """A day's whole file."""
    return "\n".join(lines(day)) + "\n" + day.end


def capture(day: Day) -> str:
    """The same day as the broker's messages: JSON for the sensors in the shop, SenML with its own time for the mast."""
    messages = []
    for line in text(day).splitlines()[1:]:
        fields = line.split(",")
        if len(fields) < 7:  # the cut line at the end: a cut payload
            messages.append((fields[0], f"boathouse/{fields[2]}", '{"temperature": ' + fields[3]))
            continue
        time, _, sensor, temperature, humidity, surface, counts = fields
        if sensor == "mast":
            pack = [
                {
                    "bn": "mast/",
                    "bt": datetime.fromisoformat(time).timestamp(),
                    "n": "air",
                    "u": "Cel",
                    "v": float(temperature),
                },
                {"n": "damp", "u": "%RH", "v": float(humidity)},
            ]
            messages.append((time, "boathouse/mast", json.dumps(pack)))
            continue
        named = {"temperature": temperature, "humidity": humidity, "surface": surface, "dust": counts}
        messages.append(
            (time, f"boathouse/{sensor}", json.dumps({key: spoken(value) for key, value in named.items() if value}))
        )
    return "".join(
        json.dumps({"time": time, "topic": topic, "payload": payload, "retain": False}) + "\n"
        for time, topic, payload in messages
    )


def spoken(value: str) -> float | str:
    """A number as a number, a status word as text."""
    try:
        number = float(value)
    except ValueError:
        return value
    return number if isfinite(number) else value


def main(folder: Path) -> None:
    for day in DAYS:
        folder.joinpath(f"{day.name}.csv").write_text(text(day), encoding="utf-8")
        folder.joinpath(f"{day.name}.jsonl").write_text(capture(day), encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
