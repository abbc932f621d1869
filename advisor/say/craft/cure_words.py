"""What is said of a coat that hardens: eight lines of 80 columns at most, and its record for JSON."""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from typing import Any

from advisor.catalog.limits import in_short
from advisor.jobs.cure import BRIDGED, GAP, NEVER_HARD, NO_CREDIT, SCUFF, STANDS_STILL, UNMOVED, Cure, Flag, Stage
from advisor.say.as_json import SCHEMA, Forms
from advisor.say.fitting import Paragraph, first_met, fitted, paragraph
from advisor.say.numbers import clock, counted, moment, span, temperature, trimmed
from advisor.say.phrases import cautions_of
from advisor.shop.shop import Shop
from advisor.times import local_day

STAGE_WORDS = {
    "recoat": "next coat",
    SCUFF: "scuff-sand before a coat from",
    "handle": "handle",
    "recoat_two_pack": "two-pack clear over it",
    "sand": "sand",
    "sand_flat": "sand flat",
    "rub_out": "rub out",
    "full_cure": "full cure",
}
FLAG_WORDS = {
    NEVER_HARD: "Below {limit} from {since}, {long} (to {lowest}): may never get fully hard.",
    NO_CREDIT: "Below {limit} from {since}, {long}: that time counts nothing.",
    STANDS_STILL: "Stands still: {lowest} now, it hardens from {limit} on. Warm the room.",
    GAP: "No usable temperature from {since}, {long}{why}: not counted.",
    UNMOVED: "The sensor has not moved from {since}, {long}: if it is stuck, these times are wrong.",
    BRIDGED: "{gaps} in the record from {since}, {long}, bridged.",
}
_CURE = (
    "schema as_of=state.as_of computed_at coating=state.coating.id place sprayed=state.sprayed clock_hours"
    " equivalent_hours reference_temperature=state.reference present_temperature=state.present coats"
    " thickness_factor=state.thickness_factor cannot_tell=state.cannot_tell stages=state.stages flags=state.flags"
    " cautions"
)
_MOST_LINES = 8
_WEEKDAY_UP_TO = 6  # days off, after which a weekday alone would be another week's
_YEAR_FROM = 300  # days off, from which a date wants its year


def told(state: Cure, shop: Shop, hint: str = "") -> list[str]:
    """Short paragraphs: the clock, what is reached, what comes when, what went wrong, a note, a caution.

    What can best be missed is left out until eight lines of 80 columns hold it. That a coat may stay soft, stands still
    or has a gap is always said.
    """
    damp = state.coating.carrier == "water" and state.coating.isocyanate
    return fitted(
        [
            paragraph(_head(state, shop)),
            Paragraph(_reached(state, shop), ((2, _last_reached(state, shop)),)),
            Paragraph(to_come(state, shop, hint), ((2, to_come(state, shop, hint, short=True)),)),
            *(paragraph(flag_words(flag, state, shop), int(flag.kind == NO_CREDIT)) for flag in wrong_with(state)),
            paragraph("By temperature alone: damp air makes the first stages later." if damp else "", 3),
            paragraph(caution_words(state)),
        ],
        _MOST_LINES,
    )


def told_together(names: Sequence[str], states: Sequence[Cure], shop: Shop, hint: str = "") -> list[str]:
    """A paragraph for each of several pieces: what it is fit for, what is next, what went wrong; cautions once."""

    def line(name: str, state: Cure) -> str:
        wrong = [flag_words(flag, state, shop) for flag in wrong_with(state)]
        come = to_come(state, shop, hint, short=True)
        return " ".join([f"{name}, {state.coating.name}: {_last_reached(state, shop)}", come, *wrong]).strip()

    return [*map(line, names, states), *dict.fromkeys(map(caution_words, states))]


def wrong_with(state: Cure) -> list[Flag]:
    """The flags that are told; that it stands still says too that time below that floor counts nothing."""
    still = any(flag.kind == STANDS_STILL for flag in state.flags)
    return [flag for flag in state.flags if flag.kind not in (BRIDGED, *([NO_CREDIT] if still else []))]


def _head(state: Cure, shop: Shop) -> str:
    passed = (state.as_of - state.sprayed).total_seconds()
    least = "at least " if state.gap else ""
    worth = f"{least}{_hours(state.collected)} at {temperature(state.reference, shop.units)}"
    thick = f"; thick film, {trimmed(state.thickness_factor, 1)} times as long" if state.thickness_factor > 1 else ""
    gaps = sum(flag.seconds for flag in state.flags if flag.kind == BRIDGED)
    bridged = f" (gaps of {span(gaps)} bridged)" if gaps else ""
    when, until = moment(state.sprayed, shop.zone), when_short(state.as_of, state.sprayed, shop)
    return f"{state.coating.name}: sprayed {when}; {_hours(passed)} to {until}{bridged}, worth {worth}{thick}."


def _hours(seconds: float) -> str:
    """`14.2 h`, `12.5 days`: to be compared with each other, so not in minutes."""
    return f"{trimmed(seconds / 3600, 1)} h" if seconds < 96 * 3600 else f"{trimmed(seconds / 86_400, 1)} days"


def _reached(state: Cure, shop: Shop) -> str:
    done = [stage for stage in state.stages if stage.reached]
    return f"Reached: {_listed(done, state, shop)}." if done else "Nothing reached yet."


def _last_reached(state: Cure, shop: Shop) -> str:
    """The last one: the earlier ones are over."""
    done = [stage for stage in state.stages if stage.reached]
    return f"Reached: {_listed(done[-1:], state, shop)}, and all before." if len(done) > 1 else _reached(state, shop)


def to_come(state: Cure, shop: Shop, hint: str, short: bool = False) -> str:
    """What is waited for; in short the next and the last of it."""
    waiting = [stage for stage in state.stages if not stage.reached]
    if not waiting:
        return ""
    timed = [stage for stage in waiting if stage.at_latest is not None]
    untimed = [stage for stage in waiting if stage.at_latest is None]
    if short:
        told_already = any(flag.kind == STANDS_STILL for flag in state.flags)
        timed, untimed = _ends(timed), [] if told_already else _ends(untimed)
    names = ", ".join(STAGE_WORDS[stage.stage] for stage in untimed)
    if state.present is None:
        closes = [stage for stage in timed if stage.stage == SCUFF]
        also = f" Take it: {_listed(closes, state, shop)}." if closes else ""
        unknown = f"Cannot tell without the temperature now: {names}.{also}" if names else also.strip()
        return f"{unknown} {hint}".strip()
    at_now = temperature(state.present, shop.units)
    said = "At the latest" if state.gap else "To come"
    coming = [f"{said} at {at_now} as now: {_listed(timed, state, shop)}."] if timed else []
    return " ".join([*coming, *([f"Never at {at_now}: {names}."] if names else [])])


def _ends(stages: Sequence[Stage]) -> list[Stage]:
    return [*stages[:1], *stages[1:][-1:]]


def _listed(stages: Iterable[Stage], state: Cure, shop: Shop) -> str:
    return ", ".join(
        f"{STAGE_WORDS[stage.stage]} {when_short(stage.at_latest, state.as_of, shop)}"
        for stage in stages
        if stage.at_latest is not None
    )


def when_short(at: datetime, now: datetime, shop: Shop) -> str:
    """`14:05` today, `Tue 14:05` within a week, `24 Nov` beyond it."""
    day, today = local_day(at, shop.zone), local_day(now, shop.zone)
    apart = abs((day - today).days)
    at_day = f"{day.day} {day:%b}{f' {day.year}' if apart > _YEAR_FROM else ''}"
    return at_day if apart > _WEEKDAY_UP_TO else f"{f'{day:%a} ' if apart else ''}{clock(at, shop.zone or 'UTC')}"


def flag_words(flag: Flag, state: Cure, shop: Shop) -> str:
    """A flag in one sentence, two at most."""
    return FLAG_WORDS[flag.kind].format(
        since="" if flag.since is None else when_short(flag.since, state.as_of, shop),
        limit="" if flag.limit is None else temperature(flag.limit, shop.units),
        lowest="" if flag.lowest is None else temperature(flag.lowest, shop.units),
        long=f"{span(flag.seconds)}{' in all' if flag.count > 1 else ''}",
        why=f" ({in_short(flag.reason)})" if flag.reason else "",
        gaps=counted(flag.count, "A gap"),
    )


def caution_words(state: Cure) -> str:
    """One line of at most 80 characters: what is wise until it is hard."""
    coating, by = state.coating, state.coating.hardens_by
    return first_met(
        (coating.isocyanate, "Uncured dust carries isocyanate, no smell warns: mask by the safety data sheet."),
        (
            coating.gives_off_formaldehyde,
            "Gives off formaldehyde while it cures: keep airing. Safety data sheet decides.",
        ),
        (by == "oxidation", "Oily rags ignite by themselves. Safety data sheet decides."),
        (by == "coalescence", "Hardens for weeks and shrinks back meanwhile; damp air adds to it. Keep airing."),
        (by == "evaporation", "Solvent leaves for weeks and the film shrinks: thumbnail test, and keep airing."),
        (True, "It gives off vapour until it is cured: keep airing."),
    )


_FORMS = Forms(  # beside each record: the cure it is part of, and the shop
    {
        Stage: (
            "stage from_sheet needed reached at at_latest",
            {"equivalent_hours": lambda stage, state, _: state.collected / 3600.0},
        ),
        Flag: ("kind limit lowest since seconds count? reason?", {"words": flag_words}),
    }
)


def cure_record(state: Cure, shop: Shop, computed_at: datetime, place: str, coats: int | None) -> dict[str, Any]:
    """The answer as JSON: s, °C, hours where the key says so; times UTC; null where it never comes or is not known."""
    asked = {
        "schema": SCHEMA, "computed_at": computed_at, "state": state, "place": place, "coats": coats,
        "clock_hours": (state.as_of - state.sprayed) / timedelta(hours=1),
        "equivalent_hours": state.collected / 3600.0,
        "cautions": cautions_of(state.coating),
    }  # fmt: skip
    return _FORMS.keyed(_CURE, asked, state, shop)
