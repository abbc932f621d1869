"""The shop's own cup readings, kept in the logbook and read back from it for the mixing bench."""

import sys
from datetime import datetime

from advisor.advice.bench import InThePot
from advisor.errors import AdvisorError
from advisor.logbook.cup_log import cup_readings, keep_cup_reading
from advisor.logbook.store import logbook, logbook_path, transaction
from advisor.physics.viscosity_fit import Flow, FlowReading, refined
from advisor.shop.shop import Shop
from advisor.times import milliseconds


def keep(shop: Shop, coating: str, pot: InThePot, reading: FlowReading, now: datetime) -> None:
    """Keep one reading. Raises LogbookError."""
    path = logbook_path(shop.logbook)
    with logbook(path, now) as connection, transaction(connection):
        keep_cup_reading(connection, milliseconds(now), coating, pot.cup.id, pot.seconds, reading)


def own_flow(shop: Shop, coating: str, start: Flow) -> Flow:
    """The family's figures refined by the shop's readings; the family's own, with a word, where those cannot be had.

    The bench must answer with the logbook away: the pot is open.
    """
    path = logbook_path(shop.logbook)
    if not path.exists():
        return start
    try:
        with logbook(path) as connection:
            readings = cup_readings(connection, coating)
        return refined(start, readings)
    except AdvisorError as error:
        print(f"advisor: your own cup readings are left out: {error}", file=sys.stderr)
        return start
