"""What goes over what: every ordered pair of the ten families, from overcoats.csv.

A cell of the table names one family or several, with spaces between; `same` on top stands for each below by itself.

Usual schedules as data: seal, colour, clear, with coatings, numbers of coats and grits, from schedules.toml.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache

from advisor.catalog.sourced import FOLDER, entry, reader, table

OWN_WINDOW, YES, PANEL, NO = STANDINGS = ("own window", "yes", "panel", "no")
SCUFF, NO_SCUFF, SCUFF_AFTER_WINDOW = SCUFFS = ("yes", "no", "after window")
STAGES = ("recoat_from_high", "before_two_pack_clear", "sand_high", "sand_flat", "full_cure_high")


@dataclass(frozen=True)
class Layering:
    """One family over another.

    standing: one of STANDINGS. after: the number of the coat below that it must have reached (one of STAGES), None
    where it never will do. scuff: one of SCUFFS. between: what may lie between them, empty where nothing helps; under a
    `no` it is the only way round. reason: why, in trade words.
    """

    under: str
    over: str
    standing: str
    after: str | None
    scuff: str
    between: str
    reason: str
    tag: str
    source: str


@cache
def overcoats() -> Mapping[tuple[str, str], Layering]:
    """Every pair by (under, over)."""
    return {
        (under, over): replace(row, under=under, over=over)
        for row in table("overcoats.csv", Layering)
        for under in row.under.split()
        for over in ([under] if row.over == "same" else row.over.split())
    }


SEAL, COLOUR, CLEAR = STEPS = ("seal", "colour", "clear")


@dataclass(frozen=True)
class Grits:
    """A range of sanding grits, the coarsest and the finest."""

    coarse: int
    fine: int


@dataclass(frozen=True)
class Step:
    """One step of a schedule: a family, coats from least to most.

    sand_before: grit before its first coat. scuff: grit of a scuff between its coats; scuff_each: before every coat,
    not only past the recoat window. sheen: matt, satin or gloss, None where the step is not seen. levelled: sanded
    level and rubbed out after its last coat.
    """

    step: str
    coating: str
    least: int
    most: int
    sand_before: Grits
    scuff: Grits
    scuff_each: bool
    sheen: str | None = None
    levelled: bool = False


@dataclass(frozen=True)
class Schedule:
    """A schedule by its id, each of its steps once."""

    id: str
    name: str
    steps: tuple[Step, ...]
    tag: str
    source: str

    def step(self, name: str) -> Step | None:
        """The step of that name; None where the schedule has none."""
        return next((step for step in self.steps if step.step == name), None)


@cache
def schedules() -> Mapping[str, Schedule]:
    """Every schedule by its id."""
    read = reader(Schedule)
    tables = tomllib.loads(FOLDER.joinpath("schedules.toml").read_text("utf-8"))["schedules"]
    return {schedule.id: schedule for schedule in map(read, tables)}


def find_schedule(text: str) -> Schedule:
    """A schedule by its id, upper and lower case alike. Raises CatalogError with the nearest one."""
    known = schedules()
    return entry(known, text.strip().casefold() if text.strip().casefold() in known else text, "schedule")
