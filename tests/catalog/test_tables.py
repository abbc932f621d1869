"""The other tables: every limit has a source, every rule a standing for every family."""

import pytest

from advisor.catalog.coatings import coating_ids
from advisor.catalog.limits import ADVISORY, DECIDING, WHILE_NEW, default_limits, quality_limits, standings
from advisor.catalog.quantities import kind_of, label, normal_name, quantity_kinds
from advisor.judge.film_rules import FILM_RULES
from advisor.judge.rules import RULES
from tests.catalog import TAGS
from tests.support import every


@every("key", default_limits())
def test_a_default_limit_has_a_source_and_a_plain_name(key):
    limit = default_limits()[key]
    assert limit.number.tag in TAGS
    assert limit.number.source
    assert limit.label
    assert limit.number.value > 0


@every("key", quality_limits())
def test_a_quality_limit_has_a_source_and_belongs_to_a_quantity(key):
    number = quality_limits()[key]
    assert number.tag in TAGS
    assert number.source
    assert key[0] in quantity_kinds()


@pytest.mark.parametrize("kind", quantity_kinds())
def test_every_quantity_has_a_range_in_order(kind):
    limits = quality_limits()
    assert limits[kind, "range_low"].value < limits[kind, "range_high"].value


def test_every_rule_has_a_standing_for_every_family():
    expected = {(rule.__name__, family) for rule in (*RULES, *FILM_RULES) for family in coating_ids()}
    assert set(standings()) == expected
    assert set(standings().values()) <= {DECIDING, ADVISORY, WHILE_NEW}


@pytest.mark.parametrize(
    ("name", "normal"),
    [
        ("air_temperature", "air_temperature"), ("particles_5um", "particles_5um"), ("pm2_5", "pm2.5"),
        ("particles_0_5um", "particles_0.5um"), ("pm10", "pm10"), ("particles", None), ("pm", None),
        ("particles_um", None), ("colour", None),
    ],
)  # fmt: skip
def test_a_quantity_is_known_by_its_names(name, normal):
    assert normal_name(name) == normal


def test_labels_carry_the_size():
    assert label("particles_5um") == "particle count over 5 µm"
    assert label("pm2.5") == "dust mass PM2.5"
    assert label("dew_point") == "dew point"
    assert kind_of("pm2.5").dimension == "mass_concentration"
