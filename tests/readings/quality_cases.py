"""Values read one after the other, and the marks they get."""

from advisor.readings.quality import MINUTE, QualityControl
from advisor.readings.reading import Reading, Series
from advisor.shop.shop import Shop

LATER = 10**15
ACCURACY = Shop().accuracy


def run(values, quantity="air_temperature", minutes=1.0, sensor="shelf", control=None, start=0, now=LATER):
    """The marks of values read one after the other; a value of None is missing."""
    control = control or QualityControl(ACCURACY)
    series = Series(sensor, "shop", quantity)
    marks = []
    for index, value in enumerate(values):
        at = start + int(index * minutes * MINUTE)
        reason = "" if value is not None else "missing"
        reading = Reading(series, value, at, "line", "good" if value is not None else "bad", reason)
        marks.append(control.mark(reading, now).reason)
    return marks


def pair(control, airs, dampness, start=0, sensor="shelf"):
    """The marks of a sensor's temperature and humidity, a minute a pair."""
    marks = []
    for minute, (air, damp) in enumerate(zip(airs, dampness, strict=True)):
        at = start + minute * MINUTE
        marks.append((
            *run([air], control=control, start=at, sensor=sensor),
            *run([damp], "relative_humidity", control=control, start=at, sensor=sensor),
        ))  # fmt: skip
    return marks
