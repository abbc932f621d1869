"""The mixing bench against certified oils, published tables and examples."""

from collections.abc import Iterator

from advisor.bench.air_line import Compressor, air_line
from advisor.physics.air import compressed_air
from advisor.physics.paint import film_build, viscosity
from tests.oracles import humid
from tests.outside.row import Row, against, within
from tests.support import SHOP, reference_rows

_BAR, _PSI = 1e5, 6894.757
_CFM, _GALLON = 0.3048**3 / 60, 231 * 0.0254**3
_MIL, _FOOT = 25.4e-6, 0.3048
_SUPPLIERS_CELLS = (("50", "50"), ("70", "40"), ("70", "100"), ("80", "60"), ("100", "90"))


def rows() -> Iterator[Row]:
    """Every check on the bench."""
    yield from _cups()
    yield from _build()
    yield from _air()


def _cups() -> Iterator[Row]:
    for row in reference_rows("cup_drain_times.csv"):
        cup, oil = row["cup"], float(row["viscosity_mm2_per_s"])
        source = "certified oil, a maker's page of cup formulas that cites ASTM D1200 and D4212 (read)"
        if (cup, oil) == ("Ford 5", 850.0):
            source += "; the one cell that its own formula does not meet"
        yield against(
            f"{cup}, oil of {oil:g} mm2/s", source, float(row["seconds"]), viscosity.seconds_for(cup, oil), "s", 1
        )
    for cup, seconds, low in (("ISO 4", 30, 34.0), ("ISO 4", 100, 135.0), ("DIN 4", 25, 96.0), ("DIN 4", 150, 683.0)):
        yield against(
            f"{cup} at {seconds} s", "range of ISO 2431 or DIN 53211 (from memory)", low,
            viscosity.kinematic_viscosity(cup, seconds), "mm2/s", 1,
        )  # fmt: skip


def _build() -> Iterator[Row]:
    gallon = "231 in3 a gallon; a page on coatings (read)"
    for solids, mils, published, source in (
        (1.0, 1.0, 1604.17, gallon),
        (1.0, 10.0, 160.417, gallon),
        (0.65, 5.0, 208.5, "a worked example (read)"),
        (0.72, 2.0, 577.0, "a table of the same formula (read); it prints 527, a slip"),
    ):
        area = film_build.area_covered(_GALLON, mils * _MIL, solids) / _FOOT**2
        yield against(f"area of a US gallon, {solids:.0%} solids, {mils:g} mil dry", source, published, area, "ft2", 1)
    litre = film_build.area_covered(1e-3, 125e-6, 0.65)
    yield against("area of a litre, 65% solids, 125 µm dry", "a worked example (read)", 5.2, litre, "m2")
    bulletin = "an estimating bulletin: formula read, "
    for thinning, published, source in (
        (0.0, 2.8, f"{bulletin}result read"),
        (0.1, 2.55, f"{bulletin}result worked out anew"),
    ):
        dry = film_build.dry_film(8.0 * _MIL, 0.35, thinning) / _MIL
        yield against(f"dry film of 8 mil wet, 35% solids, {thinning:.0%} thinned", source, published, dry, "mil")


def _air() -> Iterator[Row]:
    table = {
        (row["air_temperature_f"], row["relative_humidity_pct"]): row
        for row in reference_rows("compressed_air_water.csv")
    }
    for cell in _SUPPLIERS_CELLS:
        fahrenheit, percent = cell
        celsius = (float(fahrenheit) - 32) / 1.8
        drawn = compressed_air.water_entering(celsius, float(percent) / 100, _CFM) * 3600 / 3.785411784
        source = "a suppliers' table (read)"
        if cell == ("70", "40"):
            source += "; this cell breaks its own row"
        published = float(table[cell]["gallons_per_hour_per_cfm"])
        yield against(f"water drawn in, {fahrenheit} °F {percent} %", source, published, drawn, "gal/h per cfm", 4)
    pressed = compressed_air.pressure_dew_point(20.0, 0.60, 7 * _BAR)
    yield against("pressure dew point, 20 °C 60 %, 7 bar", "reference values, worked out apart", 47.9, pressed, "°C", 1)
    ratio = humid.HAPropsSI("W", "T", 293.15, "P", compressed_air.SEA_LEVEL, "R", 0.60)
    real = humid.HAPropsSI("D", "W", ratio, "P", compressed_air.SEA_LEVEL + 7 * _BAR, "T", 370.0) - 273.15
    yield against("the same", "CoolProp, moist air (real gas)", real, pressed, "°C", 2)
    expanded = compressed_air.atmospheric_dew_point((38 - 32) / 1.8, 100 * _PSI) * 1.8 + 32
    yield against(
        "dew point at the atmosphere, 38 °F at 100 psi", "suppliers' charts, about (from memory)", -10.0, expanded,
        "°F", 1,
    )  # fmt: skip
    yield from _tank()


def _tank() -> Iterator[Row]:
    """A detail gun in the middle of its stated range; the gun wants 25 psi, and hose and regulator 15 more."""
    facts = {row["fact"]: (float(row["low"]), float(row["high"])) for row in reference_rows("compressor_practice.csv")}
    low, high = facts["coats on one small piece per filling of a 10 US gal compressor tank"]
    litres, seconds = (
        sum(facts[fact]) / 2 for fact in ("air a detail gun takes", "trigger for one coat on a small piece")
    )
    answer = air_line(Compressor(10 * _GALLON, 120 * _PSI, 40 * _PSI, litres * 1e-3 / 60), None, SHOP)
    filling = f"coats from 10 US gal, 120 to 40 psi, {litres:g} l/min, {seconds:g} s a coat"
    for emptied, trigger in (("as it cools", answer.trigger_least), ("kept warm", answer.trigger)):
        if trigger is not None:
            yield within(f"{filling}, tank {emptied}", "common practice, no source", low, high, trigger / seconds, "")
