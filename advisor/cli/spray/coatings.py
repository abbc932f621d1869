"""`advisor coatings`: the list, and one coating with every number, its unit and source."""

from datetime import datetime
from typing import Annotated, Any

import typer

from advisor.bench.overcoat import residues
from advisor.catalog.coatings import RETARDER, Coating, NumberKind, coating_ids, number_kinds
from advisor.catalog.sourced import Sourced
from advisor.cli.options import JsonOption
from advisor.cli.paper import Answer
from advisor.errors import CatalogError
from advisor.say.as_json import SCHEMA, headed
from advisor.say.craft.overcoat_words import goes_over, overcoat_records, residues_told
from advisor.say.numbers import counted, quantity, span, trimmed
from advisor.say.phrases import cautions_of
from advisor.shop.shop import Shop


def run_coatings(
    shop: Shop,
    now: datetime,
    coating: Annotated[str | None, typer.Argument(help="Coating id; without one, all are listed.")] = None,
    as_json: JsonOption = False,
) -> Answer:
    """List the coatings, or show one with every number, its unit and source, and its cautions."""
    if coating is not None:
        own = shop.coating(coating)
        return _record(own, shop) if as_json else _shown(own, shop), 0
    known = _known(shop)
    if as_json:
        listed = [{"id": each.id, "name": each.name, "in_use": each.id in shop.coatings} for each in known]
        return headed(now, {"coatings": listed}), 0
    for each in known:
        print(f"{each.id:<24} {each.name}{'  in use' if each.id in shop.coatings else ''}")
    return (), 0


def _known(shop: Shop) -> list[Coating]:
    """The user's own data sheets first, then the families."""
    return [shop.coating(name) for name in dict.fromkeys((*shop.data_sheets, *coating_ids()))]


def _record(coating: Coating, shop: Shop) -> dict[str, Any]:
    kinds = number_kinds()
    return {
        "schema": SCHEMA,
        "id": coating.id,
        "family": coating.family,
        "name": coating.name,
        "carrier": coating.carrier,
        "hardens_by": coating.hardens_by,
        "thinners": list(coating.thinners),
        "retarders": list(coating.retarders),
        "never_mix_with": list(coating.never_mix_with),
        "numbers": {
            key: {"value": number.value, "dimension": kinds[key].dimension, "tag": number.tag, "source": number.source}
            for key, number in coating.numbers.items()
        },
        "blends": {
            name: {"mass_fractions": dict(blend.mass_fractions), "tag": blend.tag, "source": blend.source}
            for name, blend in coating.blends.items()
        },
        "goes_over": list(overcoat_records(coating, _known(shop), shop)),
        "residues_apart_from": [other.id for other in _known(shop) if residues(other, coating)],
        "cautions": cautions_of(coating),
    }


def _shown(coating: Coating, shop: Shop) -> list[str]:
    lines = [f"{coating.name} ({coating.id}); your data sheet always wins", ""]
    for key, kind in number_kinds().items():
        if key in coating.numbers:
            number = coating.numbers[key]
            source = number.tag if number.source == "no source" else f"{number.tag}: {number.source}"
            lines.append(f"{kind.label:<56} {_value(number, kind, shop):>10}  {source}")
    burns_in = "burns into the coat below: no upper recoat limit, no scuff-sanding needed to hold"
    lines += [
        *([burns_in] if coating.burns_in else []),
        "",
        f"Thinners: {', '.join(coating.thinners)}",
        f"Retarders: {', '.join(coating.retarders) or 'none; any retarder is refused'}",
        f"Never mix with: {'; '.join(coating.never_mix_with)}",
    ]
    for name, blend in coating.blends.items():
        parts = ", ".join(f"{solvent} {trimmed(part * 100, 1)}" for solvent, part in blend.mass_fractions.items())
        what = "Retarder" if name == RETARDER else f"Volatiles as sprayed, {name} thinner"
        lines.append(f"{what}, % by mass: {parts} ({blend.tag})")
    apart = filter(None, [residues_told(coating, _known(shop))])
    return [*lines, "", *goes_over(coating, _known(shop), shop), "", *apart, *cautions_of(coating)]


_KINDS = {
    "temperature": "temperature", "fraction": "share", "length": "film", "pressure": "pressure",
    "molar_energy": "energy",
}  # fmt: skip


def _value(number: Sourced, kind: NumberKind, shop: Shop) -> str:
    """A coating's number in the units a sprayer uses for it; a count and a pure ratio say what they are.

    Raises CatalogError for a dimension it has no unit for, so that no bare SI value is ever shown.
    """
    value = number.value
    shown_as = "needle" if kind.key.startswith("needle") else _KINDS.get(kind.dimension)
    if shown_as is not None and kind.key != "water_to_slow_solvent_max":
        return quantity(shown_as, value, shop.units)
    match kind.dimension:
        case "time":
            return f"{trimmed(value, 0)} s" if kind.key.startswith("din4") else span(value)
        case "count":
            return counted(round(value), "1 coat")
        case "ratio" | "fraction":
            return f"ratio {trimmed(value, 2)}"
    raise CatalogError(f"{kind.key}: no unit to show {kind.dimension} in", "", "give it one in advisor coatings")
