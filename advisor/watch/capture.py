"""A capture: JSON lines of time, topic, payload, retain, as messages came; read back for a replay."""

import json
from collections.abc import Iterator
from pathlib import Path

from advisor.errors import FileError
from advisor.readings.csv_file import parse_time
from advisor.readings.payload import Message
from advisor.readings.reading import Reject
from advisor.times import milliseconds

LONGEST_LINE = 20_000  # characters


def read_capture(path: Path) -> Iterator[Message | Reject]:
    """The messages of a capture in the order of its lines. Raises FileError when it cannot be read at all."""
    try:
        with path.open(encoding="utf-8", errors="backslashreplace") as stream:
            number = 0
            while line := stream.readline(LONGEST_LINE + 1):
                number += 1
                if line.strip():
                    yield _message(line, number)
    except OSError as error:
        raise FileError(f"cannot read {path}: {error.strerror}", "", "check the path") from error


def _message(line: str, number: int) -> Message | Reject:
    try:
        entry = json.loads(line)
        moment = parse_time(entry["time"], None)
        if moment is None or not isinstance(entry["payload"], str) or not isinstance(entry["topic"], str):
            raise ValueError
        return Message(
            entry["topic"], entry["payload"].encode("utf-8"), milliseconds(moment), entry.get("retain") is True
        )
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError, UnicodeEncodeError):
        return Reject(f"line {number}", "no capture line", line[:40].strip())
