"""What somebody said of the coat itself: film, mix, gun, and what lay below and for how long."""

from math import log

from advisor.advice.overcoat import Overcoat, overcoat
from advisor.catalog.coatings import Coating
from advisor.catalog.overcoats import NO, NO_SCUFF, SCUFF
from advisor.errors import OutOfRange
from advisor.physics.cups import find_cup
from advisor.physics.viscosity import kinematic_viscosity, seconds_for
from advisor.review.coat import SprayedCoat
from advisor.review.found import Exposure
from advisor.shop.shop import Shop

UNSAID = "unsaid"
DIN_4 = "DIN 4"
_CLOCK_SURE = 0.15  # of a time between coats or of a mix, as a logarithm: what a sheet rounds
_POT_SURE = 0.25
_OLD = 2 * 86_400.0  # [s] a film of lacquer no longer takes the next coat as its own
_HALF, _CERTAIN = 0.5, 0.125  # between no and yes: four times sure of either


def exposures(
    coat: SprayedCoat, coating: Coating, below: Coating | None, slower: float, shop: Shop
) -> list[Exposure]:  # fmt: skip
    """Those of the coat itself. slower: how many times the sheet's the coat below took to be ready."""
    gauge, comb, cup = (shop.limit(key).value for key in ("gauge_accuracy", "wet_film_accuracy", "cup_accuracy"))
    age = None if coat.mixed_at is None else (coat.end(shop) - coat.mixed_at).total_seconds()
    return [
        _said("wet_film", coat.wet_film, "m", comb),
        _said("cup", _cup_seconds(coat), "s", cup),
        _said("thinning", coat.thinning, "fraction", cup),
        _said("needle", coat.needle, "m", gauge),
        _said("gun_pressure", coat.pressure, "Pa", gauge),
        _said("mix_age", None if age is None else max(age, 1.0), "s", _POT_SURE),
        *_over(coat, coating, below, slower),
        _crazing(coat, below, shop),
    ]


def _said(name: str, value: float | None, unit: str, relative: float) -> Exposure:
    if value is None:
        return Exposure(name, None, unit, reason=UNSAID)
    return Exposure(name, value, unit, log(1.0 + relative), as_logarithm=True)


def _cup_seconds(coat: SprayedCoat) -> float | None:
    """Seconds as a DIN 4 cup would give them; None where nobody said, or the cup is out of its range."""
    if coat.seconds is None:
        return None
    din = find_cup(DIN_4)
    cup = din if coat.cup is None else find_cup(coat.cup)
    if cup == din:
        return coat.seconds
    try:
        return seconds_for(din, kinematic_viscosity(cup, coat.seconds, estimate=True), estimate=True)
    except OutOfRange:
        return None


def _over(coat: SprayedCoat, coating: Coating, below: Coating | None, slower: float) -> list[Exposure]:
    names = (("recoat_gap", "s"), ("gap_not_scuffed", "s"), ("goes_not_over", "count"))
    if below is None or coat.below is None:
        return [Exposure(name, None, unit, reason=UNSAID) for name, unit in names]
    found = overcoat(below, coating)
    refused = Exposure(
        "goes_not_over", 1.0 if found.standing == NO else 0.0, "count", _CERTAIN, limit=_HALF
    )  # fmt: skip
    if coat.below.sprayed is None:
        return [*(Exposure(name, None, unit, reason=UNSAID) for name, unit in names[:2]), refused]
    gap = max((coat.sprayed - coat.below.sprayed).total_seconds(), 1.0)
    return [_gap(found, below, gap, slower), _not_scuffed(found, gap, coat), refused]


def _crazing(coat: SprayedCoat, below: Coating | None, shop: Shop) -> Exposure:
    """How soon after a coat over an old film that its solvent bites it was seen [s]; over none such, never."""
    blank = Exposure("seen_after_coating_over", None, "s", reason=UNSAID)
    if below is None or coat.below is None or coat.seen.after is None:
        return blank
    fresh = coat.below.sprayed is not None and (coat.sprayed - coat.below.sprayed).total_seconds() < _OLD
    bitten = below.hardens_by == "evaporation" and not fresh
    limit = shop.limit("crazes_within").value if bitten else 1e-3
    after = max(coat.seen.after, 1.0)
    return Exposure(blank.name, after, "s", _CLOCK_SURE, as_logarithm=True, limit=limit)


def _gap(found: Overcoat, below: Coating, gap: float, slower: float) -> Exposure:
    """The time since the coat below against what that needed: the sheet's earliest, unsure up to its safe end."""
    if found.standing == NO:  # no time makes it go over: that is another mechanism
        return Exposure("recoat_gap", gap, "s", _CLOCK_SURE, as_logarithm=True)
    low, high = below.numbers["recoat_from_low"].value, below.numbers["recoat_from_high"].value
    needed, unsure = low, max(_CLOCK_SURE, log(high / low))
    if found.after_seconds is not None and found.after != "recoat_from_high":
        needed, unsure = found.after_seconds, _CLOCK_SURE
    return Exposure(
        "recoat_gap", gap, "s", unsure, as_logarithm=True, limit=needed * slower,
        figures=(("by_the_sheet", needed),),
    )  # fmt: skip


def _not_scuffed(found: Overcoat, gap: float, coat: SprayedCoat) -> Exposure:
    """How long the coat below stood without being scuffed; its window as the limit, none where it needs no scuff."""
    limit = None if found.scuff == NO_SCUFF else 1.0 if found.scuff == SCUFF else found.window_seconds
    blank = Exposure("gap_not_scuffed", gap, "s", _POT_SURE, as_logarithm=True, limit=limit)
    if limit is None or gap <= limit:
        return blank
    if coat.sanded is None:
        return Exposure("gap_not_scuffed", None, "s", reason=UNSAID, limit=limit)
    return Exposure("gap_not_scuffed", 1e-3, "s", _POT_SURE, True, limit=limit) if coat.sanded else blank
