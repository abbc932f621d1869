"""One film answered in full: what it does in this air, and the humidity from which it blushes or meets the dew."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import isfinite

import numpy as np

from advisor.advice.wet_film import FilmCase, FilmOutcome, FilmSettings, dry_films

_HUMIDITIES = tuple(round(float(x), 4) for x in np.linspace(0.08, 1.0, 24))  # 4 % apart; onsets lie between by a line
_REMEMBERED = 2_000  # answers kept; a day of minutes repeats itself


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


@lru_cache(maxsize=_REMEMBERED)
def film_answer(case: FilmCase, settings: FilmSettings) -> FilmAnswer:
    """The answer for one film."""
    return film_answers([case], settings)[0]


def film_answers(cases: Sequence[FilmCase], settings: FilmSettings) -> list[FilmAnswer]:
    """Answers for several films of one resin, all dried in one batch."""
    asked = [*cases, *(replace(case, relative_humidity=rh) for case in cases for rh in _HUMIDITIES)]
    outcomes = dry_films(asked, settings).outcomes
    answers = []
    for n, case in enumerate(cases):
        start = len(cases) + n * len(_HUMIDITIES)
        ladder = outcomes[start : start + len(_HUMIDITIES)]
        haze = [each.haze for each in ladder]
        cold = [each.dew_point - each.lowest for each in ladder]
        blush = None if case.mix.dispersion else _onset(haze)
        answers.append(FilmAnswer(case, outcomes[n], blush, _onset(cold)))
    return answers


def _onset(heights: Sequence[float]) -> float | None:
    """The humidity from which a measure stays over 0, on the straight line between two rungs; None if it never does."""
    if not isfinite(heights[-1]) or heights[-1] <= 0.0:
        return None
    last = max((n for n, height in enumerate(heights) if not height > 0.0), default=-1)
    if last < 0:
        return _HUMIDITIES[0]
    low, high = heights[last], heights[last + 1]
    part = -low / (high - low) if isfinite(low) else 1.0
    return _HUMIDITIES[last] + part * (_HUMIDITIES[last + 1] - _HUMIDITIES[last])
