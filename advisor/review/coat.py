"""A coat as it was sprayed: what a review is told of it."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from advisor.review.sighting import UNSEEN, Sighting
from advisor.shop.shop import Shop


@dataclass(frozen=True, kw_only=True)
class Below:
    """The coat below: its coating's id, and when it was sprayed; None where nobody said."""

    coating: str
    sprayed: datetime | None = None


@dataclass(frozen=True, kw_only=True)
class SprayedCoat:
    """One coat; what nobody said is None.

    ended: the gun put down. thinner: speed; thinning by volume of the paint, retarder of all solvent [fraction].
    mixed_at: hardener went in. cup: its name, seconds [s]. material, surface [°C]. needle, wet_film [m]. pressure [Pa]
    at the gun. sanded: whether what lay below was sanded. gun: what feeds it. air [°C], humidity [fraction]: by hand
    at the gun, on other instruments. in_room_since: the piece was brought in. seen: how the defect was first seen.
    """

    coating: str
    sprayed: datetime
    ended: datetime | None = None
    thinner: str | None = None
    thinning: float | None = None
    retarder: float | None = None
    mixed_at: datetime | None = None
    cup: str | None = None
    seconds: float | None = None
    material: float | None = None
    surface: float | None = None
    needle: float | None = None
    pressure: float | None = None
    wet_film: float | None = None
    below: Below | None = None
    sanded: bool | None = None
    gun: str | None = None
    air: float | None = None
    humidity: float | None = None
    in_room_since: datetime | None = None
    seen: Sighting = UNSEEN
    name: str = ""

    def end(self, shop: Shop) -> datetime:
        """When the gun was put down, or after the shop's usual time."""
        if self.ended is not None and self.ended >= self.sprayed:
            return self.ended
        return self.sprayed + timedelta(seconds=shop.limit("session_spray").value)
