"""When a coat is dust-free, may be recoated, handled, sanded: the sheet's times, moved by what this air does."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import isfinite

from advisor.catalog.coatings import Coating
from advisor.film.film_map import FilmAnswer, Films
from advisor.film.mix import Mix, mix_of, usual
from advisor.film.wet_film import FilmCase, FilmOutcome
from advisor.physics.paint.cure import rate_factor
from advisor.shop.shop import Shop

_REACTS = ("two-pack", "acid", "oxidation")


@dataclass(frozen=True)
class DryingTimes:
    """Times after spraying [s], None where they cannot be known; the ratios say how they follow from the sheet.

    set: the film no longer flows (computed). dust_free from the sheet's flash-off; recoat_from is the sheet's safe
    end; recoat_until: the last moment without scuff-sanding. closing: time to set against that at the reference
    conditions with air moving as here; drying: time to recoat against that at the sheet's reference conditions;
    reaction: the same of what hardens, None where nothing reacts.
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


def drying_times(coating: Coating, case: FilmCase, films: Films, shop: Shop) -> DryingTimes:
    """The sheet's times in this air, never earlier than its own share of them (0.7 of the sheet).

    The sheet stays the authority: only the ratio of two computed times moves its figures, that in this air over that
    at its reference conditions (23 °C, 50 %, gentle air; ISO 3270). What reacts is slowed or hastened by temperature
    as well, with the activation energy that is unkind on either side, and the slower of the two counts.
    """
    return drying_times_of(coating, [case], films, shop)[0]


def drying_times_of(coating: Coating, cases: Sequence[FilmCase], films: Films, shop: Shop) -> list[DryingTimes]:
    """The times of several films of one coating, everything needed dried in one batch."""
    wanted = [needed for case in cases for needed in (case, *_beside(coating, case, films, shop))]
    known = dict(zip(wanted, films.dried(wanted), strict=True))
    return [_times(coating, case, known, films, shop) for case in cases]


def _beside(coating: Coating, case: FilmCase, films: Films, shop: Shop) -> tuple[FilmCase, FilmCase, FilmCase]:
    """The films a case is held against: the sheet's, the same with air moving as here, and the case in the sheet's air.

    The sheet's times are those of the usual thinner, so a slower one takes longer than the sheet says.

    The last is for spirit: the water it took up costs the minutes it needs to leave, it does not stretch the hours
    after.
    """
    reference = at_reference(replace(case, mix=mix_of(coating, usual(coating))), shop)
    still = films.shop.limit("room_air_speed").value
    gentle = replace(reference, air_speed=still, room_air_speed=still)
    drier = case
    if case.mix.clear_by is not None:
        drier = replace(case, relative_humidity=min(case.relative_humidity, reference.relative_humidity))
    return gentle, reference, drier


def _times(
    coating: Coating, case: FilmCase, known: Mapping[FilmCase, FilmOutcome], films: Films, shop: Shop
) -> DryingTimes:
    sheets, moved, drier = (known[each] for each in _beside(coating, case, films, shop))
    full, here = known[case], drier
    delay = 0.0
    if case.mix.clear_by is not None:
        gone = full.to_dry is None or here.to_dry is None
        delay = float("inf") if gone else max(0.0, (full.to_dry or 0.0) - (here.to_dry or 0.0))
    closing = _ratio(closed_after(here, case), closed_after(moved, case))
    drying = _ratio(here.to_dry, sheets.to_dry)
    reaction = None
    if coating.hardens_by in _REACTS:
        reaction = 1.0 / faster_than_reference(case.air_temperature, shop, "cure_energy_cold", "cure_energy_warm")
    least = shop.limit("earliest_of_sheet").value
    damp = coating.carrier == "water" and case.relative_humidity > shop.limit("damp_water_borne").value
    factor = None if drying is None else max(drying, reaction or 0.0, least)
    if factor is not None and damp:
        factor = max(factor, shop.limit("damp_water_borne_factor").value)

    def sheet(key: str, times: float | None) -> float | None:
        number = coating.numbers.get(key)
        return None if number is None or times is None or not isfinite(delay) else number.value * times + delay

    # the window closes sooner in warmth, or where it dries faster; nothing is trusted to keep it open past the sheet
    sooner = 1.0 / faster_than_reference(case.air_temperature, shop, "cure_energy_warm", "cure_energy_warm")
    window = None if factor is None else min(1.0, factor, max(sooner, least))
    # dust-free follows the sheet's gentle air, and nothing comes before the film has closed
    gentle = _ratio(closed_after(here, case), closed_after(sheets, case))
    dust_free = _latest(sheet("flash_high", None if gentle is None else max(gentle, least)), closed_after(full, case))
    return DryingTimes(
        set=closed_after(here, case),
        dust_free=dust_free,
        recoat_from=_latest(sheet("recoat_from_high", factor), dust_free),
        recoat_until=sheet("recoat_until", window),
        handle=_latest(sheet("handle_high", factor), dust_free),
        sand=_latest(sheet("sand_high", factor), dust_free),
        closing=closing,
        drying=drying,
        reaction=reaction,
    )


def faster_than_reference(temperature: float, shop: Shop, when_cold: str, when_warm: str) -> float:
    """How many times faster what reacts does so at a temperature [°C] than at the sheet's own.

    when_cold, when_warm: the limits that say by which activation energy on either side of it.
    """
    reference = shop.limit("reference_temperature").value
    return rate_factor(temperature, reference, shop.limit(when_cold if temperature < reference else when_warm).value)


def _latest(seconds: float | None, least: float | None) -> float | None:
    """The later of two times; None where the first is not known."""
    return seconds if seconds is None or least is None else max(seconds, least)


def pace_of(answer: FilmAnswer, mix: Mix, films: Films, shop: Shop) -> float | None:
    """A film's time to close against that of a mix at the reference conditions with air moving as here.

    None where the film never closes.
    """
    (there,) = films.dried([at_reference(replace(answer.case, mix=mix), shop)])
    return _ratio(closed_after(answer.outcome, answer.case), closed_after(there, answer.case))


def at_reference(case: FilmCase, shop: Shop) -> FilmCase:
    """The same mix and gun at the sheet's reference conditions, on wood as warm as the air."""
    temperature = shop.limit("reference_temperature").value
    return replace(
        case,
        air_temperature=temperature,
        relative_humidity=shop.limit("reference_humidity").value,
        piece=temperature,
        liquid=None,
        substrate="wood",
        pressure=101_325.0,
    )


def closed_after(outcome: FilmOutcome, case: FilmCase) -> float | None:
    """When the surface closes: the resin sets, or the particles of a dispersion pack."""
    return outcome.to_pack if case.mix.dispersion else outcome.to_set


def _ratio(here: float | None, there: float | None) -> float | None:
    if here == 0.0:
        return 0.0  # it landed dry
    return None if here is None or there is None or not there > 0 else here / there
