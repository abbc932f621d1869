"""Messages to readings: numbers, JSON fields, SenML; strict, and never fresh when they may be old."""

import json
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.readings.payload import Message, PayloadReader
from advisor.readings.reading import Reading, Reject
from advisor.readings.senml import resolve
from advisor.readings.strict_json import BadPayload, parse_json
from advisor.shop.shop import TopicMap

NOW = 1_760_436_000_000
TOPICS = (
    TopicMap("attic", "shop", "a/t", column="air_temperature_c"),
    TopicMap("attic", "shop", "a/f", column="air_temperature_f"),
    TopicMap("shelf", "shop", "s", form="json", column="air_temperature_c", value_field="air.temp"),
    TopicMap("shelf", "shop", "s", form="json", column="relative_humidity_pct", value_field="list.1"),
    TopicMap("mast", "outdoors", "m", "payload", "senml"),
    TopicMap("own", "shop", "o", "payload", "json", "air_temperature_c", "t", "at"),
)
READER = PayloadReader(TOPICS, 900.0, 120.0)


def read(topic: str, payload: bytes | str, **how) -> list[Reading | Reject]:
    return READER.read(Message(topic, payload.encode() if isinstance(payload, str) else payload, NOW, **how))


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


@pytest.mark.parametrize(
    ("topic", "payload", "reason"),
    [
        ("s", "{", "not JSON"), ("s", "[]", "no field"), ("s", '{"air": 3}', "no field"),
        ("s", '{"air": {"temp": true}}', "is no number"), ("s", '{"air": {"temp": {}}}', "is no number"),
        ("s", '{"air": {"temp": NaN}}', "is no number"), ("s", '{"air": {"temp": 1e999}}', None),
        ("s", '{"air": {"temp": 1}, "air": {"temp": 2}}', "a key twice"), ("s", "[" * 100_000, "larger"),
        ("s", "[" * 2000, "nested deeper"), ("s", '{"air": {"temp": ' + "9" * 3000 + "}}", "more than 32 digits"),
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


@settings(max_examples=600)
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
