"""`advisor review`: a coat that went wrong, read back against the air that was logged over it."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Annotated
from zoneinfo import ZoneInfo

import typer

from advisor.catalog.mechanisms import find_defect
from advisor.cli.options import (
    CoatingOption,
    CsvOption,
    GunOption,
    JsonOption,
    RetarderOption,
    ThinnerOption,
    ZoneOption,
)  # fmt: skip
from advisor.cli.paper import Answer, Said, writing
from advisor.desk.coat_fields import Typing, typed_coat
from advisor.desk.jobs import named_job
from advisor.desk.read_back import Failed, coat_as_said, coats_of_job, coats_to_read, place_of_job, read_back
from advisor.desk.typed import past_moment, pot_from, typed_temperature
from advisor.errors import refuse, shown
from advisor.judge.verdict import EXIT_CANNOT_TELL
from advisor.logbook.job_log import JobLog
from advisor.physics.air import moist_air
from advisor.review.air_track import track_about
from advisor.review.coat import Below, sighting
from advisor.review.page.record import review_record
from advisor.review.page.words import told
from advisor.review.reviewed import Reviewed
from advisor.series.air_track import AirTrack
from advisor.shop.shop import Shop
from advisor.sources.air_source import zone_of
from advisor.sources.file_air import FileAir
from advisor.sources.log_air import log_air
from advisor.units import parse_relative_humidity

_ENDINGS = {"html": (".html", ".htm"), "png": (".png",), "export": (".csv",)}


def run_review(
    shop: Shop,
    now: datetime,
    job: Annotated[str | None, typer.Option("--job", help="A job, by number or name, with its coats.")] = None,
    coat: Annotated[int | None, typer.Option("--coat", help="With --job: this coat alone.")] = None,
    csv: CsvOption = None,
    coating: CoatingOption = None,
    sprayed: Annotated[str | None, typer.Option("--sprayed", help="When it was sprayed: an ISO time.")] = None,
    defect: Annotated[
        str | None, typer.Option("--defect", help="What went wrong: blush, nibs, runs; else all is looked at.")
    ] = None,
    sibling: Annotated[
        str | None, typer.Option("--sibling", help="When a like coat was sprayed that did not fail.")
    ] = None,
    over: Annotated[
        str | None, typer.Option("--over", help='The coat below and when: "oil-varnish 2025-10-14T09:00Z".')
    ] = None,
    minutes: Annotated[str | None, typer.Option("--minutes", help="How long it took to spray: 15min.")] = None,
    thinner: ThinnerOption = None,
    thinned: Annotated[str | None, typer.Option("--thinned", help="Thinner in the mix, of the paint: 30%.")] = None,
    retarder: RetarderOption = None,
    mixed: Annotated[str | None, typer.Option("--mixed", help="When hardener went in: an ISO time.")] = None,
    cup: Annotated[str | None, typer.Option("--cup", help='Efflux cup, with --seconds: "DIN 4".')] = None,
    seconds: Annotated[str | None, typer.Option("--seconds", help="Seconds it took to run out.")] = None,
    material: Annotated[str | None, typer.Option("--material", help="The material's temperature: 19C.")] = None,
    surface: Annotated[str | None, typer.Option("--surface", help="The piece's surface as measured: 17C.")] = None,
    needle: Annotated[str | None, typer.Option("--needle", help="The gun's needle: 1.4mm.")] = None,
    pressure: Annotated[str | None, typer.Option("--pressure", help="Pressure at the gun: 2bar, 29psi.")] = None,
    wet_film: Annotated[str | None, typer.Option("--wet-film", help="Wet film by the comb: 100um, 4mil.")] = None,
    sanded: Annotated[str | None, typer.Option("--sanded", help="Grit before this coat, or no: 320.")] = None,
    gun: GunOption = None,
    seen: Annotated[
        str | None, typer.Option("--seen", help='When and where first seen: "2min, all over"; next morning; edges.')
    ] = None,
    air: Annotated[str | None, typer.Option("--air", help="Read by hand at the gun, another thermometer: 21C.")] = None,
    rh: Annotated[str | None, typer.Option("--rh", help="Read by hand at the gun, another hygrometer: 55%.")] = None,
    in_room: Annotated[str | None, typer.Option("--in-room", help="When the piece came in: an ISO time.")] = None,
    zone: ZoneOption = None,
    place: Annotated[str | None, typer.Option("--place", help="Where it was sprayed: whose readings count.")] = None,
    html: Annotated[Path | None, typer.Option("--html", help="Write it as a page, to read or print.")] = None,
    png: Annotated[Path | None, typer.Option("--png", help="Draw the picture of it into this file.")] = None,
    export: Annotated[Path | None, typer.Option("--export", help="Write the exposures into this CSV file.")] = None,
    as_json: JsonOption = False,
) -> Answer:
    """Read a coat back that went wrong: what the air did, what it did not, what to change, how to repair.

    Exit code: 0, 2 an error in what was given, 3 cannot tell.
    """
    said = {
        "minutes": minutes, "thinner": thinner, "thinned": thinned, "retarder": retarder, "mixed": mixed, "cup": cup,
        "seconds": seconds, "material": material, "surface": surface, "needle": needle, "pressure": pressure,
        "wet-film": wet_film, "sanded": sanded,
    }  # fmt: skip
    typed = {name: text for name, text in said.items() if text is not None}
    details = bool(typed) or over is not None
    needed = (("coating", coating, "ID"), ("sprayed", sprayed, "2025-10-14T14:05Z"))
    refuse(
        *(
            (job is not None and text is not None, f"--{name} beside --job", "one of the two", "a job knows its coats")
            for name, text, _ in needed
        ),
        *(
            (job is None and not text, f"--{name} is missing", f"--{name} {form}", "give it, or --job")
            for name, text, form in needed
        ),
        (job is not None and csv is not None, "--csv beside --job", "one of the two", "a job lies in the logbook"),
        (
            job is not None and details,
            "a coat's details beside --job", "those of the job", "advisor job edit corrects them",
        ),
        (coat is not None and job is None, "--coat without --job", "both", "name the job"),
    )  # fmt: skip
    files = {name: path for name, path in (("html", html), ("png", png), ("export", export)) if path is not None}
    _refuse_files(files, csv)
    where = zone_of(zone or shop.zone)
    seen_in = shop if shop.zone or where is None else replace(shop, zone=where.key)
    latest = now + timedelta(seconds=shop.limit("clock_tolerance").value)
    named = None if defect is None else find_defect(defect).id
    like = None if sibling is None else past_moment("--sibling", sibling, where, latest)
    beside = {
        "seen": None if seen is None else sighting(seen),
        "air": None if air is None else typed_temperature(air, "--air", shop, moist_air.AIR_TEMPERATURE_RANGE),
        "humidity": None if rh is None else parse_relative_humidity(rh, "--rh"),
        "in_room_since": None if in_room is None else past_moment("--in-room", in_room, where, latest),
    }
    wanted = []
    if job is None:
        when = past_moment("--sprayed", sprayed or "", where, latest)
        under = None if over is None else _under(over, where, latest, shop)
        own = shop.coating(coating or "")
        as_said = typed_coat(typed, Typing(seen_in, now, "--"))
        wanted = [Failed(coat_as_said(own, when, as_said, under, pot_from(None, None, gun).gun), named)]
    if csv is not None:
        source = FileAir(csv, shop, where)
        track = track_about(source, source.place(place), coats_to_read(wanted, like), now)
    else:
        wanted, track, seen_in = _from_logbook(wanted, job, coat, named, place, like, seen_in, now)
    known = {name: value for name, value in beside.items() if value is not None}
    main, found = read_back(wanted, known, track, like, seen_in)
    _write_files(files, main, found, track.place, seen_in)
    answer: Said = review_record(found, seen_in, now, track.place) if as_json else told(main, seen_in)
    return answer, EXIT_CANNOT_TELL if main.cannot_tell else 0


def _under(text: str, zone: ZoneInfo | None, latest: datetime, shop: Shop) -> Below:
    """The coat below, like `oil-varnish 2025-10-14T09:00Z`."""
    name, _, when = text.strip().partition(" ")
    at = past_moment("--over", when.strip(), zone, latest) if when.strip() else None
    return Below(coating=shop.coating(name).id, sprayed=at)


def _from_logbook(
    wanted: list[Failed], asked: str | None, number: int | None, defect: str | None, place: str | None,
    sibling: datetime | None, shop: Shop, now: datetime,
) -> tuple[list[Failed], AirTrack, Shop]:  # fmt: skip
    """The coats of the job asked for, else those wanted; the air over them; the shop with its calibrations."""
    with log_air(shop) as air:
        sprayed_at = None
        if asked is not None:
            job = named_job(JobLog(air.air_log.connection).jobs(), asked)
            wanted, sprayed_at = coats_of_job(job, number, defect), place_of_job(job)
        track = track_about(air, air.place(place, sprayed_at), coats_to_read(wanted, sibling), now)
    return wanted, track, air.shop


def _refuse_files(files: Mapping[str, Path], source: Path | None) -> None:
    """Raises UsageError for another kind of file, or for the one that is read from."""
    for name, path in files.items():
        got, endings, read = f"--{name} {shown(str(path))}", _ENDINGS[name], source is not None and source.resolve()
        refuse(
            (path.suffix.lower() not in endings, got, " or ".join(endings), "choose this ending"),
            (path.resolve() == read, f"{got} is the file of --csv", "another file", "the readings stay"),
        )


def _write_files(
    files: Mapping[str, Path], main: Reviewed, reviews: Sequence[Reviewed], place: str, shop: Shop
) -> None:
    """Write what is asked for. Raises UsageError where a file cannot be written."""
    made: dict[str, bytes] = {}
    if "export" in files:
        from advisor.review.page.record import exposures_csv  # noqa: PLC0415 - only when it is asked for

        made["export"] = exposures_csv(reviews).encode("utf-8")
    if "html" in files:
        from advisor.review.page.report import report  # noqa: PLC0415 - matplotlib only when something is drawn

        made["html"] = report(main, [each for each in reviews if each is not main], place, shop).encode("utf-8")
    if "png" in files:
        from advisor.review.page.film_track import film_tracks  # noqa: PLC0415 - matplotlib, as above
        from advisor.review.page.picture import picture, png  # noqa: PLC0415 - matplotlib, as above

        made["png"] = png(picture(main, film_tracks(main), shop))
    for name, content in made.items():
        with writing(f"--{name}", files[name]) as beside:
            beside.write_bytes(content)
