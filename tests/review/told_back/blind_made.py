"""Twenty made cases: the film model run with figures of its own says what was to come; the review knows only the log.

Solids, the film's setting, its MFFT and droplets are drawn up to 20 % off the catalogue's numbers, so that the review
judges by other figures than those that made the case. Seeded: the same cases every time.
"""

import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import timedelta
from typing import Any

from advisor.catalog.coatings import Coating
from advisor.film.mix import fastest, mix_of
from advisor.film.wet_film import FilmCase, dry_films
from advisor.review.coat import Below, SprayedCoat
from advisor.shop.shop import Shop
from tests.review.told_back.blind_cases import SHOP, Case, Seen, when

NOISE = (0.3, 2.0)  # [K], [%]
_OFF = 0.2  # of the catalogue's numbers
_PLAIN = 0.15  # of the blush measure's logarithm: a coat that went wrong did so plainly, or not at all
_TRIES = 400
SEED = 20250312


@dataclass(frozen=True)
class Drawn:
    """What the case is made with."""

    dice: random.Random
    shop: Shop

    def off(self, value: float) -> float:
        """A number up to 20 % off."""
        return value * self.dice.uniform(1.0 - _OFF, 1.0 + _OFF)


def _drawn(dice: random.Random) -> Drawn:
    figures = ("droplet_diameter", "flight_time", "gun_convection", "booth_air_speed")
    solids = min(0.68, max(0.52, SHOP.limit("solids_at_set").value * dice.uniform(0.9, 1.1)))
    drawn = {name: SHOP.limit(name).value * dice.uniform(0.8, 1.2) for name in figures}
    return Drawn(dice, replace(SHOP, limits={**drawn, "solids_at_set": solids}))


def _film(coating: Coating, drawn: Drawn, air: float, humidity: float, thinner: str | None) -> Any:
    """The outcome of the film as it truly is: the drawn figures, not the catalogue's."""
    mix = mix_of(coating, thinner or fastest(coating))
    mix = replace(mix, volume_solids=drawn.off(mix.volume_solids), wet_film=drawn.off(mix.wet_film))
    case = FilmCase(air, humidity, air - 0.4, mix)
    return dry_films([case], drawn.shop).outcomes[0]


def _steady(air: float, humidity: float, until: str = "+1 10:00") -> dict[str, Any]:
    """A room that hardly moves, with its night."""
    points = [
        ["-1 20:00", air - 0.6, humidity + 1.0], ["10:00", air, humidity], ["15:00", air, humidity],
        ["+1 04:00", air - 1.2, humidity], [until, air, humidity],
    ]  # fmt: skip
    return {"air": points, "dust": [["-1 20:00", 16.0], [until, 16.0]]}


def _coat(coating: str, **said: Any) -> SprayedCoat:
    start = when("12:00")
    return SprayedCoat(coating=coating, sprayed=start, ended=start + timedelta(minutes=12), **said)


def _blush(drawn: Drawn, extra: bool) -> tuple[SprayedCoat, dict[str, Any], Seen] | None:
    name = drawn.dice.choice(("nitrocellulose-lacquer", "acrylic-lacquer", "precatalysed-lacquer"))
    coating = SHOP.coating(name)
    thinner = drawn.dice.choice(coating.thinner_speeds[:2])
    air, humidity = drawn.dice.uniform(19.0, 26.0), drawn.dice.uniform(0.6, 0.93)
    if not _film(coating, drawn, air, humidity, thinner).haze > _PLAIN:
        return None
    truth = ("damp-film",)
    return _coat(name, thinner=thinner, wet_film=90e-6), _steady(air, humidity * 100), Seen("blush", truth)


def _cold(drawn: Drawn, extra: bool) -> tuple[SprayedCoat, dict[str, Any], Seen] | None:
    name = drawn.dice.choice(("waterborne-clear-1k", "waterborne-colour", "waterborne-sealer"))
    coating = SHOP.coating(name)
    air, humidity = drawn.dice.uniform(8.0, 17.0), drawn.dice.uniform(0.45, 0.7)
    forms_at = drawn.off(coating.numbers["minimum_film_forming_temperature"].value)
    if not _film(coating, drawn, air, humidity, None).at_packing < forms_at - 1.0:
        return None
    film = 190e-6 if extra else 95e-6
    truth = ("cold-film", "heavy-film") if extra else ("cold-film",)
    return _coat(name, wet_film=film), _steady(air, humidity * 100), Seen("cracking", truth)


def _hot(drawn: Drawn, extra: bool) -> tuple[SprayedCoat, dict[str, Any], Seen] | None:
    name = drawn.dice.choice(("waterborne-clear-1k", "waterborne-clear-2k", "acrylic-lacquer"))
    coating = SHOP.coating(name)
    air, humidity = drawn.dice.uniform(29.0, 35.0), drawn.dice.uniform(0.12, 0.3)
    here = _film(coating, drawn, air, humidity, None)
    usual = _film(coating, drawn, 23.0, 0.5, None)
    closes, as_usual = (film.to_pack if coating.carrier == "water" else film.to_set for film in (here, usual))
    if closes is None or as_usual is None or not closes < 0.65 * as_usual:
        return None
    said = {"wet_film": 50e-6, "seconds": None} if extra else {"wet_film": 100e-6}
    truth = ("hot-dry-air", "thin-film") if extra else ("hot-dry-air",)
    return _coat(name, **said), _steady(air, humidity * 100), Seen("dry-spray", truth)


def _dusty(drawn: Drawn, extra: bool) -> tuple[SprayedCoat, dict[str, Any], Seen] | None:
    story = _steady(drawn.dice.uniform(19.0, 23.0), drawn.dice.uniform(42.0, 55.0))
    times = drawn.dice.uniform(5.0, 30.0)
    story["dust"] = [
        ["-1 20:00", 16.0], ["11:00", 16.0], ["11:40", 16.0 * times * 1.5], ["12:30", 16.0 * times], ["14:30", 20.0],
        ["+1 10:00", 16.0],
    ]  # fmt: skip
    return _coat(drawn.dice.choice(("waterborne-colour", "oil-varnish"))), story, Seen("nibs", ("dust",))


def _soft(drawn: Drawn, extra: bool) -> tuple[SprayedCoat, dict[str, Any], Seen] | None:
    name = drawn.dice.choice(("waterborne-clear-2k", "precatalysed-lacquer"))
    floor = SHOP.coating(name).numbers["never_fully_hard_below"].value
    low = floor - drawn.dice.uniform(3.0, 8.0)
    story = _steady(21.0, 50.0)
    story["air"] = [
        ["-1 20:00", 20.0, 50.0], ["12:00", 21.0, 48.0], ["16:00", 20.5, 50.0], ["19:00", low + 2.0, 60.0],
        ["22:00", low, 66.0], ["+1 06:00", low, 68.0], ["+1 10:00", 18.0, 52.0],
    ]  # fmt: skip
    mixed = when("06:30") if extra and "2k" in name else when("11:45")
    truth = ("cold-cure", "old-mix", "cold-film") if extra else ("cold-cure", "cold-film")
    return _coat(name, mixed_at=mixed, wet_film=105e-6), story, Seen("soft", truth)


def _cold_piece(drawn: Drawn, extra: bool) -> tuple[SprayedCoat, dict[str, Any], Seen] | None:
    story = _steady(drawn.dice.uniform(19.0, 22.0), drawn.dice.uniform(52.0, 60.0))
    film = 180e-6 if extra else 105e-6
    truth = ("cold-piece", "heavy-film") if extra else ("cold-piece",)
    coat = _coat("solvent-polyurethane-2k", surface=drawn.dice.uniform(4.0, 7.0), wet_film=film)
    return coat, story, Seen("solvent-pop", truth)


def _too_soon(drawn: Drawn, extra: bool) -> tuple[SprayedCoat, dict[str, Any], Seen] | None:
    hours = drawn.dice.uniform(4.0, 9.0)
    below = Below(coating="oil-varnish", sprayed=when("12:00") - timedelta(hours=hours))
    story = _steady(drawn.dice.uniform(16.0, 21.0), drawn.dice.uniform(45.0, 60.0))
    film = 120e-6 if extra else 60e-6
    truth = ("recoat-too-soon", "heavy-film") if extra else ("recoat-too-soon",)
    return _coat("oil-varnish", below=below, wet_film=film), story, Seen("wrinkling", truth)


def _good_air(drawn: Drawn, extra: bool) -> tuple[SprayedCoat, dict[str, Any], Seen] | None:
    name = drawn.dice.choice(("nitrocellulose-lacquer", "waterborne-clear-1k", "solvent-polyurethane-2k"))
    coating = SHOP.coating(name)
    air, humidity = drawn.dice.uniform(20.5, 23.5), drawn.dice.uniform(0.42, 0.52)
    film = _film(coating, drawn, air, humidity, None)
    if coating.carrier != "water" and not film.haze < -_PLAIN:
        return None
    defect = drawn.dice.choice(("fisheyes", "blush", "soft", "orange-peel"))
    said = {"wet_film": 95e-6 if name != "solvent-polyurethane-2k" else 110e-6, "thinner": "medium"}
    numbers = coating.numbers
    said |= {"seconds": 0.5 * (numbers["din4_seconds_low"].value + numbers["din4_seconds_high"].value)}
    said |= {"pressure": 0.5 * (numbers["gun_pressure_low"].value + numbers["gun_pressure_high"].value)}
    return _coat(name, mixed_at=when("11:40"), **said), _steady(air, humidity * 100), Seen(defect, "not-the-air")


def _stuck(drawn: Drawn, extra: bool) -> tuple[SprayedCoat, dict[str, Any], Seen] | None:
    made = _blush(drawn, False)
    if made is None:
        return None
    coat, story, seen = made
    story["hold"] = [["relative_humidity", "-1 20:00", "+1 10:00", 99.9]]
    return coat, story, Seen(seen.defect, "cannot-tell")


def _missing(drawn: Drawn, extra: bool) -> tuple[SprayedCoat, dict[str, Any], Seen] | None:
    made = _cold(drawn, False)
    if made is None:
        return None
    coat, story, seen = made
    story["gaps"] = [["10:30", "+1 09:00"]]
    return coat, story, Seen(seen.defect, "cannot-tell")


Maker = Callable[[Drawn, bool], tuple[SprayedCoat, dict[str, Any], Seen] | None]
_PLAN: tuple[tuple[Maker, bool], ...] = (
    (_blush, False), (_blush, False), (_blush, False), (_cold, False), (_cold, True), (_hot, False), (_hot, True),
    (_dusty, False), (_dusty, False), (_soft, False), (_soft, True), (_cold_piece, False), (_cold_piece, True),
    (_too_soon, False), (_too_soon, True), (_good_air, False), (_good_air, False), (_good_air, False), (_stuck, False),
    (_missing, False),
)  # fmt: skip


NUMBERS = range(1, len(_PLAN) + 1)


def made_case(number: int, seed: int = SEED) -> Case:
    """One of the twenty."""
    maker, extra = _PLAN[number - 1]
    dice = random.Random(f"{seed}-{number}")
    for _ in range(_TRIES):
        made = maker(_drawn(dice), extra)
        if made is not None:
            coat, story, seen = made
            if not story.get("gaps") and number % 3 == 0:  # an ordinary hole, long after or long before
                story["gaps"] = [["08:00", "08:40"]]
            name = f"made-{number:02d}{maker.__name__}"
            return Case(name, coat, story, (seen,), maker is _stuck, maker is _missing, noise=NOISE)
    raise AssertionError(f"nothing to be made by {maker.__name__}")
