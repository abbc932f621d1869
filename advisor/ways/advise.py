"""The one advice on one air, whichever door asks: verdict, session, ways to a better one, times, dust, vapour, night.

Pure: it gets the conditions, and what a log says beside them, as records; never a log.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime

from advisor.catalog.coatings import Coating
from advisor.film.drying import DryingTimes, drying_times
from advisor.film.film_map import Films
from advisor.judge.conditions import Conditions
from advisor.judge.film_rules import UNKNOWN_POT, Pot, case_of, usual_mix
from advisor.judge.finding import Finding
from advisor.judge.plan import Plan
from advisor.judge.verdict import Verdict, judge
from advisor.outlook.day_ahead import NightAhead, night_ahead, with_night
from advisor.outlook.outlook import Outlook
from advisor.room.dust import DustView, dust_view
from advisor.series.trace import NOTHING, Trace
from advisor.shop.shop import Shop
from advisor.ways.changes import Change, kinds_for, least_changes
from advisor.ways.proof import proved
from advisor.ways.remedies import session_ways
from advisor.ways.tries import Ahead, Way


@dataclass(frozen=True, eq=False)
class Beside:
    """What a log says beside the present air: particle counts [1/m3] and what of, and the outlooks.

    outdoors: made only when it is asked for; waiting alone needs it.
    """

    counts: tuple[Trace, str] = (NOTHING, "")
    room: Outlook | None = None
    outdoors: Callable[[], Outlook | None] = lambda: None

    def ahead(self) -> Ahead | None:
        """Both outlooks, where both are known."""
        outdoors = None if self.room is None else self.outdoors()
        return None if self.room is None or outdoors is None else Ahead(self.room, outdoors)


NOTHING_BESIDE = Beside()


@dataclass(frozen=True)
class Ways:
    """Ways to a better verdict, the findings with the numbers that were proved, and when all that was computed."""

    as_of: datetime
    remedies: tuple[Way, ...]
    changes: tuple[Change, ...]
    proved: tuple[Finding, ...]


@dataclass(frozen=True)
class Advice:
    """What is said of one coating in one air.

    conditions: with the night ahead in them; plan: the session meant, None for the shop's usual one. ways: None where
    none were sought; times: None where none were asked for, or no film is computed.
    """

    verdict: Verdict
    conditions: Conditions
    pot: Pot = UNKNOWN_POT
    plan: Plan | None = None
    night: NightAhead | None = None
    dust: DustView | None = None
    times: DryingTimes | None = None
    ways: Ways | None = None

    def with_ways(self, ways: Ways) -> "Advice":
        """With ways found, its remedies telling the numbers that were proved beside them."""
        known = {(each.rule, each.quantity): each.remedies for each in ways.proved}
        findings = tuple(
            replace(each, remedies=known.get((each.rule, each.quantity), each.remedies))
            for each in self.verdict.findings
        )
        return replace(self, verdict=replace(self.verdict, findings=findings, proved=True), ways=ways)


def advise(
    conditions: Conditions,
    coating: Coating,
    shop: Shop,
    now: datetime,
    pot: Pot = UNKNOWN_POT,
    plan: Plan | None = None,
    beside: Beside = NOTHING_BESIDE,
    strict: bool = False,
    films: Films | None = None,
) -> Advice:
    """The verdict, with the night and the dust where a log tells of them; strict: a finish on which dust shows more.

    films: a table of films to look into and to add to; None: one of its own.
    """
    night = None if beside.room is None else night_ahead(beside.room, coating, shop)
    known = with_night(conditions, night, now)
    verdict = judge(known, coating, shop, now, pot, plan, films)
    counts, kind = beside.counts
    dust = dust_view(counts.times, counts.values, kind, now.timestamp(), strict, shop)
    return Advice(verdict, known, pot, plan, night, dust)


def ways_for(
    advice: Advice, shop: Shop, ahead: Ahead | None, computed_at: datetime, kinds: tuple[str, ...] | None = None
) -> Ways:
    """Ways to a better verdict; kinds of change, None: all that may mend it. ahead: waiting is weighed too."""
    verdict, conditions, pot, plan = advice.verdict, advice.conditions, advice.pot, advice.plan
    now = verdict.as_of
    return Ways(
        computed_at,
        session_ways(verdict, conditions, shop, now, pot, ahead),
        least_changes(verdict, conditions, shop, now, pot, kinds_for(verdict) if kinds is None else kinds, plan),
        proved(verdict, conditions, shop, now, pot, plan).findings,
    )


def with_times(advice: Advice, shop: Shop) -> Advice:
    """With the drying times in that air, of the thinner as named or else the usual one."""
    coating, films = advice.verdict.coating, advice.verdict.films or Films(shop)
    case = case_of(advice.conditions, shop, advice.pot, usual_mix(coating, advice.pot))
    return replace(advice, times=None if case is None else drying_times(coating, case, films, shop))
