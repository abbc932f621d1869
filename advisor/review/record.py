"""A review as the plain record that goes out as JSON: °C, fraction, Pa, m, s, kg/m2; times UTC; unknown is null."""

from datetime import datetime
from typing import Any

from advisor.advice.record import SCHEMA, exact, utc
from advisor.advice.trace import Window
from advisor.catalog.mechanisms import Mechanism
from advisor.review import words
from advisor.review.causes import Cause
from advisor.review.exposure import Exposures
from advisor.review.found import Exposure
from advisor.review.reviewed import Reviewed
from advisor.review.ways import Way
from advisor.shop.shop import Shop
from advisor.times import moment_at


def review_record(reviews: list[Reviewed], shop: Shop, computed_at: datetime, place: str) -> dict[str, Any]:
    """The record of one or several coats."""
    return {
        "schema": SCHEMA,
        "computed_at": utc(computed_at),
        "place": place,
        "coats": [_coat(each, shop) for each in reviews],
    }


def _coat(found: Reviewed, shop: Shop) -> dict[str, Any]:
    coat, causes = found.coat, found.causes
    beside = found.sibling
    return {
        "name": coat.name or None,
        "coating": coat.coating,
        "sprayed": utc(coat.sprayed),
        "ended": utc(coat.end(shop)),
        "thinner": coat.thinner,
        "defect": causes.defect,
        "seen": {"after": exact(coat.seen.after), "found": coat.seen.found or None, "where": coat.seen.where or None},
        "outcome": causes.outcome.value,
        "cannot_tell": found.cannot_tell,
        "exposures": _exposures(found.exposed),
        "causes": [_cause(cause, shop) for cause in causes.judged],
        "not_the_air": [_other(mechanism) for mechanism in causes.others],
        "sibling": None
        if beside is None
        else {
            "sprayed": utc(beside.exposed.seen.coat.sprayed),
            "cleared": beside.cleared,
            "exposures": _exposures(beside.exposed),
            "causes": [_cause(cause, shop) for cause in beside.causes.judged],
        },
        "ways": [_way(way, shop) for way in found.ways],
        "doubted": words.doubted(found, shop),
        "question": words.question(found, shop) or None,
        "words": words.told(found, shop),
    }


def _exposures(exposed: Exposures) -> list[dict[str, Any]]:
    return [_exposure(each) for each in exposed.by_name.values()]


def _exposure(found: Exposure) -> dict[str, Any]:
    return {
        "exposure": found.name,
        "measured": exact(found.measured),
        "unit": found.unit,
        "uncertainty": exact(found.uncertainty) if found.measured is not None else None,
        "uncertainty_of_logarithm": found.as_logarithm,
        "window": None if found.window is None else _window(found.window),
        "covered": exact(found.covered),
        "gaps": [_window(gap) for gap in found.gaps],
        "reason": found.reason or None,
        "figures": {name: exact(value) for name, value in found.figures},
    }


def _window(window: Window) -> dict[str, str]:
    return {"from": utc(moment_at(window.start)), "until": utc(moment_at(window.end))}


def _cause(cause: Cause, shop: Shop) -> dict[str, Any]:
    return {
        "mechanism": cause.mechanism.id,
        "kind": cause.mechanism.kind,
        "standing": cause.standing.value,
        "exposure": cause.exposure,
        "measured": exact(cause.measured),
        "limit": exact(cause.limit),
        "unit": cause.unit,
        "uncertainties_over": exact(cause.sure),
        "widths_over": exact(cause.excess) if cause.sure is not None else None,
        "looks_like_it": cause.fit,
        "reason": cause.reason or None,
        "can_cause": list(cause.mechanism.defects),
        "words": words.cause(cause, shop),
        "proof": cause.mechanism.proof,
        "change": cause.mechanism.change,
        "repair": cause.mechanism.repair,
        "source": cause.source,
    }


def _other(mechanism: Mechanism) -> dict[str, Any]:
    return {
        "mechanism": mechanism.id, "label": mechanism.label, "change": mechanism.change, "repair": mechanism.repair,
    }  # fmt: skip


def _way(way: Way, shop: Shop) -> dict[str, Any]:
    air = way.air
    return {
        "kind": way.kind if air is None else air.kind,
        "state": way.state.value,
        "sprayed": utc(way.coat.sprayed),
        "air_temperature": None if air is None else exact(air.temperature),
        "relative_humidity": None if air is None else exact(air.relative_humidity),
        "thinner": way.coat.thinner if air is None else air.pot.thinner,
        "retarder": exact(way.coat.retarder if air is None else air.pot.retarder),
        "mends": {name: exact(value) for name, value in way.mends},
        "words": words.way(way, shop),
    }
