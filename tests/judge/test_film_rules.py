"""The rules on the film at, just under and just over each limit, and that they only ever tighten."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.catalog.coatings import coating_ids, load_coating
from advisor.judge.film_rules import FILM_AIR, FILM_RULES, FilmView, Pot, blush, closing, film_forming, film_view
from advisor.judge.finding import Level
from advisor.judge.rules import RULES
from tests.support import NOON, SHOP, every, examples, judge, typed, verdict_for

LACQUER, CLEAR = load_coating("nitrocellulose-lacquer"), load_coating("waterborne-clear-1k")
SPREAD = SHOP.limit("blend_spread").value
GOOD, GOOD_WATER = typed(22.0, 0.48, 22.0), typed(22.0, 0.48, 22.0)


MEDIUM = Pot("medium")


def view(coating, known=GOOD, pot=MEDIUM, **changed) -> FilmView:
    """A film's view with some of its figures set by hand."""
    seen = film_view(known, coating, SHOP, replace(pot, thinner=None) if coating is CLEAR else pot)
    assert seen is not None
    pace, guessed = changed.pop("pace", seen.pace), changed.pop("guessed", False)
    onset, humidity = changed.pop("onset", seen.blush.blush_onset), changed.pop("humidity", None)
    case = seen.blush.case if humidity is None else replace(seen.blush.case, relative_humidity=humidity)
    answer = replace(seen.blush, case=case, blush_onset=onset, outcome=replace(seen.blush.outcome, **changed))
    return replace(seen, blush=answer, pace=pace, guessed=guessed)


@pytest.mark.parametrize(
    ("below_onset", "level"),
    [(SPREAD + 1e-6, Level.OK), (SPREAD - 1e-6, Level.CHANGE), (1e-6, Level.CHANGE), (-1e-6, Level.CHANGE)],
)
def test_blush_within_the_spread_of_thinners_asks_for_a_panel(below_onset, level):
    """Just over the onset it is still a change, because slow thinner and retarder keep this film clear."""
    film = view(LACQUER, onset=0.48 + below_onset)
    assert blush(film, GOOD, LACQUER, SHOP).level is level


def test_blush_that_nothing_in_the_pot_can_mend_is_a_wait():
    known = typed(24.0, 0.96, 24.0)
    assert blush(view(LACQUER, known), known, LACQUER, SHOP).level is Level.STOP
    two_pack = load_coating("solvent-polyurethane-2k")
    damp = typed(24.0, 0.90, 24.0)
    assert blush(view(two_pack, damp), damp, two_pack, SHOP).level is Level.STOP


def test_a_guessed_piece_never_makes_a_wait_of_a_film():
    known = typed(24.0, 0.96, 24.0)
    assert blush(view(LACQUER, known, guessed=True), known, LACQUER, SHOP).level is Level.CHANGE
    cold = view(CLEAR, GOOD_WATER, at_packing=5.0, guessed=True)
    assert film_forming(cold, GOOD_WATER, CLEAR, SHOP).level is Level.CHANGE


@pytest.mark.parametrize(("over_dew", "level"), [(0.01, Level.OK), (0.0, Level.OK), (-0.01, Level.CHANGE)])
def test_a_lacquer_film_under_the_dew_point_asks_for_a_panel_and_shellac_does_not(over_dew, level):
    film = view(LACQUER, lowest=10.0 + over_dew, dew_point=10.0)
    assert blush(film, GOOD, LACQUER, SHOP).level is level
    shellac = load_coating("shellac")
    assert blush(view(shellac, lowest=10.0 + over_dew, dew_point=10.0), GOOD, shellac, SHOP).level is Level.OK


@pytest.mark.parametrize(
    ("over_mfft", "level"),
    [(3.0, Level.OK), (2.999, Level.CHANGE), (1.0, Level.CHANGE), (0.999, Level.STOP), (-2.0, Level.STOP)],
)
def test_a_water_borne_film_against_its_mfft(over_mfft, level):
    mfft = CLEAR.numbers["minimum_film_forming_temperature"].value
    film = view(CLEAR, GOOD_WATER, at_packing=mfft + over_mfft)
    assert film_forming(film, GOOD_WATER, CLEAR, SHOP).level is level


@pytest.mark.parametrize(
    ("pace", "level"),
    [
        (0.4, Level.OK), (0.399, Level.CHANGE), (1.0, Level.OK), (2.5, Level.OK), (2.501, Level.CHANGE),
        (float("nan"), Level.CHANGE), (None, Level.CHANGE),
    ],
)  # fmt: skip
def test_a_film_that_closes_too_fast_or_too_slowly_asks_for_a_change(pace, level):
    finding = closing(view(LACQUER, pace=pace), GOOD, LACQUER, SHOP)
    assert finding.level is level
    assert not finding.deciding


@every("coating_id", coating_ids())
@every("rule", FILM_RULES)
def test_without_a_film_nothing_is_ok_where_it_decides(rule, coating_id):
    """Air in which nobody sprays has no film: an unknown, and a WAIT where the rule decides."""
    coating = load_coating(coating_id)
    finding = rule(None, GOOD, coating, SHOP)
    if finding.deciding:
        assert finding.level is Level.UNKNOWN
    unknown_air = rule(None, typed(), coating, SHOP)
    assert unknown_air.level in (Level.UNKNOWN, Level.OK)
    assert not (unknown_air.level is Level.UNKNOWN and unknown_air.deciding)


@given(
    st.sampled_from(coating_ids()),
    st.floats(-30.0, 60.0),
    st.floats(0.02, 1.0),
    st.one_of(st.none(), st.floats(-30.0, 60.0)),
)
@settings(max_examples=examples(60))
def test_the_film_tightens_a_verdict_and_never_loosens_it(coating_id, air, humidity, piece):
    """And no air whatever breaks the judge."""
    known = typed(air, humidity, piece)
    coating = load_coating(coating_id)
    levels = {rule(known, coating, SHOP).level for rule in RULES}
    verdict = verdict_for(coating_id, known)
    if Level.STOP in levels:
        assert verdict.state == "wait"
    elif Level.CHANGE in levels:
        assert verdict.state in ("change", "wait")
    if not FILM_AIR[0] <= air <= FILM_AIR[1]:
        assert verdict.film is None


def test_the_thinner_named_counts_and_an_unknown_one_is_the_fastest():
    known = typed(24.0, 0.66, 24.0)
    now = datetime(2025, 10, 14, 12, 0, tzinfo=UTC)
    onsets = {}
    for thinner in (None, "hot", "medium", "slow"):
        film = judge(known, LACQUER, SHOP, now, Pot(thinner)).film
        assert film is not None
        onsets[thinner] = film.blush.blush_onset
        assert film.thinner_unknown == (thinner is None)
    assert onsets[None] == onsets["hot"] < onsets["medium"] < onsets["slow"]


def test_check_and_daemon_judge_the_film_alike():
    """A pure function: the same film twice, in whatever order others were judged before."""
    first = verdict_for("nitrocellulose-lacquer", typed(23.4, 0.57, 22.1))
    for air in (19.0, 25.3, 23.4):
        verdict_for("nitrocellulose-lacquer", typed(air, 0.61, air - 0.7))
    again = verdict_for("nitrocellulose-lacquer", typed(23.4, 0.57, 22.1))
    assert first == again
    assert first.as_of == NOON
