"""A pot mixed at the bench, and the shop's own cup readings, kept in the logbook and read back from it.

The wet film of a coating, or of solvents of one's own, in some air.
"""

from dataclasses import dataclass, replace
from datetime import datetime

from advisor.bench.bench import BenchAnswer, InThePot, bench, flow_of
from advisor.bench.overcoat import overcoat
from advisor.catalog.coatings import Coating
from advisor.catalog.schedules import NO
from advisor.errors import AdvisorError, refuse, shown
from advisor.film.drying import DryingTimes, drying_times
from advisor.film.film_map import FilmAnswer, Films, film_answer
from advisor.film.mix import fastest, mix_of, mix_of_solvents, usual
from advisor.film.wet_film import FilmCase, wet_blend
from advisor.judge.film_rules import Pot
from advisor.logbook.calibration_log import cup_readings, keep_cup_reading
from advisor.logbook.store import logbook, logbook_path, transaction
from advisor.physics.air import moist_air
from advisor.physics.film.mixture import critical_relative_humidity
from advisor.physics.paint.viscosity import read_cup, share_from_thinning
from advisor.physics.paint.viscosity_fit import Flow, FlowReading, refined
from advisor.shop.shop import Shop
from advisor.times import milliseconds
from advisor.ways.film_need import FilmNeed, film_need

_LONGEST_TIN = 60  # characters


@dataclass(frozen=True)
class Mixed:
    """The bench's answer; refused: this pot is not to be sprayed, or not over what is below.

    fault: why the shop's own cup readings are left out of it, else empty.
    """

    answer: BenchAnswer
    refused: bool
    fault: str


def mix(
    coating: Coating, pot: InThePot, shop: Shop, air: tuple[float, float] | None, below: Coating | None = None
) -> Mixed:
    """Thinner, hardener, pot life for a pot, by the shop's own cup readings where it has some.

    air: it is sprayed in [°C, fraction]; below: what it goes over. The bench answers with the logbook away: the pot is
    open.
    """
    flow, fault = _own_flow(shop, coating.id, flow_of(coating))
    answer = bench(coating, pot, shop, air, flow)
    never = below is not None and overcoat(below, coating).standing == NO
    return Mixed(answer, answer.stopped or never, fault)


def keep_cup(coating: Coating, pot: InThePot, tin: str, shop: Shop, now: datetime) -> None:
    """Keep a cup reading, of the tin named: the next ones go by it. Raises UsageError, LogbookError."""
    tin = tin.strip()
    refuse((
        not (tin and tin.isprintable() and len(tin) <= _LONGEST_TIN),
        f"--tin {shown(tin)}", f"a name of up to {_LONGEST_TIN} characters", "correct it",
    ))  # fmt: skip
    found = read_cup(pot.cup, pot.seconds)
    reading = FlowReading(tin, share_from_thinning(pot.already), pot.material, found.viscosity, found.in_range)
    with logbook(logbook_path(shop.logbook), now) as connection, transaction(connection):
        keep_cup_reading(connection, milliseconds(now), coating.id, pot.cup.id, pot.seconds, reading)


def _own_flow(shop: Shop, coating: str, start: Flow) -> tuple[Flow, str]:
    """The family's figures refined by the shop's readings; the family's own, with the fault, where those are away."""
    path = logbook_path(shop.logbook)
    if not path.exists():
        return start, ""
    try:
        with logbook(path) as connection:
            return refined(start, cup_readings(connection, coating)), ""
    except AdvisorError as error:
        return start, str(error)


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


def film_in(
    temperature: float, humidity: float, shop: Shop, of: Coating | str, pot: Pot, *, surface: float | None = None,
    air_speed: float | None = None, liquid: float | None = None,
) -> Film:  # fmt: skip
    """What the film does in air [°C, fraction], on a piece and of a liquid [°C] as warm as the air if nobody says.

    of: a coating, or solvents by mass as text; then the pot says neither thinner nor retarder. air_speed: over the
    piece after the gun [m/s].
    """
    coating = None if isinstance(of, str) else of
    if isinstance(of, str):
        mix = drying_mix = mix_of_solvents(of)
    else:
        mix = mix_of(of, pot.thinner or fastest(of), pot.retarder)
        drying_mix = mix_of(of, pot.thinner or usual(of), pot.retarder)
    case = FilmCase(
        air_temperature=temperature,
        relative_humidity=humidity,
        piece=temperature if surface is None else surface,
        mix=mix,
        substrate=pot.substrate,
        gun=pot.gun or shop.air_supply,
        air_speed=air_speed,
        room_air_speed=air_speed,
        liquid=liquid,
        pressure=float(moist_air.pressure_at_altitude(shop.altitude)),
    )
    films = Films(shop)
    answer = film_answer(case, films.shop)
    times = None if coating is None else drying_times(coating, replace(case, mix=drying_mix), films, shop)
    critical = None
    if mix.dispersion:
        liquids, masses = wet_blend(mix)
        critical = critical_relative_humidity(masses, liquids, case.air_temperature, case.pressure)
    need = None if coating is None else film_need(answer, coating, shop)
    return Film(answer, need, coating, pot, times, drying_mix.thinner, critical)
