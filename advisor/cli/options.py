"""Options that several commands share."""

from pathlib import Path
from typing import Annotated

import typer

ConfigOption = Annotated[
    Path | None,
    typer.Option(
        "--config", parser=Path, metavar="PATH", help="Configuration file. Else $ADVISOR_CONFIG, ./advisor.toml, ..."
    ),
]
CsvOption = Annotated[
    Path | None, typer.Option("--csv", parser=Path, metavar="PATH", help="A CSV file of readings; else the logbook.")
]
CoatingOption = Annotated[str | None, typer.Option("--coating", help="Coating id; see `advisor coatings`.")]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON: °C, fractions, UTC.")]
ZoneOption = Annotated[str | None, typer.Option("--zone", help="Zone of times without offset, like Europe/London.")]
ThinnerOption = Annotated[
    str | None, typer.Option("--thinner", help="Thinner in the pot: hot, medium, slow. Unknown: taken as the fastest.")
]
RetarderOption = Annotated[
    str | None, typer.Option("--retarder", help="Retarder, of all solvent in the ready mix: 0.1 or 10%.")
]
GunOption = Annotated[
    str | None, typer.Option("--gun", help="What feeds the gun: compressor, turbine, or none (brush, pad).")
]
