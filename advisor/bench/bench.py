"""The mixing bench: from a cup's seconds to thinner, retarder, hardener, pot life, and what thinning costs.

Only what the coating takes, never past its sheet's thinning, and the mix judged by the film of today's air. The shop's
own cup readings, where it has kept some, stand before the family's figures.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from advisor.bench.batch import Batch, batch_for
from advisor.bench.bench_gates import Gate, gates
from advisor.catalog.coatings import RETARDER, Coating
from advisor.catalog.solvents import solvents
from advisor.catalog.sourced import Sourced
from advisor.film.drying import drying_times, faster_than_reference
from advisor.film.film_map import Films
from advisor.film.mix import fastest, mix_of, most_retarder, usual
from advisor.film.wet_film import FilmCase, dry_films
from advisor.physics.paint import film_build, viscosity
from advisor.physics.paint.cups import Cup, find_cup
from advisor.physics.paint.viscosity_fit import Flow, family_flow
from advisor.shop.shop import Shop

_DIN_4 = "DIN 4"
_ROUNDING = 1e-9
_RETARDER_STEPS = (0.0, 0.25, 0.5, 0.75, 1.0)  # shares of the most retarder a coating takes


@dataclass(frozen=True)
class InThePot:
    """What is on the bench: a cup's seconds [s] at the material's temperature [°C], and the batch [m3].

    already: thinning it has had, thinner by volume of paint [fraction]; target: seconds of the same cup at the gun,
    None for the sheet's; coats: meant in all; wet_film: of a coat [m]; area: to be coated [m2]; age: since hardener or
    solvent went in [s]. None where nobody said; batch None: as much as the area wants.
    """

    cup: Cup
    seconds: float
    material: float
    batch: float | None
    already: float = 0.0
    target: float | None = None
    coats: int | None = None
    wet_film: float | None = None
    area: float | None = None
    age: float | None = None


@dataclass(frozen=True)
class ThinnerToday:
    """What to thin with in today's air: speed, retarder as a share of all solvent, its volume [m3], next coat [s]."""

    speed: str
    retarder_share: float
    retarder: float
    recoat_from: float | None


@dataclass(frozen=True)
class BenchAnswer:
    """The bench's answer in SI: viscosities [m2/s], volumes [m3], temperatures [°C], lengths [m], times [s].

    batch: what the figures are for. thinning: thinner by volume of paint, in all; share: what is to be added now, by
    volume of the batch. capped: the sheet allows less than the target wants; then warm_to says at which temperature it
    would run, None where that is too warm and the larger needle has to do. thinner_today: None without air, or where
    nothing in the pot makes it a GO.
    over_thinned: it has had more thinner already than it takes; paint_back: unthinned paint to mix in until it has not,
    None where none helps. hardener: None where the sheet's ratio is not known; hardener_source: where it is from.
    flow: what it was computed with. pot_left: how much longer the pot lives, 0 where it is dead.
    """

    batch: float

    viscosity: float
    in_range: bool
    better_cup: str | None
    target_viscosity: float
    reached_viscosity: float
    reached_seconds: float
    share: float
    thinner: float
    thinning: float
    most_thinning: float
    capped: bool
    over_thinned: bool
    paint_back: float | None
    warm_to: float | None
    thinner_today: ThinnerToday | None
    hardener: float | None
    hardener_source: Sourced | None
    pot_life: float | None
    pot_left: float | None
    wet_film: float
    dry_film_per_coat: float
    coats: int
    extra_coats: int
    needle: float
    gates: tuple[Gate, ...]
    for_area: Batch | None
    flow: Flow

    @property
    def stopped(self) -> bool:
        """Whether this pot is not to be sprayed at all."""
        return any(gate.stop for gate in self.gates)


def bench(
    coating: Coating, pot: InThePot, shop: Shop, air: tuple[float, float] | None = None, flow: Flow | None = None
) -> BenchAnswer:
    """What to put into the pot. air: temperature [°C] and humidity [fraction] to be sprayed in, None where not known.

    flow: the coating's own thinning and warming as the shop has read it; None: its family's. Raises OutOfRange for
    readings that are none.
    """
    flow = flow or flow_of(coating)
    reading = viscosity.read_cup(pot.cup, pot.seconds)
    target = _target(coating, pot)
    already = viscosity.share_from_thinning(pot.already)
    most = most_thinning(coating)
    most_share = max(already, viscosity.share_from_thinning(most))
    # at the cap first: what is still too thick there is capped, however much more the target would want
    capped = viscosity.thinned(reading.viscosity, most_share, flow.slope, already) > target * (1.0 + _ROUNDING)
    share = most_share if capped else viscosity.share_for(reading.viscosity, target, flow.slope, already)
    reached = viscosity.thinned(reading.viscosity, share, flow.slope, already) if share > already else reading.viscosity
    thinning = viscosity.thinning_from_share(share)
    coats = pot.coats or round(shop.limit("usual_coats").value)
    wet = mix_of(coating, usual(coating)).wet_film if pot.wet_film is None else pot.wet_film
    life = pot_life(coating, pot.material, shop)
    solids = coating.numbers["volume_solids_as_sold"].value
    dry = film_build.dry_film(wet, solids, thinning)
    wanted = None if pot.area is None else batch_for(
        coating, pot.area, coats, dry, already, share, life, pot.batch, shop
    )  # fmt: skip
    batch = pot.batch if pot.batch is not None else 0.0 if wanted is None else wanted.paint
    thinner = viscosity.thinner_to_add(batch, share, already) if share > already else 0.0
    hardener = coating.numbers.get("hardener_share")
    over_thinned = pot.already > most + _ROUNDING
    return BenchAnswer(
        batch=batch,
        viscosity=reading.viscosity * 1e-6,
        in_range=reading.in_range,
        better_cup=reading.better_cup,
        target_viscosity=target * 1e-6,
        reached_viscosity=reached * 1e-6,
        reached_seconds=viscosity.seconds_for(pot.cup, reached, estimate=True),
        share=thinner / batch,
        thinner=thinner,
        thinning=thinning,
        most_thinning=most,
        capped=capped,
        over_thinned=over_thinned,
        paint_back=_paint_back(batch, pot.already, most) if over_thinned else None,
        warm_to=_warm_to(flow.energy, pot.material, reached, target, shop) if capped else None,
        thinner_today=None if air is None else _thinner_today(coating, pot, batch, thinner, air, shop),
        hardener=None if hardener is None else hardener.value * batch / (1.0 + pot.already),
        hardener_source=hardener,
        pot_life=life,
        pot_left=None if life is None else max(0.0, life - (pot.age or 0.0)),
        wet_film=wet,
        dry_film_per_coat=dry,
        coats=coats,
        extra_coats=film_build.extra_coats(coats, thinning),
        needle=_needle(coating, reached),
        gates=gates(coating, wet, dry, coats, pot.age, life),
        for_area=wanted,
        flow=flow,
    )


def flow_of(coating: Coating) -> Flow:
    """A family's starting figures."""
    return family_flow(coating.numbers["thinning_slope"].value, coating.numbers["flow_energy"].value)


def _needle(coating: Coating, reached: float) -> float:
    """Needle [m] out of the coating's range: the finest for what runs at the thin end, the largest at the thick one."""
    thin, thick = (
        viscosity.kinematic_viscosity(find_cup(_DIN_4), coating.numbers[f"din4_seconds_{edge}"].value, estimate=True)
        for edge in ("low", "high")
    )
    fine, large = (coating.numbers[f"needle_{edge}"].value for edge in ("low", "high"))
    part = min(1.0, max(0.0, (reached - thin) / (thick - thin)))
    return round(fine + part * (large - fine), 4)


def most_thinning(coating: Coating) -> float:
    """The most thinner by volume of paint [fraction]: the sheet's, or what leaves its least volume solids."""
    limit, floor = coating.numbers.get("thinning_max"), coating.numbers.get("thinned_volume_solids_floor")
    if floor is not None:
        down_to = coating.numbers["volume_solids_as_sold"].value / floor.value - 1.0
        return max(0.0, down_to if limit is None else min(limit.value, down_to))
    return 0.0 if limit is None else limit.value


def pot_life(coating: Coating, temperature: float, shop: Shop) -> float | None:
    """How long a mixed pot lives [s] at a temperature [°C]; None where it does not die.

    Unkind both ways: warmth shortens it by the higher activation energy, cold lengthens it by the lower.
    """
    number = coating.numbers.get("pot_life")
    if number is None:
        return None
    return number.value / faster_than_reference(temperature, shop, "cure_energy_warm", "cure_energy_cold")


def _target(coating: Coating, pot: InThePot) -> float:
    """Viscosity at the gun [mm2/s]: the seconds asked for, else the sheet's.

    Clear and sealer that come as thick as they are meant stay so: they are thinned only when over their range.
    """
    if pot.target is not None:
        return viscosity.kinematic_viscosity(pot.cup, pot.target, estimate=True)
    low, high = (coating.numbers[f"din4_seconds_{edge}"].value for edge in ("low", "high"))
    usual_least = coating.numbers.get("thinning_usual_low")
    stays = usual_least is not None and usual_least.value == 0.0
    return viscosity.kinematic_viscosity(find_cup(_DIN_4), high if stays else 0.5 * (low + high), estimate=True)


def _paint_back(batch: float, already: float, most: float) -> float | None:
    """Unthinned paint [m3] that brings a batch [m3] back to the most thinning; None where it takes none."""
    if most <= 0.0:
        return None
    paint = batch / (1.0 + already)
    return paint * already / most - paint


def _warm_to(energy: float, material: float, reached: float, target: float, shop: Shop) -> float | None:
    """The temperature [°C] at which what the sheet allows runs as wanted; None where that is too warm."""
    warmest = shop.limit("warmest_material").value
    if material >= warmest or viscosity.viscosity_at(reached, material, warmest, energy) > target:
        return None
    return viscosity.temperature_for(reached, material, target, energy)


def _thinner_today(
    coating: Coating, pot: InThePot, batch: float, thinner: float, air: tuple[float, float], shop: Shop
) -> ThinnerToday | None:
    """The usual thinner or a slower one, with the least retarder that keeps the film clear with the spread to spare."""
    if coating.carrier == "water":
        return None
    temperature, humidity = air
    case = FilmCase(
        temperature, humidity, temperature, mix_of(coating, fastest(coating)), gun=shop.air_supply,
        liquid=pot.material,
    )  # fmt: skip
    speeds = coating.thinner_speeds[coating.thinner_speeds.index(usual(coating)) :]
    most = most_retarder(coating)
    mixes = [(speed, round(most * step, 4)) for speed in speeds for step in (_RETARDER_STEPS if most else (0.0,))]
    damper = min(1.0, humidity + shop.limit("blend_spread").value)
    cases = [replace(case, mix=mix_of(coating, *mix), relative_humidity=damper) for mix in mixes]
    outcomes = dry_films(cases, shop, quick=True).outcomes
    for (speed, share), outcome in zip(mixes, outcomes, strict=True):
        volume = _retarder_volume(coating, batch, pot.already, thinner, share)
        # spirit may go under the dew point: it gives its water back
        dry = coating.carrier == "spirit" or outcome.lowest >= outcome.dew_point
        if outcome.haze < 0 and dry and volume <= thinner + 1e-12:
            clear = replace(case, mix=mix_of(coating, speed, share))
            return ThinnerToday(speed, share, volume, drying_times(coating, clear, Films(shop), shop).recoat_from)
    return None


def _retarder_volume(coating: Coating, batch: float, already: float, thinner: float, share: float) -> float:
    """Retarder [m3] that is this share of all solvent's mass in the ready mix, put in place of thinner."""
    if share == 0.0:
        return 0.0
    paint = batch / (1.0 + already)
    solids = coating.numbers["volume_solids_as_sold"].value * paint
    solvent = batch + thinner - solids
    blend, retarder = coating.blends[usual(coating)].mass_fractions, coating.blends[RETARDER].mass_fractions
    return solvent * share * _density(blend) / _density(retarder)


def _density(parts: Mapping[str, float]) -> float:
    """Density of a blend [kg/m3] by its mass fractions."""
    return 1.0 / sum(part / solvents()[name].density for name, part in parts.items())
