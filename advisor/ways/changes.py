"""The least change that makes a GO: searched over thinner, retarder, warmth and dryness, each computed and judged anew.

Nothing here ever touches the ventilation, passes what the coating allows, or adds what it does not take: mixes come
from `mix_of` only, which refuses the rest.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from advisor.catalog.coatings import Coating
from advisor.film.drying import drying_times_of
from advisor.film.film_map import HUMIDITIES, FilmAnswer, Films, film_answers
from advisor.film.mix import Mix, fastest, mix_of, most_retarder
from advisor.film.wet_film import FilmCase, dry_films
from advisor.judge.conditions import Conditions, humidity_at, usable
from advisor.judge.film_rules import UNKNOWN_POT, Pot, case_of, clearest_mixes, slower_mixes, usual_mix, view_of
from advisor.judge.finding import Level, Side, worst_of
from advisor.judge.panel_rule import with_panels_of_the_day
from advisor.judge.plan import Plan
from advisor.judge.rules import RULES
from advisor.judge.verdict import RANK, State, Verdict, judge, judge_film
from advisor.shop.shop import Shop

THINNER, RETARDER, PANEL, WARM, WARM_AND_MIX, DRY = "thinner", "retarder", "panel", "warm", "warm_and_mix", "dry"
EFFORT = (PANEL, THINNER, RETARDER, WARM, WARM_AND_MIX, DRY)  # least first
AT_THE_BENCH = (PANEL, THINNER, RETARDER)
_WARMER_BY = tuple(range(1, 13))  # [K]
_WARMEST_PAST_BAND = 1.0  # [K], how far over the coating's GO band a room may be warmed to dry it
_DRIER_BY = 0.01  # [fraction], how far inside the band the air is dried
_SURELY = 0.1  # [K], how far over its limit a water-borne film must come
_SURE_SPREAD, _SURE_DEW, _SURE_PACE = 0.09, 0.5, (0.5, 2.2)  # [fraction], [K], [1]: inside the film's own limits
_FEW = 8  # candidates that are judged in full without a first sifting
_DAMPEST = 0.94  # [fraction], up to which onsets are sought


@dataclass(frozen=True)
class Change:
    """A change, judged: what to do, and what it comes to.

    air_temperature [°C], relative_humidity [fraction] and pot as they are then; state: the verdict then, a CHANGE being
    "a test panel first"; clear_below: humidity from which that film would blush; recoat_from [s] then and as it is now,
    None where not known; retarder_now: what is in the pot now. measure: it holds for a piece that is measured then.
    """

    kind: str
    pot: Pot
    air_temperature: float
    relative_humidity: float
    state: State
    clear_below: float | None
    recoat_from: float | None
    recoat_now: float | None
    retarder_now: float = 0.0
    measure: bool = False

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
    bands: Level  # what the rules without a film say
    measure: bool = False  # it holds for a piece that is measured then


def kinds_for(verdict: Verdict) -> tuple[str, ...]:
    """The kinds that may mend a verdict: a room that will not stay as it is is not mended by changing it as it is."""
    return AT_THE_BENCH if verdict.session is not None else EFFORT


def least_changes(
    verdict: Verdict,
    conditions: Conditions,
    shop: Shop,
    now: datetime,
    pot: Pot = UNKNOWN_POT,
    kinds: tuple[str, ...] = EFFORT,
    plan: Plan | None = None,
) -> tuple[Change, ...]:
    """One change of each kind asked for that leads to a GO, or to a GO with a test panel first, least effort first.

    None for a GO, or where the air is unknown. A WAIT by unknown readings is not mended by changing the air.
    """
    if verdict.state is State.GO or verdict.cannot_tell or verdict.film is None:
        return ()
    coating = verdict.coating
    candidates = [
        each for each in _candidates(verdict, conditions, shop, pot, kinds) if each.bands in (Level.OK, Level.CHANGE)
    ]
    films = verdict.films or Films(shop)
    if len(candidates) > _FEW:
        candidates = _kept_clear(candidates, coating, shop)
    candidates.sort(key=lambda each: each.bands is not Level.OK)  # those that end in a GO first
    few = len(candidates) <= _FEW
    first = [each for kind in EFFORT for each in [c for c in candidates if c.kind == kind][: _FEW if few else 1]]
    if not first:
        return ()
    # what helps is clear at its own humidity, so its onset lies above it; no coating is sprayed near saturation
    least = min(each.case.relative_humidity for each in first)
    above = [rung for rung in HUMIDITIES if least <= rung <= _DAMPEST] or [_DAMPEST]
    answers = film_answers([each.case for each in first], films.shop, quick=True, rungs=above)
    found: dict[str, tuple[_Candidate, Verdict]] = {}
    for each, answer in zip(first, answers, strict=True):
        if each.kind in found or not _to_spare(answer, coating, shop):
            continue
        film = view_of(answer, each.conditions, coating, shop, each.pot, films)
        there = with_panels_of_the_day(each.conditions, coating, shop, now, each.pot)
        then = judge_film(film, there, coating, shop, now)
        helps = RANK[then.state] < RANK[verdict.state] or (each.kind in AT_THE_BENCH and _damp(verdict))
        whole = _whole(each, then, conditions, verdict, shop, now, plan) if helps else None
        if whole is not None and then.state is not State.WAIT:
            found[each.kind] = whole
    cases = [
        case_of(each.conditions, shop, each.pot, usual_mix(coating, each.pot)) or each.case
        for each, _ in found.values()
    ]
    here = case_of(conditions, shop, pot, usual_mix(coating, pot))
    if here is None:
        return ()
    times = drying_times_of(coating, [here, *cases], films, shop)
    ways = [
        Change(
            each.kind, each.pot, each.case.air_temperature, each.case.relative_humidity,
            State.CHANGE if then.state is State.GO and not _surely(then, each) else then.state,
            None if then.film is None else then.film.blush.blush_onset,
            after.recoat_from, times[0].recoat_from, pot.retarder, each.measure,
        )
        for (each, then), after in zip(found.values(), times[1:], strict=True)
    ]  # fmt: skip
    # at the bench what ends in a GO stands before what needs a panel; the rest is in order of effort already
    return tuple(
        sorted(ways, key=lambda way: (way.kind not in AT_THE_BENCH, way.kind in AT_THE_BENCH and way.panel_first))
    )


def _whole(
    each: _Candidate, then: Verdict, conditions: Conditions, verdict: Verdict, shop: Shop, now: datetime,
    plan: Plan | None,
) -> tuple[_Candidate, Verdict] | None:  # fmt: skip
    """The candidate as the whole judge leaves it, session and vapour too; None where it does not turn the verdict.

    A piece that nobody measured is guessed from the new air, unless only a measured one holds: then that is said.
    """
    coating, guessed = verdict.coating, usable(conditions, "surface_temperature", shop) is None
    moved = each.kind in (WARM, WARM_AND_MIX)
    for measure in (False, True) if guessed and moved else (False,):
        there = each.conditions
        if guessed and moved and not measure:
            values = {key: value for key, value in there.values.items() if key[1] != "surface_temperature"}
            there = replace(there, values=values)
        whole = judge(there, coating, shop, now, each.pot, plan, verdict.films)
        state = max(whole.state, then.state, key=RANK.__getitem__)
        bench = each.kind in AT_THE_BENCH and _damp(verdict) and state is not State.WAIT
        if RANK[state] < RANK[verdict.state] or (bench and verdict.state is not State.WAIT):
            return replace(each, measure=measure), replace(then, state=state)
    return None


def _surely(then: Verdict, candidate: _Candidate) -> bool:
    """Whether a GO stays one when it is judged again by the looked-up film, which is off by a little."""
    film = then.film
    if film is None:
        return False
    onset, outcome = film.blush.blush_onset, film.blush.outcome
    clear = onset is None or candidate.case.relative_humidity + _SURE_SPREAD < onset
    dry = candidate.case.mix.clear_by is not None or outcome.lowest - outcome.dew_point > _SURE_DEW
    paced = film.pace is not None and _SURE_PACE[0] < film.pace < _SURE_PACE[1]
    return paced and (candidate.case.mix.dispersion or (clear and dry))


def _to_spare(answer: FilmAnswer, coating: Coating, shop: Shop) -> bool:
    """Whether a solvent film stays clear with the spread of makers' thinners to spare."""
    onset, spread = answer.blush_onset, shop.limit("blend_spread").value
    return coating.carrier == "water" or onset is None or answer.case.relative_humidity + spread < onset


def _damp(verdict: Verdict) -> bool:
    """Whether it is damp that keeps from a GO: then a slower pot and a panel can answer, whatever the band says."""
    return any(
        finding.rule in ("relative_humidity", "blush") and finding.side is Side.HIGH and finding.level is not Level.OK
        for finding in verdict.findings
    )


def _other_mixes(verdict: Verdict, taken: Mix) -> tuple[Mix, ...]:
    """What could be in the pot instead: slower for damp or a film that closes fast, faster for one that does not."""
    coating = verdict.coating
    closing = next(finding for finding in verdict.findings if finding.rule == "closing")
    if _damp(verdict) and not most_retarder(coating):
        return clearest_mixes(coating, taken)
    if _damp(verdict) or closing.side is Side.LOW:
        return slower_mixes(coating, taken)
    if closing.side is Side.HIGH and taken.thinner in coating.thinner_speeds:
        faster = coating.thinner_speeds[: coating.thinner_speeds.index(taken.thinner)]
        less = [mix_of(coating, taken.thinner)] if taken.retarder else []
        return (*less, *(mix_of(coating, speed) for speed in reversed(faster)))
    return ()


def _candidates(
    verdict: Verdict, conditions: Conditions, shop: Shop, pot: Pot, kinds: tuple[str, ...]
) -> Iterator[_Candidate]:
    """Those of the kinds asked for, least first within each."""
    coating = verdict.coating
    taken = mix_of(coating, pot.thinner or fastest(coating), pot.retarder)
    slower = slower_mixes(coating, taken)
    here = case_of(conditions, shop, pot, taken)
    if here is None:
        return

    def tried(kind: str, changed: Conditions, mix: Mix) -> Iterator[_Candidate]:
        if kind not in kinds:
            return
        # what stays as it is stays unknown where it was
        thinner = pot.thinner if mix.thinner == taken.thinner else mix.thinner
        holds = replace(pot, thinner=thinner, retarder=mix.retarder)
        case = case_of(changed, shop, holds, mix)
        if case is not None:
            yield _Candidate(kind, changed, holds, case, worst_of(rule(changed, coating, shop) for rule in RULES))

    if coating.carrier != "water":
        yield from tried(PANEL, conditions, taken)
        for mix in _other_mixes(verdict, taken):
            if mix.thinner != taken.thinner and mix.retarder <= taken.retarder:
                yield from tried(THINNER, conditions, mix)
            elif mix.thinner == taken.thinner and mix.retarder != taken.retarder:
                yield from tried(RETARDER, conditions, mix)
    slow_enough = tuple(dict.fromkeys((*slower[:2], *slower[-1:])))
    warmest = coating.air_temperature.go_high.value + _WARMEST_PAST_BAND
    for warmer in _WARMER_BY:
        warm = here.air_temperature + warmer
        changed = _warmed(conditions, shop, warm) if warm <= warmest else None
        if changed is not None:
            yield from tried(WARM, changed, taken)
            for mix in slow_enough:
                yield from tried(WARM_AND_MIX, changed, mix)
    dry = coating.relative_humidity.go_high.value - _DRIER_BY
    if here.relative_humidity > dry:
        yield from tried(DRY, conditions.with_values({"relative_humidity": dry}), taken)


def _kept_clear(candidates: list[_Candidate], coating: Coating, shop: Shop) -> list[_Candidate]:
    """Those whose film stays clear with the spread of makers' thinners to spare, or forms; all in one batch."""
    water = coating.carrier == "water"
    spread = 0.0 if water else shop.limit("blend_spread").value
    cases = [
        replace(each.case, relative_humidity=min(1.0, each.case.relative_humidity + spread)) for each in candidates
    ]
    outcomes = dry_films(cases, shop, quick=True).outcomes
    least = coating.numbers.get("minimum_film_forming_temperature")
    needed = -273.15 if least is None else least.value + shop.limit("film_margin").value + _SURELY
    fit = [outcome.at_packing >= needed if water else outcome.haze < 0 for outcome in outcomes]
    return [each for each, good in zip(candidates, fit, strict=True) if good]


def _warmed(conditions: Conditions, shop: Shop, warm: float) -> Conditions | None:
    """Room and pieces this warm [°C] with the same moisture; None where that cannot be computed."""
    then = humidity_at(warm, conditions, shop)
    if then is None:
        return None
    piece = conditions.at_work("surface_temperature").value
    face = warm if piece is None else max(warm, piece)  # a piece hotter than the room is not mended by warming it
    values = {"air_temperature": warm, "relative_humidity": then, "surface_temperature": face}
    return conditions.with_values(values)
