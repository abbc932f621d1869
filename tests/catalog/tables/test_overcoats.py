"""The table of what goes over what: every pair once, each with a reason, and nothing old finishers warn of let through.

The trade facts are common practice, no source: strong solvents lift oil varnish and whatever is not cured; a hard coat
over a soft one cracks; wax in shellac lets water-borne and two-pack go; lacquer and shellac burn into themselves.
"""

import pytest

from advisor.catalog.coatings import coating_ids, load_coating, number_kinds
from advisor.catalog.schedules import (
    NO,
    NO_SCUFF,
    OWN_WINDOW,
    PANEL,
    SCUFF_AFTER_WINDOW,
    STAGES,
    STANDINGS,
    YES,
    overcoats,
)
from advisor.catalog.sourced import table_rows
from advisor.say.phrases import AFTER_WORDS, GOES_OVER_HEADS
from tests.support import every

PAIRS = sorted(overcoats())
LACQUERS = ("nitrocellulose-lacquer", "acrylic-lacquer")
HOT = (*LACQUERS, "precatalysed-lacquer", "solvent-polyurethane-2k")  # sprayed in esters, ketones, aromatics
WATER_BORNE = tuple(name for name in coating_ids() if load_coating(name).carrier == "water")
REACTING = tuple(name for name in coating_ids() if load_coating(name).hardens_by in ("acid", "two-pack"))


def test_all_hundred_pairs_are_there_once():
    assert set(PAIRS) == {(under, over) for under in coating_ids() for over in coating_ids()}
    written = [
        (under, over)
        for row in table_rows("overcoats.csv")
        for under in row["under"].split()
        for over in ([under] if row["over"] == "same" else row["over"].split())
    ]
    assert len(written) == len(set(written)) == 100


@every("under, over", PAIRS)
def test_a_pair_has_a_reason_a_source_and_a_stage_the_coat_below_has(under, over):
    pair = overcoats()[under, over]
    assert (pair.under, pair.over) == (under, over)
    assert pair.reason
    assert len(pair.reason) <= 90
    assert (pair.tag, pair.source) in (
        ("common practice", "no source"), ("from memory", "low confidence; the sheets decide"),
    )  # fmt: skip
    assert (pair.after is None) == (pair.standing == NO and not pair.between)
    if pair.after is not None:
        assert pair.after in load_coating(under).numbers


def test_every_stage_is_a_time_and_has_words_and_every_standing_a_head():
    assert set(AFTER_WORDS) == set(STAGES)
    assert {pair.after for pair in overcoats().values()} - {None} == set(STAGES)
    assert all(number_kinds()[key].dimension == "time" for key in STAGES)
    assert tuple(GOES_OVER_HEADS) == STANDINGS


@pytest.mark.parametrize("name", coating_ids())
def test_its_own_window_needs_scuffing_only_where_it_does_not_burn_in(name):
    own, coating = overcoats()[name, name], load_coating(name)
    assert own.standing == OWN_WINDOW
    assert own.after == "recoat_from_high"
    assert own.scuff == (NO_SCUFF if coating.burns_in else SCUFF_AFTER_WINDOW)


@every("under, over", PAIRS)
def test_only_what_burns_in_or_stays_in_its_window_goes_unscuffed(under, over):
    pair, below = overcoats()[under, over], load_coating(under)
    if pair.scuff == NO_SCUFF:
        assert pair.after is None or (below.burns_in and load_coating(over).burns_in)
    if pair.scuff == SCUFF_AFTER_WINDOW:
        assert below.numbers["recoat_from_high"].value <= below.numbers["recoat_until"].value
        assert pair.after == "recoat_from_high"


@pytest.mark.parametrize("over", HOT)
def test_strong_solvent_never_goes_straight_over_oil_varnish(over):
    assert overcoats()["oil-varnish", over].standing == NO


@pytest.mark.parametrize("under", LACQUERS)
def test_solvent_two_pack_never_goes_over_lacquer(under):
    assert overcoats()[under, "solvent-polyurethane-2k"].standing == NO
    assert overcoats()[under, "solvent-polyurethane-2k"].between == ""


@every("under", sorted({*WATER_BORNE, *REACTING}))
@every("over", HOT)
def test_strong_solvent_waits_for_full_cure_of_water_borne_and_catalysed_coats(under, over):
    """But in its own window, and for a colour coat below a two-pack, for which the sheet says how long."""
    pair = overcoats()[under, over]
    if pair.standing != OWN_WINDOW:
        colour = (under, over) == ("waterborne-colour", "solvent-polyurethane-2k")
        assert pair.after == ("before_two_pack_clear" if colour else "full_cure_high")
        assert pair.standing == (YES if colour else PANEL)


@pytest.mark.parametrize("over", sorted({*WATER_BORNE, *REACTING, "oil-varnish"}))
def test_shellac_below_another_kind_is_dewaxed(over):
    assert "dewaxed" in overcoats()["shellac", over].reason


@pytest.mark.parametrize("under", LACQUERS)
@pytest.mark.parametrize("over", WATER_BORNE)
def test_water_borne_goes_over_lacquer_only_scuffed_and_once_the_solvent_has_gone(under, over):
    pair = overcoats()[under, over]
    assert (pair.standing, pair.after, pair.scuff) == (PANEL, "full_cure_high", "yes")


@pytest.mark.parametrize("over", ["waterborne-clear-2k", "solvent-polyurethane-2k"])
def test_a_water_borne_colour_waits_a_day_for_a_two_pack_clear(over):
    assert overcoats()["waterborne-colour", over].after == "before_two_pack_clear"
    assert load_coating("waterborne-colour").numbers["before_two_pack_clear"].value == 24 * 3600


@every("under, over", [pair for pair in PAIRS if overcoats()[pair].between])
def test_what_may_lie_between_goes_over_the_one_and_below_the_other(under, over):
    assert overcoats()[under, over].between == "dewaxed shellac"
    assert overcoats()[under, "shellac"].standing != NO
    assert overcoats()["shellac", over].standing != NO


def test_spirit_waits_until_no_hardener_is_left_to_eat():
    for name in ("waterborne-clear-2k", "solvent-polyurethane-2k"):
        assert overcoats()[name, "shellac"].after == overcoats()["shellac", name].after == "full_cure_high"
