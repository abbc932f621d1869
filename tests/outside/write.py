"""Writes docs/checks.md. Run by scripts/checks."""

from collections.abc import Iterable

from tests.outside import air, bench, dust_wood_vapour, film, practice, room
from tests.support import ROOT, reference_rows

PAGE = ROOT / "docs" / "checks.md"
PARTS = (
    ("Moist air", air.rows),
    ("The film against handbooks and reference libraries", film.rows),
    ("The film and the verdict against practice", practice.rows),
    ("The mixing bench", bench.rows),
    ("The room", room.rows),
    ("Dust, wood and vapour", dust_wood_vapour.rows),
)
_HEAD = """# Checks against the outside

Written by `scripts/checks`; a test computes it anew and compares. What is tested beside these, inside and out, stands
in tests/. `from memory` and `common practice, no source` are said where no page was read.
"""
_LONG = """
## Runs of over five minutes

By hand, with `scripts/test -m soak`; each that passes writes its day and minutes into tests/reference/long_runs.csv.

| run | last passed | minutes |
|---|---|---|
"""


def page() -> str:
    """The page as it must stand."""
    parts = [_HEAD]
    for title, rows in PARTS:
        parts += [f"\n## {title}\n\n| quantity | source | published | computed | error |\n|---|---|---|---|---|\n"]
        parts += [_line((row.quantity, row.source, row.published, row.computed, row.error)) for row in rows()]
    parts.append(_LONG)
    parts += [_line(row.values()) for row in reference_rows("long_runs.csv")]
    return "".join(parts)


def _line(cells: Iterable[str]) -> str:
    return f"| {' | '.join(cell.replace('|', '/') for cell in cells)} |\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    print(f"{PAGE.relative_to(ROOT)} written")
