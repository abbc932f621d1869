"""The film as the rules see it: what it would do in these conditions with what is in the pot.

The rules on the wet film: each (film, conditions, coating, shop) -> Finding. They only tighten a verdict.

A film that cannot be computed is an unknown, and so a WAIT where it decides, unless the air itself is unknown: that is
the readings' own finding.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from math import isfinite

from advisor.catalog.coatings import Coating
from advisor.catalog.limits import DECIDING, standings
from advisor.film.drying import closed_after, pace_of
from advisor.film.film_map import FilmAnswer, Films
from advisor.film.mix import Mix, fastest, mix_of, most_retarder, usual
from advisor.film.wet_film import FilmCase
from advisor.judge.conditions import MEASURED, Conditions, air_at_work, surface_of_piece, usable
from advisor.judge.finding import Finding, Level, Limits, Remedy, Side
from advisor.shop.shop import Shop

FILM_AIR = (-5.0, 45.0)  # [°C] of air and piece; outside it every coating's own band has long decided


@dataclass(frozen=True)
class Pot:
    """What the sprayer says of pot, gun and piece. None: nobody said.

    thinner: hot, medium or slow; retarder: share of all solvent in the ready mix [fraction]; gun: compressor, turbine
    or none; substrate: an id of the substrate table.
    """

    thinner: str | None = None
    retarder: float = 0.0
    gun: str | None = None
    substrate: str = "wood"


UNKNOWN_POT = Pot()


@dataclass(frozen=True)
class FilmView:
    """The film judged, of the thinner as named or else the fastest.

    pace: its time to close against the usual one, None where it never closes. guessed: the piece's temperature was not
    measured. thinner_unknown: nobody named the thinner where it matters. films: the table it was looked up in.
    """

    blush: FilmAnswer
    pace: float | None
    guessed: bool
    thinner_unknown: bool
    films: Films = field(compare=False, repr=False)


def film_view(
    conditions: Conditions, coating: Coating, shop: Shop, pot: Pot = UNKNOWN_POT, films: Films | None = None
) -> FilmView | None:
    """The film in these conditions; None when air temperature or humidity may not decide, or nobody sprays in them.

    Raises UsageError when the pot holds what the coating does not take.
    """
    case = case_of(conditions, shop, pot, mix_of(coating, pot.thinner or fastest(coating), pot.retarder))
    films = films or Films(shop)
    return None if case is None else view_of(films.between(case), conditions, coating, shop, pot, films)


def view_of(
    blush: FilmAnswer, conditions: Conditions, coating: Coating, shop: Shop, pot: Pot, films: Films
) -> FilmView:
    """The view of a film answered already; its pace is that against the usual thinner where its own is known."""
    beside = mix_of(coating, usual(coating) if pot.thinner or pot.retarder else fastest(coating))
    piece = surface_of_piece(conditions, shop)
    return FilmView(
        blush=blush,
        pace=pace_of(blush, beside, films, shop),
        guessed=piece is None or piece.basis != MEASURED,
        thinner_unknown=pot.thinner is None and len(coating.thinner_speeds) > 1,
        films=films,
    )


def usual_mix(coating: Coating, pot: Pot) -> Mix:
    """The mix that drying is computed with: the thinner as named or else the usual one."""
    return mix_of(coating, pot.thinner or usual(coating), pot.retarder)


def case_of(conditions: Conditions, shop: Shop, pot: Pot, mix: Mix) -> FilmCase | None:
    """The film's case; None when air temperature or humidity may not decide, or nobody sprays in them."""
    air, piece = air_at_work(conditions, shop), surface_of_piece(conditions, shop)
    if air is None or piece is None or not all(FILM_AIR[0] <= each <= FILM_AIR[1] for each in (air[0], piece.value)):
        return None
    return FilmCase(
        air_temperature=air[0],
        relative_humidity=air[1],
        piece=piece.value,
        mix=mix,
        substrate=pot.substrate,
        gun=pot.gun or shop.air_supply,
        pressure=conditions.pressure,
    )


FilmRule = Callable[[FilmView | None, Conditions, Coating, Shop], Finding]

_WARM_PAST = 0.5  # [K], so that the film surely gets there
_CLOSING_KINDS = {
    (Side.LOW, False): "wet_coats_slower",
    (Side.LOW, True): "slow_it_down_water",
    (Side.HIGH, False): "thin_coats",
    (Side.HIGH, True): "thin_coats_moving_air",
}
_RETARDER_STEPS = (0.0, 1 / 3, 2 / 3, 1.0)  # shares of the most retarder a coating takes


def blush(film: FilmView | None, conditions: Conditions, coating: Coating, shop: Shop) -> Finding:
    """Humidity well below that from which the film holds more water at set than stays clear.

    Over it: a change where a slower thinner or retarder the coating takes keeps the film clear, else a WAIT. Within the
    spread of makers' thinners below it, or with the film under the dew point: a change, a test panel first.
    """
    spread = shop.limit("blend_spread")
    finding = _blank("blush", "fraction", coating, spread.source)
    if coating.carrier == "water":
        return replace(finding, level=Level.OK)
    if film is None:
        return _unknown(finding, conditions, shop)
    answer, outcome = film.blush, film.blush.outcome
    humidity, onset = answer.case.relative_humidity, answer.blush_onset
    finding = replace(
        finding,
        level=Level.OK,
        measured=humidity,
        limit=onset,
        go_limit=None if onset is None else onset - spread.value,
        margin=None if onset is None else onset - spread.value - humidity,
        uncertainty=spread.value,
        side=Side.HIGH,
        figures=(
            ("lowest_film_temperature", outcome.lowest),
            ("dew_point", outcome.dew_point),
            ("water_to_slow_solvent_at_set", outcome.water_to_slow_solvent),
            ("clear_up_to", outcome.clear_up_to),
        ),
    )
    if onset is not None and not humidity < onset:
        helped = any(
            film.films.between(replace(answer.case, mix=mix)).outcome.haze < 0
            for mix in clearest_mixes(coating, answer.case.mix)
        )
        if helped or film.guessed:
            # what can be said without computing it: retarder where it is taken, else a panel
            kind = "slower_thinner_or_retarder" if most_retarder(coating) else "panel_first"
            return replace(finding, level=Level.CHANGE, remedies=(Remedy(kind),))
        return replace(finding, level=Level.STOP, remedies=(Remedy("dry_air", relative_humidity=finding.go_limit),))
    near = onset is not None and not humidity <= onset - spread.value
    under_dew = answer.case.mix.clear_by is None and not outcome.lowest >= outcome.dew_point
    if near or under_dew:
        return replace(finding, level=Level.CHANGE, remedies=(Remedy("panel_first"),))
    return replace(finding, side=Side.WITHIN)


def film_forming(film: FilmView | None, conditions: Conditions, coating: Coating, shop: Shop) -> Finding:
    """A water-borne film warm enough as its particles pack: MFFT and 3 K; a WAIT where it may be under the MFFT."""
    limits = packing_limits(coating, shop)
    finding = _blank("film_forming", "°C", coating, shop.limit("film_margin").source)
    if limits is None:
        return replace(finding, level=Level.OK)
    if film is None:
        return _unknown(finding, conditions, shop)
    outcome, air = film.blush.outcome, film.blush.case.air_temperature
    known = replace(limits, below=None) if film.guessed else limits
    finding = known.held_against(finding, outcome.at_packing)
    warm = Remedy("warm_room_and_pieces", air + (float(limits.low) - outcome.at_packing) + _WARM_PAST)
    return replace(
        finding,
        remedies=() if finding.level is Level.OK else (warm,),
        figures=(
            ("minimum_film_forming_temperature", coating.numbers["minimum_film_forming_temperature"].value),
            ("seconds_to_pack", outcome.to_pack or float("nan")),
        ),
    )


def packing_limits(coating: Coating, shop: Shop) -> Limits | None:
    """Of a film's temperature as its particles pack [°C]; None for a coating that forms no film of particles."""
    least = coating.numbers.get("minimum_film_forming_temperature")
    if coating.carrier != "water" or least is None:
        return None
    needed, certain = (least.value + shop.limit(name).value for name in ("film_margin", "film_margin_least"))
    return Limits(needed, below=certain)


def closing(film: FilmView | None, conditions: Conditions, coating: Coating, shop: Shop) -> Finding:
    """The film closing at about its usual pace: too fast is dry spray, orange peel and pop; too slow sags and dust."""
    fast, slow = shop.limit("closes_too_fast"), shop.limit("closes_too_slowly")
    finding = replace(_blank("closing", "ratio", coating, fast.source), deciding=False)
    if film is None:
        return _unknown(finding, conditions, shop)
    pace = film.pace
    if pace is None or not isfinite(pace):
        return replace(
            finding, level=Level.CHANGE, side=Side.HIGH, limit=slow.value, go_limit=slow.value, reason="never"
        )
    figures = (("seconds_to_close", closed_after(film.blush.outcome, film.blush.case) or float("nan")),)
    finding = Limits(fast.value, slow.value).held_against(replace(finding, figures=figures), pace)
    if finding.level is Level.OK:
        return replace(finding, limit=slow.value, go_limit=slow.value)
    return replace(finding, remedies=(Remedy(_CLOSING_KINDS[finding.side, coating.carrier == "water"]),))


FILM_RULES: tuple[FilmRule, ...] = (blush, film_forming, closing)


def clearest_mixes(coating: Coating, mix: Mix) -> tuple[Mix, ...]:
    """What in the pot can keep a film clear: the slowest with the most retarder, or any other thinner of a two-pack.

    A two-pack's slow thinner leaves more solvent that water dissolves in, but holds more water too: either may win.
    """
    if most_retarder(coating):
        return slower_mixes(coating, mix)[-1:]
    return tuple(mix_of(coating, speed) for speed in coating.thinner_speeds if speed != mix.thinner)


def slower_mixes(coating: Coating, mix: Mix) -> tuple[Mix, ...]:
    """What a coating takes that keeps a film open longer than a mix does: its slower thinners, more retarder."""
    speeds = coating.thinner_speeds
    most, now = most_retarder(coating), speeds.index(mix.thinner) if mix.thinner in speeds else 0
    found = [
        mix_of(coating, speed, round(most * step, 4))
        for speed in speeds[now:]
        for step in (_RETARDER_STEPS if most else (0.0,))
        if round(most * step, 4) >= mix.retarder
    ]
    return tuple(each for each in found if each != mix)


def _blank(rule: str, unit: str, coating: Coating, source: str) -> Finding:
    deciding = standings()[rule, coating.family] == DECIDING
    return Finding(rule, Level.UNKNOWN, unit=unit, deciding=deciding, source=source)


def _unknown(finding: Finding, conditions: Conditions, shop: Shop) -> Finding:
    """No film: the air is unknown, which is said already, or it is air in which nobody sprays."""
    known = all(usable(conditions, quantity, shop) for quantity in ("air_temperature", "relative_humidity"))
    return replace(finding, reason="no-film" if known else "air-unknown", deciding=finding.deciding and known)
