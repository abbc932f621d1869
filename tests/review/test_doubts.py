"""What a log says that cannot have been the air is not believed; what can is."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from advisor.catalog.limits import in_a_word
from advisor.readings.reading import OUT_OF_RANGE, STEP, STUCK, WRONG_UNIT
from advisor.review.coat import SprayedCoat
from advisor.review.doubts import ALONE, CONTRADICTED, believed, contradicted, frozen
from advisor.review.page.doubt_words import DOUBTS, doubts
from advisor.series.air_track import AirTrack
from advisor.series.trace import NOTHING, Trace, Window
from tests.support import SHOP

HOUR, START = 3600.0, datetime(2025, 3, 12, tzinfo=UTC)
ALWAYS = Window(0.0, 1e12)


def day(values, every: float = 60.0) -> Trace:
    times = START.timestamp() + np.arange(len(values)) * every
    return Trace(times, np.asarray(values, dtype=np.float64), 0.3)


def noisy(level: float, wavers: float, digits: int, minutes: int = 1440, seed: int = 1) -> np.ndarray:
    return np.round(level + wavers * np.random.default_rng(seed).standard_normal(minutes), digits)


def usual() -> tuple[np.ndarray, np.ndarray]:
    return noisy(20.0, 0.1, 1), noisy(0.50, 0.005, 3, seed=2)


def marks(trace: Trace) -> set[str]:
    return {reason for _, reason, _ in trace.faults}


@pytest.mark.parametrize(("minutes", "doubted"), [(30, False), (44, False), (46, True), (180, True)])
def test_both_values_still_for_three_quarters_of_an_hour_is_a_logger_that_froze(minutes, doubted):
    air, damp = usual()
    air[600 : 601 + minutes], damp[600 : 601 + minutes] = 20.1, 0.503
    for read in frozen(day(air), day(damp)):
        assert (marks(read) == {STUCK}) is doubted


@pytest.mark.parametrize(("hours", "leap", "doubted"), [(3, 0.0, False), (3, 3.0, True), (14, 0.0, True)])
def test_a_coarse_sensor_may_stand_honestly_but_not_for_half_a_day_nor_before_a_leap(hours, leap, doubted):
    """Half a degree and one per cent to the step: in a steady room it moves once in half an hour."""
    drift = np.arange(1440) // 30 % 2
    air, damp = 20.0 + 0.5 * drift, 0.50 + 0.01 * drift
    end = 300 + hours * 60
    air[300:end], damp[300:end] = 20.0, 0.50
    air[end] += leap
    assert (marks(frozen(day(air), day(damp))[0]) == {STUCK}) is doubted


@pytest.mark.parametrize(("leap", "warms", "doubted"), [(-0.30, 0.0, True), (-0.15, 0.0, False), (-0.30, 1.5, False)])
def test_a_humidity_that_leaps_while_nothing_else_moves_is_not_believed(leap, warms, doubted):
    air, damp = usual()
    damp[700:760] += leap
    air[700:760] += warms
    read = believed(day(air), day(damp))[1]
    assert (marks(read) == {STEP}) is doubted
    if doubted:
        assert len(read.faults) == 60
        assert read.at(START.timestamp() + 770 * 60.0) == pytest.approx(0.5, abs=0.03)


def test_air_that_would_hold_more_water_than_any_shops_is_of_another_unit():
    air, damp = believed(day(noisy(50.0, 0.1, 1)), day(noisy(0.55, 0.005, 3)))
    assert not len(air.times)
    assert marks(air) == {WRONG_UNIT}
    assert len(damp.times)
    warm, _ = believed(day(noisy(34.0, 0.1, 1)), day(noisy(0.55, 0.005, 3)))
    assert not marks(warm)


@pytest.mark.parametrize(("follows", "doubted"), [(0.0, True), (0.15, True), (0.4, False), (0.9, False)])
def test_a_sensor_that_warms_while_the_piece_does_not_stood_in_the_sun(follows, doubted):
    air, damp = usual()
    rise = np.interp(np.arange(1440), [600, 615, 720, 735], [0.0, 8.0, 8.0, 0.0])
    lagged = np.convolve(rise, np.ones(30) / 30.0)[:1440]
    read = believed(day(air + rise), day(damp), day(noisy(19.6, 0.1, 1, seed=3) + follows * lagged))
    for trace in read:
        assert (ALONE in marks(trace)) is doubted
    assert read[0].at(START.timestamp() + 800 * 60.0) is not None


def coat(**said) -> SprayedCoat:
    return SprayedCoat(coating="acrylic-lacquer", sprayed=START + timedelta(hours=12), **said)


@pytest.mark.parametrize(
    ("read", "said", "mark"),
    [
        (54.0, {"surface": 12.0}, WRONG_UNIT),  # 54 °F is 12.2 °C
        (54.0, {"surface": 20.0}, ""),  # neither as it is nor turned
        (20.0, {"surface": 10.0}, ""),  # a cold piece is no contradiction
        (20.0, {"surface": 9.0, "material": 10.0}, ""),  # nor with cold paint from the van
        (28.0, {"surface": 20.0, "material": 20.5, "air": 20.0}, CONTRADICTED),
        (28.0, {"air": 20.0}, CONTRADICTED),
        (23.5, {"air": 20.0}, ""),  # two thermometers may differ so
    ],
)
def test_facts_that_were_read_by_hand_outweigh_the_log_only_where_they_contradict_it(read, said, mark):
    air, damp = contradicted(coat(**said), day(noisy(read, 0.1, 1)), day(usual()[1]))
    assert marks(air) == ({mark} if mark else set())
    assert marks(damp) == ({mark} if mark == CONTRADICTED else set())


def test_a_sensor_that_leapt_up_while_piece_and_paint_stayed_is_doubted_for_that_long():
    air, damp = usual()
    air[660:780] += 9.0
    read, _ = contradicted(coat(surface=19.5, material=20.0), day(air), day(damp))
    assert marks(read) == {ALONE}
    assert read.at(START.timestamp() + 600 * 60.0) is not None


@pytest.mark.parametrize(("humidity", "doubted"), [(0.52, False), (0.64, False), (0.68, True)])
def test_another_hygrometer_may_differ_by_so_much(humidity, doubted):
    air, damp = usual()
    _, read = contradicted(coat(humidity=humidity), day(air), day(np.full(1440, 0.5) + damp - damp))
    assert bool(marks(read)) is doubted


def test_a_reading_by_hand_stands_where_no_sensor_does():
    at = START.timestamp() + 600.0
    assert NOTHING.by_hand(at, 21.0, 0.5).at(at) == 21.0
    assert day(usual()[0]).by_hand(at, 30.0, 0.5).at(at) == pytest.approx(20.0, abs=0.5)
    assert NOTHING.by_hand(at, None, 0.5) is NOTHING


def test_the_sensor_is_named_with_what_it_looked_like():
    air = day(noisy(72.0, 0.1, 1))
    air = replace(air.without_window(ALWAYS, OUT_OF_RANGE), sensor="shelf")
    (said,) = doubts(AirTrack("shop", {"air_temperature": air}), ALWAYS, START.timestamp(), SHOP)
    assert "(shelf): air temperature read 72 under a Celsius header: that looks like Fahrenheit, 22.2 °C." in said


def test_what_is_doubted_is_no_silence_in_the_picture():
    assert not [reason for reason in DOUBTS if in_a_word(reason) == "no reading"]
    assert in_a_word("") == "no reading"


def test_a_moment_of_doubt_is_not_worth_a_sentence():
    air = day(noisy(72.0, 0.1, 1, minutes=4)).without_window(ALWAYS, OUT_OF_RANGE)
    assert not doubts(AirTrack("shop", {"air_temperature": air}), ALWAYS, START.timestamp(), SHOP)
