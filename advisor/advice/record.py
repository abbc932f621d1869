"""A verdict as the plain record that goes out as JSON: °C, fraction, Pa, m, s; times UTC; missing numbers null.

Keys are only ever added; `schema` counts the forms.
"""

import math
from collections.abc import Sequence
from dataclasses import fields, replace
from datetime import UTC, datetime
from typing import Any

from advisor.advice import film_words, session_words, words
from advisor.advice.changes import Change
from advisor.advice.conditions import Surface
from advisor.advice.course import Moment
from advisor.advice.drying import DryingTimes
from advisor.advice.fan import fan_flow
from advisor.advice.film_answer import FilmAnswer
from advisor.advice.film_view import FilmView
from advisor.advice.finding import Finding
from advisor.advice.panel_rule import PANEL
from advisor.advice.remedies import Way
from advisor.advice.session import Failure, Session
from advisor.advice.vapour_rule import VapourNote
from advisor.advice.verdict import Verdict
from advisor.advice.warm_up import WarmUp
from advisor.errors import OutOfRange
from advisor.physics.air_state import AirState
from advisor.shop.shop import Shop

SCHEMA = 1


def verdict_record(
    verdict: Verdict,
    shop: Shop,
    computed_at: datetime,
    changes: Sequence[Change] = (),
    times: DryingTimes | None = None,
    session_ways: Sequence[Way] = (),
    ways_as_of: datetime | None = None,
) -> dict[str, Any]:
    """The record of one verdict, with the computed changes that would mend it, and when they were; None: not sought."""
    return {
        "schema": SCHEMA,
        "as_of": utc(verdict.as_of),
        "computed_at": utc(computed_at),
        "valid_until": utc(verdict.valid_until),
        "holds_until": None if verdict.holds_until is None else utc(verdict.holds_until),
        "coating": verdict.coating.id,
        "place": verdict.place,
        "state": verdict.state.value,
        "cannot_tell": verdict.cannot_tell,
        "air": None if verdict.air is None else _air(verdict.air, verdict.surface),
        "findings": [_finding(finding, verdict, shop) for finding in verdict.findings],
        "film": None if verdict.film is None else _film(verdict.film),
        "times": None if times is None else times_record(times),
        "time_ratios": None if times is None else ratios_record(times),
        "changes": [_change(way, verdict, shop) for way in changes],
        "as_it_stands": verdict.as_it_stands.value,
        "session": None if verdict.session is None else session_record(verdict.session),
        "remedies": [way_record(way, verdict, shop) for way in session_ways],
        "ways_as_of": None if ways_as_of is None else utc(ways_as_of),
        "warm_up": _warm_up(verdict.warm_up),
        "cautions": list(words.cautions(verdict)),
    }


def utc(moment: datetime) -> str:
    """ISO 8601 in UTC with Z, to the second."""
    return moment.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="seconds") + "Z"


def number(value: float | None) -> float | None:
    """A number for JSON: rounded to 1e-6, and null instead of NaN or infinity."""
    return round(value, 6) if value is not None and math.isfinite(value) else None


def exact(value: float | None) -> float | None:
    """Small SI figures for JSON (m3, m, m2/s, kg/s) to six digits, not to a millionth."""
    return float(f"{value:.6g}") if value is not None and math.isfinite(value) else None


def _air(air: AirState, surface: Surface | None) -> dict[str, Any]:
    return {
        "air_temperature": number(air.air_temperature),
        "air_temperature_uncertainty": number(air.air_temperature_uncertainty),
        "relative_humidity": number(air.relative_humidity),
        "relative_humidity_uncertainty": number(air.relative_humidity_uncertainty),
        "pressure": number(air.pressure),
        "dew_point": number(air.dew_point),
        "dew_point_uncertainty": number(air.dew_point_uncertainty),
        "humidity_ratio": _derived(air, "humidity_ratio"),
        "humidity_ratio_uncertainty": _derived(air, "humidity_ratio_uncertainty"),
        "wet_bulb": _derived(air, "wet_bulb"),
        "wet_bulb_uncertainty": _derived(air, "wet_bulb_uncertainty"),
        "surface_temperature": None if surface is None else number(surface.value),
        "surface_temperature_uncertainty": None if surface is None else number(surface.uncertainty),
        "surface_basis": None if surface is None else surface.basis,
    }


def _derived(air: AirState, name: str) -> float | None:
    """A derived figure that decides nothing; null where its equation does not reach."""
    try:
        return number(getattr(air, name))
    except OutOfRange:
        return None


def _finding(finding: Finding, verdict: Verdict, shop: Shop) -> dict[str, Any]:
    return {
        "rule": finding.rule,
        "level": finding.level.value,
        "deciding": finding.deciding,
        "side": finding.side.value,
        "quantity": finding.quantity or None,
        "reason": finding.reason or None,
        "measured": number(finding.measured),
        "limit": number(finding.limit),
        "go_limit": number(finding.go_limit),
        "unit": finding.unit,
        "margin": number(finding.margin),
        "uncertainty": number(finding.uncertainty),
        "remedy": words.remedy(replace(finding, remedies=words.told_remedies(finding, verdict)), verdict.coating, shop)
        or None,
        "remedies": [
            {
                "kind": way.kind,
                "target": number(way.target),
                "relative_humidity": number(way.relative_humidity),
                "state": way.state or None,
                "measure": way.measure,
                "together": way.together,
                "words": words.remedy(finding, verdict.coating, shop)
                if way.kind in ("read_again", "less_vapour")
                else words.remedy_words(way, verdict.coating, shop),
            }
            for way in words.told_remedies(finding, verdict)
        ],
        "words": words.reason(finding, verdict, shop) if finding.level.value != "ok" or finding.rule == PANEL else None,
        "figures": {name: number(value) for name, value in finding.figures},
        "source": finding.source,
    }


def _film(film: FilmView) -> dict[str, Any]:
    """What the wet film would do; the same keys as `advisor film`."""
    mix = film.blush.case.mix
    return {
        "thinner": mix.thinner,
        "thinner_unknown": film.thinner_unknown,
        "retarder": number(mix.retarder),
        "gun": film.blush.case.gun,
        "substrate": film.blush.case.substrate,
        **answer_record(film.blush),
    }


def answer_record(answer: FilmAnswer) -> dict[str, Any]:
    """A film's figures: °C, minutes and g/m2 where the key says so, fractions."""
    outcome, mix = answer.outcome, answer.case.mix
    judged = not mix.dispersion and mix.clear_by is None
    held = not mix.dispersion and outcome.water_to_slow_solvent <= film_words.MOST_WATER
    return {
        "lowest_film_temperature": number(outcome.lowest),
        "dew_point": number(outcome.dew_point),
        "minutes_below_dew": number(outcome.below_dew / 60.0),
        "water_condensed": number(outcome.condensed * 1e3),
        "water_to_slow_solvent_at_set": number(outcome.water_to_slow_solvent) if held else None,
        "water_to_slow_solvent_clear_up_to": number(outcome.clear_up_to) if judged else None,
        "slow_solvent_share_at_set": number(outcome.slow_share),
        "film_temperature_at_packing": number(outcome.at_packing) if answer.case.mix.dispersion else None,
        "blush_onset_relative_humidity": number(answer.blush_onset),
        "dew_onset_relative_humidity": number(answer.dew_onset),
    }


_RATIOS = ("closing", "drying", "reaction")


def times_record(times: DryingTimes) -> dict[str, Any]:
    """Times after spraying [s]."""
    return {each.name: number(getattr(times, each.name)) for each in fields(times) if each.name not in _RATIOS}


def ratios_record(times: DryingTimes) -> dict[str, Any]:
    """How the times follow from the sheet's: ratios to its reference conditions."""
    return {name: number(getattr(times, name)) for name in _RATIOS}


def _change(way: Change, verdict: Verdict, shop: Shop) -> dict[str, Any]:
    return {
        "kind": way.kind,
        "thinner": way.pot.thinner,
        "retarder": number(way.pot.retarder),
        "air_temperature": number(way.air_temperature),
        "relative_humidity": number(way.relative_humidity),
        "state": way.state.value,
        "panel_first": way.panel_first,
        "measure": way.measure,
        "recoat_from": number(way.recoat_from),
        "recoat_from_now": number(way.recoat_now),
        "words": film_words.change(way, verdict.coating, shop),
    }


def _warm_up(warm: WarmUp | None) -> dict[str, Any] | None:
    """How long a cold piece takes [s]; null where the present air never brings it there."""
    if warm is None:
        return None
    over_stacked, at_stacked = warm.stacked
    return {
        "over_dew_point": number(warm.over_dew),
        "over_dew_point_stacked": number(over_stacked),
        "dew_point_margin": number(warm.margin),
        "at_low_limit": number(warm.at_low),
        "at_low_limit_stacked": number(at_stacked),
        "low_limit": number(warm.low),
    }


def session_record(session: Session) -> dict[str, Any]:
    """The session reckoned: its plan [s], the air that comes in, and the minutes along it."""
    plan = session.plan
    return {
        "coats": plan.coats,
        "spray": number(plan.spray),
        "flash": number(plan.flash),
        "pause": number(plan.pause),
        "open_before": number(plan.open_before),
        "length": number(plan.length),
        "fan_after": number(plan.fan_after),
        "exhaust_flow": number(session.flow),
        "by_one_flow": session.by_one_flow,
        "outdoor_air_temperature": number(session.outdoors[0]),
        "outdoor_relative_humidity": number(session.outdoors[1]),
        "level": session.level.value,
        "first_stop": _failure(session.stop),
        "first_change": _failure(session.change),
        "minutes": [_moment(moment) for moment in session.moments],
    }


def vapour_record(note: VapourNote | None) -> dict[str, Any] | None:
    """The note for JSON: m3/s, m3, fractions, s."""
    if note is None:
        return None
    return {
        "made": exact(note.made),
        "share_of_lower_limit": note.share,
        "too_much": note.too_much,
        "exhaust_needed": exact(note.exhaust_needed),
        "mask_and_fan_at_least": number(max(note.fan_on, note.no_entry)),
        "fan_on_at_least": number(note.fan_on),
        "nobody_without_mask_for": number(note.no_entry),
        "spray_rate": exact(note.rate),
        "most_spray_rate": exact(note.most_rate),
        "room_volume": number(note.room),
        "exhaust_flow": number(note.flow),
        "taken": list(note.guessed),
    }


def _failure(failure: Failure | None) -> dict[str, Any] | None:
    if failure is None:
        return None
    return {
        "seconds": number(failure.moment.seconds),
        "rule": failure.finding.rule,
        "side": failure.finding.side.value,
        "measured": number(failure.finding.measured),
        "limit": number(failure.finding.limit),
        "unit": failure.finding.unit,
    }


def _moment(moment: Moment) -> dict[str, Any]:
    return {
        "seconds": number(moment.seconds),
        "air_temperature": number(moment.air_temperature),
        "relative_humidity": number(moment.relative_humidity),
        "dew_point": number(moment.dew_point),
        "surface_temperature": number(moment.surface),
        "spraying": moment.spraying,
    }


def way_record(way: Way, verdict: Verdict, shop: Shop) -> dict[str, Any]:
    """A way to a GO: what to do, its cost, and the state it was judged to end in."""
    return {
        "kind": way.kind,
        "state": way.state.value,
        "minutes": number(way.minutes),
        "energy": number(way.energy),
        "power": number(way.power),
        "temperature": number(way.temperature),
        "relative_humidity": number(way.relative_humidity),
        "make_up_air_rise": number(way.rise),
        "piece_temperature": number(way.pieces),
        "measure": way.measure,
        "thinner": way.pot.thinner,
        "retarder": number(way.pot.retarder),
        "coats": way.plan.coats,
        "exhaust_flow": number(fan_flow(shop)),
        "words": session_words.way_words(way, verdict.coating, shop),
    }
