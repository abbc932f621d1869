"""Which cautions a coating carries; the sentences stand in words.py.

GO is about the finish, never about the air being fit to breathe. The safety data sheet, local codes and licensed
practice decide.

The verdict: what the rules come to. No memory: a pure function of conditions, coating, shop and the moment.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from enum import StrEnum

from advisor.catalog.coatings import Coating
from advisor.film.film_map import Films
from advisor.judge.conditions import AIR_QUANTITIES, Conditions, Surface, air_at_work, surface_of_piece
from advisor.judge.film_rules import FILM_RULES, UNKNOWN_POT, FilmView, Pot, film_view, usual_mix
from advisor.judge.finding import Finding, Level, worst_of
from advisor.judge.panel_rule import PANEL, panel_findings, settled_by_panel, with_panels_of_the_day
from advisor.judge.plan import Plan, plan_for
from advisor.judge.rules import RULES
from advisor.judge.session import SESSION, Session, session_finding, session_of
from advisor.judge.vapour_rule import VAPOUR, VapourNote, vapour, vapour_note
from advisor.judge.warm_up import WarmUp, warm_up_of, with_warm_up
from advisor.physics.air.air_state import AirState
from advisor.shop.shop import Shop

ALWAYS = ("finish-only", "respirator", "authorities")


def cautions_for(coating: Coating) -> tuple[str, ...]:
    """Caution keys, gravest first."""
    carried = {
        "isocyanate": coating.isocyanate,
        "hardener-skin": coating.isocyanate,
        "flammable": coating.flammable,
        "rated-equipment": coating.flammable,
        "formaldehyde": coating.gives_off_formaldehyde,
        "oily-rags": coating.hardens_by == "oxidation",
        "mixed-residues": coating.hardens_by in ("oxidation", "two-pack", "acid") or coating.flammable,
    }
    return (*(key for key, is_so in carried.items() if is_so), *ALWAYS, "no-alarm")


class State(StrEnum):
    """What to do."""

    GO = "go"
    CHANGE = "change"
    WAIT = "wait"


FIRST = (VAPOUR, "night")  # of several changes these are told first, and what to do about them is never left out
RANK = {State.GO: 0, State.CHANGE: 1, State.WAIT: 2}  # the worse, the higher
STATES = {
    Level.OK: State.GO, Level.CHANGE: State.CHANGE, Level.UNKNOWN: State.WAIT, Level.STOP: State.WAIT,
}  # fmt: skip
EXIT_GO, EXIT_WAIT, EXIT_CANNOT_TELL = 0, 1, 3  # 2 is a usage, config or file error


@dataclass(frozen=True)
class Verdict:
    """GO, GO WITH CHANGES or WAIT for one coating at one place and moment.

    cannot_tell: a WAIT that rests on unknowns alone. holds_until: None for a WAIT. valid_until: when the readings
    under it are too old. film: what the wet film would do; None where it was not computed. session: what the air will
    be with the door open and the fan on; None where the air outdoors is not known. as_it_stands: the state of the room
    as it is now, without a session. warm_up: how long a piece that is too cold takes; None where none is. vapour: what
    spraying as planned makes of it; None where only a film was judged. proved: the numbers of its remedies hold. films:
    those it was looked up in, for whoever asks on.
    """

    state: State
    cannot_tell: bool
    as_of: datetime
    holds_until: datetime | None
    valid_until: datetime
    coating: Coating
    place: str
    air: AirState | None
    surface: Surface | None
    film: FilmView | None
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...]
    session: Session | None = None
    warm_up: WarmUp | None = None
    vapour: VapourNote | None = None
    proved: bool = False
    films: Films | None = field(default=None, compare=False, repr=False)

    @property
    def as_it_stands(self) -> State:
        """The state of the room as it is now: without the session ahead."""
        return STATES[worst_of(finding for finding in self.findings if finding.rule != SESSION)]

    @property
    def exit_code(self) -> int:
        """0 for a GO of either kind, 1 for a WAIT with a known reason, 3 when it cannot tell."""
        if self.state is not State.WAIT:
            return EXIT_GO
        return EXIT_CANNOT_TELL if self.cannot_tell else EXIT_WAIT


def judge(
    conditions: Conditions,
    coating: Coating,
    shop: Shop,
    now: datetime,
    pot: Pot = UNKNOWN_POT,
    plan: Plan | None = None,
    films: Films | None = None,
) -> Verdict:
    """Ask every rule and take the worst. `now` is the moment judged, with its zone; pot: what is sprayed and with what.

    plan: the session meant; None: one of the shop's usual length. It counts where the air outdoors is known. films: of
    this shop, known already; the verdict holds on to them.

    Where sensors at the place contradict each other, the air is judged by each and the worst verdict counts.
    """
    conditions = with_panels_of_the_day(conditions, coating, shop, now, pot)
    plan, films = plan or plan_for(coating, shop), films or Films(shop)
    verdicts = [_with_session(variant, coating, shop, now, pot, plan, films) for variant in _variants(conditions)]
    return max(verdicts, key=lambda verdict: (RANK[verdict.state], not verdict.cannot_tell))


def _with_session(
    conditions: Conditions, coating: Coating, shop: Shop, now: datetime, pot: Pot, plan: Plan, films: Films
) -> Verdict:
    """The verdict on the room as it is, on the air that the session will bring, and on the vapour it makes."""
    session = session_of(conditions, coating, shop, pot, plan, films)  # first: its batch of films has that of now in it
    film = film_view(conditions, coating, shop, pot, films)
    note = vapour_note(coating, usual_mix(coating, pot), plan, shop, conditions)
    verdict = replace(judge_film(film, conditions, coating, shop, now), session=session, vapour=note, films=films)
    findings = [*verdict.findings, vapour(note)]
    if session is not None:
        along = [(each.air_temperature, each.relative_humidity) for each in session.moments if each.spraying]
        findings = [each for each in findings if each.rule != PANEL]
        findings += [session_finding(session), *panel_findings(conditions, shop, along)]
    return _concluded(verdict, findings, shop)


def judge_film(film: FilmView | None, conditions: Conditions, coating: Coating, shop: Shop, now: datetime) -> Verdict:
    """The verdict of a film computed already; no contradicting sensors."""
    findings = [
        settled_by_panel(finding, conditions, shop)
        for finding in (
            *(rule(conditions, coating, shop) for rule in RULES),
            *(rule(film, conditions, coating, shop) for rule in FILM_RULES),
        )
    ]
    warm = warm_up_of(findings, conditions, coating, shop, "wood" if film is None else film.blush.case.substrate)
    # until the older of the two needed readings is stale; at once when one of them is missing
    ages, fresh_for = [conditions.at_work(each).age for each in AIR_QUANTITIES], shop.limit("fresh_for").value
    valid_for = max(0.0, min(0.0 if age is None else fresh_for - age for age in ages))
    blank = Verdict(
        state=State.WAIT,
        cannot_tell=False,
        as_of=now,
        holds_until=None,
        valid_until=now + timedelta(seconds=valid_for),
        coating=coating,
        place=conditions.place,
        air=_air(conditions, shop),
        surface=surface_of_piece(conditions, shop),
        film=film,
        findings=(),
        cautions=cautions_for(coating),
        warm_up=warm,
    )
    return _concluded(blank, [*with_warm_up(findings, warm), *panel_findings(conditions, shop)], shop)


def _concluded(verdict: Verdict, findings: Sequence[Finding], shop: Shop) -> Verdict:
    """What the findings come to."""
    level = worst_of(findings)
    until = min(verdict.valid_until, verdict.as_of + timedelta(seconds=shop.limit("holds_for").value))
    return replace(
        verdict,
        state=STATES[level],
        cannot_tell=level is Level.UNKNOWN,
        holds_until=None if STATES[level] is State.WAIT else until,
        findings=tuple(findings),
    )


def _variants(conditions: Conditions) -> list[Conditions]:
    """The conditions once for each combination of contradicting values; usually just themselves."""
    variants = [conditions]
    for quantity in ("air_temperature", "relative_humidity", "surface_temperature"):
        key = (conditions.place, quantity)
        measured = conditions.values.get(key)
        if measured is not None and measured.rivals:
            variants = [
                replace(variant, values={**variant.values, key: replace(measured, value=value, rivals=())})
                for variant in variants
                for value in measured.rivals
            ]
    return variants


def _air(conditions: Conditions, shop: Shop) -> AirState | None:
    air, unsure = air_at_work(conditions, shop), [conditions.at_work(each).uncertainty for each in AIR_QUANTITIES]
    return None if air is None else AirState(*air, conditions.pressure, unsure[0], min(unsure[1], 1.0))


def worst_findings(verdict: Verdict) -> tuple[Finding, ...]:
    """The findings that make the state, worst first, one for each cause."""
    order = {Level.STOP: 0, Level.UNKNOWN: 1, Level.CHANGE: 2}
    worst = sorted(
        (
            each
            for each in verdict.findings
            if each.level in order and (each.deciding or each.level is not Level.UNKNOWN)
        ),
        key=lambda each: (order[each.level], each.rule not in FIRST, each.rule != VAPOUR),
    )
    first = {each.reason: each for each in reversed(worst) if each.level is Level.UNKNOWN}
    return tuple(each for each in worst if each.level is not Level.UNKNOWN or each is first[each.reason])
