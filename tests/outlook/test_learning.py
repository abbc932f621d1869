"""The parts of the outlook by themselves: the usual day, the ridge and the band, each against a plainer computation."""

import numpy as np
import pytest

from advisor.outlook.conformal import conformal_interval
from advisor.outlook.hindcast import climatology, climatology_ahead, day_persistence_ahead, recursive_ridge

DAY = 24


def test_the_usual_is_the_mean_of_the_same_hour_of_three_weeks():
    values = np.random.default_rng(1).normal(size=(40 * DAY, 2))
    found = climatology(values)
    row = 30 * DAY + 5
    assert found[row] == pytest.approx(np.mean([values[row - DAY * days] for days in range(1, 22)], axis=0))
    assert found[DAY + 3] == pytest.approx(values[3])
    assert np.isnan(found[:DAY]).all()


def test_the_usual_ahead_uses_only_what_is_known_at_issue():
    values = np.random.default_rng(2).normal(size=(10 * DAY, 2))
    ahead, before = climatology_ahead(values, 27), day_persistence_ahead(values, 27)
    row = 8 * DAY
    for lead in (1, 24, 25, 27):
        days = range(1 if lead <= 24 else 2, 10)
        known = [values[row + lead - DAY * back] for back in days if row + lead - DAY * back >= 0]
        assert ahead[lead - 1, row] == pytest.approx(np.mean(known, axis=0))
        assert before[lead - 1, row] == pytest.approx(known[0])
        cut = climatology_ahead(values[: row + 1], 27)
        assert cut[lead - 1, row] == pytest.approx(ahead[lead - 1, row])


def test_hours_missing_by_chance_leave_the_usual_course_smooth():
    """A day that is 3 K warmer than the one before it, every day: a tenth of the hours is lost."""
    rows = np.arange(30 * DAY)
    values = np.stack([3.0 * rows / DAY, np.zeros(len(rows))], axis=1)
    holed = np.where(np.random.default_rng(4).random(len(rows))[:, np.newaxis] < 0.1, np.nan, values)
    found, whole = (climatology(each)[-2 * DAY :, 0] for each in (holed, values))
    assert np.nanmax(np.abs(found - whole)) < 1.6  # a lost hour of the day before alone moves it by 1.5 K


def test_an_hour_never_read_is_usually_as_the_week():
    values = np.full((3 * DAY, 2), 7.0)
    for hour in range(5, 10):
        values[hour::DAY] = np.nan
    assert np.isnan(climatology(values)[2 * DAY + 7]).all()
    assert climatology_ahead(values, 12) == pytest.approx(7.0)


def world(rows=400, leads=3, seed=5):
    random = np.random.default_rng(seed)
    design = random.normal(size=(leads, rows, 2))
    truth = np.array([[1.5, -0.5], [0.3, 2.0]])
    targets = design @ truth + 0.01 * random.normal(size=(leads, rows, 2))
    for lead in range(leads):
        targets[lead, rows - lead - 1 :] = np.nan
    return design, targets, truth


def test_the_ridge_finds_a_linear_law():
    design, targets, truth = world()
    forecasts = recursive_ridge(design, targets, np.zeros((3, 2, 2)), list(range(0, 400, 24)), 1.0, 1e9)
    assert forecasts[:, -1] == pytest.approx(design[:, -1] @ truth, abs=0.05)


def test_the_ridge_is_the_textbook_one_on_what_had_come_by_its_edge():
    """(X'X + p I)^-1 X'(y - X prior) + prior (Hoerl and Kennard 1970), with nothing that had not come yet."""
    design, targets, _ = world()
    prior = np.full((3, 2, 2), 0.7)
    edge, lead = 100, 2
    forecasts = recursive_ridge(design, targets, prior, [0, edge], 30.0, 1e12)
    seen, came = design[lead, : edge - lead], targets[lead, : edge - lead]
    deviation = np.linalg.solve(seen.T @ seen + 30.0 * np.eye(2), seen.T @ (came - seen @ prior[lead]))
    assert forecasts[lead, edge:] == pytest.approx(design[lead, edge:] @ (prior[lead] + deviation), abs=1e-6)


def test_before_anything_is_learned_the_prior_speaks():
    design, targets, truth = world()
    prior = np.broadcast_to(truth, (3, 2, 2))
    unknown = np.full_like(targets, np.nan)
    forecasts = recursive_ridge(design, unknown, prior, [0, 50], 1.0, 100.0)
    assert forecasts == pytest.approx(design @ truth)


def test_what_is_old_is_forgotten():
    design, targets, truth = world()
    targets[:, :200] *= -1.0
    edges = list(range(0, 400, 10))
    quick, slow = (
        recursive_ridge(design, targets, np.zeros((3, 2, 2)), edges, 1.0, half_life) for half_life in (20.0, 1e9)
    )
    best = design[:, -1] @ truth
    assert np.max(np.abs(quick[:, -1] - best)) < 0.1 * np.max(np.abs(slow[:, -1] - best))


def noise(days, size):
    random = np.random.default_rng(9)
    errors = random.normal(size=(days * DAY, 2, 1)) * size(np.arange(days * DAY))[:, np.newaxis, np.newaxis]
    return errors, list(range(0, days * DAY, DAY))


def test_the_band_of_normal_errors_is_that_of_the_table():
    """80 % of a normal law lies within 1.2816 deviations (standard normal table)."""
    errors, edges = noise(300, lambda rows: np.ones(len(rows)))
    low, high = conformal_interval(errors, np.zeros_like(errors), edges)
    assert np.mean(high[-100 * DAY :]) == pytest.approx(1.2816, rel=0.06)
    assert np.mean(low[-100 * DAY :]) == pytest.approx(-1.2816, rel=0.06)


def test_the_band_is_wider_at_the_time_of_day_at_which_errors_are_larger():
    errors, edges = noise(120, lambda rows: np.where(rows % DAY < 12, 1.0, 3.0))
    _, high = conformal_interval(errors, np.zeros_like(errors), edges)
    # issued two hours ahead of the middle of each half of the day
    calm, rough = (high[-2 * DAY + hour - 2, 1, 0] for hour in (6, 18))
    assert rough > 2.0 * calm


def test_the_band_follows_when_the_errors_grow():
    """Three times as large from day 60 on: in the fourth week after it holds again."""
    errors, edges = noise(100, lambda rows: np.where(rows < 60 * DAY, 1.0, 3.0))
    low, high = conformal_interval(errors, np.zeros_like(errors), edges)
    rows = np.arange(80 * DAY, 100 * DAY)
    held = (low[rows - 1, 0, 0] <= errors[rows, 0, 0]) & (errors[rows, 0, 0] <= high[rows - 1, 0, 0])
    assert 0.72 <= np.mean(held) <= 0.88
    before = (high - low)[60 * DAY - 1, 0, 0]
    assert (high - low)[-1, 0, 0] > 2.0 * before


def test_few_days_lean_on_how_far_the_air_has_moved():
    errors, edges = noise(60, lambda rows: 0.1 * np.ones(len(rows)))
    still, moving = (conformal_interval(errors, np.full_like(errors, moved), edges)[1] for moved in (0.1, 5.0))
    assert np.all(moving[2 * DAY] > 3.0 * still[2 * DAY])
    assert np.all(moving[-1] < 0.5 * moving[2 * DAY])
    assert np.isnan(still[: DAY - 1]).all()


def test_the_band_never_lies_wholly_to_one_side():
    errors, edges = noise(40, lambda rows: np.ones(len(rows)))
    low, high = conformal_interval(errors + 5.0, np.zeros_like(errors), edges)
    assert np.nanmax(low) <= 0.0
    assert np.nanmin(high) >= 0.0
