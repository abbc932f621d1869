"""`advisor learn`: what the shop's own coats say of each limit. Shown, never applied."""

from datetime import datetime
from typing import Annotated

import typer

from advisor.cli.options import JsonOption
from advisor.cli.paper import Answer
from advisor.desk.read_back import Failed, coats_of_job, place_of_job
from advisor.errors import CatalogError
from advisor.logbook.job_log import JobLog
from advisor.review.air_track import track_about
from advisor.review.causes import causes_of
from advisor.review.exposure import many_exposures
from advisor.review.learning import learn
from advisor.review.page.report_words import learned_record, learned_told
from advisor.say.as_json import headed
from advisor.series.air_track import AirTrack
from advisor.shop.shop import Shop
from advisor.sources.log_air import log_air

_HOUR = 3_600_000  # [ms]
_BEFORE, _AFTER = 4 * _HOUR, 14 * _HOUR  # what a piece follows, and the night after


def run_learn(
    shop: Shop,
    now: datetime,
    coating: Annotated[str | None, typer.Option("--coating", help="This coating alone.")] = None,
    as_json: JsonOption = False,
) -> Answer:
    """Say how often your own coats failed within and beyond each limit. Nothing is changed by it."""
    if coating is not None:
        shop.coating(coating)
    shop, coats, tracks = _read(shop, coating)
    answers, lines = [], []
    for name in sorted({asked.coat.coating for asked, _ in coats}):
        try:
            own = shop.coating(name)
        except CatalogError as error:
            lines.append(f"{name}: {error}")
            continue
        judged = []
        for place, track in tracks.items():
            mine = [asked for asked, where in coats if asked.coat.coating == name and where == place]
            under = [None if one.coat.below is None else shop.coating(one.coat.below.coating) for one in mine]
            pairs = [(one.coat, below) for one, below in zip(mine, under, strict=True)]
            exposed = many_exposures(pairs, own, track, shop) if mine else []
            causes = [causes_of(seen.by_name, own, shop, None).judged for seen in exposed]
            judged += [(cause, one.defect) for cause, one in zip(causes, mine, strict=True)]
        learned = learn(judged)
        failed = sum(defect is not None for _, defect in judged)
        lines += learned_told(own.name, len(judged), failed, learned, shop)
        answers.append(
            {"coating": name, "coats": len(judged), "failed": failed, "learned": [*map(learned_record, learned)]}
        )
    lines = lines or ["No coats in the logbook yet: advisor job keeps them."]
    return headed(now, {"coatings": answers}) if as_json else lines, 0


def _read(shop: Shop, coating: str | None) -> tuple[Shop, list[tuple[Failed, str]], dict[str, AirTrack]]:
    """The shop with its calibrations, its coats, each with the place it was sprayed at, and the air over them there."""
    with log_air(shop) as air:
        coats: list[tuple[Failed, str]] = []
        for job in JobLog(air.air_log.connection).jobs():
            if not job.on_piece:
                continue
            where = air.place(None, place_of_job(job))
            coats += [(asked, where) for asked in coats_of_job(job) if coating in (None, asked.coat.coating)]
        tracks = {}
        for place in sorted({where for _, where in coats}):
            here = [asked.coat for asked, where in coats if where == place]
            tracks[place] = track_about(air, place, here, None, _BEFORE, _AFTER)
    return air.shop, coats, tracks
