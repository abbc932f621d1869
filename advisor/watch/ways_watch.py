"""What the daemon computes between two minutes: ways to a better verdict, and the films the next minute may ask for.

Ways are sought for a verdict that is new, or whose air has moved since; they are told with every minute's record for as
long as they are of that verdict. So the minute itself never waits for them.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

from advisor.film.film_map import films_of
from advisor.judge.conditions import Conditions, outdoor_air, outdoor_place, surface_of_piece, usable
from advisor.judge.film_rules import UNKNOWN_POT
from advisor.judge.finding import Level
from advisor.judge.plan import plan_for
from advisor.judge.session import prepare_films
from advisor.judge.verdict import State, Verdict
from advisor.shop.shop import Shop
from advisor.sources.log_air import LogAir
from advisor.ways.advise import Advice, Ways, ways_for
from advisor.ways.remedies import WAIT_UNTIL, Ahead, Way

AT_A_TIME = 2  # coatings whose ways are sought in one minute: a slow machine has other work too
_MOVED = (0.3, 0.01, 0.3, 0.01, 0.3)  # [°C, fraction] of a basis's air: about what a looked-up film is sure of


@dataclass(frozen=True)
class _Basis:
    """What ways rest on: the state's reasons with the full hour of the outlook, and the air [°C, fraction]."""

    reasons: tuple[object, ...]
    air: tuple[float | None, ...]

    def stands_for(self, now: "_Basis") -> bool:
        """Whether ways of this are still those of now."""
        return self.reasons == now.reasons and all(
            before is after or (before is not None and after is not None and abs(after - before) <= moved)
            for before, after, moved in zip(self.air, now.air, _MOVED, strict=True)
        )


@dataclass
class WaysWatch:
    """The ways found so far, by place and coating. air: for the outlook of the air outdoors."""

    shop: Shop
    air: LogAir
    _found: dict[tuple[str, str], tuple[_Basis, Ways]] = field(default_factory=dict)

    def of(self, advice: Advice) -> Advice:
        """The advice with the ways known for it; as it is where none were sought yet, or there is nothing to mend."""
        kept = self._found.get((advice.conditions.place, advice.verdict.coating.id))
        if kept is None or not _wanted(advice.verdict) or not kept[0].stands_for(self._basis(advice)):
            return advice
        waited = (advice.verdict.as_of - kept[1].as_of).total_seconds() / 60.0
        return advice.with_ways(replace(kept[1], remedies=tuple(_waited(way, waited) for way in kept[1].remedies)))

    def look(self, advices: Sequence[Advice]) -> bool:
        """Seek the ways of up to two verdicts without any, and compute the films about all; whether any was sought."""
        for each in advices:
            coating = each.verdict.coating
            films = each.verdict.films or films_of(self.shop)
            meant = (each.conditions, UNKNOWN_POT, plan_for(coating, self.shop))
            prepare_films([meant], coating, self.shop, films, (-1.0, 0.0, 1.0))
        missing = [each for each in advices if _wanted(each.verdict) and self.of(each).ways is None]
        for each in missing[:AT_A_TIME]:
            now = each.verdict.as_of
            ways = ways_for(each, self.shop, self._ahead(each.conditions, now), now)
            self._found[each.conditions.place, each.verdict.coating.id] = self._basis(each), ways
        return bool(missing)

    def _ahead(self, conditions: Conditions, now: datetime) -> Ahead | None:
        """The outlook of the room and of the air outdoors, as of the last full hour, where both are known."""
        room, outside = self.air.outlook(now, conditions.place), outdoor_place(conditions, self.shop)
        outdoors = self.air.outlook(now, outside) if room is not None and outside else None
        return None if room is None or outdoors is None else Ahead(room, outdoors)

    def _basis(self, advice: Advice) -> _Basis:
        verdict, conditions = advice.verdict, advice.conditions
        reasons = tuple(
            (finding.rule, finding.level, finding.side, finding.quantity)
            for finding in verdict.findings
            if finding.level is not Level.OK
        )
        inside = [usable(conditions, quantity, self.shop) for quantity in ("air_temperature", "relative_humidity")]
        piece = surface_of_piece(conditions, self.shop)
        warm, damp, surface = (None if each is None else each.value for each in (*inside, piece))
        outside = outdoor_air(conditions, self.shop) or (None, None)
        hour = verdict.as_of.replace(minute=0, second=0, microsecond=0)
        return _Basis((hour, *reasons), (warm, damp, *outside, surface))


def _wanted(verdict: Verdict) -> bool:
    return verdict.state is not State.GO and not verdict.cannot_tell


def _waited(way: Way, minutes: float) -> Way:
    """A way of waiting, of which so many minutes are over; any other as it was."""
    return replace(way, minutes=max(0.0, way.minutes - minutes)) if way.kind == WAIT_UNTIL else way
