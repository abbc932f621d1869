"""The documents cannot lag: what they show is run, and everything a user meets is in the guide."""

import re
import shlex

import pytest

from advisor.catalog.coatings import SHEET_NUMBERS, coating_ids, load_coating, number_kinds
from advisor.catalog.limits import default_limits, marks
from advisor.catalog.materials import substrates
from advisor.catalog.mechanisms import defects, mechanisms
from advisor.catalog.quantities import quantity_kinds
from advisor.catalog.schedules import overcoats, schedules
from advisor.catalog.sourced import table_rows
from advisor.cli.app import run
from advisor.cli.commands import COMMANDS, GROUPS, advisor
from advisor.judge.film_rules import FILM_RULES
from advisor.judge.rules import RULES
from advisor.say.craft.job_words import from_to
from advisor.say.phrases import STATE_WORDS
from advisor.shop.tables import ShopFile
from tests.outside.write import PAGE, page
from tests.support import ROOT, answers, every

README = (ROOT / "README.md").read_text("utf-8")
GUIDE = (ROOT / "docs" / "guide.md").read_text("utf-8")


def days_table() -> str:
    """The table of the fixture days as it must stand in the README."""
    rows = ["| day | shows | turns |", "|---|---|---|"]
    for name, day in answers().items():
        turns = []
        for turn in day.get("turn", []):
            because = f" ({turn['because']})" if turn.get("because") else ""
            turns.append(f"{turn['at']} {turn['coating']}: {STATE_WORDS[turn['state']]}{because}")
        if not turns:
            turns = [f"{answer['at']} {answer['coating']}: {STATE_WORDS[answer['state']]}" for answer in day["answer"]]
        rows.append(f"| {name} | {day['shows']} | {'; '.join(turns).replace('*', 'every coating')} |")
    return "\n".join(rows) + "\n"


def test_the_readme_table_of_days_is_the_answers_file():
    assert days_table() in README


def shown_after(command: str) -> str:
    """The output the README shows after a command."""
    return README.split(command, 1)[1].split("```\n", 2)[1]


@pytest.fixture
def _at_home(monkeypatch):
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("COLUMNS", "80")


@pytest.mark.usefixtures("_at_home")
def test_the_demo_prints_what_the_readme_shows(capsys):
    script = (ROOT / "scripts" / "demo").read_text("utf-8").replace("\\\n", " ")
    words = shlex.split(script.split("exec .venv/bin/advisor", 1)[1].replace('"$@"', ""))
    assert run(words) == 0
    assert capsys.readouterr().out == shown_after("The demo prints:")


@pytest.mark.usefixtures("_at_home")
def test_the_typed_example_prints_what_the_readme_shows(capsys, monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    command = next(line for line in README.splitlines() if line.startswith("    .venv/bin/advisor check --air"))
    assert run(shlex.split(command)[1:]) == 0
    clock = re.compile(r"\d\d:\d\d( UTC)?( \+1 d)?")
    assert clock.sub("", capsys.readouterr().out) == clock.sub("", shown_after(command))


@pytest.mark.parametrize("row", COMMANDS, ids=lambda row: f"{row[0]} {row[1]}".strip())
def test_every_command_and_option_is_in_the_guide_and_its_help_begins_as_the_list_of_commands_says(row):
    group, name, _, summary = row
    assert f"`{' '.join(['advisor', *filter(None, (group, name))])}" in GUIDE
    listed = advisor.commands[group].commands[name] if group else advisor.commands[name]
    command = listed.real()
    assert command.help.partition("\n\n")[0] == summary
    for parameter in command.params:
        for option in parameter.opts:
            assert option in GUIDE or not option.startswith("--"), option


def test_every_group_of_commands_is_in_the_guide():
    assert all(f"`advisor {group}" in GUIDE for group in GROUPS)
    assert {group for group, *_ in COMMANDS} == GROUPS.keys()


@every(
    "name",
    lambda: sorted({
        *(rule.__name__ for rule in (*RULES, *FILM_RULES)),
        *substrates(),
        *(mark.mark for mark in marks().values() if mark.meaning),
        *default_limits(),
        *(kind for kind in quantity_kinds() if kind not in ("particles", "pm")),
        *ShopFile.model_fields,
        *SHEET_NUMBERS,
        *number_kinds(),
        *coating_ids(),
        *schedules(),
        *defects(),
    }),
)  # fmt: skip
def test_every_name_a_user_meets_is_in_the_guide(name):
    assert f"`{name}`" in GUIDE


STANDING_SIGNS = {"own window": "own", "yes": "yes", "panel": "panel", "no": "**no**"}


def overcoat_rows() -> list[str]:
    """The guide's two tables of what goes over what: the standing of every pair, then when and why."""

    def ids(cell: str) -> str:
        return "itself" if cell == "same" else ", ".join(f"`{name}`" for name in cell.split())

    rows = ["| below | " + " | ".join(coating_ids()) + " |"]
    for under in coating_ids():
        standings = [STANDING_SIGNS[overcoats()[under, over].standing] for over in coating_ids()]
        rows.append(f"| `{under}` | {' | '.join(standings)} |")
    for row in table_rows("overcoats.csv"):
        after = f"`{row['after']}`" if row["after"] else ""
        rows.append(
            f"| {ids(row['over'])} | {ids(row['under'])} | {row['standing']} | {after} | {row['scuff']} "
            f"| {row['between']} | {row['reason']} | {row['tag']}: {row['source']} |"
        )
    return rows


def job_rows() -> list[str]:
    """Every row of the guide's tables of defects and schedules."""
    rows = [f"| `{defect.id}` | {defect.name} | {', '.join(defect.also_called)} |" for defect in defects().values()]
    for schedule in schedules().values():
        for step in schedule.steps:
            before, scuff = (from_to(grits.coarse, grits.fine) for grits in (step.sand_before, step.scuff))
            rows.append(
                f"| `{schedule.id}` | {step.step} | `{step.coating}` | {from_to(step.least, step.most)} | {before} "
                f"| {scuff}{' each' if step.scuff_each else ''} | {step.sheen or ''}"
                f"{', levelled and rubbed out' if step.levelled else ''} |"
            )
    return rows


def mechanism_rows() -> list[str]:
    """Every row of the guide's tables of mechanisms, and of how each looks."""
    known = mechanisms()
    rows = []
    for row in table_rows("probes.csv"):
        each = known[row["mechanism"]]
        probe = f"`{row['exposure']}` {row['direction']} `{row['limit']}`" if row["exposure"] else "no reading shows it"
        can = ", ".join(row["defects"].split())
        rows.append(f"| `{each.id}` | {each.label} | {each.kind} | {can} | {probe} | {row['applies']} |")
    for row in table_rows("looks.csv"):
        words = [row[key].replace(" ", ", ").replace("-", " ") or "any" for key in ("found", "where")]
        rows.append(f"| `{row['mechanism']}` | {row['defect']} | {words[0]} | {words[1]} | {row['only']} |")
    return rows


def catalog_rows() -> list[str]:
    """Every row of the guide's tables as the catalog's tables have it now."""
    rows = [
        f"| `{row['key']}` | {row['label']} | {row['value']} {row['unit']} | {row['low']} to {row['high']} "
        f"| {row['tag']}: {row['source']} |"
        for row in table_rows("limits.csv")
    ]
    rows += [
        f"| `{row['quantity']}` | {row['check']} | {row['value']} {row['unit']} | {row['tag']}: {row['source']} |"
        for row in table_rows("quality_limits.csv")
    ]
    rows += overcoat_rows()
    rows += mechanism_rows()
    rows += [f"| `{mark.mark}` | {mark.meaning} |" for mark in marks().values() if mark.meaning]
    rows += job_rows()
    for coating in map(load_coating, coating_ids()):
        air, humid = coating.air_temperature, coating.relative_humidity
        rows.append(
            f"| `{coating.id}` | {coating.name} | {air.go_low.value:g}-{air.go_high.value:g} "
            f"({air.wait_below.value:g}-{air.wait_above.value:g}) | {humid.go_low.value * 100:g}-"
            f"{humid.go_high.value * 100:g} ({humid.wait_above.value * 100:g}) |"
        )
    return rows


@every("row", catalog_rows)
def test_the_guide_states_each_number_and_source_as_the_tables_do(row):
    """A changed table makes a stale guide fail."""
    assert row in GUIDE


@pytest.mark.slow
def test_the_page_of_outside_checks_is_computed_as_it_stands():
    """Written by scripts/checks; a figure that moved makes it stale."""
    assert PAGE.read_text("utf-8") == page()
