"""The configuration: what is in it is used, what is not has a named default, and a slip is told with its path."""

import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import AdvisorError, ConfigError
from advisor.shop.config import read_config
from advisor.shop.shop import Shop, TopicMap
from tests.support import ROOT, examples


def write(folder: Path, text: str) -> Path:
    path = folder / "advisor.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_the_commented_example_is_in_order_and_used():
    shop = read_config(ROOT / "configs" / "boathouse.toml").shop
    assert shop.name == "The boathouse"
    assert shop.coatings[-1] == "boathouse-clear"
    assert shop.coating("boathouse-clear").air_temperature.wait_below.value == 14.0
    assert shop.accuracy("shelf", "air_temperature") == 0.3
    assert shop.accuracy("mast", "relative_humidity") == pytest.approx(0.04)
    assert shop.places == {"shop": "indoors", "outdoors": "outdoors"}


def test_the_minimal_example_leaves_every_default_in_place():
    read = read_config(ROOT / "configs" / "minimal.toml")
    assert read.shop == Shop(coatings=("nitrocellulose-lacquer",))
    assert read.stated == {"coatings"}


def test_the_commented_dialect_in_the_example_is_a_valid_one(tmp_path):
    """What the comment offers for a spreadsheet must work when someone uncomments it."""
    comment = (ROOT / "configs" / "boathouse.toml").read_text("utf-8")
    lines = [line.removeprefix("#   ") for line in comment.splitlines() if line.startswith("#   ")]
    shop = read_config(write(tmp_path, 'coatings = ["shellac"]\n[csv]\n' + "\n".join(lines))).shop
    assert (shop.csv.delimiter, shop.csv.decimal, shop.csv.columns["Zeit"]) == (";", ",", "time")


def test_us_units_are_read_and_kept_in_si(tmp_path):
    shop = read_config(
        write(tmp_path, 'coatings=["shellac"]\nunits="us"\naltitude="1000 ft"\n[booth]\nfan_flow="1060 cfm"\n')
    ).shop
    assert shop.altitude == pytest.approx(304.8)
    assert shop.fan_flow == pytest.approx(0.5003, abs=1e-3)


def test_a_limit_of_the_shops_own_wins(tmp_path):
    shop = read_config(
        write(tmp_path, 'coatings=["shellac"]\n[limits]\nfresh_for="30 min"\nsurface_margin="9 F"\n')
    ).shop
    assert shop.limit("fresh_for").value == 1800
    assert shop.limit("surface_margin").value == pytest.approx(5.0)
    assert shop.limit("holds_for").value == 900


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "coatings: is missing"),
        ("coatings = []", "coatings"),
        ('coatings = ["shelac"]', "did you mean shellac"),
        ('coatings = ["shellac"]\ncoating = 1', "unknown key 'coating'; did you mean coatings"),
        ('coatings = ["shellac"]\n[room]\nvolum = "9 m3"', "room: unknown key 'volum'; did you mean volume"),
        ('coatings = ["shellac"]\n[room]\nvolume = 90', "room.volume: .*quotes"),
        ('coatings = ["shellac"]\n[room]\nvolume = "90"', "room.volume: .*no unit"),
        ('coatings = ["shellac"]\n[room]\nvolume = "0.5 m3"', "room.volume"),
        ('coatings = ["shellac"]\n[room]\nvolume = "nan m3"', "room.volume"),
        ('coatings = ["shellac"]\naltitude = "9000 m"', "altitude"),
        ('coatings = ["shellac"]\nzone = "Atlantis/Middle"', "zone: .*Europe/London"),
        ('coatings = ["shellac"]\nzone = "../../etc/passwd"', "zone"),
        ('coatings = ["shellac"]\nunits = "imperial"', "units: .*metric"),
        ('coatings = ["shellac"]\nair_supply = "bellows"', "air_supply"),
        ('coatings = ["shellac"]\nspray_place = "yard"\n[places]\nyard = "outdoors"', "outdoors"),
        ('coatings = ["shellac"]\n[places]\nyard = "outside"', "places.yard"),
        ('coatings = ["shellac"]\n[[sensors]]\nname = "a"\n[[sensors]]\nname = "a"', "one name"),
        ('coatings = ["shellac"]\n[[sensors]]\nname = "a"\naccuracy = "3 %"', "sensors.0: unknown key"),
        (
            'coatings = ["shellac"]\n[[sensors]]\nname = "a"\nrelative_humidity_accuracy = "30 %"',
            "relative_humidity_accuracy",
        ),
        ('coatings = ["shellac"]\n[csv]\ndecimal = ","', "decimal comma goes with"),
        ('coatings = ["shellac"]\n[csv]\nencoding = "klingon"', "klingon"),
        ('coatings = ["shellac"]\n[csv]\nencoding = "hex"', "no text encoding"),
        ('coatings = ["shellac"]\n[limits]\nfresh = "1 h"', "did you mean fresh_for"),
        ('coatings = ["shellac"]\n[limits]\nfresh_for = "1 C"', "does not fit"),
        ('coatings = ["shellac"]\ndata_sheets = ["none.toml"]', "cannot read"),
        ("coatings = [", "not TOML"),
    ],
)
def test_a_slip_is_told_with_its_path_and_what_to_do(tmp_path, text, words):
    with pytest.raises(AdvisorError, match=words):
        read_config(write(tmp_path, text))


def test_all_slips_are_told_at_once(tmp_path):
    with pytest.raises(ConfigError) as caught:
        read_config(write(tmp_path, 'coatings = ["shellac"]\nunits = "imperial"\naltitude = "far up"\n'))
    assert "units" in str(caught.value)
    assert "altitude" in str(caught.value)


@pytest.mark.parametrize("content", [b"\xff\xfe", b"[" * 5000, b"a" * 2_000_000])
def test_what_is_no_configuration_is_one_plain_error(tmp_path, content):
    path = tmp_path / "advisor.toml"
    path.write_bytes(content)
    with pytest.raises(ConfigError):
        read_config(path)


SCALARS = st.one_of(st.none(), st.booleans(), st.integers(-5, 5), st.floats(allow_nan=False), st.text(max_size=8))
TABLES = st.recursive(
    SCALARS,
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=6), inner, max_size=3)),
    max_leaves=6,
)


@settings(max_examples=examples(150))
@given(
    st.dictionaries(
        st.sampled_from(
            ["coatings", "zone", "units", "altitude", "places", "sensors", "room", "booth", "csv", "limits"]
        ),
        TABLES,
    )
)
def test_no_table_of_values_raises_anything_but_a_plain_error(monkeypatch, table):
    monkeypatch.setattr(tomllib, "loads", lambda text: table)
    try:
        read_config(ROOT / "configs" / "minimal.toml")
    except AdvisorError as error:
        assert "\n" not in str(error).replace("\\n", "")


def test_the_last_will_of_a_sensor_is_a_topic_of_its_own(tmp_path):
    sensor = 'coatings = ["shellac"]\n[[sensors]]\nname = "a"\nplace = "booth"\nclock = "payload"\n'
    shop = read_config(write(tmp_path, sensor + 'will = { topic = "a/alive" }\n')).shop
    assert shop.topics == (TopicMap("a", "booth", "a/alive", "payload", "will", payload="offline"),)
    shop = read_config(write(tmp_path, sensor + 'will = { topic = "a/alive", payload = "0" }\n')).shop
    assert shop.topics[0].payload == "0"
    for will in ('{ topic = "a/#" }', '{ payload = "0" }', '{ topic = "a", payload = "" }', '{ topic = "a", qos = 1 }'):
        with pytest.raises(AdvisorError, match="will"):
            read_config(write(tmp_path, f"{sensor}will = {will}\n"))
