"""The house as it stands: its rooms, and the way that one typed check takes through them; into DEVELOPERS.md.

.venv/bin/python -m tests.house writes both there (scripts/map).
"""

import contextlib
import io
import os
import re
import sys
import tomllib
from itertools import pairwise
from pathlib import Path
from types import FrameType

ROOT = Path(__file__).resolve().parents[1]
HOUSE = ROOT / "advisor"
TYPED = ("check", "--air", "21C", "--rh", "50%", "--coating", "nitrocellulose-lacquer")
BEGIN, END = "<!-- written by scripts/map -->", "<!-- end -->"


def floors() -> list[list[str]]:
    """Rooms from the top floor down, as pyproject's contract has them: folders and files below advisor/."""
    linter = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"]
    layers = next(each for each in linter["contracts"] if each["type"] == "layers")["layers"]
    return [[name.strip().removeprefix("advisor.") for name in layer.split("|")] for layer in layers]


def floor_of(file: Path) -> int:
    """Which floor a file stands on, from the ground up."""
    name = ".".join(file.relative_to(HOUSE).with_suffix("").parts)
    found = [
        (len(room), height)
        for height, layer in enumerate(reversed(floors()))
        for room in layer
        if name == room or name.startswith(f"{room}.")
    ]
    return max(found)[1] if found else -1


def holds(folder: Path) -> str:
    """What a room says of itself in its first line."""
    found = re.match(r'"""(.*?)[.]?"?"?"?\n', (folder / "__init__.py").read_text(encoding="utf-8"))
    return found[1] if found else ""


def rooms() -> list[tuple[str, str, int]]:
    """Every folder with Python files, from the top down: its path, what it holds, how many files it has."""
    folders = [HOUSE / room.replace(".", "/") for layer in floors() for room in layer]
    inner = [each.parent for folder in folders for each in sorted(folder.glob("*/__init__.py"))]
    every = dict.fromkeys([*(each for each in folders if each.is_dir()), *inner])
    return [(str(each.relative_to(ROOT)), holds(each), len(list(each.glob("*.py"))) - 1) for each in every]


def trip(command: tuple[str, ...] = TYPED) -> list[Path]:
    """The files that a command enters, in the order in which their functions are first called; loaded beforehand."""
    from advisor.cli.app import run  # noqa: PLC0415

    passed: set[object] = set()
    visits: list[Path] = []

    def enter(frame: FrameType, event: str, _: object) -> None:
        code = frame.f_code
        if event != "call" or not code.co_filename.startswith(f"{HOUSE}{os.sep}") or code in passed:
            return
        passed.add(code)
        file = Path(code.co_filename)
        if not code.co_name.startswith("<") and (not visits or visits[-1] != file):
            visits.append(file)

    with contextlib.redirect_stdout(io.StringIO()):
        run(list(command))
        sys.setprofile(enter)
        try:
            run(list(command))
        finally:
            sys.setprofile(None)
    return visits


def entered(visits: list[Path]) -> int:
    """How many different files."""
    return len(set(visits))


def climbs(visits: list[Path]) -> int:
    """How often the way leads from a file to one on a higher floor."""
    return sum(floor_of(after) > floor_of(before) for before, after in pairwise(visits))


def written() -> str:
    """The map as DEVELOPERS.md has it."""
    visits = trip()
    files = sum(count for _, _, count in rooms())
    lines = ["| room | holds | files |", "|---|---|---|"]
    lines += [f"| `{path}/` | {what} | {count} |" for path, what, count in rooms()]
    way = f"enters {entered(visits)} files and climbs back to a higher floor {climbs(visits)} times"
    return "\n".join([*lines, "", f"{files} files in {len(rooms())} rooms. A typed `check` {way}."])


def main() -> None:
    page = ROOT / "DEVELOPERS.md"
    before, _, rest = page.read_text(encoding="utf-8").partition(BEGIN)
    page.write_text(f"{before}{BEGIN}\n{written()}\n{END}{rest.partition(END)[2]}", encoding="utf-8")


if __name__ == "__main__":
    main()
