"""Where a trace is silent, and why: what a picture leaves open and a report names.

The film of a coat in time: the one of its spraying that went furthest under the dew point, to be drawn.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from advisor.film.mix import fastest, mix_of
from advisor.film.wet_film import FilmCase, dry_films
from advisor.judge.film_rules import case_of
from advisor.physics.basics import Array
from advisor.review.exposure import Exposures
from advisor.review.of_the_coat import pot_of
from advisor.review.reviewed import Reviewed
from advisor.series.trace import Trace, Window, samples

_NEAR = 900.0  # [s] after which the air is not taken to be as it was read


@dataclass(frozen=True)
class Silence:
    """A stretch without a reading that counts; reason: the commonest mark of what was read in it, empty for nothing."""

    start: float
    end: float
    reason: str


@dataclass(frozen=True)
class Marked:
    """Readings that do not count, by their mark, outside the silences; first, last [s since 1970]."""

    reason: str
    count: int
    first: float
    last: float


def silences(trace: Trace, window: Window) -> tuple[Silence, ...]:
    """Stretches longer than a quarter of an hour without a reading that counts, as far as they lie in a window."""
    times = trace.times.tolist()
    begins = [min([window.start, *times[:1]]), *times]
    ends = [*times, max([window.end, *times[-1:]])]
    found = []
    for before, after in zip(begins, ends, strict=True):
        start, end = max(before, window.start), min(after, window.end)
        if after - before > _NEAR and end > start:
            found.append(Silence(start, end, trace.fault(Window(before, after))))
    return tuple(found)


def marked(trace: Trace, window: Window, silent: Sequence[Silence]) -> tuple[Marked, ...]:
    """Readings of a window that do not count though others beside them do."""
    found: dict[str, list[float]] = {}
    for at, reason, _ in trace.faults:
        if window.start <= at <= window.end and not any(gap.start <= at <= gap.end for gap in silent):
            found.setdefault(reason, []).append(at)
    return tuple(Marked(reason, len(times), min(times), max(times)) for reason, times in sorted(found.items()))


_IN_SPRAYING = 4  # films computed over the minutes of spraying, as the review does
_ARRIVAL = 3.0  # [s] in which the step of arriving is not the film's own
_LEAST, _LONGEST = 300.0, 3_600.0  # [s] shown


@dataclass(frozen=True, eq=False)
class FilmTrack:
    """times [s since 1970], temperature [°C] of the film; the air's temperature and dew point then [°C].

    landed: when [s since 1970]. below: time under the dew point until the film is judged [s]. closed: when it set, or
    its particles packed [s since 1970]; None where it did not in the time shown.
    """

    times: Array
    temperature: Array
    air: float
    dew_point: float
    landed: float
    below: float
    closed: float | None

    @property
    def lowest(self) -> float:
        """The lowest temperature shown [°C]."""
        return float(self.temperature.min())


def film_tracks(found: Reviewed) -> tuple[FilmTrack | None, ...]:
    """The film of the coat, and of the coat beside it where there is one."""
    beside = () if found.sibling is None else (found.sibling.exposed,)
    return tuple(film_track(each) for each in (found.exposed, *beside))


def film_track(exposed: Exposures) -> FilmTrack | None:
    """The film to draw; None where the air at the spraying was not read."""
    seen = exposed.seen
    coat, spray = seen.coat, seen.windows.spray
    mix = mix_of(seen.coating, coat.thinner or fastest(seen.coating), coat.retarder or 0.0)
    if coat.wet_film is not None:
        mix = replace(mix, wet_film=coat.wet_film)
    tried: list[tuple[float, FilmCase]] = []
    for moment in samples(spray, _IN_SPRAYING):
        case = case_of(seen.track.conditions(moment, seen.shop, coat.surface), seen.shop, pot_of(coat), mix)
        if case is not None:
            tried.append((moment, replace(case, liquid=coat.material)))
    if not tried:
        return None
    run = dry_films([case for _, case in tried], seen.shop, quick=True)
    worst = max(range(len(tried)), key=lambda index: run.outcomes[index].dew_point - run.outcomes[index].lowest)
    (start, case), outcome = tried[worst], run.outcomes[worst]
    closes = outcome.to_pack if mix.dispersion else outcome.to_set
    end = min(_LONGEST, max(_LEAST, 1.6 * (closes or _LONGEST)))
    moments = run.history.moments
    shown = (moments >= _ARRIVAL) & (moments <= end)
    return FilmTrack(
        times=np.asarray(start + moments[shown]),
        temperature=np.asarray(run.history.temperature[shown, worst]),
        air=case.air_temperature,
        dew_point=outcome.dew_point,
        landed=start,
        below=outcome.below_dew,
        closed=start + closes if closes is not None and closes <= end else None,
    )
