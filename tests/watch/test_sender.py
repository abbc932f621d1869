"""The outbox worked through: each notice once, later when it failed, never a worse one late or by night."""

from datetime import timedelta
from itertools import pairwise

import pytest

from advisor.logbook import outbox
from advisor.logbook.store import open_for_writing, transaction
from advisor.notices.announced import Notice
from advisor.shop.shop import Notices, Shop
from advisor.times import milliseconds
from advisor.watch.clock import SimulatedClock
from advisor.watch.sender import Sender
from tests.support import NOON

HOUR = 3_600_000
START = milliseconds(NOON)


def notice(at=START, state="wait", urgent=True, lasts=24 * HOUR, coating="shellac") -> Notice:
    return Notice(at, state, coating, state, "relative_humidity", f"{state.upper()}: {coating}", urgent, at + lasts)


class Script:
    """A notifier that does as it is told and remembers."""

    def __init__(self, *answers: str) -> None:
        self.answers = list(answers)
        self.sent: list[tuple[str, str]] = []

    def send(self, row, text: str) -> str:
        """The next answer; sent once there is none."""
        answer = self.answers.pop(0) if self.answers else ""
        if not answer:
            self.sent.append((row.destination, text))
        return answer


@pytest.fixture
def desk(tmp_path):
    """A logbook, a clock, and a sender over both."""
    connection = open_for_writing(tmp_path / "log.db", NOON)
    clock = SimulatedClock(NOON)

    def write(job):
        with transaction(connection):
            return job(connection)

    def make(notifier, shop=Shop()):  # noqa: B008 - a shop of defaults, never changed
        return Sender(shop, notifier.send, clock, connection, write)

    return connection, clock, make


def counts(connection):
    """Outbox rows by status."""
    return dict(connection.execute("SELECT status, COUNT(*) FROM outbox GROUP BY status"))


def put(connection, one, destinations=("a",)):
    with transaction(connection):
        return outbox.put(connection, one, destinations, one.at)


def test_each_destination_gets_its_own_copy_once(desk):
    connection, _, make = desk
    put(connection, notice(), ("a", "b"))
    script = Script()
    sender = make(script)
    assert sender.round() == 2
    assert sender.round() == 0
    assert [destination for destination, _ in script.sent] == ["a", "b"]
    assert script.sent[0][1] == "12:00 WAIT: shellac (notice 1)"


def test_one_that_fails_does_not_hold_up_the_other_and_is_tried_again_later(desk):
    connection, clock, make = desk
    put(connection, notice(), ("a", "b"))
    script = Script("not delivered")
    sender = make(script)
    sender.round()
    assert [destination for destination, _ in script.sent] == ["b"]
    sender.round()
    assert len(script.sent) == 1, "not at once"
    clock.advance(timedelta(seconds=40))
    sender.round()
    assert [destination for destination, _ in script.sent] == ["b", "a"]


def test_the_time_between_tries_doubles_up_to_an_hour_and_ends_after_two_days(desk):
    connection, clock, make = desk
    put(connection, notice(lasts=100 * HOUR))
    sender = make(Script(*["not delivered"] * 200))
    tries = []
    for _ in range(51 * 60 * 4):
        before = connection.execute("SELECT tries FROM outbox").fetchone()[0]
        sender.round()
        if connection.execute("SELECT tries FROM outbox").fetchone()[0] > before:
            tries.append(clock.now().wall)
        clock.advance(timedelta(seconds=15))
    gaps = [(b - a).total_seconds() for a, b in pairwise(tries)]
    assert 30 <= gaps[0] <= 60
    assert all(b >= 0.8 * a for a, b in pairwise(gaps))
    assert 3600 <= max(gaps) <= 1.25 * 3600
    assert counts(connection) == {"dead": 1}


def test_a_logbook_that_cannot_note_it_makes_no_hammer_of_a_notice(desk):
    """It went out, only the note of it failed: the note is tried again, the notice is not."""
    connection, _, make = desk
    put(connection, notice())
    script = Script()
    sender = make(script)
    whole, sender.write = sender.write, lambda job: (_ for _ in ()).throw(OSError("disk is full"))
    for _ in range(5):
        with pytest.raises(OSError, match="disk"):
            sender.round()
    assert len(script.sent) == 1
    sender.write = whole
    sender.round()
    assert counts(connection) == {"sent": 1}
    assert len(script.sent) == 1


def test_what_was_replaced_while_another_was_being_sent_is_not_sent_any_more(desk):
    connection, _, make = desk
    put(connection, notice(coating="a"))
    put(connection, notice(coating="b"))
    script = Script()

    def send(row, text):
        with transaction(connection):
            outbox.supersede(connection, "b")
        return Script.send(script, row, text)

    sender = make(script)
    sender.send = send
    sender.round()
    assert [text for _, text in script.sent] == ["12:00 WAIT: a (notice 1)"]


def test_urgent_ones_go_first_past_any_number_of_held_ones(desk):
    connection, _, make = desk
    for number in range(80):
        put(connection, notice(state="go", urgent=False, coating=f"c{number}"))
    put(connection, notice())
    script = Script()
    make(script, Shop(notices=Notices(("a",), 11 * 60, 14 * 60))).round()
    assert [text for _, text in script.sent] == ["12:00 WAIT: shellac (notice 81)"]


def test_a_turn_set_by_a_clock_that_was_wrong_comes_all_the_same(desk):
    connection, _, make = desk
    put(connection, notice())
    connection.execute("UPDATE outbox SET next_try_at = next_try_at + ?", (30 * 24 * HOUR,))
    script = Script()
    make(script).round()
    assert len(script.sent) == 1


def test_an_old_go_is_not_sent_and_that_is_kept(desk):
    connection, clock, make = desk
    put(connection, notice(state="go", urgent=False, lasts=HOUR // 2))
    clock.advance(timedelta(minutes=31))
    script = Script()
    make(script).round()
    assert script.sent == []
    assert counts(connection) == {"expired": 1}


def test_quiet_hours_hold_good_news_and_never_bad(desk):
    connection, clock, make = desk
    shop = Shop(notices=Notices({"a": "json://a"}, 11 * 60, 14 * 60))
    put(connection, notice(state="go", urgent=False))
    put(connection, notice())
    script = Script()
    sender = make(script, shop)
    sender.round()
    assert [text for _, text in script.sent] == ["12:00 WAIT: shellac (notice 2)"]
    clock.advance(timedelta(hours=2))
    sender.round()
    assert len(script.sent) == 2


def test_while_the_daemon_cannot_tell_only_worse_news_goes_out(desk):
    connection, _, make = desk
    script, blind = Script(), [True]
    sender = make(script)
    sender.blind = lambda: blind[0]
    put(connection, notice(state="go", urgent=False))
    put(connection, notice(state="wait", coating="other"))
    sender.round()
    assert [text.split()[1] for _, text in script.sent] == ["WAIT:"]
    blind[0] = False
    sender.round()
    assert [text.split()[1] for _, text in script.sent] == ["WAIT:", "GO:"]


def test_something_newer_replaces_what_still_waits(desk):
    connection, _, make = desk
    put(connection, notice())
    with transaction(connection):
        outbox.supersede(connection, "shellac")
    put(connection, notice(state="go", urgent=False))
    script = Script()
    make(script).round()
    assert [text for _, text in script.sent] == ["12:00 GO: shellac (notice 2)"]
