"""JSON from outside, read strictly: size, depth, digits, no NaN, no key twice."""

import json
from typing import Any

from advisor.readings.number import LONGEST_VALUE

LARGEST_PAYLOAD = 4096  # bytes
DEEPEST = 4


class BadPayload(ValueError):
    """A payload that cannot be used; the message says why in a few words."""


def parse_json(payload: bytes, largest: int = LARGEST_PAYLOAD) -> Any:
    """The value of a JSON text in UTF-8. Numbers come back as text, for the one strict number parser.

    Raises BadPayload; nothing else, whatever the bytes.
    """
    if len(payload) > largest:
        raise BadPayload(f"larger than {largest} bytes")
    _check_depth(payload)
    try:
        return json.loads(
            payload.decode("utf-8"),
            parse_constant=_refuse_constant,
            parse_int=_number,
            parse_float=_number,
            object_pairs_hook=_object,
        )
    except BadPayload:
        raise
    except (ValueError, RecursionError, OverflowError, TypeError) as error:
        raise BadPayload("not JSON") from error


class NumberText(str):
    """A JSON number, kept as it was written."""

    __slots__ = ()


def _number(text: str) -> NumberText:
    if len(text) > LONGEST_VALUE:
        raise BadPayload(f"a number of more than {LONGEST_VALUE} digits")
    return NumberText(text)


def _refuse_constant(name: str) -> Any:
    raise BadPayload(f"{name} is no number")


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    table = dict(pairs)
    if len(table) != len(pairs):
        raise BadPayload("a key twice in one object")
    return table


def _check_depth(payload: bytes) -> None:
    """Brackets outside strings, counted before the parser recurses."""
    depth, in_text, escaped = 0, False, False
    for byte in payload:
        if in_text:
            if escaped:
                escaped = False
            elif byte == 0x5C:
                escaped = True
            elif byte == 0x22:
                in_text = False
        elif byte == 0x22:
            in_text = True
        elif byte in (0x5B, 0x7B):
            depth += 1
            if depth > DEEPEST:
                raise BadPayload(f"nested deeper than {DEEPEST}")
        elif byte in (0x5D, 0x7D):
            depth -= 1
