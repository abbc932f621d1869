"""One coating over another: the table with the numbers of the coat below, in a sentence or two; residues kept apart."""

import pytest

from advisor.bench.overcoat import overcoat, residues
from advisor.catalog.coatings import coating_ids, load_coating, overlay
from advisor.catalog.schedules import NO, OWN_WINDOW, PANEL, YES, overcoats
from advisor.say.craft.overcoat_words import goes_over, overcoat_records, residues_told, told
from advisor.shop.shop import US, Shop
from tests.support import every

SHOP = Shop()
PAIRS = sorted(overcoats())
FAMILIES = [load_coating(name) for name in coating_ids()]
HOUR, DAY = 3600.0, 86_400.0


def words(under, over, shop=SHOP):
    below, above = load_coating(under), load_coating(over)
    return told(overcoat(below, above), below, above, shop)


@every("under, over", PAIRS)
def test_the_time_is_the_one_the_coat_below_has(under, over):
    below = load_coating(under)
    found, row = overcoat(below, load_coating(over)), overcoats()[under, over]
    assert (found.standing, found.after, found.scuff, found.between) == (
        row.standing, row.after, row.scuff, row.between,
    )  # fmt: skip
    assert (found.reason, found.tag, found.source) == (row.reason, row.tag, row.source)
    assert found.after_seconds == (None if row.after is None else below.numbers[row.after].value)
    assert (found.window_seconds is None) == (row.scuff != "after window")


@every("under, over", PAIRS)
def test_what_is_said_is_short_and_a_yes_ends_with_a_panel(under, over):
    said = words(under, over)
    standing = overcoats()[under, over].standing
    assert len(said) <= 320
    assert said.endswith(".")
    assert said.endswith("try a panel.") == (standing == YES)
    assert ("a panel first" in said) == (standing == PANEL or (standing == NO and "way round" in said))
    assert (": no." in said) == (standing == NO)


@pytest.mark.parametrize(
    ("under", "over", "said"),
    [
        (
            "waterborne-colour", "solvent-polyurethane-2k",
            "Polyurethane, solvent two-pack over Water-borne colour coat: yes, after its wait before a two-pack (24 h"
            " at 23 °C), scuff-sanded. Strong solvent lifts it sooner; first coat thin, and no scuff through the"
            " colour; try a panel.",
        ),
        (
            "nitrocellulose-lacquer", "solvent-polyurethane-2k",
            "Polyurethane, solvent two-pack over Nitrocellulose lacquer: no. Soft lacquer below a hard coat cracks,"
            " and strong solvent lifts it.",
        ),
        (
            "precatalysed-lacquer", "precatalysed-lacquer",
            "Precatalysed lacquer over itself: from its recoat time on (60 min at 23 °C), no scuff up to 24 h,"
            " scuff-sanded later. Later it must be fully cured first, or it wrinkles.",
        ),
        (
            "oil-varnish", "nitrocellulose-lacquer",
            "Nitrocellulose lacquer over Oil varnish: no. Lacquer thinner lifts and wrinkles varnish, even an old one."
            " The way round: once it is fully cured (30 days at 23 °C), scuff-sanded, then dewaxed shellac, a panel"
            " first.",
        ),
    ],
)  # fmt: skip
def test_the_words(under, over, said):
    assert words(under, over) == said


def test_the_reference_temperature_is_said_in_the_units_of_the_shop():
    assert "at 73.4 °F" in words("shellac", "oil-varnish", Shop(units=US))


@pytest.mark.parametrize("under", ["solvent-polyurethane-2k", "waterborne-clear-2k"])
def test_scuffing_a_two_pack_is_never_said_without_its_dust(under):
    for over in coating_ids():
        assert "carries isocyanate" in words(under, over)
    assert "isocyanate" not in words("shellac", under)


def test_a_sheet_with_a_longer_time_makes_a_longer_wait():
    sheet = overlay({"based_on": "shellac", "id": "slow", "numbers": {"sand_high": "5 h"}}, "slow.toml")
    varnish = load_coating("oil-varnish")
    assert overcoat(sheet, varnish).after_seconds == 5 * HOUR > overcoat(FAMILIES[4], varnish).after_seconds


def test_a_sheet_that_says_how_long_before_a_two_pack_is_taken_at_its_word():
    numbers = {"before_two_pack_clear": "36 h"}
    sealer = overlay({"based_on": "waterborne-sealer", "id": "sealer", "numbers": numbers}, "sealer.toml")
    for over in ("solvent-polyurethane-2k", "waterborne-clear-2k"):
        assert overcoat(sealer, load_coating(over)).after_seconds == 36 * HOUR
    assert overcoat(sealer, load_coating("waterborne-clear-1k")).after_seconds == 2 * HOUR
    assert (
        overcoat(load_coating("waterborne-sealer"), load_coating("solvent-polyurethane-2k")).after_seconds == 21 * DAY
    )


def test_such_a_sheet_makes_no_yes_of_a_no():
    numbers = {"before_two_pack_clear": "24 h"}
    lacquer = overlay({"based_on": "nitrocellulose-lacquer", "id": "lacquer", "numbers": numbers}, "lacquer.toml")
    found = overcoat(lacquer, load_coating("solvent-polyurethane-2k"))
    assert (found.standing, found.after_seconds) == (NO, None)


def test_two_makes_of_one_kind_want_a_panel():
    sheet = overlay({"based_on": "precatalysed-lacquer", "id": "ours"}, "ours.toml")
    family = load_coating("precatalysed-lacquer")
    assert overcoat(sheet, sheet).standing == OWN_WINDOW
    for under, over in ((sheet, family), (family, sheet)):
        found = overcoat(under, over)
        assert found.standing == PANEL
        assert found.reason.startswith("one kind, two makes; ")


@pytest.mark.parametrize("over", FAMILIES, ids=lambda over: over.id)
def test_the_lines_name_every_coat_below_and_few_are_needed(over):
    lines = goes_over(over, FAMILIES, SHOP)
    text = "\n".join(lines)
    assert all(name in text for name in coating_ids())
    assert len(lines) <= 16
    assert not any("- " in line[2:] for line in lines)
    assert "data sheets of both decide" in lines[0]


def test_a_record_holds_the_numbers_and_the_words():
    records = list(overcoat_records(load_coating("shellac"), FAMILIES, SHOP))
    assert [record["under"] for record in records] == list(coating_ids())
    own = next(record for record in records if record["under"] == "shellac")
    assert (own["standing"], own["after"], own["after_seconds"], own["between"]) == (
        "own window", "recoat_from_high", 3600.0, None,
    )  # fmt: skip
    assert own["words"] == words("shellac", "shellac")


NITRO, OIL, PRECAT = "nitrocellulose-lacquer", "oil-varnish", "precatalysed-lacquer"
PU, CLEAR_2K = "solvent-polyurethane-2k", "waterborne-clear-2k"


@every(
    "before, now, danger",
    [
        (NITRO, OIL, True), (NITRO, PRECAT, True), (NITRO, PU, True), (NITRO, CLEAR_2K, True),
        (PRECAT, PU, True), (PRECAT, OIL, True), (OIL, PU, True), (OIL, "shellac", True),
        (OIL, "waterborne-colour", True), (NITRO, "shellac", False), (NITRO, "acrylic-lacquer", False),
        ("shellac", "acrylic-lacquer", False), ("acrylic-lacquer", PU, False), ("shellac", PRECAT, False),
        (NITRO, "waterborne-sealer", False), (NITRO, NITRO, False), (OIL, OIL, False), (PRECAT, PRECAT, False),
    ],
)  # fmt: skip
def test_residues_that_can_catch_fire_together(before, now, danger):
    """Common practice, no source; nitrocellulose and drying oils in one booth: 29 CFR 1910.107(g), from memory."""
    assert residues(load_coating(before), load_coating(now)) is danger


@every("before, now", PAIRS)
def test_which_came_first_makes_no_difference(before, now):
    assert residues(load_coating(before), load_coating(now)) == residues(load_coating(now), load_coating(before))


def test_the_caution_says_what_to_do_and_who_decides():
    said = residues_told(load_coating(NITRO), FAMILIES)
    for part in (OIL, PRECAT, PU, CLEAR_2K, "Change the filter", "another bin", "under water", "Local codes decide"):
        assert part in said
    assert "shellac" not in said
    assert "any other kind" in residues_told(load_coating(OIL), FAMILIES)
    assert residues_told(load_coating("shellac"), [load_coating("acrylic-lacquer")]) == ""
