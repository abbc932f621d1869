"""Usual schedules as data: seal, colour, clear, with coatings, numbers of coats and grits, from schedules.toml."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from advisor.catalog.coatings import TAGS, coating_ids
from advisor.catalog.sourced import FOLDER
from advisor.errors import CatalogError, did_you_mean, shown

SEAL, COLOUR, CLEAR = STEPS = ("seal", "colour", "clear")
SHEENS = ("matt", "satin", "gloss")
_COATS, _GRITS = (1, 50), (80, 2000)
_STEP_KEYS = {"step", "coating", "coats", "sand_before", "scuff", "scuff_each"}


@dataclass(frozen=True)
class Grits:
    """A range of sanding grits, the coarsest and the finest."""

    coarse: int
    fine: int


@dataclass(frozen=True)
class Step:
    """One step of a schedule: a family, coats from least to most.

    sand_before: grit before its first coat. scuff: grit of a scuff between its coats; scuff_each: before every coat,
    not only past the recoat window. sheen: one of SHEENS, None where the step is not seen. levelled: sanded level and
    rubbed out after its last coat.
    """

    step: str
    coating: str
    least: int
    most: int
    sand_before: Grits
    scuff: Grits
    scuff_each: bool
    sheen: str | None
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
    """Every schedule by its id. Raises CatalogError naming schedule and key of what is wrong."""
    found: dict[str, Schedule] = {}
    table = tomllib.loads(FOLDER.joinpath("schedules.toml").read_text("utf-8"))
    for entry in table["schedules"]:
        schedule = schedule_from_table(entry)
        if schedule.id in found:
            raise CatalogError(f"schedules.toml: {schedule.id} is there twice", "once", "remove one")
        found[schedule.id] = schedule
    return found


def find_schedule(text: str) -> Schedule:
    """A schedule by its id, upper and lower case alike. Raises CatalogError with the nearest one."""
    try:
        return schedules()[text.strip().casefold()]
    except KeyError:
        raise CatalogError(f"no schedule {shown(text)}", "", did_you_mean(text, schedules())) from None


def schedule_from_table(entry: Mapping[str, Any]) -> Schedule:
    """A schedule from its parsed table. Raises CatalogError."""
    where = f"schedules.toml, {entry.get('id', 'no id')}"
    if set(entry) != {"id", "name", "tag", "source", "steps"}:
        raise CatalogError(f"{where}: {', '.join(sorted(entry))}", "id, name, tag, source and steps", "give all five")
    if entry["tag"] not in TAGS or not entry["source"]:
        raise CatalogError(f"{where}: tagged {entry['tag']!r}", ", ".join(TAGS), "tag it and name its source")
    steps = tuple(_step(step, where) for step in entry["steps"])
    order = [STEPS.index(step.step) for step in steps]
    if not order or order != sorted(set(order)):
        raise CatalogError(f"{where}: its steps", f"each once, in the order {', '.join(STEPS)}", "put them in order")
    return Schedule(entry["id"], entry["name"], steps, entry["tag"], entry["source"])


def _step(entry: Mapping[str, Any], where: str) -> Step:
    if set(entry) - {"sheen", "levelled"} != _STEP_KEYS:
        raise CatalogError(f"{where}: a step has {', '.join(sorted(entry))}", ", ".join(sorted(_STEP_KEYS)), "")
    sheen = entry.get("sheen")
    for key, choices in (("step", STEPS), ("coating", coating_ids())):
        if entry[key] not in choices:
            raise CatalogError(f"{where}: {key} is {entry[key]!r}", ", ".join(choices), "choose one")
    if sheen is not None and sheen not in SHEENS:
        raise CatalogError(f"{where}: sheen is {sheen!r}", ", ".join(SHEENS), "choose one")
    for key, yes in (("scuff_each", entry["scuff_each"]), ("levelled", entry.get("levelled", False))):
        if not isinstance(yes, bool):
            raise CatalogError(f"{where}: {key} is {yes!r}", "true or false", "correct it")
    least, most = _pair(entry, "coats", _COATS, where)
    return Step(
        entry["step"], entry["coating"], least, most, Grits(*_pair(entry, "sand_before", _GRITS, where)),
        Grits(*_pair(entry, "scuff", _GRITS, where)), entry["scuff_each"], sheen,
        entry.get("levelled", False),
    )  # fmt: skip


def _pair(entry: Mapping[str, Any], key: str, allowed: tuple[int, int], where: str) -> tuple[int, int]:
    """Two whole numbers, the second no lower, both within what is believable."""
    pair = entry[key]
    low, high = allowed
    whole = isinstance(pair, list) and len(pair) == 2 and all(type(number) is int for number in pair)
    if not whole or not low <= pair[0] <= pair[1] <= high:
        raise CatalogError(f"{where}: {key} is {pair!r}", f"two rising whole numbers, {low} to {high}", "correct it")
    return pair[0], pair[1]
