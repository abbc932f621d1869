"""`advisor mix`: the mixing bench."""

import json
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from advisor.advice import bench_words
from advisor.advice.bench import InThePot, bench, flow_of
from advisor.advice.film_view import FILM_AIR
from advisor.advice.overcoat import overcoat
from advisor.advice.overcoat_words import overcoat_records
from advisor.advice.overcoat_words import told as overcoat_told
from advisor.advice.verdict import EXIT_WAIT
from advisor.catalog.overcoats import NO
from advisor.catalog.units import parse_relative_humidity
from advisor.cli.cups_kept import keep, own_flow
from advisor.cli.paper import print_wrapped
from advisor.cli.recorded import zone_of
from advisor.cli.typed import typed_seconds, typed_temperature, typed_thinning, typed_within
from advisor.errors import UsageError, shown
from advisor.physics.cups import find_cup
from advisor.physics.viscosity import read_cup, share_from_thinning
from advisor.physics.viscosity_fit import FlowReading
from advisor.readings.csv_file import parse_time
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop
from advisor.times import local_day

_MATERIAL = (0.0, 45.0)  # [°C], what a tin in a shop may have
_BATCH = (1e-6, 0.1)  # [m3], a thimble to a drum
_AREA = (1e-3, 200.0)  # [m2], a knob to a houseful of doors
_WET_FILM = (5e-6, 1e-3)  # [m]
_MOST_COATS = 50
_LONGEST_TIN = 60  # characters


@dataclass(frozen=True)
class AskedMix:
    """The command line of `advisor mix`."""

    config: Path | None = None
    coating: str | None = None
    cup: str | None = None
    seconds: str | None = None
    material: str | None = None
    batch: str | None = None
    target: str | None = None
    thinned: str | None = None
    coats: int | None = None
    air: str | None = None
    rh: str | None = None
    area: str | None = None
    wet_film: str | None = None
    mixed: str | None = None
    tin: str | None = None
    keep: bool = False
    over: str | None = None
    as_json: bool = False


def run_mix(asked: AskedMix) -> int:
    """Compute and print; exit code 0, or 1 where this pot is not to be sprayed."""
    now = datetime.now(UTC)
    shop = shop_from(asked.config)
    for name in ("coating", "cup", "seconds", "material"):
        if getattr(asked, name) is None:
            example = "--cup 'DIN 4' --seconds 38 --material 19C --batch 500ml"
            raise UsageError(f"--{name} is missing", example, "give all five")
    if asked.batch is None and asked.area is None:
        raise UsageError("--batch is missing", "--batch 500ml, or --area 2.5m2", "say what is in the pot, or the area")
    coating = shop.coating(asked.coating or "")
    below = None if asked.over is None else shop.coating(asked.over)
    pot = InThePot(
        cup=find_cup(asked.cup or ""),
        seconds=typed_seconds(asked.seconds or "", "--seconds"),
        material=typed_temperature(asked.material or "", "--material", shop, _MATERIAL),
        batch=None if asked.batch is None else typed_within(asked.batch, "volume", "--batch", _BATCH, "1 ml to 100 l"),
        already=0.0 if asked.thinned is None else typed_thinning(asked.thinned),
        target=None if asked.target is None else typed_seconds(asked.target, "--target"),
        coats=asked.coats,
        wet_film=_optional(asked.wet_film, "length", "--wet-film", _WET_FILM, "5 to 1000 um"),
        area=_optional(asked.area, "area", "--area", _AREA, "0.001 to 200 m2"),
        age=None if asked.mixed is None else _age(asked.mixed, now, shop),
    )
    if asked.coats is not None and not 1 <= asked.coats <= _MOST_COATS:
        raise UsageError(f"--coats {asked.coats}", f"1 to {_MOST_COATS}", "correct it")
    air = _air(asked, shop)
    if asked.keep:
        keep(shop, coating.id, pot, _reading(asked, pot, now, shop), now)
    elif asked.tin is not None:
        raise UsageError("--tin without --keep", "--keep --tin NAME", "a reading is remembered only with --keep")
    answer = bench(coating, pot, shop, air, own_flow(shop, coating.id, flow_of(coating)))
    if asked.as_json:
        over = None if below is None else next(overcoat_records(coating, [below], shop))
        record = {**bench_words.mix_record(answer, pot, coating, now), "over": over}
        print(json.dumps(record, ensure_ascii=False, allow_nan=False))
    else:
        note = () if below is None else (overcoat_told(overcoat(below, coating), below, coating, shop),)
        print_wrapped(bench_words.told(answer, pot, coating, now, shop, note))
    refused = below is not None and overcoat(below, coating).standing == NO
    return EXIT_WAIT if answer.stopped or refused else 0


def _reading(asked: AskedMix, pot: InThePot, now: datetime, shop: Shop) -> FlowReading:
    """This reading, to be kept: of the tin named, else of today's."""
    tin = f"{local_day(now, shop.zone)}" if asked.tin is None else asked.tin.strip()
    if not (tin and tin.isprintable() and len(tin) <= _LONGEST_TIN):
        raise UsageError(f"--tin {shown(tin)}", f"a name of up to {_LONGEST_TIN} characters", "correct it")
    found = read_cup(pot.cup, pot.seconds)
    return FlowReading(tin, share_from_thinning(pot.already), pot.material, found.viscosity, found.in_range)


def _age(text: str, now: datetime, shop: Shop) -> float:
    """Seconds since the mix was made: an ISO time, or a day alone, which is taken from its first minute."""
    form = text if "T" in text or " " in text.strip() else f"{text.strip()}T00:00"
    mixed = parse_time(form, zone_of(shop.zone or "UTC"))
    if mixed is None:
        raise UsageError(f"--mixed {shown(text)} is no time", "like 2026-05-01 or 2026-11-25T14:05Z", "correct it")
    if mixed > now:
        raise UsageError(f"--mixed {shown(text)} lies in the future", "a time up to now", "correct it")
    return (now - mixed).total_seconds()


def _air(asked: AskedMix, shop: Shop) -> tuple[float, float] | None:
    if asked.air is None and asked.rh is None:
        return None
    if asked.air is None or asked.rh is None:
        raise UsageError("--air or --rh without the other", "--air 24C --rh 62%", "give both or none")
    air = typed_temperature(asked.air, "--air", shop, FILM_AIR)
    return air, parse_relative_humidity(asked.rh)


def _optional(text: str | None, dimension: str, name: str, allowed: tuple[float, float], words: str) -> float | None:
    return None if text is None else typed_within(text, dimension, name, allowed, words)
