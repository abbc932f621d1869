"""What the daemon computes between two minutes: ways to a better verdict, and the films the next minute may ask for.

Ways are sought for a verdict that is new, or whose air has moved since; they are told with every minute's record for as
long as they are of that verdict. So the minute itself never waits for them.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from advisor.advice.changes import Change, kinds_for, least_changes
from advisor.advice.conditions import Conditions, outdoor_air, outdoor_place, surface_of_piece, usable
from advisor.advice.film_map import films_of
from advisor.advice.film_view import UNKNOWN_POT
from advisor.advice.finding import Finding, Level
from advisor.advice.outlook import Outlook
from advisor.advice.plan import plan_for
from advisor.advice.proof import proved
from advisor.advice.remedies import WAIT_UNTIL, Ahead, Way, session_ways
from advisor.advice.session import prepare_films
from advisor.advice.verdict import State, Verdict
from advisor.logbook.air_log import AirLog
from advisor.logbook.day_ahead import outlook_from_log
from advisor.shop.shop import Shop

AT_A_TIME = 2  # coatings whose ways are sought in one minute: a slow machine has other work too
_MOVED = {"°C": 0.3, "fraction": 0.01}  # about what a looked-up film is sure of


@dataclass(frozen=True)
class Seen:
    """One coating as this minute judged it."""

    verdict: Verdict
    conditions: Conditions


@dataclass(frozen=True)
class Ways:
    """Ways to a better verdict, and when they were computed."""

    as_of: datetime
    remedies: tuple[Way, ...]
    changes: tuple[Change, ...]
    proved: tuple[Finding, ...]


@dataclass(frozen=True)
class _Basis:
    """What ways rest on: the state and its reasons, the full hour of the outlook, and the air [°C, fraction]."""

    reasons: tuple[tuple[str, ...], ...]
    hour: datetime
    air: tuple[tuple[str, float | None], ...]

    def stands_for(self, now: "_Basis") -> bool:
        """Whether ways of this are still those of now."""
        same = self.reasons == now.reasons and self.hour == now.hour
        return same and all(
            before is after or (before is not None and after is not None and abs(after - before) <= _MOVED[unit])
            for (unit, before), (_, after) in zip(self.air, now.air, strict=True)
        )


@dataclass
class WaysWatch:
    """The ways found so far, by coating. air_log: for the outlook of the air outdoors."""

    shop: Shop
    air_log: AirLog
    _found: dict[str, tuple[_Basis, Ways]] = field(default_factory=dict)
    _outdoors: tuple[datetime, Outlook | None] | None = None

    def of(self, seen: Seen) -> Ways | None:
        """The ways known for this verdict; None where none were sought yet, or there is nothing to mend."""
        kept = self._found.get(seen.verdict.coating.id)
        if kept is None or not _wanted(seen.verdict) or not kept[0].stands_for(self._basis(seen)):
            return None
        waited = (seen.verdict.as_of - kept[1].as_of).total_seconds() / 60.0
        return replace(kept[1], remedies=tuple(_waited(way, waited) for way in kept[1].remedies))

    def with_numbers(self, verdict: Verdict, ways: Ways) -> Verdict:
        """The verdict with the numbers in its remedies that were proved beside these ways."""
        known = {(each.rule, each.quantity): each.remedies for each in ways.proved}
        findings = tuple(
            replace(each, remedies=known.get((each.rule, each.quantity), each.remedies)) for each in verdict.findings
        )
        return replace(verdict, findings=findings, proved=True)

    def look(self, seen: Sequence[Seen], room: Outlook | None) -> bool:
        """Seek the ways of up to two verdicts that have none, and compute the films about all; whether any was sought.

        room: the outlook of the room, as of the last full hour.
        """
        for each in seen:
            coating = each.verdict.coating
            films = each.verdict.films or films_of(self.shop)
            meant = (each.conditions, UNKNOWN_POT, plan_for(coating, self.shop))
            prepare_films([meant], coating, self.shop, films, (-1.0, 0.0, 1.0))
        missing = [each for each in seen if _wanted(each.verdict) and self.of(each) is None]
        for each in missing[:AT_A_TIME]:
            verdict, now = each.verdict, each.verdict.as_of
            ahead = None if room is None else self._ahead(room, each.conditions, now)
            self._found[verdict.coating.id] = (
                self._basis(each),
                Ways(
                    now,
                    session_ways(verdict, each.conditions, self.shop, now, UNKNOWN_POT, ahead),
                    least_changes(verdict, each.conditions, self.shop, now, UNKNOWN_POT, kinds_for(verdict)),
                    proved(verdict, each.conditions, self.shop, now).findings,
                ),
            )
        return bool(missing)

    def _ahead(self, room: Outlook, conditions: Conditions, now: datetime) -> Ahead | None:
        hour = _hour(now)
        if self._outdoors is None or self._outdoors[0] != hour:
            place = outdoor_place(conditions, self.shop)
            self._outdoors = (hour, outlook_from_log(self.air_log, now, place) if place else None)
        outdoors = self._outdoors[1]
        return None if outdoors is None else Ahead(room, outdoors)

    def _basis(self, seen: Seen) -> _Basis:
        verdict, conditions = seen.verdict, seen.conditions
        reasons = tuple(
            (finding.rule, finding.level.value, finding.side.value, finding.quantity)
            for finding in verdict.findings
            if finding.level is not Level.OK
        )
        inside = [usable(conditions, quantity, self.shop) for quantity in ("air_temperature", "relative_humidity")]
        outside = outdoor_air(conditions, self.shop) or (None, None)
        piece = surface_of_piece(conditions, self.shop)
        air = [None if each is None else each.value for each in inside] + list(outside)
        units = ("°C", "fraction", "°C", "fraction", "°C")
        values = [*air, None if piece is None else piece.value]
        return _Basis(reasons, _hour(verdict.as_of), tuple(zip(units, values, strict=True)))


def _wanted(verdict: Verdict) -> bool:
    return verdict.state is not State.GO and not verdict.cannot_tell


def _waited(way: Way, minutes: float) -> Way:
    """A way of waiting, of which so many minutes are over; any other as it was."""
    return replace(way, minutes=max(0.0, way.minutes - minutes)) if way.kind == WAIT_UNTIL else way


def _hour(now: datetime) -> datetime:
    return now.replace(minute=0, second=0, microsecond=0)
