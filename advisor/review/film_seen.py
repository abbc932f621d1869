"""The wet film of a coat, computed on the air that was logged over it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import exp, hypot

from advisor.advice.drying import DryingTimes, drying_times_of
from advisor.advice.film_view import Pot, case_of
from advisor.advice.mix import Mix, fastest, mix_of, usual
from advisor.advice.wet_film import FilmCase, FilmOutcome, dry_films, film_settings
from advisor.catalog.coatings import Coating
from advisor.review.air_track import AIR, HUMIDITY, AirTrack, Window, samples
from advisor.review.coat import SprayedCoat
from advisor.shop.shop import Shop

_IN_SPRAYING, _AFTER = 4, 3  # films computed over the minutes of spraying, and of a dispersion until it packs
_DAMPER = 0.05  # [fraction] by which the same film is computed damper, for how sure it is
NEVER = 20.0  # times its usual time: a film that did not close in the time followed


@dataclass(frozen=True)
class FilmSeen:
    """What the films of a coat did, the worst of them each.

    water_in_film: the blush measure over its limit [ratio], water_sure its uncertainty as a logarithm; over_dew: lowest
    film over the dew point [K]; below_dew [s] and condensed [kg/m2]; ratio, clear: water to slow solvent at set and
    what stays clear; at_packing [°C]; set [s] and pace [ratio to its usual time]. None where it is not judged by it.
    """

    water_in_film: float | None
    water_sure: float
    over_dew: float
    below_dew: float
    condensed: float
    ratio: float
    clear: float
    at_packing: float | None
    set: float | None
    pace: float
    times: DryingTimes


def pot_of(coat: SprayedCoat) -> Pot:
    """The pot as the judge takes it."""
    return Pot(coat.thinner, coat.retarder or 0.0, coat.gun)


def _cases(coat: SprayedCoat, track: AirTrack, moments: Sequence[float], mix: Mix, shop: Shop) -> list[FilmCase]:
    found = [
        case_of(track.conditions(moment, shop, coat.surface), shop, pot_of(coat), mix) for moment in moments
    ]  # fmt: skip
    return [replace(case, liquid=coat.material) for case in found if case is not None]


def film_seen(coat: SprayedCoat, coating: Coating, track: AirTrack, shop: Shop) -> FilmSeen | None:
    """The films of a coat; None where the air at its spraying was not read."""
    settings = film_settings(shop)
    spray = Window(coat.sprayed.timestamp(), coat.end(shop).timestamp())
    taken = mix_of(coating, coat.thinner or fastest(coating), coat.retarder or 0.0)
    if coat.wet_film is not None:
        taken = replace(taken, wet_film=coat.wet_film)
    moments = samples(spray, _IN_SPRAYING)
    cases = _cases(coat, track, moments, taken, shop)
    dries = mix_of(coating, coat.thinner or usual(coating), coat.retarder or 0.0)
    middle = _cases(coat, track, (0.5 * (spray.start + spray.end),), dries, shop)
    if not cases or not middle:
        return None
    water = coating.carrier == "water"
    flash = Window(spray.end, spray.end + coating.numbers["flash_high"].value)
    later = _cases(coat, track, samples(flash, _AFTER)[1:], taken, shop) if water else []
    damper = [replace(case, relative_humidity=min(1.0, case.relative_humidity + _DAMPER)) for case in cases]
    outcomes = dry_films([*cases, *later, *damper], settings, quick=True).outcomes
    here, after = outcomes[: len(cases)], outcomes[: len(cases) + len(later)]
    worst = max(here, key=lambda film: -film.lowest + film.dew_point)
    (times,) = drying_times_of(coating, middle, settings, shop)
    measure, sure = _water(here, outcomes[len(after) :], shop) if not water else (None, 0.0)
    hazy = max(here, key=lambda film: film.haze) if not water else worst
    return FilmSeen(
        water_in_film=measure,
        water_sure=sure,
        over_dew=worst.lowest - worst.dew_point,
        below_dew=worst.below_dew,
        condensed=worst.condensed,
        ratio=hazy.water_to_slow_solvent,
        clear=hazy.clear_up_to,
        at_packing=min(film.at_packing for film in after) if water else None,
        set=times.set,
        pace=NEVER if times.closing is None else times.closing,
        times=times,
    )


def _water(films: Sequence[FilmOutcome], damper: Sequence[FilmOutcome], shop: Shop) -> tuple[float, float]:
    """The worst film's blush measure over its limit, and how sure that is as a logarithm."""
    measures = [film.haze for film in films]
    index = max(range(len(films)), key=measures.__getitem__)
    slope = abs(damper[index].haze - measures[index]) / _DAMPER
    unsure = hypot(shop.limit("blend_spread").value, shop.accuracy(None, HUMIDITY))
    return exp(min(measures[index], 5.0)), max(0.1, slope * unsure)


def read_over(track: AirTrack, window: Window) -> float:
    """The share of a window in which both temperature and humidity were read."""
    return min(track.trace(AIR).covered(window), track.trace(HUMIDITY).covered(window))
