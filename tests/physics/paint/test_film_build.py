"""Film build: published examples, the gallon's identity, round trips and directions."""

from math import nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.errors import OutOfRange
from advisor.physics.paint import film_build as b
from tests.support import every

GALLON, MIL, FOOT = 231 * 0.0254**3, 25.4e-6, 0.3048
films, solids, thinnings = st.floats(1e-6, 1e-3), st.floats(0.02, 1.0), st.floats(0.0, 2.0)
transfers = st.floats(0.1, 1.0)


@pytest.mark.parametrize(
    ("gallons", "share", "mils", "square_feet"),
    [(1, 1.0, 1.0, 1604.17), (1, 1.0, 10.0, 160.417), (1, 0.65, 5.0, 208.5), (1, 0.72, 2.0, 577.5)],
)
def test_a_us_gallon_covers_1604_square_feet_a_mil_thick(gallons, share, mils, square_feet):
    """231 in3; the other three are read examples (the last is printed as 527, a slip for 577)."""
    area = b.area_covered(gallons * GALLON, mils * MIL, share)
    assert area / FOOT**2 == pytest.approx(square_feet, rel=2e-4)


def test_a_litre_at_65_percent_covers_5_2_square_metres_125_um_thick():
    assert b.area_covered(1e-3, 125e-6, 0.65) == pytest.approx(5.2)


@pytest.mark.parametrize(
    ("wet", "share", "thinning", "dry"), [(8.0, 0.35, 0.0, 2.8), (8.0, 0.35, 0.1, 2.55), (1.0, 0.35, 0.1, 0.32)]
)
def test_an_estimating_bulletin_s_films_come_out(wet, share, thinning, dry):
    """Mils; the formulas were read, two results worked out anew (its printed ones are jumbled)."""
    assert b.dry_film(wet * MIL, share, thinning) / MIL == pytest.approx(dry, abs=0.006)


@given(films, solids, thinnings)
def test_wet_and_dry_there_and_back(film, volume_solids, thinning):
    dry = b.dry_film(film, volume_solids, thinning)
    if dry >= b.FILM_RANGE[0]:
        assert b.wet_film_for(dry, volume_solids, thinning) == pytest.approx(film)


@given(st.floats(0.0, 100.0), films, solids, thinnings, transfers)
def test_area_and_volume_there_and_back(area, film, volume_solids, thinning, transfer):
    volume = b.volume_for(area, film, volume_solids, thinning, transfer)
    if volume <= b.VOLUME_RANGE[1]:
        assert b.area_covered(volume, film, volume_solids, thinning, transfer) == pytest.approx(area)


@given(films, solids, st.floats(0.0, 1.9), st.floats(0.01, 0.1))
def test_more_thinner_is_less_build(film, volume_solids, thinning, more):
    assert b.dry_film(film, volume_solids, thinning + more) < b.dry_film(film, volume_solids, thinning)
    assert b.volume_for(1.0, film, volume_solids, thinning + more) > b.volume_for(1.0, film, volume_solids, thinning)
    assert b.extra_coats(4, thinning + more) >= b.extra_coats(4, thinning)


@given(films, solids, st.floats(0.1, 0.9))
def test_what_misses_the_piece_is_paint_bought(film, volume_solids, transfer):
    lossless = b.volume_for(1.0, film, volume_solids)
    assert b.volume_for(1.0, film, volume_solids, transfer_efficiency=transfer) == pytest.approx(lossless / transfer)


@given(st.integers(1, 12), thinnings, films, solids)
def test_the_extra_coats_make_up_for_the_thinner_and_no_coat_more(coats, thinning, film, volume_solids):
    total = coats + b.extra_coats(coats, thinning)
    thick = coats * film * volume_solids
    thin = film * volume_solids / (1.0 + thinning)
    assert total * thin >= thick * (1 - 1e-8)
    assert (total - 1) * thin < thick * (1 + 1e-8)


@pytest.mark.parametrize(
    ("coats", "thinning", "extra"), [(3, 0.0, 0), (4, 0.25, 1), (5, 0.1, 1), (3, 1.0, 3), (10, 0.1, 1), (10, 0.11, 2)]
)
def test_extra_coats_by_hand(coats, thinning, extra):
    assert b.extra_coats(coats, thinning) == extra


@every(
    "function, figures, words",
    [(b.dry_film, (0.9e-7, 0.3), "wet film"), (b.dry_film, (5.1e-3, 0.3), "wet film"), (b.dry_film, (nan, 0.3), "wet"),
     (b.dry_film, (1e-4, 0.009), "volume solids"), (b.dry_film, (1e-4, 1.01), "volume solids"),
     (b.dry_film, (1e-4, 0.3, -0.01), "thinning"), (b.dry_film, (1e-4, 0.3, 2.01), "thinning"),
     (b.wet_film_for, (0.0, 0.3), "dry film"),
     (b.extra_coats, (0, 0.1), "coats 0"),
     (b.extra_coats, (51, 0.1), "coats 51"), (b.extra_coats, (3, nan), "thinning nan"),
     (b.area_covered, (-1e-3, 1e-4, 0.3), "volume -0.001"), (b.area_covered, (1e-3, 1e-4, 0.3, 0.0, 0.04), "transfer"),
     (b.volume_for, (1.0, 1e-4, 0.3, 0.0, 1.01), "transfer"), (b.volume_for, (10_001, 1e-4, 0.3), "area")],
)  # fmt: skip
def test_figures_outside_the_range_are_refused(function, figures, words):
    with pytest.raises(OutOfRange, match=words):
        function(*figures)


def test_the_edges_are_allowed():
    for film in b.FILM_RANGE:
        assert b.dry_film(film, 1.0) == film
    for share in b.SOLIDS_RANGE:
        assert b.dry_film(1e-4, share, 0.0) == pytest.approx(1e-4 * share)
    assert b.dry_film(1e-4, 1.0, 2.0) == pytest.approx(1e-4 / 3)
