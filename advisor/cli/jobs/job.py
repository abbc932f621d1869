"""`advisor job`: a job's coats, what was seen, its clocks."""

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from advisor.cli.options import JsonOption
from advisor.cli.paper import Answer
from advisor.desk import coat as coats
from advisor.desk import jobs
from advisor.desk.typed import typed_moment, typed_text
from advisor.errors import refuse, shown
from advisor.jobs.job import Job, Observation
from advisor.say.as_json import headed
from advisor.say.craft.job_clock_words import told, told_together, warning_words
from advisor.say.craft.job_words import (
    coat_words,
    job_name,
    job_words,
    kept_words,
    observation_words,
    plan_words,
    record_words,
    rework_words,
    undone_words,
)  # fmt: skip
from advisor.say.craft.next_coat_words import JOB_FORMS, clock_record
from advisor.say.craft.overcoat_words import residues_told
from advisor.shop.shop import Shop

_LONGEST_PATH = 400  # characters
JobArgument = Annotated[
    str | None, typer.Argument(metavar="[JOB]", help="A job's number or name; else the newest open one.")
]
AtOption = Annotated[str | None, typer.Option("--at", help="When: 14:05 today, or an ISO time; else now.")]


def new(
    shop: Shop,
    now: datetime,
    piece: Annotated[str, typer.Argument(metavar="PIECE", help="What is finished, like lid.")],
    schedule: Annotated[
        str | None, typer.Option("--schedule", help="What goes on it, in which order, like waterborne-two-pack.")
    ] = None,
    note: Annotated[str | None, typer.Option("--note", help="Anything else.")] = None,
) -> Answer:
    """Begin a job."""
    job = jobs.begin(piece, schedule, _text(note, "--note"), shop, now)
    plan = job.known_schedule
    steps = "no schedule: say --coating with the first coat" if plan is None else plan_words(plan)
    return [f"Job {job.id}: {job.piece}; {steps}."], 0


def coat(
    shop: Shop,
    now: datetime,
    job: JobArgument = None,
    coating: Annotated[
        str | None, typer.Option("--coating", help="Coating id; else what the schedule says, or as before.")
    ] = None,
    start: Annotated[
        str | None, typer.Option("--start", help="When it began: 14:05 today, or an ISO time; else now.")
    ] = None,
    minutes: Annotated[str | None, typer.Option("--minutes", help="How long spraying took; else 5.")] = None,
    thinner: Annotated[
        str | None, typer.Option("--thinner", help="Thinner: hot, medium, slow; else as before.")
    ] = None,
    thinned: Annotated[str | None, typer.Option("--thinned", help="Thinner by volume of the paint: 10%.")] = None,
    retarder: Annotated[str | None, typer.Option("--retarder", help="Retarder, of all solvent: 10%.")] = None,
    hardener: Annotated[str | None, typer.Option("--hardener", help="Hardener in the pot: 50ml.")] = None,
    mixed: Annotated[
        str | None, typer.Option("--mixed", help="When hardener or solvent went in: 13:40, a day, an ISO time.")
    ] = None,
    cup: Annotated[str | None, typer.Option("--cup", help='Efflux cup, with --seconds: "DIN 4".')] = None,
    seconds: Annotated[str | None, typer.Option("--seconds", help="Seconds it took to run out.")] = None,
    material: Annotated[str | None, typer.Option("--material", help="The material's temperature: 19C.")] = None,
    surface: Annotated[str | None, typer.Option("--surface", help="The piece's surface: 20.5C.")] = None,
    needle: Annotated[str | None, typer.Option("--needle", help="Needle: 1.2mm; else as before.")] = None,
    pressure: Annotated[
        str | None, typer.Option("--pressure", help="At the gun: 25psi, 1.7bar; else as before.")
    ] = None,
    wet_film: Annotated[str | None, typer.Option("--wet-film", help="Wet film by the comb: 100um, 4mil.")] = None,
    sanded: Annotated[str | None, typer.Option("--sanded", help="Grit it was sanded with before: 320, or no.")] = None,
    place: Annotated[str | None, typer.Option("--place", help="Where it was sprayed; else the shop's place.")] = None,
    panel: Annotated[bool, typer.Option("--panel", help="A test panel, not the piece.")] = False,
    note: Annotated[str | None, typer.Option("--note", help="Anything else.")] = None,
) -> Answer:
    """Keep a coat: without options one now, of the schedule's next step, as the last one. Prints the clocks."""
    texts = {
        "coating": coating, "start": start, "minutes": minutes, "thinner": thinner, "thinned": thinned,
        "retarder": retarder, "hardener": hardener, "mixed": mixed, "cup": cup, "seconds": seconds,
        "material": material, "surface": surface, "needle": needle, "pressure": pressure, "wet-film": wet_film,
        "sanded": sanded, "place": place, "note": note,
    }  # fmt: skip
    given = {name: text for name, text in texts.items() if text is not None}
    kept = coats.keep_coat(job, given, panel, shop, now)
    head = kept_words(kept.job, kept.coat, now, shop)
    if kept.clock is None:
        return [head, f"No clocks: {kept.fault}"], 0
    # filter and bin hold what was sprayed before, for whatever job
    apart = "" if kept.before is None else residues_told(shop.coating(kept.coat.coating), [kept.before])
    grave = [warning_words(each, shop, now) for each in kept.hurried]
    return told(kept.clock, shop, head, [apart] if apart else [], grave), 0


def edit(
    shop: Shop,
    now: datetime,
    job: Annotated[str, typer.Argument(metavar="JOB", help="A job's number or name.")],
    fields: Annotated[list[str], typer.Argument(metavar="FIELD=VALUE...", help="Like needle=1.4mm, thinned=10%.")],
    coat: Annotated[int | None, typer.Option("--coat", help="The coat's number; without it the job itself.")] = None,
) -> Answer:
    """Correct a coat, or a job's piece, schedule, note, done; what stood there before stays in the history."""
    kept = coats.edit(job, coat, fields, shop, now)
    what = job_words(kept.job, now, shop) if kept.coat is None else coat_words(kept.coat, now, shop)
    grave = [f"No clocks: {kept.fault}"] if kept.fault else [warning_words(each, shop, now) for each in kept.hurried]
    return [what if kept.changed else f"Nothing changed. {what}", *grave], 0


def saw(
    shop: Shop,
    now: datetime,
    defect: Annotated[
        str | None, typer.Argument(metavar="[DEFECT]", help="Like blush, nibs, runs; `good` or --good: nothing wrong.")
    ] = None,
    job: JobArgument = None,
    coat: Annotated[int | None, typer.Option("--coat", help="Which coat; else the piece as a whole.")] = None,
    where: Annotated[str | None, typer.Option("--where", help="Where on the piece: left leg.")] = None,
    severity: Annotated[int | None, typer.Option("--severity", help="1 slight, 2 plain, 3 spoilt.")] = None,
    photo: Annotated[str | None, typer.Option("--photo", help="A picture's file.")] = None,
    good: Annotated[
        bool, typer.Option("--good", help="Looked, and it is not there; without DEFECT: all good.")
    ] = False,
    at: AtOption = None,
    note: Annotated[str | None, typer.Option("--note", help="In your own words.")] = None,
) -> Answer:
    """Keep what was seen on a piece: a defect, or that all is good."""
    seen = jobs.saw(
        defect, job, shop, now, good=good, at=_moment(at, shop, now), coat=coat, severity=severity,
        spot=_text(where, "--where"), photo=None if photo is None else _photo(photo), text=_text(note, "--note"),
    )  # fmt: skip
    return _seen(*seen, now, shop)


def panel(
    shop: Shop,
    now: datetime,
    result: Annotated[str, typer.Argument(metavar="good|bad", help="How the test panel came out.")],
    note: Annotated[str | None, typer.Option("--note", help="In your own words.")] = None,
) -> Answer:
    """Keep how the newest test panel came out."""
    return _seen(*jobs.panel_came_out(result, _text(note, "--note"), shop, now), now, shop)


def rework(
    shop: Shop,
    now: datetime,
    what: Annotated[str, typer.Argument(metavar="WHAT", help='What was done, like "sanded back".')],
    job: JobArgument = None,
    at: AtOption = None,
) -> Answer:
    """Keep what was done to a piece besides spraying."""
    on, done_to_it = jobs.reworked(typed_text(what, "rework"), job, _moment(at, shop, now), shop, now)
    return [f"Kept: {job_name(on)}. {rework_words(done_to_it, now, shop)}"], 0


def done(shop: Shop, now: datetime, job: JobArgument = None, at: AtOption = None) -> Answer:
    """A job is finished: no coat comes any more."""
    finished = jobs.finish(job, _moment(at, shop, now), shop, now)
    return [job_words(finished, now, shop), f"Its cure is kept still: advisor job clock {finished.id}."], 0


def undo(shop: Shop, now: datetime) -> Answer:
    """Take back the last entry, and say which; once more takes back the one before."""
    return [undone_words(*coats.undo(shop, now), now, shop)], 0


def list_jobs(shop: Shop, now: datetime, as_json: JsonOption = False) -> Answer:
    """List the jobs, the open ones first."""
    with jobs.jobs_kept(shop) as log:
        found = jobs.newest_first(log.jobs())
    if as_json:
        return headed(now, {"jobs": JOB_FORMS(found)}), 0
    return [job_words(job, now, shop) for job in found] or ["No job yet: advisor job new."], 0


def show(shop: Shop, now: datetime, job: JobArgument = None, as_json: JsonOption = False) -> Answer:
    """Show all that was kept of a job."""
    with jobs.jobs_kept(shop) as log:
        found = jobs.any_job(log.jobs(), job)
        lines = log.history(found.id)
    if as_json:
        return headed(now, {**JOB_FORMS(found), "history": JOB_FORMS(lines)}), 0
    return record_words(found, found.known_schedule, now, shop), 0


def clock(shop: Shop, now: datetime, job: JobArgument = None, as_json: JsonOption = False) -> Answer:
    """The clocks of a job, or of all open ones: next coat, pot, gun, mask and fan, cure."""
    found = jobs.clocks(job, shop, now)
    if as_json:
        return headed(now, {"jobs": [clock_record(clock, shop) for clock in found]}), 0
    if not found:
        return ["No open job."], 0
    return told(found[0], shop) if len(found) == 1 else told_together(found, shop), 0


def _text(text: str | None, name: str) -> str:
    return "" if text is None else typed_text(text, name)


def _moment(at: str | None, shop: Shop, now: datetime) -> datetime:
    return now if at is None else typed_moment(at, "--at", shop, now)


def _seen(job: Job, seen: Observation, now: datetime, shop: Shop) -> Answer:
    return [f"Kept: {job_name(job)}. {observation_words(seen, job, now, shop)}"], 0


def _photo(text: str) -> str:
    """A picture's whole path."""
    refuse((
        not (text.strip() and text.isprintable() and len(text) <= _LONGEST_PATH),
        f"--photo {shown(text)}", f"a path of up to {_LONGEST_PATH} characters", "correct it",
    ))  # fmt: skip
    try:
        path = Path(text).expanduser().resolve()
        there = path.is_file()
    except (OSError, ValueError, RuntimeError):
        there = False
    refuse((not there, f"--photo {shown(text)} is no file", "a picture that is there", "check the path"))
    return str(path)
