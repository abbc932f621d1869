"""The command `advisor`: its sub-commands, and how an error becomes one line and an exit code."""

import contextlib
import os
import sys
import traceback
from pathlib import Path
from typing import Annotated, Any, TextIO

import typer

from advisor import __version__
from advisor.cli.job_app import job_app
from advisor.cli.options import ConfigOption, GunOption, JsonOption, RetarderOption, ThinnerOption, ZoneOption
from advisor.cli.paper import PlainStream
from advisor.cli.plan_app import plan_app
from advisor.cli.review_app import learn, review
from advisor.errors import AdvisorError

LONGEST_ERROR = 600  # characters

app = typer.Typer(
    name="advisor",
    help="Says GO, GO WITH CHANGES or WAIT for a coating in the shop's air. GO is about the finish only.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
config_app = typer.Typer(help="The shop's configuration.", no_args_is_help=True, rich_markup_mode=None)
app.add_typer(config_app, name="config")
app.add_typer(job_app, name="job")
app.add_typer(plan_app, name="plan")


@app.command()
def check(
    config: ConfigOption = None,
    csv: Annotated[Path | None, typer.Option("--csv", help="A CSV file of readings.")] = None,
    at: Annotated[
        str, typer.Option("--at", help="Judge a CSV as of this moment: now, last (reading), or an ISO time.")
    ] = "now",
    zone: Annotated[
        str | None, typer.Option("--zone", help="Zone of times without offset, like Europe/London.")
    ] = None,
    place: Annotated[str | None, typer.Option("--place", help="Which place's readings count.")] = None,
    air: Annotated[str | None, typer.Option("--air", help="Air temperature, with unit: 24C, 75F.")] = None,
    rh: Annotated[str | None, typer.Option("--rh", help="Relative humidity: 62% or 62.")] = None,
    surface: Annotated[str | None, typer.Option("--surface", help="The piece's surface, with unit: 21C.")] = None,
    piece_in: Annotated[
        str | None, typer.Option("--piece-in", help="How long the piece has stood in this room: 20min, 24h.")
    ] = None,
    sprayed: Annotated[
        str | None, typer.Option("--sprayed", help="How long ago solvent was last sprayed here: 40min.")
    ] = None,
    coating: Annotated[str | None, typer.Option("--coating", help="Coating id; see `advisor coatings`.")] = None,
    thinner: ThinnerOption = None,
    retarder: RetarderOption = None,
    gun: GunOption = None,
    outdoors: Annotated[
        str | None, typer.Option("--outdoors", help="Air outdoors, which the fan draws in: 8C; with --outdoors-rh.")
    ] = None,
    outdoors_rh: Annotated[str | None, typer.Option("--outdoors-rh", help="Its relative humidity: 85%.")] = None,
    coats: Annotated[int | None, typer.Option("--coats", help="Coats in this session.")] = None,
    spray: Annotated[str | None, typer.Option("--spray", help="How long one coat takes to spray: 5min.")] = None,
    amount: Annotated[str | None, typer.Option("--amount", help="Ready mix for all coats together: 600ml.")] = None,
    night: Annotated[
        str | None, typer.Option("--night", help="Lowest the room will fall to while it cures: 12C.")
    ] = None,
    sanded: Annotated[str | None, typer.Option("--sanded", help="How long ago it was sanded or swept: 20min.")] = None,
    matt: Annotated[bool, typer.Option("--matt", help="A matt or a black finish: dust shows more.")] = False,
    heated: Annotated[bool, typer.Option("--heated", help="The room is kept heated while it cures.")] = False,
    job: Annotated[
        str | None, typer.Option("--job", help="May this job's next coat be sprayed now? Its number or name.")
    ] = None,
    tried: Annotated[
        bool,
        typer.Option(
            "--tried", help="With --job: tried by hand; it sands to powder, has no smell, takes no thumb print."
        ),
    ] = False,
    mixed: Annotated[
        str | None, typer.Option("--mixed", help="With --job: when the pot in the gun was mixed; else as logged.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Judge the air: typed values, or a CSV file; with --job the next coat of a job too.

    Exit code: 0 GO or GO WITH CHANGES, 1 WAIT, 2 an error in what was given, 3 cannot tell (a WAIT).
    """
    from advisor.cli.check import Asked, run_check  # noqa: PLC0415 - `--help` needs no numpy

    asked = Asked(
        config, csv, at, zone, place, air, rh, surface, piece_in, sprayed, coating, thinner, retarder, gun, outdoors,
        outdoors_rh, coats, spray, amount, night, heated, sanded, matt, as_json, job, tried, mixed,
    )  # fmt: skip
    raise typer.Exit(run_check(asked))


@app.command()
def film(
    config: ConfigOption = None,
    air: Annotated[str | None, typer.Option("--air", help="Air temperature, with unit: 24C, 75F.")] = None,
    rh: Annotated[str | None, typer.Option("--rh", help="Relative humidity: 62% or 62.")] = None,
    surface: Annotated[
        str | None, typer.Option("--surface", help="The piece's surface; else as warm as the air.")
    ] = None,
    coating: Annotated[str | None, typer.Option("--coating", help="Coating id; see `advisor coatings`.")] = None,
    solvents: Annotated[
        str | None, typer.Option("--solvents", help='Instead of a coating: "n-butyl acetate:0.7,toluene:0.3" by mass.')
    ] = None,
    substrate: Annotated[
        str, typer.Option("--substrate", help="What is sprayed on: wood, thin-wood, mdf, steel, glass.")
    ] = "wood",
    air_speed: Annotated[
        str | None, typer.Option("--air-speed", help="Air over the piece after the gun: 0.3m/s, 60fpm.")
    ] = None,
    liquid: Annotated[str | None, typer.Option("--liquid", help="The material's temperature; else the air's.")] = None,
    thinner: ThinnerOption = None,
    retarder: RetarderOption = None,
    gun: GunOption = None,
    plot: Annotated[Path | None, typer.Option("--plot", help="Draw it into this file: .svg, .png or .pdf.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Compute what the wet film will do: how cold, how much water, when it sets and dries."""
    from advisor.cli.film import AskedFilm, run_film  # noqa: PLC0415 - lazy, as above

    asked = AskedFilm(
        config, air, rh, surface, coating, solvents, substrate, air_speed, liquid, thinner, retarder, gun, plot, as_json
    )
    raise typer.Exit(run_film(asked))


@app.command()
def mix(
    config: ConfigOption = None,
    coating: Annotated[str | None, typer.Option("--coating", help="Coating id; see `advisor coatings`.")] = None,
    cup: Annotated[str | None, typer.Option("--cup", help='Efflux cup: "DIN 4", "Zahn 2", "Ford 4", "ISO 4".')] = None,
    seconds: Annotated[str | None, typer.Option("--seconds", help="Seconds it took to run out.")] = None,
    material: Annotated[str | None, typer.Option("--material", help="The material's temperature: 19C.")] = None,
    batch: Annotated[str | None, typer.Option("--batch", help="What is in the pot: 500ml, 16floz.")] = None,
    target: Annotated[
        str | None, typer.Option("--target", help="Seconds of this cup at the gun; else the sheet's.")
    ] = None,
    thinned: Annotated[str | None, typer.Option("--thinned", help="Thinner it has had, of the paint: 5%.")] = None,
    coats: Annotated[int | None, typer.Option("--coats", help="Coats meant, for what thinning costs.")] = None,
    air: Annotated[str | None, typer.Option("--air", help="Air it is sprayed in, with --rh: 24C.")] = None,
    rh: Annotated[str | None, typer.Option("--rh", help="Its relative humidity: 62%.")] = None,
    area: Annotated[
        str | None, typer.Option("--area", help="Area to coat, instead of --batch or beside it: 2.5m2, 20ft2.")
    ] = None,
    wet_film: Annotated[
        str | None, typer.Option("--wet-film", help="Wet film a coat, by the comb: 100um, 4mil.")
    ] = None,
    mixed: Annotated[
        str | None, typer.Option("--mixed", help="When hardener or solvent went in: 2026-05-01, or an ISO time.")
    ] = None,
    over: Annotated[str | None, typer.Option("--over", help="What it goes over: a coating id.")] = None,
    keep: Annotated[bool, typer.Option("--keep", help="Remember this reading: the next ones go by it.")] = False,
    tin: Annotated[
        str | None, typer.Option("--tin", help="With --keep: whose readings belong together; else today's.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Thin and mix: from a cup's seconds to thinner, hardener, pot life, and what thinning costs.

    Exit code: 0, 1 where this pot is not to be sprayed, 2 an error in what was given.
    """
    from advisor.cli.mix import AskedMix, run_mix  # noqa: PLC0415 - lazy, as above

    asked = AskedMix(
        config, coating, cup, seconds, material, batch, target, thinned, coats, air, rh, area, wet_film, mixed, tin,
        keep, over, as_json,
    )  # fmt: skip
    raise typer.Exit(run_mix(asked))


@app.command()
def compressor(
    config: ConfigOption = None,
    tank: Annotated[str | None, typer.Option("--tank", help="The tank's volume: 38l, 10gal.")] = None,
    full: Annotated[str | None, typer.Option("--full", help="Gauge pressure of the full tank: 8bar, 120psi.")] = None,
    least: Annotated[
        str | None, typer.Option("--least", help="Gauge pressure under which the gun starves: 4bar, 60psi.")
    ] = None,
    gun_air: Annotated[str | None, typer.Option("--gun-air", help="Free air the gun takes: 250l/min, 9cfm.")] = None,
    delivers: Annotated[
        str | None, typer.Option("--delivers", help="Free air the compressor delivers: 150l/min; else none counts.")
    ] = None,
    air: Annotated[str | None, typer.Option("--air", help="Air the compressor draws in, with --rh: 22C.")] = None,
    rh: Annotated[str | None, typer.Option("--rh", help="Its relative humidity: 60%.")] = None,
    line: Annotated[
        str | None, typer.Option("--line", help="Temperature of the line at the gun: 18C; else the air's.")
    ] = None,
    dryer: Annotated[str | None, typer.Option("--dryer", help="Pressure dew point of a dryer, if any: 3C.")] = None,
    turbine: Annotated[bool, typer.Option("--turbine", help="A turbine feeds the gun: no tank.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Say how long the tank lasts, how long it refills, and whether the line spits water."""
    from advisor.cli.compressor import AskedCompressor, run_compressor  # noqa: PLC0415 - lazy, as above

    asked = AskedCompressor(config, tank, full, least, gun_air, delivers, air, rh, line, dryer, turbine, as_json)
    raise typer.Exit(run_compressor(asked))


@app.command()
def cure(
    config: ConfigOption = None,
    csv: Annotated[Path | None, typer.Option("--csv", help="A CSV file of readings; else the logbook.")] = None,
    coating: Annotated[str | None, typer.Option("--coating", help="Coating id; see `advisor coatings`.")] = None,
    sprayed: Annotated[
        str | None, typer.Option("--sprayed", help="When the last coat was sprayed: an ISO time.")
    ] = None,
    at: Annotated[str, typer.Option("--at", help="As of this moment: now, last (reading), or an ISO time.")] = "now",
    zone: ZoneOption = None,
    place: Annotated[str | None, typer.Option("--place", help="Where the piece stands: whose readings count.")] = None,
    coats: Annotated[int | None, typer.Option("--coats", help="Coats on the piece, for lacquer and shellac.")] = None,
    piece: Annotated[
        list[str] | None,
        typer.Option("--piece", help='Several at once, each "lid: oil-varnish 2025-10-14T14:05Z".'),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Say how far a coat has hardened in the room as it was: next coat, handle, sand, rub out, full cure.

    Exit code: 0, 2 an error in what was given, 3 cannot tell.
    """
    from advisor.cli.cure import AskedCure, run_cure  # noqa: PLC0415 - lazy, as above

    raise typer.Exit(
        run_cure(AskedCure(config, csv, coating, sprayed, at, zone, place, coats, tuple(piece or ()), as_json))
    )


@app.command()
def trial(
    config: ConfigOption = None,
    csv: Annotated[Path | None, typer.Option("--csv", help="A CSV file of readings; else the logbook.")] = None,
    started: Annotated[
        str | None, typer.Option("--started", help="When door and fan went on: 14:05 today, or an ISO time.")
    ] = None,
    minutes: Annotated[int, typer.Option("--minutes", help="How long they were on.")] = 10,
    outdoors: Annotated[
        str | None, typer.Option("--outdoors", help="Air outdoors, with --outdoors-rh; else the sensor's: 8C.")
    ] = None,
    outdoors_rh: Annotated[str | None, typer.Option("--outdoors-rh", help="Its relative humidity: 85%.")] = None,
    find: Annotated[
        bool, typer.Option("--find", help="Look for door openings in the last 30 days instead, and take the best.")
    ] = False,
    zone: ZoneOption = None,
    place: Annotated[str | None, typer.Option("--place", help="Where the sensor stands: at the work.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Find the shop's own air change and wall warmth from ten minutes of door and fan; alone: how to do it.

    Exit code: 0, 2 an error in what was given, 3 cannot tell.
    """
    from advisor.cli.trial import AskedTrial, run_trial  # noqa: PLC0415 - lazy, as above

    raise typer.Exit(
        run_trial(AskedTrial(config, csv, started, minutes, outdoors, outdoors_rh, find, zone, place, as_json))
    )


@app.command()
def wood(
    config: ConfigOption = None,
    csv: Annotated[Path | None, typer.Option("--csv", help="A CSV file of readings; else the logbook.")] = None,
    place: Annotated[str | None, typer.Option("--place", help="Where the wood stands: whose readings count.")] = None,
    zone: ZoneOption = None,
    air: Annotated[str | None, typer.Option("--air", help="Instead of a log: usual air, with --rh: 21C.")] = None,
    rh: Annotated[str | None, typer.Option("--rh", help="Its relative humidity: 50%.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Say what moisture the wood in the shop settles at, from weeks of log. Advice only.

    Exit code: 0, 2 an error in what was given, 3 cannot tell.
    """
    from advisor.cli.wood import AskedWood, run_wood  # noqa: PLC0415 - lazy, as above

    raise typer.Exit(run_wood(AskedWood(config, csv, place, zone, air, rh, as_json)))


@app.command()
def outlook(
    config: ConfigOption = None,
    csv: Annotated[Path | None, typer.Option("--csv", help="A CSV file of readings; else the logbook.")] = None,
    coating: Annotated[str | None, typer.Option("--coating", help="Coating id: windows for it.")] = None,
    coats: Annotated[int | None, typer.Option("--coats", help="Coats in the session, else one.")] = None,
    spray: Annotated[str | None, typer.Option("--spray", help="How long one coat is sprayed: 5min.")] = None,
    earliest: Annotated[
        str | None, typer.Option("--from", help="Only starts from this local time of day on: 08:00.")
    ] = None,
    latest: Annotated[str | None, typer.Option("--until", help="Only starts before this local time of day.")] = None,
    forecast: Annotated[
        Path | None,
        typer.Option("--forecast", help="A forecast of the air outdoors, CSV or JSON, in place of its own."),
    ] = None,
    backtest: Annotated[
        bool, typer.Option("--backtest", help="Instead: how far off it would have been over the whole log.")
    ] = False,
    at: Annotated[
        str | None, typer.Option("--at", help="As of: now, last (reading; as a CSV is taken), or an ISO time.")
    ] = None,
    zone: ZoneOption = None,
    place: Annotated[str | None, typer.Option("--place", help="Which place's readings count.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Say what air the next 24 h bring, and when a session would likely meet no stop. Never a GO.

    Exit code: 0, 2 an error in what was given, 3 cannot tell.
    """
    from advisor.cli.outlook import AskedOutlook, run_outlook  # noqa: PLC0415 - lazy, as above

    asked = AskedOutlook(
        config, csv, at, zone, place, coating, coats, spray, earliest, latest, forecast, backtest, as_json
    )
    raise typer.Exit(run_outlook(asked))


app.command()(review)
app.command()(learn)


@app.command()
def coatings(
    coating: Annotated[str | None, typer.Argument(help="Coating id; without one, all are listed.")] = None,
    config: ConfigOption = None,
    as_json: JsonOption = False,
) -> None:
    """List the coatings, or show one with every number, its unit and source, and its cautions."""
    from advisor.cli.coatings import run_coatings  # noqa: PLC0415 - lazy, as above

    raise typer.Exit(run_coatings(config, coating, as_json))


@config_app.command("check")
def config_check(config: ConfigOption = None) -> None:
    """Read the configuration, say what it holds and which defaults stand in for the rest."""
    from advisor.cli.config import run_config_check  # noqa: PLC0415 - lazy, as above

    raise typer.Exit(run_config_check(config))


@app.command()
def watch(
    config: ConfigOption = None,
    replay: Annotated[
        Path | None, typer.Option("--replay", help="Run a CSV file or a capture (.jsonl) through the daemon instead.")
    ] = None,
    speed: Annotated[
        float | None, typer.Option("--speed", help="With --replay: times real time; else as fast as it goes.")
    ] = None,
    zone: ZoneOption = None,
    plan: Annotated[
        list[str] | None,
        typer.Option("--plan", help='With --replay: a session meant in it, "2025-08-26T18:00 shellac 2" (coats).'),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="With --replay: one JSON line for each notice.")] = False,
) -> None:
    """Watch the air day and night: log it, judge it every minute, tell what changes."""
    from advisor.cli.watch import run_watch  # noqa: PLC0415 - lazy, as above

    raise typer.Exit(run_watch(config, replay, speed, zone, as_json, tuple(plan or ())))


@app.command()
def readings(
    config: ConfigOption = None,
    since: Annotated[str | None, typer.Option("--since", help="Export from this ISO time on.")] = None,
    as_csv: Annotated[bool, typer.Option("--csv", help="Export all readings as CSV.")] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Export all readings as JSON.")] = False,
) -> None:
    """Show the newest readings in the logbook with their age and quality, or export them."""
    from advisor.cli.readings import run_readings  # noqa: PLC0415 - lazy, as above

    raise typer.Exit(run_readings(config, since, as_csv, as_json))


@app.command("import")
def import_(
    csv: Annotated[Path, typer.Argument(help="A CSV file of readings.")],
    config: ConfigOption = None,
    zone: ZoneOption = None,
) -> None:
    """Bring a CSV file of readings into the logbook."""
    from advisor.cli.import_csv import run_import  # noqa: PLC0415 - lazy, as above

    raise typer.Exit(run_import(config, csv, zone))


@app.command()
def calibrate(
    config: ConfigOption = None,
    sensor: Annotated[str | None, typer.Option("--sensor", help="The humidity sensor's name.")] = None,
    reading: Annotated[
        list[str] | None, typer.Option("--reading", help='Salt, shown humidity, temperature: "NaCl 73% 22C".')
    ] = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Compute, but keep nothing.")] = False,
) -> None:
    """Check a humidity sensor against one or two saturated salts, and correct it from then on."""
    from advisor.cli.calibrate import run_calibrate  # noqa: PLC0415 - lazy, as above

    raise typer.Exit(run_calibrate(config, sensor, reading or [], dry_run))


@app.command()
def version() -> None:
    """Print the version."""
    typer.echo(__version__)


def main(arguments: list[str] | None = None) -> None:
    """Run the command line; every foreseen error is one line on standard error and exit code 2."""
    code = run(arguments)
    for stream in (sys.stdout, sys.stderr):
        if stream is not None:
            _written(stream)
    sys.exit(code)


def _written(stream: TextIO) -> None:
    """Write what a stream still holds; what cannot be is dropped, or Python ends with a code of its own."""
    try:
        stream.flush()
    except (OSError, ValueError):
        with contextlib.suppress(OSError, ValueError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def run(arguments: list[str] | None = None) -> int:
    """The exit code of a command line."""
    if sys.stdout is None:  # closed by whoever started it
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: SIM115 - it lives as long as the process
    for stream in (sys.stdout, sys.stderr):
        reconfigure: Any = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="replace")  # a terminal without ° still gets its verdict
    out: Any = PlainStream(sys.stdout)
    err: Any = sys.stderr and PlainStream(sys.stderr)
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        return _run(arguments)


def _run(arguments: list[str] | None) -> int:
    try:
        result = app(arguments, standalone_mode=False)
        sys.stdout.flush()
    except AdvisorError as error:
        return _fail(str(error), error.exit_code)
    except KeyboardInterrupt:
        return _fail("interrupted", 2)
    except (OSError, SystemExit) as error:
        # the output could not be written (a full disk, a pipe whose reader left, of which the command line's library
        # makes an exit with 1, which is a WAIT here); what is left of it `main` drops
        return 2 if isinstance(error, BrokenPipeError | SystemExit) else _fail(f"cannot read or write: {error}", 2)
    except Exception as error:
        shown = getattr(error, "format_message", None)
        if shown is None:
            return unforeseen(error)
        message = shown()
        if message.startswith("Usage:"):  # asked without a command: the help itself
            print(message, file=sys.stderr)
            return 2
        return _fail(f"{message} See advisor --help.", 2)
    return result if isinstance(result, int) else 0


def unforeseen(error: Exception) -> int:
    """A fault of our own: one line too, and never Python's exit code 1, which would be a WAIT for a known reason."""
    last = traceback.extract_tb(error.__traceback__)[-1]
    where = f"{Path(last.filename).name}, line {last.lineno}"
    return _fail(f"a fault of its own, {type(error).__name__}: {error} ({where}); report it", 2)


def _fail(message: str, exit_code: int) -> int:
    one_line = " ".join(message.split())
    if len(one_line) > LONGEST_ERROR:
        one_line = f"{one_line[:LONGEST_ERROR]}…"
    if sys.stderr is not None:
        with contextlib.suppress(OSError, ValueError):  # a full disk there must not change the exit code
            print(f"advisor: {one_line}", file=sys.stderr)
    return exit_code
