"""A fan-on trial read back: synthetic rooms with noise, what cannot be told, what is refused."""

from statistics import median

import numpy as np
import pytest

from advisor.errors import OutOfRange
from advisor.physics.room.room import Room, RoomStart, Segment, room_course
from advisor.physics.room.room_fit import fit_trial
from tests.physics.room.room_cases import ratio
from tests.support import every

MINUTES = np.arange(0.0, 601.0, 60.0)
COLD = ((20.0, 0.40), (0.0, 0.85))
WARM = ((18.0, 0.55), (22.0, 0.85))
MILD = ((20.0, 0.50), (12.0, 0.60))
DRY = ((20.0, 0.60), (20.0, 0.40))  # as warm outside


def readings(inside, outside, flow=0.5, film=900.0, volume=90.0, dice=None, times=MINUTES):
    """Temperatures [°C] and humidity ratios of a trial; dice: 0.1 K and 1 % of humidity noise in each reading."""
    room = Room(volume, film_conductance=film)
    segment = Segment(float(times[-1]), outside[0], ratio(*outside), exhaust=flow)
    course = room_course(room, RoomStart(inside[0], ratio(*inside)), [segment], times)
    air, humidity = course.air_temperature[0], course.relative_humidity[0]
    if dice is not None:
        air = air + dice.normal(0.0, 0.1, air.size)
        humidity = np.clip(humidity + dice.normal(0.0, 0.01, air.size), 0.01, 1.0)
    return air, ratio(air, humidity)


def fitted(inside, outside, dice=None, volume=90.0, off=0.0, wet=0.0, times=MINUTES, **room):
    air, moisture = readings(inside, outside, volume=volume, dice=dice, times=times, **room)
    return fit_trial(times, air, moisture, outside[0], ratio(*outside), volume, off, wet)


@pytest.mark.parametrize("day", [COLD, WARM, MILD])
@pytest.mark.parametrize(("flow", "film"), [(0.2, 500.0), (0.5, 900.0), (1.0, 2000.0)])
def test_a_trial_without_noise_gives_its_room_back(day, flow, film):
    """The air's density is taken from the first reading in both; humidity ratio from rounded humidity: 0.1 %."""
    told = fitted(*day, flow=flow, film=film)
    assert told.flow.value == pytest.approx(flow, rel=1e-3)
    assert told.air_change.value == pytest.approx(flow / 90.0, rel=1e-3)
    assert told.film_conductance is not None
    assert told.film_conductance.value == pytest.approx(film, rel=5e-3)
    assert told.unclear is None


@pytest.mark.slow
@pytest.mark.parametrize("day", [COLD, WARM, MILD])
def test_with_a_sensor_s_noise_the_flow_is_found_within_its_own_stated_uncertainty(day):
    """0.1 K and 1 % of humidity, 40 trials: within two standard uncertainties at least 35 times, never over four."""
    dice = np.random.default_rng(11)
    trials = [fitted(*day, dice=dice) for _ in range(40)]
    off = np.array([abs(told.flow.value - 0.5) / told.flow.uncertainty for told in trials])
    assert np.sum(off <= 2.0) >= 35
    assert off.max() < 4.0
    assert median(told.flow.uncertainty for told in trials) < 0.05  # a tenth of the flow
    films = [told.film_conductance for told in trials if told.film_conductance is not None]
    assert len(films) >= 38
    far = np.array([abs(film.value - 900.0) / film.uncertainty for film in films])
    assert np.sum(far <= 2.0) >= len(films) - 5
    assert median(film.uncertainty for film in films) < 150.0


def test_more_flow_reads_as_more_and_warmer_walls_as_warmer():
    assert fitted(*COLD, flow=0.6).flow.value > fitted(*COLD, flow=0.5).flow.value
    more, less = (fitted(*COLD, film=film).film_conductance for film in (1000.0, 900.0))
    assert more is not None
    assert less is not None
    assert more.value > less.value


def test_the_air_change_does_not_hang_on_the_volume_and_the_flow_does():
    air, moisture = readings(*COLD)
    here, there = (
        fit_trial(MINUTES, air, moisture, 0.0, ratio(*COLD[1]), volume, 0.0, 0.0) for volume in (90.0, 180.0)
    )
    assert here.air_change.value == pytest.approx(there.air_change.value)
    assert 2.0 * here.flow.value == pytest.approx(there.flow.value)


def test_a_doubtful_outdoor_sensor_widens_what_is_told():
    sure, doubtful = (fitted(*WARM, dice=np.random.default_rng(5), off=off, wet=off / 1000.0) for off in (0.0, 0.5))
    assert doubtful.flow.value == pytest.approx(sure.flow.value, rel=0.1)
    assert doubtful.flow.uncertainty > 1.5 * sure.flow.uncertainty


def test_an_outdoor_reading_that_is_off_stays_within_what_was_stated_for_it():
    """Outdoors read 3 % too damp (one standard uncertainty): the flow is off by no more than twice what is stated."""
    air, moisture = readings(*WARM, dice=np.random.default_rng(6))
    wrong = ratio(22.0, 0.88)
    told = fit_trial(MINUTES, air, moisture, 22.0, wrong, 90.0, 0.0, wrong - ratio(22.0, 0.85))
    assert abs(told.flow.value - 0.5) < 2.0 * told.flow.uncertainty


@pytest.mark.slow
@pytest.mark.parametrize("day", [COLD, MILD])
def test_two_plain_sensors_that_do_not_agree_still_tell_the_flow(day):
    """Indoors and outdoors each 0.5 K and 3 % off, as sensors are, 40 trials: within two of its own uncertainties.

    What outdoors is taken for is fitted beside the rest: readings that come to lie still tell it themselves.
    """
    dice = np.random.default_rng(7)
    off = []
    for _ in range(40):
        air, moisture = readings(*day, dice=dice)
        humidity = moisture / ratio(air, 0.5) * 0.5 + dice.normal(0.0, 0.03)
        outside, damp = day[1][0] + dice.normal(0.0, 0.5), min(day[1][1] + dice.normal(0.0, 0.03), 1.0)
        slopes = [(ratio(warm, 0.5) - ratio(warm, 0.49)) / 0.01 for warm in (outside, air[-1])]
        wet = 0.03 * float(np.hypot(*slopes))
        try:
            told = fit_trial(MINUTES, air, ratio(air, humidity), outside, ratio(outside, damp), 90.0, 0.71, wet)
        except OutOfRange:
            continue
        off.append(abs(told.flow.value - 0.5) / told.flow.uncertainty)
    assert len(off) >= 34
    assert np.mean(np.array(off) <= 2.0) >= 0.85


def test_as_warm_outside_the_flow_is_told_and_the_walls_are_not():
    told = fitted(*DRY, dice=np.random.default_rng(3))
    assert told.flow.value == pytest.approx(0.5, abs=2.5 * told.flow.uncertainty)
    assert told.film_conductance is None
    assert told.unclear is not None
    assert "20.0 °C outdoors" in told.unclear


@every("seed", range(12))
@every("outside", [(20.0, 0.50), (20.0, 0.49), (5.0, 0.999)])
def test_air_as_damp_outside_tells_nothing(seed, outside):
    """Alike, alike but for the noise, and cold but of nearly the same moisture."""
    inside = (20.0, 0.50) if outside[0] > 10 else (20.0, 0.373)
    with pytest.raises(OutOfRange, match="a difference well over the readings' noise"):
        fitted(inside, outside, dice=np.random.default_rng(seed))


def test_readings_that_are_wholly_steady_tell_nothing():
    with pytest.raises(OutOfRange, match="a difference well over"):
        fit_trial(MINUTES, np.full(11, 20.0), np.full(11, 0.008), 10.0, 0.006, 90.0, 0.0, 0.0)
    with pytest.raises(OutOfRange, match="a difference well over"):
        fit_trial(MINUTES, np.full(11, 20.0), np.full(11, 0.008), 10.0, 0.008, 90.0, 0.0, 0.0)


def test_readings_that_move_away_from_outdoors_tell_nothing():
    air, moisture = readings(*WARM)
    with pytest.raises(OutOfRange, match="that shrinks"):
        fit_trial(MINUTES, air, moisture[::-1], 22.0, ratio(22.0, 0.85), 90.0, 0.0, 0.0)


AIR, MOISTURE = readings(*COLD)


@pytest.mark.parametrize(
    ("changed", "words"),
    [({"seconds": MINUTES[:5], "air_temperature": AIR[:5], "humidity_ratio": MOISTURE[:5]}, "5 readings"),
     ({"seconds": MINUTES[:9]}, "unequal lengths \\(9, 11, 11\\)"),
     ({"seconds": MINUTES[::-1]}, "times that do not rise"),
     ({"seconds": np.where(MINUTES == 60.0, np.nan, MINUTES)}, "time nan"),
     ({"air_temperature": np.where(MINUTES == 60.0, np.nan, AIR)}, "air temperature nan"),
     ({"humidity_ratio": np.where(MINUTES == 60.0, np.nan, MOISTURE)}, "humidity ratio nan"),
     ({"outdoor_temperature": np.nan}, "outdoor temperature nan"),
     ({"outdoor_humidity_ratio": np.nan}, "outdoor humidity ratio nan"),
     ({"volume": np.nan}, "room volume nan"),
     ({"outdoor_temperature_uncertainty": np.nan}, "temperature uncertainty nan"),
     ({"outdoor_humidity_ratio_uncertainty": -1e-6}, "humidity uncertainty -1e-06")],
)  # fmt: skip
def test_records_that_are_no_trial_are_refused(changed, words):
    trial = {
        "seconds": MINUTES,
        "air_temperature": AIR,
        "humidity_ratio": MOISTURE,
        "outdoor_temperature": 0.0,
        "outdoor_humidity_ratio": 0.003,
        "volume": 90.0,
        "outdoor_temperature_uncertainty": 0.0,
        "outdoor_humidity_ratio_uncertainty": 0.0,
    }
    with pytest.raises(OutOfRange, match=words):
        fit_trial(**{**trial, **changed})


def test_six_readings_are_enough():
    assert fitted(*COLD, times=MINUTES[:6]).flow.value == pytest.approx(0.5, rel=1e-3)
