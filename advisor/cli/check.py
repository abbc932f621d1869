"""`advisor check`: one verdict from typed values or from a CSV file."""

import json
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path

from advisor.advice import phrases, words
from advisor.advice.changes import AT_THE_BENCH, Change, kinds_for, least_changes
from advisor.advice.conditions import AIR_QUANTITIES, OUTDOORS, Conditions
from advisor.advice.drying import DryingTimes
from advisor.advice.film_view import UNKNOWN_POT, times_of
from advisor.advice.measures import moment, percent
from advisor.advice.night_ahead import until_night, with_night
from advisor.advice.plan import Plan
from advisor.advice.proof import proved
from advisor.advice.record import SCHEMA, utc, verdict_record
from advisor.advice.remedies import Way, session_ways
from advisor.advice.verdict import EXIT_CANNOT_TELL, EXIT_GO, EXIT_WAIT, State, Verdict, judge
from advisor.catalog.coatings import coating_ids
from advisor.catalog.limits import quality_limits
from advisor.catalog.units import parse_quantity, parse_relative_humidity
from advisor.cli.before_opening import Beside, look_at_dust, night_of, read_log, told_first, without_effect
from advisor.cli.next_asked import JobAsked, job_asked, next_record, next_told, refuse_without_job
from advisor.cli.paper import print_wrapped
from advisor.cli.pot import pot_from
from advisor.cli.recorded import Recorded, judge_file, zone_of
from advisor.cli.session_asked import plan_from
from advisor.cli.typed import typed_outdoors, typed_temperature
from advisor.errors import UsageError, shown
from advisor.logbook.air_log import AirLog
from advisor.logbook.calibration_log import calibrations_in_force, with_calibrations
from advisor.logbook.conditions import typed_conditions, typed_value
from advisor.logbook.daemon_lock import daemon_doubt
from advisor.logbook.panels import Panels
from advisor.logbook.present import conditions_at, place_to_spray
from advisor.logbook.store import logbook, logbook_path
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop


@dataclass(frozen=True)
class Asked:
    """The command line of `advisor check`."""

    config: Path | None = None
    csv: Path | None = None
    at: str = "now"
    zone: str | None = None
    place: str | None = None
    air: str | None = None
    rh: str | None = None
    surface: str | None = None
    piece_in: str | None = None
    sprayed: str | None = None
    coating: str | None = None
    thinner: str | None = None
    retarder: str | None = None
    gun: str | None = None
    outdoors: str | None = None
    outdoors_rh: str | None = None
    coats: int | None = None
    spray: str | None = None
    amount: str | None = None
    night: str | None = None
    heated: bool = False
    sanded: str | None = None
    matt: bool = False
    as_json: bool = False
    job: str | None = None
    tried: bool = False
    mixed: str | None = None


def run_check(asked: Asked) -> int:
    """Judge, print, and give the exit code."""
    computed_at = datetime.now(UTC)
    shop = shop_from(asked.config)
    _refuse_mixed(asked)
    zone_of(asked.zone)
    recorded = None
    if asked.csv is None and asked.air is None and asked.rh is None:
        now, (shop, conditions) = computed_at, _logged(asked, shop, computed_at)
    elif asked.csv is None:
        now, conditions = computed_at, _typed(asked, shop)
    else:
        recorded = judge_file(asked.csv, asked.at, asked.zone, asked.place, shop, computed_at, _ages(asked))
        now, conditions = recorded.as_of, _with_typed_surface(recorded.conditions, asked, shop)
    at_job = None
    if asked.job is not None:
        at_job = job_asked(asked.job, asked.coating, asked.tried, asked.mixed, shop, now)
        asked = replace(asked, coating=at_job.coating.id)
    ids = (asked.coating,) if asked.coating else shop.coatings or coating_ids()
    coatings = [shop.coating(coating_id) for coating_id in ids]
    pot = pot_from(asked.thinner, asked.retarder, asked.gun)
    if pot != UNKNOWN_POT and asked.coating is None:
        raise UsageError("--thinner, --retarder or --gun without --coating", "one coating", "name what is in the pot")
    if asked.coating is None and (asked.amount is not None or asked.sanded is not None or asked.matt):
        raise UsageError("--amount, --sanded or --matt without --coating", "one coating", "name what is sprayed")
    conditions = _with_night(_with_outdoors(conditions, asked, shop), asked, shop, now)
    plans = [plan_from(asked.coats, asked.spray, coating, shop, asked.amount) for coating in coatings]
    logged = read_log(recorded, asked.air is not None or asked.rh is not None, conditions, shop, now)
    nights = [night_of(logged, coating, shop) for coating in coatings]
    known = [with_night(conditions, night, now) for night in nights]
    verdicts = [
        judge(there, coating, shop, now, pot, plan) for there, coating, plan in zip(known, coatings, plans, strict=True)
    ]
    more = _More(at_job=at_job)
    if asked.coating:
        # the text of a change names ways at the bench only; the record has them all
        at_the_bench = verdicts[0].state is State.CHANGE and not asked.as_json
        conditions = known[0]
        later = None if verdicts[0].state is State.GO else logged.ahead()
        ahead = session_ways(verdicts[0], conditions, shop, now, pot, later)
        kinds = AT_THE_BENCH if at_the_bench else kinds_for(verdicts[0])
        ways = least_changes(verdicts[0], conditions, shop, now, pot, kinds, plans[0])
        verdicts[0] = proved(verdicts[0], conditions, shop, now, pot, plans[0])
        beside = Beside(
            look_at_dust(logged, now, asked.matt, shop),
            verdicts[0].vapour,
            nights[0],
        )
        sanded = None if asked.sanded is None else _age(asked.sanded, "--sanded")
        first = told_first(beside, sanded, asked.matt, shop)
        told = asked.as_json or verdicts[0].state is not State.WAIT  # the text of a WAIT has no drying times
        times = times_of(conditions, coatings[0], shop, pot, verdicts[0].films) if told else None
        notes = without_effect(asked.coats, asked.matt, sanded, verdicts[0], beside)
        more = _More(ways, times, ahead, beside, first, notes, plans[0], at_job)
    if asked.as_json:
        _print_json(verdicts, more, asked, shop, computed_at, recorded)
    else:
        _print_text(verdicts, more, asked, shop, recorded)
    return _exit_code(verdicts) if at_job is None else at_job.answer(verdicts[0], shop).exit_code


@dataclass(frozen=True)
class _More:
    """What is computed for one named coating only: the ways that would mend its verdict, and its drying times."""

    changes: tuple[Change, ...] = ()
    times: DryingTimes | None = None
    session_ways: tuple[Way, ...] = ()
    beside: Beside = field(default_factory=Beside)
    told_first: str = ""
    notes: tuple[str, ...] = ()
    plan: Plan | None = None
    at_job: JobAsked | None = None


def _refuse_mixed(asked: Asked) -> None:
    refuse_without_job(asked.job, asked.tried, asked.mixed)
    for name in ("zone", "place", "coating", "job"):
        if getattr(asked, name) == "":
            raise UsageError(f"--{name} is empty", "a name", "leave it out or name one")
    if asked.csv is not None and (asked.air is not None or asked.rh is not None):
        raise UsageError("--csv together with --air or --rh", "one or the other", "leave one out")
    if asked.csv is None and asked.at != "now":
        raise UsageError("--at without --csv", "--at with a file", "typed values are judged as of now")


def _with_outdoors(conditions: Conditions, asked: Asked, shop: Shop) -> Conditions:
    """Typed outdoor air stands for the sensor's."""
    typed = typed_outdoors(asked.outdoors, asked.outdoors_rh, shop)
    if typed is None:
        return conditions
    values = {
        (OUTDOORS, quantity): typed_value(quantity, value, shop)
        for quantity, value in zip(AIR_QUANTITIES, typed, strict=True)
    }
    return replace(conditions, values={**conditions.values, **values})


def _with_night(conditions: Conditions, asked: Asked, shop: Shop, now: datetime) -> Conditions:
    """The lowest that the room is expected to fall to, as typed, and whether it is kept heated."""
    if asked.night is None:
        return replace(conditions, held=asked.heated)
    low, high = (quality_limits()["air_temperature", edge].value for edge in ("range_low", "range_high"))
    coldest = typed_temperature(asked.night, "--night", shop, (low, high))
    return replace(conditions, night_low=coldest, night_from=until_night(now, shop), held=asked.heated)


def _typed(asked: Asked, shop: Shop) -> Conditions:
    typed = {}
    if asked.air is not None:
        typed["air_temperature"] = _temperature(asked.air, "air_temperature", shop)
    if asked.rh is not None:
        typed["relative_humidity"] = parse_relative_humidity(asked.rh)
        lowest = quality_limits()["relative_humidity", "range_low"].value
        if typed["relative_humidity"] < lowest:
            raise UsageError(f"--rh {shown(asked.rh)} is drier than any room", f"from {percent(lowest)}", "read again")
    if asked.surface is not None:
        typed["surface_temperature"] = _temperature(asked.surface, "surface_temperature", shop)
    place = asked.place or shop.spray_place or "shop"
    return typed_conditions(typed, place, shop, *_ages(asked))


def _logged(asked: Asked, shop: Shop, now: datetime) -> tuple[Shop, Conditions]:
    """The present from the logbook, beside a running daemon or without one; with the sensors' calibrations."""
    path = logbook_path(shop.logbook)
    if not shop.coatings and not path.exists():
        raise UsageError("nothing to judge", "--air 24C --rh 62%, --csv FILE, or a logbook", "give one of them")
    doubt = daemon_doubt(path)
    with logbook(path) as connection:
        air_log = AirLog(connection)
        shop = with_calibrations(shop, calibrations_in_force(connection))
        place = asked.place or place_to_spray(shop, air_log.all_series())
        conditions = conditions_at(air_log, now, place, shop)
        panels = Panels(air_log, shop).of_the_day(now, place)
    # the daemon's doubt counts here too: two words on one air must not contradict each other
    conditions = replace(conditions, panels=panels, doubt=doubt or conditions.doubt)
    piece, sprayed = _ages(asked)
    conditions = replace(conditions, piece_in_room=piece, since_solvent_spraying=sprayed)
    return shop, _with_typed_surface(conditions, asked, shop)


def _ages(asked: Asked) -> tuple[float | None, float | None]:
    """How long the piece has stood here and how long ago solvent was sprayed [s]."""
    piece, sprayed = (
        None if text is None else _age(text, name)
        for text, name in ((asked.piece_in, "--piece-in"), (asked.sprayed, "--sprayed"))
    )
    return piece, sprayed


def _age(text: str, name: str) -> float:
    age = parse_quantity(text, "time", name)
    if not age >= 0:
        raise UsageError(f"{name} {shown(text)} lies in the future", "a time ago, like 20min or 24h", "correct it")
    return age


def _temperature(text: str, quantity: str, shop: Shop) -> float:
    name = {"air_temperature": "--air", "surface_temperature": "--surface"}[quantity]
    low, high = (quality_limits()[quantity, edge].value for edge in ("range_low", "range_high"))
    return typed_temperature(text, name, shop, (low, high))


def _with_typed_surface(conditions: Conditions, asked: Asked, shop: Shop) -> Conditions:
    """A typed surface overrides the sensor's."""
    if asked.surface is None:
        return conditions
    quantity = "surface_temperature"
    value = typed_value(quantity, _temperature(asked.surface, quantity, shop), shop)
    return replace(conditions, values={**conditions.values, (conditions.place, quantity): value})


def _exit_code(verdicts: list[Verdict]) -> int:
    """0 if any coating may be sprayed, else 1 when any reason is known, else 3."""
    codes = {verdict.exit_code for verdict in verdicts}
    return next(code for code in (EXIT_GO, EXIT_WAIT, EXIT_CANNOT_TELL) if code in codes)


def _print_json(
    verdicts: list[Verdict],
    more: _More,
    asked: Asked,
    shop: Shop,
    computed_at: datetime,
    recorded: Recorded | None,
) -> None:
    ways_as_of = computed_at if asked.coating else None
    records = [
        verdict_record(verdict, shop, computed_at, more.changes, more.times, more.session_ways, ways_as_of)
        for verdict in verdicts
    ]
    extra = {} if recorded is None else {"readings": recorded.counted()}
    if asked.coating:
        extra = {**extra, **next_record(more.at_job, verdicts[0], shop)}
        print(json.dumps({**records[0], **more.beside.record(), **extra}, ensure_ascii=False, allow_nan=False))
    else:
        together = {"schema": SCHEMA, "as_of": utc(verdicts[0].as_of), "computed_at": utc(computed_at)}
        print(json.dumps({**together, "verdicts": records, **extra}, ensure_ascii=False, allow_nan=False))


def _print_text(verdicts: list[Verdict], more: _More, asked: Asked, shop: Shop, recorded: Recorded | None) -> None:
    paragraphs = []
    if recorded is not None and asked.at != "now":
        paragraphs.append(f"As of {moment(verdicts[0].as_of, shop.zone)}, not now.")
    lines = words.MOST_LINES - len(paragraphs)
    paragraphs += next_told(more.at_job, verdicts[0], shop)
    if asked.coating:
        paragraphs += words.told(
            verdicts[0],
            shop,
            more.changes,
            more.times,
            more.session_ways,
            more.told_first,
            more.plan,
            notes=more.notes,
            lines=lines,
        )
    else:
        paragraphs += [words.air_line(verdicts[0], shop), words.unmoved(verdicts[0])]
        paragraphs += words.summaries(verdicts, shop)
        allowed = any(verdict.state is not State.WAIT for verdict in verdicts)
        keys = ("finish-only", *(["respirator"] if allowed else []), "authorities")
        paragraphs.append(" ".join(phrases.CAUTION_WORDS[key] for key in keys))
    if recorded is not None:
        paragraphs += [phrases.RECORDED_HINT if recorded.stale else "", recorded.told()]
    print_wrapped(paragraph for paragraph in paragraphs if paragraph)
