"""The command `advisor review` as typed."""

from pathlib import Path
from typing import Annotated

import typer

from advisor.cli.options import ConfigOption, GunOption, JsonOption, RetarderOption, ThinnerOption, ZoneOption


def review(
    config: ConfigOption = None,
    job: Annotated[str | None, typer.Option("--job", help="A job, by number or name, with its coats.")] = None,
    coat: Annotated[int | None, typer.Option("--coat", help="With --job: this coat alone.")] = None,
    csv: Annotated[Path | None, typer.Option("--csv", help="A CSV file of readings; else the logbook.")] = None,
    coating: Annotated[str | None, typer.Option("--coating", help="Coating id; see `advisor coatings`.")] = None,
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
) -> None:
    """Read a coat back that went wrong: what the air did, what it did not, what to change, how to repair.

    Exit code: 0, 2 an error in what was given, 3 cannot tell.
    """
    from advisor.cli.review import AskedReview, Beside, run_review  # noqa: PLC0415 - lazy, as above
    from advisor.cli.review_files import ReviewFiles  # noqa: PLC0415 - lazy, as above

    said = {
        "minutes": minutes, "thinner": thinner, "thinned": thinned, "retarder": retarder, "mixed": mixed, "cup": cup,
        "seconds": seconds, "material": material, "surface": surface, "needle": needle, "pressure": pressure,
        "wet-film": wet_film, "sanded": sanded,
    }  # fmt: skip
    typed = {name: text for name, text in said.items() if text is not None}
    asked = AskedReview(
        config, job, coat, csv, coating, sprayed, defect, sibling, over, zone, place, gun, typed, as_json,
        ReviewFiles(html, png, export), Beside(seen, air, rh, in_room),
    )  # fmt: skip
    raise typer.Exit(run_review(asked))


def learn(
    config: ConfigOption = None,
    coating: Annotated[str | None, typer.Option("--coating", help="This coating alone.")] = None,
    as_json: JsonOption = False,
) -> None:
    """Say how often your own coats failed within and beyond each limit. Nothing is changed by it."""
    from advisor.cli.learn import run_learn  # noqa: PLC0415 - lazy, as above

    raise typer.Exit(run_learn(config, coating, as_json))
