"""`advisor film`: what the wet film does in some air, with what is in the pot."""

from datetime import datetime
from pathlib import Path
from typing import Annotated, Any

import typer

from advisor.cli.options import CoatingOption, GunOption, JsonOption, RetarderOption, ThinnerOption
from advisor.cli.paper import Answer
from advisor.desk.pot import Film, film_in
from advisor.desk.typed import pot_from, typed_temperature, typed_within
from advisor.errors import UsageError, refuse
from advisor.judge.film_rules import FILM_AIR
from advisor.judge.verdict import cautions_for
from advisor.physics.film.transfer import AIR_SPEED_RANGE
from advisor.say import film_words, phrases
from advisor.say.as_json import headed, number
from advisor.say.record import RATIOS, TIMES, VERDICT_FORMS
from advisor.shop.shop import Shop
from advisor.units import parse_relative_humidity
from advisor.ways.film_need import FORMS


def film(
    shop: Shop,
    now: datetime,
    air: Annotated[str | None, typer.Option("--air", help="Air temperature, with unit: 24C, 75F.")] = None,
    rh: Annotated[str | None, typer.Option("--rh", help="Relative humidity: 62% or 62.")] = None,
    surface: Annotated[
        str | None, typer.Option("--surface", help="The piece's surface; else as warm as the air.")
    ] = None,
    coating: CoatingOption = None,
    solvents: Annotated[
        str | None, typer.Option("--solvents", help='Instead of a coating: "n-butyl acetate:0.7,toluene:0.3" by mass.')
    ] = None,
    substrate: Annotated[
        str, typer.Option("--substrate", help="What is sprayed on: wood, thin-wood, mdf, steel, glass.")
    ] = "wood",
    air_speed: Annotated[
        str | None, typer.Option("--air-speed", help="Air over the piece after the gun: 0.3m/s, 60fpm.")
    ] = None,
    liquid: Annotated[str | None, typer.Option("--liquid", help="The material's temperature; else the air's.")] = None,
    thinner: ThinnerOption = None,
    retarder: RetarderOption = None,
    gun: GunOption = None,
    plot: Annotated[Path | None, typer.Option("--plot", help="Draw it into this file: .svg, .png or .pdf.")] = None,
    as_json: JsonOption = False,
) -> Answer:
    """Compute what the wet film will do: how cold, how much water, when it sets and dries."""
    if air is None or rh is None:
        raise UsageError("--air or --rh is missing", "--air 24C --rh 62%", "give both")
    refuse((
        (coating is None) == (solvents is None),
        "a film needs one of --coating and --solvents", "--coating ID", "give one of them",
    ))  # fmt: skip
    pot = pot_from(thinner, retarder, gun, substrate)
    of = shop.coating(coating) if coating is not None else solvents or ""
    refuse((
        solvents is not None and (pot.thinner is not None or pot.retarder),
        "--solvents with --thinner or --retarder", "the whole blend in --solvents", "leave it out",
    ))  # fmt: skip
    low, high = AIR_SPEED_RANGE
    range_words = f"{low:g} to {high:g} m/s"
    film = film_in(
        typed_temperature(air, "--air", shop, FILM_AIR), parse_relative_humidity(rh), shop, of, pot,
        surface=None if surface is None else typed_temperature(surface, "--surface", shop, FILM_AIR),
        air_speed=None if air_speed is None else typed_within(
            air_speed, "speed", "--air-speed", (low, high), range_words, to_do="correct it"
        ),
        liquid=None if liquid is None else typed_temperature(liquid, "--liquid", shop, FILM_AIR),
    )  # fmt: skip
    if plot is not None:
        from advisor.cli.spray.film_plot import draw  # noqa: PLC0415 - matplotlib only when something is drawn

        draw(film.answer, film.need, shop, plot)
    return _record(film, now) if as_json else _told(film, shop), 0


_FILM = (
    "coating=coating.id air_temperature=case.air_temperature relative_humidity=case.relative_humidity"
    " surface_temperature=case.piece substrate=case.substrate gun=case.gun air_speed=case.air_speed"
    " thinner=case.mix.thinner thinner_unknown retarder=case.mix.retarder"
)
_AFTER = "critical_relative_humidity film_forming! times! times_thinner time_ratios! cautions"
_OF_SOLVENTS = ("flammable", "rated-equipment", "finish-only", "respirator", "authorities", "no-alarm")
_NEED = "state minimum_film_forming_temperature=mfft needed at_packing=packed"


def _record(film: Film, now: datetime) -> dict[str, Any]:
    case, times = film.answer.case, film.times
    cautions = _OF_SOLVENTS if film.coating is None else cautions_for(film.coating)
    asked = {
        "coating": film.coating,
        "case": case,
        "thinner_unknown": film.thinner_unknown,
        "critical_relative_humidity": film.critical_humidity,
        "film_forming": film.need and VERDICT_FORMS.keyed(_NEED, film.need),
        "times": {"set": number(film.answer.outcome.to_set)} if times is None else VERDICT_FORMS.keyed(TIMES, times),
        "times_thinner": None if times is None else film.drying_thinner,
        "time_ratios": times and VERDICT_FORMS.keyed(RATIOS, times),
        "cautions": [phrases.CAUTION_WORDS[key] for key in cautions],
    }
    found = {
        **VERDICT_FORMS.keyed(_FILM, asked),
        "solvents": {name: number(part) for name, part in case.mix.fractions},
        **VERDICT_FORMS(film.answer),
        **VERDICT_FORMS.keyed(_AFTER, asked),
    }
    return headed(now, found)


def _told(film: Film, shop: Shop) -> list[str]:
    name = "Own solvents in a lacquer" if film.coating is None else film.coating.name
    caution = phrases.CAUTION_WORDS["flammable"] if film.coating is None else phrases.short_caution(film.coating)
    thinner = film.drying_thinner if film.thinner_unknown else ""
    critical = film.critical_humidity or 1.0
    return [
        *film_words.answer(film.answer, name, film.thinner_unknown, shop),
        *([film_words.need_words(film.need, shop)] if film.need is not None and film.need.state != FORMS else []),
        *([film_words.critical(critical)] if critical < film_words.CRITICAL_SAID_BELOW else []),
        *([film_words.spans(film.times, thinner)] if film.times is not None else []),
        caution,
    ]
