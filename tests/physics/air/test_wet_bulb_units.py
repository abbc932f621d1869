"""The wet bulb, whatever units somebody else in the process has set the library of moist air to."""

from concurrent.futures import ThreadPoolExecutor
from threading import Event

import numpy as np
import psychrolib
import pytest

from advisor.physics.air import moist_air

SEA_LEVEL = 101_325.0
STATES = [(24.0, 0.5), (5.0, 0.85), (35.0, 0.2), (12.5, 0.96)]


@pytest.fixture(autouse=True)
def _as_it_stood(monkeypatch):
    """Whatever a test here sets is taken back."""
    for name in ("PSYCHROLIB_UNITS", "PSYCHROLIB_TOLERANCE"):
        monkeypatch.setattr(psychrolib, name, getattr(psychrolib, name))


def expected():
    """By psychrolib itself, in SI."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    return [psychrolib.GetTWetBulbFromRelHum(air, humidity, SEA_LEVEL) for air, humidity in STATES]


@pytest.mark.parametrize("units", [psychrolib.IP, psychrolib.SI, None], ids=str)
def test_units_that_somebody_else_set_neither_change_the_wet_bulb_nor_are_changed_by_it(units, monkeypatch):
    """24 °C and 50 % gave 24.0 °C after somebody had set IP, and theirs was SI from then on; unset stays unset."""
    wanted = expected()
    if units is None:
        monkeypatch.setattr(psychrolib, "PSYCHROLIB_UNITS", None)
    else:
        psychrolib.SetUnitSystem(units)
    tolerance = psychrolib.PSYCHROLIB_TOLERANCE
    for (air, humidity), wet in zip(STATES, wanted, strict=True):
        assert moist_air.wet_bulb(air, humidity, SEA_LEVEL) == pytest.approx(wet, abs=2e-3)
    assert psychrolib.GetUnitSystem() is units
    assert tolerance == psychrolib.PSYCHROLIB_TOLERANCE


def test_many_threads_get_the_same_wet_bulb_while_another_keeps_flipping_the_units():
    wanted = expected()
    air, humidity = np.array(STATES).T
    done = Event()

    def flips():
        count = 0
        while not done.is_set():
            psychrolib.SetUnitSystem(psychrolib.IP)
            assert psychrolib.GetUnitSystem() is psychrolib.IP
            psychrolib.SetUnitSystem(psychrolib.SI)
            assert psychrolib.GetUnitSystem() is psychrolib.SI
            count += 1
        return count

    moist_air._psychrolib.cache_clear()  # the first call of all, too
    with ThreadPoolExecutor(9) as pool:
        flipping = pool.submit(flips)
        try:
            answers = list(pool.map(lambda _: moist_air.wet_bulb(air, humidity, SEA_LEVEL), range(400)))
        finally:
            done.set()
        assert flipping.result() > 100
    for answer in answers:
        assert answer == pytest.approx(wanted, abs=2e-3)


def test_a_wet_bulb_that_needs_a_library_that_is_not_there_says_so(monkeypatch):
    monkeypatch.setattr(moist_air, "find_spec", lambda name: None)
    moist_air._psychrolib.cache_clear()
    with pytest.raises(ModuleNotFoundError, match="psychrolib is not installed"):
        moist_air.wet_bulb(24.0, 0.5, SEA_LEVEL)
