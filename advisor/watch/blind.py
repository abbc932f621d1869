"""What is published when nothing can be judged: a WAIT for every coating that says why."""

from datetime import timedelta
from typing import Any

from advisor.advice.conditions import Conditions
from advisor.advice.record import verdict_record
from advisor.advice.verdict import judge
from advisor.say.as_json import SCHEMA, utc
from advisor.shop.shop import Shop
from advisor.watch.clock import Now


def blind_record(shop: Shop, now: Now, interval: timedelta, doubt: str) -> dict[str, Any]:
    """The record of a WAIT for every coating in use, because of `doubt`."""
    blind = Conditions(shop.spray_place or "shop", doubt=doubt)
    verdicts = [judge(blind, shop.coating(name), shop, now.wall) for name in shop.coatings]
    return {
        "schema": SCHEMA,
        "as_of": utc(now.wall),
        "computed_at": utc(now.wall),
        "valid_until": utc(now.wall + 2 * interval),
        "verdicts": [verdict_record(verdict, shop, now.wall) for verdict in verdicts],
        "announced": dict.fromkeys(shop.coatings, "wait"),
    }
