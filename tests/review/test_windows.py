"""What came after a defect was seen did not make it, and hours still to come are no silent sensor."""

from datetime import timedelta
from math import inf

import numpy as np
import pytest

from advisor.review.causes import Outcome, Standing
from advisor.review.coat import Sighting, sighting
from advisor.review.page.words import OFF_FIRST, told
from advisor.review.reviewed import review
from advisor.review.ways import HOUR
from advisor.review.windows import windows_of
from advisor.series.air_track import AirTrack
from advisor.series.trace import Trace
from tests.review.test_doubts import START, coat, noisy
from tests.support import SHOP

PRECAT = SHOP.coating("precatalysed-lacquer")
SPRAYED = (START + timedelta(hours=12)).timestamp()


def read(hours_after: float, night: float = 20.0, coating=PRECAT, defect="soft", **said):
    """A coat sprayed at noon, the log so many hours longer, the air then as cold as `night` [°C]."""
    minutes = int((12 + hours_after) * 60)
    times = START.timestamp() + np.arange(minutes) * 60.0
    air = np.where(np.arange(minutes) < 18 * 60, 21.0, night) + noisy(0.0, 0.1, 1, minutes)
    damp = noisy(0.5, 0.005, 3, minutes, seed=2)
    traces = {"air_temperature": Trace(times, air, 0.5), "relative_humidity": Trace(times, damp, 0.03)}
    track = AirTrack("shop", traces, until=SPRAYED + hours_after * 3600.0)
    return review(coat(**said), coating, track, SHOP, defect, with_ways=True)


def test_windows_end_with_the_present_and_with_the_sighting():
    whole = windows_of(coat(), PRECAT, None, SHOP)
    seen = windows_of(coat(seen=Sighting(120.0, "minutes")), PRECAT, None, SHOP)
    now = windows_of(coat(), PRECAT, None, SHOP, SPRAYED + 3600.0)
    assert whole.later.end - whole.later.start > 17 * 3600.0
    assert seen.cure.end == seen.spray.end + 120.0
    assert now.cure.end == SPRAYED + 3600.0
    assert windows_of(coat(), PRECAT, None, SHOP, inf) == whole
    assert windows_of(coat(), PRECAT, None, SHOP, SPRAYED - 60.0).later.end == whole.spray.end


def test_hours_still_to_come_are_no_silent_sensor():
    found = read(2.0)
    assert found.causes.outcome is Outcome.NOT_THE_AIR
    assert "not read all the time" not in " ".join(told(found, SHOP))


def test_what_came_after_it_was_seen_did_not_make_it():
    late = read(22.0, night=12.0)
    assert late.causes.supported[0].mechanism.id == "cold-cure"
    soon = read(22.0, night=12.0, seen=sighting("2h"))
    assert soon.causes.outcome is Outcome.NOT_THE_AIR


def test_no_hour_is_offered_before_the_piece_was_there():
    lacquer = SHOP.coating("nitrocellulose-lacquer")
    minutes = 40 * 60
    times = START.timestamp() + np.arange(minutes) * 60.0
    damp = np.where((np.arange(minutes) > 660) & (np.arange(minutes) < 840), 0.88, 0.45) + noisy(0.0, 0.004, 3, minutes)
    air = noisy(21.0, 0.1, 1, minutes)
    traces = {"air_temperature": Trace(times, air, 0.5), "relative_humidity": Trace(times, damp, 0.03)}
    track = AirTrack("shop", traces)

    def hours(**said):
        ways = review(coat(**said), lacquer, track, SHOP, "blush").ways
        return [each.coat.sprayed.timestamp() for each in ways if each.kind == HOUR]

    assert min(hours()) < SPRAYED
    came = START + timedelta(hours=11)
    assert min(hours(in_room_since=came)) > SPRAYED


@pytest.mark.parametrize(("wet_film", "standing"), [(112e-6, Standing.AGAINST), (124e-6, Standing.CANNOT_TELL)])
def test_a_comb_in_the_middle_of_its_range_is_near_neither_end(wet_film, standing):
    """100 to 125 µm, the comb good to 15 %: inside one standard uncertainty of both ends everywhere."""
    for defect, mechanism in (("runs", "heavy-film"), ("dry-spray", "thin-film")):
        causes = read(20.0, defect=defect, wet_film=wet_film).causes.judged
        found = next(each for each in causes if each.mechanism.id == mechanism)
        near = standing if mechanism == "heavy-film" else Standing.AGAINST
        assert found.standing is near


def test_the_coat_beside_it_is_no_proof_of_fit_air_where_air_was_past_a_limit():
    found = review(
        coat(), PRECAT,
        AirTrack("shop", {
            "air_temperature": Trace(SPRAYED - 43_200.0 + np.arange(2160) * 60.0, noisy(21.0, 0.1, 1, 2160), 0.5),
            "relative_humidity": Trace(SPRAYED - 43_200.0 + np.arange(2160) * 60.0, noisy(0.8, 0.005, 3, 2160), 0.03),
        }),
        SHOP, "blush", sibling=START + timedelta(hours=15),
    )  # fmt: skip
    assert "fit for both" not in " ".join(told(found, SHOP))


def test_the_heater_is_spoken_of_where_vapour_burns_and_heat_is_meant():
    cold = read(22.0, night=5.0, coating=SHOP.coating("waterborne-clear-1k"), defect="soft")
    assert any(each.mechanism.kind == "air" for each in cold.causes.supported)
    assert OFF_FIRST not in told(cold, SHOP)
    assert OFF_FIRST in told(read(22.0, night=12.0), SHOP)
