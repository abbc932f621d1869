"""Which cautions a coating carries; the sentences stand in words.py.

GO is about the finish, never about the air being fit to breathe. The safety data sheet, local codes and licensed
practice decide.
"""

from advisor.catalog.coatings import Coating

ALWAYS = ("finish-only", "respirator", "authorities")


def cautions_for(coating: Coating) -> tuple[str, ...]:
    """Caution keys, gravest first."""
    keys: list[str] = []
    if coating.isocyanate:
        keys += ["isocyanate", "hardener-skin"]
    if coating.flammable:
        keys += ["flammable", "rated-equipment"]
    if coating.gives_off_formaldehyde:
        keys.append("formaldehyde")
    if coating.hardens_by == "oxidation":
        keys.append("oily-rags")
    if coating.hardens_by in ("oxidation", "two-pack", "acid") or coating.flammable:
        keys.append("mixed-residues")
    return (*keys, *ALWAYS, "no-alarm")
