"""The wet film of a coat, computed on the air that was logged over it.

What somebody said of the coat itself: film, mix, gun, and what lay below and for how long.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import exp, hypot, log

from advisor.bench.overcoat import Overcoat, overcoat
from advisor.catalog.coatings import Coating
from advisor.catalog.schedules import NO, NO_SCUFF, SCUFF
from advisor.errors import OutOfRange
from advisor.film.drying import DryingTimes, drying_times_of
from advisor.film.film_map import Films
from advisor.film.mix import Mix, fastest, mix_of, usual
from advisor.film.wet_film import FilmCase, FilmOutcome, dry_films, film_settings
from advisor.judge.film_rules import Pot, case_of
from advisor.physics.paint.cups import find_cup
from advisor.physics.paint.viscosity import kinematic_viscosity, seconds_for
from advisor.review.coat import Exposure, SprayedCoat
from advisor.series.air_track import AirTrack
from advisor.series.trace import HUMIDITY, Window, samples
from advisor.shop.shop import Shop

IN_SPRAYING, _AFTER = 4, 3  # films computed over the minutes of spraying, and of a dispersion until it packs
_TOGETHER = 60  # coats whose films are dried in one batch
_DAMPER = 0.05  # [fraction] by which the same film is computed damper, for how sure it is
_FILM_SURE = 1.0  # [K] the film model's own
_PACE_SURE = 0.2  # as a logarithm
NEVER = 20.0  # times its usual time: a film that did not close in the time followed


@dataclass(frozen=True)
class FilmSeen:
    """What the films of a coat did, the worst of them each: exposures by name, without their windows, and its times."""

    exposures: dict[str, Exposure]
    times: DryingTimes


def pot_of(coat: SprayedCoat) -> Pot:
    """The pot as the judge takes it."""
    return Pot(coat.thinner, coat.retarder or 0.0, coat.gun)


def mix_as_sprayed(coat: SprayedCoat, coating: Coating) -> Mix:
    """What was sprayed, with the fastest thinner where nobody said, and as thick as somebody read it."""
    mix = mix_of(coating, coat.thinner or fastest(coating), coat.retarder or 0.0)
    return mix if coat.wet_film is None else replace(mix, wet_film=coat.wet_film)


def cases_at(
    coat: SprayedCoat, track: AirTrack, moments: Iterable[float], mix: Mix, shop: Shop
) -> dict[float, FilmCase]:
    """The films of a coat by moment [s since 1970], of those at which the air was read."""
    found = {at: case_of(track.conditions(at, shop, coat.surface), shop, pot_of(coat), mix) for at in moments}
    return {at: replace(case, liquid=coat.material) for at, case in found.items() if case is not None}


@dataclass(frozen=True)
class _Asked:
    """The films of one coat: as sprayed, later over a dispersion, damper for how sure it is, and for its times."""

    here: list[FilmCase]
    later: list[FilmCase]
    damper: list[FilmCase]
    middle: FilmCase


def films_seen(coats: Sequence[tuple[SprayedCoat, AirTrack]], coating: Coating, shop: Shop) -> list[FilmSeen | None]:
    """The films of coats of one coating, dried in a few batches; None for a coat whose air was not read."""
    settings = film_settings(shop)
    asked = [_asked(coat, coating, track, shop) for coat, track in coats]
    found: list[FilmSeen | None] = [None] * len(coats)
    guns = dict.fromkeys((each.middle.gun, each.middle.pressure) for each in asked if each is not None)
    for gun in guns:
        alike = [(n, each) for n, each in enumerate(asked) if each and (each.middle.gun, each.middle.pressure) == gun]
        for start in range(0, len(alike), _TOGETHER):
            part = alike[start : start + _TOGETHER]
            cases = [case for _, each in part for case in (*each.here, *each.later, *each.damper)]
            outcomes = iter(dry_films(cases, settings, quick=True).outcomes)
            times = drying_times_of(coating, [each.middle for _, each in part], Films(settings), shop)
            for (n, each), dries in zip(part, times, strict=True):
                own = [[next(outcomes) for _ in some] for some in (each.here, each.later, each.damper)]
                found[n] = _seen(own, dries, coating, shop)
    return found


def _asked(coat: SprayedCoat, coating: Coating, track: AirTrack, shop: Shop) -> _Asked | None:
    spray = Window(coat.sprayed.timestamp(), coat.end(shop).timestamp())
    taken, dries = mix_as_sprayed(coat, coating), mix_of(coating, coat.thinner or usual(coating), coat.retarder or 0.0)
    cases = list(cases_at(coat, track, samples(spray, IN_SPRAYING), taken, shop).values())
    middle = list(cases_at(coat, track, (0.5 * (spray.start + spray.end),), dries, shop).values())
    if not cases or not middle:
        return None
    flash = Window(spray.end, spray.end + coating.numbers["flash_high"].value)
    packs = samples(flash, _AFTER)[1:] if coating.carrier == "water" else ()
    later = list(cases_at(coat, track, packs, taken, shop).values())
    damper = [replace(case, relative_humidity=min(1.0, case.relative_humidity + _DAMPER)) for case in cases]
    return _Asked(cases, later, damper, middle[0])


def _seen(own: Sequence[list[FilmOutcome]], times: DryingTimes, coating: Coating, shop: Shop) -> FilmSeen:
    here, later, damper = own
    worst = max(here, key=lambda film: -film.lowest + film.dew_point)
    dew = (("seconds_below_dew", worst.below_dew), ("condensed", worst.condensed))
    closed = () if times.set is None else (("seconds_to_close", times.set),)
    pace = NEVER if times.closing is None else times.closing
    found = [
        Exposure("film_over_dew", worst.lowest - worst.dew_point, "K", _FILM_SURE, figures=dew),
        Exposure("closing_pace", pace, "ratio", _PACE_SURE, as_logarithm=True, figures=closed),
    ]
    if coating.carrier == "water":
        packing = min(film.at_packing for film in (*here, *later))
        found.append(Exposure("film_at_packing", packing, "°C", _FILM_SURE))
    else:
        hazy = max(here, key=lambda film: film.haze)
        clear = (("water_to_slow_solvent_at_set", hazy.water_to_slow_solvent), ("clear_up_to", hazy.clear_up_to))
        measure, sure = _water(here, damper, shop)
        found.append(Exposure("water_in_film", measure, "ratio", sure, as_logarithm=True, figures=(*dew, *clear)))
    return FilmSeen({each.name: each for each in found}, times)


def _water(films: Sequence[FilmOutcome], damper: Sequence[FilmOutcome], shop: Shop) -> tuple[float, float]:
    """The worst film's blush measure over its limit, and how sure that is as a logarithm."""
    measures = [film.haze for film in films]
    index = max(range(len(films)), key=measures.__getitem__)
    slope = abs(damper[index].haze - measures[index]) / _DAMPER
    unsure = hypot(shop.limit("blend_spread").value, shop.accuracy(None, HUMIDITY))
    return exp(min(measures[index], 5.0)), max(0.1, slope * unsure)


UNSAID = "unsaid"
DIN_4 = "DIN 4"
_CLOCK_SURE = 0.15  # of a time between coats or of a mix, as a logarithm: what a sheet rounds
_POT_SURE = 0.25
_OLD = 2 * 86_400.0  # [s] a film of lacquer no longer takes the next coat as its own
_HALF, _CERTAIN = 0.5, 0.125  # between no and yes: four times sure of either


def exposures(
    coat: SprayedCoat, coating: Coating, below: Coating | None, slower: float, shop: Shop
) -> list[Exposure]:  # fmt: skip
    """Those of the coat itself. slower: how many times the sheet's the coat below took to be ready."""
    gauge, comb, cup = (shop.limit(key).value for key in ("gauge_accuracy", "wet_film_accuracy", "cup_accuracy"))
    age = None if coat.mixed_at is None else (coat.end(shop) - coat.mixed_at).total_seconds()
    return [
        _said("wet_film", coat.wet_film, "m", comb),
        _said("cup", _cup_seconds(coat), "s", cup),
        _said("thinning", coat.thinning, "fraction", cup),
        _said("needle", coat.needle, "m", gauge),
        _said("gun_pressure", coat.pressure, "Pa", gauge),
        _said("mix_age", None if age is None else max(age, 1.0), "s", _POT_SURE),
        *_over(coat, coating, below, slower),
        _crazing(coat, below, shop),
    ]


def _said(name: str, value: float | None, unit: str, relative: float) -> Exposure:
    if value is None:
        return Exposure(name, None, unit, reason=UNSAID)
    return Exposure(name, value, unit, log(1.0 + relative), as_logarithm=True)


def _cup_seconds(coat: SprayedCoat) -> float | None:
    """Seconds as a DIN 4 cup would give them; None where nobody said, or the cup is out of its range."""
    if coat.seconds is None:
        return None
    din = find_cup(DIN_4)
    cup = din if coat.cup is None else find_cup(coat.cup)
    if cup == din:
        return coat.seconds
    try:
        return seconds_for(din, kinematic_viscosity(cup, coat.seconds, estimate=True), estimate=True)
    except OutOfRange:
        return None


def _over(coat: SprayedCoat, coating: Coating, below: Coating | None, slower: float) -> list[Exposure]:
    names = (("recoat_gap", "s"), ("gap_not_scuffed", "s"), ("goes_not_over", "count"))
    if below is None or coat.below is None:
        return [Exposure(name, None, unit, reason=UNSAID) for name, unit in names]
    found = overcoat(below, coating)
    refused = Exposure(
        "goes_not_over", 1.0 if found.standing == NO else 0.0, "count", _CERTAIN, limit=_HALF
    )  # fmt: skip
    if coat.below.sprayed is None:
        return [*(Exposure(name, None, unit, reason=UNSAID) for name, unit in names[:2]), refused]
    gap = max((coat.sprayed - coat.below.sprayed).total_seconds(), 1.0)
    return [_gap(found, below, gap, slower), _not_scuffed(found, gap, coat), refused]


def _crazing(coat: SprayedCoat, below: Coating | None, shop: Shop) -> Exposure:
    """How soon after a coat over an old film that its solvent bites it was seen [s]; over none such, never."""
    blank = Exposure("seen_after_coating_over", None, "s", reason=UNSAID)
    if below is None or coat.below is None or coat.seen.after is None:
        return blank
    fresh = coat.below.sprayed is not None and (coat.sprayed - coat.below.sprayed).total_seconds() < _OLD
    bitten = below.hardens_by == "evaporation" and not fresh
    limit = shop.limit("crazes_within").value if bitten else 1e-3
    after = max(coat.seen.after, 1.0)
    return Exposure(blank.name, after, "s", _CLOCK_SURE, as_logarithm=True, limit=limit)


def _gap(found: Overcoat, below: Coating, gap: float, slower: float) -> Exposure:
    """The time since the coat below against what that needed: the sheet's earliest, unsure up to its safe end."""
    if found.standing == NO:  # no time makes it go over: that is another mechanism
        return Exposure("recoat_gap", gap, "s", _CLOCK_SURE, as_logarithm=True)
    low, high = below.numbers["recoat_from_low"].value, below.numbers["recoat_from_high"].value
    needed, unsure = low, max(_CLOCK_SURE, log(high / low))
    if found.after_seconds is not None and found.after != "recoat_from_high":
        needed, unsure = found.after_seconds, _CLOCK_SURE
    return Exposure(
        "recoat_gap", gap, "s", unsure, as_logarithm=True, limit=needed * slower,
        figures=(("by_the_sheet", needed),),
    )  # fmt: skip


def _not_scuffed(found: Overcoat, gap: float, coat: SprayedCoat) -> Exposure:
    """How long the coat below stood without being scuffed; its window as the limit, none where it needs no scuff."""
    limit = None if found.scuff == NO_SCUFF else 1.0 if found.scuff == SCUFF else found.window_seconds
    blank = Exposure("gap_not_scuffed", gap, "s", _POT_SURE, as_logarithm=True, limit=limit)
    if limit is None or gap <= limit:
        return blank
    if coat.sanded is None:
        return Exposure("gap_not_scuffed", None, "s", reason=UNSAID, limit=limit)
    return Exposure("gap_not_scuffed", 1e-3, "s", _POT_SURE, True, limit=limit) if coat.sanded else blank
