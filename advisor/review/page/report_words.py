"""What a report says beside the sentences of a review: names for its tables, the picture in words, own coats."""

from collections.abc import Sequence

from advisor.catalog.coatings import Coating
from advisor.catalog.limits import in_short
from advisor.catalog.mechanisms import ABOVE
from advisor.review.causes import Cause, Standing
from advisor.review.coat import Exposure
from advisor.review.exposure import Exposures
from advisor.review.learning import FEWEST, FEWEST_FAILED, Learned, Share
from advisor.review.of_the_air import GAP
from advisor.review.page.doubt_words import QUANTITIES
from advisor.review.page.film_track import FilmTrack, marked, silences
from advisor.review.page.words import in_units
from advisor.review.reviewed import Reviewed
from advisor.say.as_json import Forms
from advisor.say.numbers import (
    bare,
    clock,
    counted,
    difference,
    moment,
    over_or_under,
    percent,
    span,
    temperature,
    trimmed,
)
from advisor.series.trace import AIR, HUMIDITY, SURFACE, Trace, Window
from advisor.shop.shop import US, Shop
from advisor.times import local_day, moment_at

STANDINGS = {  # a sign and words: never a colour alone
    Standing.SUPPORTED: "● points to it",
    Standing.AGAINST: "○ speaks against it",
    Standing.CANNOT_TELL: "? cannot tell",
}
EXPOSURES = {
    "air_at_spraying": "air at spraying",
    "humidity_at_spraying": "humidity at spraying",
    "piece_over_dew": "piece, least over the dew point at spraying",
    "water_in_film": "water in the wet film, against what stays clear",
    "film_over_dew": "film, least over the dew point while wet",
    "film_at_packing": "film as it formed",
    "closing_pace": "time to close, against its usual time",
    "heat_while_wet": "warming while wet",
    "dust_while_wet": "dust while wet, against clean air",
    "humidity_while_drying": "humidity until the next coat",
    "lowest_while_drying": "coldest air until the next coat",
    "lowest_over_dew_later": "surface, least over the dew point that night",
    "lowest_while_curing": "coldest air while it cured",
    "outdoor_air": "air outdoors at spraying",
    "outdoor_humidity": "humidity outdoors at spraying",
    "wet_film": "wet film",
    "cup": "seconds in a DIN 4 cup",
    "thinning": "thinner, of the paint",
    "needle": "needle",
    "gun_pressure": "pressure at the gun",
    "mix_age": "age of the mix",
    "recoat_gap": "time since the coat below",
    "gap_not_scuffed": "time since the coat below, not scuffed",
    "goes_not_over": "goes over the coat below",
    "seen_after_coating_over": "seen, after a coat over an old film",
}
_HARDLY = 0.005  # [fraction] that rounds to nothing
_MINUTE = 60.0  # [s]
_TO_SCUFF = 1.0  # [s] a limit so short says that a scuff was due, not when


def number_and_unit(value: float | None, unit: str, exposure: str, shop: Shop) -> tuple[str, str]:
    """A number of a table and its unit apart, in the reader's units; a dash where there is none."""
    if value is None:
        return "–", ""
    if exposure == "goes_not_over":
        return ("no" if value > 0.5 else "yes"), ""
    if unit == "K":
        sign = "°F" if shop.units == US else "°C"
        number = bare(difference(value, shop.units)).replace("-", "−")
        return number, f"{sign} over dew" if "over_dew" in exposure else sign
    if unit == "s" and exposure != "cup":
        return span(value), ""
    if unit == "ratio":
        return in_units(value, unit, exposure, shop), "times"
    number, _, sign = in_units(value, unit, exposure, shop).rpartition(" ")
    return number.replace("-", "−"), sign


def limit_shown(cause: Cause, shop: Shop) -> str:
    """A limit without its unit, and which side of it is fit; a dash where it is no number to compare with."""
    if cause.exposure == "goes_not_over" or (cause.exposure == "gap_not_scuffed" and cause.limit == _TO_SCUFF):
        return "–"
    probe = next(probe for probe in cause.mechanism.probes if probe.exposure == cause.exposure)
    number = number_and_unit(cause.limit, cause.unit, cause.exposure, shop)[0]
    return f"{'at most' if probe.direction == ABOVE else 'at least'} {number}"


def unit_shown(cause: Cause, shop: Shop) -> str:
    """The unit of what was measured and of its limit."""
    known = cause.limit if cause.measured is None else cause.measured
    return number_and_unit(known, cause.unit, cause.exposure, shop)[1]


def read_share(found: Exposure) -> str:
    """How much of its window was read, and why it does not tell where it does not."""
    share = "" if found.covered is None else percent(found.covered)
    why = in_short(found.reason)
    if found.reason == GAP and found.covered is not None and found.covered < _HARDLY:
        why = "not read"
    elif found.measured is None and not why:
        why = "not known"
    return ", ".join(word for word in (share, why) if word) or "as said"


def window_shown(found: Exposure, shop: Shop) -> str:
    """`20:30 to 20:35`, and how many days on that is."""
    if found.window is None:
        return ""
    start, end = moment_at(found.window.start), moment_at(found.window.end)
    days = (local_day(end, shop.zone) - local_day(start, shop.zone)).days
    later = "" if not days else " next day" if days == 1 else f", {days} days on"
    return f"{clock(start, shop.zone)} to {clock(end, shop.zone)}{later}"


def applies(found: Exposure, coating: Coating) -> bool:
    """Whether an exposure says something of a coating: only a dispersion packs, only the others are judged by blush."""
    water = coating.carrier == "water"
    return {"film_at_packing": water, "water_in_film": not water}.get(found.name, True)


def silent(exposed: Exposures, spans: tuple[Window, ...], shop: Shop) -> list[str]:
    """What was not read in the hours shown, and the sensors that gave what does not count, one line each."""
    track, lines = exposed.seen.track, []
    traces = [(QUANTITIES[name], track.trace(name)) for name in (AIR, HUMIDITY, SURFACE)] + [("dust", track.dust)]
    for name, trace in traces:
        if not len(trace.times) and not trace.faults:
            lines.append(f"{name.capitalize()}: no sensor read it.")
            continue
        for window in spans:
            lines += _silent_in(name, trace, window, shop)
    return lines


def _silent_in(name: str, trace: Trace, window: Window, shop: Shop) -> list[str]:
    gaps = silences(trace, window)
    said = [(gap.start, gap.end, in_short(gap.reason) or "no reading") for gap in gaps]
    for mark in marked(trace, window, gaps):
        count = counted(mark.count, "1 reading")
        said.append((mark.start, mark.end, f"{count} not counted, {in_short(mark.reason)}"))
    return [f"{name.capitalize()}, {_from_to(start, end, shop)}: {what}." for start, end, what in said]


def _from_to(start: float, end: float, shop: Shop) -> str:
    first = moment(moment_at(start), shop.zone)
    return first if end - start < _MINUTE else f"{first} to {clock(moment_at(end), shop.zone)}"


def alt_text(found: Reviewed, films: tuple[FilmTrack | None, ...], spans: tuple[Window, ...], shop: Shop) -> str:
    """The picture in words."""
    exposed = (found.exposed, *(() if found.sibling is None else (found.sibling.exposed,)))
    names = ("This coat", "The coat beside it")
    said = [
        _film_in_words(name, each, film, shop) for name, each, film in zip(names, exposed, films, strict=False)
    ]  # fmt: skip
    track = found.exposed.seen.track
    for window in spans:
        hours = _from_to(window.start, window.end, shop)
        ranges = [
            f"{QUANTITIES[name]} {low} to {high}"
            for name in (AIR, HUMIDITY)
            if (found_range := _range(track.trace(name), window)) is not None
            for low, high in [
                [percent(value) if name == HUMIDITY else temperature(value, shop.units) for value in found_range]
            ]
        ]
        dust = found.exposed.by_name["dust_while_wet"].measured
        if dust is not None:
            ranges.append(f"dust up to {trimmed(dust, 0 if dust >= 10 else 1)} times clean air while it was wet")
        said.append(f"The room, {hours}: {', '.join(ranges) or 'not read'}.")
    said += silent(found.exposed, spans, shop)
    return " ".join(said)


def _film_in_words(name: str, exposed: Exposures, film: FilmTrack | None, shop: Shop) -> str:
    windows = exposed.seen.windows
    when = clock(exposed.seen.coat.sprayed, shop.zone)
    until = clock(moment_at(windows.recoat.end), shop.zone)
    if film is None:
        return f"{name}, sprayed {when}, next coat from {until}: no film computed, the air was not well read."
    where = f"{over_or_under(film.lowest - film.dew_point, shop.units)} the dew point"
    below = f", under it for {trimmed(film.below / 60.0, 1)} min" if film.below else ""
    return (
        f"{name}, sprayed {when}, next coat from {until}: the film fell to {temperature(film.lowest, shop.units)},"
        f" {where} of {temperature(film.dew_point, shop.units)}{below}; room air"
        f" {temperature(film.air, shop.units)}."
    )


def _range(trace: Trace, window: Window) -> tuple[float, float] | None:
    values = trace.within(window)
    return (float(values.min()), float(values.max())) if len(values) else None


def learned_told(name: str, coats: int, failed: int, learned: Sequence[Learned], shop: Shop) -> list[str]:
    """A head and a line for each mechanism, the surest first; what the coats do not carry is not said."""
    lines = [f"{name}: {coats} coats, {failed} with a defect."]
    if not learned:
        return [*lines, "No failed coat that the air could have made."]
    for each in sorted(learned, key=lambda one: -one.worse):
        limit = in_units(each.limit, each.unit, each.exposure, shop)
        lines.append(
            f"{each.mechanism.label}: failed {_share(each.within)} within {limit}, {_share(each.over)} beyond it."
        )
        if each.proposed is not None and each.proposed_within and each.proposed_over:
            own = in_units(each.proposed, each.unit, each.exposure, shop)
            lines.append(
                f"  Your own limit would be {own}: {_share(each.proposed_within)} within,"
                f" {_share(each.proposed_over)} beyond. Nothing is changed: set it yourself if you believe it."
            )
    if coats < FEWEST or failed < FEWEST_FAILED:
        lines.append(f"Too few for a limit of your own: it takes {FEWEST} coats, {FEWEST_FAILED} of them failed.")
    return lines


def _share(share: Share) -> str:
    return f"{share.failed} of {share.coats} ({percent(share.low)} to {percent(share.high)})"


learned_record = Forms(
    {
        Learned: (
            "mechanism=mechanism.id exposure unit limit within over worse_over=worse proposed_limit=proposed"
            " proposed_within proposed_over"
        ),
        Share: "coats failed mean low high",
    }
)
