"""A number with its source, and how the catalog's tables and the user's TOML files are read."""

import csv
import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from advisor.errors import AdvisorError, shown

FOLDER = Path(__file__).parent  # the tables lie beside the code


@dataclass(frozen=True)
class Sourced:
    """A number in SI (°C, fraction, s, m) with where it came from."""

    value: float
    tag: str
    source: str


def table_rows(name: str) -> list[dict[str, str]]:
    """The rows of one of the catalog's CSV tables."""
    return list(csv.DictReader(FOLDER.joinpath(name).read_text("utf-8").splitlines()))


def read_toml(path: Path, largest: int, error_kind: type[AdvisorError]) -> dict[str, Any]:
    """A TOML file of a user, of at most so many bytes. Raises error_kind for all that can be wrong with a file."""
    name = shown(str(path))
    try:
        if not path.is_file():
            what = "is a folder" if path.is_dir() else "is not a file" if path.exists() else "is not there"
            raise error_kind(f"cannot read {name}: it {what}", "a TOML file", "check the path")
        with path.open("rb") as stream:
            content = stream.read(largest + 1)
        if len(content) > largest:
            raise error_kind(f"{name} is too large", f"up to {largest} bytes", "is it the right file?")
        return tomllib.loads(content.decode("utf-8"))
    except OSError as error:
        raise error_kind(f"cannot read {name}: {error.strerror}", "", "check the path and who may read it") from error
    except (ValueError, RecursionError) as error:
        what = re.sub(r"'[^']{2,}'", "'…'", str(error))  # a key or a value may be a secret
        raise error_kind(f"{name} is not TOML: {what[:120]}", "", "see configs/ for one that works") from error
