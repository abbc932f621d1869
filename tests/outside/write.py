"""Writes docs/checks.md. Run by scripts/checks."""

from collections.abc import Iterable

from tests.outside import air, bench, dust_wood_vapour, film, practice, room
from tests.outside.row import Row
from tests.support import ROOT

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


def page() -> str:
    """The page as it must stand."""
    parts = [_HEAD]
    for title, rows in PARTS:
        parts += [f"\n## {title}\n\n| quantity | source | published | computed | error |\n|---|---|---|---|---|\n"]
        parts += [_line(row) for row in _all(rows())]
    return "".join(parts)


def _all(rows: Iterable[Row]) -> list[Row]:
    return list(rows)


def _line(row: Row) -> str:
    cells = (row.quantity, row.source, row.published, row.computed, row.error)
    return f"| {' | '.join(cell.replace('|', '/') for cell in cells)} |\n"


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    print(f"{PAGE.relative_to(ROOT)} written")
