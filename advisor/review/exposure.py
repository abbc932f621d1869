"""What a coat was exposed to: one number each, over its window, with how much of the window was read.

Readings that are marked bad or suspect do not count, and a gap stays a gap. A number that is the worst of what was read
stays true whatever was missed; that nothing was wrong is only said of a window that was read.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from advisor.catalog.coatings import Coating
from advisor.review import of_the_air, of_the_coat
from advisor.review.coat import UNSEEN, Exposure, SprayedCoat
from advisor.review.doubts import contradicted, in_the_plume
from advisor.review.of_the_air import Seen
from advisor.review.of_the_coat import FilmSeen, films_seen
from advisor.review.windows import windows_of
from advisor.series.air_track import AirTrack
from advisor.series.trace import AIR, HUMIDITY, Window
from advisor.shop.shop import Shop

PLUME = "in-the-plume"


@dataclass(frozen=True)
class Exposures:
    """The exposures of one coat by name, and how it was seen."""

    seen: Seen
    by_name: dict[str, Exposure]


def exposures_of(
    coat: SprayedCoat, coating: Coating, track: AirTrack, shop: Shop, below: Coating | None = None
) -> Exposures:
    """Everything a coat was exposed to. below: the coating that lies under it, where somebody said which."""
    return many_exposures([(coat, below)], coating, track, shop)[0]


def many_exposures(
    coats: Sequence[tuple[SprayedCoat, Coating | None]], coating: Coating, track: AirTrack, shop: Shop
) -> list[Exposures]:
    """The same of many coats of one coating, each with what lies under it; their films computed together."""
    tracks = [_believed(coat, coating, track, shop) for coat, _ in coats]
    films = films_seen([(coat, own) for (coat, _), own in zip(coats, tracks, strict=True)], coating, shop)
    slower = _factors_below(coats, tracks, shop)
    return [
        _exposed(coat, coating, own, film, below, factor, shop)
        for (coat, below), own, film, factor in zip(coats, tracks, films, slower, strict=True)
    ]


def _believed(coat: SprayedCoat, coating: Coating, track: AirTrack, shop: Shop) -> AirTrack:
    """The track without what somebody read otherwise, and of a sensor in the plume without its humidity and dust.

    What was read by hand at the gun stands where nothing else that counts does.
    """
    spray = Window(coat.sprayed.timestamp(), coat.end(shop).timestamp())
    dust, raw = track.dust, track.trace(HUMIDITY)
    air, damp = contradicted(coat, track.trace(AIR), raw)
    if coating.carrier != "water" and in_the_plume(raw, spray):
        aired = Window(spray.start - 60.0, spray.end + shop.limit("sprayed_recently").value)
        damp, dust = (trace.without_window(aired, PLUME) for trace in (damp, dust))
    air = air.by_hand(spray.start, coat.air, shop.accuracy(None, AIR))
    damp = damp.by_hand(spray.start, coat.humidity, shop.accuracy(None, HUMIDITY))
    known = {name: trace for name, trace in ((AIR, air), (HUMIDITY, damp)) if len(trace.times) or trace.faults}
    return replace(track, traces={**track.traces, **known}, dust=dust)


def _exposed(
    coat: SprayedCoat, coating: Coating, track: AirTrack, film: FilmSeen | None, below: Coating | None, factor: float,
    shop: Shop,
) -> Exposures:  # fmt: skip
    times = None if film is None else film.times
    mattered = windows_of(coat, coating, times, shop, track.until)
    whole = windows_of(replace(coat, seen=UNSEEN), coating, times, shop)
    seen = Seen(coat, coating, track, film, whole, mattered, shop)
    found = of_the_air.exposures(seen)
    found += of_the_coat.exposures(coat, coating, below, factor, shop)
    return Exposures(seen, {each.name: each for each in found})


def _factors_below(
    coats: Sequence[tuple[SprayedCoat, Coating | None]], tracks: Sequence[AirTrack], shop: Shop
) -> list[float]:
    """How many times the sheet's each coat below took to be ready, in the air it was sprayed in; 1 where not read."""
    factors = [1.0] * len(coats)
    known = [
        (n, below, coat.below.sprayed)
        for n, (coat, below) in enumerate(coats)
        if below is not None and coat.below is not None and coat.below.sprayed is not None
    ]
    for under in {below.id: below for _, below, _ in known}.values():
        mine = [(n, sprayed) for n, below, sprayed in known if below.id == under.id]
        sprayed_so = [(SprayedCoat(coating=under.id, sprayed=sprayed), tracks[n]) for n, sprayed in mine]
        for (n, _), film in zip(mine, films_seen(sprayed_so, under, shop), strict=True):
            if film is not None and film.times.recoat_from is not None:
                factors[n] = film.times.recoat_from / under.numbers["recoat_from_high"].value
    return factors
