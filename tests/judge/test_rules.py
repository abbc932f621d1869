"""Each rule at, just under and just over its limits; unknown is never ok."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.catalog.coatings import coating_ids, load_coating
from advisor.judge.conditions import Conditions, Measured
from advisor.judge.finding import Level, Side
from advisor.judge.rules import RULES, air_temperature, piece_temperature, readings, relative_humidity, surface
from advisor.physics.air import moist_air
from advisor.shop.shop import Shop
from tests.support import SHOP, typed

LACQUER = load_coating("nitrocellulose-lacquer")
HOUR = 3600.0


@pytest.mark.parametrize("coating_id", coating_ids())
def test_air_temperature_at_and_beside_every_limit(coating_id):
    coating = load_coating(coating_id)
    band = coating.air_temperature
    low, high, below, above = (n.value for n in (band.go_low, band.go_high, band.wait_below, band.wait_above))
    cases = [
        (low, Level.OK), (high, Level.OK), (high + 0.1, Level.CHANGE), (above, Level.CHANGE), (above + 0.1, Level.STOP),
        (below - 0.1, Level.STOP), (below, Level.OK if below == low else Level.CHANGE),
        (low - 0.1, Level.STOP if below == low else Level.CHANGE),
    ]  # fmt: skip
    for value, level in cases:
        finding = air_temperature(typed(value, 0.45), coating, SHOP)
        assert finding.level is level, value
        assert finding.measured == value


@pytest.mark.parametrize("coating_id", coating_ids())
def test_humidity_at_and_beside_every_limit(coating_id):
    coating = load_coating(coating_id)
    band = coating.relative_humidity
    low, high, above = band.go_low.value, band.go_high.value, band.wait_above.value
    cases = [
        (low - 0.001, Level.CHANGE), (low, Level.OK), (high, Level.OK), (high + 0.001, Level.CHANGE),
        (above, Level.CHANGE), (above + 0.001, Level.STOP), (0.02, Level.CHANGE),
    ]  # fmt: skip
    for value, level in cases:
        assert relative_humidity(typed(22.0, value), coating, SHOP).level is level, value


def test_a_margin_is_positive_inside_and_negative_outside():
    inside = air_temperature(typed(22.0, 0.45), LACQUER, SHOP)
    assert (inside.margin, inside.side) == (4.0, Side.WITHIN)
    cold = air_temperature(typed(14.0, 0.45), LACQUER, SHOP)
    assert (cold.margin, cold.side, cold.limit, cold.go_limit) == (-4.0, Side.LOW, 15.0, 18.0)
    damp = relative_humidity(typed(22.0, 0.72), LACQUER, SHOP)
    assert damp.margin == pytest.approx(-0.12)
    assert damp.side is Side.HIGH


@pytest.mark.parametrize(("above_limit", "level"), [(-0.01, Level.STOP), (0.0, Level.OK), (0.01, Level.OK)])
def test_surface_at_and_beside_3_k_with_a_good_sensor(above_limit, level):
    """On the best estimate 3 K rule as long as the 95 % test asks for less."""
    good = Shop(
        limits={
            "surface_temperature_accuracy": 0.3,
            "relative_humidity_accuracy": 0.02,
            "air_temperature_accuracy": 0.2,
        }
    )
    dew = float(moist_air.dew_point(21.0, 0.6))
    finding = surface(typed(21.0, 0.6, dew + 3.0 + above_limit + 1e-9, shop=good), LACQUER, good)
    assert finding.limit == 3.0
    assert finding.level is level


def test_a_poor_sensor_asks_for_more_than_3_k_but_the_two_are_not_stacked():
    """1 K at 95 % certainty: 1 + 1.645 u. With u of 1.4 K that is 3.3 K, not 3 + 1 + 2.3."""
    finding = surface(typed(21.0, 0.6, 20.0), LACQUER, SHOP)
    assert finding.limit == pytest.approx(1.0 + 1.645 * finding.uncertainty)
    assert 3.0 < finding.limit < 3.5


def test_an_unmeasured_surface_never_makes_a_wait():
    finding = surface(typed(21.0, 0.78), LACQUER, SHOP)
    assert finding.level is Level.CHANGE
    assert finding.remedies[0].kind == "measure_or_settled"
    assert surface(typed(21.0, 0.65), LACQUER, SHOP).level is Level.OK


@pytest.mark.parametrize(
    ("piece_in", "level", "deciding"),
    [
        (None, Level.OK, False),
        (20 * 60.0, Level.UNKNOWN, True),
        (3 * HOUR - 1, Level.UNKNOWN, True),
        (3 * HOUR, Level.OK, False),
        (24 * HOUR, Level.OK, False),
    ],
)
def test_a_piece_brought_in_lately_must_be_measured(piece_in, level, deciding):
    finding = surface(typed(21.0, 0.5, piece_in=piece_in), LACQUER, SHOP)
    assert (finding.level, finding.deciding) == (level, deciding)


def test_a_piece_brought_in_lately_and_measured_is_judged_by_its_surface():
    assert surface(typed(21.0, 0.5, 20.0, piece_in=600.0), LACQUER, SHOP).level is Level.OK
    assert surface(typed(21.0, 0.5, 8.0, piece_in=600.0), LACQUER, SHOP).level is Level.STOP


def test_a_piece_here_since_yesterday_is_taken_closer_to_the_air():
    damp = 0.755  # 2 K under the air fails here, 1 K does not
    assert surface(typed(21.0, damp), LACQUER, SHOP).level is Level.CHANGE
    assert surface(typed(21.0, damp, piece_in=12 * HOUR), LACQUER, SHOP).level is Level.OK


@pytest.mark.parametrize(
    ("age", "level"),
    [
        (899.0, Level.OK),
        (900.0, Level.OK),
        (901.0, Level.UNKNOWN),
        (None, Level.UNKNOWN),
        (float("nan"), Level.UNKNOWN),
    ],
)
def test_a_reading_counts_for_a_quarter_of_an_hour(age, level):
    known = typed(22.0, 0.45)
    values = {key: replace(measured, age=age) for key, measured in known.values.items()}
    assert readings(replace(known, values=values), LACQUER, SHOP).level is level


@pytest.mark.parametrize(("since", "level"), [(3599.0, Level.UNKNOWN), (3600.0, Level.OK), (None, Level.OK)])
def test_humidity_read_in_solvent_vapour_is_not_known(since, level):
    known = typed(22.0, 0.45, sprayed=since)
    assert readings(known, LACQUER, SHOP).level is level
    assert relative_humidity(known, LACQUER, SHOP).level is level
    assert air_temperature(known, LACQUER, SHOP).level is Level.OK


@pytest.mark.parametrize("missing", ["air_temperature", "relative_humidity"])
@pytest.mark.parametrize("measured", [
    Measured(None, 0.0, None, "bad", "missing"), Measured(22.0, 0.5, 0.0, "suspect", "step"),
    Measured(22.0, 0.5, 0.0, "bad", "stuck"), Measured(float("nan"), 0.5, 0.0),
])  # fmt: skip
def test_an_unusable_reading_is_unknown_and_never_ok(missing, measured):
    known = typed(22.0, 0.45)
    values = {**known.values, ("shop", missing): measured}
    findings = [rule(replace(known, values=values), LACQUER, SHOP) for rule in RULES]
    assert any(finding.level is Level.UNKNOWN and finding.deciding for finding in findings)


def test_nothing_known_is_unknown_in_every_rule_that_decides():
    levels = {rule.__name__: rule(Conditions("shop"), LACQUER, SHOP).level for rule in RULES}
    assert levels.pop("piece_temperature") is Level.OK, "a piece that was not measured is not judged"
    assert levels.pop("night") is Level.OK, "an unknown night decides nothing"
    assert set(levels.values()) == {Level.UNKNOWN}


@given(st.floats(-10, 45), st.floats(0.02, 1.0), st.sampled_from(coating_ids()))
def test_the_warming_remedy_reaches_a_go_in_humidity(air, humidity, coating_id):
    """A remedy is computed: the same moisture at the stated temperature is inside the band."""
    coating = load_coating(coating_id)
    finding = relative_humidity(typed(air, humidity), coating, SHOP)
    for way in finding.remedies:
        if way.kind == "warm_room_and_pieces":
            there = float(moist_air.relative_humidity_at(air, humidity, way.target))
            assert relative_humidity(typed(way.target, round(there, 9)), coating, SHOP).level is Level.OK
            assert air_temperature(typed(way.target, 0.5), coating, SHOP).level is Level.OK


@given(st.floats(10, 35), st.floats(0.2, 0.99), st.floats(0.001, 0.2), st.sampled_from(coating_ids()))
def test_damper_air_never_makes_the_surface_rule_kinder(air, humidity, more, coating_id):
    coating = load_coating(coating_id)
    order = [Level.OK, Level.CHANGE, Level.STOP]
    drier, damper = (
        surface(typed(air, fraction, air - 1.0), coating, SHOP) for fraction in (humidity, min(humidity + more, 1.0))
    )
    assert order.index(damper.level) >= order.index(drier.level)


@pytest.mark.slow
@pytest.mark.parametrize("coating_id", coating_ids())
def test_no_remedy_cuts_ventilation_or_adds_what_the_coating_forbids(coating_id):
    from advisor.say import finding_words  # noqa: PLC0415 - the sentences are read here only

    coating = load_coating(coating_id)
    for air in range(0, 42, 2):
        for percent in range(5, 101, 5):
            for rule in RULES:
                for way in rule(typed(float(air), percent / 100), coating, SHOP).remedies:
                    said = (finding_words.remedy_words(way, coating, SHOP) if way.kind != "read_again" else "").lower()
                    assert not any(
                        word in said for word in ("fan off", "shut", "close the", "smaller opening", "slower fan")
                    )
                    assert "retarder" not in said or coating.retarders
                    if way.kind in ("warm_room", "warm_room_and_hold", "warm_room_and_pieces", "dry_air"):
                        assert "off, or proved fit for the spray zone" in said


@pytest.mark.parametrize("coating_id", coating_ids())
def test_a_measured_piece_at_and_beside_every_limit(coating_id):
    """The air's limits moved outwards by 2 K; a water-borne film also needs its MFFT."""
    coating = load_coating(coating_id)
    band = coating.air_temperature
    film = coating.numbers.get("minimum_film_forming_temperature")
    low, high, above = band.go_low.value - 2, band.go_high.value + 2, band.wait_above.value + 2
    below = max(band.wait_below.value - 2, film.value if film else -99.0)
    cases = [
        (low, Level.OK), (high, Level.OK), (high + 0.1, Level.CHANGE), (above, Level.CHANGE), (above + 0.1, Level.STOP),
        (below - 0.1, Level.STOP), (below, Level.OK if below == low else Level.CHANGE),
    ]  # fmt: skip
    for value, level in cases:
        assert piece_temperature(typed(22.0, 0.3, value), coating, SHOP).level is level, value


def test_a_piece_below_its_film_forming_temperature_is_no_go_in_good_dry_air():
    """22 °C and 35 % is far from the dew point, but a water-borne clear on a 10.5 °C piece never becomes a film."""
    finding = piece_temperature(typed(22.0, 0.35, 10.5), load_coating("waterborne-clear-2k"), SHOP)
    assert finding.level is Level.STOP
    assert finding.remedies[0].target == 16.0


def test_a_surface_sensor_that_failed_within_the_day_asks_for_a_look():
    """Its last word was that it does not know: the guess from the air is not enough for a plain GO."""
    broken = Measured(None, 0.0, 60.0, "bad", "missing")
    known = typed(22.0, 0.45)
    values = {**known.values, ("shop", "surface_temperature"): broken}
    assert piece_temperature(replace(known, values=values), LACQUER, SHOP).level is Level.CHANGE
    gone = {**known.values, ("shop", "surface_temperature"): replace(broken, age=90_000.0)}
    assert piece_temperature(replace(known, values=gone), LACQUER, SHOP).level is Level.OK


@pytest.mark.parametrize("coating_id", coating_ids())
def test_warm_damp_air_is_not_answered_with_more_water(coating_id):
    coating = load_coating(coating_id)
    finding = air_temperature(typed(29.0, coating.relative_humidity.go_high.value), coating, SHOP)
    from advisor.say import finding_words  # noqa: PLC0415 - the sentences are read here only

    said = finding_words.remedy(finding, coating, SHOP)
    assert said
    assert "dampen" not in said
    assert "static" not in said
