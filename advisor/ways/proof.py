"""What the rules propose, proved: each remedy with a number in it is judged anew by the whole judge, as it will be.

A rule knows its own limit alone; that the piece at 13 °C is over the dew point makes no good film. So a number is told
only when the air, the piece or the room brought to it turns the verdict, alone or together with the others told.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime
from math import ceil, floor

from advisor.judge.conditions import Conditions, Measured, air_at_work, humidity_at, surface_of_piece, usable
from advisor.judge.film_rules import UNKNOWN_POT, Pot
from advisor.judge.finding import Finding, Level, Remedy
from advisor.judge.plan import Plan
from advisor.judge.verdict import RANK, State, Verdict, judge
from advisor.shop.shop import Shop

_LEVEL = {Level.OK: 0, Level.UNKNOWN: 1, Level.CHANGE: 2, Level.STOP: 3}
_ROOM = ("warm_room", "warm_room_and_hold", "cool_room")
_PIECE = ("warm_piece", "cool_piece")
_BOTH, _DRY, _HOLD = "warm_room_and_pieces", "dry_air", "hold_room"
_FURTHER = (0.0, 0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)  # [K] past what the rule proposes
_DRIER = (0.0, 0.02, 0.04, 0.06, 0.1)  # [fraction]
_TENTH = 10.0
Judged = Callable[[Conditions], Verdict]


def proved(
    verdict: Verdict,
    conditions: Conditions,
    shop: Shop,
    now: datetime,
    pot: Pot = UNKNOWN_POT,
    plan: Plan | None = None,
) -> Verdict:
    """The verdict with those remedies alone that say no number, or one that holds.

    A number holds where the verdict is better with it; beside other changes also where its own finding is mended and
    nothing else is worse. Where only all stops mended at once help, their remedies are kept as `together`.
    """
    if verdict.state is State.GO or verdict.cannot_tell:
        bare = tuple(
            replace(each, remedies=tuple(way for way in each.remedies if not _numbered(way)))
            for each in verdict.findings
        )
        return replace(verdict, findings=bare, proved=True)

    def judged(there: Conditions) -> Verdict:
        return judge(there, verdict.coating, shop, now, pot, plan, verdict.films)

    findings = [
        replace(finding, remedies=tuple(_proved(finding, verdict, conditions, shop, judged)))
        for finding in verdict.findings
    ]
    if verdict.state is State.WAIT and not any(_numbered(way) for each in findings for way in each.remedies):
        findings = _together(findings, verdict, conditions, shop, judged)
    return replace(verdict, findings=tuple(findings), proved=True)


def _numbered(way: Remedy) -> bool:
    return way.target is not None or way.relative_humidity is not None


def _proved(finding: Finding, verdict: Verdict, conditions: Conditions, shop: Shop, judged: Judged) -> Iterator[Remedy]:
    for way in finding.remedies:
        tries = (_holds(further, finding, verdict, conditions, shop, judged) for further in _further(way, verdict))
        found = next(filter(None, tries), None) if _numbered(way) else way
        if found is not None:
            yield found


def _further(way: Remedy, verdict: Verdict) -> Iterator[Remedy]:
    """The remedy as proposed, then further the same way, as far as the coating's own band goes."""
    band = verdict.coating.air_temperature
    if way.kind == _HOLD:
        yield way
        return
    if way.target is None:
        for step in _DRIER:
            damp = floor(((way.relative_humidity or 0.0) - step) * 100.0 + 1e-6) / 100.0
            if damp > verdict.coating.relative_humidity.go_low.value:
                yield replace(way, relative_humidity=damp)
        return
    down = way.kind.startswith("cool")
    for step in _FURTHER:
        target = floor((way.target - step) * _TENTH + 1e-6) if down else ceil((way.target + step) * _TENTH - 1e-6)
        if step and not band.go_low.value <= target / _TENTH <= band.go_high.value:
            return
        yield replace(way, target=target / _TENTH)


def _holds(
    way: Remedy, finding: Finding, verdict: Verdict, conditions: Conditions, shop: Shop, judged: Judged
) -> Remedy | None:
    """The remedy with the state it comes to, where it holds; with `measure` where only a measured piece does."""
    for measure in (False, True):
        there = applied(way, conditions, shop, measure)
        if there is None:
            continue
        then = judged(there)
        if _better(then, finding, verdict):
            air = None if way.kind == _DRY else air_at_work(there, shop)
            damp = way.relative_humidity if way.relative_humidity is None or air is None else air[1]
            return replace(way, relative_humidity=damp, state=then.state.value, measure=measure)
    return None


def _better(then: Verdict, finding: Finding, verdict: Verdict) -> bool:
    if RANK[then.state] != RANK[verdict.state]:
        return RANK[then.state] < RANK[verdict.state]
    if verdict.state is not State.CHANGE or _level_of(then, finding.rule) != Level.OK:
        return False
    return all(_LEVEL[_level_of(then, each.rule)] <= _LEVEL[each.level] for each in verdict.findings)


def _level_of(verdict: Verdict, rule: str) -> Level:
    return max((each.level for each in verdict.findings if each.rule == rule), key=_LEVEL.__getitem__, default=Level.OK)


def _together(
    findings: Sequence[Finding], verdict: Verdict, conditions: Conditions, shop: Shop, judged: Judged
) -> list[Finding]:
    """The stops' own remedies, all applied at once, where that turns the verdict; else the findings as they are."""
    stops = {n: each.remedies for n, each in enumerate(verdict.findings) if each.level is Level.STOP}
    proposed = {n: list(filter(_numbered, remedies)) for n, remedies in stops.items()}
    ladders = {n: list(_further(numbered[-1], verdict)) for n, numbered in proposed.items() if numbered}
    if len(ladders) < 2 or not all(ladders.values()):
        return list(findings)
    for further in range(len(_FURTHER)):
        taken = {n: ladder[min(further, len(ladder) - 1)] for n, ladder in ladders.items()}
        there: Conditions | None = conditions
        for way in taken.values():
            there = None if there is None else applied(way, there, shop, True)
        if there is None:
            return list(findings)
        then = judged(there)
        if RANK[then.state] < RANK[verdict.state]:
            return [
                replace(
                    each,
                    remedies=(*each.remedies, replace(taken[n], state=then.state.value, measure=True, together=True)),
                )
                if n in taken
                else each
                for n, each in enumerate(findings)
            ]
    return list(findings)


def applied(way: Remedy, conditions: Conditions, shop: Shop, measure: bool) -> Conditions | None:
    """The conditions once a remedy is done; None where that cannot be computed.

    measure: the piece is measured then, at what it was brought to; else it is known as it was: guessed anew from the
    air where nobody measured it.
    """
    if air_at_work(conditions, shop) is None or surface_of_piece(conditions, shop) is None:
        return None
    measured = usable(conditions, "surface_temperature", shop) is not None
    if way.kind == _HOLD:
        return None if measure else replace(conditions, night_low=way.target)
    if way.kind in _PIECE:
        return _at(conditions, shop, surface=way.target) if measure or measured else None
    if way.kind == _DRY:
        return None if measure else _at(conditions, shop, humidity=way.relative_humidity)
    warm = way.target
    damp = None if warm is None else humidity_at(warm, conditions, shop)
    if warm is None or damp is None or not damp <= 1.0:
        return None
    if way.kind == _BOTH:
        return _at(conditions, shop, warm, damp, warm if measure or measured else None)
    return None if measure or way.kind not in _ROOM else _at(conditions, shop, warm, damp)


def _at(
    conditions: Conditions, shop: Shop, warm: float | None = None, humidity: float | None = None,
    surface: float | None = None,
) -> Conditions:  # fmt: skip
    """The conditions with other values at work, read just now; a piece nobody measured is guessed from the new air."""
    values = dict(conditions.values)
    for quantity, value in (
        ("air_temperature", warm),
        ("relative_humidity", humidity),
        ("surface_temperature", surface),
    ):
        if value is None:
            continue
        was = conditions.at_work(quantity)
        fresh = shop.accuracy(None, quantity) if was.value is None else was.uncertainty
        values[conditions.place, quantity] = Measured(value, fresh, 0.0)
    follows = conditions.logged_air if warm is None or conditions.logged_air is None else warm
    return replace(conditions, values=values, piece=None, logged_air=follows)
