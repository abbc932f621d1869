"""Exposures as CSV for a spreadsheet: SI numbers, times UTC; no cell is taken for a formula."""

import csv
import io
from collections.abc import Iterable

from advisor.review.air_track import moment_at
from advisor.review.found import Exposure
from advisor.review.reviewed import Reviewed
from advisor.say.as_json import exact, utc

COLUMNS = (
    "coat", "coating", "sprayed", "exposure", "measured", "unit", "uncertainty", "uncertainty_of_logarithm", "from",
    "until", "covered", "gaps", "reason",
)  # fmt: skip
_STEERS = ("=", "+", "-", "@", "\t", "\r")  # a spreadsheet takes a cell that begins so for a formula


def exposures_csv(reviews: Iterable[Reviewed]) -> str:
    """Every exposure of every coat, a row each; text in quotes, numbers not."""
    stream = io.StringIO()
    writer = csv.writer(stream, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for found in reviews:
        for each in found.exposed.by_name.values():
            writer.writerow([safe(cell) if isinstance(cell, str) else cell for cell in _row(found, each)])
    return stream.getvalue()


def safe(text: str) -> str:
    """Text that a spreadsheet leaves as text: an apostrophe before what it would work out."""
    return f"'{text}" if text.startswith(_STEERS) else text


def _row(found: Reviewed, each: Exposure) -> tuple[str | float | None, ...]:
    window = each.window
    known = each.measured is not None
    return (
        found.coat.name, found.coat.coating, utc(found.coat.sprayed), each.name, exact(each.measured), each.unit,
        exact(each.uncertainty) if known else None, "yes" if each.as_logarithm else "no",
        "" if window is None else utc(moment_at(window.start)), "" if window is None else utc(moment_at(window.end)),
        exact(each.covered), "; ".join(f"{utc(moment_at(gap.start))}/{utc(moment_at(gap.end))}" for gap in each.gaps),
        each.reason,
    )  # fmt: skip
