"""What goes over what, after how long; and which residues may not meet in one filter or bin.

The data sheets of both coatings decide; a panel proves it. Times are those of the coat below at the reference
temperature: the cure clock says when it has reached them in the room as it was.
"""

from dataclasses import dataclass

from advisor.catalog.coatings import Coating
from advisor.catalog.schedules import NO_SCUFF, OWN_WINDOW, PANEL, SCUFF, YES, overcoats

_OTHER_MAKE = "one kind, two makes"
_TWO_PACK_WAIT = "before_two_pack_clear"
_SELF_HEATING = "oxidation"  # a drying oil warms as it takes up oxygen
_REACTING = (_SELF_HEATING, "acid", "two-pack")


@dataclass(frozen=True)
class Overcoat:
    """One coating over another.

    standing, scuff, between, reason, tag, source: as in the catalog's overcoats. after: the number of the coat below
    that it must have reached, and after_seconds [s at the reference temperature] by its own sheet; None where it never
    goes over. window_seconds [s]: the coat below wants scuff-sanding from then on; None where that does not depend.
    """

    under: str
    over: str
    standing: str
    after: str | None
    after_seconds: float | None
    scuff: str
    window_seconds: float | None
    between: str
    reason: str
    tag: str
    source: str


def overcoat(under: Coating, over: Coating) -> Overcoat:
    """What the table says of two coatings, with the numbers of the coat below.

    Two sheets of one family are two makes: a panel first. A sheet that says how long before a two-pack is taken at its
    word.
    """
    row = overcoats()[under.family, over.family]
    standing, after, reason = row.standing, row.after, row.reason
    if standing == OWN_WINDOW and under.id != over.id:
        standing, reason = PANEL, f"{_OTHER_MAKE}; {reason}"
    elif standing in (YES, PANEL) and over.hardens_by == "two-pack" and _TWO_PACK_WAIT in under.numbers:
        after = _TWO_PACK_WAIT
    window = None if row.scuff in (SCUFF, NO_SCUFF) else under.numbers["recoat_until"].value
    seconds = None if after is None else under.numbers[after].value
    return Overcoat(
        under.id, over.id, standing, after, seconds, row.scuff, window, row.between, reason, row.tag, row.source
    )  # fmt: skip


def residues(before: Coating, now: Coating) -> bool:
    """Whether overspray, filters or rags of two kinds can catch fire by themselves where they lie together.

    Nitrocellulose with what hardens by reaction (oil, acid, two-pack), and a drying oil with anything else. Of shellac
    and acrylic without oil, practice tells nothing. Common practice; 29 CFR 1910.107(g), spray booths used for one kind
    after another (from memory).
    """
    if before.family == now.family:
        return False
    kinds = (before, now)
    if any(kind.hardens_by == _SELF_HEATING for kind in kinds):
        return True
    return any(
        one.resin == "nitrocellulose" and other.hardens_by in _REACTING for one, other in (kinds, kinds[::-1])
    )  # fmt: skip
