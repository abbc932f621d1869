"""What is announced: worse at once, better only with patience and distance, and no flapping in a noisy week."""

from dataclasses import replace
from datetime import timedelta
from functools import partial
from itertools import pairwise

import numpy as np
import pytest

from advisor.judge.verdict import State
from advisor.notices.announced import NOT_TOLD, Announced, announce, is_due, settled_state, starting
from tests.support import NOON, SHOP, judge, typed, verdict_for

LACQUER = "nitrocellulose-lacquer"
MINUTE = 60_000
DWELL, AGAIN = timedelta(minutes=15), timedelta(hours=2)


def follow(humidities, start: Announced | None = None) -> list[Announced]:
    """Announced states, one minute each."""
    one = start or Announced(LACQUER, State.GO, False, "", 0, told_state="go")
    states = []
    coating = SHOP.coating(LACQUER)
    for minute, humidity in enumerate(humidities):
        known = typed(22.0, humidity, 21.5)
        verdict = judge(known, coating, SHOP, NOON)
        settled = partial(settled_state, known, SHOP, verdict)
        one = announce(one, verdict, settled, minute * MINUTE, DWELL)
        states.append(one)
    return states


def test_worse_is_announced_at_once():
    states = follow([0.55, 0.61, 0.76])
    assert [one.state for one in states] == [State.GO, State.CHANGE, State.WAIT]
    assert states[-1].reason == "relative_humidity"


def test_better_waits_until_it_has_held():
    states = [one.state for one in follow([0.76] + [0.5] * 20)]
    assert states[15] is State.WAIT
    assert states[16] is State.GO


@pytest.mark.parametrize(("humidity", "state"), [(0.571, State.CHANGE), (0.569, State.GO)])
def test_better_needs_three_percent_inside_the_limit(humidity, state):
    assert follow([0.61] + [humidity] * 30)[-1].state is state


def test_one_bad_minute_starts_the_wait_anew():
    states = [one.state for one in follow([0.76] + [0.5] * 10 + [0.76] + [0.5] * 14)]
    assert State.GO not in states


def test_the_worst_of_the_wait_is_what_is_announced():
    """Ten minutes of CHANGE and five of GO are no quarter of an hour of GO."""
    states = [one.state for one in follow([0.8] + [0.65] * 10 + [0.5] * 6)]
    assert states[-1] is State.CHANGE


@pytest.mark.slow
@pytest.mark.parametrize("seed", [1, *(pytest.param(seed, marks=pytest.mark.full) for seed in (2, 3))])
def test_a_noisy_week_about_the_limit_changes_at_most_twenty_times(seed):
    """Humidity swinging about an 80 % limit once a day, with the noise of a sensor in a draught (AR(1))."""
    rng = np.random.default_rng(seed)
    noise, values = 0.0, []
    for minute in range(7 * 1440):
        noise = 0.9 * noise + rng.normal(0, 0.006)
        values.append(0.80 + 0.08 * np.sin(2 * np.pi * minute / 1440) + noise)
    waits = []
    one = Announced("waterborne-colour", State.WAIT, False, "", 0, told_state="wait")
    coating = SHOP.coating("waterborne-colour")
    raw = []
    for minute, humidity in enumerate(values):
        known = typed(22.0, float(min(humidity, 1.0)), 21.8)
        verdict = judge(known, coating, SHOP, NOON)
        settled = partial(settled_state, known, SHOP, verdict)
        one = announce(one, verdict, settled, minute * MINUTE, DWELL)
        waits.append(one.state is State.WAIT)
        raw.append(verdict.state is State.WAIT)
    changes = sum(a != b for a, b in pairwise(waits))
    assert 7 <= changes <= 20
    assert sum(a != b for a, b in pairwise(raw)) > 100, "without memory it would flap"


def told(state: str, cannot_tell: bool = False) -> Announced:
    return Announced(LACQUER, State.GO, False, "", 0, told_state=state, told_cannot_tell=cannot_tell)


@pytest.mark.parametrize(
    ("one", "told_same_at", "due"),
    [
        (replace(told("go"), state=State.WAIT, reason="x"), None, True),
        (replace(told("go"), state=State.WAIT, reason="x"), 0, True),
        (replace(told("go"), state=State.CHANGE, reason="x"), 0, True),
        (told("go"), None, False),
        (told("wait"), None, True),
        (told("wait"), 10 * MINUTE, False),
        (told("wait"), -60 * MINUTE, True),
        (told("wait"), 30 * 24 * 60 * MINUTE, True),
        (replace(told("wait"), state=State.WAIT, cannot_tell=True, reason="stale"), None, True),
        (replace(told("wait", True), state=State.WAIT, cannot_tell=True, reason="stale"), None, False),
    ],
)
def test_when_the_person_is_told(one, told_same_at, due):
    """Worse and `cannot tell` at once, even when told before; better not twice for one reason within two hours."""
    assert is_due(one, told_same_at, 60 * MINUTE, DWELL, AGAIN) is due


def test_the_first_word_is_no_guess():
    first = starting(LACQUER, 0)
    assert first.told_state == NOT_TOLD
    assert not is_due(first, None, 14 * MINUTE, DWELL, AGAIN)
    assert is_due(first, None, 15 * MINUTE, DWELL, AGAIN)
    states = follow([0.59] * 20, starting(LACQUER, 0))
    assert states[14].state is State.WAIT
    assert states[15].state is State.GO, "nothing was announced: there is no limit to keep a distance from"


def test_unknown_air_withdraws_a_go_at_once():
    one = Announced(LACQUER, State.GO, False, "", 0, told_state="go")
    verdict = verdict_for(LACQUER, typed(22.0))
    after = announce(one, verdict, lambda: State.WAIT, MINUTE, DWELL)
    assert (after.state, after.cannot_tell, after.reason) == (State.WAIT, True, "missing")
