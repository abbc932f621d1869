"""Whether a water-borne film forms: how warm it is as its particles pack, against its MFFT and what it needs."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import nan

from advisor.catalog.coatings import Coating
from advisor.film.film_map import FilmAnswer, onset
from advisor.film.wet_film import FilmCase, dry_films
from advisor.judge.film_rules import packing_limits
from advisor.shop.shop import Shop

FORMS, MAY_NOT, DOES_NOT = "forms", "may_not_form", "does_not_form"


@dataclass(frozen=True)
class FilmNeed:
    """What a film needs as its particles pack [°C], and what it then has: mfft, needed, packed.

    packed: None where its particles never pack in this air. state: FORMS, MAY_NOT or DOES_NOT, by the rule's limits.
    """

    mfft: float
    needed: float
    packed: float | None
    state: str


def film_need(answer: FilmAnswer, coating: Coating, shop: Shop) -> FilmNeed | None:
    """What this film needs and has; None for a coating that forms no film of particles."""
    limits = packing_limits(coating, shop)
    if limits is None:
        return None
    packed = None if answer.outcome.to_pack is None else answer.outcome.at_packing
    state = (FORMS, MAY_NOT, DOES_NOT)[int(limits.levels(nan if packed is None else packed))]
    return FilmNeed(coating.numbers["minimum_film_forming_temperature"].value, float(limits.low), packed, state)


def forms_from(
    case: FilmCase, humidities: Sequence[float], temperatures: Sequence[float], needed: float, shop: Shop
) -> list[float | None]:
    """For each humidity [fraction] the air temperature [°C] from which the film packs warm enough, all else alike.

    temperatures: rising [°C], those it is sought between on a straight line, piece and liquid following the air; None
    where none of them is warm enough.
    """
    lag = case.piece - case.air_temperature
    asked = [
        replace(case, air_temperature=air, piece=air + lag, liquid=None, relative_humidity=humidity)
        for humidity in humidities
        for air in temperatures
    ]
    outcomes = dry_films(asked, shop, quick=True).outcomes
    over = [each.at_packing - needed if each.to_pack is not None else -needed for each in outcomes]
    each_row = range(0, len(over), len(temperatures))
    return [onset(over[start : start + len(temperatures)], temperatures) for start in each_row]
