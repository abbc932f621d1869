"""What docs/why.md says of the chosen figures of the spray: how far they move the onset of blush, and what decides."""

from dataclasses import replace

import pytest

from advisor.catalog.coatings import load_coating
from advisor.film.film_map import film_answer
from advisor.film.mix import mix_of
from advisor.film.wet_film import FilmCase
from tests.support import SHOP

HOT = mix_of(load_coating("nitrocellulose-lacquer"), "hot")


def onset(shop, air=24.0, mix=HOT):
    """Humidity from which it blushes [%]."""
    return 100.0 * film_answer(FilmCase(air, 0.5, air, mix), shop).blush_onset


@pytest.mark.parametrize(
    ("changed", "air", "points"),
    [
        ({"droplet_diameter": 20e-6}, 24.0, -3.7), ({"droplet_diameter": 50e-6}, 24.0, 3.4),
        ({"droplet_diameter": 20e-6}, 27.0, -4.6), ({"gun_air_share": 0.15}, 27.0, 1.2),
        ({"gun_time": 20.0}, 24.0, 3.7), ({"gun_convection": 40.0}, 21.0, -2.6),
    ],
)  # fmt: skip
def test_a_figure_of_the_spray_moves_the_onset_as_far_as_is_written(changed, air, points):
    """It was written 1 to 3 points. Every coating: benchmarks/blush_figures.py."""
    assert onset(replace(SHOP, limits=changed), air) - onset(SHOP, air) == pytest.approx(points, abs=0.25)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "thinner", "by_cap"),
    [("solvent-polyurethane-2k", "medium", True), ("solvent-polyurethane-2k", "slow", True),
     ("nitrocellulose-lacquer", "hot", False), ("acrylic-lacquer", "medium", False),
     ("precatalysed-lacquer", "medium", False)],
)  # fmt: skip
def test_the_remembered_cap_decides_for_the_two_pack_and_for_no_other(name, thinner, by_cap):
    coating = load_coating(name)
    mix, cap = mix_of(coating, thinner), coating.numbers["water_to_slow_solvent_max"].value
    found = film_answer(FilmCase(24.0, 0.75, 24.0, mix), SHOP).outcome.clear_up_to
    assert (found == pytest.approx(cap)) is by_cap
    without = onset(SHOP, mix=replace(mix, most_water=None)) - onset(SHOP, mix=mix)
    assert (without > 9.0) if by_cap else (without == pytest.approx(0.0))
