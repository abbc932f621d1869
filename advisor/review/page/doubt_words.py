"""What a review says of readings that it does not believe: which sensor, when, and what it looked like."""

from collections.abc import Sequence

from advisor.readings.csv_file import DEFAULT_SENSOR as UNNAMED
from advisor.readings.reading import OUT_OF_RANGE, PINNED, STEP, STUCK, WRONG_UNIT
from advisor.review.doubts import ALONE, CONTRADICTED, fahrenheit
from advisor.say.numbers import clock, moment, percent, temperature, trimmed
from advisor.series.air_track import AirTrack
from advisor.series.trace import AIR, HUMIDITY, SURFACE, Window
from advisor.shop.shop import Shop
from advisor.times import moment_at

QUANTITIES = {AIR: "air temperature", HUMIDITY: "humidity", SURFACE: "surface temperature", "dust": "dust"}
DOUBTS = {
    STUCK: "stood still to the last digit at {value}",
    PINNED: "stood at its end stop, {value}",
    STEP: "leapt in a minute, to {value}, and nothing else moved",
    OUT_OF_RANGE: "read {value}, which no air is",
    WRONG_UNIT: "read {value}, which its humidity or what was read by hand contradicts",
    ALONE: "rose to {value} alone while the piece did not, as in the sun or by a heater",
    CONTRADICTED: "read {value}; what was read by hand says otherwise",
}
_FAHRENHEIT = "read {value} under a Celsius header: that looks like Fahrenheit, {turned}"
_FEWEST, _SHORTEST = 5, 600.0  # readings, [s] that are worth a sentence


def doubts(track: AirTrack, window: Window, at: float, shop: Shop) -> list[str]:
    """One sentence for each mark in a window that lasted more than a moment; what one sensor said together, in one.

    at [s since 1970]: when it matters what a sensor said.
    """
    traces = [(name, track.trace(name)) for name in (AIR, HUMIDITY, SURFACE)] + [("dust", track.dust)]
    together: dict[tuple[str, float, float], list[tuple[str, str, float]]] = {}
    for name, trace in traces:
        for reason in dict.fromkeys(reason for _, reason, _ in trace.faults if reason in DOUBTS):
            held = [
                (when, value)
                for when, mark, value in trace.faults
                if mark == reason and value is not None and window.start <= when <= window.end
            ]
            if len(held) >= _FEWEST and held[-1][0] - held[0][0] >= _SHORTEST:
                key = (reason, held[0][0], held[-1][0])
                together.setdefault(key, []).append(
                    (name, trace.sensor, min(held, key=lambda one: abs(one[0] - at))[1])
                )
    return [_sentence(*key, said, track.place, shop) for key, said in together.items()]


def _sentence(
    reason: str, first: float, last: float, said: Sequence[tuple[str, str, float]], place: str, shop: Shop
) -> str:  # fmt: skip
    sensors = sorted({sensor for _, sensor, _ in said} - {"", place, UNNAMED})
    start, end = moment(moment_at(first), shop.zone), clock(moment_at(last), shop.zone)
    looks = "; ".join(f"{QUANTITIES[name]} {looked(name, reason, value, shop)}" for name, _, value in said)
    of = f" ({', '.join(sensors)})" if sensors else ""
    return f"Not believed, {start} to {end}{of}: {looks}."


def looked(name: str, reason: str, value: float, shop: Shop) -> str:
    """What a doubted value looked like."""
    if name == HUMIDITY and reason == ALONE:
        return f"went to {_value(name, value, shop)} with it"
    turned = fahrenheit(reason, value) if name == AIR else None
    if turned is not None:
        return _FAHRENHEIT.format(value=trimmed(value, 0), turned=temperature(turned, shop.units))
    return DOUBTS[reason].format(value=_value(name, value, shop))


def _value(name: str, value: float, shop: Shop) -> str:
    if name == HUMIDITY:
        return percent(value)
    return "one count" if name == "dust" else temperature(value, shop.units)
