"""What goes over what, after how long; and which residues may not meet in one filter or bin.

The data sheets of both coatings decide; a panel proves it. Times are those of the coat below at the reference
temperature: the cure clock says when it has reached them in the room as it was.
"""

from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from typing import Any

from advisor.advice.measures import span, temperature
from advisor.advice.phrases import (
    AFTER_WORDS,
    FRESH_TWO_PACK_DUST,
    OTHER_MAKE,
    RESIDUES_APART,
    TRY_A_PANEL,
)
from advisor.catalog.coatings import Coating
from advisor.catalog.overcoats import NO, NO_SCUFF, OWN_WINDOW, PANEL, SCUFF, YES, overcoats
from advisor.shop.shop import Shop

_TWO_PACK_WAIT = "before_two_pack_clear"
_SELF_HEATING = "oxidation"  # a drying oil warms as it takes up oxygen
_REACTING = (_SELF_HEATING, "acid", "two-pack")
_HEADS = {
    OWN_WINDOW: "Goes over itself",
    YES: "Goes over (still try a panel)",
    PANEL: "Goes over only once a panel has held",
    NO: "Goes never straight over",
}


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
        standing, reason = PANEL, f"{OTHER_MAKE}; {reason}"
    elif standing in (YES, PANEL) and over.hardens_by == "two-pack" and _TWO_PACK_WAIT in under.numbers:
        after = _TWO_PACK_WAIT
    window = None if row.scuff in (SCUFF, NO_SCUFF) else under.numbers["recoat_until"].value
    seconds = None if after is None else under.numbers[after].value
    return Overcoat(
        under.id, over.id, standing, after, seconds, row.scuff, window, row.between, reason, row.tag, row.source
    )  # fmt: skip


def told(found: Overcoat, under: Coating, over: Coating, shop: Shop) -> str:
    """One short sentence or two, three where the dust of a fresh two-pack is met."""
    what = f"{over.name} over {'itself' if under.id == over.id else under.name}"
    when = _when(found, shop)
    if found.standing == NO:
        round_it = f" Only round it: {found.between} between, {when}, and a panel first." if found.between else ""
        return f"{what}: no, {found.reason}.{round_it}"
    said = {OWN_WINDOW: "", YES: "yes, ", PANEL: "a panel first, then "}[found.standing]
    between = f", best with {found.between} between" if found.between else ""
    dust = f" {FRESH_TWO_PACK_DUST}" if _fresh_dust(found, under) else ""
    return f"{what}: {said}{when}{between}: {found.reason}.{dust} {TRY_A_PANEL}"


def _when(found: Overcoat, shop: Shop) -> str:
    if found.after is None or found.after_seconds is None:
        return ""
    at = temperature(shop.limit("reference_temperature").value, shop.units)
    return f"{AFTER_WORDS[found.after]} ({span(found.after_seconds)} at {at}), {_scuff(found)}"


def _scuff(found: Overcoat) -> str:
    if found.window_seconds is not None:
        return f"scuff-sanded from {span(found.window_seconds)} on"
    return "scuff-sanded" if found.scuff == SCUFF else "no scuff"


def _fresh_dust(found: Overcoat, under: Coating) -> bool:
    return under.isocyanate and found.scuff != NO_SCUFF


def goes_over(over: Coating, unders: Iterable[Coating], shop: Shop) -> list[str]:
    """A paragraph for each standing: what the coating goes over, after how long, and why not. Pairs of one reason stand
    together."""
    unders = list(unders)
    found = [overcoat(under, over) for under in unders]
    paragraphs = []
    for standing, head in _HEADS.items():
        together: dict[tuple[str, str, str], list[Overcoat]] = {}
        for each in found:
            if each.standing == standing:
                together.setdefault((_scuff(each), each.between, each.reason), []).append(each)
        if together:
            paragraphs.append(f"{head}: {'; '.join(map(_group, together.values()))}.")
    if any(_fresh_dust(each, under) for each, under in zip(found, unders, strict=True)):
        paragraphs.append(FRESH_TWO_PACK_DUST)
    at = temperature(shop.limit("reference_temperature").value, shop.units)
    return [f"Over another coat; times of the coat below, at {at}; the data sheets of both decide.", *paragraphs]


def _group(alike: list[Overcoat]) -> str:
    """Pairs of one reason, those of one time together."""
    names: dict[float | None, list[str]] = {}
    for each in alike:
        names.setdefault(each.after_seconds, []).append("" if each.standing == OWN_WINDOW else each.under)
    first = alike[0]
    timed = [
        " and ".join(some) if seconds is None else f"{', '.join(some)} after {span(seconds)}".strip()
        for seconds, some in names.items()
    ]
    how = ""
    if first.standing == NO:
        how = f" (round it: {first.between} between, {_scuff(first)}, a panel)" if first.between else ""
    else:
        how = f", {_scuff(first)}" + (f", best on {first.between}" if first.between else "")
    return f"{', '.join(timed)}{how}: {first.reason}"


def overcoat_records(over: Coating, unders: Iterable[Coating], shop: Shop) -> Iterator[dict[str, Any]]:
    """The same as JSON, one record for each coat below; [s at the reference temperature]."""
    for under in unders:
        found = overcoat(under, over)
        yield {**asdict(found), "between": found.between or None, "words": told(found, under, over, shop)}


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


def residues_told(over: Coating, others: Iterable[Coating]) -> str:
    """What to do when the kind changes to or from one of these; empty where none is a danger."""
    names = [other.id for other in others if residues(other, over)]
    return RESIDUES_APART.format(others=", ".join(names)) if names else ""
