"""The cheapest ways to a GO for a session ahead, each computed by running the session again with it."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime

from advisor.film.film_map import Films
from advisor.judge.conditions import Conditions, Measured, Surface, air_at_work, outdoor_air, surface_of_piece
from advisor.judge.film_rules import UNKNOWN_POT, Pot
from advisor.judge.session import prepare_films, worst_of_air
from advisor.judge.verdict import RANK, STATES, State, Verdict, judge
from advisor.shop.shop import Shop
from advisor.ways.tries import (
    TRIES,
    WAIT_UNTIL,
    WARM_MAKE_UP_AND_PIECES,
    WARM_PIECES,
    WARM_ROOM,
    WARM_THROUGH,
    Ahead,
    Here,
    Way,
    later,
)

MOST_SHOWN = 3
_ENOUGH = 3
_MOVES_PIECES = (WARM_PIECES, WARM_ROOM, WARM_MAKE_UP_AND_PIECES, WARM_THROUGH, WAIT_UNTIL)


def session_ways(
    verdict: Verdict,
    conditions: Conditions,
    shop: Shop,
    now: datetime,
    pot: Pot = UNKNOWN_POT,
    ahead: Ahead | None = None,
) -> tuple[Way, ...]:
    """At most three ways, least effort first, each judged to end better than now: in a GO before a GO with changes.

    None for a GO, where the session is not known, or where readings are missing: air is not mended by guessing. ahead:
    where it is known, waiting is one of the ways.
    """
    session = verdict.session
    air, outdoors = air_at_work(conditions, shop), outdoor_air(conditions, shop)
    piece = surface_of_piece(conditions, shop)
    if verdict.state is State.GO or verdict.cannot_tell:
        return ()
    if session is None or air is None or outdoors is None or piece is None:
        return ()
    here = Here(verdict, shop, Way("", verdict.state, pot, session.plan, conditions), air, outdoors, piece)
    # the air alone first, which costs little; then the film of those that pass it best, least effort first
    tries = [_sifted(tried(here), here) for tried in TRIES]
    if ahead is not None and verdict.state is State.WAIT:
        tries.append(_sifted(later(here, ahead, now), here))
    films = verdict.films or Films(shop)
    asked = [[tuple(_as_known_then(way, conditions, shop)) for way in ways] for ways in tries]
    every = [(each.conditions, each.pot, each.plan) for ways in asked for way in ways for each in way]
    prepare_films(every, verdict.coating, shop, films)
    found = []
    for ways in asked:
        best = here.as_it_is
        for way in ways:
            for each in way:
                then = judge(each.conditions, verdict.coating, shop, now, each.pot, each.plan, films)
                best = replace(each, state=then.state) if RANK[then.state] < RANK[best.state] else best
            if best.state is State.GO:
                break
        if best is not here.as_it_is and (best.kind != WAIT_UNTIL or best.state is State.GO):
            found.append(best)
    return tuple(sorted(found, key=lambda way: (way.state is not State.GO, way.effort))[:MOST_SHOWN])


def _as_known_then(way: Way, conditions: Conditions, shop: Shop) -> Iterator[Way]:
    """The way as it will be judged: the piece guessed anew from the new air, then measured, which must be said."""
    piece, air = surface_of_piece(way.conditions, shop), air_at_work(way.conditions, shop)
    if way.kind not in _MOVES_PIECES or piece is None or air is None:
        yield way
        return
    key = (conditions.place, "surface_temperature")
    values = {name: value for name, value in way.conditions.values.items() if name != key}
    if conditions.logged_air is None:
        guess = surface_of_piece(replace(way.conditions, values=values, piece=None, logged_air=None), shop)
    else:  # the log follows the room as the pieces do
        below = shop.limit("surface_below_logged_air_uncertainty")
        guess = Surface(min(piece.value, air[0]), below.value, "logged_air", below)
    yield replace(way, conditions=replace(way.conditions, values=values, piece=guess))
    measured = Measured(piece.value, shop.accuracy(None, "surface_temperature"), 0.0)
    known = replace(way.conditions, values={**values, key: measured}, piece=None)
    yield replace(way, conditions=known, measure=True)


def _sifted(ways: Iterator[Way], here: Here) -> list[Way]:
    """Those of one kind that are worth judging in full: the first two and the last that the air allows, by its state.

    No further asked once the air lets three of them be a GO.
    """
    fit: list[Way] = []
    for way in ways:
        worst = worst_of_air(way.conditions, here.verdict.coating, here.shop, way.pot, way.plan)
        if RANK[STATES[worst]] < RANK[here.verdict.state]:
            fit.append(replace(way, state=STATES[worst]))
        if sum(each.state is State.GO for each in fit) >= _ENOUGH:
            break
    best = min((way.state for way in fit), key=RANK.__getitem__, default=State.WAIT)
    same = [way for way in fit if way.state is best]
    picks = (0, 1, len(same) - 1) if best is State.GO else (0, len(same) // 2, len(same) - 1)
    return [same[n] for n in sorted({min(n, len(same) - 1) for n in picks})] if same else []
