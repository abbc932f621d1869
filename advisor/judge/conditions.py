"""What is known at one moment: the only thing the rules see."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from math import isfinite

from advisor.catalog.limits import quality_limits
from advisor.catalog.sourced import Sourced
from advisor.errors import OutOfRange
from advisor.physics.air import moist_air
from advisor.shop.shop import Shop


@dataclass(frozen=True)
class Measured:
    """A value at one place, in SI.

    value: None when there is none that can be used, and then `reason` says why; a good one may be `still`. uncertainty:
    standard, in its unit [K for temperatures]. age [s]: None when nothing was ever read. level: good, suspect or
    bad.
    rivals: what sensors at this place say that are further apart than they are sure; the worse of them counts.
    """

    value: float | None
    uncertainty: float
    age: float | None
    level: str = "good"
    reason: str = ""
    rivals: tuple[float, ...] = ()

    def unusable_because(self, fresh_for: float) -> str:
        """Why this may not decide anything: missing, its mark, or stale; empty when it may."""
        if self.value is None or not isfinite(self.value):
            return self.reason or ("missing" if self.value is None else "not-a-number")
        if self.level != "good":
            return self.reason or "missing"
        if self.age is None or not self.age <= fresh_for:
            return "stale"
        return ""


AIR_QUANTITIES = ("air_temperature", "relative_humidity")
NOTHING = Measured(None, 0.0, None, "bad", "missing")


MEASURED = "measured"
STILL = "still"  # the reason of a good value that has not changed by a digit for an hour, nor has its partner


@dataclass(frozen=True)
class Surface:
    """The piece's surface temperature [°C] with its standard uncertainty [K] and how it was come by."""

    value: float
    uncertainty: float
    basis: str  # measured, logged_air, air_settled or air
    source: Sourced | None = None


@dataclass(frozen=True)
class Panel:
    """A test panel that was looked at. at: when it was sprayed [UTC].

    defect: the id of what was wrong, empty where nobody said. air_temperature [°C], relative_humidity [fraction]: of
    the air it was sprayed in, None where that was not logged. thinner, retarder [fraction]: None where nobody said.
    """

    coating: str
    at: datetime
    good: bool
    air_temperature: float | None
    relative_humidity: float | None
    defect: str = ""
    thinner: str | None = None
    retarder: float | None = None


@dataclass(frozen=True)
class Conditions:
    """What is known, per place and quantity, at the moment of judging.

    place: where one sprays. pressure [Pa]. piece_in_room [s]: how long the piece has stood in the room; None when
    nobody said. since_solvent_spraying [s]: None when nobody sprayed solvent. logged_air [°C]: the running mean a
    piece follows, when the log is long enough. doubt: why nothing read may be believed just now; empty when it may.
    piece: what the surface is computed to be, in air that is computed too; else it is measured, or taken from the air.
    night_low [°C]: the lowest the room is expected to fall to while the coat cures; None: nobody knows. night_from [s]:
    until it gets cold; None: nobody said, and it counts as at once. held: the room is kept heated through it. panels:
    test panels that were looked at, of any coating and mix.
    """

    place: str
    values: Mapping[tuple[str, str], Measured] = field(default_factory=dict)
    pressure: float = 101_325.0
    piece_in_room: float | None = None
    since_solvent_spraying: float | None = None
    logged_air: float | None = None
    doubt: str = ""
    piece: Surface | None = None
    night_low: float | None = None
    night_from: float | None = None
    held: bool = False
    panels: tuple[Panel, ...] = ()

    def at_work(self, quantity: str) -> Measured:
        """The value where one sprays, or NOTHING."""
        return self.values.get((self.place, quantity), NOTHING)

    def with_values(self, values: Mapping[str, float]) -> "Conditions":
        """The conditions with other values where one sprays, as well known as those they stand for."""
        air, changed = self.at_work("air_temperature"), dict(self.values)
        for quantity, value in values.items():
            unsure = self.at_work(quantity).uncertainty or air.uncertainty
            changed[self.place, quantity] = Measured(value, unsure, air.age)
        return replace(self, values=changed, logged_air=None)


def usable(conditions: Conditions, quantity: str, shop: Shop) -> Measured | None:
    """The value where one sprays if it may decide, else None."""
    return None if why_unusable(conditions, quantity, shop) else conditions.at_work(quantity)


def why_unusable(conditions: Conditions, quantity: str, shop: Shop) -> str:
    """Why a quantity where one sprays may not decide; empty when it may.

    After solvent spraying a humidity sensor in the room is shifted by the vapour, whatever it shows.
    """
    since = conditions.since_solvent_spraying
    measured = conditions.at_work(quantity)
    if conditions.doubt:
        return conditions.doubt
    reason = measured.unusable_because(shop.limit("fresh_for").value)
    if reason:
        return reason
    low, high = (quality_limits()[quantity, edge].value for edge in ("range_low", "range_high"))
    if measured.value is not None and not low <= measured.value <= high:
        return "out-of-range"  # quality control lets no such value through as good; nor does the judge
    if quantity == "relative_humidity" and since is not None and since < shop.limit("sprayed_recently").value:
        return "vapour"
    return ""


def air_at_work(conditions: Conditions, shop: Shop) -> tuple[float, float] | None:
    """Temperature [°C] and humidity [fraction, as the equations take it]; None where either may not decide."""
    air, humidity = (usable(conditions, quantity, shop) for quantity in AIR_QUANTITIES)
    if air is None or humidity is None or air.value is None or humidity.value is None:
        return None
    return air.value, humidity_capped(humidity.value)


def humidity_at(temperature: float, conditions: Conditions, shop: Shop) -> float | None:
    """Humidity [fraction] the present moisture would show at another temperature [°C]; None where it is not known."""
    air = air_at_work(conditions, shop)
    try:
        return None if air is None else float(moist_air.relative_humidity_at(*air, temperature))
    except OutOfRange:
        return None


def humidity_capped(value: float) -> float:
    """A humidity for the equations: a sensor may show up to 105 %, air holds 100 % [fraction]."""
    return min(max(value, moist_air.RELATIVE_HUMIDITY_RANGE[0]), 1.0)


def surface_of_piece(conditions: Conditions, shop: Shop) -> Surface | None:
    """The surface as measured, or taken from the air when it was not; None when the air is unknown too.

    Defaults when the user knows little: below the logged air, a little below the air for a piece that stood in the
    room since yesterday, more below it otherwise.
    """
    if conditions.piece is not None:
        return conditions.piece
    measured = usable(conditions, "surface_temperature", shop)
    if measured is not None and measured.value is not None:
        return Surface(measured.value, measured.uncertainty, MEASURED)
    air = usable(conditions, "air_temperature", shop)
    if air is None or air.value is None:
        return None
    stood = conditions.piece_in_room
    if conditions.logged_air is not None:
        value, basis = min(air.value, conditions.logged_air), "logged_air"
    elif stood is not None and stood >= shop.limit("piece_since_yesterday").value:
        value, basis = air.value, "air_settled"
    else:
        value, basis = air.value, "air"
    below = shop.limit(f"surface_below_{basis}")
    uncertainty = shop.limit(f"surface_below_{basis}_uncertainty").value
    return Surface(value - below.value, uncertainty, basis, below)


OUTDOORS = "outdoors"


def outdoor_names(shop: Shop) -> tuple[str, ...]:
    """The places that are outdoors: the one named so, and what the shop calls so."""
    return (OUTDOORS, *(name for name, where in shop.places.items() if where == OUTDOORS))


def outdoor_place(conditions: Conditions, shop: Shop) -> str:
    """The first place outdoors whose air was read; empty where there is none."""
    return next((name for name in outdoor_names(shop) if (name, AIR_QUANTITIES[0]) in conditions.values), "")


def outdoor_air(conditions: Conditions, shop: Shop) -> tuple[float, float] | None:
    """Temperature [°C] and humidity [fraction] of the air outdoors, of the place the shop calls so; None unknown.

    An outdoor sensor speaks more rarely than one in the shop: its readings count for longer. It never makes a WAIT.
    """
    if conditions.doubt:
        return None
    fresh_for = shop.limit("outdoors_fresh_for").value
    for name in outdoor_names(shop):
        air, humidity = (conditions.values.get((name, quantity), NOTHING) for quantity in AIR_QUANTITIES)
        known = not any(each.unusable_because(fresh_for) for each in (air, humidity))
        if known and air.value is not None and humidity.value is not None:
            return air.value, humidity_capped(humidity.value)
    return None


def surface_sensor_fault(conditions: Conditions, shop: Shop) -> str:
    """Why a surface sensor that spoke within the last day may not be believed; empty when it may, or there is none."""
    sensor = conditions.at_work("surface_temperature")
    if sensor.age is None or not sensor.age <= shop.limit("surface_sensor_gone").value:
        return ""
    return why_unusable(conditions, "surface_temperature", shop)
