"""Blind cases: stories judged by hand, as minute readings with a sensor's noise, and what the review makes of them."""

import random
import tomllib
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

from advisor.readings.csv_file import CsvReadings
from advisor.readings.recorded import mark_until, read_recorded
from advisor.review.air_track import track_of
from advisor.review.causes import Causes, Outcome
from advisor.review.coat import UNSEEN, Below, Sighting, SprayedCoat, sighting
from advisor.review.reviewed import Reviewed, review
from advisor.shop.shop import Shop

FOLDER = Path(__file__).parent / "blind"
DAY = datetime(2025, 3, 12, tzinfo=UTC)
SHOP = Shop()
COLUMNS = {"air_temperature": 1, "relative_humidity": 2, "surface_temperature": 3, "dust": 4, "counts": 5}
HEADER = "time,air_temperature_c,relative_humidity_pct,surface_temperature_c,pm10_ug_per_m3,particles_5um_per_m3"
_AIR_NOISE, _DAMP_NOISE, _DUST_NOISE = 0.1, 0.5, 0.1  # [K], [%], of itself: what a usual sensor wavers by


@dataclass(frozen=True)
class Seen:
    """A defect and what truly caused it: mechanisms, `not-the-air` or `cannot-tell`."""

    defect: str
    truth: tuple[str, ...] | str
    looked: Sighting = UNSEEN


@dataclass(frozen=True)
class Case:
    """One coat that went wrong; its file is made when it is asked for."""

    name: str
    coat: SprayedCoat
    story: dict[str, Any]
    seen: tuple[Seen, ...]
    sensor_bad: bool = False
    data_missing: bool = False
    sibling: datetime | None = None
    noise: tuple[float, float] = (_AIR_NOISE, _DAMP_NOISE)

    @property
    def text(self) -> str:
        """The readings as a CSV file."""
        return minute_file(self.story, self.name, self.noise)


def when(text: str) -> datetime:
    """`14:05`, or `+1 14:05` of the day after."""
    day, _, clock = text.rpartition(" ")
    hour, minute = clock.split(":")
    return DAY + timedelta(days=int(day or 0), hours=int(hour), minutes=int(minute))


def between(points: list[list[Any]], moment: datetime, column: int = 1) -> float | None:
    """A straight line through points of (time, values); None outside them."""
    times = [when(point[0]) for point in points]
    if not times[0] <= moment <= times[-1]:
        return None
    for (start, first), (end, second) in pairwise(zip(times, points, strict=True)):
        if start <= moment <= end:
            part = (moment - start) / (end - start)
            return float(first[column] + (second[column] - first[column]) * part)
    return None


def minute_file(story: dict[str, Any], seed: str, noise: tuple[float, float]) -> str:
    """The course of a story as a CSV of minutes, with noise, gaps, and what a sensor held still."""
    dice = random.Random(seed)
    lines, moment = [HEADER], when(story["air"][0][0])
    gaps = [(when(start), when(end)) for start, end in story.get("gaps", [])]
    held = [(COLUMNS[what], when(start), when(end), value) for what, start, end, value in story.get("hold", [])]
    turned = [COLUMNS[name] for name in story.get("fahrenheit", [])]
    while moment <= when(story["air"][-1][0]):
        values: list[float | None] = [
            None,
            between(story["air"], moment, 1),
            between(story["air"], moment, 2),
            between(story["surface"], moment) if "surface" in story else None,
            between(story["dust"], moment) if "dust" in story else None,
            between(story["counts"], moment) if "counts" in story else None,
        ]
        dusty = ((values[column] or 0.0) * _DUST_NOISE for column in (4, 5))
        wavers = (0.0, noise[0], noise[1], noise[0], *dusty)
        values = [
            None if value is None else value + dice.gauss(0.0, waver)
            for value, waver in zip(values, wavers, strict=True)
        ]
        for column, start, end, value in held:
            if start <= moment <= end:
                values[column] = value
        for column in turned:
            value = values[column]
            values[column] = None if value is None else value * 1.8 + 32.0
        if not any(start < moment < end for start, end in gaps):
            fields = ["" if value is None else f"{value:.1f}" for value in values[1:]]
            lines.append(f"{moment:%Y-%m-%dT%H:%M}Z,{','.join(fields)}")
        moment += timedelta(minutes=1)
    return "\n".join(lines) + "\n"


def story_cases(folder: Path = FOLDER) -> list[Case]:
    """The stories."""
    return [_story(path) for path in sorted(folder.glob("*.toml"))]


def _story(path: Path) -> Case:
    story = tomllib.loads(path.read_text("utf-8"))
    said = dict(story["coat"])
    below, mixed, since = (said.pop(key, None) for key in ("below", "mixed_at", "in_room_since"))
    start = when(story["sprayed"])
    coat = SprayedCoat(
        coating=story["coating"], sprayed=start, ended=start + timedelta(minutes=story["minutes"]),
        below=None if below is None else Below(coating=below[0], sprayed=when(below[1])),
        mixed_at=None if mixed is None else when(mixed), in_room_since=None if since is None else when(since), **said,
    )  # fmt: skip
    seen = tuple(
        Seen(
            each["defect"],
            each["truth"] if isinstance(each["truth"], str) else tuple(each["truth"]),
            sighting(", ".join(each[key] for key in ("found", "where") if key in each) or None),
        )
        for each in story["seen"]
    )
    return Case(
        path.stem, coat, story, seen, story.get("sensor_bad", False),
        story.get("data_missing", False), when(story["sibling"]) if "sibling" in story else None,
    )  # fmt: skip


def reviewed(case: Case, seen: Seen, folder: Path, with_ways: bool = False) -> Reviewed:
    """The review of a case's file."""
    path = folder / "log.csv"
    path.write_text(case.text, encoding="utf-8")
    file = read_recorded(CsvReadings(path, SHOP.csv, None))
    marked = mark_until(file, file.readings[-1].at, False, SHOP.accuracy)
    below = None if case.coat.below is None else SHOP.coating(case.coat.below.coating)
    return review(
        replace(case.coat, seen=seen.looked), SHOP.coating(case.coat.coating),
        track_of(marked.readings, "shop", SHOP), SHOP, seen.defect, below,
        case.sibling, with_ways,
    )  # fmt: skip


def answer(causes: Causes) -> str:
    """What the review says first: a mechanism, or what it comes to."""
    if causes.outcome in (Outcome.CANNOT_TELL, Outcome.NOT_THE_AIR):
        return causes.outcome.value
    return causes.supported[0].mechanism.id


def right(seen: Seen, said: str) -> bool:
    """Whether the first answer is one of the true ones."""
    return said == seen.truth if isinstance(seen.truth, str) else said in seen.truth
