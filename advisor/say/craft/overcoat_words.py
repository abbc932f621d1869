"""What is said of one coating over another, and of residues that may not meet."""

from collections.abc import Iterable, Iterator
from dataclasses import asdict
from typing import Any

from advisor.bench.overcoat import Overcoat, overcoat, residues
from advisor.catalog.coatings import Coating
from advisor.catalog.schedules import NO, NO_SCUFF, OWN_WINDOW, PANEL, SCUFF, YES
from advisor.say.fitting import first_met
from advisor.say.numbers import capital, span, temperature
from advisor.say.phrases import (
    AFTER_WORDS,
    ANY_OTHER_KIND,
    FRESH_TWO_PACK_DUST,
    GOES_OVER,
    GOES_OVER_HEADS,
    RESIDUES_APART,
    TRY_A_PANEL,
    at_reference,
)
from advisor.shop.shop import Shop


def told(found: Overcoat, under: Coating, over: Coating, shop: Shop) -> str:
    """Two short sentences, and a third where the dust of a fresh two-pack or a way round is met."""
    what = f"{over.name} over {'itself' if under.id == over.id else under.name}"
    reason = capital(found.reason)
    if found.after is None or found.after_seconds is None:
        return f"{what}: no. {reason}."
    when = f"{AFTER_WORDS[found.after]} ({at_reference(found.after_seconds, shop)}), {_scuff(found)}"
    if found.standing == NO:
        return f"{what}: no. {reason}. The way round: {when}, then {found.between}, a panel first."
    said = {OWN_WINDOW: "", YES: "yes, ", PANEL: "a panel first; "}[found.standing]
    between = f", best with {found.between} between" if found.between else ""
    dust = f" {FRESH_TWO_PACK_DUST}" if _fresh_dust(found, under) else ""
    panel = TRY_A_PANEL if found.standing == YES else ""
    return f"{what}: {said}{when}{between}.{dust} {reason}{panel}."


def _scuff(found: Overcoat) -> str:
    return first_met(
        (found.window_seconds is not None, f"no scuff up to {span(found.window_seconds or 0.0)}, scuff-sanded later"),
        (found.scuff == SCUFF, "scuff-sanded"),
        (True, "no scuff"),
    )


def _fresh_dust(found: Overcoat, under: Coating) -> bool:
    return under.isocyanate and found.scuff != NO_SCUFF


def goes_over(over: Coating, unders: Iterable[Coating], shop: Shop) -> list[str]:
    """What the coating goes over, after how long, and why not: a head for each standing, pairs of one reason in one
    line below it."""
    unders = list(unders)
    found = [overcoat(under, over) for under in unders]
    at = temperature(shop.limit("reference_temperature").value, shop.units)
    lines = [GOES_OVER.format(at=at)]
    for standing, head in GOES_OVER_HEADS.items():
        together: dict[tuple[str, str, str], list[Overcoat]] = {}
        for each in found:
            if each.standing == standing:
                together.setdefault((_scuff(each), each.between, each.reason), []).append(each)
        if together:
            lines += [head, *(f"- {_group(alike)}" for alike in together.values())]
    if any(_fresh_dust(each, under) for each, under in zip(found, unders, strict=True)):
        lines.append(FRESH_TWO_PACK_DUST)
    return lines


def _group(alike: list[Overcoat]) -> str:
    """Pairs of one reason, those of one time together."""
    names: dict[float | None, list[str]] = {}
    for each in alike:
        names.setdefault(each.after_seconds, []).append(each.under)
    timed = [
        ", ".join(some) + ("" if seconds is None else f" after {span(seconds)}") for seconds, some in names.items()
    ]
    first = alike[0]
    if first.standing == NO:
        way = f" The way round: {', '.join(timed)}, {_scuff(first)}, then {first.between}, a panel first."
        under = ", ".join(each.under for each in alike)
        return f"{under}. {capital(first.reason)}.{way if first.between else ''}"
    between = f", best with {first.between} between" if first.between else ""
    return f"{', '.join(timed)}, {_scuff(first)}{between}. {capital(first.reason)}."


def overcoat_records(over: Coating, unders: Iterable[Coating], shop: Shop) -> Iterator[dict[str, Any]]:
    """The same as JSON, one record for each coat below; [s at the reference temperature]."""
    for under in unders:
        found = overcoat(under, over)
        yield {**asdict(found), "between": found.between or None, "words": told(found, under, over, shop)}


def residues_told(now: Coating, others: Iterable[Coating]) -> str:
    """What to do when the kind changes to or from one of these; empty where none is a danger."""
    others = [other for other in others if other.family != now.family]
    names = [other.id for other in others if residues(other, now)]
    listed = ANY_OTHER_KIND if len(names) == len(others) > 1 else ", ".join(names)
    return RESIDUES_APART.format(others=listed) if names else ""
