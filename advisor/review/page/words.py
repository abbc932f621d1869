"""Every sentence of a review, in the reader's units: what it was, what it was not, what to change, how to repair."""

from dataclasses import replace

from advisor.catalog.limits import in_short
from advisor.catalog.mechanisms import AIR, HOURS, MINUTES, defects
from advisor.review.causes import LOOKS, NEAR, SIBLING, Cause, Causes, Outcome, Standing
from advisor.review.coat import Exposure
from advisor.review.page.doubt_words import doubts
from advisor.review.reviewed import Reviewed
from advisor.review.ways import (
    COAT,
    COOL,
    COOL_AND_DAMP,
    DAMP,
    HELD,
    HOUR,
    WARM_AND_DRY,
    WARM_PIECES,
    WARM_THROUGH,
    Way,
)
from advisor.say.numbers import (
    capital,
    clock,
    difference,
    moment,
    over_or_under,
    percent,
    quantity,
    span,
    temperature,
    trimmed,
    wet_film,
)
from advisor.say.phrases import FRESH_TWO_PACK_DUST
from advisor.series.trace import Window
from advisor.shop.shop import Shop
from advisor.ways.changes import DRY, PANEL, RETARDER, THINNER, WARM

# what was measured, with {measured} and {limit}
SAID = {
    "air_at_spraying": "air {measured} at spraying (limit {limit})",
    "humidity_at_spraying": "humidity {measured} at spraying (limit {limit})",
    "piece_over_dew": "piece {measured} the dew point",
    "water_in_film": "{measured} times the water that stays clear",
    "film_over_dew": "film {measured} the dew point",
    "film_at_packing": "film {measured} as it formed (needs {limit})",
    "closing_pace": "closed in {measured} times its usual time (limit {limit})",
    "heat_while_wet": "{measured} warmer while it was wet (limit {limit})",
    "dust_while_wet": "dust {measured} times clean air (limit {limit})",
    "humidity_while_drying": "humidity {measured} while it dried (limit {limit})",
    "lowest_while_drying": "air down to {measured} before it was dry (limit {limit})",
    "lowest_over_dew_later": "surface {measured} the dew point that night",
    "lowest_while_curing": "air down to {measured} while it cured (limit {limit})",
    "wet_film": "wet film {measured} (limit {limit})",
    "cup": "{measured} in the cup (limit {limit})",
    "thinning": "thinned {measured} (limit {limit})",
    "needle": "needle {measured} (limit {limit})",
    "gun_pressure": "{measured} at the gun (limit {limit})",
    "mix_age": "mix {measured} old (lives {limit})",
    "recoat_gap": "{measured} after the coat below (needs {limit})",
    "gap_not_scuffed": "{measured} after the coat below, not scuffed (window {limit})",
    "goes_not_over": "the table of coatings says no",
    "seen_after_coating_over": "seen {measured} after a coat over the old film (it crazes within {limit})",
}
HEADS = {
    Outcome.AIR: "{defect}: the air did it, or had its part.",
    Outcome.COAT: "{defect}: the air does not explain this; the coat itself does.",
    Outcome.NOT_THE_AIR: "{defect}: the air does not explain this.",
    Outcome.CANNOT_TELL: "{defect}: cannot tell from this log.",
}
_COAT_UNREAD = "{defect}: the coat itself explains it; the air was not all read."
HEADS_WITHOUT_DEFECT = {
    Outcome.AIR: "Something was over its limit.",
    Outcome.COAT: "Something was over its limit, and not the air.",
    Outcome.NOT_THE_AIR: "Nothing that was read or said was over its limit.",
    Outcome.CANNOT_TELL: "What was read was within its limits, but not all was read.",
}
WAYS = {
    COAT: "",
    HOUR: "sprayed at {clock}",
    PANEL: "a test panel",
    THINNER: "{thinner} thinner{retarder}",
    RETARDER: "{thinner} thinner{retarder}",
    DRY: "air dried to {damp}",
    DAMP: "air damped to {damp}",
    WARM: "room and pieces at {warm}",
    HELD: "room kept heated at {warm} until it is hard",
    WARM_PIECES: "pieces let come to the room's {warm}",
    WARM_THROUGH: "room and pieces kept at {warm} since the day before",
    WARM_AND_DRY: "room and pieces at {warm} and air dried to {damp}",
    COOL: "room and pieces at {warm}",
    COOL_AND_DAMP: "room and pieces at {warm} and air damped to {damp}",
}
_COUNTER = " (of the air: not of piece, clothes or gun)"
_MEND = "first mend or move the sensor: what was not read, or not well, decides"
_COLD_CHECK = (
    "Ask: has it been in the cold since? Old lacquer over some {film} may crack when it falls by {fall} or more."
)
SANDING = "Sanding makes dust: mask and extraction as the safety data sheet says. A panel first; the sheets decide."
OFF_FIRST = (
    "Heater, dryer and cleaner off, or proved fit for the spray zone, before the gun is picked up and until the air is"
    " clear of vapour."
)
MOST_CAUSES = 3
_ABOUT = 6 * 3600.0  # [s] before the gun in which a doubted sensor is named
_MOST = 3  # of what is cleared, not known, or shown by no reading


def told(found: Reviewed, shop: Shop) -> list[str]:
    """Some dozen short paragraphs: the causes with their proof, what speaks against others, next time, repair."""
    causes, coat = found.causes, found.coat
    name = f"{coat.name}: " if coat.name else ""
    against = [each for each in causes.judged if each.standing is Standing.AGAINST and each.mechanism.kind == AIR]
    untold = [each for each in causes.judged if each.standing is Standing.CANNOT_TELL]
    others = causes.others if causes.defect is not None and causes.outcome is not Outcome.AIR else ()
    return [
        f"{name}{found.exposed.seen.coating.name}, sprayed {moment(coat.sprayed, shop.zone)}.",
        outcome(causes),
        *(f"{number}. {supported(each, found, shop)} {proof(each)}" for number, each in enumerate(shown(causes), 1)),
        *doubted(found, shop),
        *_listed("Not", [f"{each.mechanism.label}, {_cleared_by(each, shop)}" for each in against[:_MOST]]),
        *_listed("Cannot tell", [f"{each.mechanism.label} ({in_short(each.reason)})" for each in untold[:_MOST]]),
        *filter(None, (sibling(found, shop), question(found, shop))),
        *_listed("No reading shows", [each.label for each in others[:_MOST]]),
        *_listed("Next time", next_time(found)),
        *_listed("Repair", repairs(found)),
        *_listed("A GO it would have been", [way(each, shop) for each in found.ways]),
        *([OFF_FIRST] if off_first(found) else []),
        *(sanding(found) if repairs(found) else []),
    ]


def _listed(head: str, said: list[str]) -> list[str]:
    return [f"{head}: {'; '.join(said)}."] if said else []


def sanding(found: Reviewed) -> list[str]:
    """What a repair's dust may do; that of a fresh two-pack more."""
    return [SANDING, *([FRESH_TWO_PACK_DUST] if found.exposed.seen.coating.isocyanate else [])]


def shown(causes: Causes) -> tuple[Cause, ...]:
    """The causes that are told, the likeliest first."""
    return causes.supported[:MOST_CAUSES]


def proof(each: Cause) -> str:
    """How a cause is proved on a scrap."""
    return f"To prove it: {each.mechanism.proof}."


def doubted(found: Reviewed, shop: Shop) -> list[str]:
    """The sensors that are not believed in the hours about the coat, and what they looked like."""
    seen = found.exposed.seen
    about = Window(seen.windows.spray.start - _ABOUT, max(seen.windows.later.end, seen.windows.recoat.end))
    return doubts(seen.track, about, seen.windows.spray.start, shop)


def next_time(found: Reviewed) -> list[str]:
    """What to do otherwise, of each cause that is told; else of what no reading shows, or first the sensor."""
    causes = found.causes
    if found.cannot_tell:
        return [_MEND]
    steps = [each.mechanism.change for each in shown(causes)]
    if not steps and causes.defect is not None and causes.others:
        steps = [f"look at: {causes.others[0].change}"]
    return list(dict.fromkeys(steps))


def repairs(found: Reviewed) -> list[str]:
    """How to mend what is there."""
    causes = found.causes
    steps = [each.mechanism.repair for each in shown(causes)]
    if not steps and causes.defect is not None and causes.others and not found.cannot_tell:
        steps = [causes.others[0].repair]
    return list(dict.fromkeys(steps))


def question(found: Reviewed, shop: Shop) -> str:
    """What the log cannot know and the owner may: whether an old lacquer that cracked was out in the cold."""
    coating, soon = found.exposed.seen.coating, found.coat.seen.found in (MINUTES, HOURS)
    if found.causes.defect != "cracking" or coating.hardens_by != "evaporation" or soon:
        return ""
    film, fall = (shop.limit(f"cold_check_{name}").value for name in ("film", "fall"))
    return _COLD_CHECK.format(film=wet_film(film, shop.units), fall=difference(fall, shop.units))


def off_first(found: Reviewed) -> bool:
    """Whether what is advised may take a heater or a dryer where vapour burns."""
    air = {each.exposure for each in shown(found.causes) if each.mechanism.kind == AIR}
    return found.exposed.seen.coating.carrier != "water" and bool(air - {"dust_while_wet"})


def outcome(causes: Causes) -> str:
    """What the review comes to, in one sentence."""
    if causes.defect is None:
        return HEADS_WITHOUT_DEFECT[causes.outcome]
    unread = causes.outcome is Outcome.COAT and any(each.reason != NEAR for each in causes.untold)
    head = _COAT_UNREAD if unread else HEADS[causes.outcome]
    return head.format(defect=capital(defects()[causes.defect].name))


def supported(each: Cause, found: Reviewed, shop: Shop) -> str:
    """What a supported mechanism was measured by, what came of it, and what it would do where no defect is named."""
    does = ", ".join(defects()[name].name for name in each.mechanism.defects)
    can_cause = "" if found.causes.defect is not None else f" (can cause {does})"
    return f"{capital(each.mechanism.label)}: {measured(each, shop)}{_dew(each, found)}{can_cause}."


def cause(found: Cause, shop: Shop) -> str:
    """A mechanism in one sentence."""
    if found.standing is Standing.CANNOT_TELL:
        return f"{capital(found.mechanism.label)}: cannot tell, {in_short(found.reason)}."
    said = _cleared_by(found, shop) if found.standing is Standing.AGAINST else measured(found, shop)
    return f"{capital(found.mechanism.label)}: {said}."


def _cleared_by(found: Cause, shop: Shop) -> str:
    """What speaks against a mechanism: the number, or the coat beside it."""
    if found.reason in (SIBLING, LOOKS):
        return f"{measured(found, shop)}, but {in_short(found.reason)}"
    return measured(found, shop) + (_COUNTER if found.exposure == "dust_while_wet" else "")


def measured(found: Cause, shop: Shop) -> str:
    """What was measured against its limit."""
    value, limit = (in_units(each, found.unit, found.exposure, shop) for each in (found.measured, found.limit))
    return SAID[found.exposure].format(measured=value, limit=limit)


def _dew(found: Cause, of: Reviewed) -> str:
    """Minutes under the dew point and the water that came of it, beside the blush measure."""
    exposure: Exposure = of.exposed.by_name[found.exposure]
    below, condensed = exposure.figure("seconds_below_dew"), exposure.figure("condensed")
    if below is None or condensed is None:
        return ""
    if not below > 0.0:
        return "; never under the dew point"
    return f"; {trimmed(below / 60.0, 1)} min under the dew point, {trimmed(condensed * 1e3, 1)} g/m2 of dew"


def in_units(value: float | None, unit: str, exposure: str, shop: Shop) -> str:
    """A measured number or limit of an exposure in the reader's units, `?` where there is none."""
    if value is None:
        return "?"
    if unit == "K" and "over_dew" in exposure:
        return over_or_under(value, shop.units)
    if unit == "fraction":
        return percent(value)
    if unit == "s":
        return f"{trimmed(value, 0)} s" if exposure == "cup" else span(value)
    if unit == "m":
        return quantity("wet_film" if exposure == "wet_film" else "needle", value, shop.units)
    if (kind := {"°C": "temperature", "K": "difference", "Pa": "pressure"}.get(unit)) is not None:
        return quantity(kind, value, shop.units)
    return trimmed(value, 1 if value < 100 else 0)


def sibling(found: Reviewed, shop: Shop) -> str:
    """The coat beside it, in one sentence; empty where there is none."""
    beside = found.sibling
    if beside is None:
        return ""
    when = moment(beside.exposed.seen.coat.sprayed, shop.zone)
    if not any(each.mechanism.kind == AIR for each in found.causes.supported):
        both = [each for causes in (found.causes, beside.causes) for each in causes.judged]
        fit = all(each.standing is Standing.AGAINST and not each.reason for each in both if each.mechanism.kind == AIR)
        said = "the air was fit for both" if fit else "it met the same air, as far as it was read"
        return f"The coat of {when} beside it: {said}."
    if beside.cleared is None:
        return f"The coat of {when} beside it: cannot tell."
    first = next(each for each in found.causes.supported if each.mechanism.kind == AIR)
    there = beside.exposed.by_name[first.exposure].measured
    said = "" if there is None else f": {measured(replace(first, measured=there), shop)}"
    return f"The coat of {when} beside it {'is cleared' if beside.cleared else 'met the same'}{said}."


def way(found: Way, shop: Shop) -> str:
    """One way, judged a GO."""
    coat, mends = found.coat, " and ".join(_mended(name, value, found, shop) for name, value in found.mends[:2])
    said = WAYS[found.kind].format(
        clock=clock(coat.sprayed, shop.zone),
        warm=temperature(found.temperature or 0.0, shop.units),
        damp=percent(found.relative_humidity or 0.0),
        thinner=coat.thinner or "the same",
        retarder=f" with {percent(coat.retarder)} retarder" if coat.retarder else "",
    )
    return " with ".join(filter(None, (said, mends)))


def _mended(name: str, value: float, found: Way, shop: Shop) -> str:
    return {
        "wet_film": f"a wet film of {trimmed(value * 1e6, 0)} µm",
        "cup": f"{trimmed(value, 0)} s in a DIN 4 cup",
        "gun_pressure": f"{trimmed(value * 1e-5, 1)} bar at the gun",
        "needle": f"a needle of {trimmed(value * 1e3, 1)} mm",
        "thinning": f"{percent(value)} thinner",
        "mix_age": "a fresh mix",
        "recoat_gap": f"the next coat at {moment(found.coat.sprayed, shop.zone)}",
        "gap_not_scuffed": "a scuff first",
    }[name]
