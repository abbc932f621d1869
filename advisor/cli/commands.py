"""All commands in one table: where each stands, and what it is for in a line. None is imported before it is asked."""

from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from functools import wraps
from importlib import import_module
from inspect import Parameter, Signature, signature
from pathlib import Path
from typing import Annotated, Any

import typer
from typer.core import TyperCommand, TyperGroup
from typer.main import get_command, get_group

from advisor.cli.options import ConfigOption
from advisor.cli.paper import print_answer
from advisor.shop.find import shop_from

GROUPS: Mapping[str, str] = {
    "": "Says GO, GO WITH CHANGES or WAIT for a coating in the shop's air. GO is about the finish only.",
    "config": "The shop's configuration.",
    "job": "Jobs: coats, their clocks, what was seen.",
    "plan": "Sessions meant for a time: told before the booth is opened.",
}
# Each command's group and name, the function that answers it, and the first line of its help
COMMANDS: tuple[tuple[str, str, str, str], ...] = (
    ("", "check", "spray.check:check",
     "Judge the air: typed values, or a CSV file; with --job the next coat of a job too."),
    ("", "film", "spray.film:film",
     "Compute what the wet film will do: how cold, how much water, when it sets and dries."),
    ("", "mix", "spray.mix:mix_pot",
     "Thin and mix: from a cup's seconds to thinner, hardener, pot life, and what thinning costs."),
    ("", "compressor", "spray.compressor:run_compressor",
     "Say how long the tank lasts, how long it refills, and whether the line spits water."),
    ("", "cure", "jobs.cure:run_cure",
     "Say how far a coat has hardened in the room as it was: next coat, handle, sand, rub out, full cure."),
    ("", "trial", "log.room:run_trial",
     "Find the shop's own air change and wall warmth from ten minutes of door and fan; alone: how to do it."),
    ("", "wood", "log.room:run_wood",
     "Say what moisture the wood in the shop settles at, from weeks of log. Advice only."),
    ("", "outlook", "ahead.outlook:run_outlook",
     "Say what air the next 24 h bring, and when a session would likely meet no stop. Never a GO."),
    ("", "review", "jobs.review:run_review",
     "Read a coat back that went wrong: what the air did, what it did not, what to change, how to repair."),
    ("", "learn", "jobs.learn:run_learn",
     "Say how often your own coats failed within and beyond each limit. Nothing is changed by it."),
    ("", "coatings", "spray.coatings:run_coatings",
     "List the coatings, or show one with every number, its unit and source, and its cautions."),
    ("", "watch", "log.watch:run_watch",
     "Watch the air day and night: log it, judge it every minute, tell what changes."),
    ("", "readings", "log.readings:run_readings",
     "Show the newest readings in the logbook with their age and quality, or export them."),
    ("", "import", "log.readings:run_import", "Bring a CSV file of readings into the logbook."),
    ("", "calibrate", "log.calibrate:run_calibrate",
     "Check a humidity sensor against one or two saturated salts, and correct it from then on."),
    ("", "version", "commands:print_version", "Print the version."),
    ("config", "check", "log.config:run_config_check",
     "Read the configuration, say what it holds and which defaults stand in for the rest."),
    ("job", "new", "jobs.job:new", "Begin a job."),
    ("job", "coat", "jobs.job:coat",
     "Keep a coat: without options one now, of the schedule's next step, as the last one. Prints the clocks."),
    ("job", "edit", "jobs.job:edit",
     "Correct a coat, or a job's piece, schedule, note, done; what stood there before stays in the history."),
    ("job", "saw", "jobs.job:saw", "Keep what was seen on a piece: a defect, or that all is good."),
    ("job", "panel", "jobs.job:panel", "Keep how the newest test panel came out."),
    ("job", "rework", "jobs.job:rework", "Keep what was done to a piece besides spraying."),
    ("job", "done", "jobs.job:done", "A job is finished: no coat comes any more."),
    ("job", "undo", "jobs.job:undo", "Take back the last entry, and say which; once more takes back the one before."),
    ("job", "list", "jobs.job:list_jobs", "List the jobs, the open ones first."),
    ("job", "show", "jobs.job:show", "Show all that was kept of a job."),
    ("job", "clock", "jobs.job:clock",
     "The clocks of a job, or of all open ones: next coat, pot, gun, mask and fan, cure."),
    ("plan", "add", "ahead.plan:add_plan",
     "Say when you mean to spray what: `advisor watch` tells before the start whether the air is fit for it."),
    ("plan", "list", "ahead.plan:list_plans",
     "List the sessions meant, with what was told of each and when it is told next."),
    ("plan", "drop", "ahead.plan:drop_plan", "Drop a plan: nothing more is told of it."),
    ("plan", "seen", "ahead.plan:see_plan", "Acknowledge a plan: from now on only worse news is told of it."),
)  # fmt: skip


_PLAIN: Mapping[str, Any] = {"add_completion": False, "rich_markup_mode": None, "pretty_exceptions_enable": False}


def answered(command: Callable[..., Any]) -> Callable[..., Any]:
    """A command for the screen, of a function that takes the shop, the moment, and what was typed.

    It gives what is said, a record or paragraphs, and the exit code. What finds its configuration and prints by itself
    takes no shop, and is left as it is.
    """
    taken = signature(command).parameters
    if "shop" not in taken:
        return command

    @wraps(command)
    def run(config: Path | None, **typed: Any) -> int:
        now = datetime.now(UTC)
        said, exit_code = command(shop_from(config), now, **typed)
        print_answer(said)
        return int(exit_code)

    own = [each.replace(kind=Parameter.KEYWORD_ONLY) for name, each in taken.items() if name not in ("shop", "now")]
    option = Parameter("config", Parameter.KEYWORD_ONLY, default=None, annotation=ConfigOption)
    run.__signature__ = Signature([option, *own])  # type: ignore[attr-defined]
    return run


class Lazy(TyperCommand):
    """A command known by its row, imported when it is called or its own help is asked."""

    def __init__(self, name: str, where: str, summary: str) -> None:
        super().__init__(name, help=summary)
        self.where = where

    def real(self) -> Any:
        """The command itself, with its parameters."""
        module, _, function = self.where.partition(":")
        alone = typer.Typer(**_PLAIN)
        alone.command(self.name)(answered(getattr(import_module(f"advisor.cli.{module}"), function)))
        return get_command(alone)

    def make_context(self, *args: Any, **extra: Any) -> Any:
        """That of the command itself: what it is called with is its own to read."""
        return self.real().make_context(*args, **extra)


def print_version() -> None:
    """Print the version."""
    from importlib.metadata import version  # noqa: PLC0415 - no other command needs it

    typer.echo(version("spray-day-advisor"))


def _version_asked(asked: bool) -> None:
    if asked:
        print_version()
        raise typer.Exit


def _root(
    _version: Annotated[
        bool, typer.Option("--version", help="Print the version.", is_eager=True, callback=_version_asked)
    ] = False,
) -> None:
    """What stands before a command."""


def _group(group: str) -> TyperGroup:
    """A group with its rows."""
    empty = typer.Typer(name=group, help=GROUPS[group], no_args_is_help=True, **_PLAIN)
    if not group:
        empty.callback()(_root)
    made = get_group(empty)
    for of, name, where, summary in COMMANDS:
        if of == group:
            made.add_command(Lazy(name, where, summary), name)
    return made


advisor = _group("")
for _name in filter(None, GROUPS):
    advisor.add_command(_group(_name), _name)
