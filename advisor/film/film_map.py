"""One film answered in full: what it does in this air, and the humidity from which it blushes or meets the dew.

Films looked up between computed ones, so that judging a minute costs next to nothing.

Films are computed at whole degrees of air, whole kelvins of the piece's lag behind it, and 18 humidities; between these
they follow straight lines (times and water in logarithms). That is within 0.3 K of the film computed on the spot and
within 2 % RH of its onset, mostly below it (tested for lacquers; oil varnish 4 %): inside what the sensors know, and
without steps for a verdict to flicker on.
"""

from collections import OrderedDict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import exp, floor, isfinite, log
from typing import TypeVar

import numpy as np

from advisor.film.wet_film import FilmCase, FilmOutcome, dry_films
from advisor.physics.air.moist_air import RELATIVE_HUMIDITY_RANGE, dew_point
from advisor.physics.basics import Array
from advisor.shop.shop import Shop

# the rungs between which onsets lie on a straight line; close together where lacquers turn
HUMIDITIES = (
    *(0.08, 0.3, 0.45, 0.55, 0.6, 0.64, 0.67, 0.7, 0.73, 0.76),
    *(0.79, 0.82, 0.85, 0.88, 0.91, 0.94, 0.97, 1.0),
)
_FINER = 8  # parts a gap between rungs is cut into where an onset lies in it


@dataclass(frozen=True)
class FilmAnswer:
    """A film's outcome, and the relative humidities [fraction] at which things begin, all else alike.

    blush_onset: the film holds more water at set than stays clear; None where saturated air does not do it, or the
    measure does not apply (a dispersion). dew_onset: its lowest temperature meets the air's dew point.
    """

    case: FilmCase
    outcome: FilmOutcome
    blush_onset: float | None
    dew_onset: float | None


def film_answer(case: FilmCase, shop: Shop) -> FilmAnswer:
    """The answer for one film, its onsets looked for once more between the rungs they were found between."""
    rough = film_answers([case], shop)[0]
    blush, dew = _between(rough.blush_onset), _between(rough.dew_onset)
    asked = [replace(case, relative_humidity=rung) for rung in (*blush, *dew)]
    finer = dry_films(asked, shop).outcomes if asked else ()
    hazy = onset([each.haze for each in finer[: len(blush)]], blush) if blush else rough.blush_onset
    cold = onset([each.dew_point - each.lowest for each in finer[len(blush) :]], dew) if dew else rough.dew_onset
    return replace(rough, blush_onset=hazy, dew_onset=cold)


def _between(begin: float | None) -> list[float]:
    """Humidities about an onset from the rung below it to the rung above."""
    if begin is None or begin <= HUMIDITIES[0]:
        return []
    above = next(n for n, rung in enumerate(HUMIDITIES) if rung >= begin)
    low, high = HUMIDITIES[above - 1], HUMIDITIES[above]
    return [low + (high - low) * step / _FINER for step in range(_FINER + 1)]


def film_answers(
    cases: Sequence[FilmCase], shop: Shop, quick: bool = False, rungs: Sequence[float] = HUMIDITIES
) -> list[FilmAnswer]:
    """Answers for several films of one resin, all dried in one batch; rungs: humidities onsets are sought between."""
    asked = [*cases, *(replace(case, relative_humidity=rh) for case in cases for rh in rungs)]
    outcomes = dry_films(asked, shop, quick=quick).outcomes
    answers = []
    for n, case in enumerate(cases):
        start = len(cases) + n * len(rungs)
        ladder = outcomes[start : start + len(rungs)]
        never = case.mix.dispersion or ladder[0].to_set is None  # not judged by it, or followed too short to say
        blush = None if never else onset([each.haze for each in ladder], rungs)
        dew = onset([each.dew_point - each.lowest for each in ladder], rungs)
        answers.append(FilmAnswer(case, outcomes[n], blush, dew))
    return answers


def onset(heights: Sequence[float], rungs: Sequence[float] = HUMIDITIES) -> float | None:
    """The lowest humidity at which a measure comes over 0, on a straight line between rungs; None if it never does."""
    first = next((n for n, height in enumerate(heights) if height > 0.0), None)
    if first is None:
        return None
    if first == 0:
        return rungs[0]
    low, high = heights[first - 1], heights[first]
    part = -low / (high - low) if isfinite(low) else 1.0
    return rungs[first - 1] + part * (rungs[first] - rungs[first - 1])


Kept = TypeVar("Kept")

# a dispersion turns nowhere: its cooling follows humidity on a smooth line
_SMOOTH_HUMIDITIES = (0.08, 0.3, 0.45, 0.6, 0.7, 0.76, 0.82, 0.88, 0.94, 1.0)
_MOST_LADDERS = 4_000  # a coating's whole shop year is some 300
_MOST_DRIED = 2_000
# the columns of a ladder
_LOWEST, _BELOW, _CONDENSED, _WATER, _CLEAR, _SLOW, _PACKING, _HAZE, _SET, _PACK, _DRY = range(11)


class Films:
    """A table of films in one shop's settings: what was computed once is looked up from then on.

    Whoever judges holds one and passes it along; it forgets what was computed first when it is full.
    """

    def __init__(self, shop: Shop) -> None:
        self.shop = shop
        self._ladders: OrderedDict[FilmCase, Array] = OrderedDict()
        self._dried: OrderedDict[FilmCase, FilmOutcome] = OrderedDict()

    def between(self, case: FilmCase) -> FilmAnswer:
        """The answer for one film, between the four computed films about it and along the humidities."""
        across = case.air_temperature - floor(case.air_temperature)
        lag = case.piece - case.air_temperature
        along = lag - floor(lag)
        weights = [(1.0 - across) * (1.0 - along), (1.0 - across) * along, across * (1.0 - along), across * along]
        used = {corner: weight for corner, weight in zip(_corners(case), weights, strict=True) if weight > 0.0}
        ladders = self._ladders_of(list(used))
        ladder: Array = sum(weight * each for weight, each in zip(used.values(), ladders, strict=True))  # type: ignore[assignment]
        humidity = min(max(case.relative_humidity, RELATIVE_HUMIDITY_RANGE[0]), 1.0)
        steps = rungs_of(case)
        dew, *rungs = np.asarray(dew_point(case.air_temperature, np.array([humidity, *steps]))).tolist()
        cold = np.array(rungs) - ladder[:, _LOWEST] - case.air_temperature
        return FilmAnswer(
            case=case,
            outcome=_outcome(_at(humidity, steps, ladder), case.air_temperature, dew),
            blush_onset=None if case.mix.dispersion else onset(ladder[:, _HAZE].tolist(), steps),
            dew_onset=onset(cold.tolist(), steps),
        )

    def compute(self, cases: Iterable[FilmCase]) -> None:
        """Compute in one batch what looking these cases up will need: one batch costs little more than one case."""
        corners = {corner for case in cases for corner in _corners(case)}
        self._ladders_of(sorted(corners, key=lambda case: (case.air_temperature, case.piece)))

    def dried(self, cases: Sequence[FilmCase]) -> list[FilmOutcome]:
        """The outcome of each film dried to recoat; those not known yet are computed in one batch for each pressure."""
        missing = [case for case in dict.fromkeys(cases) if case not in self._dried]
        for pressure in {case.pressure for case in missing}:
            batch = [case for case in missing if case.pressure == pressure]
            outcomes = dry_films(batch, self.shop, to_dry=True, quick=True).outcomes
            self._dried.update(zip(batch, outcomes, strict=True))
        return _kept(self._dried, cases, _MOST_DRIED)

    def _ladders_of(self, cases: Sequence[FilmCase]) -> list[Array]:
        """The ladder of each case, those not known yet computed in one batch."""
        missing = [case for case in cases if case not in self._ladders]
        asked = [replace(case, relative_humidity=humidity) for case in missing for humidity in rungs_of(case)]
        outcomes = iter(dry_films(asked, self.shop, quick=True).outcomes if asked else ())
        for case in missing:
            self._ladders[case] = np.array([_row(next(outcomes), case.air_temperature) for _ in rungs_of(case)])
        return _kept(self._ladders, cases, _MOST_LADDERS)


def _kept(table: OrderedDict[FilmCase, Kept], cases: Sequence[FilmCase], most: int) -> list[Kept]:
    """What a table holds of these cases; what it learned first goes where it holds too much."""
    found = [table[case] for case in cases]
    while len(table) > most:
        table.popitem(last=False)
    return found


def rungs_of(case: FilmCase) -> tuple[float, ...]:
    """The humidities [fraction] at which a film's ladder is computed."""
    return _SMOOTH_HUMIDITIES if case.mix.dispersion else HUMIDITIES


def _corners(case: FilmCase) -> list[FilmCase]:
    """The four films about one: whole degrees of air, each with whole kelvins of the piece's lag behind it."""
    air, lag = floor(case.air_temperature), floor(case.piece - case.air_temperature)
    return [
        replace(case, air_temperature=float(warm), piece=float(warm + apart), relative_humidity=0.0, liquid=None)
        for warm in (air, air + 1)
        for apart in (lag, lag + 1)
    ]


def _at(humidity: float, steps: Sequence[float], ladder: Array) -> Array:
    """The figures of a ladder (rungs, figures) at a humidity, held at its ends; NaN beside a figure not known."""
    held = min(max(humidity, steps[0]), steps[-1])
    under = min(int(np.searchsorted(steps, held, side="right")), len(steps) - 1) - 1
    if held in (steps[under], steps[under + 1]):
        return np.asarray(ladder[under + (held != steps[under])])
    rise = (ladder[under + 1] - ladder[under]) / (steps[under + 1] - steps[under])
    return np.asarray(rise * (held - steps[under]) + ladder[under])


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
