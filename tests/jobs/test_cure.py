"""The cure clock's stages and flags, from a temperature record since the last coat."""

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.catalog.coatings import coating_ids, load_coating
from advisor.jobs.cure import BRIDGED, GAP, NEVER_HARD, NO_CREDIT, SCUFF, STAGES, STANDS_STILL, cure
from advisor.series.trace import NOTHING
from tests.jobs.cure_cases import HOUR, LACQUERS, REACTS, SHOP, SPRAYED, after, at, kinds, log, state
from tests.outlook.columns import joined
from tests.support import every


@every("name", coating_ids())
@every("hours", [0.0, 0.5, 20.0, 2000.0])
def test_at_the_reference_temperature_the_sheets_times_come_out_exactly(name, hours):
    coating = load_coating(name)
    found = state(name, hours, (0, 23), (max(hours, 0.1), 23))
    for stage in found.stages:
        key = "recoat_until" if stage.stage == SCUFF else STAGES[stage.stage]
        assert stage.at == SPRAYED + timedelta(seconds=coating.numbers[key].value)
        assert stage.reached is (stage.at <= found.as_of)
    assert found.flags == ()
    assert not found.cannot_tell


def test_a_cold_night_delays_cure_by_the_hours_computed_by_hand():
    """Two-pack, sand at 16 h. 23 °C for 4 h, down to 10 °C in 1 h, 10 °C for 8 h, up in 1 h, then 23 °C.

    By hand: speed at 10 °C exp(-55000/8.314 (1/283.15 - 1/296.15)) = 0.3586, so 8 h there are 2.869 h. A ramp by
    Simpson's rule with 16.5 °C (0.6039): (1 + 4 x 0.6039 + 0.3586)/6 = 0.6290 h, twice 1.258 h. Of the 10 h between,
    4.127 h count: 5.873 h late, and sanding comes at 21.873 h.
    """
    found = state("solvent-polyurethane-2k", 14, (0, 23), (4, 23), (5, 10), (13, 10), (14, 23))
    assert found.collected / 3600 == pytest.approx(14 - 5.873, abs=0.005)
    assert after(found, "sand") == pytest.approx(21.873, abs=0.005)
    assert after(found, "full_cure") == pytest.approx(7 * 24 + 5.873, abs=0.005)
    assert next(stage.reached for stage in found.stages if stage.stage == "handle")
    assert after(found, "handle") == pytest.approx(5 + (6 - 4.629) / 0.3586, abs=0.005)


def test_a_night_at_12_degrees_moves_the_forecast_that_was_made_before_it():
    before = state("solvent-polyurethane-2k", 4, (0, 23), (4, 23))
    morning = state("solvent-polyurethane-2k", 14, (0, 23), (4, 23), (4.1, 12), (13.9, 12), (14, 23))
    assert after(before, "sand") == pytest.approx(16)
    assert after(morning, "sand") > 20


@given(
    st.sampled_from(coating_ids()),
    st.lists(st.tuples(st.floats(0.1, 30), st.floats(-20, 45)), min_size=1, max_size=10),
    st.floats(0, 1.2),
    st.one_of(st.none(), st.integers(1, 20)),
)
@settings(deadline=None)
def test_the_order_of_the_clock_always_holds(name, pairs, share, coats):
    points = [(0.0, 20.0)]
    for step, celsius in pairs:
        points.append((points[-1][0] + step, celsius))
    found = state(name, points[-1][0] * share, *points, coats=coats)
    times = [stage.at_latest for stage in found.stages if stage.at_latest is not None]
    assert times == sorted(times)
    nevers = [stage.at_latest is None for stage in found.stages]
    assert nevers == sorted(nevers)
    by_need = sorted((stage for stage in found.stages if stage.stage != SCUFF), key=lambda stage: stage.needed)
    for early, late in pairwise(by_need):
        assert early.at_latest is None or late.at_latest is None or early.at_latest <= late.at_latest
        assert not (late.reached and not early.reached)
    least = 1.0 if found.coating.hardens_by == "evaporation" else 0.7
    for stage in by_need:
        if stage.at is not None:
            assert (stage.at - SPRAYED).total_seconds() >= least * stage.from_sheet - 0.01
            assert (stage.at <= found.as_of) is bool(stage.reached)


@given(st.sampled_from(coating_ids()), st.floats(15.5, 35), st.floats(0.1, 900), st.floats(0.1, 900))
@settings(deadline=None)
def test_a_forecast_stays_what_it_was_while_the_temperature_stays(name, celsius, early, late):
    """To two milliseconds: what is reached is found on the record, what is to come from its end."""
    one, other = (state(name, hours, (0, celsius), (hours, celsius)) for hours in (early, late))
    for first, second in zip(
        sorted(one.stages, key=lambda each: each.stage), sorted(other.stages, key=lambda each: each.stage), strict=True
    ):
        assert first.at is not None
        assert second.at is not None
        assert abs((first.at - second.at).total_seconds()) < 0.01


@given(st.sampled_from(coating_ids()), st.floats(-10, 38), st.floats(0.5, 5))
@settings(deadline=None)
def test_warmer_is_never_later(name, celsius, warmer):
    cool, warm = (state(name, 5, (0, degrees), (5, degrees)) for degrees in (celsius, celsius + warmer))
    for stage in cool.stages:
        sooner = at(warm, stage.stage)
        if stage.at is not None and stage.stage != SCUFF:
            assert sooner is not None
            assert sooner <= stage.at + timedelta(milliseconds=2)


def test_warmth_hastens_what_reacts_down_to_seven_tenths_and_lacquer_not_at_all():
    for name in REACTS:
        found = state(name, 1, (0, 40), (1, 40))
        assert after(found, "full_cure") == pytest.approx(0.7 * found.coating.numbers["full_cure_high"].value / 3600)
    for name in LACQUERS:
        assert after(state(name, 1, (0, 40), (1, 40)), "full_cure") == pytest.approx(
            load_coating(name).numbers["full_cure_high"].value / 3600
        )


def test_a_cold_lacquer_goes_by_its_solvents():
    """13 K under the reference: exp(45000/8.314 (1/283.15 - 1/296.15)) = 2.314 times as long, by hand."""
    found = state("nitrocellulose-lacquer", 1, (0, 10), (1, 10))
    assert after(found, "sand_flat") == pytest.approx(16 * 2.314, rel=0.001)


def test_many_coats_hold_their_solvent_as_the_square_of_the_thickness():
    usual, more = (state("nitrocellulose-lacquer", 1, (0, 23), (1, 23), coats=coats) for coats in (3, 6))
    assert after(more, "rub_out") == pytest.approx(4 * after(usual, "rub_out"))
    assert after(more, "recoat") == after(usual, "recoat")
    assert state("nitrocellulose-lacquer", 1, (0, 23), (1, 23), coats=1).thickness_factor == 1.0
    assert state("oil-varnish", 1, (0, 23), (1, 23), coats=9).thickness_factor == 1.0


@every("name", [name for name in coating_ids() if "never_fully_hard_below" in load_coating(name).numbers])
@every("over, flagged", [(0.0, False), (0.01, False), (-0.01, True)])
def test_too_cold_to_get_hard_at_just_under_and_over(name, over, flagged):
    floor = load_coating(name).numbers["never_fully_hard_below"].value
    found = state(name, 6, (0, floor + 3), (2, floor + 3), (2.5, floor + over), (3, floor + 3), (6, floor + 3))
    assert (NEVER_HARD in kinds(found)) is flagged
    if flagged:
        (flag,) = (each for each in found.flags if each.kind == NEVER_HARD)
        assert flag.since is not None
        assert (flag.since - SPRAYED) / HOUR == pytest.approx(2.5, abs=0.01)
        assert flag.lowest == pytest.approx(floor - 0.01)
        assert 0 < flag.seconds < 60


@pytest.mark.parametrize(("hour", "flagged"), [(11.9, True), (12.1, False)])
def test_the_first_hours_are_those_of_the_sheet(hour, flagged):
    """Precatalysed lacquer must not fall below 18 °C in its first 12 h."""
    found = state("precatalysed-lacquer", 20, (0, 21), (hour, 21), (hour + 0.01, 16), (20, 16))
    assert (NEVER_HARD in kinds(found)) is flagged


def test_without_such_hours_it_holds_while_the_coat_cures_and_no_longer():
    """Solvent two-pack, cured after 7 days at 23 °C."""
    for day, flagged in ((6, True), (8, False)):
        found = state("solvent-polyurethane-2k", 24 * 9, (0, 23), (24 * day, 23), (24 * day + 1, 9), (24 * 9, 9))
        assert (NEVER_HARD in kinds(found)) is flagged


@every("name", [name for name in coating_ids() if "no_cure_below" in load_coating(name).numbers])
@every("over, flagged", [(0.0, False), (0.01, False), (-0.01, True)])
def test_no_credit_at_just_under_and_over_the_floor(name, over, flagged):
    floor = load_coating(name).numbers["no_cure_below"].value
    found = state(name, 5, (0, floor + over), (5, floor + over))
    assert (NO_CREDIT in kinds(found)) is flagged
    assert (STANDS_STILL in kinds(found)) is flagged
    assert (found.collected == 0) is flagged
    for stage in found.stages:
        if stage.stage != SCUFF:
            assert (stage.at is None) is flagged
            assert not (flagged and stage.reached)


@pytest.mark.parametrize(("hours", "bridged"), [(1.99, True), (2.0, True), (2.01, False)])
@pytest.mark.parametrize("where", ["head", "middle", "tail"])
def test_a_gap_is_bridged_for_two_hours_and_said(hours, bridged, where):
    early, late = log((0, 20), (5, 20)), log((5 + hours, 20), (10, 20))
    parts = {
        "head": (log((hours, 20), (10, 20)),),
        "middle": (early, late),
        "tail": (log((0, 20), (10 - hours, 20)),),
    }[where]
    found = cure(load_coating("solvent-polyurethane-2k"), joined(parts), SPRAYED, SPRAYED + 10 * HOUR, SHOP)
    assert kinds(found) == ({BRIDGED} if bridged else {GAP})
    whole = state("solvent-polyurethane-2k", 10, (0, 20), (10, 20))
    assert found.collected == pytest.approx(whole.collected * (1.0 if bridged else (10 - hours) / 10), rel=1e-6)
    if bridged:
        assert after(found, "sand") == pytest.approx(after(whole, "sand"))
    else:
        assert at(found, "sand") is None
        (flag,) = found.flags
        assert flag.seconds == pytest.approx(hours * 3600, abs=0.01)
    assert found.cannot_tell is (not bridged and where == "tail")


def test_what_a_gap_leaves_open_is_unknown_and_not_guessed():
    """6 h of 20 °C, 8 h of nothing, 1 h of 20 °C: sand at 16 h may be or not; full cure is surely not."""
    early, late = log((0, 20), (6, 20)), log((14, 20), (15, 20))
    record = joined([early, late])
    faults = tuple(((SPRAYED + hours * HOUR).timestamp(), mark, None) for hours, mark in ((7, "stuck"), (3, "step")))
    record = replace(record, faults=faults)
    found = cure(load_coating("solvent-polyurethane-2k"), record, SPRAYED, SPRAYED + 15 * HOUR, SHOP)
    reached = {stage.stage: stage.reached for stage in found.stages}
    assert reached["recoat"] is True
    assert reached["sand"] is None
    assert reached["full_cure"] is False
    assert found.cannot_tell
    (gap,) = found.flags
    assert (gap.reason, gap.count, gap.seconds) == ("stuck", 1, 8 * 3600)
    latest = next(stage.at_latest for stage in found.stages if stage.stage == "sand")
    whole = state("solvent-polyurethane-2k", 15, (0, 20), (15, 20))
    assert latest is not None
    assert latest > at(whole, "sand")


def test_without_any_reading_nothing_is_told_but_what_cannot_be_yet():
    found = cure(load_coating("shellac"), NOTHING, SPRAYED, SPRAYED + 2 * HOUR, SHOP)
    assert found.cannot_tell
    assert {stage.reached for stage in found.stages} == {None, False}
    assert found.present is None


def test_readings_from_before_the_coat_only_tell_where_it_began():
    found = cure(load_coating("shellac"), log((-5, 10), (-1, 10), (1, 30), (3, 30)), SPRAYED, SPRAYED + 3 * HOUR, SHOP)
    same = state("shellac", 3, (0, 20), (1, 30), (3, 30))
    assert found.collected == pytest.approx(same.collected, rel=1e-9)


def test_a_recoat_window_closes_by_the_clock_sooner_in_warmth_and_never_later():
    sheet = load_coating("solvent-polyurethane-2k").numbers["recoat_until"].value / 3600
    for celsius, share in ((12, 1.0), (23, 1.0), (40, 0.7)):
        found = state("solvent-polyurethane-2k", 1, (0, celsius), (1, celsius))
        assert after(found, SCUFF) == pytest.approx(sheet * share)


@every("name", [name for name in coating_ids() if "recoat_until" in load_coating(name).numbers])
@every("celsius", [9.0, 12.0, 16.0, 23.0, 30.0])
def test_no_recoat_window_is_kept_open_past_the_sheets(name, celsius):
    """Where a coat may be recoated only later than that, it was, up to 1.75 times the sheet: then it wants scuffing."""
    if load_coating(name).burns_in:
        return
    sheet = load_coating(name).numbers["recoat_until"].value / 3600
    hours = 2 * sheet
    closes = after(state(name, hours, (0, celsius), (hours, celsius)), SCUFF)
    assert closes < sheet if celsius > 23 else closes == pytest.approx(sheet)


@pytest.mark.parametrize("name", LACQUERS)
def test_what_burns_in_wants_no_scuffing(name):
    assert SCUFF not in {stage.stage for stage in state(name, 1, (0, 20), (1, 20)).stages}


def test_a_gap_closes_the_window_as_if_it_had_been_warm():
    """24 h on the sheet; 10 h of nothing count 10/0.7 h, so it closes 4.29 h sooner."""
    early, late = log((0, 20), (2, 20)), log((12, 20), (15, 20))
    record = joined([early, late])
    found = cure(load_coating("solvent-polyurethane-2k"), record, SPRAYED, SPRAYED + 15 * HOUR, SHOP)
    assert after(found, SCUFF) == pytest.approx(24 - (10 / 0.7 - 10), abs=0.001)
