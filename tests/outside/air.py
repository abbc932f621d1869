"""Moist air against handbook tables, charts, reference libraries and a year of weather."""

from collections.abc import Iterator

import numpy as np
import psychrolib

from advisor.physics.air import moist_air
from tests.oracles import humid
from tests.outside.row import Row, against, relative, signed
from tests.support import reference_rows


def rows() -> Iterator[Row]:
    """Every check on the air."""
    for row in reference_rows("ashrae_saturation.csv"):
        air, pascal = float(row["air_temperature_c"]), float(row["saturation_pressure_pa"])
        yield relative(
            f"saturation pressure at {air:g} °C", row["source"], pascal, moist_air.saturation_pressure(air), "Pa", 6
        )
    yield against(
        "dew point, 25 °C 80 %", "psychrolib's documentation", 21.3094, moist_air.dew_point(25.0, 0.80), "°C", 4
    )
    yield against(
        "dew point, 40 °C dry, 20 °C wet", "ASHRAE Fundamentals 2017 ch. 1 Example 1, read from a chart", 7.0,
        moist_air.dew_point(40.0, 0.1398), "°C", 1,
    )  # fmt: skip
    yield _charts()
    yield _coolprop()
    yield _psychrolib()
    for metres, pascal in ((500, 95461.0), (1000, 89875.0), (4000, 61640.0)):
        yield relative(
            f"air pressure at {metres} m", "ASHRAE Fundamentals 2017 ch. 1 Table 1", pascal,
            moist_air.pressure_at_altitude(float(metres)), "Pa", 5,
        )  # fmt: skip


def _charts() -> Row:
    gaps = []
    for row in reference_rows("dew_point_charts.csv"):
        fahrenheit = row["unit"] == "F"
        air, dew = float(row["air_temperature"]), float(row["dew_point"])
        humidity = float(row["relative_humidity_pct"]) / 100
        celsius = (air - 32) / 1.8 if fahrenheit else air
        if 10.0 <= celsius <= 32.3 and 0.4 <= humidity <= 0.9:
            ours = moist_air.dew_point(celsius, humidity)
            gaps.append(ours - ((dew - 32) / 1.8 if fahrenheit else dew))
    worst = max(gaps, key=abs)
    return Row(
        f"dew point, {len(gaps)} cells of two charts, 10-32 °C, 40-90 %",
        "two circulated coating charts (one truncates)",
        "2 °F stated apart", f"worst {worst:+.2f} K", f"{worst * 1.8:+.1f} °F",
    )  # fmt: skip


def _coolprop() -> Row:
    air, humidity = (grid.ravel() for grid in np.meshgrid(np.linspace(1.0, 60.0, 30), np.linspace(0.05, 1.0, 20)))
    theirs = [
        humid.HAPropsSI("D", "T", t + 273.15, "P", 101325, "R", h) - 273.15 for t, h in zip(air, humidity, strict=True)
    ]
    gap = np.asarray(moist_air.dew_point(air, humidity)) - np.array(theirs)
    above = np.array(theirs) > 0.5
    worst = float(gap[above][np.abs(gap[above]).argmax()])
    return Row(
        f"dew point, {int(above.sum())} states above freezing", "CoolProp, moist air (real gas)", "-",
        f"worst {worst:+.3f} K", f"{worst:+.3f} K",
    )  # fmt: skip


def _psychrolib() -> Row:
    psychrolib.SetUnitSystem(psychrolib.SI)
    gaps = [
        moist_air.wet_bulb(t, h, 101_325.0) - psychrolib.GetTWetBulbFromRelHum(t, h, 101_325.0)
        for t in (5.0, 15.0, 25.0, 35.0)
        for h in (0.3, 0.6, 0.9)
    ]
    worst = max(gaps, key=abs)
    return Row(
        "wet bulb, 12 states", "psychrolib (ASHRAE)", "-", f"worst {signed(worst, 4)} K", f"{signed(worst, 4)} K"
    )
