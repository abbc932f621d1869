"""A pot mixed at the bench, and the shop's own cup readings, kept in the logbook and read back from it."""

from dataclasses import dataclass
from datetime import datetime

from advisor.advice.bench import BenchAnswer, InThePot, bench, flow_of
from advisor.advice.overcoat import overcoat
from advisor.catalog.coatings import Coating
from advisor.catalog.overcoats import NO
from advisor.errors import AdvisorError, UsageError, shown
from advisor.logbook.cup_log import cup_readings, keep_cup_reading
from advisor.logbook.store import logbook, logbook_path, transaction
from advisor.physics.viscosity import read_cup, share_from_thinning
from advisor.physics.viscosity_fit import Flow, FlowReading, refined
from advisor.shop.shop import Shop
from advisor.times import milliseconds

_LONGEST_TIN = 60  # characters


@dataclass(frozen=True)
class Mixed:
    """The bench's answer; refused: this pot is not to be sprayed, or not over what is below.

    fault: why the shop's own cup readings are left out of it, else empty.
    """

    answer: BenchAnswer
    refused: bool
    fault: str


def mix(
    coating: Coating, pot: InThePot, shop: Shop, air: tuple[float, float] | None, below: Coating | None = None
) -> Mixed:
    """Thinner, hardener, pot life for a pot, by the shop's own cup readings where it has some.

    air: it is sprayed in [°C, fraction]; below: what it goes over. The bench answers with the logbook away: the pot is
    open.
    """
    flow, fault = _own_flow(shop, coating.id, flow_of(coating))
    answer = bench(coating, pot, shop, air, flow)
    never = below is not None and overcoat(below, coating).standing == NO
    return Mixed(answer, answer.stopped or never, fault)


def keep_cup(coating: Coating, pot: InThePot, tin: str, shop: Shop, now: datetime) -> None:
    """Keep a cup reading, of the tin named: the next ones go by it. Raises UsageError, LogbookError."""
    tin = tin.strip()
    if not (tin and tin.isprintable() and len(tin) <= _LONGEST_TIN):
        raise UsageError(f"--tin {shown(tin)}", f"a name of up to {_LONGEST_TIN} characters", "correct it")
    found = read_cup(pot.cup, pot.seconds)
    reading = FlowReading(tin, share_from_thinning(pot.already), pot.material, found.viscosity, found.in_range)
    with logbook(logbook_path(shop.logbook), now) as connection, transaction(connection):
        keep_cup_reading(connection, milliseconds(now), coating.id, pot.cup.id, pot.seconds, reading)


def _own_flow(shop: Shop, coating: str, start: Flow) -> tuple[Flow, str]:
    """The family's figures refined by the shop's readings; the family's own, with the fault, where those are away."""
    path = logbook_path(shop.logbook)
    if not path.exists():
        return start, ""
    try:
        with logbook(path) as connection:
            return refined(start, cup_readings(connection, coating)), ""
    except AdvisorError as error:
        return start, str(error)
