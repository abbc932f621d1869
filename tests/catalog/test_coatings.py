"""The ten families: complete, sourced, in order; faults in a family's file are told."""

import copy
import tomllib

import pytest

from advisor.catalog.coatings import TAGS, coating_from_table, coating_ids, load_coating, number_kinds
from advisor.catalog.sourced import FOLDER
from advisor.errors import CatalogError
from tests.support import every

# the fixed names
IDS = (
    "acrylic-lacquer", "nitrocellulose-lacquer", "oil-varnish", "precatalysed-lacquer", "shellac",
    "solvent-polyurethane-2k", "waterborne-clear-1k", "waterborne-clear-2k", "waterborne-colour", "waterborne-sealer",
)  # fmt: skip
# air temperature go low, go high, wait below, wait above [°C]; humidity go low, go high, wait above [%]:
# common practice, no source (an experienced finisher's table)
BANDS = {
    "shellac": (16, 27, 13, 30, 35, 60, 75),
    "nitrocellulose-lacquer": (18, 27, 15, 32, 30, 60, 75),
    "acrylic-lacquer": (18, 27, 15, 32, 30, 60, 75),
    "precatalysed-lacquer": (18, 28, 18, 32, 30, 60, 70),
    "waterborne-sealer": (18, 28, 13, 32, 35, 65, 80),
    "waterborne-colour": (18, 28, 13, 32, 35, 65, 80),
    "waterborne-clear-1k": (18, 28, 15, 32, 35, 65, 80),
    "waterborne-clear-2k": (18, 28, 15, 30, 35, 65, 75),
    "solvent-polyurethane-2k": (18, 28, 15, 32, 25, 70, 80),
    "oil-varnish": (16, 28, 10, 32, 25, 70, 80),
}


def table(coating: str = "shellac") -> dict:
    return tomllib.loads((FOLDER / "coatings" / f"{coating}.toml").read_text("utf-8"))


def test_the_ten_families_are_there():
    assert coating_ids() == IDS


@pytest.mark.parametrize("coating_id", IDS)
def test_a_family_has_every_required_number_with_unit_tag_and_source(coating_id):
    coating = load_coating(coating_id)
    for key, kind in number_kinds().items():
        assert not kind.required or key in coating.numbers, key
    for key, number in coating.numbers.items():
        assert number.tag in TAGS, key
        assert number.source, key
        assert number_kinds()[key].low <= number.value <= number_kinds()[key].high, key
    for blend in coating.blends.values():
        assert sum(blend.mass_fractions.values()) == pytest.approx(1.0, abs=1e-6)
    assert "medium" in coating.blends
    assert coating.thinners


@pytest.mark.parametrize(("coating_id", "band"), BANDS.items())
def test_the_bands_are_those_of_the_finishers_table(coating_id, band):
    coating = load_coating(coating_id)
    air, humidity = coating.air_temperature, coating.relative_humidity
    assert air.wait_below is not None
    assert humidity.wait_below is None, "dryness alone is never a WAIT"
    values = (air.go_low, air.go_high, air.wait_below, air.wait_above)
    assert tuple(number.value for number in values) == band[:4]
    values = (humidity.go_low, humidity.go_high, humidity.wait_above)
    assert tuple(round(number.value * 100, 9) for number in values) == band[4:]


def test_chemistry_gates_stand_in_the_data():
    """Alcohol, glycol ether, lacquer thinner and retarder react with isocyanate: none is allowed in a solvent 2K."""
    coating = load_coating("solvent-polyurethane-2k")
    assert coating.retarders == ()
    assert all("urethane-grade" in thinner for thinner in coating.thinners)
    assert {"isocyanate", "flammable"} <= {name for name in ("isocyanate", "flammable") if getattr(coating, name)}
    assert load_coating("waterborne-clear-2k").isocyanate
    assert load_coating("waterborne-clear-2k").numbers["wet_film_never_above"].value == pytest.approx(150e-6)


def test_an_unknown_coating_is_answered_with_the_nearest():
    with pytest.raises(CatalogError, match="did you mean nitrocellulose-lacquer"):
        load_coating("nitrocelulose-laquer")


def change(path: list[str], value: object) -> dict:
    changed = copy.deepcopy(table())
    place = changed
    for key in path[:-1]:
        place = place[key]
    if value is None:
        del place[path[-1]]
    else:
        place[path[-1]] = value
    return changed


LOW = {"value": 16, "unit": "C", "tag": "common practice", "source": "no source"}


@every(
    "path, value, words",
    [
        (["carrier"], None, "carrier is missing"),
        (["carrier"], "oil", "solvent"),
        (["flammable"], "yes", "bool"),
        (["colour"], "red", "unknown key 'colour'"),
        (["numbers", "wet_film_low"], None, "wet_film_low missing"),
        (["numbers", "wet_film_lwo"], LOW, "did you mean wet_film_low"),
        (["numbers", "air_temperature_go_low"], {**LOW, "unit": "%"}, "temperature_go_low in '%'"),
        (["numbers", "air_temperature_go_low"], {**LOW, "value": "16"}, "a number"),
        (["numbers", "air_temperature_go_low"], {**LOW, "value": True}, "a number"),
        (["numbers", "air_temperature_go_low"], {**LOW, "value": float("nan")}, "nan"),
        (["numbers", "air_temperature_go_low"], {**LOW, "value": 61}, "61"),
        (["numbers", "air_temperature_go_low"], {**LOW, "tag": "hearsay"}, "hearsay"),
        (["numbers", "air_temperature_go_low"], {**LOW, "source": ""}, "source"),
        (["numbers", "air_temperature_go_low"], 16, "value, unit, tag and source"),
        (["numbers", "air_temperature_go_low"], {**LOW, "value": 28}, "go_low"),
        (["blends", "medium", "mass_fractions"], {"ethanol": 0.9}, "sums to 0.9"),
        (["blends", "medium", "mass_fractions"], {"ethanol": 1.1, "water": -0.1}, "empty part"),
        (["blends", "medium", "mass_fractions"], {"ethanl": 1.0}, "unknown solvent 'ethanl'; did you mean ethanol"),
        (["blends", "medium", "tag"], "", "tag or source"),
    ],
)
def test_a_fault_in_a_family_file_names_the_file_and_the_key(path, value, words):
    with pytest.raises(CatalogError, match=words) as caught:
        coating_from_table(change(path, value), "shellac.toml")
    assert "shellac.toml" in str(caught.value)
