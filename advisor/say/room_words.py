"""What is said of the room, and its records for JSON: dust, the night ahead, what wood settles at, the fan-on trial."""

from datetime import datetime
from typing import Any

from advisor.outlook.day_ahead import NightAhead
from advisor.physics.air.wood import DAY, LEAST_DAYS
from advisor.physics.room.room_fit import FEWEST_READINGS
from advisor.room.dust import DustView
from advisor.room.trial import ALIKE, FEW, NO_OUTDOORS, UNSTEADY, Trial
from advisor.room.wood_moisture import WoodMoisture
from advisor.say.as_json import headed, keyed
from advisor.say.numbers import (
    air,
    bare,
    clock,
    in_unit,
    moment,
    percent,
    percent_range,
    significant,
    span,
    temperature,
    trimmed,
    with_uncertainty,
)
from advisor.say.phrases import CAUTION_WORDS
from advisor.shop.shop import US, Shop
from advisor.times import moment_at


def dust_words(view: DustView | None, since_sanding: float | None, strict: bool, shop: Shop) -> str:
    """One line before the booth is opened; empty where there is nothing to say."""
    settles, runs = shop.limit("dust_settles").value, shop.limit("cleaner_runs").value
    needed, rest = shop.limit("strict_after_sanding").value if strict else runs + settles, span(settles)
    if view is not None:
        dust = f"Dust {trimmed(view.index, 1)} times your clean shop"
        fall = f": cleaner {span(max(60.0, view.clean_in or 0.0))} more, then off, {rest} of rest."
        still = f", not falling: find where it comes from; cleaner on, then off and {rest} of rest."
        return f"{dust}{still if view.clean_in is None else fall}" if view.dusty else ""
    if since_sanding is None or since_sanding >= needed:
        return ""
    way = f"cleaner {span(runs)}, off, {rest} of rest; blow off, wet the floor, tack."
    return f"Sanded {span(since_sanding)} ago: {way}"


def night_words(night: NightAhead | None, shop: Shop) -> str:
    """One line on damp air over pieces still cold; the cold itself is the night rule's to tell."""
    if night is None or night.dew_at is None or night.dew_point is None or night.piece is None:
        return ""
    when = clock(night.dew_at, shop.zone)
    piece, dew = bare(temperature(night.piece, shop.units)), temperature(night.dew_point, shop.units)
    return f"About {when} damp air (dew point {dew}) meets pieces at {piece}: keep them warm, door shut."


_WORTH_TELLING = 0.01  # share of the log outside the equation's table
_WOOD = (  # fractions, °C, seconds
    "place moisture_content=wood.moisture cannot_tell log_seconds air_temperature=wood.air_temperature"
    " relative_humidity=wood.relative_humidity outside_table=wood.beyond furniture_low=low furniture_high=high"
    " paint_most=paint"
)


def wood_told(wood: WoodMoisture, place: str, shop: Shop) -> list[str]:
    """In short paragraphs: what it settles at against what furniture wants, and what a change does."""
    low, high, paint = _wanted(shop)
    wants = f"furniture wants {percent_range(low, high)}"
    if wood.moisture is None:
        return [
            f"Cannot tell: wood follows the room over weeks, and of the {LEAST_DAYS:g} days of log that takes there are"
            f" {trimmed(wood.days or 0.0, 1)}.",
            "Keep logging, or give the usual air: --air 21C --rh 50%.",
        ]
    moisture = round(wood.moisture, 3)  # a tenth of a percent: what is shown is what is judged
    said = f"settles at about {trimmed(moisture * 100.0, 1)} %"
    where = "this shop" if place in ("shop", "booth") else place
    typed = air(wood.air_temperature or 0.0, wood.relative_humidity or 0.0, shop.units, 1)
    against = (
        (moisture > paint, f"Over {percent(paint)} it is too damp to be painted: dry it first, slowly."),
        (moisture > high, "Damper than that: in a heated home it will shrink, and joints and panels with it."),
        (moisture < low, "Drier than that: in a damper home it will swell, and drawers and panels bind."),
    )
    beyond = f"{percent(wood.beyond)} of the log lay outside 5 to 95 % humidity, and counts as at that edge."
    return [
        f"In air of {typed} wood {said} ({wants})."
        if wood.days is None
        else f"The wood in {where} {said} ({wood.days:.0f} days of log; {wants}).",
        *[sentence for met, sentence in against if met][:1],
        "Change it slowly: a fast change swells or shrinks joints and cracks a finish. Measure a board of it.",
        *([beyond] if wood.beyond >= _WORTH_TELLING else []),
    ]


def wood_record(wood: WoodMoisture, place: str | None, shop: Shop, computed_at: datetime) -> dict[str, Any]:
    """The record for JSON."""
    low, high, paint = _wanted(shop)
    seconds = None if wood.days is None else wood.days * DAY
    asked = {
        "place": place, "wood": wood, "cannot_tell": wood.moisture is None, "log_seconds": seconds, "low": low,
        "high": high, "paint": paint,
    }  # fmt: skip
    return headed(computed_at, keyed(_WOOD, asked))


def _wanted(shop: Shop) -> tuple[float, float, float]:
    """Furniture from, up to; paint at most."""
    low, high, paint = (shop.limit(f"wood_{edge}").value for edge in ("furniture_low", "furniture_high", "paint_most"))
    return low, high, paint


STEPS = (
    "How to do the fan-on trial, 15 min of your time, no solvent open:",
    "1. Close up, heaters off; let the room stand for half an hour.",
    "2. Sensor at the work, not in the jet of air, one reading a minute.",
    "3. Note the time. Open the door and run the fan, just as for spraying.",
    "4. Nobody sprays, nobody boils water or runs a dryer. Wait 10 min.",
    "5. Close up again. Then: advisor trial --started 14:05",
    "Without a sensor outdoors add its air: --outdoors 8C --outdoors-rh 85%.",
)
FOUND_NOTE = "Found in the log, not made for it: it holds only if the fan ran. A trial is surer (advisor trial)."
NONE_FOUND = (
    "Cannot tell: in {days} of log no door opening shows ({found} looked like one). It needs readings each minute"
    " indoors, readings outdoors, and air outdoors that is drier or damper. Do a trial: advisor trial."
)


def trial_told(trial: Trial, place: str, shop: Shop, found: int | None = None) -> list[str]:
    """In short paragraphs; found: how many openings the log holds, where it was found there."""
    start, end = (moment_at(each) for each in (trial.start, trial.end))
    when = f"{place}, {moment(start, shop.zone)} to {clock(end, shop.zone)}"
    lines = [f"{when}: {trial.readings} readings{_trial_air(trial, shop)}."]
    if trial.fit is None:
        return [*lines, f"Cannot tell: {_why(trial, shop)}"]
    fit, walls = trial.fit, trial.fit.film_conductance
    hourly = with_uncertainty(fit.air_change.value * 3600.0, fit.air_change.uncertainty * 3600.0)
    (moved, sign), (spread, _) = (in_unit("fan", each, shop.units) for each in (fit.flow.value, fit.flow.uncertainty))
    through = f"{with_uncertainty(moved, spread)} {sign} through {trimmed(shop.room_volume, 1)} m3"
    note = [] if found is None else [f"{FOUND_NOTE} Openings in the log: {found}."]
    return [
        *lines,
        f"The air changes {hourly} times an hour: the fan moves {through}. {_compared(trial, shop)}",
        f"The walls it does not tell: {fit.unclear}."
        if walls is None
        else f"Walls and what stands there hold {with_uncertainty(walls.value, walls.uncertainty)} W/K.",
        "Into the configuration, instead of what stands there:",
        *configuration(trial, shop),
        *note,
        CAUTION_WORDS["finish-only"],
    ]


def configuration(trial: Trial, shop: Shop) -> list[str]:
    """The lines for the configuration file; none where nothing was found."""
    if trial.fit is None:
        return []
    walls = trial.fit.film_conductance
    held = [] if walls is None else ["[room]", f'wall_conductance = "{significant(walls.value, 2)} W/K"']
    return ["[booth]", f'fan_flow = "{_flow(trial.fit.flow.value, shop)}"', "flow_measured = true", *held]


_TRIAL = (  # SI
    "place started@=trial.start ended@=trial.end readings_used air_temperature=trial.before.0"
    " relative_humidity=trial.before.1 outdoor_air_temperature=trial.outdoors.air_temperature"
    " outdoor_relative_humidity=trial.outdoors.relative_humidity room_volume air_change~=fit.air_change.value"
    " air_change_uncertainty~=fit.air_change.uncertainty fan_flow~=fit.flow.value"
    " fan_flow_uncertainty~=fit.flow.uncertainty wall_conductance~=fit.film_conductance.value"
    " wall_conductance_uncertainty~=fit.film_conductance.uncertainty counted_flow~=trial.counted"
    " share_of_counted=trial.share_of_counted openings_found cannot_tell reason? configuration cautions"
)


def trial_record(trial: Trial | None, place: str, shop: Shop, now: datetime, found: int | None) -> dict[str, Any]:
    """The record for JSON; null what was not told."""
    fit = None if trial is None else trial.fit
    asked = {
        "place": place,
        "trial": trial,
        "fit": fit,
        "readings_used": 0 if trial is None else trial.readings,
        "room_volume": shop.room_volume,
        "openings_found": found,
        "cannot_tell": fit is None,
        "reason": "none_found" if trial is None else trial.unclear,
        "configuration": [] if trial is None else configuration(trial, shop),
        "cautions": [CAUTION_WORDS["finish-only"]],
    }
    return headed(now, keyed(_TRIAL, asked))


def none_found(days: float, found: int) -> str:
    """Why --find gave nothing."""
    return NONE_FOUND.format(days=span(days * 86_400.0) if days else "0 days", found=found)


def _trial_air(trial: Trial, shop: Shop) -> str:
    pairs = [] if trial.before is None else [("from", *trial.before)]
    if trial.outdoors is not None:
        pairs.append(("outdoors", trial.outdoors.air_temperature, trial.outdoors.relative_humidity))
    return "".join(f", {where} {temperature(warm, shop.units)} {percent(damp)}" for where, warm, damp in pairs)


def _why(trial: Trial, shop: Shop) -> str:
    minutes = span(trial.end - trial.start)
    return {
        FEW: f"at least {FEWEST_READINGS} readings of temperature and humidity are needed in these {minutes}. Let the"
        " sensor read each minute; is the time right?",
        NO_OUTDOORS: f"no outdoor reading within {span(shop.limit('outdoors_fresh_for').value)}. Add --outdoors 8C"
        " --outdoors-rh 85%.",
        ALIKE: "the air outdoors holds too nearly the same moisture as the air indoors for these sensors. Try again"
        " when it is drier or damper outdoors.",
        UNSTEADY: "the moisture did not run steadily towards outdoors. Was the door open and the fan on all the while,"
        " the sensor out of the jet, the time right?",
    }[trial.unclear]


def _compared(trial: Trial, shop: Shop) -> str:
    share, fit = trial.share_of_counted, trial.fit
    if share is None or fit is None:
        return ""
    counted = _flow(trial.counted, shop) + (", half the name plate" if trial.name_plate else ", as configured")
    if abs(fit.flow.value - trial.counted) <= 2.0 * fit.flow.uncertainty:
        return f"As counted so far ({counted})."
    less = " Look at filters, duct and opening." if share < 1.0 else ""
    return f"That is {trimmed(share, 1)} times what counted so far ({counted}).{less}"


def _flow(cubic_metres_per_second: float, shop: Shop) -> str:
    moved, sign = in_unit("fan", cubic_metres_per_second, shop.units)
    return f"{significant(moved, 3) if shop.units == US else f'{moved:.2g}'} {sign}"
