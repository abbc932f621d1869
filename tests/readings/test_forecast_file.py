"""A forecast from a file: CSV or JSON, whole or refused in one line."""

import json
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from advisor.errors import AdvisorError, FileError, UsageError
from advisor.readings.recorded import LARGEST_FILE, read_forecast
from advisor.shop.shop import CsvDialect

TABLE = [
    {"time": "2025-10-14T12:00Z", "air_temperature_c": 14.5, "dew_point_c": 9},
    {"time": "2025-10-14T13:00Z", "air_temperature_c": 15, "dew_point_c": 9.5},
]


def values(path, zone=None):
    found = read_forecast(path, CsvDialect(), zone)
    return sorted((each.series.place, each.series.quantity, each.at // 1000, each.value) for each in found)


def write(path, text):
    file = path / "forecast"
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    return file


def test_csv_and_json_say_the_same(tmp_path):
    rows = "time,air_temperature_C,dew_point_C\n2025-10-14T12:00Z,14.5,9\n2025-10-14T13:00Z,15,9.5\n"
    assert values(write(tmp_path, rows)) == values(write(tmp_path, json.dumps(TABLE)))
    assert values(write(tmp_path, rows))[0] == ("outdoors", "air_temperature", 1760443200, 14.5)


def test_humidity_and_other_units_will_do(tmp_path):
    rows = "time,air_temperature_f,relative_humidity_pct\n2025-10-14 13:00,50,60\n2025-10-14 14:00,50,61\n"
    found = values(write(tmp_path, rows), ZoneInfo("Europe/London"))
    assert found[0] == ("outdoors", "air_temperature", 1760443200, pytest.approx(10.0))
    assert found[2] == ("outdoors", "relative_humidity", 1760443200, pytest.approx(0.6))


@pytest.mark.parametrize(
    "text",
    [
        "", "{}", "[1]", "[", json.dumps([{"time": "soon", "air_temperature_c": 1}]), json.dumps([{"time": None}]),
        json.dumps([TABLE[0] | {"air_temperature_c": "mild"}]), json.dumps([TABLE[0] | {"air_temperature_c": None}]),
        json.dumps([TABLE[0] | {"air_temperature_c": 99}]), '[{"time": NaN}]', b"\xff\xfe\x00", b"[\xff]",
        "time,air_temperature_c,dew_point_c\n2025-10-14T12:00Z,14.5\n",
        "time,air_temperature_c,dew_point_c\n2025-10-14T12:00Z,wet,9\n",
        "time,place,air_temperature_c,dew_point_c\n2025-10-14T12:00Z,a,9,9\n2025-10-14T12:00Z,b,9,9\n",
        "time,air_temperature\n", "[" + "0," * LARGEST_FILE + "0]",
    ],
    ids=range(17),
)  # fmt: skip
def test_what_is_no_whole_forecast_is_refused(tmp_path, text):
    with pytest.raises(FileError) as error:
        read_forecast(write(tmp_path, text), CsvDialect(), None)
    assert "\n" not in str(error.value)


def test_times_without_offset_need_a_zone(tmp_path):
    table = json.dumps([TABLE[0] | {"time": "2025-10-14T12:00"}])
    with pytest.raises(UsageError, match="zone"):
        read_forecast(write(tmp_path, table), CsvDialect(), None)


def test_no_file_and_a_folder(tmp_path):
    for path in (tmp_path, tmp_path / "none", tmp_path / "a\0b"):
        with pytest.raises(FileError):
            read_forecast(path, CsvDialect(), None)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.one_of(st.binary(max_size=200), st.text(max_size=80).map(lambda text: b"[" + text.encode("utf-8", "replace")))
)
def test_whatever_stands_in_it_gives_readings_or_one_error(tmp_path, text):
    try:
        read_forecast(write(tmp_path, text), CsvDialect(), None)
    except AdvisorError as error:
        assert len(str(error)) < 2_000
