"""`advisor mix`: the mixing bench."""

import sys
from datetime import datetime
from typing import Annotated
from zoneinfo import ZoneInfo

import typer

from advisor.bench.bench import InThePot
from advisor.bench.overcoat import overcoat
from advisor.cli.options import CoatingOption, JsonOption
from advisor.cli.paper import Answer, Said
from advisor.desk.pot import keep_cup, mix
from advisor.desk.typed import past_moment, typed_air, typed_seconds, typed_temperature, typed_thinning, typed_within
from advisor.errors import UsageError, refuse
from advisor.judge.film_rules import FILM_AIR
from advisor.judge.verdict import EXIT_WAIT
from advisor.physics.paint.cups import find_cup
from advisor.say.craft import bench_words
from advisor.say.craft.overcoat_words import overcoat_records
from advisor.say.craft.overcoat_words import told as overcoat_told
from advisor.shop.shop import Shop
from advisor.times import local_day

_MATERIAL = (0.0, 45.0)  # [°C], what a tin in a shop may have
_BATCH = (1e-6, 0.1)  # [m3], a thimble to a drum
_AREA = (1e-3, 200.0)  # [m2], a knob to a houseful of doors
_WET_FILM = (5e-6, 1e-3)  # [m]
_MOST_COATS = 50


def mix_pot(
    shop: Shop,
    now: datetime,
    coating: CoatingOption = None,
    cup: Annotated[str | None, typer.Option("--cup", help='Efflux cup: "DIN 4", "Zahn 2", "Ford 4", "ISO 4".')] = None,
    seconds: Annotated[str | None, typer.Option("--seconds", help="Seconds it took to run out.")] = None,
    material: Annotated[str | None, typer.Option("--material", help="The material's temperature: 19C.")] = None,
    batch: Annotated[str | None, typer.Option("--batch", help="What is in the pot: 500ml, 16floz.")] = None,
    target: Annotated[
        str | None, typer.Option("--target", help="Seconds of this cup at the gun; else the sheet's.")
    ] = None,
    thinned: Annotated[str | None, typer.Option("--thinned", help="Thinner it has had, of the paint: 5%.")] = None,
    coats: Annotated[int | None, typer.Option("--coats", help="Coats meant, for what thinning costs.")] = None,
    air: Annotated[str | None, typer.Option("--air", help="Air it is sprayed in, with --rh: 24C.")] = None,
    rh: Annotated[str | None, typer.Option("--rh", help="Its relative humidity: 62%.")] = None,
    area: Annotated[
        str | None, typer.Option("--area", help="Area to coat, instead of --batch or beside it: 2.5m2, 20ft2.")
    ] = None,
    wet_film: Annotated[
        str | None, typer.Option("--wet-film", help="Wet film a coat, by the comb: 100um, 4mil.")
    ] = None,
    mixed: Annotated[
        str | None, typer.Option("--mixed", help="When hardener or solvent went in: 2026-05-01, or an ISO time.")
    ] = None,
    over: Annotated[str | None, typer.Option("--over", help="What it goes over: a coating id.")] = None,
    keep: Annotated[bool, typer.Option("--keep", help="Remember this reading: the next ones go by it.")] = False,
    tin: Annotated[
        str | None, typer.Option("--tin", help="With --keep: whose readings belong together; else today's.")
    ] = None,
    as_json: JsonOption = False,
) -> Answer:
    """Thin and mix: from a cup's seconds to thinner, hardener, pot life, and what thinning costs.

    Exit code: 0, 1 where this pot is not to be sprayed, 2 an error in what was given.
    """
    needed = {"coating": coating, "cup": cup, "seconds": seconds, "material": material}
    example = "--cup 'DIN 4' --seconds 38 --material 19C --batch 500ml"
    nothing, say = batch is None and area is None, "say what is in the pot, or the area"
    refuse(
        *((text is None, f"--{name} is missing", example, "give all five") for name, text in needed.items()),
        (nothing, "--batch is missing", "--batch 500ml, or --area 2.5m2", say),
    )
    paint = shop.coating(coating or "")
    below = None if over is None else shop.coating(over)
    pot = InThePot(
        cup=find_cup(cup or ""),
        seconds=typed_seconds(seconds or "", "--seconds"),
        material=typed_temperature(material or "", "--material", shop, _MATERIAL),
        batch=None if batch is None else typed_within(batch, "volume", "--batch", _BATCH, "1 ml to 100 l"),
        already=0.0 if thinned is None else typed_thinning(thinned),
        target=None if target is None else typed_seconds(target, "--target"),
        coats=coats,
        wet_film=None
        if wet_film is None
        else typed_within(wet_film, "length", "--wet-film", _WET_FILM, "5 to 1000 um"),
        area=None if area is None else typed_within(area, "area", "--area", _AREA, "0.001 to 200 m2"),
        age=None if mixed is None else _age(mixed, now, shop),
    )
    refuse(
        (coats is not None and not 1 <= coats <= _MOST_COATS, f"--coats {coats}", f"1 to {_MOST_COATS}", "correct it")
    )
    sprayed_in = typed_air(air, rh, shop, FILM_AIR, "--air 24C --rh 62%")
    if keep:
        keep_cup(paint, pot, f"{local_day(now, shop.zone)}" if tin is None else tin, shop, now)
    elif tin is not None:
        raise UsageError("--tin without --keep", "--keep --tin NAME", "a reading is remembered only with --keep")
    found = mix(paint, pot, shop, sprayed_in, below)
    if found.fault:
        print(f"advisor: your own cup readings are left out: {found.fault}", file=sys.stderr)
    if as_json:
        beside = None if below is None else next(overcoat_records(paint, [below], shop))
        said: Said = {**bench_words.mix_record(found.answer, pot, paint, now), "over": beside}
    else:
        note = () if below is None else (overcoat_told(overcoat(below, paint), below, paint, shop),)
        said = bench_words.told(found.answer, pot, paint, now, shop, note)
    return said, EXIT_WAIT if found.refused else 0


def _age(text: str, now: datetime, shop: Shop) -> float:
    """Seconds since the mix was made: an ISO time, or a day alone, which is taken from its first minute."""
    whole = text if "T" in text or " " in text.strip() else f"{text.strip()}T00:00"
    form = "like 2026-05-01 or 2026-11-25T14:05Z"
    return (now - past_moment("--mixed", text, ZoneInfo(shop.zone or "UTC"), now, form, whole=whole)).total_seconds()
