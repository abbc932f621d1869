"""The panels of a review's picture that show the air of the hours about a coat: what was not read stays open."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import LogLocator, NullFormatter

from advisor.catalog.limits import in_a_word
from advisor.physics.air import moist_air
from advisor.physics.basics import Array
from advisor.review.exposure import Exposures
from advisor.review.page.film_track import silences
from advisor.say.numbers import trimmed
from advisor.series.trace import AIR, HUMIDITY, SURFACE, Trace, Window
from advisor.shop.shop import US, Shop
from advisor.times import moment_at

LEAST_TEMPERATURES, _LEAST_HUMIDITIES = 6.0, 20.0  # [K], [%] shown, so that noise does not look like weather
_LEAST_DUST = (0.5, 20.0)  # [times clean] shown
_NEAR = 900.0  # [s] two readings further apart are not joined
_FILM, _AIR, _DEW, _PIECE = "black", "#a3460a", "#1a5796", "#555555"
STYLES: dict[str, dict[str, Any]] = {
    "film": {"color": _FILM, "linewidth": 2.2, "linestyle": "-"},
    "air": {"color": _AIR, "linewidth": 1.5, "linestyle": (0, (6, 2))},
    "dew": {"color": _DEW, "linewidth": 1.7, "linestyle": (0, (1, 1.2))},
    "piece": {"color": _PIECE, "linewidth": 1.2, "linestyle": (0, (6, 2, 1, 2))},
}
UNDER: dict[str, Any] = {"facecolor": "#cfe0f3", "edgecolor": _DEW, "hatch": "////", "linewidth": 0.0}
SILENT: dict[str, Any] = {"facecolor": "#eeeeee", "edgecolor": "#9a9a9a", "hatch": "..", "linewidth": 0.0}
_WHITE = {"facecolor": "white", "edgecolor": "none", "pad": 1.0}
_STEPS = (5, 10, 15, 30, 60, 120, 180, 360, 720)  # [min] between ticks


def draw_temperatures(axes: Axes, exposed: Exposures, window: Window, shop: Shop) -> None:
    """Room air, the piece as read, and the dew point."""
    track = exposed.seen.track
    air, damp, piece = (track.trace(quantity) for quantity in (AIR, HUMIDITY, SURFACE))
    _silent(axes, air, window)
    _line(axes, piece.times, shown(piece.values, shop), window, "piece")
    _line(axes, air.times, shown(air.values, shop), window, "air")
    times, dew = dew_points(air, damp)
    _line(axes, times, shown(dew, shop), window, "dew")
    axes.set_ylabel(f"in the room, {sign(shop)}")


def dew_points(air: Trace, damp: Trace) -> tuple[Array, Array]:
    """Times [s since 1970] and dew points [°C] where both air and humidity were read."""
    times, humidity, airs = damp.beside(air)
    damped = np.clip(humidity, *moist_air.RELATIVE_HUMIDITY_RANGE)
    return times, np.asarray(moist_air.dew_point(airs, damped), dtype=np.float64)


def draw_humidity(axes: Axes, exposed: Exposures, window: Window) -> None:
    """Relative humidity, and the most of it that is a GO."""
    damp = exposed.seen.track.trace(HUMIDITY)
    _silent(axes, damp, window)
    _line(axes, damp.times, damp.values * 100.0, window, "film", linewidth=1.5)
    axes.set_ylabel("humidity, %")
    go_high = exposed.seen.coating.relative_humidity.go_high.value * 100.0
    _limit(axes, go_high, f"GO up\nto {trimmed(go_high, 0)} %")


def draw_dust(axes: Axes, exposed: Exposures, window: Window, shop: Shop) -> None:
    """Dust in times of clean air; as it was read where that is not known."""
    dust = exposed.seen.track.dust
    limit = shop.limit("dust_index").value
    clean = exposed.by_name["dust_while_wet"].figure("clean")
    _silent(axes, dust, window)
    kept = dust.values > 0.0
    _line(axes, dust.times[kept], dust.values[kept] / (clean or 1.0), window, "film", linewidth=1.2)
    if clean is None:
        axes.set_ylabel("dust, as read")
        return
    axes.set_yscale("log")
    _limit(axes, limit, f"limit\n{trimmed(limit, 1)}")
    axes.yaxis.set_major_locator(LogLocator(numticks=5))
    axes.yaxis.set_major_formatter(lambda value, _: f"{value:g}")
    axes.yaxis.set_minor_formatter(NullFormatter())
    axes.set_ylabel("dust, × clean")


def _limit(axes: Axes, value: float, label: str) -> None:
    """A limit, named at the right of the last panel of a row, where no reading lies."""
    axes.axhline(value, color="black", linewidth=0.7, linestyle=(0, (8, 4)))
    spec = axes.get_subplotspec()
    if spec is not None and spec.is_last_col():
        axes.annotate(
            label, (1.0, value), xycoords=("axes fraction", "data"), xytext=(4, 0), textcoords="offset points",
            va="center",
        )  # fmt: skip


def _line(axes: Axes, times: Array, values: Array, window: Window, style: str, **more: float) -> None:
    """A line through the readings of a window, open where they are too far apart."""
    inside = (times >= window.start) & (times <= window.end)
    times, values = times[inside], values[inside]
    breaks = np.flatnonzero(np.diff(times) > _NEAR) + 1
    axes.plot(
        np.insert(times, breaks, times[breaks - 1] if len(breaks) else []), np.insert(values, breaks, np.nan),
        **{**STYLES[style], **more},
    )  # fmt: skip


def _silent(axes: Axes, trace: Trace, window: Window) -> None:
    last = -np.inf
    length = window.end - window.start
    for gap in silences(trace, window):
        axes.axvspan(gap.start, gap.end, **SILENT)
        middle, wide = 0.5 * (gap.start + gap.end), gap.end - gap.start > 0.2 * length
        if not wide and middle - last < 0.035 * length:
            continue  # its label would stand in its neighbour's; the report names them all
        last = gap.end if wide else middle
        axes.text(
            middle, 0.5, in_a_word(gap.reason), transform=axes.get_xaxis_transform(), ha="center",
            va="center", rotation=0 if wide else 90, bbox=_WHITE, zorder=5,
        )  # fmt: skip


def at_least(axes: Axes, least: float, under: float = 0.0) -> None:
    """Widen an upright axis to so much at least, with a share left free under it."""
    low, high = axes.get_ylim()
    more = max(0.0, least - (high - low))
    low, high = low - 0.5 * more, high + 0.5 * more
    axes.set_ylim(low - under * (high - low), high)


def widen(panels: Sequence[Axes], shop: Shop) -> None:
    """The upright axes of the panels of temperature, humidity and, where there is one, dust, once all is drawn.

    They are shared along a row: what is widened for one column is for all.
    """
    at_least(panels[0], LEAST_TEMPERATURES * scale(shop))
    at_least(panels[1], _LEAST_HUMIDITIES)
    for dust in panels[2:]:
        low, high = dust.get_ylim()
        if dust.get_yscale() == "log":
            dust.set_ylim(min(low, _LEAST_DUST[0]), max(high, _LEAST_DUST[1]))


def clock_axis(axes: Axes, window: Window, shop: Shop, most: int) -> None:
    """Ticks on round times of the shop's clock, at most so many."""
    minutes = (window.end - window.start) / 60.0
    step = next((each for each in _STEPS if minutes / each <= most), _STEPS[-1])
    ticks = []
    for at in np.arange(window.start // 60 * 60, window.end + 60.0, 60.0).tolist():
        when = local(at, shop)
        if (when.hour * 60 + when.minute) % step == 0 and window.start <= at <= window.end:
            ticks.append((at, f"{when:%H:%M}"))
    axes.set_xticks([at for at, _ in ticks], [label for _, label in ticks])
    axes.set_xlim(window.start, window.end)


def local(seconds: float, shop: Shop) -> datetime:
    """Seconds since 1970 in the shop's zone."""
    return moment_at(seconds).astimezone(ZoneInfo(shop.zone or "UTC"))


def shown(celsius: Array | float, shop: Shop) -> Array:
    """Temperatures in the reader's unit."""
    values = np.asarray(celsius, dtype=np.float64)
    return values * 1.8 + 32.0 if shop.units == US else values


def scale(shop: Shop) -> float:
    """How many of the reader's degrees a kelvin is."""
    return 1.8 if shop.units == US else 1.0


def sign(shop: Shop) -> str:
    """The reader's degrees."""
    return "°F" if shop.units == US else "°C"
