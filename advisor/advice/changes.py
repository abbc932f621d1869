"""The least change that makes a GO: searched over thinner, retarder, warmth and dryness, each computed and judged anew.

Nothing here ever touches the ventilation, passes what the coating allows, or adds what it does not take: mixes come
from `mix_of` only, which refuses the rest.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from advisor.advice.conditions import Conditions, Measured, usable
from advisor.advice.film_rules import slower_mixes
from advisor.advice.film_view import UNKNOWN_POT, Pot, case_of
from advisor.advice.finding import Level
from advisor.advice.mix import Mix, fastest, mix_of
from advisor.advice.rules import RULES
from advisor.advice.verdict import State, Verdict, judge
from advisor.advice.wet_film import FilmCase, dry_films, film_settings
from advisor.catalog.coatings import Coating
from advisor.errors import OutOfRange
from advisor.physics import moist_air
from advisor.shop.shop import Shop

MIX, PANEL, WARM, WARM_AND_MIX, DRY = "mix", "panel", "warm", "warm_and_mix", "dry"
EFFORT = (MIX, PANEL, WARM, WARM_AND_MIX, DRY)  # least first
_WARMER_BY = tuple(range(1, 13))  # [K]
_DRIER_BY = 0.01  # [fraction], how far inside the band the air is dried
_TRIES = 3  # candidates of a kind that are judged in full before the kind is given up
_RANK = {State.GO: 0, State.CHANGE: 1, State.WAIT: 2}


@dataclass(frozen=True)
class Change:
    """A change, judged: what to do, and what it comes to.

    air_temperature [°C], relative_humidity [fraction] and pot as they are then; state: the verdict then, a CHANGE being
    "a test panel first"; clear_below: humidity from which that film would blush; recoat_from [s] then and as it is now,
    None where not known.
    """

    kind: str
    pot: Pot
    air_temperature: float
    relative_humidity: float
    state: State
    clear_below: float | None
    recoat_from: float | None
    recoat_now: float | None

    @property
    def panel_first(self) -> bool:
        """Whether a test panel must say whether it is a GO."""
        return self.state is not State.GO


@dataclass(frozen=True)
class _Candidate:
    kind: str
    conditions: Conditions
    pot: Pot
    case: FilmCase


def least_changes(
    verdict: Verdict, conditions: Conditions, shop: Shop, now: datetime, pot: Pot = UNKNOWN_POT
) -> tuple[Change, ...]:
    """One change of each kind that leads to a GO, or to a GO with a test panel first, least effort first.

    None for a GO, or where the air is unknown. A WAIT by unknown readings is not mended by changing the air.
    """
    if verdict.state is State.GO or verdict.cannot_tell or verdict.film is None:
        return ()
    coating = verdict.coating
    candidates = [each for each in _candidates(conditions, coating, shop, pot) if _bands_allow(each, coating, shop)]
    settings = film_settings(shop)
    spread = shop.limit("blend_spread").value
    if coating.carrier != "water" and candidates:
        damper = [
            replace(each.case, relative_humidity=min(1.0, each.case.relative_humidity + spread)) for each in candidates
        ]
        outcomes = dry_films(damper, settings).outcomes
        candidates = [each for each, outcome in zip(candidates, outcomes, strict=True) if outcome.haze < 0]
    found = []
    for kind in EFFORT:
        of_kind = [each for each in candidates if each.kind == kind][:_TRIES]
        change = next(filter(None, (_judged(each, verdict, shop, now) for each in of_kind)), None)
        if change is not None:
            found.append(change)
    return tuple(found)


def _judged(candidate: _Candidate, verdict: Verdict, shop: Shop, now: datetime) -> Change | None:
    """The candidate as a change when it helps; None when it does not."""
    then = judge(candidate.conditions, verdict.coating, shop, now, candidate.pot)
    film = then.film
    if film is None or then.state is State.WAIT:
        return None
    air_moved = candidate.kind in (WARM, DRY, WARM_AND_MIX)
    if air_moved and _RANK[then.state] >= _RANK[verdict.state]:
        return None
    now_film = verdict.film
    return Change(
        candidate.kind,
        candidate.pot,
        candidate.case.air_temperature,
        candidate.case.relative_humidity,
        then.state,
        film.blush.blush_onset,
        film.times.recoat_from,
        None if now_film is None else now_film.times.recoat_from,
    )


def _candidates(conditions: Conditions, coating: Coating, shop: Shop, pot: Pot) -> Iterator[_Candidate]:
    """Least first within each kind."""
    taken = mix_of(coating, pot.thinner or fastest(coating), pot.retarder)
    slower = slower_mixes(coating, taken)
    here = case_of(conditions, shop, pot, taken)
    if here is None:
        return

    def tried(kind: str, changed: Conditions, mix: Mix) -> Iterator[_Candidate]:
        # what stays as it is stays unknown where it was
        holds = pot if mix == taken else replace(pot, thinner=mix.thinner, retarder=mix.retarder)
        case = case_of(changed, shop, holds, mix)
        if case is not None:
            yield _Candidate(kind, changed, holds, case)

    if coating.carrier != "water":
        yield from tried(PANEL, conditions, taken)
        for mix in slower:
            yield from tried(MIX, conditions, mix)
    slow_enough = (*slower[:2], *slower[-1:])
    for warmer in _WARMER_BY:
        changed = _warmed(conditions, shop, float(warmer))
        if changed is not None:
            yield from tried(WARM, changed, taken)
            for mix in dict.fromkeys(slow_enough):
                yield from tried(WARM_AND_MIX, changed, mix)
    dry = coating.relative_humidity.go_high.value - _DRIER_BY
    if here.relative_humidity > dry:
        yield from tried(DRY, _at(conditions, {"relative_humidity": dry}), taken)


def _bands_allow(candidate: _Candidate, coating: Coating, shop: Shop) -> bool:
    findings = [rule(candidate.conditions, coating, shop) for rule in RULES]
    return not any(
        finding.level is Level.STOP or (finding.level is Level.UNKNOWN and finding.deciding) for finding in findings
    )


def _warmed(conditions: Conditions, shop: Shop, warmer: float) -> Conditions | None:
    """Room and pieces warmer with the same moisture; None where that cannot be computed."""
    air, humidity = (usable(conditions, quantity, shop) for quantity in ("air_temperature", "relative_humidity"))
    if air is None or humidity is None or air.value is None or humidity.value is None:
        return None
    warm = air.value + warmer
    try:
        then = float(moist_air.relative_humidity_at(air.value, min(humidity.value, 1.0), warm))
    except OutOfRange:
        return None
    return _at(conditions, {"air_temperature": warm, "relative_humidity": then, "surface_temperature": warm})


def _at(conditions: Conditions, values: dict[str, float]) -> Conditions:
    """The conditions with other values at work, as well known as the ones they stand for."""
    changed = dict(conditions.values)
    for quantity, value in values.items():
        was = conditions.at_work(quantity)
        fresh = conditions.at_work("air_temperature")
        changed[conditions.place, quantity] = Measured(value, was.uncertainty or fresh.uncertainty, fresh.age)
    return replace(conditions, values=changed, logged_air=None)
