"""Films looked up between computed ones, so that judging a minute costs next to nothing.

Films are computed at whole degrees of air, whole kelvins of the piece's lag behind it, and 18 humidities; between these
they follow straight lines (times and water in logarithms). That is within 0.3 K of the film computed on the spot and
within 2 % RH of its onset, mostly below it (tested for lacquers; oil varnish 4 %): inside what the sensors know, and
without steps for a verdict to flicker on.
"""

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import replace
from math import exp, floor, isfinite, log

import numpy as np
from numpy.typing import NDArray

from advisor.advice.film_answer import HUMIDITIES, FilmAnswer, onset
from advisor.advice.wet_film import FilmCase, FilmOutcome, FilmSettings, dry_films
from advisor.physics.moist_air import RELATIVE_HUMIDITY_RANGE, dew_point

Array = NDArray[np.float64]

# a dispersion turns nowhere: its cooling follows humidity on a smooth line
_SMOOTH_HUMIDITIES = (0.08, 0.3, 0.45, 0.6, 0.7, 0.76, 0.82, 0.88, 0.94, 1.0)
_MOST_KEPT = 4_000  # ladders; a coating's whole shop year is some 300
_ladders: OrderedDict[tuple[FilmCase, FilmSettings], Array] = OrderedDict()
# the columns of a ladder
_LOWEST, _BELOW, _CONDENSED, _WATER, _CLEAR, _SLOW, _PACKING, _HAZE, _SET, _PACK, _DRY = range(11)


def film_between(case: FilmCase, settings: FilmSettings) -> FilmAnswer:
    """The answer for one film, between the four computed films about it and along the humidities."""
    air = floor(case.air_temperature)
    lag = floor(case.piece - case.air_temperature)
    across, along = case.air_temperature - air, case.piece - case.air_temperature - lag
    corners = {
        (air + i, lag + j): (across if i else 1.0 - across) * (along if j else 1.0 - along)
        for i in (0, 1)
        for j in (0, 1)
    }
    used = {corner: weight for corner, weight in corners.items() if weight > 0.0}
    ladders = _ladders_of(
        [
            replace(case, air_temperature=float(t), piece=float(t + d), relative_humidity=0.0, liquid=None)
            for t, d in used
        ],
        settings,
    )
    ladder: Array = sum(weight * each for weight, each in zip(used.values(), ladders, strict=True))  # type: ignore[assignment]
    humidity = max(case.relative_humidity, RELATIVE_HUMIDITY_RANGE[0])
    steps = rungs_of(case)
    row = np.array([np.interp(humidity, steps, column) for column in ladder.T])
    dew = float(dew_point(case.air_temperature, min(humidity, 1.0)))
    rungs = np.asarray(dew_point(case.air_temperature, np.array(steps)))
    return FilmAnswer(
        case=case,
        outcome=_outcome(row, case.air_temperature, dew),
        blush_onset=None if case.mix.dispersion else onset(ladder[:, _HAZE].tolist(), steps),
        dew_onset=onset((rungs - ladder[:, _LOWEST] - case.air_temperature).tolist(), steps),
    )


def rungs_of(case: FilmCase) -> tuple[float, ...]:
    """The humidities [fraction] at which a film's ladder is computed."""
    return _SMOOTH_HUMIDITIES if case.mix.dispersion else HUMIDITIES


def compute_ladders(cases: Sequence[FilmCase], settings: FilmSettings) -> None:
    """Compute in one batch what looking these cases up will need: one batch costs little more than one case."""
    corners = {
        replace(
            case,
            air_temperature=float(floor(case.air_temperature)) + i,
            piece=float(floor(case.air_temperature)) + i + floor(case.piece - case.air_temperature) + j,
            relative_humidity=0.0,
            liquid=None,
        )
        for case in cases
        for i in (0, 1)
        for j in (0, 1)
    }
    _ladders_of(sorted(corners, key=lambda case: (case.air_temperature, case.piece)), settings)


def _ladders_of(cases: Sequence[FilmCase], settings: FilmSettings) -> list[Array]:
    """The ladder of each case, those not known yet computed in one batch."""
    missing = [case for case in cases if (case, settings) not in _ladders]
    if missing:
        steps = rungs_of(missing[0])
        asked = [replace(case, relative_humidity=humidity) for case in missing for humidity in steps]
        outcomes = dry_films(asked, settings, quick=True).outcomes
        for n, case in enumerate(missing):
            rungs = outcomes[n * len(steps) : (n + 1) * len(steps)]
            _ladders[case, settings] = np.array([_row(each, case.air_temperature) for each in rungs])
    found = [_ladders[case, settings] for case in cases]
    while len(_ladders) > _MOST_KEPT:
        _ladders.popitem(last=False)
    return found


def _row(outcome: FilmOutcome, air: float) -> list[float]:
    return [
        outcome.lowest - air,
        outcome.below_dew,
        outcome.condensed,
        _log(outcome.water_to_slow_solvent),
        _log(outcome.clear_up_to),
        outcome.slow_share,
        outcome.at_packing - air,
        outcome.haze,
        _log(outcome.to_set),
        _log(outcome.to_pack),
        _log(outcome.to_dry),
    ]


def _outcome(row: Array, air: float, dew: float) -> FilmOutcome:
    return FilmOutcome(
        lowest=float(row[_LOWEST]) + air,
        dew_point=dew,
        below_dew=float(row[_BELOW]),
        condensed=float(row[_CONDENSED]),
        water_to_slow_solvent=exp(row[_WATER]),
        clear_up_to=exp(row[_CLEAR]),
        slow_share=float(row[_SLOW]),
        at_packing=float(row[_PACKING]) + air,
        haze=float(row[_HAZE]),
        to_set=_seconds(row[_SET]),
        to_pack=_seconds(row[_PACK]),
        to_dry=_seconds(row[_DRY]),
    )


def _log(value: float | None) -> float:
    return float("nan") if value is None else log(max(value, 1e-12))


def _seconds(logarithm: float) -> float | None:
    return exp(logarithm) if isfinite(logarithm) else None
