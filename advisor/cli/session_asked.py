"""What is typed of a session: coats, how long one takes, and how much of the ready mix."""

from advisor.advice.plan import Plan, plan_for
from advisor.catalog.coatings import Coating
from advisor.catalog.units import parse_quantity
from advisor.errors import UsageError, shown
from advisor.shop.shop import Shop

_MOST_COATS = 10
_SPRAY = (10.0, 7200.0)  # [s]
_AMOUNT = (1e-5, 0.05)  # [m3]


def coats_typed(coats: int | None) -> int | None:
    """Coats in one session. Raises UsageError."""
    if coats is not None and not 1 <= coats <= _MOST_COATS:
        raise UsageError(f"--coats {coats}", f"1 to {_MOST_COATS}", "coats in one session")
    return coats


def spray_typed(spray: str | None) -> float | None:
    """Seconds of spraying one coat. Raises UsageError."""
    seconds = None if spray is None else parse_quantity(spray, "time", "--spray")
    if seconds is not None and not _SPRAY[0] <= seconds <= _SPRAY[1]:
        raise UsageError(f"--spray {shown(spray or '')}", "10 s to 2 h", "how long one coat takes to spray")
    return seconds


def amount_typed(amount: str | None) -> float | None:
    """Ready mix for all coats together [m3]. Raises UsageError."""
    mixed = None if amount is None else parse_quantity(amount, "volume", "--amount")
    if mixed is not None and not _AMOUNT[0] <= mixed <= _AMOUNT[1]:
        raise UsageError(f"--amount {shown(amount or '')}", "10 ml to 50 l", "ready mix for all coats together")
    return mixed


def coats_and_spray(coats: int | None, spray: str | None, shop: Shop) -> tuple[int, float]:
    """Coats and seconds of spraying one; the shop's usual ones where nothing was typed. Raises UsageError."""
    many, seconds = coats_typed(coats), spray_typed(spray)
    return (
        round(shop.limit("session_coats").value) if many is None else many,
        shop.limit("session_spray").value if seconds is None else seconds,
    )


def plan_from(coats: int | None, spray: str | None, coating: Coating, shop: Shop) -> Plan:
    """The session as typed, the shop's usual one where nothing was. Raises UsageError."""
    return plan_for(coating, shop, *coats_and_spray(coats, spray, shop))
