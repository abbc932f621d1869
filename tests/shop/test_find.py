"""Where the configuration is looked for, and what happens without one."""

import pytest

from advisor.errors import ConfigError
from advisor.shop import find
from advisor.shop.find import find_config, shop_from
from advisor.shop.shop import Shop


@pytest.fixture
def places(tmp_path, monkeypatch):
    """Every place a configuration may lie, empty; returned in the order in which they are looked at."""
    here = tmp_path / "here"
    here.mkdir()
    monkeypatch.chdir(here)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "user"))
    monkeypatch.setattr(find, "SYSTEM_FILE", tmp_path / "etc" / "advisor.toml")
    named = tmp_path / "named.toml"
    monkeypatch.setenv("ADVISOR_CONFIG", str(named))
    return [
        named,
        here / "advisor.toml",
        tmp_path / "user" / "spray-day-advisor" / "advisor.toml",
        tmp_path / "etc" / "advisor.toml",
    ]


def test_the_nearer_file_wins(places, monkeypatch, tmp_path):
    for path in places:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text('coatings = ["shellac"]')
    given = tmp_path / "given.toml"
    assert find_config(given) == given
    assert find_config(None) == places[0]
    monkeypatch.delenv("ADVISOR_CONFIG")
    for path in places[1:]:
        assert find_config(None).resolve() == path
        path.unlink()
    assert find_config(None) is None


def test_without_a_file_the_shop_is_one_of_defaults(places, monkeypatch):
    monkeypatch.delenv("ADVISOR_CONFIG")
    assert shop_from(None) == Shop()


def test_a_named_file_that_is_not_there_is_an_error(places):
    with pytest.raises(ConfigError, match="cannot read"):
        shop_from(None)


def test_a_folder_is_an_error(tmp_path):
    with pytest.raises(ConfigError, match="is a folder"):
        shop_from(tmp_path)
