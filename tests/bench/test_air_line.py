"""Tank and line: the filling of practice, where water drops, what mends it, and eight lines of it."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.bench.air_line import COOL_LINE, DRAIN, DRYER, LET_DOWN, Compressor, IntakeAir, air_line
from advisor.cli.paper import wrapped
from advisor.physics.air import compressed_air
from advisor.say.craft.air_line_words import _SHORT_CAUTION, CAUTIONS, TURBINE_CAUTIONS, told, told_of_turbine
from advisor.shop.shop import US, Shop
from tests.support import SHOP, reference_rows

BAR, PSI, GALLON, LITRE_A_MINUTE = 1e5, 6894.757293168, 3.785411784e-3, 1e-3 / 60.0
SMALL = Compressor(0.038, 8 * BAR, 2.5 * BAR, 250 * LITRE_A_MINUTE)
DAMP = IntakeAir(22.0, 0.60)
FACTS = {row["fact"]: (float(row["low"]), float(row["high"])) for row in reference_rows("compressor_practice.csv")}


def detail_gun(gun_air: float) -> Compressor:
    """10 US gal at 120 psi; the gun wants 25 psi, and hose and regulator 15 more. gun_air [l/min]."""
    return Compressor(10 * GALLON, 120 * PSI, 40 * PSI, gun_air * LITRE_A_MINUTE)


@st.composite
def compressors(draw):
    full = draw(st.floats(1 * BAR, 16 * BAR))
    return Compressor(
        draw(st.floats(0.001, 1.0)), full, full * draw(st.floats(0.0, 0.99)), draw(st.floats(2e-5, 0.05)),
        draw(st.one_of(st.none(), st.floats(2e-5, 0.05))),
    )  # fmt: skip


airs = st.builds(
    IntakeAir, st.floats(-5.0, 35.0), st.floats(0.05, 1.0), st.one_of(st.none(), st.floats(-5.0, 45.0)),
    st.one_of(st.none(), st.floats(-70.0, 45.0)),
)  # fmt: skip


def test_a_ten_gallon_filling_is_two_coats_or_a_little_more_on_a_small_piece():
    """Common practice, no source: 2 to 2.5 coats. A detail gun in the middle of its range, cooled and not, spans it."""
    low, high = FACTS["coats on one small piece per filling of a 10 US gal compressor tank"]
    gun, coat = (sum(FACTS[fact]) / 2 for fact in ("air a detail gun takes", "trigger for one coat on a small piece"))
    answer = air_line(detail_gun(gun), None, SHOP)
    assert low <= answer.trigger_least / coat <= high <= answer.trigger / coat
    for thirsty, slow in ((100, 30), (150, 40)):
        assert 1.4 < air_line(detail_gun(thirsty), None, SHOP).trigger_least / slow < 3.2


def test_pauses_are_those_worked_out_by_hand():
    """38 l from 8 to 2.5 bar is 206.3 l of free air: 49.5 s at 250 l/min, 123.8 with 150 running, 82.5 to refill."""
    alone = air_line(SMALL, None, SHOP)
    free = 38 * 5.5 / 1.01325
    assert alone.trigger == pytest.approx(free / 250 * 60)
    assert alone.trigger_least == pytest.approx(0.75 * alone.trigger)
    assert alone.refill is None
    helped = air_line(Compressor(0.038, 8 * BAR, 2.5 * BAR, 250 * LITRE_A_MINUTE, 150 * LITRE_A_MINUTE), None, SHOP)
    assert helped.trigger == pytest.approx(free / 100 * 60)
    assert helped.refill == pytest.approx(free / 150 * 60)


@pytest.mark.parametrize(("delivers", "keeps_up"), [(249.0, False), (250.0, True), (251.0, True)])
def test_a_compressor_that_delivers_what_the_gun_takes_keeps_up(delivers, keeps_up):
    answer = air_line(
        Compressor(0.038, 8 * BAR, 4 * BAR, 250 * LITRE_A_MINUTE, delivers * LITRE_A_MINUTE), DAMP, SHOP
    )  # fmt: skip
    assert answer.keeps_up is keeps_up
    assert (answer.trigger is None) is (answer.trigger_least is None) is (answer.refill is None) is keeps_up


def test_high_up_a_tank_holds_more_of_the_thin_air():
    assert air_line(SMALL, None, Shop(altitude=1500.0)).trigger > 1.15 * air_line(SMALL, None, SHOP).trigger


def test_without_the_air_drawn_in_nothing_is_said_of_water():
    answer = air_line(SMALL, None, SHOP)
    assert answer.water is None
    assert answer.to_do == (DRAIN,)
    assert any("cannot tell" in line for line in told(answer, SMALL, None, SHOP))


@pytest.mark.parametrize(("line", "spits"), [(31.9, True), (32.0, False), (32.1, False), (18.0, True)])
def test_a_line_colder_than_the_tank_spits(line, spits):
    """22 °C drawn in: the tank is taken as 32 °C, and what would drop above that has dropped there."""
    water = air_line(SMALL, IntakeAir(22.0, 0.60, line), SHOP).water
    assert water.tank_temperature == 32.0
    assert water.line_dew_point == 32.0
    assert water.spits is spits


@pytest.mark.parametrize(("dryer", "spits"), [(17.9, False), (18.0, False), (18.1, True), (40.0, True)])
def test_a_dryer_under_the_line_s_temperature_ends_it(dryer, spits):
    water = air_line(SMALL, IntakeAir(22.0, 0.60, 18.0, dryer), SHOP).water
    assert water.spits is spits
    assert (water.in_line > 0.0) is spits


def test_air_as_dry_as_frost_drops_nothing():
    answer = air_line(SMALL, IntakeAir(22.0, 0.05), SHOP)
    assert (answer.water.in_tank, answer.water.in_line, answer.water.spits) == (0.0, 0.0, False)
    assert "none drops out" in " ".join(told(answer, SMALL, IntakeAir(22.0, 0.05), SHOP))


@given(compressors(), airs)
@settings(deadline=None)
def test_no_water_comes_from_nowhere_and_spitting_drops_it(compressor, air):
    water = air_line(compressor, air, SHOP).water
    assert 0.0 <= water.in_tank + water.in_line <= water.entering
    assert (water.in_line > 1e-12) <= water.spits
    assert water.line_dew_point <= min(water.pressure_dew_point, water.tank_temperature)
    damper = air_line(compressor, IntakeAir(air.temperature, 1.0, air.line, air.dryer), SHOP).water
    assert damper.entering >= water.entering
    assert damper.spits >= water.spits


@given(compressors(), airs)
@settings(deadline=None)
def test_what_is_to_be_done_ends_the_spitting(compressor, air):
    """Each way judged anew; and none is said where there is nothing to mend."""
    answer = air_line(compressor, air, SHOP)
    water = answer.water
    assert answer.to_do[0] == DRAIN
    assert (COOL_LINE in answer.to_do) is (DRYER in answer.to_do) is water.spits
    dried = IntakeAir(air.temperature, air.relative_humidity, air.line, water.line_temperature - 0.1)
    assert not air_line(compressor, dried, SHOP).water.spits
    if LET_DOWN in answer.to_do:
        assert compressor.least < water.dry_below <= compressor.full
        outside = compressed_air.atmospheric_dew_point(water.line_dew_point, compressor.full)
        saturated = compressed_air.atmospheric_dew_point(water.line_temperature, water.dry_below)
        assert outside == pytest.approx(saturated, abs=1e-4)


def test_letting_down_at_the_tank_is_said_only_where_the_gun_does_not_starve():
    """22 °C line, 32 °C tank: dry up to 4 bar by hand, (2645 / 4759 Pa) of 9.01 bar absolute."""
    dry = air_line(SMALL, DAMP, SHOP).water.dry_below
    assert dry == pytest.approx(2645 / 4759 * 9.01325 * BAR - 1.01325 * BAR, rel=2e-3)
    for least, said in ((dry - 1.0, True), (dry, False), (dry + 1.0, False)):
        to_do = air_line(Compressor(0.038, 8 * BAR, least, 250 * LITRE_A_MINUTE), DAMP, SHOP).to_do
        assert (LET_DOWN in to_do) is said


@given(compressors(), st.one_of(st.none(), airs), st.sampled_from([SHOP, Shop(units=US, units_stated=True)]))
@settings(deadline=None)
def test_it_is_said_in_eight_lines_with_the_drain_and_the_caution(compressor, air, shop):
    lines = told(air_line(compressor, air, shop), compressor, air, shop)
    text = "\n".join(map(wrapped, lines))
    assert len(text.splitlines()) <= 8
    assert all(len(line) <= 80 for line in text.splitlines())
    assert "Drain the tank" in text
    assert lines[-1] == _SHORT_CAUTION
    assert not any(word in text.lower() for word in ("nan", "inf ", "fan", "close the", "window"))


def test_a_plain_case_says_all_of_it_within_the_eight_lines():
    """10 US gal, 9 cfm against 5 cfm, 72 °F 60 %: minutes, refilling, water, what to do, caution.

    By hand from vapour at saturation: 11.8 g/m3 in, 3.9 left at 32.2 °C, 2.1 at 22.2, of 15.3 m3 an hour.
    """
    compressor = Compressor(10 * GALLON, 120 * PSI, 40 * PSI, 255 * LITRE_A_MINUTE, 142 * LITRE_A_MINUTE)
    air = IntakeAir(22.2, 0.60)
    assert told(air_line(compressor, air, SHOP), compressor, air, SHOP) == [
        "Tank 37.9 l, 8.3 to 2.8 bar, gun 255 l/min: trigger 1 min 49 s, cooled 82 s.",
        "Then 87 s at rest to refill at 142 l/min; long passes on a full tank.",
        "Water will spit: line 22.2 °C, tank taken as 32.2 °C; water drops on the way.",
        "An hour of trigger: 180 ml of water in, 122 ml left in tank, 26 ml in line.",
        "Drain the tank before and after spraying. Longer line to cool the air, water trap at its far end; or a dryer,"
        " dew point under 22.2 °C.",
        "Or regulator at the tank: up to 4.1 bar in the line it stays dry.",
        _SHORT_CAUTION,
    ]


def test_the_cautions_name_vessel_and_breathing():
    said = " ".join(CAUTIONS)
    assert "manual" in said
    assert "inspection rules" in said
    assert "not breathing air" in said
    assert "not breathing air" in " ".join(TURBINE_CAUTIONS)


def test_a_turbine_brings_the_shop_s_humidity():
    """20 °C 60 %: dew point 12.0 °C (ASHRAE's equation)."""
    text = " ".join(told_of_turbine(IntakeAir(20.0, 0.60), SHOP))
    assert "no water to spit" in text
    assert "10 °C warmer: the shop's humidity comes with it" in text
    assert "dew point of 12 °C" in text
