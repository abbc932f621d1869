"""A CSV file: every line gives readings or a reject, whatever stands in it."""

import os
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import AdvisorError, FileError, UsageError
from advisor.readings.csv_file import CsvReadings, parse_time
from advisor.readings.reading import HALF_LINE, MISSING, NOT_A_NUMBER, Reading, Reject
from advisor.readings.recorded import read_recorded
from advisor.shop.shop import CsvDialect
from advisor.times import moment_of
from tests.support import examples

LONDON = ZoneInfo("Europe/London")
PLAIN = CsvDialect()
HEADER = "time,air_temperature_c,relative_humidity_pct\n"


def read(path: Path, content: str | bytes, dialect: CsvDialect = PLAIN, zone: ZoneInfo | None = None):
    path = path / "log.csv"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    source = CsvReadings(path, dialect, zone)
    return list(source), source


def values(entries: list[Reading | Reject]) -> list[float | None]:
    return [entry.value for entry in entries if isinstance(entry, Reading)]


def reasons(entries: list[Reading | Reject]) -> list[str]:
    return [entry.reason for entry in entries if entry.reason]


def test_a_row_gives_one_reading_for_each_column(tmp_path):
    entries, _ = read(tmp_path, HEADER + "2025-10-14T10:00:00+01:00,21.5,48\n")
    assert values(entries) == [21.5, pytest.approx(0.48)]
    assert {moment_of(entry.at) for entry in entries} == {datetime(2025, 10, 14, 9, 0, tzinfo=UTC)}
    assert entries[0].source == "line 2"


def test_fahrenheit_becomes_celsius(tmp_path):
    entries, _ = read(tmp_path, "time,temperature_f,humidity_pct\n2025-10-14T10:00Z,70,48\n")
    assert values(entries)[0] == pytest.approx(21.1111, abs=1e-4)


def test_place_and_sensor_columns_name_the_series(tmp_path):
    entries, _ = read(tmp_path, "time,place,sensor,air_temperature_c\n2025-10-14T10:00Z,booth,shelf,21\n")
    assert (entries[0].series.place, entries[0].series.sensor) == ("booth", "shelf")


def test_an_empty_field_is_missing_where_the_row_used_to_hold_both(tmp_path):
    entries, _ = read(tmp_path, HEADER + "2025-10-14T10:00Z,21,\n2025-10-14T10:01Z,21,50\n2025-10-14T10:02Z,21,\n")
    assert values(entries) == [21.0, 21.0, 0.5, 21.0, None]
    assert reasons(entries) == [MISSING]


def test_a_logger_with_one_quantity_a_row_misses_nothing(tmp_path):
    rows = [f"2025-10-14T10:{minute:02d}Z,{'21,' if minute % 2 else ',50'}\n" for minute in range(6)]
    entries, _ = read(tmp_path, HEADER + "".join(rows))
    assert reasons(entries) == []
    assert len(entries) == 6


def test_a_foreign_dialect_is_read_as_declared(tmp_path):
    dialect = CsvDialect(";", ",", "cp1252", "%d.%m.%Y %H:%M", {"Zeit": "time", "Wärme": "air_temperature_c"})
    entries, _ = read(tmp_path, "Zeit;Wärme\n14.10.2025 10:00;21,5\n".encode("cp1252"), dialect, LONDON)
    assert values(entries) == [21.5]
    assert moment_of(entries[0].at) == datetime(2025, 10, 14, 9, 0, tzinfo=UTC)


@pytest.mark.parametrize("encoding", ["utf-16", "utf-8-sig", "cp1252"])
def test_an_encoding_is_read_as_declared(tmp_path, encoding):
    entries, _ = read(
        tmp_path, (HEADER + "2025-10-14T10:00Z,21.5,48\n").encode(encoding), CsvDialect(encoding=encoding)
    )
    assert values(entries) == [21.5, pytest.approx(0.48)]


def test_windows_line_ends_and_blank_lines_are_fine(tmp_path):
    entries, _ = read(tmp_path, "\r\n" + HEADER.strip() + "\r\n\r\n2025-10-14T10:00Z,21.5,48\r\n\r\n")
    assert values(entries) == [21.5, pytest.approx(0.48)]
    assert not reasons(entries)


def test_a_time_without_offset_needs_a_zone(tmp_path):
    with pytest.raises(UsageError, match="--zone"):
        read(tmp_path, HEADER + "2025-10-14T10:00,21.5,48\n")
    entries, _ = read(tmp_path, HEADER + "2025-10-14T10:00,21.5,48\n", zone=LONDON)
    assert moment_of(entries[0].at) == datetime(2025, 10, 14, 9, 0, tzinfo=UTC)


def test_the_autumn_hour_that_comes_twice_runs_on(tmp_path):
    rows = [f"2025-10-26T{clock},20,50\n" for clock in ("00:30", "01:00", "01:30", "01:00", "01:30", "02:00")]
    entries, _ = read(tmp_path, HEADER + "".join(rows), zone=LONDON)
    hours = [moment_of(entry.at).strftime("%H:%M") for entry in entries[::2]]
    assert hours == ["23:30", "00:00", "00:30", "01:00", "01:30", "02:00"]


def test_a_row_a_minute_late_in_that_hour_is_not_made_an_hour_younger(tmp_path):
    """Only a sensor whose own time ran back by half an hour was set back."""
    header = "time,place,air_temperature_c\n"
    entries, _ = read(tmp_path, header + "2025-10-26 01:40,outdoors,9\n2025-10-26 01:39,shop,21\n", zone=LONDON)
    assert [moment_of(entry.at).strftime("%H:%M") for entry in entries] == ["00:40", "00:39"]


def test_a_clock_time_that_spring_skips_is_rejected(tmp_path):
    entries, _ = read(tmp_path, HEADER + "2025-03-30T01:30,20,50\n2025-03-30T02:30,20,50\n", zone=LONDON)
    assert len(values(entries)) == 2
    assert "no time" in reasons(entries)[0]


@pytest.mark.parametrize(
    "text",
    ["2025-10-14T10:00Z", "2025-10-14 10:00:00Z", "2025-10-14T10:00:00.250+00:00", "2025-10-14T11:00+0100"],
)
def test_iso_8601_times_are_read(text):
    assert parse_time(text, None).replace(microsecond=0) == datetime(2025, 10, 14, 10, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "2025-10-14",
        "10:00",
        "14.10.2025 10:00",
        "2025-13-01T10:00Z",
        "2025-W01-1T10:00Z",
        "٢٠٢٥-10-14T10:00Z",
        "now",
        "0001-01-01T00:00+14:00",
    ],
)
def test_what_is_no_moment_is_none(text):
    assert parse_time(text, LONDON) is None


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("2025-10-14T10:00Z,21,5,48\n", "decimal commas"),
        ("2025-10-14T10:00Z,21\n", "2 fields where the header has 3"),
        ("yesterday,21,48\n", "no time in 'yesterday'"),
        ("x" * 5000 + "\n", "longer than 4096"),
        ('"2025-10-14T10:00Z,21,48\n', "fields where"),
    ],
)
def test_a_line_that_gives_no_reading_is_kept_with_its_reason(tmp_path, row, reason):
    entries, _ = read(tmp_path, HEADER + row + "2025-10-14T10:01Z,21,48\n")
    rejects = [entry for entry in entries if isinstance(entry, Reject)]
    assert len(rejects) == 1
    assert reason in rejects[0].reason
    assert rejects[0].source == "line 2"
    assert len(rejects[0].text) < 50
    assert values(entries) == [21.0, pytest.approx(0.48)]


@pytest.mark.parametrize(
    ("field", "reason"),
    [
        ("unavailable", MISSING),
        ("NaN", MISSING),
        ("21;5", NOT_A_NUMBER),
        ("9" * 4000, NOT_A_NUMBER),
        ("inf", NOT_A_NUMBER),
    ],
)
def test_a_field_that_is_no_number_is_a_marked_reading(tmp_path, field, reason):
    entries, _ = read(tmp_path, HEADER + f"2025-10-14T10:00Z,{field},48\n")
    assert reasons(entries) == [reason]
    assert values(entries) == [None, pytest.approx(0.48)]


@pytest.mark.parametrize(
    "cut",
    [
        "2025-10-14T10:02Z,21.", "2025-10-14T10:02Z,21.5", "2025-10-1", "2",
        "2025-10-14T10:02Z,21.5,4", "2025-10-14T10:02Z,21.5,48", "2025-10-14T10:02Z,21.5,48.",
    ],
)  # fmt: skip
def test_half_a_line_at_the_end_is_told_as_such_and_not_believed(tmp_path, cut):
    entries, _ = read(tmp_path, HEADER + "2025-10-14T10:01Z,21.5,48.2\n" + cut)
    assert reasons(entries) == [HALF_LINE]
    assert values(entries) == [21.5, pytest.approx(0.482)]
    assert entries[-1].at > entries[0].at, "newer than what stands before it"


def test_a_cut_off_place_or_single_sign_is_not_believed_either(tmp_path):
    header = "time,air_temperature_c,relative_humidity_pct,place\n"
    entries, _ = read(tmp_path, header + "2025-10-14T10:01Z,21.5,48.2,shop\n2025-10-14T10:02Z,21.5,90.0,sho")
    assert reasons(entries) == [HALF_LINE]
    entries, _ = read(tmp_path, HEADER + "2025-10-14T10:01Z,21.0,5")
    assert reasons(entries) == [HALF_LINE]


def test_a_last_line_without_line_end_is_read_when_it_is_whole(tmp_path):
    entries, _ = read(tmp_path, HEADER + "2025-10-14T10:01Z,21.5,48.2\n2025-10-14T10:02Z,21.5,48.3")
    assert values(entries)[-1] == pytest.approx(0.483)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty"), (b"\n\n", "is empty"), (b"\x89PNG\r\n\x1a\n\x00\x00", "not a text file"),
        (bytes(range(256)) * 40, "not a text file"), (b"a" * 10_000, "not a text file"),
        (b"time;air_temperature_c\n2025-10-14T10:00Z;21\n", "separated by ';'"),
        (b"\xff\xfet\x00i\x00", "not a text file"),
        (b"2025-10-14T10:00Z,21.5,48\n", "no column time"),
    ],
)  # fmt: skip
def test_what_is_no_readings_file_is_one_plain_error(tmp_path, content, words):
    with pytest.raises(FileError, match=words) as caught:
        read(tmp_path, content)
    assert len(str(caught.value)) < 400


@pytest.mark.parametrize("make", [lambda path: None, lambda path: path.mkdir()])
def test_a_file_that_is_not_there_is_one_plain_error(tmp_path, make):
    path = tmp_path / "log.csv"
    make(path)
    with pytest.raises(FileError, match="cannot read"):
        list(CsvReadings(path, CsvDialect(), None))


@settings(max_examples=examples(300))
@given(
    st.one_of(
        st.binary(max_size=400), st.text(max_size=200).map(lambda text: (HEADER + text).encode("utf-8", "replace"))
    )
)
def test_no_bytes_raise_anything_but_a_plain_error(tmp_path, content):
    path = tmp_path / "log.csv"
    path.write_bytes(content)
    try:
        file = read_recorded(CsvReadings(path, CsvDialect(), LONDON))
    except AdvisorError as error:
        assert str(error)
        return
    lines = content.decode("utf-8", "backslashreplace").replace("\r", "\n").split("\n")
    assert len(file.readings) + len(file.rejects) <= 2 * len(lines)


def test_readings_come_in_the_order_of_time(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text(HEADER + "2025-10-14T10:05Z,22,50\n2025-10-14T10:01Z,21,49\n")
    file = read_recorded(CsvReadings(path, CsvDialect(), None))
    assert [reading.value for reading in file.readings][::2] == [21.0, 22.0]
    assert file.places == ("shop",)


def test_a_line_that_cannot_be_read_carries_its_time(tmp_path):
    rows = "2025-10-14T10:00Z,21,48\n2025-10-14T10:05Z,21,48,extra\nrubbish\n"
    entries, _ = read(tmp_path, HEADER + rows)
    own, after = (entry for entry in entries if isinstance(entry, Reject))
    assert moment_of(own.at) == datetime(2025, 10, 14, 10, 5, tzinfo=UTC)
    assert after.at == own.at + 1


def test_a_line_in_another_encoding_is_told_and_not_guessed_at(tmp_path):
    content = "time,place,air_temperature_c\n2025-10-14T10:00Z,Büro,21\n".encode("cp1252")
    entries, _ = read(tmp_path, content)
    assert "not text in utf-8-sig" in reasons(entries)[0]


def test_more_sensors_than_a_shop_can_have_are_told(tmp_path):
    rows = "".join(f"2025-10-14T10:00Z,s{n},21\n" for n in range(400))
    entries, _ = read(tmp_path, "time,sensor,air_temperature_c\n" + rows)
    assert len(values(entries)) == 300
    assert "more than 300 sensors" in reasons(entries)[0]


def test_a_pipe_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(FileError, match="not a regular file"):
        list(CsvReadings(tmp_path / "pipe", PLAIN, None))


def test_an_empty_field_too_many_is_named(tmp_path):
    entries, _ = read(tmp_path, HEADER + "2025-10-14T10:00Z,21,48,\n")
    assert "an empty field too many" in reasons(entries)[0]


def test_numbers_times_and_units_as_programs_write_them_are_read(tmp_path):
    rows = ["2025-10-14T10:00:00.1234567Z,22.22222222222222,48.1 %", "2025-10-14T10:01:00.0000000+00,21.5 °C,.5"]
    entries, _ = read(tmp_path, HEADER + "\n".join(rows) + "\n")
    assert values(entries) == pytest.approx([22.2222222222, 0.481, 21.5, 0.005])
    assert [entry.at % 60_000 for entry in entries] == [123, 123, 0, 0]
