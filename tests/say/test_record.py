"""The JSON record: SI and °C, UTC with Z, null for what is missing, and the fixed keys."""

import json
import math
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.judge.conditions import Conditions
from advisor.judge.verdict import State
from advisor.say.as_json import number, utc
from advisor.say.record import verdict_record
from advisor.shop.shop import Shop
from advisor.ways.proof import proved
from tests.support import LONDON, NOON, SHOP, typed, verdict_for

KEYS = {
    "schema", "as_of", "computed_at", "valid_until", "holds_until", "coating", "place", "state", "cannot_tell", "air",
    "findings", "cautions",
}  # fmt: skip


def record(coating="shellac", known=None, shop=SHOP):
    return verdict_record(verdict_for(coating, known or typed(22, 0.45, 21), shop), shop, NOON)


def test_the_fixed_keys_are_there():
    assert set(record()) >= KEYS
    assert record()["schema"] == 1
    assert record()["state"] == "go"


def test_it_speaks_si_whatever_the_shop_reads():
    us = Shop(units="us", coatings=("shellac",))
    assert record(shop=us)["air"]["air_temperature"] == 22.0
    assert record(shop=us)["findings"][1]["measured"] == 22.0
    assert record(shop=us)["air"]["dew_point_uncertainty"] == record()["air"]["dew_point_uncertainty"]


def test_what_is_missing_is_null():
    empty = record(known=Conditions("shop"))
    assert empty["air"] is None
    assert empty["holds_until"] is None
    assert empty["findings"][0]["measured"] is None
    assert empty["cannot_tell"] is True
    json.dumps(empty, allow_nan=False)


def test_times_are_utc_with_z():
    assert utc(NOON.astimezone(LONDON) + timedelta(microseconds=5)) == "2025-10-14T12:00:00Z"


@given(st.floats())
def test_no_number_is_nan(value):
    assert number(value) is None or math.isfinite(number(value))
    assert number(None) is None


@pytest.mark.parametrize("known", [typed(14, 0.55, 14), typed(24, 0.82, 23), typed(29, 0.2), typed(22)])
def test_every_finding_that_is_not_ok_says_why_and_each_number_to_reach_holds(known):
    verdict = proved(verdict_for("nitrocellulose-lacquer", known), known, SHOP, NOON)
    told = False
    for finding in verdict_record(verdict, SHOP, NOON)["findings"]:
        if finding["level"] in ("change", "stop"):
            assert finding["words"]
            assert all(way["state"] in ("go", "change") for way in finding["remedies"] if way["target"] is not None)
            told |= bool(finding["remedy"])
            assert finding["margin"] < 0
            assert finding["source"]
    assert told or verdict.state is State.GO or verdict.cannot_tell
