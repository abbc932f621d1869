"""What is said of one finding: the value and what would be a GO, how far off it is, and the first thing to do."""

from functools import partial

from advisor.catalog.coatings import Coating
from advisor.catalog.limits import marks, quality_limits
from advisor.catalog.mechanisms import defects
from advisor.judge.course import CURING
from advisor.judge.finding import Finding, Level, Remedy, Side
from advisor.judge.panel_rule import PANEL
from advisor.judge.session import BY_ONE_FLOW, SESSION
from advisor.judge.vapour_rule import VAPOUR
from advisor.judge.verdict import Verdict
from advisor.say import film_words, session_words
from advisor.say.fitting import first_met
from advisor.say.numbers import (
    above_or_below,
    clock,
    difference,
    percent,
    percent_range,
    span,
    temperature,
    temperatures,
)
from advisor.say.phrases import MEASURE_IT, QUANTITY_WORDS, REMEDY_WORDS
from advisor.shop.shop import Shop
from advisor.times import moment_at

_OF_HUMIDITY = ("relative_humidity", "blush")
_NO_DISTANCE = (SESSION, VAPOUR)


def reason(finding: Finding, verdict: Verdict, shop: Shop) -> str:
    """What a finding says: the value, and what would be a GO."""
    if finding.level is Level.UNKNOWN or (finding.rule == "piece_temperature" and finding.reason):
        return _unknown(finding, shop)
    return _REASONS.get(finding.rule, _band)(finding, verdict, shop)


def panel(finding: Finding, _: Verdict, shop: Shop) -> str:
    """`Panel of 10:40 was good: in such air it outranks the film model.`"""
    said = f"Panel of {clock(moment_at(finding.figure('sprayed_at') or 0.0), shop.zone)}"
    if finding.level is Level.OK:
        return f"{said} was good: in such air it outranks the film model."
    known = defects().get(finding.reason)
    return f"{said} was bad{f': {known.name}' if known else ''}."


def _session(finding: Finding, verdict: Verdict, shop: Shop) -> str:
    """`Door open, fan on, minute 2 (outdoors 0 °C, 85 %): Air 13.3 °C: 4.7 °C too cold (...).`"""
    session = verdict.session
    failure = None if session is None else session.stop or session.change
    if session is None or failure is None:
        return ""
    minute = round(failure.moment.seconds / 60.0)
    where = f"Door open, fan on, minute {minute} ({session_words.outdoors(session, shop)})"
    fan = f"{session_words.by_which_fan(session, shop)}: " if finding.reason == BY_ONE_FLOW else ""
    return f"{where}: {fan}{reason(failure.finding, verdict, shop)}"


def remedy(finding: Finding, coating: Coating, shop: Shop) -> str:
    """The first thing to do about a finding; empty when there is none."""
    if finding.level is Level.UNKNOWN:
        known = marks().get(finding.reason, marks()["stale"]).remedy
        return REMEDY_WORDS["measure_piece"] if finding.rule == "surface" else known
    if not finding.remedies or finding.rule == VAPOUR:
        return session_words.vapour_remedy(finding, shop) if finding.remedies else ""
    way = next((each for each in finding.remedies if each.together), finding.remedies[0])
    sentence = remedy_words(way, coating, shop)
    if way.kind == "warm_piece" and not way.together:
        return session_words.warm_up_words(finding, shop) or sentence
    at_the_stop = quality_limits()["relative_humidity", "pinned_from"].value
    wet = finding.rule == "relative_humidity" and (finding.measured or 0.0) >= at_the_stop
    return f"Is the sensor wet? Air it. {sentence}" if wet else sentence


def told_remedies(finding: Finding, verdict: Verdict) -> tuple[Remedy, ...]:
    """The remedies of a finding that may be told: those with a number only once it was proved."""
    return tuple(
        way for way in finding.remedies if verdict.proved or (way.target is None and way.relative_humidity is None)
    )


def remedy_words(way: Remedy, coating: Coating, shop: Shop) -> str:
    """One remedy as a sentence."""
    humidity = "" if way.relative_humidity is None else percent(way.relative_humidity)
    sentence = REMEDY_WORDS[way.kind].format(
        temperature=""
        if way.target is None
        else temperature(way.target, shop.units, up=way.kind.startswith(("warm", "hold"))),
        humidity=humidity,
        then=f" (humidity then {humidity})" if humidity else "",
        same=f" (same moisture, {humidity})" if humidity else "",
        retarder=coating.retarders[0] if coating.retarders else "",
    )
    return f"{sentence} {MEASURE_IT}" if way.measure and "measure" not in sentence.lower() else sentence


def _unknown(finding: Finding, shop: Shop) -> str:
    if finding.rule == "surface" and finding.reason in ("missing", "stale"):
        return "A piece brought in lately may be cold: its surface must be measured."
    words, limits = marks().get(finding.reason, marks()["missing"]).sentence, quality_limits()
    ends = [limits[key].value for edge in ("low", "high") if (key := (finding.quantity, f"range_{edge}")) in limits]
    ranged = percent_range if finding.quantity == "relative_humidity" else partial(temperatures, units=shop.units)
    return words.format(
        quantity=QUANTITY_WORDS.get(finding.quantity, finding.quantity),
        age="" if finding.measured is None else span(finding.measured),
        fresh_for=span(shop.limit("fresh_for").value),
        vapour_for=span(shop.limit("sprayed_recently").value),
        range=ranged(*ends) if len(ends) == 2 else "",
    )


def _band(finding: Finding, verdict: Verdict, shop: Shop) -> str:
    """`Humidity 72 %: 7 % RH too damp (GO up to 65 %, WAIT above 80 %).`"""
    humid, low, measured = finding.rule == "relative_humidity", finding.side is Side.LOW, finding.measured or 0.0
    coating = verdict.coating
    band = coating.air_temperature if finding.rule == "air_temperature" else coating.relative_humidity

    def shown(value: float, decimals: int = 1) -> str:
        return percent(value, decimals) if humid else temperature(value, shop.units, decimals)

    limits = [each.value for each in (band.go_low, band.go_high, band.wait_above, band.wait_below) if each is not None]
    decimals = next((n for n in range(1, 6) if all(shown(measured, n) != shown(limit, n) for limit in limits)), 1)
    go, edge = (band.go_low, band.wait_below) if low else (band.go_high, band.wait_above)
    at_it = edge is not None and finding.level is Level.CHANGE and measured == edge.value
    wait = "" if edge is None else (
        f", WAIT {'below' if low else 'above'} {shown(edge.value)}{', which is now' if at_it else ''}"
    )  # fmt: skip
    said = f"{'Humidity' if humid else 'Air'} {shown(measured, decimals)}: {distance(finding, shop)}"
    return f"{said} (GO {'from' if low else 'up to'} {shown(go.value)}{wait})."


def _surface(finding: Finding, _: Verdict, shop: Shop) -> str:
    above, needed = finding.measured or 0.0, finding.go_limit or 0.0
    where = f"{above_or_below(above, shop.units)} dew point"
    piece = "Surface (guessed)" if finding.reason else "Surface"
    return f"{piece} {where}: {distance(finding, shop)} (needs {difference(needed, shop.units)} above)."


def _piece(finding: Finding, _: Verdict, shop: Shop) -> str:
    limit = "" if finding.go_limit is None else temperature(finding.go_limit, shop.units)
    side = "from" if finding.side is Side.LOW else "up to"
    piece = temperature(finding.measured or 0.0, shop.units)
    return f"Piece {piece}: {distance(finding, shop)} (GO {side} {limit})."


def _too_cold_for_cure(finding: Finding, _: Verdict, shop: Shop) -> str:
    """`Night 12 °C: under 18 °C in its first 12 h it never hardens.`"""
    low, floor, hours = finding.measured or 0.0, finding.limit or 0.0, finding.figure("hours")
    never = first_met(
        (hours is not None, f" in its first {span(hours or 0.0)} it never hardens"),
        (finding.level is Level.STOP, " it does not cure and may never harden"),
        (finding.reason == "stalls", " it stalls until it is warm again"),
        (True, " it may stay soft"),
    )
    limit = temperature(floor, shop.units)
    near = f"near {limit}, and under it" if low >= floor else f"under {limit}"
    return f"{'Night' if finding.rule == 'night' else 'Air'} {temperature(low, shop.units)}: {near}{never}."


def distance(finding: Finding, shop: Shop) -> str:
    """How far from a GO: `7 % RH too damp`, `4 °C too cold`; empty where no number says it."""
    if finding.margin is None or finding.level in (Level.OK, Level.UNKNOWN) or finding.rule in _NO_DISTANCE:
        return ""
    if finding.rule == "closing":
        return film_words.pace(finding)
    far, humid = abs(finding.margin), finding.rule in _OF_HUMIDITY
    by_decimals = [percent(far, n) if humid else difference(far, shop.units, n) for n in range(1, 7)]
    shown = next((each for each in by_decimals if not each.startswith("0 ")), by_decimals[-1])
    over, under = ("RH too damp", "RH too dry") if humid else ("too warm", "too cold")
    return f"{shown} {over if finding.side is Side.HIGH else under}"


_REASONS = {
    SESSION: _session,
    PANEL: panel,
    "surface": _surface,
    "piece_temperature": _piece,
    "night": _too_cold_for_cure,
    CURING: _too_cold_for_cure,
    VAPOUR: session_words.vapour_reason,
    **film_words.REASONS,
}
