"""How much to mix for an area and so many coats, and how many of them one pot lives for."""

from dataclasses import dataclass
from math import floor

from advisor.catalog.coatings import Coating
from advisor.physics.paint.film_build import area_covered, volume_for
from advisor.physics.paint.viscosity import thinning_from_share
from advisor.shop.shop import Shop


@dataclass(frozen=True)
class Batch:
    """What an area wants [m3]: ready mix in all and for one coat; of it paint as it is in the pot, thinner, hardener.

    coats: for so many; coats_in_pot: so many before a mixed pot dies, None where it does not die. coats_of_pot: what is
    in the pot gives so many coats of the area, None where nobody said how much that is.
    """

    area: float
    coats: int
    ready: float
    a_coat: float
    paint: float
    thinner: float
    hardener: float | None
    coats_in_pot: int | None
    coats_of_pot: float | None


def batch_for(
    coating: Coating, area: float, coats: int, dry_film: float, already: float, share: float, pot_life: float | None,
    in_pot: float | None, shop: Shop,
) -> Batch:  # fmt: skip
    """The mix for an area [m2] and coats of this dry film [m], with what does not land on it.

    already, share: thinner by volume of the mix, as it is in the pot and as it is to be sprayed [fraction]. pot_life
    [s] at the mixing temperature; the next coat is counted from the sheet's safe time. in_pot [m3].
    """
    lands = shop.limit("transfer_efficiency").value
    solids, thinning = coating.numbers["volume_solids_as_sold"].value, thinning_from_share(share)
    ready = volume_for(area, dry_film * coats, solids, thinning, lands)
    part = coating.numbers.get("hardener_share")
    of_base = 0.0 if part is None else part.value / (1.0 + thinning_from_share(already))
    grown = (1.0 - already) / (1.0 - share)  # ready mix without hardener, of a volume as it is in the pot
    paint = ready / (grown + of_base)
    recoat = coating.numbers["recoat_from_high"].value
    sprayed = None if in_pot is None else in_pot * (grown + of_base)
    return Batch(
        area, coats, ready, ready / coats, paint, paint * (grown - 1.0), None if part is None else of_base * paint,
        None if pot_life is None else 1 + floor(pot_life / recoat),
        None if sprayed is None else area_covered(sprayed, dry_film, solids, thinning, lands) / area,
    )  # fmt: skip
