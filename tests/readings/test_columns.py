"""A CSV header says what each column holds, in which unit."""

import pytest

from advisor.errors import FileError
from advisor.readings.columns import read_header


def quantities(*headers: str, renamed: dict[str, str] | None = None) -> list[tuple[str, str]]:
    return [(column.quantity, column.unit.spelling) for column in read_header(headers, renamed or {}, "f.csv").values]


def test_quantity_and_unit_are_read_from_the_header():
    assert quantities(
        "time", "place", "sensor", "air_temperature_c", "relative_humidity_pct", "surface_temperature_f", "dew_point_k",
        "air_pressure_hpa", "line_temperature_c", "particles_5um_per_m3", "particles_0.5um_per_ft3", "pm2_5_ug_per_m3",
    ) == [
        ("air_temperature", "C"), ("relative_humidity", "pct"), ("surface_temperature", "F"), ("dew_point", "K"),
        ("air_pressure", "hPa"), ("line_temperature", "C"), ("particles_5um", "per_m3"),
        ("particles_0.5um", "per_ft3"), ("pm2.5", "ug_per_m3"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("temperature", "humidity"),
    [("temperature_c", "humidity_pct"), ("Temp_C", "RH_pct"), ("TEMPERATURE_F", "rh_fraction")],
)
def test_the_short_header_works_too(temperature, humidity):
    assert [quantity for quantity, _ in quantities("Time", temperature, humidity)] == [
        "air_temperature",
        "relative_humidity",
    ]


@pytest.mark.parametrize(
    "header", ["temperature", "air_temperature", "temp", "surface_temperature", "humidity", "rh", "dew_point"]
)
def test_a_column_without_its_unit_is_refused_with_the_spellings_that_would_do(header):
    with pytest.raises(FileError, match="does not say its unit") as caught:
        quantities("time", header)
    assert "_c" in caught.value.allowed or "_pct" in caught.value.allowed


@pytest.mark.parametrize(
    ("headers", "words"),
    [
        (("air_temperature_c", "relative_humidity_pct"), "no column time"),
        (("time", "note"), "no column of readings"),
        (("time", "time", "air_temperature_c"), "two columns are time"),
        (("time", "air_temperature_c", "temperature_f"), "two columns hold air_temperature"),
        (("time", "air_temprature_c"), "did you mean air_temperature_c"),
        (("time", "relative_humidty_pct", "air_temperature_c"), "did you mean relative_humidity_pct"),
        (tuple(f"c{n}" for n in range(201)), "201 columns"),
    ],
)
def test_a_header_that_cannot_be_trusted_is_refused(headers, words):
    with pytest.raises(FileError, match=words):
        quantities(*headers)


def test_a_foreign_column_is_kept_to_be_shown():
    columns = read_header(("time", "air_temperature_c", "battery_v", "note"), {}, "f.csv")
    assert columns.unread == ("battery_v", "note")


def test_a_renamed_column_is_ours():
    assert quantities("Zeit", "Temp °C", renamed={"Zeit": "time", "Temp °C": "air_temperature_c"}) == [
        ("air_temperature", "C")
    ]
