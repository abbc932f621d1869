"""What is typed about pot, gun and piece: --thinner, --retarder, --gun, --substrate."""

from advisor.advice.film_view import Pot
from advisor.catalog.coatings import THINNER_SPEEDS
from advisor.catalog.mechanisms import GUNS
from advisor.catalog.substrates import find_substrate
from advisor.catalog.units import NUMBER, parse_quantity
from advisor.errors import UsageError, did_you_mean, shown


def pot_from(thinner: str | None, retarder: str | None, gun: str | None, substrate: str = "wood") -> Pot:
    """The pot as typed. Raises UsageError for what is none of the choices."""
    for name, text, choices in (("--thinner", thinner, THINNER_SPEEDS), ("--gun", gun, GUNS)):
        if text is not None and text not in choices:
            raise UsageError(f"{name} {shown(text)}", ", ".join(choices), did_you_mean(text, choices))
    return Pot(thinner, 0.0 if retarder is None else _share(retarder), gun, find_substrate(substrate).id)


def _share(text: str) -> float:
    """`0.1` or `10%` as a share of all solvent; a bare number over 1 is refused, it could be either."""
    cleaned = text.strip()
    if NUMBER.fullmatch(cleaned):
        share = float(cleaned)
        if share > 1.0:
            raise UsageError(f"--retarder {shown(text)} is unclear", "0.1 or 10%", "add the % sign")
    else:
        share = parse_quantity(cleaned, "fraction", "--retarder")
    if not 0.0 <= share < 1.0:
        raise UsageError(f"--retarder {shown(text)}", "from 0 to under 100 % of all solvent", "correct it")
    return share
