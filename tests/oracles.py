"""The libraries the tests compare with, each loaded when it is first asked: together they take seconds to load."""

from importlib import import_module
from typing import Any


class _WhenAsked:
    """A module that is imported at the first look into it."""

    def __init__(self, name: str) -> None:
        self._name = name

    def __getattr__(self, wanted: str) -> Any:
        if wanted.startswith("_"):  # pytest asks every name whether it is a test or a fixture
            raise AttributeError(wanted)
        return getattr(import_module(self._name), wanted)


chemicals = _WhenAsked("chemicals")  # handbook correlations of many substances, side by side
coolprop = _WhenAsked("CoolProp.CoolProp")  # reference equations of state
humid = _WhenAsked("CoolProp.HumidAirProp")  # moist air as a real gas
figures = _WhenAsked("matplotlib.figure")
integrate = _WhenAsked("scipy.integrate")
metpy = _WhenAsked("metpy.calc")  # moist air as the weather services reckon it
weather_units = _WhenAsked("metpy.units")
optimize = _WhenAsked("scipy.optimize")
pint = _WhenAsked("pint")  # units
special = _WhenAsked("scipy.special")
stats = _WhenAsked("scipy.stats")
