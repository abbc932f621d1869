"""`advisor learn`: what the shop's own coats say of each limit. Shown, never applied."""

import json
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from advisor.advice.conditions import outdoor_names
from advisor.cli.paper import print_wrapped
from advisor.cli.review import Asked, coats_of_job, place_of_job
from advisor.errors import CatalogError
from advisor.logbook.air_log import AirLog
from advisor.logbook.calibration_log import calibrations_in_force, with_calibrations
from advisor.logbook.job_log import JobLog
from advisor.logbook.present import place_to_spray
from advisor.logbook.store import logbook, logbook_path
from advisor.review.air_track import AirTrack, track_of
from advisor.review.causes import causes_of
from advisor.review.exposure import many_exposures
from advisor.review.learning import learn
from advisor.review.log_read import logged
from advisor.review.report_words import learned_record, learned_told
from advisor.say.as_json import SCHEMA, utc
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop

_HOUR = 3_600_000  # [ms]
_BEFORE, _AFTER = 4 * _HOUR, 14 * _HOUR  # what a piece follows, and the night after


@dataclass(frozen=True)
class _Year:
    """The shop's coats, by the place they were sprayed at, with the air over them."""

    shop: Shop
    coats: tuple[tuple[Asked, str], ...]
    tracks: dict[str, AirTrack]


def run_learn(config: Path | None, coating: str | None, as_json: bool) -> int:
    """Read every coat of every job back, print what they come to; exit code 0."""
    now = datetime.now(UTC)
    shop = shop_from(config)
    if coating is not None:
        shop.coating(coating)
    year = _read(shop, coating)
    answers, lines = [], []
    for name in sorted({asked.coat.coating for asked, _ in year.coats}):
        try:
            own = year.shop.coating(name)
        except CatalogError as error:
            lines.append(f"{name}: {error}")
            continue
        judged = []
        for place, track in year.tracks.items():
            mine = [asked for asked, where in year.coats if asked.coat.coating == name and where == place]
            under = [None if one.coat.below is None else year.shop.coating(one.coat.below.coating) for one in mine]
            pairs = [(one.coat, below) for one, below in zip(mine, under, strict=True)]
            exposed = many_exposures(pairs, own, track, year.shop) if mine else []
            for one, seen in zip(mine, exposed, strict=True):
                judged.append((causes_of(seen.by_name, own, year.shop, None).judged, one.defect))
        learned = learn(judged)
        failed = sum(defect is not None for _, defect in judged)
        lines += learned_told(own.name, len(judged), failed, learned, year.shop)
        answers.append(
            {"coating": name, "coats": len(judged), "failed": failed, "learned": [*map(learned_record, learned)]}
        )
    if as_json:
        whole = {"schema": SCHEMA, "computed_at": utc(now), "coatings": answers}
        print(json.dumps(whole, ensure_ascii=False, allow_nan=False))
    else:
        print_wrapped(lines or ["No coats in the logbook yet: advisor job keeps them."])
    return 0


def _read(shop: Shop, coating: str | None) -> _Year:
    path = logbook_path(shop.logbook)
    with logbook(path) as connection:
        shop = with_calibrations(shop, calibrations_in_force(connection))
        air_log = AirLog(connection)
        every = air_log.all_series()
        known = {series.place for series in every}
        coats = []
        for job in JobLog(connection).jobs():
            place = place_of_job(job)
            where = place if place in known and place is not None else place_to_spray(shop, every)
            coats += [(asked, where) for asked in coats_of_job(job) if coating in (None, asked.coat.coating)]
        tracks = {}
        for place in sorted({where for _, where in coats}):
            here = [asked.coat for asked, where in coats if where == place]
            readings = logged(air_log, (place, *outdoor_names(shop)), here, _BEFORE, _AFTER)
            tracks[place] = track_of(readings, place, shop)
    return _Year(shop, tuple(coats), tracks)
