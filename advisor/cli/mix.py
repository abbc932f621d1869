"""`advisor mix`: the mixing bench."""

import json
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from advisor.advice import bench_words, phrases
from advisor.advice.bench import BenchAnswer, InThePot, bench
from advisor.advice.cautions import cautions_for
from advisor.advice.film_view import FILM_AIR
from advisor.advice.record import SCHEMA, exact, number, utc
from advisor.catalog.coatings import Coating
from advisor.catalog.units import NUMBER, parse_quantity, parse_relative_humidity
from advisor.cli.paper import print_wrapped
from advisor.cli.typed import typed_temperature
from advisor.errors import UsageError, shown
from advisor.physics.cups import find_cup
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop

_MATERIAL = (0.0, 45.0)  # [°C], what a tin in a shop may have
_BATCH = (1e-6, 0.1)  # [m3], a thimble to a drum
_MOST_COATS = 50


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
    as_json: bool = False


def run_mix(asked: AskedMix) -> int:
    """Compute and print; exit code 0."""
    now = datetime.now(UTC)
    shop = shop_from(asked.config)
    for name in ("coating", "cup", "seconds", "material", "batch"):
        if getattr(asked, name) is None:
            example = "--cup 'DIN 4' --seconds 38 --material 19C --batch 500ml"
            raise UsageError(f"--{name} is missing", example, "give all five")
    coating = shop.coating(asked.coating or "")
    pot = InThePot(
        cup=find_cup(asked.cup or ""),
        seconds=_seconds(asked.seconds or "", "--seconds"),
        material=typed_temperature(asked.material or "", "--material", shop, _MATERIAL),
        batch=_batch(asked.batch or ""),
        already=0.0 if asked.thinned is None else _thinned(asked.thinned),
        target=None if asked.target is None else _seconds(asked.target, "--target"),
        coats=asked.coats,
    )
    if asked.coats is not None and not 1 <= asked.coats <= _MOST_COATS:
        raise UsageError(f"--coats {asked.coats}", f"1 to {_MOST_COATS}", "correct it")
    answer = bench(coating, pot, shop, _air(asked, shop))
    if asked.as_json:
        print(json.dumps(_record(answer, pot, coating, now), ensure_ascii=False, allow_nan=False))
    else:
        print_wrapped(bench_words.told(answer, pot, coating, now, shop))
    return 0


def _air(asked: AskedMix, shop: Shop) -> tuple[float, float] | None:
    if asked.air is None and asked.rh is None:
        return None
    if asked.air is None or asked.rh is None:
        raise UsageError("--air or --rh without the other", "--air 24C --rh 62%", "give both or none")
    air = typed_temperature(asked.air, "--air", shop, FILM_AIR)
    return air, parse_relative_humidity(asked.rh)


def _seconds(text: str, name: str) -> float:
    """Cup seconds: a bare number, or with `s`."""
    cleaned = text.strip()
    seconds = float(cleaned) if NUMBER.fullmatch(cleaned) else parse_quantity(cleaned, "time", name)
    if not 0.0 < seconds <= 600.0:
        raise UsageError(f"{name} {shown(text)}", "over 0 and up to 600 s", "read the cup again")
    return seconds


def _batch(text: str) -> float:
    batch = parse_quantity(text, "volume", "--batch")
    if not _BATCH[0] <= batch <= _BATCH[1]:
        raise UsageError(f"--batch {shown(text)}", "1 ml to 100 l", "check the unit")
    return batch


def _thinned(text: str) -> float:
    thinned = parse_quantity(text, "fraction", "--thinned")
    if not 0.0 <= thinned <= 2.0:
        raise UsageError(f"--thinned {shown(text)}", "0 to 200 % of the paint", "correct it")
    return thinned


def _record(answer: BenchAnswer, pot: InThePot, coating: Coating, now: datetime) -> dict[str, Any]:
    today = answer.thinner_today
    until = None if answer.pot_life is None else utc(now + timedelta(seconds=answer.pot_life))
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
        "warm_to": number(answer.warm_to),
        "thinner_speed": None if today is None else today.speed,
        "retarder_share": None if today is None else number(today.retarder_share),
        "retarder": None if today is None else exact(today.retarder),
        "recoat_from": None if today is None else number(today.recoat_from),
        "hardener": None if answer.hardener is None else exact(answer.hardener),
        "pot_life": number(answer.pot_life),
        "pot_life_until": until,
        "dry_film_per_coat": exact(answer.dry_film_per_coat),
        "extra_coats": answer.extra_coats,
        "cautions": [phrases.CAUTION_WORDS[key] for key in cautions_for(coating)],
    }
