"""The user's own data sheet wins over the family, and cannot turn a band inside out."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.catalog.coatings import coating_ids, load_coating, load_data_sheet, overlay
from advisor.errors import CatalogError

FIVE = {
    "air_temperature_min": "12 C",
    "relative_humidity_max": "85 %",
    "recoat_from": "3 h",
    "recoat_until": "24 h",
    "pot_life": "90 min",
}


def sheet(**numbers: str):
    return overlay({"based_on": "waterborne-clear-2k", "numbers": numbers}, "sheet.toml")


def test_five_numbers_are_enough_and_win():
    coating = overlay(
        {"based_on": "waterborne-clear-2k", "id": "our-clear", "sheet": "sheet of 2025-03", "numbers": FIVE}, "x"
    )
    assert (coating.id, coating.family) == ("our-clear", "waterborne-clear-2k")
    assert coating.air_temperature.wait_below.value == 12.0
    assert coating.air_temperature.go_low.value == 18.0, "between the sheet's minimum and 18 °C it is a change"
    assert coating.relative_humidity.wait_above.value == pytest.approx(0.85)
    assert coating.numbers["recoat_from_high"].value == 3 * 3600
    assert coating.numbers["recoat_from_low"].value == 3 * 3600
    assert coating.numbers["recoat_until"].value == 24 * 3600
    assert coating.numbers["pot_life"].value == 90 * 60
    assert "pot_life_high" not in coating.numbers
    assert coating.numbers["pot_life"].tag == "data sheet"
    assert coating.numbers["pot_life"].source == "sheet of 2025-03"


def test_a_stricter_sheet_pulls_the_go_band_in():
    """A sheet's 55 % maximum leaves no GO above 55 %; a minimum of 20 °C none below."""
    coating = sheet(relative_humidity_max="55 %", air_temperature_min="20 C")
    assert coating.relative_humidity.go_high.value == pytest.approx(0.55)
    assert coating.air_temperature.go_low.value == 20.0


def test_any_number_of_the_family_can_be_stated():
    assert sheet(thinning_max="8 %", thinning_usual_high="4 %").numbers["thinning_max"].value == pytest.approx(0.08)


def test_fahrenheit_on_the_sheet_is_read_as_such():
    assert sheet(air_temperature_min="59 F").air_temperature.wait_below.value == 15.0


@pytest.mark.parametrize(
    ("numbers", "words"),
    [
        ({"air_temperature_mim": "12 C"}, "did you mean air_temperature_min"),
        ({"air_temperature_min": "12"}, "no unit"),
        ({"air_temperature_min": 12}, "text with a unit"),
        ({"air_temperature_min": "12 %"}, "does not fit"),
        ({"air_temperature_min": "120 C"}, "120"),
        ({"air_temperature_min": "29 C"}, "go_low"),
        ({"relative_humidity_max": "7500 %"}, "75"),
        ({"recoat_from": "30 h"}, "recoat_until"),
    ],
)
def test_a_fault_on_the_sheet_names_the_key(numbers, words):
    with pytest.raises(CatalogError, match=words):
        sheet(**numbers)


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ({}, "based_on is missing"),
        ({"based_on": "shelac"}, "did you mean shellac"),
        ({"based_on": 3}, "not a text"),
        ({"based_on": "shellac", "numbers": []}, "not a table"),
        ({"based_on": "shellac", "nubmers": {}}, "did you mean numbers"),
    ],
)
def test_a_fault_in_the_sheet_file_is_told(table, words):
    with pytest.raises(CatalogError, match=words):
        overlay(table, "sheet.toml")


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", b"based_on = ", b"[" * 5000, b"x" * 200_000])
def test_what_is_no_toml_is_one_plain_error(tmp_path, content):
    path = tmp_path / "sheet.toml"
    path.write_bytes(content)
    with pytest.raises(CatalogError):
        load_data_sheet(path)


def test_a_missing_sheet_is_one_plain_error(tmp_path):
    with pytest.raises(CatalogError, match="cannot read"):
        load_data_sheet(tmp_path / "none.toml")


@given(
    st.sampled_from(coating_ids()),
    st.dictionaries(
        st.sampled_from(
            ["air_temperature_min", "air_temperature_max", "relative_humidity_min", "relative_humidity_max"]
        ),
        st.tuples(st.integers(0, 100), st.sampled_from(["C", "F", "%"])).map(lambda pair: f"{pair[0]} {pair[1]}"),
    ),
)
def test_no_sheet_leaves_a_band_out_of_order(coating_id, numbers):
    try:
        coating = overlay({"based_on": coating_id, "numbers": numbers}, "sheet.toml")
    except CatalogError:
        return
    air, humidity = coating.air_temperature, coating.relative_humidity
    assert air.wait_below.value <= air.go_low.value <= air.go_high.value <= air.wait_above.value
    assert humidity.go_low.value <= humidity.go_high.value <= humidity.wait_above.value
    assert set(load_coating(coating_id).numbers) == set(coating.numbers)
