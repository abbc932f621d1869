"""Options that several commands share."""

from pathlib import Path
from typing import Annotated

import typer

ConfigOption = Annotated[
    Path | None, typer.Option("--config", help="Configuration file. Else $ADVISOR_CONFIG, ./advisor.toml, ...")
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON: °C, fractions, UTC.")]
