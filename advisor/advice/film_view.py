"""The film as the rules see it: what it would do in these conditions with what is in the pot."""

from dataclasses import dataclass

from advisor.advice.conditions import Conditions, humidity_capped, surface_of_piece, usable
from advisor.advice.drying import DryingTimes, drying_times
from advisor.advice.film_answer import FilmAnswer, film_answer
from advisor.advice.mix import Mix, fastest, mix_of, usual
from advisor.advice.wet_film import FilmCase, film_settings
from advisor.catalog.coatings import Coating
from advisor.shop.shop import Shop

# Films are computed at air and piece to 0.1 K, humidity to 0.5 %, pressure to 5 hPa: finer than any sensor here knows
# them, and a day of minutes repeats itself.
FILM_AIR = (-5.0, 45.0)  # [°C] of air and piece; outside it every coating's own band has long decided
_TEMPERATURE_STEP, _HUMIDITY_STEP, _PRESSURE_STEP = 0.1, 0.005, 500.0


@dataclass(frozen=True)
class Pot:
    """What the sprayer says of pot, gun and piece. None: nobody said.

    thinner: hot, medium or slow; retarder: share of all solvent in the ready mix [fraction]; gun: compressor, turbine
    or none; substrate: an id of the substrate table.
    """

    thinner: str | None = None
    retarder: float = 0.0
    gun: str | None = None
    substrate: str = "wood"


UNKNOWN_POT = Pot()


@dataclass(frozen=True)
class FilmView:
    """The film judged: `blush` for the thinner as named or the fastest, `times` for it as named or the usual one.

    guessed: the piece's temperature was not measured. thinner_unknown: nobody named the thinner where it matters.
    """

    blush: FilmAnswer
    times: DryingTimes
    guessed: bool
    thinner_unknown: bool


def film_view(conditions: Conditions, coating: Coating, shop: Shop, pot: Pot = UNKNOWN_POT) -> FilmView | None:
    """The film in these conditions; None when air temperature or humidity may not decide, or nobody sprays in them.

    Raises UsageError when the pot holds what the coating does not take.
    """
    case = case_of(conditions, shop, pot, mix_of(coating, pot.thinner or fastest(coating), pot.retarder))
    if case is None:
        return None
    settings = film_settings(shop)
    blush = film_answer(case, settings)
    drying = case_of(conditions, shop, pot, mix_of(coating, pot.thinner or usual(coating), pot.retarder)) or case
    times = drying_times(coating, drying, settings, shop)
    piece = surface_of_piece(conditions, shop)
    return FilmView(
        blush=blush,
        times=times,
        guessed=piece is None or piece.basis != "measured",
        thinner_unknown=pot.thinner is None and len(coating.thinner_speeds) > 1,
    )


def case_of(conditions: Conditions, shop: Shop, pot: Pot, mix: Mix) -> FilmCase | None:
    """The film's case; None when air temperature or humidity may not decide, or nobody sprays in them."""
    air, humidity = (usable(conditions, quantity, shop) for quantity in ("air_temperature", "relative_humidity"))
    piece = surface_of_piece(conditions, shop)
    if air is None or humidity is None or air.value is None or humidity.value is None or piece is None:
        return None
    if not all(FILM_AIR[0] <= value <= FILM_AIR[1] for value in (air.value, piece.value)):
        return None
    return FilmCase(
        air_temperature=_stepped(air.value, _TEMPERATURE_STEP),
        relative_humidity=min(1.0, max(_HUMIDITY_STEP, _stepped(humidity_capped(humidity.value), _HUMIDITY_STEP))),
        piece=_stepped(piece.value, _TEMPERATURE_STEP),
        mix=mix,
        substrate=pot.substrate,
        gun=pot.gun or shop.air_supply,
        pressure=_stepped(conditions.pressure, _PRESSURE_STEP),
    )


def _stepped(value: float, step: float) -> float:
    return round(round(value / step) * step, 6)
