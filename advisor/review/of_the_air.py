"""What the air did to a coat: one number each, over its window, with how much of the window was read."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from math import hypot, log
from typing import Any

import numpy as np

from advisor.catalog.coatings import Coating
from advisor.catalog.quantities import kind_of
from advisor.errors import OutOfRange
from advisor.judge.conditions import surface_of_piece
from advisor.physics.air import moist_air
from advisor.physics.basics import Array
from advisor.physics.room.particles import dust_index
from advisor.review.causes import NO_SENSOR
from advisor.review.coat import Exposure, SprayedCoat
from advisor.review.of_the_coat import FilmSeen
from advisor.review.windows import BEFORE, Windows
from advisor.room.dust import CLEANEST, clean_dust, counting_uncertainty, dust_limit
from advisor.series.air_track import AirTrack
from advisor.series.trace import AIR, HUMIDITY, NOTHING, SURFACE, Trace, Window, every, samples
from advisor.shop.shop import Shop

GAP = "gap"
_IN_A_ROW = 5  # counts whose middle one stands for them
_MIST = 600.0  # [s] after the gun in which a counter sees overspray


@dataclass(frozen=True)
class Seen:
    """A coat with the air over it. windows: its stretches; mattered: the same up to the sighting of its defect, or now,
    which its exposures are read from.
    """

    coat: SprayedCoat
    coating: Coating
    track: AirTrack
    film: FilmSeen | None
    windows: Windows
    mattered: Windows
    shop: Shop


def _blank(name: str, unit: str, window: Window, traces: Sequence[Trace], shop: Shop) -> Exposure:
    """An exposure without its number yet: why it is none, where the window was not read."""
    reason, covered = "", min(trace.covered(window) for trace in traces)
    if covered < shop.limit("review_covered").value:
        faults = [fault for trace in traces if (fault := trace.fault(window))]
        reason = faults[0] if faults else NO_SENSOR if any(not len(trace.times) for trace in traces) else GAP
    gaps = max((trace.gaps(window) for trace in traces), key=lambda some: sum(g.end - g.start for g in some))
    return Exposure(name, None, unit, window=window, covered=covered, gaps=gaps, reason=reason)


_lowest = partial(np.quantile, q=0.02)  # that more than a stray reading was at


@dataclass(frozen=True)
class Read:
    """An exposure that is read off one trace: which quantity, over which of the windows, and what of its values.

    outside: of the air outdoors, which came in if a door stood open.
    """

    name: str
    quantity: str
    window: str
    pick: Callable[[Array], Any]
    outside: bool = False

    def __call__(self, seen: Seen) -> Exposure:
        """The exposure of a coat [°C or fraction]; a blank where the window was not read."""
        track = seen.track.outdoors if self.outside else seen.track
        trace = NOTHING if track is None else track.trace(self.quantity)
        window: Window = getattr(seen.mattered, self.window)
        unit = kind_of(self.quantity).si_unit
        found = _blank(self.name, unit, window, (trace,), seen.shop)
        values, newest = trace.within(window), trace.at(window.start)
        if not len(values):
            values = np.array([] if newest is None else [newest])
        if not len(values):
            return found
        return replace(found, measured=float(self.pick(values)), uncertainty=trace.uncertainty)


def _dew(seen: Seen, moment: float) -> tuple[float, float] | None:
    """Dew point [°C] and its uncertainty [K] at a moment."""
    air, damp = (seen.track.trace(quantity) for quantity in (AIR, HUMIDITY))
    warm, humidity = air.at(moment), damp.at(moment)
    if warm is None or humidity is None:
        return None
    humidity = min(max(humidity, moist_air.RELATIVE_HUMIDITY_RANGE[0]), 1.0)
    try:
        return (
            float(moist_air.dew_point(warm, humidity)),
            float(moist_air.dew_point_uncertainty(warm, humidity, air.uncertainty, damp.uncertainty)),
        )
    except OutOfRange:
        return None


def piece_over_dew(seen: Seen) -> Exposure:
    """The piece's surface over the dew point while the gun was used, at its least [K]."""
    window = seen.mattered.spray
    return _least_over_dew(seen, "piece_over_dew", window, samples(window, 4), seen.coat.surface)


def lowest_over_dew_later(seen: Seen) -> Exposure:
    """The surface over the dew point from the gun through the night and morning after, at its least [K]."""
    window = seen.mattered.later
    return _least_over_dew(seen, "lowest_over_dew_later", window, every(window), None)


def _least_over_dew(
    seen: Seen, name: str, window: Window, moments: Sequence[float], by_hand: float | None
) -> Exposure:  # fmt: skip
    track = seen.track
    traces = (track.trace(AIR), track.trace(HUMIDITY))
    found = _blank(name, "K", window, traces, seen.shop)
    least: tuple[float, float, float] | None = None
    under = 0
    for moment in moments:
        dew, air = _dew(seen, moment), traces[0].at(moment)
        piece = surface_of_piece(track.conditions(moment, seen.shop, by_hand), seen.shop)
        if dew is None or piece is None or air is None:
            continue
        over = piece.value - dew[0]
        under += over < 0.0
        if least is None or over < least[0]:
            least = (over, hypot(piece.uncertainty, dew[1]), air - piece.value)
    if least is None:
        return found
    spacing = (window.end - window.start) / max(1, len(moments) - 1)
    figures = (("seconds_under_dew", under * spacing), ("under_air", least[2]))
    return replace(found, measured=least[0], uncertainty=least[1], figures=figures)


@dataclass(frozen=True)
class Computed:
    """An exposure that is computed of the film: the air must have been read from the gun until it closed."""

    name: str
    unit: str

    def __call__(self, seen: Seen) -> Exposure:
        """The exposure of a coat; a blank where no film was computed, or it is not judged by that."""
        spray, closed = seen.mattered.spray, None if seen.film is None else seen.film.times.set
        flash = seen.mattered.flash.end
        end = flash if closed is None else min(flash, spray.end + closed)
        window = Window(spray.start, max(end, spray.start + 1.0))
        traces = (seen.track.trace(AIR), seen.track.trace(HUMIDITY))
        found = _blank(self.name, self.unit, window, traces, seen.shop)
        own = None if seen.film is None else seen.film.exposures.get(self.name)
        if own is None:
            return found
        return replace(own, window=window, covered=found.covered, gaps=found.gaps, reason=found.reason)


def film_over_dew(seen: Seen) -> Exposure:
    """The film's lowest temperature over the air's dew point while it was wet [K]."""
    found, dew = Computed("film_over_dew", "K")(seen), _dew(seen, seen.mattered.spray.start)
    if found.measured is None or dew is None:
        return found
    return replace(found, uncertainty=hypot(found.uncertainty, dew[1]))


def heat_while_wet(seen: Seen) -> Exposure:
    """How much warmer air or piece became than at spraying, until the next coat could have gone on [K]."""
    end = seen.mattered.spray.end
    dried = end + seen.coating.numbers["recoat_from_low"].value
    window = Window(end, max(end, min(dried, seen.mattered.later.end)))
    air = seen.track.trace(AIR)
    found = _blank("heat_while_wet", "K", window, (air,), seen.shop)
    rises = []
    for trace in (air, seen.track.trace(SURFACE)):
        before, after = trace.within(seen.mattered.spray), trace.within(window)
        if len(before) and len(after):
            rises.append(float(np.quantile(after, 0.95) - np.median(before)))
    return replace(found, measured=max(rises), uncertainty=air.uncertainty) if rises else found


def dust_while_wet(seen: Seen) -> Exposure:
    """Dust over clean air, before the gun and until the film was dust-free [ratio].

    Not while the gun was used nor just after: overspray counts as dust.
    """
    return _dust(seen, overspray=True)


def dust_had_it_been_sprayed(seen: Seen) -> Exposure:
    """The same of an hour in which nobody sprayed: all of its readings are dust [ratio]."""
    return _dust(seen, overspray=False)


def _dust(seen: Seen, overspray: bool) -> Exposure:
    spray, trace = seen.mattered.spray, seen.track.dust
    window = Window(spray.start - BEFORE, max(seen.mattered.dust_free.end, spray.end + _MIST))
    found = _blank("dust_while_wet", "ratio", window, (trace,), seen.shop)
    kind, limit = seen.track.dust_kind, seen.shop.limit("dust_index").value
    clean = clean_dust(trace.values, kind, limit, seen.shop)
    if clean is None:
        return replace(found, reason=found.reason or NO_SENSOR)
    kept = (trace.times >= window.start) & (trace.times <= window.end)
    if overspray:
        kept &= (trace.times < spray.start) | (trace.times >= spray.end + _MIST)
    values, clean = trace.values[kept], max(clean, dust_limit("floor", kind, seen.shop) / limit)
    if not len(values):
        return found
    row = min(_IN_A_ROW, len(values))
    worst = float(np.median(np.lib.stride_tricks.sliding_window_view(values, row), axis=1).max())
    # against its own clean counts a counter is surer than against a floor or ceiling told for all counters
    own = clean == float(np.quantile(trace.values, CLEANEST))
    counter = seen.shop.limit("dust_repeats" if own else "dust_accuracy").value
    return replace(
        found, measured=dust_index(worst, clean), as_logarithm=True,
        uncertainty=hypot(log(1.0 + counter), counting_uncertainty(worst, kind, seen.shop)),
        figures=(("clean", clean), ("worst", worst)),
    )  # fmt: skip


_ALL: tuple[Callable[[Seen], Exposure], ...] = (
    Read("air_at_spraying", AIR, "spray", np.median),
    Read("humidity_at_spraying", HUMIDITY, "spray", np.median),
    piece_over_dew,
    Computed("water_in_film", "ratio"),  # against slow solvent as it sets, over what stays clear; of spirit, its time
    film_over_dew,
    Computed("film_at_packing", "°C"),  # as the particles of a dispersion packed, at its coldest
    Computed("closing_pace", "ratio"),  # its time to close against its usual time
    heat_while_wet,
    dust_while_wet,
    Read("humidity_while_drying", HUMIDITY, "recoat", np.mean),  # until it should have been ready for the next
    Read("lowest_while_drying", AIR, "recoat", _lowest),
    lowest_over_dew_later,
    Read("lowest_while_curing", AIR, "cure", _lowest),  # in the hours in which it gets hard or not
    Read("outdoor_air", AIR, "spray", np.median, outside=True),
    Read("outdoor_humidity", HUMIDITY, "spray", np.median, outside=True),
)  # fmt: skip


def exposures(seen: Seen) -> list[Exposure]:
    """Everything the air did to a coat."""
    return [make(seen) for make in _ALL]
