"""The fields of the configuration file's tables: what one may hold, and how a key nobody knows is refused."""

import re
from collections.abc import Callable
from contextlib import suppress
from typing import Annotated, Any, ClassVar

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, model_validator

from advisor.catalog.limits import IN_ORDER, default_limits
from advisor.errors import ADDRESS, UsageError, did_you_mean, shown
from advisor.units import from_si, parse_quantity

_NAME = r"^[A-Za-z0-9][A-Za-z0-9 _.-]{0,39}$"


def require(*rows: tuple[object, str]) -> None:
    """Raise the ValueError that pydantic gathers for the first row that does not hold, with its words."""
    for holds, words in rows:
        if not holds:
            raise ValueError(words)


def _measure(dimension: str, low: float, high: float) -> BeforeValidator:
    """Text with a unit to SI, within low..high."""

    def read(text: Any) -> float:
        got = shown(repr(text))
        require((isinstance(text, str), f'got {got}; write it as text with a unit, like "{high:g} ..." in quotes'))
        value = typed_value(text, dimension, "value")
        allowed = f"allowed {low:g} to {high:g} in SI"
        require((low <= value <= high, f"got {shown(text)}; {allowed}; check number and unit"))
        return value

    return BeforeValidator(read)


def typed_value(text: str, dimension: str, name: str) -> float:
    """A typed quantity; its error as the ValueError that pydantic gathers with the path of the key."""
    try:
        return parse_quantity(text, dimension, name)
    except UsageError as error:
        raise ValueError(str(error)) from error


Altitude = Annotated[float, _measure("length", -500, 5000)]
Volume = Annotated[float, _measure("volume", 1, 100_000)]
Flow = Annotated[float, _measure("flow", 0.005, 100)]
Conductance = Annotated[float, _measure("heat_conductance", 1, 100_000)]
Power = Annotated[float, _measure("power", 50, 100_000)]
Drying = Annotated[float, _measure("water_flow", 1e-6, 0.01)]
TemperatureAccuracy = Annotated[float, _measure("temperature_difference", 0.01, 10)]
HumidityAccuracy = Annotated[float, _measure("fraction", 0.001, 0.2)]
Keepalive = Annotated[float, _measure("time", 5, 120)]
Name = Annotated[str, Field(pattern=_NAME)]


def so_that(holds: Callable[[str], object], words: str, *errors: type[Exception]) -> AfterValidator:
    """What must hold of a text, and what is said where it does not; `{got}` in it stands for the text.

    errors: raised where it does not hold.
    """

    def check(text: str) -> str:
        held: object = False
        with suppress(*errors):
            held = holds(text)
        require((held, words.format(got=shown(text))))
        return text

    return AfterValidator(check)


# Text that may be shown: it steers no terminal, and holds no address with a password in it
Text = Annotated[
    str,
    Field(min_length=1, max_length=200),
    so_that(str.isprintable, "a sign in it cannot be printed; letters, digits and the like are allowed; take it out"),
    so_that(
        lambda text: not ADDRESS.search(text),
        "it looks like an address with :// or a password, which is not allowed here; take it out",
    ),
]
Topic = Annotated[
    Text,
    so_that(
        re.compile(r"[^#+$][^#+]*").fullmatch,
        "got {got}; name one topic of your own, without # or +, not beginning with $",
    ),
]


def _known_limits(table: dict[str, str]) -> dict[str, str]:
    for key, text in table.items():
        limit = default_limits().get(key)
        if limit is None:
            raise ValueError(f"unknown limit {shown(key)}; {did_you_mean(key, default_limits())}")
        value = typed_value(text, limit.unit.dimension, key)
        if not limit.low <= value <= limit.high:
            low, high = (f"{from_si(edge, limit.unit):g}" for edge in (limit.low, limit.high))
            unit = "" if limit.unit.spelling == "ratio" else f" {limit.unit.spelling}"
            raise ValueError(f"{key} {shown(text)}; allowed {low} to {high}{unit}")
    for lower, upper in IN_ORDER:
        under, over = (
            typed_value(table[key], default_limits()[key].unit.dimension, key)
            if key in table
            else default_limits()[key].number.value
            for key in (lower, upper)
        )
        said = " and ".join(f"{key} {shown(table[key])}" for key in (lower, upper) if key in table)
        require((under <= over, f"{said}; {lower} may not be over {upper}; state both"))
    return table


Limits = Annotated[dict[str, str], AfterValidator(_known_limits)]


class Strict(BaseModel):
    """A table of the file: unknown keys are refused with the nearest known one; `_secret`: and not shown."""

    _secret: ClassVar[bool] = False

    model_config = ConfigDict(extra="forbid", frozen=True)

    @model_validator(mode="before")
    @classmethod
    def _known_keys(cls, table: Any) -> Any:
        if isinstance(table, dict):
            for key in (key for key in table if key not in cls.model_fields):
                got = "" if cls._secret else f" {shown(str(key))}"
                raise ValueError(f"unknown key{got}; {did_you_mean(str(key), cls.model_fields)}")
        return table
