"""What a person does, called with values as a page or a script does: records come back, and nothing is printed."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from advisor.bench.bench import InThePot
from advisor.desk import coat, jobs, plans, pot, salt
from advisor.desk.pot import film_in
from advisor.desk.typed import past_moment, pot_from, typed_air, typed_within
from advisor.errors import UsageError, refuse
from advisor.physics.paint.cups import find_cup
from advisor.shop.shop import Shop
from tests.support import SHOP

NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    """A shop with a logbook of its own."""
    return replace(SHOP, logbook=tmp_path / "log.db", coatings=("shellac",), zone="UTC")


@pytest.fixture(autouse=True)
def _nothing_is_printed(capsys):
    yield
    assert capsys.readouterr() == ("", "")


def test_a_coat_is_kept_corrected_and_taken_back(shop):
    job = jobs.begin("lid", "shellac-lacquer", "for the box", shop, NOW)
    assert (job.id, job.piece, job.schedule, job.note) == (1, "lid", "shellac-lacquer", "for the box")
    kept = coat.keep_coat(None, {"start": "2026-03-02T08:00Z", "minutes": "10"}, False, shop, NOW)
    assert kept.coat.ended_at - kept.coat.started_at == timedelta(minutes=10)
    assert (kept.clock is not None, kept.fault, kept.before) == (True, "", None)
    needle = coat.edit("lid", 1, ["needle=1.4mm"], shop, NOW)
    assert needle.changed
    assert needle.coat is not None
    assert needle.coat.needle == pytest.approx(1.4e-3)
    lines, rows, piece = coat.undo(shop, NOW)
    assert [line.field for line in lines] == ["needle"]
    assert (rows[lines[0].of, lines[0].row]["needle"], piece) == (None, "lid")


def test_what_was_seen_is_told_of_the_job_it_was_seen_on(shop):
    jobs.begin("lid", None, "", shop, NOW)
    coat.keep_coat("lid", {"coating": "shellac", "start": "2026-03-02T08:00Z"}, True, shop, NOW)
    on, seen = jobs.saw("blush", None, shop, NOW, good=False, at=NOW, coat=1, severity=2)
    assert (on.piece, seen.defect, seen.severity, seen.good) == ("lid", "blush", 2, False)
    assert jobs.saw("lid", None, shop, NOW, good=True, at=NOW)[1].defect is None, "the one word may be the job"
    assert jobs.panel_came_out(" Good", "", shop, NOW)[1].good
    assert jobs.reworked("sanded back", None, NOW, shop, NOW)[1].what == "sanded back"
    assert jobs.finish("1", NOW, shop, NOW).finished_at == NOW
    assert jobs.clocks(None, shop, NOW) == []


def test_a_plan_is_made_seen_and_dropped(shop):
    made, verdict = plans.make_plan(NOW + timedelta(hours=5), shop.coating("shellac"), 2, 300.0, "lids", shop, NOW)
    assert verdict.cannot_tell, "an empty logbook tells nothing"
    (listed,) = plans.plans(shop, NOW)
    assert (listed.planned, listed.ends is not None, len(listed.told)) == (made, True, 1)
    assert plans.see(made.id, shop, NOW).id == made.id
    plans.drop(made.id, shop, NOW)
    with pytest.raises(UsageError, match="no open plan 1"):
        plans.see(made.id, shop, NOW)


def test_the_next_pot_goes_by_the_cup_that_was_kept(shop):
    paint = shop.coating("nitrocellulose-lacquer")
    mixed = InThePot(cup=find_cup("DIN 4"), seconds=38.0, material=19.0, batch=5e-4)
    assert pot.mix(paint, mixed, shop, None).answer.flow.readings == 0
    for reading in (mixed, replace(mixed, seconds=24.0, already=0.1)):
        pot.keep_cup(paint, reading, "blue", shop, NOW)
    found = pot.mix(paint, mixed, shop, None)
    assert (found.answer.flow.readings, found.fault) == (2, "")
    shop.logbook.write_bytes(b"no logbook at all")
    assert pot.mix(paint, mixed, shop, None).fault, "the bench answers with the logbook away, and says so"


def test_a_salt_check_is_of_a_sensor_that_the_shop_has(shop):
    with pytest.raises(UsageError, match="no sensor 'shelf'"):
        salt.salt_check("shelf", ["NaCl 73% 22C"], shop)


def test_a_film_of_solvents_of_ones_own_has_no_times(shop):
    film = film_in(21.0, 0.6, shop, "toluene:1", pot_from(None, None, None))
    assert (film.coating, film.times, film.need) == (None, None, None)
    assert film.answer.case.piece == 21.0


@pytest.mark.parametrize(("text", "stands"), [("0.9l", False), ("1l", True), ("1000l", True), ("1001l", False)])
def test_a_quantity_stands_up_to_its_limits(text, stands, shop):
    try:
        assert typed_within(text, "volume", "tank", (1e-3, 1.0), "1 l to 1000 l") > 0.0
    except UsageError as error:
        assert not stands
        assert "1 l to 1000 l" in str(error)
    else:
        assert stands


def test_air_is_typed_whole_or_not_at_all(shop):
    assert typed_air(None, None, shop, (0.0, 40.0), "both") is None
    assert typed_air("20C", "50%", shop, (0.0, 40.0), "both") == (20.0, 0.5)
    with pytest.raises(UsageError, match="without the other"):
        typed_air("20C", None, shop, (0.0, 40.0), "both")


def test_a_time_gone_by_is_up_to_the_latest():
    assert past_moment("at", "2026-03-02T09:30Z", None, NOW) == NOW
    with pytest.raises(UsageError, match="lies in the future"):
        past_moment("at", "2026-03-02T09:31Z", None, NOW)


def test_the_first_row_that_applies_is_refused():
    refuse((False, "one", "", ""), (None, "two", "", ""))
    with pytest.raises(UsageError, match="two"):
        refuse((0, "one", "", ""), (1, "two", "", ""), (1, "three", "", ""))
