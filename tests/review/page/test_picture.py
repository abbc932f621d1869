"""The picture of a review: what was not read is left open, labels stand clear of one another, letters can be read."""

from datetime import timedelta
from itertools import combinations

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from advisor.review.page.film_track import film_track, film_tracks
from advisor.review.page.picture import NARROW, WIDE, picture, png, shown_spans, svg
from advisor.review.reviewed import Reviewed, review
from advisor.series.air_track import AirTrack
from tests.review.page.pages import SHOP_IN_LONDON, damp, dusty, faulty
from tests.review.told_back.test_fixture_coats import track
from tests.support import SHOP, local

LEAST = 9.0  # [pt] of a letter at page width
REVIEWS = {"damp": damp, "faulty": faulty, "dusty": dusty}


def drawn(found: Reviewed, narrow: bool = False) -> Figure:
    return picture(found, film_tracks(found), SHOP_IN_LONDON, narrow)


def every_axes(figure: Figure):
    return [axes for part in figure.subfigs for axes in part.axes]


def labels(figure: Figure):
    """Every text that is shown, with its box in pixels."""
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    renderer = canvas.get_renderer()
    ticks = {}
    for axes in every_axes(figure):
        for axis in (axes.xaxis, axes.yaxis):
            low, high = sorted(axis.get_view_interval())
            for tick in (*axis.get_major_ticks(), *axis.get_minor_ticks()):
                ticks[tick.label1] = low <= tick.get_loc() <= high
    texts = [text for text in figure.findobj(mpl.text.Text) if text.get_visible() and text.get_text().strip()]
    texts = [text for text in texts if ticks.get(text, True)]
    on_page = figure.bbox
    boxes = [(text, text.get_window_extent(renderer)) for text in texts]
    return [(text, box) for text, box in boxes if box.overlaps(on_page) and box.width > 1.0]


@pytest.mark.slow
@pytest.mark.parametrize("which", REVIEWS)
@pytest.mark.parametrize("narrow", [False, True])
def test_labels_do_not_overlap_and_lie_on_the_page(which, narrow):
    figure = drawn(REVIEWS[which](), narrow)
    found = labels(figure)
    for text, box in found:
        assert figure.bbox.x0 - 1.0 <= box.x0, text.get_text()
        assert box.x1 <= figure.bbox.x1 + 1.0, text.get_text()
    for (one, first), (other, second) in combinations(found, 2):
        wide = min(first.x1, second.x1) - max(first.x0, second.x0)
        high = min(first.y1, second.y1) - max(first.y0, second.y0)
        assert not (wide > 1.0 and high > 1.0), (one.get_text(), other.get_text())


@pytest.mark.parametrize("narrow", [False, True])
def test_letters_are_large_enough(narrow):
    figure = drawn(damp(), narrow)
    assert figure.get_figwidth() == (NARROW if narrow else WIDE)
    assert min(text.get_fontsize() for text, _ in labels(figure)) >= LEAST


def test_lines_can_be_told_apart_without_colour():
    handles = drawn(damp()).legends[0].legend_handles
    styles = {
        str(handle.get_linestyle()) + str(getattr(handle, "_unscaled_dash_pattern", "")) for handle in handles[:4]
    }
    assert len(styles) == 4
    assert len({handle.get_hatch() for handle in handles[4:]}) == 2


def test_a_gap_is_not_bridged():
    (window,) = shown_spans(faulty())
    at = local("sensor-faults", "14:20").timestamp()
    assert window.start < at < window.end
    for axes in every_axes(drawn(faulty())):
        for line in axes.get_lines():
            times, values = (np.asarray(line.get_xdata()), np.asarray(line.get_ydata(), dtype=np.float64))
            if len(times) < 3:
                continue
            joined = np.isfinite(values[:-1]) & np.isfinite(values[1:])
            assert np.all(np.diff(times)[joined] <= 900.0)
    said = {text.get_text() for text, _ in labels(drawn(faulty()))}
    assert {"no reading", "end stop", "stuck", "disagree"} <= said


def test_the_film_drawn_is_the_film_judged():
    """What is drawn agrees with the exposures, so that picture and words say the same."""
    film, judged = film_track(damp().exposed), damp().exposed.by_name["film_over_dew"]
    assert film.lowest - film.dew_point == pytest.approx(judged.measured, abs=0.05)
    assert film.below == judged.figure("seconds_below_dew")
    beside = film_track(damp().sibling.exposed)
    assert beside.below == 0.0
    assert film_track(faulty().exposed) is None


def test_one_axis_for_two_coats_of_a_day_two_for_days_apart():
    assert len(shown_spans(damp())) == 1
    coat = damp().coat
    apart = review(
        coat, SHOP.coating(coat.coating), track("humid-evening"), SHOP, "blush",
        sibling=coat.sprayed - timedelta(days=9), with_ways=False,
    )  # fmt: skip
    first, last = shown_spans(apart)
    assert last.start - first.end > timedelta(days=8).total_seconds()
    figure = drawn(apart)
    panels = every_axes(figure)
    assert len(panels) == 2 + 2 * 4
    for axes in panels:  # nothing read lies outside the scale of its panel
        low, high = axes.get_ylim()
        for line in axes.get_lines():
            values = np.asarray(line.get_ydata(), dtype=np.float64)
            if len(values) > 2:
                assert low <= np.nanmin(values)
                assert np.nanmax(values) <= high


def test_png_and_svg_are_written():
    figure = drawn(dusty())
    content = png(figure)
    assert content.startswith(b"\x89PNG\r\n\x1a\n")
    assert len(content) > 20_000
    text = svg(figure, "a-")
    assert text.startswith("<svg")
    assert text.endswith("</svg>")
    assert "viewBox" in text.split(">", 1)[0]
    assert "width=" not in text.split(">", 1)[0]


def test_the_same_review_is_the_same_picture():
    assert svg(drawn(dusty(), True), "a-") == svg(drawn(dusty(), True), "a-")


def test_a_picture_of_nothing_read_says_so():
    coat = damp().coat
    blank = review(coat, SHOP.coating(coat.coating), AirTrack("shop"), SHOP, "blush", with_ways=False)
    figure = drawn(blank)
    said = [text.get_text() for text, _ in labels(figure)]
    assert said.count("no reading") == 2
    assert any("no film computed" in text for text in said)
    assert not any(text.replace(".", "").isdigit() and float(text) < 30.0 for text in said)
