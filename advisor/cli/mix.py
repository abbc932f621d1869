"""`advisor mix`: the mixing bench."""

import json
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from advisor.advice import bench_words, phrases
from advisor.advice.batch import Batch
from advisor.advice.bench import BenchAnswer, InThePot, bench, flow_of
from advisor.advice.bench_gates import Gate
from advisor.advice.cautions import cautions_for
from advisor.advice.film_view import FILM_AIR
from advisor.advice.measures import local_day
from advisor.advice.overcoat import overcoat, overcoat_records
from advisor.advice.overcoat import told as overcoat_told
from advisor.advice.record import SCHEMA, exact, number, utc
from advisor.advice.verdict import EXIT_WAIT
from advisor.catalog.coatings import Coating
from advisor.catalog.overcoats import NO
from advisor.catalog.units import parse_relative_humidity
from advisor.cli.cups_kept import keep, own_flow
from advisor.cli.paper import print_wrapped
from advisor.cli.typed import typed_seconds, typed_temperature, typed_thinning, typed_within
from advisor.errors import UsageError, shown
from advisor.physics.cups import find_cup
from advisor.physics.viscosity import read_cup, share_from_thinning
from advisor.physics.viscosity_fit import FlowReading
from advisor.readings.csv_file import parse_time
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop
from advisor.sources.air_source import zone_of

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
        print(json.dumps({**_record(answer, pot, coating, now), "over": over}, ensure_ascii=False, allow_nan=False))
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


def _record(answer: BenchAnswer, pot: InThePot, coating: Coating, now: datetime) -> dict[str, Any]:
    today, source = answer.thinner_today, answer.hardener_source
    mixed = now - timedelta(seconds=pot.age or 0.0)
    until = None if answer.pot_life is None else utc(mixed + timedelta(seconds=answer.pot_life))
    return {
        "schema": SCHEMA,
        "computed_at": utc(now),
        "coating": coating.id,
        "cup": pot.cup.id,
        "seconds": number(pot.seconds),
        "viscosity": exact(answer.viscosity),
        "in_range": answer.in_range,
        "better_cup": answer.better_cup,
        "target_viscosity": exact(answer.target_viscosity),
        "reached_viscosity": exact(answer.reached_viscosity),
        "reached_seconds": number(answer.reached_seconds),
        "thinner": exact(answer.thinner),
        "share": number(answer.share),
        "thinning": number(answer.thinning),
        "thinning_max": number(answer.most_thinning),
        "capped": answer.capped,
        "over_thinned": answer.over_thinned,
        "paint_back": None if answer.paint_back is None else exact(answer.paint_back),
        "warm_to": number(answer.warm_to),
        "thinner_speed": None if today is None else today.speed,
        "retarder_share": None if today is None else number(today.retarder_share),
        "retarder": None if today is None else exact(today.retarder),
        "recoat_from": None if today is None else number(today.recoat_from),
        "hardener": None if answer.hardener is None else exact(answer.hardener),
        "hardener_source": None if source is None else {"share": number(source.value), "tag": source.tag},
        "pot_life": number(answer.pot_life),
        "pot_life_until": until,
        "wet_film": exact(answer.wet_film),
        "dry_film_per_coat": exact(answer.dry_film_per_coat),
        "extra_coats": answer.extra_coats,
        "needle": exact(answer.needle),
        "batch": exact(answer.batch),
        "for_area": None if answer.for_area is None else _for_area(answer.for_area),
        "gates": [_gate(gate) for gate in answer.gates],
        "stopped": answer.stopped,
        "thinning_slope": number(answer.flow.slope),
        "flow_energy": number(answer.flow.energy),
        "own_readings": answer.flow.readings,
        "cautions": [phrases.CAUTION_WORDS[key] for key in cautions_for(coating)],
    }


def _for_area(batch: Batch) -> dict[str, Any]:
    return {
        "area": number(batch.area),
        "coats": batch.coats,
        "ready_mix": exact(batch.ready),
        "ready_mix_a_coat": exact(batch.a_coat),
        "paint": exact(batch.paint),
        "thinner": exact(batch.thinner),
        "hardener": None if batch.hardener is None else exact(batch.hardener),
        "coats_in_pot": batch.coats_in_pot,
        "coats_of_pot": number(batch.coats_of_pot),
    }


def _gate(gate: Gate) -> dict[str, Any]:
    return {"kind": gate.kind, "measured": exact(gate.measured), "limit": exact(gate.limit), "stop": gate.stop}
