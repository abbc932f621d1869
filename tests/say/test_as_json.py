"""Records as JSON: null for what is missing or no number, times in UTC with Z, small figures to six digits."""

from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from enum import StrEnum
from math import inf, nan

import pytest

from advisor.errors import OutOfRange
from advisor.say.as_json import Forms, headed, keyed


class Colour(StrEnum):
    """A state."""

    RED = "red"


@dataclass(frozen=True)
class Inner:
    """A record within another."""

    depth: float
    name: str = ""

    @property
    def beyond(self) -> float:
        """What its equation does not reach."""
        raise OutOfRange("9 K", "up to 8 K", "read again")


@dataclass(frozen=True)
class Outer:
    """A record."""

    inner: Inner | None
    colour: Colour = Colour.RED
    parts: tuple[Inner, ...] = ()
    at: datetime = datetime(2026, 3, 2, 9, 30, 0, 900_000, tzinfo=timezone(timedelta(hours=2)))


def test_keys_stand_in_the_order_of_the_form_and_may_be_named_anew():
    record = keyed("hue=colour depth=inner.depth at", Outer(Inner(1.23456789)))
    assert list(record.items()) == [("hue", "red"), ("depth", 1.234568), ("at", "2026-03-02T07:30:00Z")]


@pytest.mark.parametrize(
    ("form", "record", "value"),
    [
        ("depth=inner.depth", Outer(None), None),
        ("depth=inner.depth", Outer(Inner(nan)), None),
        ("depth~=inner.depth", Outer(Inner(inf)), None),
        ("depth=inner.depth", Outer(Inner(1.23456e-5)), 1.2e-5),
        ("depth~=inner.depth", Outer(Inner(1.23456789e-5)), 1.23457e-5),
        ("depth!=inner.depth", Outer(Inner(1.23456789e-5)), 1.23456789e-5),
        ("depth=inner.beyond", Outer(Inner(1.0)), None),
        ("name?=inner.name", Outer(Inner(1.0)), None),
        ("name=inner.name", Outer(Inner(1.0)), ""),
        ("at@", {"at": 86_400.0}, "1970-01-02T00:00:00Z"),
        ("second=pair.1", {"pair": (1.0, 2.5)}, 2.5),
    ],
)
def test_a_sign_says_how_a_value_is_written_and_what_is_missing_is_null(form, record, value):
    assert list(keyed(form, record).values()) == [value]


def test_a_record_within_a_record_goes_by_its_own_form_and_gets_what_stands_beside():
    forms = Forms(
        {
            Outer: ("colour", {"parts": lambda outer, _: outer.parts}),
            Inner: ("name", {"said": lambda inner, shop: shop}),
        }
    )
    record = forms(Outer(None, parts=(Inner(1.0, "a"), Inner(2.0, "b"))), "shop")
    assert record == {"colour": "red", "parts": [{"name": "a", "said": "shop"}, {"name": "b", "said": "shop"}]}
    assert forms(None) is None


def test_a_dataclass_without_a_form_is_its_fields():
    assert Forms({})([Inner(0.5, "a")]) == [{"depth": 0.5, "name": "a"}]


def test_an_answer_begins_with_its_form_and_when_it_was_computed():
    found = headed(datetime(2026, 3, 2, 9, 30, tzinfo=timezone(timedelta(hours=1))), {"place": "booth"})
    assert list(found.items()) == [("schema", 1), ("computed_at", "2026-03-02T08:30:00Z"), ("place", "booth")]
