"""`advisor check`: one verdict from typed values, from a CSV file, or from the logbook."""

import json
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Any

from advisor.advice import check_words, phrases, words
from advisor.advice.job_record import answer_record
from advisor.advice.measures import moment, percent
from advisor.advice.next_coat_words import answer_words
from advisor.advice.record import SCHEMA, utc
from advisor.advice.verdict import State
from advisor.catalog.limits import quality_limits
from advisor.catalog.units import parse_quantity, parse_relative_humidity
from advisor.cli.job_typed import typed_moment
from advisor.cli.paper import print_wrapped
from advisor.cli.pot import pot_from
from advisor.cli.recorded import zone_of
from advisor.cli.session_asked import amount_typed, coats_typed, spray_typed
from advisor.cli.typed import typed_outdoors, typed_temperature
from advisor.desk.check import CheckAsked, Checked, check
from advisor.errors import UsageError, shown
from advisor.shop.find import shop_from
from advisor.shop.shop import Shop


@dataclass(frozen=True)
class Asked:
    """The command line of `advisor check`."""

    config: Path | None = None
    csv: Path | None = None
    at: str = "now"
    zone: str | None = None
    place: str | None = None
    air: str | None = None
    rh: str | None = None
    surface: str | None = None
    piece_in: str | None = None
    sprayed: str | None = None
    coating: str | None = None
    thinner: str | None = None
    retarder: str | None = None
    gun: str | None = None
    outdoors: str | None = None
    outdoors_rh: str | None = None
    coats: int | None = None
    spray: str | None = None
    amount: str | None = None
    night: str | None = None
    heated: bool = False
    sanded: str | None = None
    matt: bool = False
    as_json: bool = False
    job: str | None = None
    tried: bool = False
    mixed: str | None = None


def run_check(asked: Asked) -> int:
    """Judge, print, and give the exit code."""
    now = datetime.now(UTC)
    shop = shop_from(asked.config)
    checked = check(_values(asked, shop), shop, now)
    if asked.as_json:
        print(json.dumps(_record(checked), ensure_ascii=False, allow_nan=False))
    else:
        print_wrapped(paragraph for paragraph in _paragraphs(checked) if paragraph)
    return checked.exit_code


def _values(asked: Asked, shop: Shop) -> CheckAsked:
    """What was typed, as values. Raises UsageError."""
    temperature = partial(_temperature, shop=shop)
    zone_of(asked.zone)
    return CheckAsked(
        csv=asked.csv,
        at=asked.at,
        zone=asked.zone,
        place=asked.place,
        air=temperature(asked.air, "--air"),
        rh=None if asked.rh is None else _humidity(asked.rh),
        surface=temperature(asked.surface, "--surface"),
        piece_in=_age(asked.piece_in, "--piece-in"),
        sprayed=_age(asked.sprayed, "--sprayed"),
        outdoors=typed_outdoors(asked.outdoors, asked.outdoors_rh, shop),
        night=temperature(asked.night, "--night"),
        heated=asked.heated,
        coating=asked.coating,
        pot=pot_from(asked.thinner, asked.retarder, asked.gun),
        coats=coats_typed(asked.coats),
        spray=spray_typed(asked.spray),
        amount=amount_typed(asked.amount),
        sanded=_age(asked.sanded, "--sanded"),
        matt=asked.matt,
        job=asked.job,
        tried=asked.tried,
        mixed=None
        if asked.mixed is None
        else lambda as_of: typed_moment(asked.mixed or "", "--mixed", shop, as_of, day_alone=True),
        full=asked.as_json,
    )


def _temperature(text: str | None, name: str, shop: Shop) -> float | None:
    quantity = "surface_temperature" if name == "--surface" else "air_temperature"
    low, high = (quality_limits()[quantity, edge].value for edge in ("range_low", "range_high"))
    return None if text is None else typed_temperature(text, name, shop, (low, high))


def _humidity(text: str) -> float:
    humidity = parse_relative_humidity(text)
    lowest = quality_limits()["relative_humidity", "range_low"].value
    if humidity < lowest:
        raise UsageError(f"--rh {shown(text)} is drier than any room", f"from {percent(lowest)}", "read again")
    return humidity


def _age(text: str | None, name: str) -> float | None:
    """How long ago [s]."""
    if text is None:
        return None
    age = parse_quantity(text, "time", name)
    if not age >= 0:
        raise UsageError(f"{name} {shown(text)} lies in the future", "a time ago, like 20min or 24h", "correct it")
    return age


def _record(checked: Checked) -> dict[str, Any]:
    shop, first = checked.shop, checked.advices[0]
    records = [check_words.advice_record(advice, shop, checked.computed_at) for advice in checked.advices]
    extra = {} if checked.recorded is None else {"readings": checked.recorded.counted()}
    if not checked.named:
        head = {"schema": SCHEMA, "as_of": utc(first.verdict.as_of), "computed_at": utc(checked.computed_at)}
        return {**head, "verdicts": records, **extra}
    if checked.at_job is not None:
        extra["next_coat"] = answer_record(checked.at_job.answer(first.verdict, shop))
    return {**records[0], **check_words.beside_record(first), **extra}


def _paragraphs(checked: Checked) -> list[str]:
    shop, asked, recorded = checked.shop, checked.asked, checked.recorded
    first, verdicts = checked.advices[0], [advice.verdict for advice in checked.advices]
    paragraphs = []
    if recorded is not None and asked.at != "now":
        paragraphs.append(f"As of {moment(verdicts[0].as_of, shop.zone)}, not now.")
    lines = words.MOST_LINES - len(paragraphs)
    if checked.at_job is not None:
        answer = checked.at_job.answer(verdicts[0], shop)
        paragraphs += answer_words(answer, checked.at_job.clock, checked.at_job.pot, shop)
        if not answer.allowed:  # a GO of the air below a NO must not be read as the answer
            paragraphs.append("The air alone, without the job:")
    if checked.named:
        paragraphs += check_words.told(first, shop, asked.coats, asked.sanded, asked.matt, lines)
    else:
        paragraphs += [words.air_line(verdicts[0], shop), words.unmoved(verdicts[0])]
        paragraphs += words.summaries(verdicts, shop)
        allowed = any(verdict.state is not State.WAIT for verdict in verdicts)
        keys = ("finish-only", *(["respirator"] if allowed else []), "authorities")
        paragraphs.append(" ".join(phrases.CAUTION_WORDS[key] for key in keys))
    if recorded is not None:
        paragraphs += [phrases.RECORDED_HINT if recorded.stale else "", recorded.told()]
    return paragraphs
