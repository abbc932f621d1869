"""The files of a review: its page, its picture, its exposures as a table."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from advisor.errors import UsageError, shown
from advisor.files import replacing
from advisor.review.reviewed import Reviewed
from advisor.shop.shop import Shop

_ENDINGS = {"html": (".html", ".htm"), "png": (".png",), "export": (".csv",)}


@dataclass(frozen=True)
class ReviewFiles:
    """Where each is to be written; None: not at all."""

    html: Path | None = None
    png: Path | None = None
    export: Path | None = None


def refuse_unfit(files: ReviewFiles, source: Path | None) -> None:
    """Raises UsageError for another kind of file, or for the one that is read from."""
    for name, endings in _ENDINGS.items():
        path: Path | None = getattr(files, name)
        if path is None:
            continue
        if path.suffix.lower() not in endings:
            raise UsageError(f"--{name} {shown(str(path))}", " or ".join(endings), "choose this ending")
        if source is not None and path.resolve() == source.resolve():
            raise UsageError(f"--{name} {shown(str(path))} is the file of --csv", "another file", "the readings stay")


def write_files(files: ReviewFiles, main: Reviewed, reviews: Sequence[Reviewed], place: str, shop: Shop) -> None:
    """Write what is asked for. Raises UsageError where a file cannot be written."""
    if files.export is not None:
        from advisor.review.record import exposures_csv  # noqa: PLC0415 - only when it is asked for

        _write("export", files.export, exposures_csv(reviews).encode("utf-8"))
    if files.html is not None:
        from advisor.review.report import report  # noqa: PLC0415 - matplotlib only when something is drawn

        others = [each for each in reviews if each is not main]
        _write("html", files.html, report(main, others, place, shop).encode("utf-8"))
    if files.png is not None:
        from advisor.review.film_track import film_tracks  # noqa: PLC0415 - matplotlib, as above
        from advisor.review.picture import picture, png  # noqa: PLC0415 - matplotlib, as above

        _write("png", files.png, png(picture(main, film_tracks(main), shop)))


def _write(name: str, path: Path, content: bytes) -> None:
    try:
        with replacing(path) as beside:
            beside.write_bytes(content)
    except OSError as error:
        raise UsageError(f"--{name} {shown(str(path))}: {error.strerror}", "a file that can be written", "") from error
