"""The main picture of a review: the film against the dew point, the coat's windows, and the air of the hours about it.

Readable in black and white: line styles and hatching carry what colours only repeat. What was not read is left open.
"""

import io
import re
from collections.abc import Sequence
from dataclasses import dataclass

import matplotlib as mpl
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from advisor.review.exposure import Exposures
from advisor.review.page.film_track import FilmTrack
from advisor.review.page.picture_air import (
    LEAST_TEMPERATURES,
    SILENT,
    STYLES,
    UNDER,
    at_least,
    clock_axis,
    draw_dust,
    draw_humidity,
    draw_temperatures,
    local,
    scale,
    shown,
    sign,
    widen,
)
from advisor.review.reviewed import Reviewed
from advisor.say.numbers import clock, span, trimmed
from advisor.series.trace import AIR, SURFACE, Window
from advisor.shop.shop import Shop
from advisor.times import moment_at

WIDE, NARROW = 7.6, 3.7  # [in] a page's column and a phone's
_SIZE = 9.5  # [pt] of every letter
_BEFORE, _AFTER = 3_600.0, 1_800.0  # [s] of air shown about the coats
_LONGEST = 36 * 3_600.0  # [s]
_TOGETHER = 16 * 3_600.0  # [s] apart, up to which two coats share one axis
_LANES = ("spraying", "flash-off", "until dust-free", "until next coat")


@dataclass(frozen=True)
class _Drawn:
    """A coat as it is drawn; solid: the coat that is reviewed."""

    name: str
    exposed: Exposures
    film: FilmTrack | None
    solid: bool

    @property
    def sign(self) -> str:
        return "■" if self.solid else "□"


def picture(found: Reviewed, films: Sequence[FilmTrack | None], shop: Shop, narrow: bool = False) -> Figure:
    """The main picture, for a page or for a phone. films: of the coat, and of the coat beside it."""
    coats = [_Drawn("this coat", found.exposed, films[0], True)]
    if found.sibling is not None:
        coats.append(_Drawn("the coat beside it", found.sibling.exposed, films[1], False))
    with mpl.rc_context({"font.size": _SIZE, "axes.titlesize": _SIZE, "hatch.linewidth": 0.6}):
        return _figure(found, coats, shop, narrow)


def svg(figure: Figure, prefix: str) -> str:
    """A figure as an <svg> to stand in a page: no outside reference, scaled by its box, ids under a prefix."""
    stream = io.StringIO()
    with mpl.rc_context({"svg.hashsalt": "review", "svg.fonttype": "path"}):
        figure.savefig(stream, format="svg", metadata={"Date": None, "Creator": None, "Format": None, "Type": None})
    text = "<svg" + stream.getvalue().split("<svg", 1)[1]
    text = re.sub(r"<metadata>.*?</metadata>", "", text, flags=re.DOTALL)
    text = re.sub(r"<style.*?</style>", "", text, flags=re.DOTALL)
    text = re.sub(r' xmlns(:xlink)?="[^"]*"', "", text).replace("xlink:href", "href")
    text = re.sub(r'<svg ([^>]*?)width="[^"]*"', r"<svg \1", re.sub(r'height="[^"]*pt"', "", text, count=1), count=1)
    text = re.sub(r'\bid="', f'id="{prefix}', text).replace('href="#', f'href="#{prefix}')
    return text.replace("url(#", f"url(#{prefix}").strip()


def png(figure: Figure) -> bytes:
    """A figure as PNG."""
    stream = io.BytesIO()
    figure.savefig(stream, format="png", dpi=160)
    return stream.getvalue()


def shown_spans(found: Reviewed) -> tuple[Window, ...]:
    """The hours whose air is shown: one stretch, or two in the order of time where the coats lie far apart."""
    main = _hours(found.exposed)
    windows = [found.exposed.by_name[cause.exposure].window for cause in found.causes.supported]
    end = max([main.end, *(window.end for window in windows if window is not None)])
    main = Window(main.start, min(end, main.start + _LONGEST))
    if found.sibling is None:
        return (main,)
    beside = _hours(found.sibling.exposed)
    first, last = sorted((main, beside), key=lambda window: window.start)
    if last.start - first.end > _TOGETHER or last.end - first.start > _LONGEST:
        return (first, last)
    return (Window(first.start, max(first.end, last.end)),)


def _hours(exposed: Exposures) -> Window:
    windows = exposed.seen.windows
    end = min(windows.recoat.end, windows.spray.end + _LONGEST) + _AFTER
    return Window(windows.spray.start - _BEFORE, max(end, windows.spray.end + _BEFORE))


def _figure(found: Reviewed, coats: Sequence[_Drawn], shop: Shop, narrow: bool) -> Figure:
    spans = shown_spans(found)
    dusty = bool(len(found.exposed.seen.track.dust.times))
    rows = 4 if dusty else 3
    film_height = (2.3 if any(coat.film for coat in coats) else 1.1) * (len(coats) if narrow else 1) + 0.6
    figure = Figure(figsize=(NARROW if narrow else WIDE, film_height + 1.6 * rows), layout="constrained")
    parts = figure.add_gridspec(2, 1, height_ratios=(film_height, 1.6 * rows))
    upper, lower = (figure.add_subfigure(part) for part in (parts[0], parts[1]))
    shape = (len(coats), 1) if narrow else (1, len(coats))
    _films(list(upper.subplots(*shape, sharey=True, squeeze=False).ravel()), coats, shop, narrow)
    grid = lower.subplots(
        rows, len(spans), sharex="col", sharey="row", squeeze=False, height_ratios=(1.0, 1.35, 1.0, 1.0)[:rows]
    )
    for column, window in enumerate(spans):
        axes = list(grid[:, column])
        _lanes(axes[0], coats, window, shop, narrow)
        draw_temperatures(axes[1], found.exposed, window, shop)
        draw_humidity(axes[2], found.exposed, window)
        if dusty:
            draw_dust(axes[3], found.exposed, window, shop)
        for each in axes:
            for coat in coats:
                spray = coat.exposed.seen.windows.spray
                if window.start <= spray.start <= window.end:
                    each.axvline(spray.start, color="black", linewidth=0.9, linestyle="-" if coat.solid else ":")
        clock_axis(axes[-1], window, shop, 4 if narrow or len(spans) > 1 else 9)
        day = local(window.start, shop)
        axes[-1].set_xlabel(f"{day:%a} {day.day} {day:%b %Y}, {shop.zone or 'UTC'}")
        for each in axes if column else ():
            each.set_ylabel("")
    widen(list(grid[1:, 0]), shop)
    if not len(found.exposed.seen.track.trace(AIR).times):
        grid[1, 0].set_yticks([])  # a scale of nothing
    labels = [("film", "film, computed"), ("air", "room air"), ("dew", "dew point")]
    labels += [("piece", "piece, read")] if len(found.exposed.seen.track.trace(SURFACE).times) else []
    keys: list[Line2D | Patch] = [Line2D([], [], label=label, **STYLES[key]) for key, label in labels]
    keys += [Patch(label="film under dew point", **UNDER), Patch(label="no good reading", **SILENT)]
    figure.legend(
        handles=keys, loc="outside upper center", ncols=2 if narrow else 3, frameon=False,
        handlelength=2.4 if narrow else 3.4, columnspacing=1.0, handletextpad=0.5,
    )  # fmt: skip
    return figure


def _films(panels: Sequence[Axes], coats: Sequence[_Drawn], shop: Shop, narrow: bool) -> None:
    for axes, coat in zip(panels, coats, strict=True):
        start = clock(coat.exposed.seen.coat.sprayed, shop.zone)
        said = _under(coat.film)
        axes.set_title(f"{coat.sign} {coat.name}, {start}{said}", loc="left", fontweight="bold")
        if coat.film is None:
            axes.text(
                0.5, 0.5, "no film computed: the air at\nthe spraying was not well read", ha="center", va="center",
                transform=axes.transAxes,
            )  # fmt: skip
            axes.set_xticks([])
            continue
        _film(axes, coat.film, shop)
    if not any(coat.film for coat in coats):
        panels[0].set_yticks([])
        return
    at_least(panels[0], LEAST_TEMPERATURES * scale(shop), 0.2)
    for axes in panels if narrow else panels[:1]:
        axes.set_ylabel(f"at the film, {sign(shop)}")


def _under(film: FilmTrack | None) -> str:
    if film is None:
        return ""
    return f"\n{trimmed(film.below / 60.0, 1)} min under the dew point" if film.below else "\nnever under the dew point"


def _film(axes: Axes, film: FilmTrack, shop: Shop) -> None:
    """The film from its landing; the minutes beneath count from there."""
    temperature, dew, air = (shown(value, shop) for value in (film.temperature, film.dew_point, film.air))
    minutes = (film.times - film.landed) / 60.0
    axes.fill_between(minutes, temperature, dew, where=temperature < dew, interpolate=True, **UNDER)
    axes.plot(minutes, temperature, **STYLES["film"])
    axes.axhline(float(dew), **STYLES["dew"])
    axes.axhline(float(air), **STYLES["air"])
    if film.closed is not None:
        closed = (film.closed - film.landed) / 60.0
        axes.axvline(closed, color="black", linewidth=0.8)
        early = closed < 0.7 * minutes[-1]
        axes.annotate(
            "film closed", (closed, 0.02), xycoords=("data", "axes fraction"), xytext=(4 if early else -4, 0),
            textcoords="offset points", ha="left" if early else "right",
        )  # fmt: skip
    axes.set_xlim(0.0, float(minutes[-1]))
    axes.set_xlabel(f"minutes after landing at {clock(moment_at(film.landed), shop.zone)}")


def _bars(coat: _Drawn) -> tuple[Window, ...]:
    """The windows of a coat from the gun on, one for each lane."""
    windows = coat.exposed.seen.windows
    end = windows.spray.end
    return windows.spray, windows.flash, Window(end, windows.dust_free.end), Window(end, windows.recoat.end)


def _lanes(axes: Axes, coats: Sequence[_Drawn], window: Window, shop: Shop, narrow: bool) -> None:
    """The windows of the coats as bars, one lane each."""
    here = [coat for coat in coats if window.start <= coat.exposed.seen.windows.spray.start <= window.end]
    lives = sorted((each.spray.start, each.recoat.end) for each in (coat.exposed.seen.windows for coat in here))
    crossed = len(lives) > 1 and lives[1][0] < lives[0][1]  # one bar over the other: half as high each
    for coat in here:
        height, lift = (0.36, 0.2 if coat.solid else -0.2) if crossed else (0.6, 0.0)
        for lane, bar in enumerate(_bars(coat)):
            axes.barh(
                lift - lane, bar.end - bar.start, left=bar.start, height=height, edgecolor="black", linewidth=0.9,
                color="black" if coat.solid else "white",
            )  # fmt: skip
    lengths = [span(bar.end - bar.start) for bar in _bars(coats[0])]
    names = [name if narrow else f"{name}, {length}" for name, length in zip(_LANES, lengths, strict=True)]
    axes.set_yticks([0, -1, -2, -3], names)
    axes.tick_params(axis="y", length=0)
    axes.set_ylim(-3.6, 0.6)
    close = len(lives) > 1 and (narrow or lives[1][0] - lives[0][0] < 0.5 * (window.end - window.start))
    for coat in here:
        start = coat.exposed.seen.windows.spray.start
        share = (start - window.start) / (window.end - window.start)
        axes.annotate(
            f"{coat.sign} {coat.name}", (start, 1.0), xycoords=("data", "axes fraction"),
            xytext=(0, 16 if close and not coat.solid else 4), textcoords="offset points",
            ha="left" if share < 0.5 else "right",
        )  # fmt: skip
