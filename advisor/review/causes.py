"""Which mechanisms can have made a coat go wrong: each judged by the exposures, and ranked.

First by whether it was seen when and where such a cause shows, then by how far past its limit it was against the
limit's own width: a sensor's uncertainty says whether it was past the limit, not how much that matters.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from math import inf, log

from advisor.catalog.coatings import Coating
from advisor.catalog.mechanisms import ABOVE, AIR, ANY_LOOK, EVERY, ONE, OTHER, OWN, ZERO, Mechanism, Probe, mechanisms
from advisor.review.coat import UNSEEN, Exposure, Sighting
from advisor.shop.shop import Shop

_AGAINST = -1.0  # standard uncertainties inside its limit: the air did not do it
_THINLY_READ = 1.0  # standard uncertainties over its limit that it takes where the window was not read
_MOST_SURE = 50.0
_ROOT = ("cold-piece", "damp-film")
COLDER = 2.0  # [K] than the room: a piece that has not warmed
_SAME = 0.5  # standard uncertainties within which two coats met the same
_HARDLY = 0.1  # of a limit's own width: past it by less is at it
_BARELY_SURE = 0.2  # standard uncertainties over its limit that it takes
_MIDDLE = 0.25  # of a range: so far from its ends is plainly within
_SO_SURE = 3.0  # standard uncertainties: then what was not read does not matter


class Standing(StrEnum):
    """How a mechanism stands. What lies near its limit cannot be told."""

    SUPPORTED = "supported"
    AGAINST = "against"
    CANNOT_TELL = "cannot-tell"


class Outcome(StrEnum):
    """What a review comes to."""

    AIR = "air"
    COAT = "coat"
    NOT_THE_AIR = "not-the-air"
    CANNOT_TELL = "cannot-tell"


NEAR, NO_SENSOR, SIBLING, LOOKS = "near-limit", "no-sensor", "sibling-held", "looks-otherwise"


@dataclass(frozen=True)
class Cause:
    """A mechanism as it stands for one coat, by its most telling exposure.

    measured, limit in `unit` [SI]; sure: how far over the limit, in standard uncertainties, None where it is not known;
    excess: the same in widths of the limit; fit: how well it was seen when and where such a cause shows; reason: why
    it cannot be told.
    """

    mechanism: Mechanism
    standing: Standing
    exposure: str
    measured: float | None
    limit: float | None
    unit: str
    sure: float | None
    reason: str
    source: str
    excess: float = 0.0
    fit: int = 0


@dataclass(frozen=True)
class Causes:
    """All that was asked for, best first, and what no reading shows. defect: None where nobody named one."""

    defect: str | None
    judged: tuple[Cause, ...]
    others: tuple[Mechanism, ...]

    @property
    def supported(self) -> tuple[Cause, ...]:
        """The mechanisms that the exposures support."""
        return tuple(cause for cause in self.judged if cause.standing is Standing.SUPPORTED)

    @property
    def untold(self) -> tuple[Cause, ...]:
        """What of the air cannot be told; where no defect is named, of what a sensor was there for."""
        return tuple(
            cause for cause in self.judged
            if cause.mechanism.kind == AIR and cause.standing is Standing.CANNOT_TELL
            and (self.defect is not None or cause.reason not in (NEAR, NO_SENSOR))
        )  # fmt: skip

    @property
    def outcome(self) -> Outcome:
        """What it comes to. What somebody said of the coat outweighs air that nobody read only where it is plain.

        Air that was read and lies near its limit is told beside what is supported.
        """
        found = self.supported
        untold = [cause for cause in self.untold if not (found and cause.reason == NEAR)]
        if any(cause.mechanism.kind == AIR for cause in found):
            return Outcome.AIR
        plain = any(cause.sure is not None and cause.sure >= _SO_SURE for cause in found)
        if untold and not plain:
            return Outcome.CANNOT_TELL
        return Outcome.COAT if found else Outcome.NOT_THE_AIR


def beside(causes: Causes, held: Causes) -> Causes:
    """The causes of a coat, seen beside a like coat that held: what of the air both met did not spoil the one alone.

    Where that lies far over its limit, the coat that held is the riddle: then it cannot be told.
    """
    there = {(cause.mechanism.id, cause.exposure): cause.sure for cause in held.judged}

    def seen(cause: Cause) -> Cause:
        sure = there.get((cause.mechanism.id, cause.exposure))
        told = cause.standing is Standing.SUPPORTED or cause.reason == NEAR
        if not told or cause.mechanism.kind != AIR or cause.sure is None:
            return cause
        if sure is None or not sure >= cause.sure - _SAME:
            return cause
        standing = Standing.CANNOT_TELL if cause.sure >= _SO_SURE else Standing.AGAINST
        return replace(cause, standing=standing, reason=SIBLING)

    return replace(causes, judged=tuple(sorted(map(seen, causes.judged), key=lambda cause: _RANKS[cause.standing])))


def causes_of(
    exposures: dict[str, Exposure], coating: Coating, shop: Shop, defect: str | None, seen: Sighting = UNSEEN,
    gun: str | None = None,
) -> Causes:  # fmt: skip
    """The mechanisms that can cause a defect, or all of them, judged and ranked. seen: how; gun: what feeds it."""
    judged, others = [], []
    for mechanism in mechanisms().values():
        if not _possible(mechanism, seen, gun, defect):
            continue
        if mechanism.kind == OTHER:
            if _applies(mechanism.applies, coating):
                others.append(mechanism)
            continue
        tried = [
            _probed(mechanism, probe, exposures[probe.exposure], limit, coating)
            for probe in mechanism.probes
            if _applies(probe.applies, coating)
            and (defect is None or defect in probe.defects)
            and (limit := _limit(probe, exposures[probe.exposure], coating, shop)) is not None
        ]
        if tried:
            judged.append(min(tried, key=_order))  # by its most telling probe
    if defect is not None:
        others.sort(key=lambda other: -seen.fit(other, defect))
        judged = _as_seen(judged, others, seen, defect)
    return Causes(defect, tuple(_root_first(sorted(judged, key=_order), exposures)), tuple(others))


def _possible(mechanism: Mechanism, seen: Sighting, gun: str | None, defect: str | None) -> bool:
    """Whether a mechanism can make such a defect at all, with what it was laid on, seen as it was."""
    if EVERY not in mechanism.guns and gun is not None and gun not in mechanism.guns:
        return False
    if defect is None:
        return True
    only = mechanism.looks.get(defect, ANY_LOOK).only
    return defect in mechanism.defects and not (only and seen.fit(mechanism, defect) < 1)


def _as_seen(judged: list[Cause], others: list[Mechanism], seen: Sighting, defect: str) -> list[Cause]:
    """The causes with how they fit what was seen.

    What shows elsewhere, or not so soon, is none where something does that no reading shows.
    """
    better = any(seen.where and seen.fit(other, defect) > 0 for other in others)
    found = []
    for each in judged:
        fits = replace(each, fit=seen.fit(each.mechanism, defect))
        if fits.standing is Standing.SUPPORTED and better and seen.rules_out(each.mechanism, defect):
            fits = replace(fits, standing=Standing.AGAINST, reason=LOOKS)
        found.append(fits)
    return found


def _root_first(judged: list[Cause], exposures: dict[str, Exposure]) -> list[Cause]:
    """A piece that had not warmed and lay under the dew point stands before the water it put into the film."""
    piece, water = (next((each for each in judged if each.mechanism.id == name), None) for name in _ROOT)
    under_air = exposures["piece_over_dew"].figure("under_air")
    if piece is None or water is None or under_air is None or not under_air >= COLDER:
        return judged
    if piece.standing is not Standing.SUPPORTED or judged.index(piece) < judged.index(water):
        return judged
    rest = [each for each in judged if each is not piece]
    rest.insert(rest.index(water), piece)
    return rest


def _applies(kinds: Iterable[str], coating: Coating) -> bool:
    return any(kind in (EVERY, coating.carrier, coating.hardens_by) for kind in kinds)


def _limit(probe: Probe, exposure: Exposure, coating: Coating, shop: Shop) -> float | None:
    """The limit in SI; None where the coating has none, and the probe says nothing of it."""
    if probe.limit in (ZERO, ONE):
        return float(probe.limit == ONE)
    if probe.limit == OWN:
        return 0.0 if exposure.limit is None and exposure.reason else exposure.limit
    number = coating.numbers.get(probe.limit)
    if number is not None:
        return number.value
    try:
        return shop.limit(probe.limit).value
    except KeyError:
        return None


def _probed(mechanism: Mechanism, probe: Probe, exposure: Exposure, limit: float, coating: Coating) -> Cause:
    untold = Cause(
        mechanism, Standing.CANNOT_TELL, probe.exposure, exposure.measured, limit, exposure.unit, None,
        exposure.reason or "missing", f"{probe.tag}: {probe.source}",
    )  # fmt: skip
    if exposure.measured is None:
        return untold
    over = _over(exposure, limit) if probe.direction == ABOVE else -_over(exposure, limit)
    sure = max(-_MOST_SURE, min(_MOST_SURE, over / max(exposure.uncertainty, 1e-6)))
    excess = over / probe.width
    standing, reason = Standing.SUPPORTED, ""
    if sure <= _AGAINST or over <= -_MIDDLE * _range(probe, coating):
        # that nothing was wrong is only said of what was read
        standing, reason = Standing.CANNOT_TELL if exposure.reason else Standing.AGAINST, exposure.reason
    elif not (sure > (_THINLY_READ if exposure.reason else _BARELY_SURE) and excess > _HARDLY):
        standing, reason = Standing.CANNOT_TELL, exposure.reason or NEAR
    return replace(untold, standing=standing, sure=sure, reason=reason, excess=excess)


def _range(probe: Probe, coating: Coating) -> float:
    """How wide the range is that a limit is one end of, as a logarithm; without end where it is the end of none."""
    name, _, end = probe.limit.rpartition("_")
    low, high = (coating.numbers.get(f"{name}_{side}") for side in ("low", "high"))
    return log(high.value / low.value) if end in ("low", "high") and low and high else inf


def _over(exposure: Exposure, limit: float) -> float:
    measured = exposure.measured or 0.0
    if not exposure.as_logarithm:
        return measured - limit
    return log(max(measured, 1e-9) / max(limit, 1e-9))


_RANKS = {Standing.SUPPORTED: 0, Standing.CANNOT_TELL: 1, Standing.AGAINST: 2}


def _order(cause: Cause) -> tuple[int, int, float]:
    return _RANKS[cause.standing], -cause.fit, -(cause.excess if cause.sure is not None else -_MOST_SURE)
