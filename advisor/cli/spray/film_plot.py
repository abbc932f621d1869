"""The film as a picture: its temperature against minutes, and the blush line over temperature and humidity.

A water-borne film also with its MFFT, what it needs over it, and from which air on it forms; whether it does, in words.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
from matplotlib.figure import Figure

from advisor.cli.paper import writing
from advisor.errors import refuse, shown
from advisor.film.film_map import FilmAnswer, film_answers
from advisor.film.wet_film import dry_films
from advisor.say.film_words import need_words
from advisor.shop.shop import US, Shop
from advisor.ways.film_need import FORMS, FilmNeed, forms_from

KINDS = (".svg", ".png", ".pdf")
_TEMPERATURES = np.linspace(0.0, 44.0, 12)  # [°C]
_HUMIDITIES = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95)
_FORMING = tuple(float(air) for air in range(-4, 46, 2))  # [°C]
_LONGEST_SHOWN = 3_600.0  # [s]


def draw(answer: FilmAnswer, need: FilmNeed | None, shop: Shop, path: Path) -> None:
    """Draw a film into a file. need: of a water-borne film, to form.

    Raises UsageError for a kind of file that is not drawn.
    """
    refuse((
        path.suffix.lower() not in KINDS,
        f"--plot {shown(str(path))}", ", ".join(KINDS), "choose one of these endings",
    ))  # fmt: skip
    figure = Figure(figsize=(9.0, 4.2), layout="constrained")
    left, right = figure.subplots(1, 2)
    _temperatures(left, answer, need, shop)
    _blush_line(right, answer, need, shop)
    if need is not None:
        # in words: whoever sees only a dot under the dew line takes it for fit
        figure.suptitle(need_words(need, shop), fontweight="normal" if need.state == FORMS else "bold")
    with writing("--plot", path) as beside:
        figure.savefig(beside)


def _shown_temperature(celsius: np.ndarray | float, shop: Shop) -> np.ndarray:
    values = np.asarray(celsius, dtype=np.float64)
    return values * 1.8 + 32.0 if shop.units == US else values


def _sign(shop: Shop) -> str:
    return "°F" if shop.units == US else "°C"


def _temperatures(axes, answer: FilmAnswer, need: FilmNeed | None, shop: Shop) -> None:  # type: ignore[no-untyped-def]
    run = dry_films([answer.case], shop, to_dry=answer.case.mix.dispersion)
    history, outcome = run.history, answer.outcome
    closed = outcome.to_pack if answer.case.mix.dispersion else outcome.to_set
    end = min(_LONGEST_SHOWN, 2.0 * (closed or _LONGEST_SHOWN), float(history.moments[-1]))
    seen = history.moments <= end
    minutes = history.moments[seen] / 60.0
    axes.plot(minutes, _shown_temperature(history.temperature[seen, 0], shop), color="black", linewidth=1.8)
    lines = [
        (float(history.temperature[seen, 0][-1]), "film", "-"),
        (answer.case.air_temperature, "air", "--"),
        (outcome.dew_point, "dew point", ":"),
    ]
    for value, label, style in lines:
        if label != "film":
            axes.axhline(float(_shown_temperature(value, shop)), color="black", linestyle=style, linewidth=1.2)
        axes.annotate(
            label, (minutes[-1], float(_shown_temperature(value, shop))), xytext=(-4, 4), textcoords="offset points",
            ha="right",
        )  # fmt: skip
    for value, label in () if need is None else ((need.mfft, "MFFT"), (need.needed, "film needs")):
        at = float(_shown_temperature(value, shop))
        axes.axhline(at, color="black", linestyle="-.", linewidth=1.2 if label == "MFFT" else 0.8)
        axes.annotate(label, (0.5 * minutes[-1], at), xytext=(0, 4), textcoords="offset points", ha="center")
    axes.set_ymargin(0.12)  # room for a name over the highest line
    axes.autoscale_view()
    if closed is not None and closed <= end:
        axes.axvline(closed / 60.0, color="grey", linewidth=0.8)
        word = "packs" if answer.case.mix.dispersion else "sets"
        axes.annotate(
            word, (closed / 60.0, axes.get_ylim()[0]), xytext=(3, 4), textcoords="offset points", color="grey"
        )
    axes.set_xlabel("minutes after spraying")
    axes.set_ylabel(f"temperature, {_sign(shop)}")
    axes.set_title("Film, air and dew point" if need is None else "Film, air, dew point and MFFT")


def _blush_line(axes, answer: FilmAnswer, need: FilmNeed | None, shop: Shop) -> None:  # type: ignore[no-untyped-def]
    lag = answer.case.piece - answer.case.air_temperature
    cases = [replace(answer.case, air_temperature=float(t), piece=float(t) + lag, liquid=None) for t in _TEMPERATURES]
    answers = film_answers(cases, shop, quick=True)
    spirit = answer.case.mix.clear_by is not None  # goes under the dew point unharmed: no dew line for it
    lines = [] if spirit else [("dew line", [each.dew_onset for each in answers], ":")]
    if not answer.case.mix.dispersion:
        name = "clouding line" if spirit else "blush line"
        lines.insert(0, (name, [each.blush_onset for each in answers], "-"))
    temperatures = _shown_temperature(_TEMPERATURES, shop)
    for label, onsets, style in lines:
        percents = np.array([np.nan if onset is None else onset * 100.0 for onset in onsets])
        axes.plot(temperatures, percents, color="black", linestyle=style, linewidth=1.8)
        known = np.flatnonzero(np.isfinite(percents))
        if len(known):
            # both on the right, where the lines are apart: one label under its line, the other over it
            at, offset = known[(3 * len(known)) // 4], (-60, -14) if style == "-" else (-20, 6)
            axes.annotate(label, (temperatures[at], percents[at]), xytext=offset, textcoords="offset points")
    if need is not None:
        _forming_line(axes, answer, need, shop)
    now = (float(_shown_temperature(answer.case.air_temperature, shop)), answer.case.relative_humidity * 100.0)
    axes.plot(*now, marker="o", color="black", markersize=8, markerfacecolor="white")
    axes.annotate("now", now, xytext=(8, -4), textcoords="offset points")
    axes.set_ylim(0.0, 100.0)
    axes.set_xlim(*_shown_temperature(np.array([-6.0, 46.0]), shop))
    axes.set_xlabel(f"air, {_sign(shop)}")
    axes.set_ylabel("relative humidity, %")
    axes.set_title("Above the line it goes wrong" if need is None else "Above or left of a line it goes wrong")


def _forming_line(axes, answer: FilmAnswer, need: FilmNeed, shop: Shop) -> None:  # type: ignore[no-untyped-def]
    """From which air on the film is warm enough as it packs, at each humidity."""
    found = forms_from(answer.case, _HUMIDITIES, _FORMING, need.needed, shop)
    known = [(rh * 100.0, air) for rh, air in zip(_HUMIDITIES, found, strict=True) if air is not None]
    if not known:
        return
    percents, airs = (np.array(each) for each in zip(*known, strict=True))
    axes.plot(_shown_temperature(airs, shop), percents, color="black", linestyle="-.", linewidth=1.8)
    lowest = (float(_shown_temperature(airs[0], shop)), float(percents[0]))
    axes.annotate("film forms", lowest, xytext=(8, 4), textcoords="offset points")
    axes.annotate("too cold", lowest, xytext=(-8, 4), textcoords="offset points", ha="right")
