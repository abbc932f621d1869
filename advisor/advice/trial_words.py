"""What a fan-on trial is told as: how to do it, what it found, what to write into the configuration."""

from datetime import UTC, datetime
from typing import Any

from advisor.advice.measures import clock, flow, moment, percent, span, temperature, trimmed
from advisor.advice.phrases import CAUTION_WORDS
from advisor.advice.record import SCHEMA, exact, number, utc
from advisor.advice.trial import ALIKE, FEW, NO_OUTDOORS, UNSTEADY, Trial
from advisor.physics.room_fit import FEWEST_READINGS
from advisor.shop.shop import US, Shop

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


def told(trial: Trial, place: str, shop: Shop, found: int | None = None) -> list[str]:
    """In short paragraphs; found: how many openings the log holds, where it was found there."""
    start, end = (datetime.fromtimestamp(each, UTC) for each in (trial.start, trial.end))
    lines = [
        f"{place}, {moment(start, shop.zone)} to {clock(end, shop.zone)}: {trial.readings} readings{_air(trial, shop)}."
    ]
    if trial.fit is None:
        return [*lines, f"Cannot tell: {_why(trial, shop)}"]
    change, rate = trial.fit.air_change, 3600.0
    room = f"{trimmed(shop.room_volume, 1)} m3"
    lines.append(
        f"The air changes {_pm(change.value * rate, change.uncertainty * rate)} times an hour: the fan moves"
        f" {_flow_pm(trial, shop)} through {room}. {_compared(trial, shop)}"
    )
    walls = trial.fit.film_conductance
    lines.append(
        f"Walls and what stands there hold {_pm(walls.value, walls.uncertainty)} W/K."
        if walls is not None
        else f"The walls it does not tell: {trial.fit.unclear}."
    )
    lines += ["Into the configuration, instead of what stands there:", *configuration(trial, shop)]
    if found is not None:
        lines.append(f"{FOUND_NOTE} Openings in the log: {found}.")
    return [*lines, CAUTION_WORDS["finish-only"]]


def configuration(trial: Trial, shop: Shop) -> list[str]:
    """The lines for the configuration file; none where nothing was found."""
    if trial.fit is None:
        return []
    lines = ["[booth]", f'fan_flow = "{_flow(trial.fit.flow.value, shop)}"', "flow_measured = true"]
    walls = trial.fit.film_conductance
    if walls is not None:
        lines += ["[room]", f'wall_conductance = "{_rounded(walls.value)} W/K"']
    return lines


def trial_record(trial: Trial | None, place: str, shop: Shop, now: datetime, found: int | None) -> dict[str, Any]:
    """The record for JSON: SI; null what was not told."""
    fit = None if trial is None else trial.fit
    walls = None if fit is None else fit.film_conductance
    out = None if trial is None else trial.outdoors
    before = (None, None) if trial is None or trial.before is None else trial.before
    return {
        "schema": SCHEMA,
        "computed_at": utc(now),
        "place": place,
        "started": None if trial is None else utc(datetime.fromtimestamp(trial.start, UTC)),
        "ended": None if trial is None else utc(datetime.fromtimestamp(trial.end, UTC)),
        "readings_used": 0 if trial is None else trial.readings,
        "air_temperature": number(before[0]),
        "relative_humidity": number(before[1]),
        "outdoor_air_temperature": None if out is None else number(out.air_temperature),
        "outdoor_relative_humidity": None if out is None else number(out.relative_humidity),
        "room_volume": number(shop.room_volume),
        "air_change": None if fit is None else exact(fit.air_change.value),
        "air_change_uncertainty": None if fit is None else exact(fit.air_change.uncertainty),
        "fan_flow": None if fit is None else exact(fit.flow.value),
        "fan_flow_uncertainty": None if fit is None else exact(fit.flow.uncertainty),
        "wall_conductance": None if walls is None else exact(walls.value),
        "wall_conductance_uncertainty": None if walls is None else exact(walls.uncertainty),
        "counted_flow": None if trial is None else exact(trial.counted),
        "share_of_counted": None if trial is None else number(trial.share_of_counted),
        "openings_found": found,
        "cannot_tell": fit is None,
        "reason": "none_found" if trial is None else trial.unclear or None,
        "configuration": [] if trial is None else configuration(trial, shop),
        "cautions": [CAUTION_WORDS["finish-only"]],
    }


def none_found(days: float, found: int) -> str:
    """Why --find gave nothing."""
    return NONE_FOUND.format(days=span(days * 86_400.0) if days else "0 days", found=found)


def _air(trial: Trial, shop: Shop) -> str:
    before = "" if trial.before is None else f", from {_pair(trial.before, shop)}"
    out = trial.outdoors
    return before if out is None else f"{before}, outdoors {_pair((out.air_temperature, out.relative_humidity), shop)}"


def _pair(air: tuple[float, float], shop: Shop) -> str:
    return f"{temperature(air[0], shop.units)} {percent(air[1])}"


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
    if shop.units == US:
        return f"{float(f'{float(flow(cubic_metres_per_second, US).split()[0]):.3g}'):g} cfm"
    return f"{cubic_metres_per_second:.2g} m3/s"


def _flow_pm(trial: Trial, shop: Shop) -> str:
    if trial.fit is None:
        return ""
    size = 1.0 if shop.units != US else 1.0 / (0.3048**3 / 60.0)
    return f"{_pm(trial.fit.flow.value * size, trial.fit.flow.uncertainty * size)} {'cfm' if size != 1.0 else 'm3/s'}"


def _pm(value: float, uncertainty: float) -> str:
    """`20.1 ±0.4`, `0.525 ±0.011`: the uncertainty in one digit, two where the first is a 1; the value as finely."""
    one, two = (float(f"{max(uncertainty, 0.0):.{digits}g}") for digits in (1, 2))
    size = two if f"{two:e}".startswith("1") else one
    decimals = next((n for n in range(4) if round(size, n) == size), 3)
    return f"{trimmed(value, decimals)} ±{trimmed(size, decimals)}"


def _rounded(value: float) -> str:
    return f"{float(f'{value:.2g}'):g}"
