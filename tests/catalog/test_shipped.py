"""What the shipped tables hold: every number in its range and sourced, every word and reference known.

They are read without a check at each start; a bad cell is found here.
"""

import re
import tomllib

import pytest

from advisor.catalog.coatings import check_order, coating_ids, load_coating, number_kinds
from advisor.catalog.limits import default_limits
from advisor.catalog.mechanisms import (
    DIRECTIONS,
    EVERY,
    FOUND,
    GUNS,
    KINDS,
    ONE,
    OTHER,
    OWN,
    WHERE,
    ZERO,
    defects,
    mechanisms,
)
from advisor.catalog.schedules import (
    NO,
    OWN_WINDOW,
    SCUFF_AFTER_WINDOW,
    SCUFFS,
    STAGES,
    STANDINGS,
    STEPS,
    overcoats,
    schedules,
)
from advisor.catalog.solvents import RESINS, solvents
from advisor.catalog.sourced import FOLDER, table_rows
from advisor.units import listed_unit, unit_for
from tests.catalog import CARRIERS, HARDENING, TAGS

TABLES = sorted(path.name for path in FOLDER.glob("*.csv"))
ROLES = ("true", "latent", "diluent", "none")
GROUPS = ("identity", "thermal", "diffusion", "rer", "fire", "water", "roles")
SHOP_COLD, SHOP_WARM = -25.0, 60.0  # °C; every vapour pressure must hold from one to the other, water's from 0 °C
# Believable range of each number in its column's own unit
RANGES = {
    "solvents.csv": {
        "molar_mass_g_per_mol": (10, 400), "density_kg_per_m3": (500, 1700), "antoine_a": (10, 40),
        "antoine_b_k": (500, 10_000), "antoine_c_k": (-150, 0), "antoine_low_c": (-100, 60),
        "antoine_high_c": (0, 300), "vapour_pressure_fit_error": (0, 0.05),
        "heat_of_vaporisation_kj_per_mol": (15, 120), "heat_capacity_j_per_mol_k": (40, 800),
        "diffusion_volume": (5, 500), "rer_low": (1e-4, 20), "rer_high": (1e-4, 20), "lfl": (0.001, 0.2),
        "flash_point_c": (-60, 200), "water_solubility_mass_fraction": (1e-6, 1),
        "water_activity_coefficient": (0.1, 10_000),
    },
    "flammability.csv": {"value": (0.001, 0.2)},
    "substrates.csv": {
        "thickness_mm": (0.2, 200), "conductivity_w_per_mk": (0.02, 500), "density_kg_per_m3": (50, 12_000),
        "heat_capacity_j_per_kgk": (300, 5_000),
    },
    "walls.csv": {
        "thickness_mm": (1, 500), "conductivity_w_per_mk": (0.02, 5), "heat_capacity_kj_per_m3k": (20, 3_000),
    },
    "salts.csv": {"uncertainty_pct": (0.05, 2), "low_c": (0, 30), "high_c": (20, 60)},
}  # fmt: skip
MAY_BE_EMPTY = {"vapour_pressure_fit_error", "rer_low", "rer_high", "lfl", "flash_point_c"}


def every(rows):
    return pytest.mark.parametrize("row", rows, ids=lambda row: str(row.get("id") or next(iter(row.values()))))


@pytest.mark.parametrize("name", TABLES)
def test_every_row_of_every_table_has_all_its_cells_a_tag_and_a_source(name):
    rows = table_rows(name)
    assert rows
    for row in rows:
        assert None not in row, "a cell too many"
        assert None not in row.values(), "a cell too few"
        if "tag" in row:
            assert row["tag"] in TAGS, row
            assert row["source"].strip(), row


@pytest.mark.parametrize("name", RANGES)
def test_every_number_of_a_table_lies_where_it_can_be(name):
    for row in table_rows(name):
        for column, (low, high) in RANGES[name].items():
            assert (not row[column] and column in MAY_BE_EMPTY) or low <= float(row[column]) <= high, (row, column)


@pytest.mark.parametrize("name", ["limits.csv", "coating_numbers.csv", "salts.csv"])
def test_the_range_of_a_row_is_in_order(name):
    for row in table_rows(name):
        low, high = (float(row.get(edge) or row[f"{edge}_c"]) for edge in ("low", "high"))
        assert low < high, row


@pytest.mark.parametrize("key", default_limits())
def test_a_default_limit_lies_in_the_range_it_may_be_set_to(key):
    limit = default_limits()[key]
    assert limit.low <= limit.number.value <= limit.high


@pytest.mark.parametrize(("name", "column"), [
    ("solvents.csv", "id"), ("substrates.csv", "id"), ("walls.csv", "id"), ("salts.csv", "key"), ("marks.csv", "mark"),
    ("limits.csv", "key"), ("coating_numbers.csv", "key"), ("mechanisms.csv", "id"), ("defects.csv", "id"),
    ("quantities.csv", "kind"), ("deciding.csv", "rule"),
])  # fmt: skip
def test_no_key_stands_in_a_table_twice(name, column):
    keys = [row[column] for row in table_rows(name)]
    assert len(keys) == len(set(keys))


@every(table_rows("solvents.csv"))
def test_a_solvent_s_words_are_known(row):
    assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", row["id"])
    assert row["name"].strip()
    assert row["vapour_pressure_source"].strip()
    for group in GROUPS:
        assert row[f"{group}_tag"] in TAGS
        assert row[f"{group}_source"].strip()
    assert row["antoine_tag"] in TAGS
    assert {row["water_miscible"], row["hydroxyl"]} <= {"yes", "no"}
    assert {row[resin] for resin in RESINS} <= set(ROLES)
    assert re.fullmatch(r"[1-9][0-9]{1,6}-[0-9]{2}-[0-9]", row["cas"])
    *digits, check = (int(sign) for sign in row["cas"] if sign != "-")
    assert sum(place * digit for place, digit in enumerate(reversed(digits), start=1)) % 10 == check


@pytest.mark.parametrize("solvent", solvents().values(), ids=lambda solvent: solvent.id)
def test_the_cells_of_a_solvent_do_not_contradict_each_other(solvent):
    assert solvent.antoine_low <= (0.0 if solvent.id == "water" else SHOP_COLD)
    assert solvent.antoine_high >= SHOP_WARM
    assert solvent.antoine_low + 273.15 + solvent.antoine_c > 0
    assert (solvent.rer_low is None) == (solvent.rer_high is None)
    assert (solvent.lfl is None) == (solvent.flash_point is None)
    assert solvent.rer_low is None or solvent.rer_low <= solvent.rer_high
    assert (solvent.water_solubility == 1.0) == solvent.water_miscible


def plain(word):
    return "".join(sign for sign in word.casefold() if sign.isalnum())


@pytest.mark.parametrize("records", [solvents(), defects()], ids=["solvents", "defects"])
def test_no_word_stands_for_two(records):
    meant = {}
    for each in records.values():
        for word in {
            plain(word) for word in (each.id, each.name, *getattr(each, "also", getattr(each, "also_called", ())))
        }:
            assert word
            assert meant.setdefault(word, each.id) == each.id


@every(table_rows("flammability.csv"))
def test_a_flammable_limit_belongs_to_a_solvent(row):
    assert row["solvent"] in solvents()


@pytest.mark.parametrize("coating_id", coating_ids())
def test_a_family_s_file_holds_what_is_read_and_nothing_else(coating_id):
    found = tomllib.loads((FOLDER / "coatings" / f"{coating_id}.toml").read_text("utf-8"))
    texts, flags, lists = (
        ("id", "name", "carrier", "resin", "hardens_by"),
        ("flammable", "isocyanate", "gives_off_formaldehyde", "burns_in"),
        ("thinners", "retarders", "never_mix_with"),
    )
    assert set(found) - {"blends"} == {*texts, *flags, *lists, "numbers"}
    assert found["id"] == coating_id
    for names, kind in ((texts, str), (flags, bool), (lists, list)):
        assert all(type(found[name]) is kind for name in names)
    assert found["carrier"] in CARRIERS
    assert found["resin"] in (*RESINS, "alkyd")
    assert found["hardens_by"] in HARDENING
    for key, number in found["numbers"].items():
        assert set(number) == {"value", "unit", "tag", "source"}
        assert type(number["value"]) in (int, float)
        assert unit_for(number["unit"], number_kinds()[key].dimension).factor == listed_unit(number["unit"]).factor
        assert unit_for(number["unit"], number_kinds()[key].dimension).offset == listed_unit(number["unit"]).offset
    for blend in found.get("blends", {}).values():
        assert set(blend) == {"tag", "source", "mass_fractions"}


@pytest.mark.parametrize("coating_id", coating_ids())
def test_a_family_s_numbers_are_sourced_believable_and_in_order(coating_id):
    coating = load_coating(coating_id)
    assert {key for key, kind in number_kinds().items() if kind.required} <= set(coating.numbers)
    for key, number in coating.numbers.items():
        assert number.tag in TAGS
        assert number.source
        assert number_kinds()[key].low <= number.value <= number_kinds()[key].high, key
    check_order(coating, coating_id)
    for blend in coating.blends.values():
        assert blend.tag in TAGS
        assert blend.source
        assert set(blend.mass_fractions) <= set(solvents())
        assert all(part > 0 for part in blend.mass_fractions.values())
        assert abs(sum(blend.mass_fractions.values()) - 1.0) <= 1e-6


@every(table_rows("probes.csv"))
def test_a_probe_tests_what_is_known(row):
    assert row["mechanism"] in mechanisms()
    assert set(row["defects"].split()) <= set(defects())
    assert row["defects"]
    assert set(row["applies"].split()) <= {EVERY, *CARRIERS, *HARDENING}
    if mechanisms()[row["mechanism"]].kind == OTHER:
        assert not row["exposure"]
        assert not row["limit"]
    else:
        assert row["direction"] in DIRECTIONS
        assert row["limit"] in {ZERO, ONE, OWN, *number_kinds(), *default_limits()}
        assert float(row["width"]) > 0


@every(table_rows("looks.csv"))
def test_a_look_is_of_a_known_mechanism_and_defect_in_known_words(row):
    assert row["mechanism"] in mechanisms()
    assert row["defect"] in defects()
    assert set(row["found"].split()) <= set(FOUND)
    assert set(row["where"].split()) <= set(WHERE)
    assert row["only"] in ("", "yes")


@pytest.mark.parametrize("mechanism", mechanisms().values(), ids=lambda mechanism: mechanism.id)
def test_a_mechanism_is_of_a_known_kind_and_gun(mechanism):
    assert mechanism.kind in KINDS
    assert set(mechanism.guns) <= {EVERY, *GUNS}
    assert mechanism.defects, "a row of probes.csv at least"


@pytest.mark.parametrize("pair", overcoats(), ids="-".join)
def test_a_pair_of_coats_does_not_contradict_itself(pair):
    row = overcoats()[pair]
    assert pair[0] in coating_ids()
    assert row.standing in STANDINGS
    assert row.scuff in SCUFFS
    assert row.after in (*STAGES, None)
    assert (row.standing == OWN_WINDOW) == (row.under == row.over)
    assert (row.after is None) == (row.standing == NO and not row.between)
    numbers = load_coating(row.under).numbers
    assert row.after is None or row.after in numbers
    assert row.scuff != SCUFF_AFTER_WINDOW or "recoat_until" in numbers


@pytest.mark.parametrize("schedule", schedules().values(), ids=lambda schedule: schedule.id)
def test_a_schedule_is_sourced_and_its_steps_are_known_and_believable(schedule):
    assert schedule.tag in TAGS
    assert schedule.source
    for step in schedule.steps:
        assert step.step in STEPS
        assert step.coating in coating_ids()
        assert 1 <= step.least <= step.most <= 50
        for grits in (step.sand_before, step.scuff):
            assert 80 <= grits.coarse <= grits.fine <= 2000
        assert step.sheen in ("matt", "satin", "gloss", None)
    assert len({step.step for step in schedule.steps}) == len(schedule.steps) > 0


def test_no_schedule_stands_there_twice_and_none_holds_a_key_that_nobody_reads():
    found = tomllib.loads((FOLDER / "schedules.toml").read_text("utf-8"))["schedules"]
    assert len(found) == len(schedules())
    for entry in found:
        assert set(entry) == {"id", "name", "tag", "source", "steps"}
        for step in entry["steps"]:
            assert set(step) - {"sheen", "levelled"} == {
                "step", "coating", "least", "most", "sand_before", "scuff", "scuff_each",
            }  # fmt: skip
