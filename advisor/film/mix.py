"""What is in the pot: the solvents of a coating as sprayed, with its thinner and retarder, and what may not go in."""

from dataclasses import dataclass, replace

from advisor.catalog.coatings import RETARDER, Coating, load_coating
from advisor.catalog.solvents import find_solvent, solvents
from advisor.errors import OutOfRange, UsageError, shown

_LIKE = "nitrocellulose-lacquer"  # the resin that solvents are tried with when no coating is named
MOST_SOLVENTS = 12
MOST_WATER = 0.2  # mass fraction; a film with more is a dispersion or none
LONGEST_SOLVENTS = 400  # characters


@dataclass(frozen=True)
class Mix:
    """A mix as sprayed.

    fractions: (solvent id, mass fraction of the volatiles), summing to 1. volume_solids, water_uptake of the resin
    [fraction]; wet_film [m]; most_water: the family's limit of water to slow solvent at set, None where it has none.
    clear_by [s]: for spirit, which takes up water unharmed, when that water must have left again; else None.
    """

    thinner: str
    retarder: float
    fractions: tuple[tuple[str, float], ...]
    resin: str
    dispersion: bool
    volume_solids: float
    wet_film: float
    water_uptake: float
    most_water: float | None
    clear_by: float | None


def mix_of(coating: Coating, thinner: str, retarder: float = 0.0) -> Mix:
    """A coating with one of its own thinners and some retarder in place of thinner.

    thinner: one of coating.thinner_speeds. retarder: share of all solvent in the ready mix [fraction]. Raises
    UsageError for what the coating does not take: the gates stand here, so that no search can pass them.
    """
    speeds = coating.thinner_speeds
    if thinner not in speeds:
        raise UsageError(f"--thinner {shown(thinner)} for {coating.id}", ", ".join(speeds), "its own thinners only")
    fractions = dict(coating.blends[thinner].mass_fractions)
    most = most_retarder(coating)
    if not 0.0 <= retarder <= most:
        allowed = f"0 to {most * 100:g} % of the solvent" if most else "none"
        raise UsageError(
            f"--retarder {retarder * 100:g} % in {coating.id}", allowed, "more dries too slowly, or reacts"
        )
    if retarder > 0.0:
        fractions = {name: part * (1.0 - retarder) for name, part in fractions.items()}
        for name, part in coating.blends[RETARDER].mass_fractions.items():
            fractions[name] = fractions.get(name, 0.0) + part * retarder
    limit = coating.numbers.get("water_to_slow_solvent_max")
    return Mix(
        thinner,
        retarder,
        tuple(sorted(fractions.items())),
        coating.resin,
        coating.carrier == "water",
        coating.numbers["volume_solids_as_sprayed"].value,
        0.5 * (coating.numbers["wet_film_low"].value + coating.numbers["wet_film_high"].value),
        coating.numbers["water_uptake_of_resin"].value,
        None if limit is None else limit.value,
        coating.numbers["flash_high"].value if coating.carrier == "spirit" else None,
    )


def most_retarder(coating: Coating) -> float:
    """The most retarder a coating takes, as a share of all solvent; 0 where it takes none or nobody says how much.

    A solvent two-pack takes none that would react with its isocyanate.
    """
    limit, blend = coating.numbers.get("retarder_max"), coating.blends.get(RETARDER)
    if limit is None or blend is None:
        return 0.0
    if coating.isocyanate and any(solvents()[name].hydroxyl for name in blend.mass_fractions):
        return 0.0
    return limit.value


def fastest(coating: Coating) -> str:
    """What an unknown thinner is taken as for blush: the fastest whose make-up is known."""
    return coating.thinner_speeds[0]


def usual(coating: Coating) -> str:
    """What an unknown thinner is taken as for drying."""
    return "medium" if "medium" in coating.thinner_speeds else coating.thinner_speeds[0]


def mix_of_solvents(text: str) -> Mix:
    """Solvents typed as `n-butyl acetate:0.7,toluene:0.3`, by mass, in a film of nitrocellulose as lacquer is sprayed.

    Raises UsageError for what is not that, CatalogError for an unknown solvent.
    """
    form = "like n-butyl acetate:0.7,toluene:0.3"
    if len(text) > LONGEST_SOLVENTS or text.count(",") >= MOST_SOLVENTS:
        raise UsageError("--solvents is too long", f"up to {MOST_SOLVENTS} solvents", form)
    fractions: dict[str, float] = {}
    for entry in text.split(","):
        name, _, share = entry.rpartition(":")
        try:
            part = float(share) if name.strip() else float("nan")
        except ValueError:
            part = float("nan")
        if not 0.0 < part <= 1000.0:
            raise UsageError(f"--solvents: {shown(entry.strip())}", "a solvent, a colon, its share over 0", form)
        solvent = find_solvent(name.strip())
        if solvent.id in fractions:
            raise UsageError(f"--solvents names {solvent.name} twice", "each solvent once", "add its shares up")
        fractions[solvent.id] = part
    total = sum(fractions.values())
    if not 0.99 <= total <= 1.01:
        raise UsageError(f"--solvents sum to {total:g}", "1", "give mass fractions")
    like = load_coating(_LIKE)
    if fractions.get("water", 0.0) > MOST_WATER:
        raise OutOfRange("--solvents with so much water", f"up to {MOST_WATER:g} of it", "name a water-borne coating")
    parts = tuple(sorted((name, part / total) for name, part in fractions.items()))
    return replace(mix_of(like, usual(like)), thinner="own", fractions=parts)
