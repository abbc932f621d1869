"""The film as the rules see it: what it would do in these conditions with what is in the pot."""

from dataclasses import dataclass, field

from advisor.advice.conditions import MEASURED, Conditions, air_at_work, surface_of_piece
from advisor.advice.drying import DryingTimes, drying_times, pace_of
from advisor.advice.film_answer import FilmAnswer
from advisor.advice.film_map import Films, films_of
from advisor.advice.mix import Mix, fastest, mix_of, usual
from advisor.advice.wet_film import FilmCase
from advisor.catalog.coatings import Coating
from advisor.shop.shop import Shop

FILM_AIR = (-5.0, 45.0)  # [°C] of air and piece; outside it every coating's own band has long decided


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
    """The film judged, of the thinner as named or else the fastest.

    pace: its time to close against the usual one, None where it never closes. guessed: the piece's temperature was not
    measured. thinner_unknown: nobody named the thinner where it matters. films: the table it was looked up in.
    """

    blush: FilmAnswer
    pace: float | None
    guessed: bool
    thinner_unknown: bool
    films: Films = field(compare=False, repr=False)


def film_view(
    conditions: Conditions, coating: Coating, shop: Shop, pot: Pot = UNKNOWN_POT, films: Films | None = None
) -> FilmView | None:
    """The film in these conditions; None when air temperature or humidity may not decide, or nobody sprays in them.

    Raises UsageError when the pot holds what the coating does not take.
    """
    case = case_of(conditions, shop, pot, mix_of(coating, pot.thinner or fastest(coating), pot.retarder))
    films = films or films_of(shop)
    return None if case is None else view_of(films.between(case), conditions, coating, shop, pot, films)


def view_of(
    blush: FilmAnswer, conditions: Conditions, coating: Coating, shop: Shop, pot: Pot, films: Films
) -> FilmView:
    """The view of a film answered already; its pace is that against the usual thinner where its own is known."""
    beside = mix_of(coating, usual(coating) if pot.thinner or pot.retarder else fastest(coating))
    piece = surface_of_piece(conditions, shop)
    return FilmView(
        blush=blush,
        pace=pace_of(blush, beside, films, shop),
        guessed=piece is None or piece.basis != MEASURED,
        thinner_unknown=pot.thinner is None and len(coating.thinner_speeds) > 1,
        films=films,
    )


def times_of(
    conditions: Conditions, coating: Coating, shop: Shop, pot: Pot = UNKNOWN_POT, films: Films | None = None
) -> DryingTimes | None:
    """The drying times of the thinner as named or else the usual one; None where no film is computed."""
    case = case_of(conditions, shop, pot, usual_mix(coating, pot))
    return None if case is None else drying_times(coating, case, films or films_of(shop), shop)


def usual_mix(coating: Coating, pot: Pot) -> Mix:
    """The mix that drying is computed with: the thinner as named or else the usual one."""
    return mix_of(coating, pot.thinner or usual(coating), pot.retarder)


def case_of(conditions: Conditions, shop: Shop, pot: Pot, mix: Mix) -> FilmCase | None:
    """The film's case; None when air temperature or humidity may not decide, or nobody sprays in them."""
    air, piece = air_at_work(conditions, shop), surface_of_piece(conditions, shop)
    if air is None or piece is None or not all(FILM_AIR[0] <= each <= FILM_AIR[1] for each in (air[0], piece.value)):
        return None
    return FilmCase(
        air_temperature=air[0],
        relative_humidity=air[1],
        piece=piece.value,
        mix=mix,
        substrate=pot.substrate,
        gun=pot.gun or shop.air_supply,
        pressure=conditions.pressure,
    )
