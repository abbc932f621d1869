"""Messages to readings: numbers, JSON fields, SenML; strict, and never fresh when they may be old."""

import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.readings.payload import Message, PayloadReader
from advisor.readings.reading import Reading, Reject, Series
from advisor.readings.senml import BadPayload, parse_json, resolve
from advisor.shop.shop import TopicMap
from tests.support import every, examples

NOW = 1_760_436_000_000
TOPICS = (
    TopicMap("attic", "shop", "a/t", column="air_temperature_c"),
    TopicMap("attic", "shop", "a/f", column="air_temperature_f"),
    TopicMap("shelf", "shop", "s", form="json", column="air_temperature_c", value_field="air.temp"),
    TopicMap("shelf", "shop", "s", form="json", column="relative_humidity_pct", value_field="list.1"),
    TopicMap("mast", "outdoors", "m", "payload", "senml"),
    TopicMap("own", "shop", "o", "payload", "json", "air_temperature_c", "t", "at"),
)


def read(topic: str, payload: bytes | str, **how) -> list[Reading | Reject]:
    return PayloadReader(TOPICS, 900.0, 120.0).read(
        Message(topic, payload.encode() if isinstance(payload, str) else payload, NOW, **how)
    )


def test_a_plain_number_is_a_reading_in_its_unit():
    assert [entry.value for entry in read("a/t", "21.5")] == [21.5]
    assert read("a/f", " 70 ")[0].value == pytest.approx(21.1111, abs=1e-3)
    assert read("a/t", "21.5")[0].at == NOW


def test_json_fields_are_found_by_their_path():
    first, second = read("s", '{"air": {"temp": 21.5}, "list": [1, 48]}')
    assert (first.value, second.value) == (21.5, pytest.approx(0.48))


@pytest.mark.parametrize("word", ["unavailable", "", "null", "NaN"])
def test_a_status_word_is_missing_and_no_reject(word):
    assert read("a/t", word)[0].reason == "missing"
    assert read("s", json.dumps({"air": {"temp": word}, "list": [0, 5]}))[0].reason == "missing"
    assert read("s", '{"air": {"temp": null}, "list": [0, 5]}')[0].reason == "missing"


@every(
    "topic, payload, reason",
    [
        ("s", "{", "not JSON"), ("s", "[]", "no field"), ("s", '{"air": 3}', "no field"),
        ("s", '{"air": {"temp": true}}', "is no number"), ("s", '{"air": {"temp": {}}}', "is no number"),
        ("s", '{"air": {"temp": NaN}}', "is no number"), ("s", '{"air": {"temp": 1e999}}', None),
        ("s", '{"air": {"temp": 1}, "air": {"temp": 2}}', "a key twice"), ("s", "[" * 100_000, "larger"),
        ("s", "[" * 2000, "nested deeper"), ("s", '{"air": {"temp": ' + "9" * 3000 + "}}", "more than 64 digits"),
        ("s", b"\xff\xfe", "not JSON"), ("a/t", b"\xff\xfe", "not UTF-8"), ("x", "1", "no sensor"),
        ("a/t", "1" * 5000, "larger"), ("o", '{"t": 21}', "no field at"),
        ("o", '{"t": 21, "at": "soon"}', "neither ISO"),
        ("o", '{"t": 21, "at": "2025-10-14T10:00"}', "neither ISO"), ("o", '{"t": 21, "at": 5}', "outside 2000"),
        ("m", "{}", "SenML pack"),
        ("m", '[{"n":"a","u":"Cel","t":1760436000,"v":true}]', "not-a-number"),
        ("m", '[{"v":1}]', "without a name"),
        ("m", '[{"n":"a","u":"Cel","v":1}]', "no time"), ("m", '[{"n":"a","x_":1}]', "must be understood"),
        ("m", '[{"n":"a","u":"V","v":1,"t":1760436000}]', "no column"),
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_a_reject_with_its_reason(topic, payload, reason):
    entries = read(topic, payload)
    faults = [entry.reason for entry in entries if isinstance(entry, Reject) or entry.value is None]
    assert faults
    assert reason is None or any(reason in fault for fault in faults), faults
    assert all(len(entry.text) < 60 for entry in entries if isinstance(entry, Reject))


def test_a_payloads_own_time_counts_where_the_sensor_has_a_clock():
    assert read("o", '{"t": 21, "at": "2025-10-14T10:00:00.250Z"}')[0].at == NOW + 250
    assert read("o", f'{{"t": 21, "at": {NOW // 1000}}}')[0].at == NOW
    assert read("o", f'{{"t": 21, "at": {NOW}}}')[0].at == NOW


@pytest.mark.parametrize(
    ("topic", "payload", "how", "live"),
    [
        ("a/t", "21", {}, True), ("a/t", "21", {"retain": True}, False), ("a/t", "21", {"duplicate": True}, False),
        ("a/t", "21", {"settled": 4.9}, False), ("a/t", "21", {"settled": 5.0}, True),
        ("o", f'{{"t": 21, "at": {NOW - 900_000}}}', {}, True), ("o", f'{{"t": 21, "at": {NOW - 901_000}}}', {}, False),
        ("o", f'{{"t": 21, "at": {NOW + 120_000}}}', {}, True), ("o", f'{{"t": 21, "at": {NOW + 121_000}}}', {}, False),
        ("o", f'{{"t": 21, "at": {NOW}}}', {"retain": True}, False),
        ("o", f'{{"t": 21, "at": {NOW}}}', {"settled": 0.0}, True),
    ],
)  # fmt: skip
def test_only_what_was_surely_said_just_now_is_live(topic, payload, how, live):
    """Retained and queued messages are kept; their mark keeps them from ever counting as fresh."""
    entry = read(topic, payload, **how)[0]
    assert entry.value == 21.0
    assert (entry.reason == "") == live
    assert live or entry.reason == "not-live"


def test_the_example_pack_of_rfc_8428_resolves():
    """RFC 8428 section 5.1.2 (as quoted in a test suite): base name, base time and base unit worked in."""
    pack = parse_json(
        b'[{"bn":"urn:dev:ow:10e2073a01080063:","bt":1.320067464e+09,"bu":"%RH","v":20},'
        b'{"u":"lon","v":24.30621},{"t":60,"v":20.3},{"u":"%EL","t":150,"v":98}]'
    )
    records = resolve(pack, 0.0)
    assert [record.name for record in records] == ["urn:dev:ow:10e2073a01080063:"] * 4
    assert [record.unit for record in records] == ["%RH", "lon", "%RH", "%EL"]
    assert [record.at for record in records] == [1320067464.0, 1320067464.0, 1320067524.0, 1320067614.0]
    assert [record.value for record in records] == ["20", "24.30621", "20.3", "98"]


def test_a_single_record_and_base_values_resolve():
    assert resolve(parse_json(b'[{"n":"urn:dev:ow:10e2073a01080063","u":"Cel","v":23.1}]'), 5.0)[0].at is None
    based = resolve(parse_json(b'[{"bn":"a","bv":20,"bu":"Cel","v":1.5},{"n":"b","v":-1,"t":-10}]'), 1000.0)
    assert [float(record.value) for record in based] == [21.5, 19.0]
    assert based[1].at == 990.0
    assert based[1].name == "ab"


def test_senml_units_become_our_columns():
    pack = f'[{{"bn":"m/","bt":{NOW // 1000},"n":"t","u":"Cel","v":12.5}},{{"n":"h","u":"%RH","v":80}}]'
    entries = read("m", pack)
    assert [(entry.series.quantity, entry.value) for entry in entries] == [
        ("air_temperature", 12.5), ("relative_humidity", pytest.approx(0.8)),
    ]  # fmt: skip


def test_one_bad_record_does_not_take_the_pack_with_it():
    pack = f'[{{"bn":"m/","bt":{NOW // 1000},"n":"t","u":"Cel","v":12.5}},{{"n":"h","u":"%RH","v":"bad"}}]'
    assert [(entry.value, entry.reason) for entry in read("m", pack)] == [(12.5, ""), (None, "not-a-number")]


def test_a_pack_with_an_old_time_of_its_own_is_not_live_even_where_arrival_counts():
    reader = PayloadReader((TopicMap("mast", "outdoors", "m", "arrival", "senml"),), 900.0, 120.0)
    for age, reason in ((10, ""), (10_800, "not-live")):
        pack = f'[{{"n":"t","u":"Cel","v":12.5,"t":{NOW // 1000 - age}}}]'
        assert reader.read(Message("m", pack.encode(), NOW))[0].reason == reason


def test_a_newer_senml_version_is_refused():
    with pytest.raises(BadPayload, match="newer"):
        resolve(parse_json(b'[{"bver":11,"n":"a","v":1}]'), 0.0)


JSON = st.recursive(
    st.one_of(st.none(), st.booleans(), st.floats(), st.integers(), st.text(max_size=10)),
    lambda inner: st.one_of(
        st.lists(inner, max_size=4),
        st.dictionaries(
            st.sampled_from(["air", "temp", "t", "at", "bn", "bt", "n", "v", "u", "list"]), inner, max_size=4
        ),
    ),
    max_leaves=12,
)


@settings(max_examples=examples(600))
@given(
    st.sampled_from(["a/t", "s", "m", "o", "x"]),
    st.one_of(
        st.binary(max_size=200),
        st.text(max_size=80).map(lambda text: text.encode("utf-8", "replace")),
        JSON.map(lambda j: json.dumps(j).encode()),
    ),
)
def test_any_payload_gives_readings_or_rejects_and_no_exception(topic, payload):
    for entry in read(topic, payload):
        assert isinstance(entry, Reading | Reject)
        if isinstance(entry, Reading):
            assert entry.value is None or math.isfinite(entry.value)
            assert (entry.value is not None) or entry.reason


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_every_finite_double_in_a_message_is_a_reading_whatever_it_means(value):
    """As plain number, in JSON and in SenML; what cannot be air is for quality control to say."""
    for topic, payload in (
        ("a/t", repr(value)), ("s", json.dumps({"air": {"temp": value}, "list": [0, 50]})),
        ("m", json.dumps([{"n": "a", "u": "Cel", "t": NOW / 1000, "v": value}])),
    ):  # fmt: skip
        entry = read(topic, payload)[0]
        assert isinstance(entry, Reading)
        assert entry.value == pytest.approx(value, rel=1e-11)
        assert math.isfinite(entry.value) or entry.value == math.copysign(math.inf, value)


def test_a_unit_in_a_message_is_taken_where_it_is_the_declared_one():
    assert read("a/t", "22.5 °C")[0].value == 22.5
    assert read("a/t", "72.5 °F")[0].reason == "wrong-unit"
    assert [entry.value for entry in read("s", '{"air": {"temp": "22.5 °C"}, "list": [0, "48 %"]}')] == [22.5, 0.48]
    assert isinstance(read("s", '{"air": {"temp": .5}, "list": [0, 48]}')[0], Reject), "JSON has no .5"


@pytest.mark.parametrize("decimals", ["", ".1", ".1234567", ".123456789012", ",1234567"])
def test_a_time_may_have_any_number_of_decimals(decimals):
    at = read("o", f'{{"t": 21, "at": "2025-10-14T10:00:00{decimals}Z"}}')[0].at
    assert at == NOW + round(float(decimals.replace(",", ".") or 0) * 1000)


@pytest.mark.parametrize("offset", ["+00", "+0000", "+00:00", "Z"])
def test_an_offset_may_be_written_as_databases_do(offset):
    assert read("o", f'{{"t": 21, "at": "2025-10-14 10:00:00.25{offset}"}}')[0].at == NOW + 250


def moments(entries: list[Reading | Reject]) -> list[int]:
    return [entry.at for entry in entries if isinstance(entry, Reading)]


def test_a_burst_of_one_moment_keeps_each_message_and_their_order():
    reader = PayloadReader(TOPICS, 900.0, 120.0)
    words = [reader.read(Message("a/t", f"{20 + n / 100}".encode(), NOW))[0] for n in range(336)]
    assert moments(words) == [NOW + n for n in range(336)]
    assert reader.read(Message("a/t", b"", NOW + 100))[0].at == NOW + 336
    assert reader.read(Message("a/t", b"\xff", NOW + 100))[1].at == NOW + 337
    assert reader.read(Message("a/t", b"21", NOW + 400))[0].at == NOW + 400


def test_a_clock_that_was_set_back_is_followed():
    """What was read by the clock that ran an hour ahead holds nothing up."""
    reader = PayloadReader(TOPICS, 900.0, 120.0)
    assert [reader.read(Message("a/t", b"21", NOW + ahead))[0].at - NOW for ahead in (3_600_000, 0, 0)] == [
        3_600_000, 0, 1,
    ]  # fmt: skip


WILLS = (
    *TOPICS,
    TopicMap("attic", "shop", "a/alive", form="will", payload="offline"),
    TopicMap("own", "shop", "o/alive", "payload", form="will", payload='{"state":"gone"}'),
    TopicMap("mast", "outdoors", "m/alive", form="will", payload="offline"),
)


@pytest.mark.parametrize("retain", [False, True])
def test_the_last_will_of_a_sensor_takes_all_its_values(retain):
    reader = PayloadReader(WILLS, 900.0, 120.0)
    reader.read(Message("a/t", b"21", NOW))
    (gone,) = reader.read(Message("a/alive", b"offline", NOW, retain=retain))
    assert (gone.series.sensor, gone.series.quantity, gone.at) == ("attic", "air_temperature", NOW + 1)
    assert (gone.value, gone.level, gone.reason) == (None, "bad", "offline")
    assert reader.read(Message("a/alive", b"online", NOW)) == []
    assert reader.read(Message("a/t", b"21", NOW + 60_000))[0].reason == "", "it speaks again"


def test_a_will_of_a_sensor_with_its_own_clock_stands_just_after_its_last_word():
    """Its clock is ten minutes late: what it says when it is back is newer than its will all the same."""
    reader = PayloadReader(WILLS, 900.0, 120.0)
    reader.read(Message("o", f'{{"t": 21, "at": {NOW - 600_000}}}'.encode(), NOW))
    (gone,) = reader.read(Message("o/alive", b'{"state":"gone"}', NOW + 1000))
    assert gone.at == NOW - 599_999
    assert reader.read(Message("o", f'{{"t": 21, "at": {NOW - 540_000}}}'.encode(), NOW))[0].at > gone.at


def test_a_will_takes_what_a_pack_or_the_logbook_told_of_the_sensor():
    reader = PayloadReader(WILLS, 900.0, 120.0)
    assert reader.read(Message("m/alive", b"offline", NOW)) == []
    reader.remember(Reading(Series("mast", "outdoors", "relative_humidity"), 0.5, NOW - 5000, "logbook"))
    (gone,) = reader.read(Message("m/alive", b"offline", NOW))
    assert (gone.series.quantity, gone.at) == ("relative_humidity", NOW)
