"""Jobs through the whole daemon: a simulated afternoon gives exactly these notices, killed or not."""

from datetime import timedelta

import pytest

from advisor.jobs.job import Spraying
from advisor.logbook import outbox
from advisor.logbook.job_log import COAT, JOB, JobLog
from advisor.logbook.store import transaction
from advisor.shop.shop import Notices, Shop
from advisor.sources import job_clocks
from advisor.times import milliseconds
from advisor.watch import job_watch
from tests.outlook.columns import room_of
from tests.support import NOON
from tests.watch.drills.shift import Shift

HOUR, MINUTE = timedelta(hours=1), timedelta(minutes=1)
SEALER, CLEAR = "waterborne-sealer", "waterborne-clear-2k"
KILLS = ((2, 64, 65, 66), (115, 116, 117, 130, 131, 132, 344, 345, 346), tuple(range(5, 380, 7)))


class Bench(Shift):
    """A shift with jobs: what is typed at the bench is typed now."""

    def __init__(self, folder, shop: Shop | None = None) -> None:
        super().__init__(folder, shop)
        self.log = JobLog(self.connection)

    @property
    def now(self):
        """The moment on its clock."""
        return self.clock.now().wall

    def job(self, piece="lid", schedule=None) -> int:
        """A new job."""
        with transaction(self.connection):
            return self.log.make_job(piece, schedule, "", self.now)

    def coat(self, job, coating=SEALER, **more) -> int:
        """A coat that ends now."""
        said = {"started_at": self.now - 5 * MINUTE, "ended_at": self.now, **more}
        with transaction(self.connection):
            return self.log.keep_coat(job, Spraying(coating=coating, **said), self.now)

    def undo(self) -> None:
        """Take back what was typed last."""
        with transaction(self.connection):
            self.log.undo(self.now)

    def pending(self, urgent_only=False) -> list[str]:
        """The kinds that still wait to be sent."""
        rows = outbox.waiting(self.connection, milliseconds(self.now), urgent_only)
        return [row.notice.kind.removeprefix("job-") for row in rows]

    def texts(self) -> list[str]:
        """What was said so far."""
        return [text for (text,) in self.connection.execute("SELECT text FROM notice ORDER BY id")]


@pytest.fixture
def bench(tmp_path):
    return Bench(tmp_path)


def afternoon(bench: Bench, killed_at: tuple[int, ...] = ()) -> list[str]:
    """A sealer coat at noon, a two-pack pot mixed at 12:05 on another piece; the room at 22 °C."""
    lid = bench.job()
    for minute in range(1, 380):
        if minute in killed_at:
            bench.restart()
        if minute == 1:
            bench.coat(lid)
        if minute == 10:
            bench.coat(bench.job("box"), CLEAR, mixed_at=NOON + 5 * MINUTE)
        bench.minute(48)
    return [line.replace("  ", " ").strip() for line in bench.told()]


EXPECTED = [
    "1 mask !",
    "10 mask !",
    "65 next-coat",
    "65 handle",
    "116 clean-gun !",  # two hours at 23 °C are a little more at 22
    "130 sand",
    "131 pot-dead !",
    "268 next-coat",
    "345 scuff_sand",
]


@pytest.mark.slow
def test_an_afternoon_gives_exactly_these_notices(bench):
    assert afternoon(bench) == EXPECTED
    texts = bench.texts()
    assert texts[0].startswith("lid (job 1): fan on to 13:5")
    assert texts[2].startswith("Next coat of Water-borne sealer on lid (job 1): try it from now until 18:00.")
    assert texts[4] == "box (job 2), Water-borne clear, two-pack: clean the gun. The pot dies at 14:10."
    assert [row[0] for row in bench.connection.execute("SELECT DISTINCT coating FROM notice")] == ["job 1", "job 2"]


@pytest.mark.slow
@pytest.mark.parametrize("killed_at", KILLS)
def test_killed_and_restarted_in_between_it_gives_the_same(bench, killed_at):
    assert afternoon(bench, killed_at) == EXPECTED


def test_what_came_up_while_nobody_watched_is_told_after_the_start(bench):
    bench.coat(bench.job())
    bench.minutes(48, 3)
    bench.clock.advance(100 * MINUTE)
    bench.restart()
    bench.minutes(48, 10)
    assert [line.split()[1] for line in bench.told()][:3] == ["mask", "next-coat", "handle"]


def test_an_undone_coat_takes_back_what_still_waits(bench):
    lid = bench.job()
    bench.coat(lid)
    bench.minutes(48, 70)
    assert bench.pending() == ["mask", "next-coat", "handle"]
    bench.undo()
    bench.minute(48)
    assert bench.pending() == []
    bench.minutes(48, 100)
    assert [line.split()[1] for line in bench.told()] == ["mask", "next-coat", "handle"], "and nothing more of it comes"


def test_an_undone_second_coat_leaves_what_waits_of_the_first(bench):
    lid = bench.job()
    bench.coat(lid)
    bench.minutes(48, 66)
    bench.coat(bench.job("box"))
    bench.minute(48)
    bench.undo()
    bench.minute(48)
    assert bench.pending() == ["mask", "next-coat", "handle"]


def test_a_second_coat_takes_back_what_still_waits_of_the_first(bench):
    lid = bench.job()
    bench.coat(lid)
    bench.minutes(48, 70)
    bench.coat(lid)
    bench.minute(48)
    assert bench.pending() == ["mask"], "the mask of the second coat"


def test_a_corrected_coat_is_told_anew(bench):
    lid = bench.job()
    coat = bench.coat(lid)
    bench.minutes(48, 70)
    with transaction(bench.connection):
        at = {"ended_at": bench.now - 10 * MINUTE, "started_at": bench.now - 15 * MINUTE}
        bench.log.change(COAT, coat, at, bench.now)
    bench.minute(48)
    assert bench.pending() == ["mask"]
    bench.minutes(48, 60)
    assert [line.split()[1] for line in bench.told()][3:] == ["mask", "next-coat", "handle"]


def test_a_job_that_is_done_is_told_no_more_but_for_its_pot(bench):
    lid = bench.job()
    bench.coat(lid, CLEAR, mixed_at=bench.now)
    bench.minutes(48, 3)
    with transaction(bench.connection):
        bench.log.change(JOB, lid, {"finished_at": bench.now}, bench.now)
    bench.minutes(48, 500)
    assert [line.split()[1] for line in bench.told()] == ["mask", "clean-gun", "pot-dead"]


def test_quiet_hours_hold_back_what_can_wait_but_not_the_gun(tmp_path):
    bench = Bench(tmp_path, Shop(notices=Notices(("screen",), 12 * 60, 16 * 60)))
    bench.coat(bench.job(), CLEAR, mixed_at=bench.now)
    bench.coat(bench.job("box"), SEALER)
    bench.minutes(48, 120)
    assert sorted(bench.pending(urgent_only=True)) == ["clean-gun", "mask", "mask"]
    assert "next-coat" in bench.pending()


def test_a_word_and_its_memory_are_kept_together_or_not_at_all(bench, monkeypatch):
    bench.coat(bench.job())
    monkeypatch.setattr(job_watch, "keep_told", lambda *_: (_ for _ in ()).throw(OSError("disk is full")))
    bench.minute(48)
    assert bench.told() == []
    monkeypatch.undo()
    bench.minute(48)
    assert [line.split()[:2] for line in bench.told()] == [["2", "mask"]]


def test_the_room_is_read_every_ten_minutes_and_a_job_far_from_anything_is_left_alone(bench, monkeypatch):
    reads, reckoned = [], []
    read, reckon = job_watch.room_of, job_watch.job_clock
    monkeypatch.setattr(job_watch, "room_of", lambda *given: reads.append(1) or read(*given))
    monkeypatch.setattr(job_watch, "job_clock", lambda *given: reckoned.append(1) or reckon(*given))
    lid = bench.job()
    bench.coat(lid)
    bench.minutes(48, 40)
    assert (len(reads), len(reckoned)) == (4, 37), "once at the start, then every ten minutes; soon due, each minute"
    bench.minutes(48, 140)
    reads.clear()
    reckoned.clear()
    bench.minutes(48, 60)
    assert (len(reads), len(reckoned)) == (6, 6), "the window closes in hours"
    assert job_clocks.room_of is read


def test_a_job_left_open_for_months_is_not_read_again_and_again(bench, monkeypatch):
    bench.minute(48)
    bench.coat(bench.job(), "shellac", started_at=NOON - 90 * 24 * HOUR, ended_at=NOON - 90 * 24 * HOUR)
    reads, read = [], job_watch.room_of
    record = [NOON.timestamp() - 3600.0 * hours for hours in range(91 * 24, -24, -1)]
    warm = room_of(record, [22.0] * len(record))
    monkeypatch.setattr(job_watch, "room_of", lambda *given: reads.append(read(*given)) or warm)
    bench.minutes(48, 60)
    assert len(reads) == 1
    assert bench.told() == []


def test_a_job_of_a_sheet_that_is_gone_costs_nobody_else_a_word(bench):
    bench.coat(bench.job("box"), "no-such-sheet")
    bench.coat(bench.job())
    bench.minute(48)
    assert [row[0] for row in bench.connection.execute("SELECT coating FROM notice")] == ["job 2"]


def test_a_job_without_a_coat_has_nothing_to_tell(bench):
    bench.job()
    bench.minutes(48, 5)
    assert bench.told() == []


@pytest.mark.parametrize(("good", "state"), [(True, "go"), (False, "wait")])
def test_a_panel_of_the_day_counts_for_the_daemon(tmp_path, good, state):
    """Damp air asks for a panel first; the panel was sprayed in the same air."""
    bench = Bench(tmp_path)
    bench.daemon.coatings = ("nitrocellulose-lacquer",)
    bench.minutes(65, 5)
    lid = bench.job()
    coat = bench.coat(lid, "nitrocellulose-lacquer", panel=True, started_at=bench.now)
    bench.minute(65)
    assert bench.daemon.last.verdicts[0].state.value == "change"
    with transaction(bench.connection):
        bench.log.keep_observation(lid, bench.now, bench.now, coat=coat, good=good)
    bench.minute(65)
    assert bench.daemon.last.verdicts[0].state.value == state
    bench.undo()
    bench.minute(65)
    assert bench.daemon.last.verdicts[0].state.value == "change"
