"""What is said of the wet film: a rule's finding, and the whole answer of `advisor film`."""

from datetime import datetime, timedelta

from advisor.catalog.coatings import Coating
from advisor.catalog.materials import find_substrate
from advisor.film.drying import DryingTimes
from advisor.film.film_map import FilmAnswer
from advisor.judge.film_rules import Pot
from advisor.judge.finding import Finding, Side
from advisor.judge.verdict import Verdict
from advisor.say.fitting import first_met
from advisor.say.numbers import (
    above_or_below,
    air,
    bare,
    capital,
    clock,
    difference,
    percent,
    span,
    temperature,
    trimmed,
)
from advisor.say.phrases import DRYER_OFF_FIRST, HEATER_OFF_FIRST, MEASURE_IT
from advisor.shop.shop import Shop
from advisor.times import local_day
from advisor.ways.changes import AT_THE_BENCH, DRY, PANEL, RETARDER, THINNER, WARM, WARM_AND_MIX, Change
from advisor.ways.film_need import DOES_NOT, FORMS, MAY_NOT, FilmNeed


def pace(finding: Finding) -> str:
    """`0.3 of its usual time`, `3.1 times its usual time`; empty where no number says it."""
    if finding.measured is None:
        return ""
    decimals, times = (2, "of") if finding.measured < 1.0 else (1, "times")
    return f"{trimmed(finding.measured, decimals)} {times} its usual time"


def _blush(finding: Finding, verdict: Verdict, shop: Shop) -> str:
    film = verdict.film
    lowest, dew = finding.figure("lowest_film_temperature"), finding.figure("dew_point")
    onset = "" if finding.limit is None else f" from {percent(finding.limit)} humidity"
    taken = [
        *(["fastest thinner"] if film is not None and film.thinner_unknown else []),
        *(["piece guessed"] if film is not None and film.guessed else []),
    ]
    assumed = f" ({', '.join(taken)})" if taken else ""
    # water in a film with isocyanate is hardener lost, long before it would be seen
    does = "takes up water that eats the hardener" if verdict.coating.isocyanate else "blushes"
    said = f"Film {does}{onset}{assumed}"
    return f"{said}." if lowest is None or dew is None else (
        f"{said}; falls to {bare(temperature(lowest, shop.units))}, dew {temperature(dew, shop.units)}."
    )  # fmt: skip


def _film_forming(finding: Finding, _: Verdict, shop: Shop) -> str:
    packed, needed = finding.measured or 0.0, finding.go_limit or 0.0
    least = finding.figure("minimum_film_forming_temperature") or 0.0
    missing = difference(max(needed - packed, 0.1), shop.units)  # never "0 too cold"
    wanted = f"needs {temperature(needed, shop.units)}; MFFT {temperature(least, shop.units)}"
    return f"Film {temperature(packed, shop.units, up=False)} as it closes: {missing} too cold ({wanted})."


def _closing(finding: Finding, verdict: Verdict, shop: Shop) -> str:
    coating, seconds = verdict.coating, finding.figure("seconds_to_close") or 0.0
    harm = first_met(
        (finding.side is Side.LOW, "dry spray, orange peel, pop"),
        (coating.isocyanate and coating.carrier == "water", "gas of the hardener, pinholes"),
        (True, "sags and dust"),
    )
    never = finding.reason == "never"
    closes = f"The film closes in {span(seconds)}, {pace(finding)}: {harm}."
    return "The film stays open for hours in this air." if never else closes


REASONS = {"blush": _blush, "film_forming": _film_forming, "closing": _closing}


def change(way: Change, coating: Coating, shop: Shop) -> str:
    """A computed change in one line, with what it costs in drying."""
    humidity = percent(way.relative_humidity)
    warmth = temperature(way.air_temperature, shop.units, up=True)
    warm = f"Warm room AND pieces to {warmth} (same moisture, {humidity})"
    panel = "; then a test panel" if way.panel_first else ""
    left_out = ", without the retarder" if way.retarder_now and not way.pot.retarder else ""
    said = {
        PANEL: "Test panel first: same wood, same mix.",
        THINNER: f"{capital(in_the_pot(way.pot, coating))}{left_out}{panel}.",
        RETARDER: f"{capital(_retarder(way.pot, coating)) if way.pot.retarder else 'Leave the retarder out'}{panel}.",
        WARM: f"{warm}{panel}. {HEATER_OFF_FIRST}",
        WARM_AND_MIX: f"{warm}, {in_the_pot(way.pot, coating)}{panel}. {HEATER_OFF_FIRST}",
        DRY: f"Dry the air to {humidity}{panel}. {DRYER_OFF_FIRST}",
    }[way.kind]
    measure = MEASURE_IT if way.measure else ""
    return " ".join(part for part in (said, measure, _computed_clear(way), _cost(way)) if part)


def in_the_pot(pot: Pot, coating: Coating) -> str:
    """`medium thinner, 5 % of all solvent as lacquer retarder`."""
    thinner = f"{pot.thinner} thinner" if pot.thinner else "the thinner as it is"
    return f"{thinner}, {_retarder(pot, coating)}" if pot.retarder else thinner


def _retarder(pot: Pot, coating: Coating) -> str:
    return f"{percent(pot.retarder, 1)} of all solvent as {(*coating.retarders, 'retarder')[0]}"


def _computed_clear(way: Change) -> str:
    told = way.kind in (*AT_THE_BENCH, WARM_AND_MIX) and way.clear_below is not None
    return f"Computed clear up to {percent(way.clear_below or 0.0)}." if told else ""


def _cost(way: Change) -> str:
    then, now = way.recoat_from, way.recoat_now
    longer = then is not None and now is not None and then >= 1.1 * now
    return f"Next coat after {span(then or 0.0)}, not {span(now or 0.0)}." if longer else ""


def clock_times(times: DryingTimes, coating: Coating, sprayed: datetime, shop: Shop, first_only: bool = False) -> str:
    """`If sprayed: next coat from 12:45 (scuff-sand from 18:00), handle 13:40, sand 14:10.`; empty if unknown."""
    if times.recoat_from is None:
        return ""

    def at(seconds: float) -> str:
        moment = sprayed + timedelta(seconds=seconds)
        days = (local_day(moment, shop.zone) - local_day(sprayed, shop.zone)).days
        return clock(moment, shop.zone or "UTC") + (f" +{days} d" if days else "")

    said = f"If sprayed: next coat from {at(times.recoat_from)}"
    if times.recoat_until is not None and not coating.burns_in:
        late = times.recoat_until <= times.recoat_from
        said += " after scuff-sanding" if late else f" (scuff-sand from {at(times.recoat_until)})"
    if not first_only and times.handle is not None and times.sand is not None:
        handle, sand = at(times.handle), at(times.sand)
        said += f", handle and sand {sand}" if handle == sand else f", handle {handle}, sand {sand}"
    return said + ("." if shop.zone else " UTC.")


MOST_WATER = 20.0  # times the slow solvent left: over this there is none to speak of
_SATURATED = 0.97  # [fraction], onsets over this are those of saturated air
_LANDS_DRY = 3.0  # [s]
CRITICAL_SAID_BELOW = 0.95  # a critical humidity over this hardly ever matters
_TAILED_BELOW = 0.2  # slow solvent in what is left at set: less, and the resin may fall out of its own thinner


def answer(film: FilmAnswer, name: str, thinner_unknown: bool, shop: Shop) -> list[str]:
    """What a film does, in short paragraphs of two or three numbers each."""
    case, mix, outcome = film.case, film.case.mix, film.outcome
    pot = f", {mix.thinner} thinner" if mix.thinner != "own" and not mix.dispersion else ""
    retarder = f", {percent(mix.retarder, 1)} retarder" if mix.retarder else ""
    taken = " (unknown: taken as the fastest)" if thinner_unknown else ""
    apart = above_or_below(outcome.lowest - outcome.dew_point, shop.units)
    water = f"{trimmed(outcome.condensed * 1e3, 1)} g/m2 of water"
    below = f" It is below it for {span(outcome.below_dew)} and takes up {water}." if outcome.below_dew > 0 else ""
    shown = air(case.air_temperature, case.relative_humidity, shop.units)
    kind = _packing(film, shop) if mix.dispersion else _at_set(film) if mix.clear_by is None else _spirit(film)
    return [
        f"{name}{pot}{retarder}{taken} on {find_substrate(case.substrate).name}.",
        f"Air {shown}; dew point {temperature(outcome.dew_point, shop.units)}.",
        f"The film falls to {temperature(outcome.lowest, shop.units)}, {apart} the dew point.{below}",
        *kind,
    ]


def _packing(film: FilmAnswer, shop: Shop) -> list[str]:
    then = temperature(film.outcome.at_packing, shop.units)
    packs = f"Its particles pack after {span(film.outcome.to_pack or 0.0)}, the film then at {then}."
    never = "Its particles do not pack within days: the water does not leave in this air."
    return [never if film.outcome.to_pack is None else packs]


def _spirit(film: FilmAnswer) -> list[str]:
    mix, outcome = film.case.mix, film.outcome
    leaves = "not within hours" if outcome.to_dry is None else f"within {span(outcome.to_dry)}"
    onset = "" if film.blush_onset is None else f" Over {span(mix.clear_by or 0.0)} from {percent(film.blush_onset)}."
    return [f"Spirit takes up water and gives it back {leaves}.{onset}"]


def _at_set(film: FilmAnswer) -> list[str]:
    outcome = film.outcome
    if outcome.to_set is not None and outcome.to_set < _LANDS_DRY:
        return ["It lands almost dry: dry spray. Slower solvent, a larger needle, the gun closer."]
    when = "does not set within the time computed" if outcome.to_set is None else f"sets after {span(outcome.to_set)}"
    share = percent(outcome.water_to_slow_solvent, 1)
    some = outcome.water_to_slow_solvent <= MOST_WATER
    held = f"with water {share} of the slow solvent left" if some else "with little left in it but water"
    first = f"It {when}, {held}; clear up to {percent(outcome.clear_up_to, 1)}."
    if film.blush_onset is None or film.blush_onset > _SATURATED:
        return [first, "It blushes in saturated air at most."]
    dew = "" if film.dew_onset is None else f" and meets the dew from {percent(film.dew_onset)}"
    onset = f"All else alike it blushes from {percent(film.blush_onset)}{dew} humidity."
    tail = "What leaves last is diluent: the resin can fall out and blush in dry air too."
    return [first, onset, *([tail] if outcome.slow_share < _TAILED_BELOW else [])]


def need_words(need: FilmNeed, shop: Shop) -> str:
    """`TOO COLD: the film does not form (9.8 °C as it packs, needs 15 °C; MFFT 12 °C).`"""
    wants = f"needs {temperature(need.needed, shop.units)}; MFFT {temperature(need.mfft, shop.units)}"
    has = f"{temperature(need.packed or 0.0, shop.units)} as it packs, {wants}"
    return (
        f"The film does not form: its particles do not pack ({wants})."
        if need.packed is None
        else {
            FORMS: f"The film forms ({has}).",
            MAY_NOT: f"COLD: the film may not form ({has}).",
            DOES_NOT: f"TOO COLD: the film does not form ({has}).",
        }[need.state]
    )


def critical(humidity: float) -> str:
    """The critical humidity of a water-borne blend."""
    return f"Above {percent(humidity)} humidity the coalescing solvent leaves before the water: the film forms worse."


def spans(times: DryingTimes, thinner: str) -> str:
    """`Dust-free 8 min, next coat 45 min, handle 90 min after spraying.`, by the clock; what is unknown is left out.

    thinner: the one the times are for where nobody named it, else empty.
    """
    named = (
        ("dust-free", times.dust_free),
        ("next coat", times.recoat_from),
        ("handle", times.handle),
        ("sand", times.sand),
    )
    known = sorted(((seconds, name) for name, seconds in named if seconds is not None), key=lambda each: each[0])
    taken = f", {thinner} thinner" if thinner else ""
    said = capital(", ".join(f"{name} {span(seconds)}" for seconds, name in known))
    moved = f"{said} after spraying (the sheet's times, moved{taken})."
    return moved if known else "No drying times can be computed for this film."
