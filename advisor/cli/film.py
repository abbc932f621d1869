"""`advisor film`: what the wet film does in some air, with what is in the pot."""

import json
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from advisor.advice import film_words, phrases, words
from advisor.advice.cautions import cautions_for
from advisor.advice.drying import DryingTimes, drying_times
from advisor.advice.film_answer import FilmAnswer, film_answer
from advisor.advice.film_map import Films
from advisor.advice.film_need import FORMS, FilmNeed, film_need, need_words
from advisor.advice.film_view import FILM_AIR, Pot
from advisor.advice.mix import Mix, fastest, mix_of, mix_of_solvents, usual
from advisor.advice.record import SCHEMA, answer_record, number, ratios_record, times_record, utc
from advisor.advice.wet_film import FilmCase, film_settings, wet_blend
from advisor.catalog.coatings import Coating
from advisor.catalog.units import parse_quantity, parse_relative_humidity
from advisor.cli.paper import print_wrapped
from advisor.cli.pot import pot_from
from advisor.cli.typed import typed_temperature
from advisor.errors import UsageError, shown
from advisor.physics import moist_air
from advisor.physics.critical_humidity import critical_relative_humidity
from advisor.physics.transfer import AIR_SPEED_RANGE
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop


@dataclass(frozen=True)
class AskedFilm:
    """The command line of `advisor film`."""

    config: Path | None = None
    air: str | None = None
    rh: str | None = None
    surface: str | None = None
    coating: str | None = None
    solvents: str | None = None
    substrate: str = "wood"
    air_speed: str | None = None
    liquid: str | None = None
    thinner: str | None = None
    retarder: str | None = None
    gun: str | None = None
    plot: Path | None = None
    as_json: bool = False


@dataclass(frozen=True)
class Film:
    """The film as answered: what it does, the sheet's times moved, and the water-borne blend's critical humidity.

    need: what a water-borne film needs to form, None for the others.
    """

    answer: FilmAnswer
    need: FilmNeed | None
    coating: Coating | None
    pot: Pot
    times: DryingTimes | None
    drying_thinner: str
    critical_humidity: float | None

    @property
    def thinner_unknown(self) -> bool:
        """Whether the thinner was taken for the fastest because nobody named it."""
        return self.coating is not None and self.pot.thinner is None and len(self.coating.thinner_speeds) > 1


def run_film(asked: AskedFilm) -> int:
    """Compute, print, draw; exit code 0."""
    shop = shop_from(asked.config)
    film = _film(asked, shop)
    if asked.plot is not None:
        from advisor.cli.film_plot import draw  # noqa: PLC0415 - matplotlib only when something is drawn

        draw(film.answer, film.need, shop, asked.plot)
    if asked.as_json:
        print(json.dumps(_record(film), ensure_ascii=False, allow_nan=False))
    else:
        print_wrapped(_told(film, shop))
    return 0


def _film(asked: AskedFilm, shop: Shop) -> Film:
    if asked.air is None or asked.rh is None:
        raise UsageError("--air or --rh is missing", "--air 24C --rh 62%", "give both")
    if (asked.coating is None) == (asked.solvents is None):
        raise UsageError("a film needs one of --coating and --solvents", "--coating ID", "give one of them")
    pot = pot_from(asked.thinner, asked.retarder, asked.gun, asked.substrate)
    coating = None if asked.coating is None else shop.coating(asked.coating)
    if coating is None:
        if pot.thinner is not None or pot.retarder:
            raise UsageError("--solvents with --thinner or --retarder", "the whole blend in --solvents", "leave it out")
        mix = drying_mix = mix_of_solvents(asked.solvents or "")
    else:
        mix = mix_of(coating, pot.thinner or fastest(coating), pot.retarder)
        drying_mix = mix_of(coating, pot.thinner or usual(coating), pot.retarder)
    case = _case(asked, mix, pot, shop)
    settings = film_settings(shop)
    answer = film_answer(case, settings)
    times = None if coating is None else drying_times(coating, replace(case, mix=drying_mix), Films(settings), shop)
    critical = None
    if mix.dispersion:
        liquids, masses = wet_blend(mix)
        critical = critical_relative_humidity(masses, liquids, case.air_temperature, case.pressure)
    need = None if coating is None else film_need(answer, coating, shop)
    return Film(answer, need, coating, pot, times, drying_mix.thinner, critical)


def _case(asked: AskedFilm, mix: Mix, pot: Pot, shop: Shop) -> FilmCase:
    air = typed_temperature(asked.air or "", "--air", shop, FILM_AIR)
    speed = None if asked.air_speed is None else parse_quantity(asked.air_speed, "speed", "--air-speed")
    low, high = AIR_SPEED_RANGE
    if speed is not None and not low <= speed <= high:
        raise UsageError(f"--air-speed {shown(asked.air_speed or '')}", f"{low:g} to {high:g} m/s", "correct it")
    return FilmCase(
        air_temperature=air,
        relative_humidity=parse_relative_humidity(asked.rh or ""),
        piece=air if asked.surface is None else typed_temperature(asked.surface, "--surface", shop, FILM_AIR),
        mix=mix,
        substrate=pot.substrate,
        gun=pot.gun or shop.air_supply,
        air_speed=speed,
        room_air_speed=speed,
        liquid=None if asked.liquid is None else typed_temperature(asked.liquid, "--liquid", shop, FILM_AIR),
        pressure=float(moist_air.pressure_at_altitude(shop.altitude)),
    )


def _record(film: Film) -> dict[str, Any]:
    case, mix = film.answer.case, film.answer.case.mix
    times = {"set": number(film.answer.outcome.to_set)} if film.times is None else times_record(film.times)
    return {
        "schema": SCHEMA,
        "computed_at": utc(datetime.now(UTC)),
        "coating": None if film.coating is None else film.coating.id,
        "air_temperature": number(case.air_temperature),
        "relative_humidity": number(case.relative_humidity),
        "surface_temperature": number(case.piece),
        "substrate": case.substrate,
        "gun": case.gun,
        "air_speed": number(case.air_speed),
        "thinner": mix.thinner,
        "thinner_unknown": film.thinner_unknown,
        "retarder": number(mix.retarder),
        "solvents": {name: number(part) for name, part in mix.fractions},
        **answer_record(film.answer),
        "critical_relative_humidity": number(film.critical_humidity),
        "film_forming": None if film.need is None else _need_record(film.need),
        "times": times,
        "times_thinner": None if film.times is None else film.drying_thinner,
        "time_ratios": None if film.times is None else ratios_record(film.times),
        "cautions": [phrases.CAUTION_WORDS[key] for key in _cautions(film.coating)],
    }


def _need_record(need: FilmNeed) -> dict[str, Any]:
    return {
        "state": need.state,
        "minimum_film_forming_temperature": number(need.mfft),
        "needed": number(need.needed),
        "at_packing": number(need.packed),
    }


def _told(film: Film, shop: Shop) -> list[str]:
    name = "Own solvents in a lacquer" if film.coating is None else film.coating.name
    caution = phrases.CAUTION_WORDS["flammable"] if film.coating is None else words.short_caution(film.coating)
    lines = film_words.answer(film.answer, name, film.thinner_unknown, shop)
    if film.need is not None and film.need.state != FORMS:
        lines.append(need_words(film.need, shop))
    if film.critical_humidity is not None and film.critical_humidity < film_words.CRITICAL_SAID_BELOW:
        lines.append(film_words.critical(film.critical_humidity))
    if film.times is not None:
        lines.append(film_words.spans(film.times, film.drying_thinner if film.thinner_unknown else ""))
    return [*lines, caution]


def _cautions(coating: Coating | None) -> tuple[str, ...]:
    if coating is None:
        return ("flammable", "rated-equipment", "finish-only", "respirator", "authorities", "no-alarm")
    return cautions_for(coating)
