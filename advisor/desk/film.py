"""The wet film of a coating, or of solvents of one's own, in some air."""

from dataclasses import dataclass, replace

from advisor.advice.drying import DryingTimes, drying_times
from advisor.advice.film_answer import FilmAnswer, film_answer
from advisor.advice.film_map import films_of
from advisor.advice.film_need import FilmNeed, film_need
from advisor.advice.film_view import Pot
from advisor.advice.mix import fastest, mix_of, mix_of_solvents, usual
from advisor.advice.wet_film import FilmCase, wet_blend
from advisor.catalog.coatings import Coating
from advisor.physics import moist_air
from advisor.physics.mixture import critical_relative_humidity
from advisor.shop.shop import Shop


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
    films = films_of(shop)
    answer = film_answer(case, films.settings)
    times = None if coating is None else drying_times(coating, replace(case, mix=drying_mix), films, shop)
    critical = None
    if mix.dispersion:
        liquids, masses = wet_blend(mix)
        critical = critical_relative_humidity(masses, liquids, case.air_temperature, case.pressure)
    need = None if coating is None else film_need(answer, coating, shop)
    return Film(answer, need, coating, pot, times, drying_mix.thinner, critical)
