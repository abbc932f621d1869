"""The commands of `advisor job`: a job's coats, what was seen, its clocks. What each does stands in the job files."""

from typing import Annotated

import typer

from advisor.cli.options import ConfigOption, JsonOption

job_app = typer.Typer(help="Jobs: coats, their clocks, what was seen.", no_args_is_help=True, rich_markup_mode=None)

JobArgument = Annotated[
    str | None, typer.Argument(metavar="[JOB]", help="A job's number or name; else the newest open one.")
]
AtOption = Annotated[str | None, typer.Option("--at", help="When: 14:05 today, or an ISO time; else now.")]


@job_app.command("new")
def job_new(
    piece: Annotated[str, typer.Argument(metavar="PIECE", help="What is finished, like lid.")],
    config: ConfigOption = None,
    schedule: Annotated[
        str | None, typer.Option("--schedule", help="What goes on it, in which order, like waterborne-two-pack.")
    ] = None,
    note: Annotated[str | None, typer.Option("--note", help="Anything else.")] = None,
) -> None:
    """Begin a job."""
    from advisor.cli.job import run_new  # noqa: PLC0415 - `--help` needs no numpy

    raise typer.Exit(run_new(config, piece, schedule, note))


@job_app.command("coat")
def job_coat(
    job: JobArgument = None,
    config: ConfigOption = None,
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
) -> None:
    """Keep a coat: without options one now, of the schedule's next step, as the last one. Prints the clocks."""
    from advisor.cli.job_coat import run_coat  # noqa: PLC0415 - lazy, as above

    texts = {
        "coating": coating, "start": start, "minutes": minutes, "thinner": thinner, "thinned": thinned,
        "retarder": retarder, "hardener": hardener, "mixed": mixed, "cup": cup, "seconds": seconds,
        "material": material, "surface": surface, "needle": needle, "pressure": pressure, "wet-film": wet_film,
        "sanded": sanded, "place": place, "note": note,
    }  # fmt: skip
    given = {name: text for name, text in texts.items() if text is not None}
    raise typer.Exit(run_coat(config, job, given, panel))


@job_app.command("edit")
def job_edit(
    job: Annotated[str, typer.Argument(metavar="JOB", help="A job's number or name.")],
    fields: Annotated[list[str], typer.Argument(metavar="FIELD=VALUE...", help="Like needle=1.4mm, thinned=10%.")],
    config: ConfigOption = None,
    coat: Annotated[int | None, typer.Option("--coat", help="The coat's number; without it the job itself.")] = None,
) -> None:
    """Correct a coat, or a job's piece, schedule, note, done; what stood there before stays in the history."""
    from advisor.cli.job_edit import run_edit  # noqa: PLC0415 - lazy, as above

    raise typer.Exit(run_edit(config, job, coat, fields))


@job_app.command("saw")
def job_saw(
    defect: Annotated[
        str | None, typer.Argument(metavar="[DEFECT]", help="Like blush, nibs, runs; `good` or --good: nothing wrong.")
    ] = None,
    job: JobArgument = None,
    config: ConfigOption = None,
    coat: Annotated[int | None, typer.Option("--coat", help="Which coat; else the piece as a whole.")] = None,
    where: Annotated[str | None, typer.Option("--where", help="Where on the piece: left leg.")] = None,
    severity: Annotated[int | None, typer.Option("--severity", help="1 slight, 2 plain, 3 spoilt.")] = None,
    photo: Annotated[str | None, typer.Option("--photo", help="A picture's file.")] = None,
    good: Annotated[
        bool, typer.Option("--good", help="Looked, and it is not there; without DEFECT: all good.")
    ] = False,
    at: AtOption = None,
    note: Annotated[str | None, typer.Option("--note", help="In your own words.")] = None,
) -> None:
    """Keep what was seen on a piece: a defect, or that all is good."""
    from advisor.cli.job_saw import AskedSaw, run_saw  # noqa: PLC0415 - lazy, as above

    raise typer.Exit(run_saw(config, AskedSaw(defect, job, coat, where, severity, photo, good, at, note)))


@job_app.command("panel")
def job_panel(
    result: Annotated[str, typer.Argument(metavar="good|bad", help="How the test panel came out.")],
    config: ConfigOption = None,
    note: Annotated[str | None, typer.Option("--note", help="In your own words.")] = None,
) -> None:
    """Keep how the newest test panel came out."""
    from advisor.cli.job_saw import run_panel  # noqa: PLC0415 - lazy, as above

    raise typer.Exit(run_panel(config, result, note))


@job_app.command("rework")
def job_rework(
    what: Annotated[str, typer.Argument(metavar="WHAT", help='What was done, like "sanded back".')],
    job: JobArgument = None,
    config: ConfigOption = None,
    at: AtOption = None,
) -> None:
    """Keep what was done to a piece besides spraying."""
    from advisor.cli.job_saw import run_rework  # noqa: PLC0415 - lazy, as above

    raise typer.Exit(run_rework(config, what, job, at))


@job_app.command("done")
def job_done(job: JobArgument = None, config: ConfigOption = None, at: AtOption = None) -> None:
    """A job is finished: no coat comes any more."""
    from advisor.cli.job import run_done  # noqa: PLC0415 - lazy, as above

    raise typer.Exit(run_done(config, job, at))


@job_app.command("undo")
def job_undo(config: ConfigOption = None) -> None:
    """Take back the last entry, and say which; once more takes back the one before."""
    from advisor.cli.job_edit import run_undo  # noqa: PLC0415 - lazy, as above

    raise typer.Exit(run_undo(config))


@job_app.command("list")
def job_list(config: ConfigOption = None, as_json: JsonOption = False) -> None:
    """List the jobs, the open ones first."""
    from advisor.cli.job import run_list  # noqa: PLC0415 - lazy, as above

    raise typer.Exit(run_list(config, as_json))


@job_app.command("show")
def job_show(job: JobArgument = None, config: ConfigOption = None, as_json: JsonOption = False) -> None:
    """Show all that was kept of a job."""
    from advisor.cli.job import run_show  # noqa: PLC0415 - lazy, as above

    raise typer.Exit(run_show(config, job, as_json))


@job_app.command("clock")
def job_clock(job: JobArgument = None, config: ConfigOption = None, as_json: JsonOption = False) -> None:
    """The clocks of a job, or of all open ones: next coat, pot, gun, mask and fan, cure."""
    from advisor.cli.job_clock import run_clock  # noqa: PLC0415 - lazy, as above

    raise typer.Exit(run_clock(config, job, as_json))
