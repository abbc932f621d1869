"""The film against what sprayers find: common practice, no source, where nothing else is said.

None of these figures was used to set one of the model's: the limit is what stays dissolved, by published activities.
"""

from dataclasses import replace

import pytest

from advisor.catalog.coatings import load_coating
from advisor.film.drying import drying_times
from advisor.film.film_map import Films, film_answer
from advisor.film.mix import Mix, mix_of, mix_of_solvents, usual
from advisor.film.wet_film import FilmCase, dry_films
from tests.support import SHOP, reference_rows, typed, verdict_for

FILMS = Films(SHOP)
LACQUER = load_coating("nitrocellulose-lacquer")


def case(mix: Mix, air=24.0, humidity=0.5, **more) -> FilmCase:
    return FilmCase(air, humidity, more.pop("piece", air), mix, **more)


def onset(mix: Mix, air: float, **more) -> float:
    found = film_answer(case(mix, air, **more), SHOP).blush_onset
    assert found is not None
    return found


@pytest.mark.parametrize("air", [21.0, 24.0, 27.0])
@pytest.mark.parametrize(("thinner", "low", "high"), [("hot", 0.62, 0.72), ("medium", 0.70, 0.80)])
def test_lacquer_turns_on_wood_where_sprayers_see_it_turn(air, thinner, low, high):
    assert low <= onset(mix_of(LACQUER, thinner), air) <= high


@pytest.mark.slow
@pytest.mark.parametrize("air", [21.0, 24.0, 27.0])
@pytest.mark.parametrize("thinner", ["hot", "medium"])
def test_ten_per_cent_of_retarder_moves_the_onset_by_five_points_at_least(air, thinner):
    assert onset(mix_of(LACQUER, thinner, 0.10), air) - onset(mix_of(LACQUER, thinner), air) >= 0.05


def test_the_dew_line_hardly_moves_with_retarder():
    """So the dew line alone would not show what retarder does (design figure 1 to 2 points; here under 4)."""
    lines = [film_answer(case(mix_of(LACQUER, "medium", share)), SHOP).dew_onset for share in (0.0, 0.1)]
    assert None not in lines
    assert 0.0 < lines[1] - lines[0] < 0.04


def test_acetone_rich_film_cools_as_trade_tells():
    """5-11 K on 1 mm steel under gun air, 3-6 K on wood; acetone-rich: over half of it acetone."""
    rich = mix_of_solvents("acetone:0.6,toluene:0.2,n-butyl acetate:0.2")
    steel, wood = dry_films([case(rich, 23.0, substrate="steel"), case(rich, 23.0)], SHOP).outcomes
    assert 5.0 <= 23.0 - steel.lowest <= 11.0
    assert 3.0 <= 23.0 - wood.lowest <= 6.0


@pytest.mark.parametrize("air", [20.0, 24.0])
def test_hot_lacquer_cools_by_three_to_six_on_wood(air):
    (outcome,) = dry_films([case(mix_of(LACQUER, "hot"), air)], SHOP).outcomes
    assert 3.0 <= air - outcome.lowest <= 6.0


def test_pure_solvents_blush_in_the_published_order():
    """Older solvent-property tables, from memory, order only: see tests/reference/blush_resistance.csv."""
    rows = reference_rows("blush_resistance.csv")
    expected = sorted(rows, key=lambda row: float(row["relative_humidity_pct"]))
    onsets = [onset(mix_of_solvents(f"{row['solvent']}:1"), 26.7) for row in expected]
    assert onsets == sorted(onsets)
    assert len(set(onsets)) == len(rows)


@pytest.mark.parametrize(("air", "humidity", "state"), [(23.0, 0.60, "go"), (22.0, 0.72, "change")])
def test_shellac_on_ordinary_days(air, humidity, state):
    """Its film goes under the dew point and takes up water, which is no harm: it gives it back."""
    assert verdict_for("shellac", typed(air, humidity)).state == state
    assert verdict_for("shellac", typed(air, humidity, air)).state == state
    film = film_answer(case(mix_of(load_coating("shellac"), "medium"), air, humidity), SHOP)
    assert film.outcome.below_dew > 0


@pytest.mark.parametrize("coating_id", ["waterborne-sealer", "waterborne-colour", "waterborne-clear-1k"])
def test_damp_air_slows_a_water_borne_film_two_to_four_times(coating_id):
    assert 2.0 <= ratio(coating_id, (23.0, 0.80), (23.0, 0.50)) <= 4.0


@pytest.mark.parametrize("coating_id", ["waterborne-sealer", "waterborne-colour", "waterborne-clear-1k"])
def test_cold_air_slows_a_water_borne_film_by_half(coating_id):
    assert 1.4 <= ratio(coating_id, (15.0, 0.50), (23.0, 0.50)) <= 1.8


def ratio(coating_id, here, there, speeds=(None, None)) -> float:
    coating = load_coating(coating_id)
    times = [
        drying_times(
            coating,
            case(mix_of(coating, usual(coating)), *air, air_speed=speed, room_air_speed=speed),
            FILMS,
            SHOP,
        ).drying
        for air, speed in zip((here, there), speeds, strict=True)
    ]
    assert None not in times
    return times[0] / times[1]


def test_for_water_borne_film_air_speed_counts_most_then_humidity_then_temperature():
    """Orthogonal experiment on a one-component wood topcoat, abstract read (tests/reference/drying_facts.csv).

    The abstract gives no levels, so each is moved by what a small shop can move it with its own means: a room fan from
    still air to 1 m/s, a dehumidifier from 60 to 45 %, a heater from 18 to 23 °C at one humidity.
    """
    middle = (22.0, 0.50)
    speed = ratio("waterborne-clear-1k", middle, middle, (0.1, 1.0))
    humidity = ratio("waterborne-clear-1k", (22.0, 0.60), (22.0, 0.45))
    temperature = ratio("waterborne-clear-1k", (18.0, 0.50), (23.0, 0.50))
    assert speed > humidity > temperature > 1.0


def test_lacquer_dries_by_temperature_and_air_and_hardly_by_humidity():
    mix = mix_of(LACQUER, "medium")
    times = {
        name: drying_times(LACQUER, each, FILMS, SHOP).drying or 0.0
        for name, each in {
            "here": case(mix), "damp": case(mix, humidity=0.60), "cold": case(mix, 18.0),
            "still": case(mix, air_speed=0.05, room_air_speed=0.05),
        }.items()
    }  # fmt: skip
    assert abs(times["damp"] / times["here"] - 1.0) < 0.03
    assert times["cold"] / times["here"] > 1.2
    assert times["still"] / times["here"] > 1.1


def test_a_compressor_is_kinder_than_a_turbine_in_damp_air():
    """Its air is dry; the turbine's carries the shop's moisture."""
    mix = mix_of(LACQUER, "hot")
    assert onset(mix, 24.0, gun="compressor") > onset(mix, 24.0, gun="turbine")


def test_a_cold_tin_makes_a_colder_film():
    mix = mix_of(LACQUER, "medium")
    cold, warm = dry_films([replace(case(mix), liquid=10.0), case(mix)], SHOP).outcomes
    assert cold.lowest < warm.lowest
