"""The edges of the configuration: whatever stands in it, the shop works or one line says why not; no secret shows."""

import io
import json
import re
from contextlib import redirect_stderr, redirect_stdout
from copy import deepcopy

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.catalog.limits import IN_ORDER, default_limits
from advisor.cli.app import run
from advisor.shop.config import read_config
from advisor.units import from_si
from tests.support import examples

SECRET = "hUnter2"
STEERS = re.compile(r"[^\S\n ]|[\x00-\x09\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069]")
BASE = {
    "coatings": ["nitrocellulose-lacquer"],
    "name": "The boathouse",
    "zone": "Europe/London",
    "places": {"shop": "indoors", "outdoors": "outdoors"},
    "sensors": [
        {
            "name": "attic",
            "topics": [
                {"topic": "b/t", "column": "air_temperature_c"},
                {"topic": "b/h", "column": "relative_humidity_pct"},
            ],
        }
    ],
    "room": {"volume": "90 m3"},
    "csv": {"delimiter": ";", "columns": {"Zeit": "time"}},
    "logbook": "log.db",
    "mqtt": {"host": "127.0.0.1", "base": "b/advisor", "user": "advisor", "password_file": "pw"},
    "forecast": {"topic": "b/forecast"},
    "notices": {"destinations": ["json://127.0.0.1:8080/x"], "quiet": "22:00-07:00"},
    "limits": {"fresh_for": "10 min"},
}


def toml(value) -> str:
    """A value in TOML; tables inline."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{toml(key)} = {toml(each)}" for key, each in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")


def written(path, table) -> str:
    path.write_text("\n".join(f"{toml(key)} = {toml(value)}" for key, value in table.items()), encoding="utf-8")
    return str(path)


def changed(where: tuple, value):
    """The base with one value put somewhere."""
    table = deepcopy(BASE)
    inner = table
    for key in where[:-1]:
        inner = inner[key]
    inner[where[-1]] = value
    return table


def ask(*words: str) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        code = run(list(words))
    return code, out.getvalue(), err.getvalue()


def refused(path, table, command=("config", "check")) -> str:
    """The one line that says why."""
    code, out, err = ask(*command, "--config", written(path / "advisor.toml", table))
    assert (code, out, err.count("\n")) == (2, "", 1)
    assert SECRET not in err
    return err


def paths(value, before=()) -> list[tuple]:
    """Every place of a value within tables and lists."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return [(*before, key) for key, _ in inner] + [one for key, each in inner for one in paths(each, (*before, key))]


ADDRESSES = [f"mqtt://u:{SECRET}@h", f"u:{SECRET}@h", f"json://{SECRET}@127.0.0.1/x", f"json://u:my {SECRET}@h/x"]
ODD = st.sampled_from([
    *ADDRESSES, "", "a\x1b[2J", "a\x9b2J", "\u202egnitteb", "a\rb", "a\nb", "a\x00b", "x" * 5000, "$SYS/broker/uptime",
    "b/t", "b/advisor/verdict", "22:00-22:00", "0 %", "1e999 m3", "nan", "../..", "/", "shop", "air_temperature_f",
    True, 0, -1, 1.5, [], [[]], {}, {ADDRESSES[0]: 1}, {"a\x1b": "b"}, [ADDRESSES[1]],
])  # fmt: skip
KEYS = st.sampled_from([*ADDRESSES, "a\x1b[2J", "", "password", "hosst", "x" * 300])
COMMANDS = [
    ("config", "check"),
    ("check", "--air", "21C", "--rh", "50%"),
    ("coatings", "nitrocellulose-lacquer"),
    ("readings",),
    ("plan", "list"),
]


@settings(max_examples=examples(150))
@given(st.lists(st.tuples(st.sampled_from(paths(BASE)), KEYS, ODD, st.booleans()), min_size=1, max_size=3), st.data())
def test_whatever_stands_in_the_file_is_a_working_shop_or_one_line(tmp_path, changes, data):
    """Odd values and keys anywhere: exit code 2 has one line, nothing steers the terminal, no password is shown."""
    table = deepcopy(BASE)
    for where, key, value, beside in changes:
        inner = table
        try:
            for step in where[:-1]:
                inner = inner[step]
            inner[key if beside and isinstance(inner, dict) else where[-1]] = value
        except (TypeError, KeyError, IndexError):  # an earlier change took the place away
            continue
    command = data.draw(st.sampled_from(COMMANDS))
    code, out, err = ask(*command, "--config", written(tmp_path / "advisor.toml", table))
    assert code in (0, 1, 2, 3)
    assert code != 2 or err.count("\n") == 1
    assert SECRET not in out + err
    assert not STEERS.search(out + err)


@pytest.mark.parametrize("key", ["host", "base", "user", "client_id", "password_env", "credential", "tls_ca"])
@pytest.mark.parametrize("value", [f"mqtt://u:{SECRET}@h", f"u:{SECRET}@h", f"{SECRET}\x1b", [SECRET], {SECRET: 1}])
def test_a_password_in_the_brokers_table_is_refused_and_not_shown(tmp_path, key, value):
    assert f"mqtt.{key}" in refused(tmp_path, changed(("mqtt", key), value))


@pytest.mark.parametrize("table", ["mqtt", "notices"])
@pytest.mark.parametrize("key", [SECRET, f"json://u:{SECRET}@h", f"tgram://{SECRET}/1"])
def test_a_password_as_a_key_is_refused_and_not_shown(tmp_path, table, key):
    assert "unknown key;" in refused(tmp_path, changed((table, key), True))


@pytest.mark.parametrize(
    "address", [SECRET, f"u:{SECRET}@h", f"json://u:{SECRET}@h/a b", f"nosuch://{SECRET}", "json://"]
)
def test_a_destination_that_is_no_address_is_refused_and_not_shown(tmp_path, address):
    said = refused(tmp_path, changed(("notices", "destinations"), ["json://127.0.0.1/x", address]))
    assert "number 2" in said
    assert "json://127.0.0.1:8080/notices" in said


def test_a_destination_that_stands_there_twice_is_refused(tmp_path):
    assert "twice" in refused(tmp_path, changed(("notices", "destinations"), [f"json://{SECRET}@h"] * 2))


def test_a_line_that_is_no_toml_shows_no_key(tmp_path):
    file = tmp_path / "advisor.toml"
    file.write_text(f'coatings = ["shellac"]\n[notices."json://{SECRET}@h"]\n[notices."json://{SECRET}@h"]\n')
    code, _, err = ask("config", "check", "--config", str(file))
    assert (code, SECRET in err, "line 3" in err) == (2, False, True)


def test_destinations_are_known_by_name(tmp_path):
    addresses = [f"json://u:{SECRET}@h/1", f"tgram://123456789:{SECRET}aaaaaaaaaaaaaaaaaaaaaaaaaaaa/1", "json://h/2"]
    file = written(tmp_path / "advisor.toml", changed(("notices", "destinations"), addresses))
    code, out, _ = ask("config", "check", "--config", file)
    assert code == 0
    assert "json, tgram, json-2" in out
    assert SECRET not in out


def topics(*entries: dict) -> list[dict]:
    return [{"name": f"s{number}", "topics": [entry]} for number, entry in enumerate(entries)]


AIR = {"topic": "b/t", "column": "air_temperature_c"}
FIELD = {**AIR, "form": "json", "value_field": "t"}


@pytest.mark.parametrize(
    ("where", "value", "words"),
    [
        (("sensors",), topics({**AIR, "topic": "$SYS/broker/uptime"}), "not beginning with \\$"),
        (("forecast", "topic"), "$SYS/broker/uptime", "not beginning with \\$"),
        (("mqtt", "base"), "$SYS", "mqtt.base"),
        (("sensors",), topics({**AIR, "topic": "b/advisor/verdict"}), "is the advisor's own"),
        (("sensors",), topics({**AIR, "topic": "b/advisor/heartbeat/x"}), "is the advisor's own"),
        (("forecast", "topic"), "b/advisor/status", "is the advisor's own"),
        (("forecast", "topic"), "b/t", "has two uses"),
        (("sensors",), [{"name": "a", "topics": [AIR], "will": {"topic": "b/t"}}], "has two uses"),
        (("sensors",), [{"name": "a", "topics": [AIR], "will": {"topic": "b/advisor/status"}}], "is the advisor's own"),
        (("sensors",), topics(AIR, AIR), "'b/t' is named twice"),
        (("sensors",), topics(AIR, {**AIR, "column": "dew_point_c"}), "'b/t' is named twice"),
        (("sensors",), topics(FIELD, {**FIELD, "column": "dew_point_c"}), "field 't', is named twice"),
        (("sensors",), topics(AIR, {**FIELD, "column": "dew_point_c"}), "two forms"),
        (
            ("sensors",),
            [{"name": "a", "topics": [AIR, {"topic": "b/f", "column": "air_temperature_f"}]}],
            "air_temperature twice",
        ),
        (("notices", "quiet"), "22:00-22:00", "no hours at all"),
        (("limits",), {"surface_margin": "1 K", "surface_margin_certain": "2 K"}, "may not be over"),
        (("limits",), {"film_margin_least": "5 K"}, "film_margin_least '5 K'"),
        (("limits",), {"wood_furniture_low": "10 %"}, "may not be over"),
        (("limits",), {"plan_lead_last": "50 min", "plan_lead_second": "30 min"}, "may not be over"),
        (("name",), "The \x1b[2J boathouse", "cannot be printed"),
        (("logbook",), "log\x00.db", "cannot be printed"),
    ],
)
def test_what_contradicts_itself_is_refused_in_one_line(tmp_path, where, value, words):
    assert re.search(words, refused(tmp_path, changed(where, value)))


@pytest.mark.parametrize(
    ("where", "value"),
    [
        (("sensors",), topics(FIELD, {**FIELD, "value_field": "d", "column": "dew_point_c"})),
        (("sensors",), topics({**AIR, "topic": "b/advice/verdict"}, {**AIR, "topic": "b/advisory"})),
        (("notices", "quiet"), "22:00-22:01"),
        (("limits",), {"surface_margin": "1 K", "surface_margin_certain": "1 K"}),
        (("mqtt",), {"host": "broker_1.local."}),
        (("mqtt",), {"host": "fe80::1"}),
        (("name",), "Tom's & Jo: spray shop, Bodø"),
    ],
)
def test_what_stands_just_beside_it_is_taken(tmp_path, where, value):
    code, out, err = ask("config", "check", "--config", written(tmp_path / "advisor.toml", changed(where, value)))
    assert (code, err) == (0, "")
    assert "is in order" in out


def test_the_default_limits_are_in_order_themselves():
    for lower, upper in IN_ORDER:
        assert default_limits()[lower].number.value <= default_limits()[upper].number.value


@settings(max_examples=examples(40))
@given(
    st.dictionaries(
        st.sampled_from(sorted(default_limits())), st.one_of(st.sampled_from([0.0, 1.0]), st.floats(0, 1)), max_size=12
    ),
    st.sampled_from(["nitrocellulose-lacquer", "shellac", "waterborne-clear-2k"]),
)
def test_any_limits_within_their_ranges_are_a_working_shop_or_one_line(tmp_path, shares, coating):
    def text(key: str, share: float) -> str:
        limit = default_limits()[key]
        unit = "" if limit.unit.spelling == "ratio" else limit.unit.spelling
        low, high = (from_si(edge, limit.unit) for edge in (limit.low, limit.high))
        return f"{low + share * (high - low):.6f} {unit}".strip()

    table = {**BASE, "limits": {key: text(key, share) for key, share in shares.items()}}
    file = written(tmp_path / "advisor.toml", table)
    code, out, err = ask("check", "--air", "21C", "--rh", "52%", "--coating", coating, "--config", file)
    assert code in (0, 1, 2, 3)
    assert (code == 2) is (err.count("\n") == 1)
    assert bool(out) is (code != 2)


def test_no_sheet_makes_every_air_a_go(tmp_path):
    """A band from 0 to 100 % is no band; the widest that is believed still stops at 90 %."""
    sheet = tmp_path / "sheet.toml"
    file = written(tmp_path / "advisor.toml", {"coatings": ["our"], "data_sheets": ["sheet.toml"]})
    for most, code in (("100 %", 2), ("91 %", 2), ("90 %", 0)):
        sheet.write_text(
            f'based_on = "shellac"\nid = "our"\n[numbers]\nrelative_humidity_min = "0 %"\n'
            f'relative_humidity_go_high = "{most}"\nrelative_humidity_max = "{most}"\n'
        )
        assert ask("config", "check", "--config", file)[0] == code
    assert read_config(tmp_path / "advisor.toml").shop.coating("our").relative_humidity.wait_above.value == 0.9


@pytest.mark.parametrize("line", ['name = "a\\u001b[2J"', 'id = "plan 1"', 'id = "*"', f'sheet = "{"x" * 200}"'])
def test_a_sheet_with_a_text_that_cannot_be_shown_is_refused(tmp_path, line):
    (tmp_path / "sheet.toml").write_text(f'based_on = "shellac"\n{line}\n')
    table = {"coatings": ["shellac"], "data_sheets": ["sheet.toml"]}
    assert line.partition(" ")[0] in refused(tmp_path, table)
