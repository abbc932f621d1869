"""`advisor check` as typed."""

from pathlib import Path
from typing import Annotated

import typer

from advisor.cli.options import (
    CoatingOption,
    ConfigOption,
    GunOption,
    JsonOption,
    RetarderOption,
    ThinnerOption,
    ZoneOption,
)


def check(
    config: ConfigOption = None,
    csv: Annotated[Path | None, typer.Option("--csv", help="A CSV file of readings.")] = None,
    at: Annotated[
        str, typer.Option("--at", help="Judge a CSV as of this moment: now, last (reading), or an ISO time.")
    ] = "now",
    zone: ZoneOption = None,
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
    coating: CoatingOption = None,
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
) -> int:
    """Judge the air: typed values, or a CSV file; with --job the next coat of a job too.

    Exit code: 0 GO or GO WITH CHANGES, 1 WAIT, 2 an error in what was given, 3 cannot tell (a WAIT).
    """
    from advisor.cli.check import Asked, run_check  # noqa: PLC0415 - its help needs no numpy

    asked = Asked(
        config, csv, at, zone, place, air, rh, surface, piece_in, sprayed, coating, thinner, retarder, gun, outdoors,
        outdoors_rh, coats, spray, amount, night, heated, sanded, matt, as_json, job, tried, mixed,
    )  # fmt: skip
    return run_check(asked)
