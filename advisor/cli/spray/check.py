"""`advisor check`: one verdict from typed values, from a CSV file, or from the logbook."""

from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Annotated, Any

import typer

from advisor.catalog.limits import quality_limits
from advisor.cli.options import (
    CoatingOption,
    GunOption,
    JsonOption,
    RetarderOption,
    ThinnerOption,
    ZoneOption,
)
from advisor.cli.paper import Answer
from advisor.desk import check as desk
from advisor.desk.typed import (
    pot_from,
    typed_amount,
    typed_coats,
    typed_moment,
    typed_outdoors,
    typed_spray,
    typed_temperature,
)
from advisor.errors import refuse, shown
from advisor.judge.verdict import State
from advisor.say import phrases, record, words
from advisor.say.as_json import SCHEMA, utc
from advisor.say.numbers import moment, percent
from advisor.shop.shop import Shop
from advisor.sources.air_source import zone_of
from advisor.units import parse_quantity, parse_relative_humidity


def check(
    shop: Shop,
    now: datetime,
    csv: Annotated[Path | None, typer.Option("--csv", help="A CSV file of readings.")] = None,
    at: Annotated[
        str, typer.Option("--at", help="Judge a CSV as of this moment: now, last (reading), or an ISO time.")
    ] = "now",
    zone: ZoneOption = None,
    place: Annotated[str | None, typer.Option("--place", help="Which place's readings count.")] = None,
    air: Annotated[str | None, typer.Option("--air", help="Air temperature, with unit: 24C, 75F.")] = None,
    rh: Annotated[str | None, typer.Option("--rh", help="Relative humidity: 62% or 62.")] = None,
    surface: Annotated[str | None, typer.Option("--surface", help="The piece's surface, with unit: 21C.")] = None,
    piece_in: Annotated[
        str | None, typer.Option("--piece-in", help="How long the piece has stood in this room: 20min, 24h.")
    ] = None,
    sprayed: Annotated[
        str | None, typer.Option("--sprayed", help="How long ago solvent was last sprayed here: 40min.")
    ] = None,
    coating: CoatingOption = None,
    thinner: ThinnerOption = None,
    retarder: RetarderOption = None,
    gun: GunOption = None,
    outdoors: Annotated[
        str | None, typer.Option("--outdoors", help="Air outdoors, which the fan draws in: 8C; with --outdoors-rh.")
    ] = None,
    outdoors_rh: Annotated[str | None, typer.Option("--outdoors-rh", help="Its relative humidity: 85%.")] = None,
    coats: Annotated[int | None, typer.Option("--coats", help="Coats in this session.")] = None,
    spray: Annotated[str | None, typer.Option("--spray", help="How long one coat takes to spray: 5min.")] = None,
    amount: Annotated[str | None, typer.Option("--amount", help="Ready mix for all coats together: 600ml.")] = None,
    night: Annotated[
        str | None, typer.Option("--night", help="Lowest the room will fall to while it cures: 12C.")
    ] = None,
    sanded: Annotated[str | None, typer.Option("--sanded", help="How long ago it was sanded or swept: 20min.")] = None,
    matt: Annotated[bool, typer.Option("--matt", help="A matt or a black finish: dust shows more.")] = False,
    heated: Annotated[bool, typer.Option("--heated", help="The room is kept heated while it cures.")] = False,
    job: Annotated[
        str | None, typer.Option("--job", help="May this job's next coat be sprayed now? Its number or name.")
    ] = None,
    tried: Annotated[
        bool,
        typer.Option(
            "--tried", help="With --job: tried by hand; it sands to powder, has no smell, takes no thumb print."
        ),
    ] = False,
    mixed: Annotated[
        str | None, typer.Option("--mixed", help="With --job: when the pot in the gun was mixed; else as logged.")
    ] = None,
    as_json: JsonOption = False,
) -> Answer:
    """Judge the air: typed values, or a CSV file; with --job the next coat of a job too.

    Exit code: 0 GO or GO WITH CHANGES, 1 WAIT, 2 an error in what was given, 3 cannot tell (a WAIT).
    """
    temperature = partial(_temperature, shop=shop)
    zone_of(zone)
    asked = desk.CheckAsked(
        csv=csv,
        at=at,
        zone=zone,
        place=place,
        air=temperature(air, "--air"),
        rh=None if rh is None else _humidity(rh),
        surface=temperature(surface, "--surface"),
        piece_in=_age(piece_in, "--piece-in"),
        sprayed=_age(sprayed, "--sprayed"),
        outdoors=typed_outdoors(outdoors, outdoors_rh, shop),
        night=temperature(night, "--night"),
        heated=heated,
        coating=coating,
        pot=pot_from(thinner, retarder, gun),
        coats=typed_coats(coats),
        spray=typed_spray(spray),
        amount=typed_amount(amount),
        sanded=_age(sanded, "--sanded"),
        matt=matt,
        job=job,
        tried=tried,
        mixed=None if mixed is None else partial(typed_moment, mixed, "--mixed", shop, day_alone=True),
        full=as_json,
    )
    checked = desk.check(asked, shop, now)
    return _record(checked) if as_json else filter(None, _paragraphs(checked)), checked.exit_code


def _temperature(text: str | None, name: str, shop: Shop) -> float | None:
    quantity = "surface_temperature" if name == "--surface" else "air_temperature"
    low, high = (quality_limits()[quantity, edge].value for edge in ("range_low", "range_high"))
    return None if text is None else typed_temperature(text, name, shop, (low, high))


def _humidity(text: str) -> float:
    humidity = parse_relative_humidity(text)
    lowest = quality_limits()["relative_humidity", "range_low"].value
    refuse((humidity < lowest, f"--rh {shown(text)} is drier than any room", f"from {percent(lowest)}", "read again"))
    return humidity


def _age(text: str | None, name: str) -> float | None:
    """How long ago [s]."""
    if text is None:
        return None
    age = parse_quantity(text, "time", name)
    refuse((not age >= 0, f"{name} {shown(text)} lies in the future", "a time ago, like 20min or 24h", "correct it"))
    return age


def _record(checked: desk.Checked) -> dict[str, Any]:
    shop, first = checked.shop, checked.advices[0]
    records = [record.advice_record(advice, shop, checked.computed_at) for advice in checked.advices]
    extra = {} if checked.recorded is None else {"readings": checked.recorded.air.counts}
    if not checked.named:
        head = {"schema": SCHEMA, "as_of": utc(first.verdict.as_of), "computed_at": utc(checked.computed_at)}
        return {**head, "verdicts": records, **extra}
    if checked.at_job is not None:
        from advisor.say.craft.next_coat_words import JOB_FORMS  # noqa: PLC0415 - only for a job

        extra["next_coat"] = JOB_FORMS(checked.at_job.answer(first.verdict, shop), checked.at_job.clock, shop)
    return {**records[0], **record.beside_record(first), **extra}


def _paragraphs(checked: desk.Checked) -> list[str]:
    shop, asked, recorded = checked.shop, checked.asked, checked.recorded
    first, verdicts = checked.advices[0], [advice.verdict for advice in checked.advices]
    past = recorded is not None and asked.at != "now"
    paragraphs = [f"As of {moment(verdicts[0].as_of, shop.zone)}, not now."] if past else []
    lines = words.MOST_LINES - len(paragraphs)
    if checked.at_job is not None:
        from advisor.say.craft.next_coat_words import answer_words  # noqa: PLC0415 - only for a job

        answer = checked.at_job.answer(verdicts[0], shop)
        paragraphs += answer_words(answer, checked.at_job.clock, checked.at_job.pot, shop)
        if not answer.allowed:  # a GO of the air below a NO must not be read as the answer
            paragraphs.append("The air alone, without the job:")
    if checked.named:
        paragraphs += record.told(first, shop, asked.coats, asked.sanded, asked.matt, lines)
    else:
        paragraphs += [words.air_line(verdicts[0], shop), words.unmoved(verdicts[0])]
        paragraphs += words.summaries(verdicts, shop)
        allowed = any(verdict.state is not State.WAIT for verdict in verdicts)
        keys = ("finish-only", *(["respirator"] if allowed else []), "authorities")
        paragraphs.append(" ".join(phrases.CAUTION_WORDS[key] for key in keys))
    if recorded is not None:
        paragraphs += [phrases.RECORDED_HINT if recorded.stale else "", recorded.told()]
    return paragraphs
