"""The commands of `advisor plan`: sessions meant for a time. What each does stands in plan.py."""

from typing import Annotated

import typer

from advisor.cli.options import ConfigOption, JsonOption

plan_app = typer.Typer(
    help="Sessions meant for a time: told before the booth is opened.", no_args_is_help=True, rich_markup_mode=None
)


@plan_app.command("add")
def plan_add(
    config: ConfigOption = None,
    at: Annotated[str | None, typer.Option("--at", help="Start: 15:00 (today or tomorrow), or an ISO time.")] = None,
    coating: Annotated[str | None, typer.Option("--coating", help="Coating id; see `advisor coatings`.")] = None,
    coats: Annotated[int | None, typer.Option("--coats", help="Coats in this session.")] = None,
    spray: Annotated[str | None, typer.Option("--spray", help="How long one coat takes to spray: 5min.")] = None,
    note: Annotated[str | None, typer.Option("--note", help="What it is for.")] = None,
) -> None:
    """Say when you mean to spray what: `advisor watch` tells before the start whether the air is fit for it."""
    from advisor.cli.plan import AskedPlan, run_plan_add  # noqa: PLC0415 - `--help` needs no numpy

    raise typer.Exit(run_plan_add(AskedPlan(config, at, coating, coats, spray, note)))


@plan_app.command("list")
def plan_list(config: ConfigOption = None, as_json: JsonOption = False) -> None:
    """List the sessions meant, with what was told of each and when it is told next."""
    from advisor.cli.plan import run_plan_list  # noqa: PLC0415 - lazy, as above

    raise typer.Exit(run_plan_list(config, as_json))


@plan_app.command("drop")
def plan_drop(
    number: Annotated[int, typer.Argument(help="The plan's number.")],
    config: ConfigOption = None,
) -> None:
    """Drop a plan: nothing more is told of it."""
    from advisor.cli.plan import run_plan_drop  # noqa: PLC0415 - lazy, as above

    raise typer.Exit(run_plan_drop(config, number))


@plan_app.command("seen")
def plan_seen(
    number: Annotated[int, typer.Argument(help="The plan's number.")],
    config: ConfigOption = None,
) -> None:
    """Acknowledge a plan: from now on only worse news is told of it."""
    from advisor.cli.plan import run_plan_seen  # noqa: PLC0415 - lazy, as above

    raise typer.Exit(run_plan_seen(config, number))
