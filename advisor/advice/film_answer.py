"""One film answered in full: what it does in this air, and the humidity from which it blushes or meets the dew."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import isfinite

from advisor.advice.wet_film import FilmCase, FilmOutcome, FilmSettings, dry_films

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


def film_answer(case: FilmCase, settings: FilmSettings) -> FilmAnswer:
    """The answer for one film, its onsets looked for once more between the rungs they were found between."""
    rough = film_answers([case], settings)[0]
    blush, dew = _between(rough.blush_onset), _between(rough.dew_onset)
    asked = [replace(case, relative_humidity=rung) for rung in (*blush, *dew)]
    finer = dry_films(asked, settings).outcomes if asked else ()
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
    cases: Sequence[FilmCase], settings: FilmSettings, quick: bool = False, rungs: Sequence[float] = HUMIDITIES
) -> list[FilmAnswer]:
    """Answers for several films of one resin, all dried in one batch; rungs: humidities onsets are sought between."""
    asked = [*cases, *(replace(case, relative_humidity=rh) for case in cases for rh in rungs)]
    outcomes = dry_films(asked, settings, quick=quick).outcomes
    answers = []
    for n, case in enumerate(cases):
        start = len(cases) + n * len(rungs)
        ladder = outcomes[start : start + len(rungs)]
        haze = [each.haze for each in ladder]
        cold = [each.dew_point - each.lowest for each in ladder]
        never = case.mix.dispersion or ladder[0].to_set is None  # not judged by it, or followed too short to say
        blush = None if never else onset(haze, rungs)
        answers.append(FilmAnswer(case, outcomes[n], blush, onset(cold, rungs)))
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
