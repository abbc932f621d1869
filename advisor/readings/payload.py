"""A message from a topic to readings: plain number, JSON field, or SenML. Pure: no network here."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Any

from advisor.catalog.quantities import column_of
from advisor.errors import UsageError, shown
from advisor.readings.csv_file import parse_time
from advisor.readings.reading import BAD, NOT_A_NUMBER, NOT_LIVE, OFFLINE, SUSPECT, Reading, Reject, Series
from advisor.readings.senml import (
    LARGEST_PAYLOAD,
    UNIT_COLUMNS,
    BadPayload,
    NumberText,
    parse_json,
    parse_value,
    read_value,
    resolve,
)
from advisor.shop.shop import TopicMap

_EARLIEST = datetime(2000, 1, 1, tzinfo=UTC).timestamp()
_LATEST = datetime(2100, 1, 1, tzinfo=UTC).timestamp()


@dataclass(frozen=True)
class Message:
    """One message as it arrived. `at`: wall clock [ms UTC]; settled: seconds since the connection was accepted."""

    topic: str
    payload: bytes
    at: int
    retain: bool = False
    duplicate: bool = False
    settled: float = 60.0


@dataclass
class PayloadReader:
    """Turns messages into readings by the shop's topics; remembers the newest moment of each series.

    fresh_for, clock_tolerance [s]: a payload's own time makes it live only within these of its arrival.
    """

    topics: Sequence[TopicMap]
    fresh_for: float
    clock_tolerance: float
    settle: float = 5.0  # [s] after connecting, during which a queued backlog may still come in
    _newest: dict[Series, int] = field(init=False, default_factory=dict)  # [ms UTC]

    def remember(self, reading: Reading) -> None:
        """Take a reading of the past into memory, as after a restart."""
        self._newest[reading.series] = max(reading.at, self._newest.get(reading.series, reading.at))

    def read(self, message: Message) -> list[Reading | Reject]:
        """The readings of a message, and a reject for each part of it that gave none. Never raises.

        A live message that cannot be read was still its sensor's newest word: the quantity it should have told
        becomes a reading without a value beside the reject.
        """
        entries: list[Reading | Reject] = []
        maps = [topic for topic in self.topics if topic.topic == message.topic]
        for topic in maps:
            try:
                entries += _FORMS[topic.form](self, topic, message)
            except BadPayload as error:
                entries.append(_reject(message, str(error)))
                if topic.column and not message.retain:
                    series = _one_series(topic, topic.column)
                    at = self._after_all(series, message.at)
                    entries.append(Reading(series, None, at, message.topic, BAD, NOT_A_NUMBER))
        return entries if maps else [_reject(message, "no sensor has this topic")]

    def _gone(self, topic: TopicMap, message: Message) -> list[Reading | Reject]:
        """By its last will a sensor has no value any more, whatever it measured; any other word there says nothing.

        A retained one counts too: it stands until the sensor speaks. Of a sensor with its own clock it is stamped just
        after its last word, or a clock that runs late would be behind its own last will when it comes back.
        """
        if message.payload.decode("utf-8", "replace").strip() != topic.payload:
            return []
        gone: list[Reading | Reject] = []
        configured = [
            _one_series(one, each) for one in self.topics for each in (one.column, *one.names.values()) if each
        ]
        for series in dict.fromkeys([*configured, *self._newest]):
            if series.sensor == topic.sensor:
                last = self._newest.get(series) if topic.clock == "payload" else None
                at = self._after_all(series, message.at if last is None else last)
                gone.append(Reading(series, None, at, message.topic, BAD, OFFLINE))
        return gone

    def _after_all(self, series: Series, at: int) -> int:
        """A moment [ms UTC] of arrival that no reading of the series has: messages that came at once are kept apart.

        A newest one further ahead than a sensor's clock may be is of a clock that was set: it counts no more.
        """
        newest = self._newest.get(series)
        if newest is not None and 0 <= newest - at <= self.clock_tolerance * 1000:
            at = newest + 1
        self._newest[series] = at
        return at

    def _plain(self, topic: TopicMap, message: Message) -> list[Reading | Reject]:
        if len(message.payload) > LARGEST_PAYLOAD:
            raise BadPayload(f"larger than {LARGEST_PAYLOAD} bytes")
        try:
            return [self._reading(topic, topic.column, message.payload.decode("utf-8"), None, message)]
        except UnicodeDecodeError as error:
            raise BadPayload("not UTF-8 text") from error

    def _json(self, topic: TopicMap, message: Message) -> list[Reading | Reject]:
        parsed = parse_json(message.payload)
        value = _field(parsed, topic.value_field)
        at = _moment(_field(parsed, topic.time_field)) if topic.time_field else None
        if not isinstance(value, str | None):
            raise BadPayload(f"field {topic.value_field} is no number")
        return [self._reading(topic, topic.column, value or "", at, message)]

    def _senml(self, topic: TopicMap, message: Message) -> list[Reading | Reject]:
        entries: list[Reading | Reject] = []
        for record in resolve(parse_json(message.payload), message.at / 1000.0):
            column = topic.names.get(record.name) or UNIT_COLUMNS.get(record.unit)
            if column is None:
                entries.append(_reject(message, f"no column for {shown(record.name)} in {shown(record.unit)}"))
            else:
                at = None if record.at is None else _milliseconds(record.at)
                entries.append(self._reading(topic, column, record.value, at, message))
        return entries

    def _reading(self, topic: TopicMap, column: str, text: str, own: int | None, message: Message) -> Reading:
        """`own`: the payload's own time [ms UTC], used when the sensor's clock is the payload's."""
        if topic.clock == "payload" and own is None:
            raise BadPayload("no time in a payload whose sensor has its own clock")
        series = _one_series(topic, column)
        if topic.clock == "payload" and own is not None:
            at = own
            if own <= message.at + self.clock_tolerance * 1000:
                self._newest[series] = max(own, self._newest.get(series, own))
        else:
            at = self._after_all(series, message.at)
        reading = read_value(series, text, column_of(column)[1], at, message.topic)
        told = reading.value is None or self._live(topic, own, message)
        return reading if told else replace(reading, level=SUSPECT, reason=NOT_LIVE)

    def _live(self, topic: TopicMap, own: int | None, message: Message) -> bool:
        """Whether this was said just now: never a retained message, never one that may have been queued."""
        age = 0.0 if own is None else (message.at - own) / 1000.0
        if message.retain or age > self.fresh_for:
            return False
        if topic.clock == "payload":
            return age >= -self.clock_tolerance
        return not message.duplicate and message.settled >= self.settle


_FORMS: Mapping[str, Callable[[PayloadReader, TopicMap, Message], list[Reading | Reject]]] = {
    "number": PayloadReader._plain,
    "json": PayloadReader._json,
    "senml": PayloadReader._senml,
    "will": PayloadReader._gone,
}


def _one_series(topic: TopicMap, column: str) -> Series:
    return Series(topic.sensor, topic.place, column_of(column)[0])


def _reject(message: Message, reason: str) -> Reject:
    text = message.payload[:60].decode("utf-8", "backslashreplace")
    return Reject(shown(message.topic), reason, shown(text))


def _field(parsed: Any, path: str) -> Any:
    """The value at a dotted path; a number in it is a list index."""
    value = parsed
    for part in path.split("."):
        if isinstance(value, dict) and part in value:
            value = value[part]
        elif isinstance(value, list) and part.isascii() and part.isdigit() and int(part) < len(value):
            value = value[int(part)]
        else:
            raise BadPayload(f"no field {path}")
    return value


def _moment(value: Any) -> int:
    """Milliseconds UTC from ISO 8601 text with offset, or seconds or milliseconds since 1970."""
    if isinstance(value, NumberText):
        number, _ = parse_value(value)
        if number is not None:
            return _milliseconds(number / 1000.0 if number > 1e11 else number)
    elif isinstance(value, str):
        try:
            moment = parse_time(value, None)
        except UsageError:  # no offset
            moment = None
        if moment is not None:
            return _milliseconds(moment.timestamp())
    raise BadPayload("a time that is neither ISO 8601 with offset nor seconds since 1970")


def _milliseconds(seconds: float) -> int:
    if not _EARLIEST <= seconds <= _LATEST:
        raise BadPayload("a time outside 2000 to 2100")
    return round(seconds * 1000)
