"""When a coat is dust-free, may be recoated, handled, sanded: the sheet's times, moved by what this air does."""

from dataclasses import dataclass, replace
from functools import lru_cache
from math import isfinite

from advisor.advice.wet_film import FilmCase, FilmOutcome, FilmSettings, dry_films
from advisor.catalog.coatings import Coating
from advisor.physics.rate import rate_factor
from advisor.shop.shop import Shop

_REACTS = ("two-pack", "acid", "oxidation")
_REMEMBERED = 2_000


@dataclass(frozen=True)
class DryingTimes:
    """Times after spraying [s], None where they cannot be known; the ratios say how they follow from the sheet.

    set: the film no longer flows (computed). dust_free from the sheet's flash-off; recoat_from is the sheet's safe
    end; recoat_until: the last moment without scuff-sanding. closing: time to set against that at
    the reference conditions with air moving as here; drying: time to
    recoat against that at the sheet's reference conditions; reaction: the same of what hardens, None where nothing
    reacts.
    """

    set: float | None
    dust_free: float | None
    recoat_from: float | None
    recoat_until: float | None
    handle: float | None
    sand: float | None
    closing: float | None
    drying: float | None
    reaction: float | None


def drying_times(coating: Coating, case: FilmCase, settings: FilmSettings, shop: Shop) -> DryingTimes:
    """The sheet's times in this air, never earlier than its own share of them (0.7 of the sheet).

    The sheet stays the authority: only the ratio of two computed times moves its figures, that in this air over that
    at its reference conditions (23 °C, 50 %, gentle air; ISO 3270). What reacts is slowed or hastened by temperature
    as well, with the activation energy that is unkind on either side, and the slower of the two counts.
    """
    reference = replace(
        case,
        air_temperature=shop.limit("reference_temperature").value,
        relative_humidity=shop.limit("reference_humidity").value,
        piece=shop.limit("reference_temperature").value,
        liquid=None,
        substrate="wood",
        air_speed=settings.room_air_speed,
        room_air_speed=settings.room_air_speed,
        pressure=101_325.0,
    )
    seen, delay = case, 0.0
    if case.mix.clear_by is not None:
        # spirit: the water it took up costs the minutes it needs to leave, it does not stretch the hours after
        seen = replace(case, relative_humidity=min(case.relative_humidity, reference.relative_humidity))
        damp_film, dry_film = _dried(case, settings).to_dry, _dried(seen, settings).to_dry
        delay = float("inf") if damp_film is None or dry_film is None else max(0.0, damp_film - dry_film)
    here, usual = _dried(seen, settings), _dried(reference, settings)
    moved = replace(reference, air_speed=case.air_speed, room_air_speed=case.room_air_speed)
    closing = _ratio(_closed(here, case), _closed(_dried(moved, settings), case))
    drying = _ratio(here.to_dry, usual.to_dry)
    reaction = _reaction(coating, case.air_temperature, shop)
    least = shop.limit("earliest_of_sheet").value
    damp = coating.carrier == "water" and case.relative_humidity > shop.limit("damp_water_borne").value
    factor = None if drying is None else max(drying, reaction or 0.0, least)
    if factor is not None and damp:
        factor = max(factor, shop.limit("damp_water_borne_factor").value)

    def sheet(key: str, times: float | None) -> float | None:
        number = coating.numbers.get(key)
        return None if number is None or times is None or not isfinite(delay) else number.value * times + delay

    # what reacts closes its window sooner in warmth and is not trusted to keep it open longer in the cold
    window = factor if reaction is None else min(1.0, max(reaction, least))
    return DryingTimes(
        set=_closed(here, case),
        dust_free=sheet("flash_high", None if closing is None else max(closing, least)),
        recoat_from=sheet("recoat_from_high", factor),
        recoat_until=sheet("recoat_until", window),
        handle=sheet("handle_high", factor),
        sand=sheet("sand_high", factor),
        closing=closing,
        drying=drying,
        reaction=reaction,
    )


@lru_cache(maxsize=_REMEMBERED)
def _dried(case: FilmCase, settings: FilmSettings) -> FilmOutcome:
    return dry_films([case], settings, to_dry=True).outcomes[0]


def _closed(outcome: FilmOutcome, case: FilmCase) -> float | None:
    """When the surface closes: the resin sets, or the particles of a dispersion pack."""
    return outcome.to_pack if case.mix.dispersion else outcome.to_set


def _ratio(here: float | None, usual: float | None) -> float | None:
    return None if here is None or usual is None or not usual > 0 else here / usual


def _reaction(coating: Coating, temperature: float, shop: Shop) -> float | None:
    """How many times longer what reacts takes here than at the reference; None where nothing reacts."""
    if coating.hardens_by not in _REACTS:
        return None
    reference = shop.limit("reference_temperature").value
    energy = shop.limit("cure_energy_cold" if temperature < reference else "cure_energy_warm").value
    return 1.0 / rate_factor(temperature, reference, energy)
