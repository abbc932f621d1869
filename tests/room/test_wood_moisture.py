"""What the wood in a shop settles at: the Wood Handbook's own figures, weeks of log, and what is said of it."""

from datetime import UTC, datetime

import numpy as np
import pytest

from advisor.room.wood_moisture import wood_of_air, wood_of_log
from advisor.say.room_words import wood_record, wood_told
from tests.outlook.columns import damp_air
from tests.support import SHOP, reference_rows

DAY = 86_400.0


def weeks(days, air=21.0, humidity=0.5, step=3600.0):
    seconds = np.arange(0.0, days * DAY + 1.0, step)
    return damp_air(seconds, np.full(seconds.size, air), np.full(seconds.size, humidity))


def test_typed_air_meets_the_handbook():
    """Wood Handbook Table 4-2, to its rounding and 0.1 of a percent: 21.1 °C, 50 %: 9.2 %."""
    assert reference_rows("wood_emc.csv")
    assert wood_of_air(21.1, 0.5).moisture == pytest.approx(0.092, abs=0.001)


@pytest.mark.parametrize(("days", "tells"), [(13.9, False), (14.0, True), (14.1, True), (40.0, True)])
def test_two_weeks_of_log_are_enough_and_less_is_not(days, tells):
    wood = wood_of_log(weeks(days))
    assert (wood.moisture is not None) == tells
    said = " ".join(wood_told(wood, "shop", SHOP))
    if tells:
        assert wood.moisture == pytest.approx(0.0924, abs=0.001)
        assert said.startswith(f"The wood in this shop settles at about 9.2 % ({min(days, 28.0):.0f} days of log;")
        assert "furniture wants 6 to 8 %" in said
    else:
        assert said.startswith("Cannot tell: ")
        assert "13.9" in said


def test_nothing_logged_is_no_log_of_none():
    assert "there are 0." in wood_told(wood_of_log(weeks(0)), "shop", SHOP)[0]


@pytest.mark.parametrize(
    ("humidity", "words"), [(0.25, "will swell"), (0.36, ""), (0.55, "will shrink"), (0.90, "too damp to be painted")]
)
def test_each_side_of_what_furniture_wants_has_its_words(humidity, words):
    said = " ".join(wood_told(wood_of_air(21.0, humidity), "shop", SHOP))
    assert words in said
    assert "a fast change swells or shrinks joints" in said
    if not words:
        assert "than that" not in said


def test_what_is_shown_is_what_is_judged():
    """A little over 8 % shows as 8 %, and is within 6 to 8 %."""
    assert 0.08 < wood_of_air(21.0, 0.422).moisture < 0.0805
    assert "than that" not in " ".join(wood_told(wood_of_air(21.0, 0.422), "shop", SHOP))


def test_damper_air_is_damper_wood_and_a_place_keeps_its_name():
    assert wood_of_log(weeks(20, humidity=0.6)).moisture > wood_of_log(weeks(20)).moisture
    assert wood_told(wood_of_log(weeks(20)), "loft", SHOP)[0].startswith("The wood in loft settles")


def test_air_beyond_the_table_is_told():
    said = " ".join(wood_told(wood_of_log(weeks(20, humidity=0.98)), "shop", SHOP))
    assert "100 % of the log lay outside 5 to 95 % humidity" in said


def test_the_record_is_plain_si():
    record = wood_record(wood_of_log(weeks(20)), "shop", SHOP, datetime(2025, 10, 14, 12, tzinfo=UTC))
    assert record["schema"] == 1
    assert record["log_seconds"] == pytest.approx(20 * DAY)
    assert (record["furniture_low"], record["furniture_high"], record["paint_most"]) == (0.06, 0.08, 0.16)
    assert record["cannot_tell"] is False
