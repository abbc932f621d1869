"""Where a trace is silent, and why: what a picture leaves open and a report names.

The film of a coat in time: the one of its spraying that went furthest under the dew point, to be drawn.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from advisor.film.wet_film import dry_films, film_settings
from advisor.physics.basics import Array
from advisor.review.exposure import Exposures
from advisor.review.of_the_coat import IN_SPRAYING, cases_at, mix_as_sprayed
from advisor.review.reviewed import Reviewed
from advisor.series.trace import Trace, Window, samples

_NEAR = 900.0  # [s] after which the air is not taken to be as it was read


@dataclass(frozen=True)
class Unread:
    """A stretch [s since 1970] without a reading that counts, or the readings in one that do not.

    reason: the mark, of a silence the commonest of what was read in it, empty for nothing. count: of those readings, 0
    for a silence.
    """

    start: float
    end: float
    reason: str
    count: int = 0


def silences(trace: Trace, window: Window) -> tuple[Unread, ...]:
    """Stretches longer than a quarter of an hour without a reading that counts, as far as they lie in a window."""
    times = trace.times.tolist()
    begins = [min([window.start, *times[:1]]), *times]
    ends = [*times, max([window.end, *times[-1:]])]
    found = []
    for before, after in zip(begins, ends, strict=True):
        start, end = max(before, window.start), min(after, window.end)
        if after - before > _NEAR and end > start:
            found.append(Unread(start, end, trace.fault(Window(before, after))))
    return tuple(found)


def marked(trace: Trace, window: Window, silent: Sequence[Unread]) -> tuple[Unread, ...]:
    """Readings of a window that do not count though others beside them do."""
    found: dict[str, list[float]] = {}
    for at, reason, _ in trace.faults:
        if window.start <= at <= window.end and not any(gap.start <= at <= gap.end for gap in silent):
            found.setdefault(reason, []).append(at)
    return tuple(Unread(min(times), max(times), reason, len(times)) for reason, times in sorted(found.items()))


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
    seen, coat = exposed.seen, exposed.seen.coat
    mix = mix_as_sprayed(coat, seen.coating)
    tried = list(cases_at(coat, seen.track, samples(seen.windows.spray, IN_SPRAYING), mix, seen.shop).items())
    if not tried:
        return None
    run = dry_films([case for _, case in tried], film_settings(seen.shop), quick=True)
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
