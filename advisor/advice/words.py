"""Every sentence the tool says about a verdict, made in this one place, in the reader's units.

Command line, page, notices and reports all speak from here.
"""

from collections.abc import Sequence
from datetime import UTC, datetime

from advisor.advice import film_words, session_words
from advisor.advice.changes import AT_THE_BENCH, Change
from advisor.advice.conditions import MEASURED, STILL
from advisor.advice.drying import DryingTimes
from advisor.advice.drying_coat import CURING
from advisor.advice.finding import Finding, Level, Remedy, Side
from advisor.advice.panel_rule import PANEL
from advisor.advice.phrases import (
    CAUTION_WORDS,
    MEASURE_IT,
    NO_WAY,
    QUANTITY_WORDS,
    REMEDY_WORDS,
    STATE_WORDS,
    short_caution,
)
from advisor.advice.plan import Plan, plan_for
from advisor.advice.remedies import Way
from advisor.advice.session import BY_ONE_FLOW, SESSION
from advisor.advice.vapour_rule import VAPOUR
from advisor.advice.verdict import FIRST, State, Verdict, worst_findings
from advisor.catalog.coatings import Band, Coating
from advisor.catalog.defects import defects
from advisor.catalog.limits import quality_limits
from advisor.catalog.marks import marks
from advisor.say.fitting import STAYS, fitted, said
from advisor.say.numbers import (
    bare,
    clock,
    difference,
    percent,
    percent_range,
    plus_minus,
    span,
    temperature,
    temperatures,
)
from advisor.shop.shop import Shop

_OF_HUMIDITY = ("relative_humidity", "blush")
_NO_DISTANCE = (SESSION, VAPOUR)
# what is left out first of told(), highest first
_SECOND_WAY, _SECOND_REASON, _TIMES, _DUST, _PANEL, _AIR, _HOLDS = 7, 6, 5, 4, 3, 2, 1
_NEAR = "Good by now, but near a limit: a test panel first, and read again before each coat."
MOST_LINES = 9  # of told(): it stays under ten
_TWO_LINES = 152  # characters of advice that two lines of 80 columns hold


def state_words(verdict: Verdict) -> str:
    """`GO`, `GO WITH CHANGES`, `WAIT` or `WAIT, cannot tell`."""
    return STATE_WORDS[verdict.state] + (", cannot tell" if verdict.cannot_tell else "")


def reason(finding: Finding, verdict: Verdict, shop: Shop) -> str:
    """What a finding says: the value, and what would be a GO."""
    if finding.level is Level.UNKNOWN or (finding.rule == "piece_temperature" and finding.reason):
        return _unknown(finding, shop)
    if finding.rule == SESSION:
        return _session(finding, verdict, shop)
    if finding.rule == PANEL:
        return _panel(finding, shop)
    if finding.rule == "surface":
        return _surface(finding, shop)
    if finding.rule == "piece_temperature":
        return _piece(finding, shop)
    if finding.rule in ("night", CURING):
        return _too_cold_for_cure(finding, shop)
    if finding.rule == VAPOUR:
        return session_words.vapour_reason(finding, shop)
    if finding.rule in film_words.RULES:
        return film_words.reason(finding, verdict, shop)
    band = verdict.coating.air_temperature if finding.rule == "air_temperature" else verdict.coating.relative_humidity
    return _band(finding, band, shop)


def _panel(finding: Finding, shop: Shop) -> str:
    """`Panel of 10:40 was good: in such air it outranks the film model.`"""
    sprayed = datetime.fromtimestamp(finding.figure("sprayed_at") or 0.0, UTC)
    said = f"Panel of {clock(sprayed, shop.zone)}"
    if finding.level is Level.OK:
        return f"{said} was good: in such air it outranks the film model."
    known = defects().get(finding.reason)
    return f"{said} was bad: {known.name}." if known else f"{said} was bad."


def _good_panel(verdict: Verdict, shop: Shop) -> list[str]:
    """That a panel of the day was good, where one counts and nothing else makes a WAIT."""
    if verdict.state is State.WAIT:
        return []
    good = [finding for finding in verdict.findings if finding.rule == PANEL and finding.level is Level.OK]
    return [_panel(finding, shop) for finding in good]


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
        if finding.rule == "surface":
            return REMEDY_WORDS["measure_piece"]
        return marks().get(finding.reason, marks()["stale"]).remedy
    if not finding.remedies:
        return ""
    if finding.rule == VAPOUR:
        return session_words.vapour_remedy(finding, shop)
    way = next((each for each in finding.remedies if each.together), finding.remedies[0])
    sentence = remedy_words(way, coating, shop)
    if way.kind == "warm_piece" and not way.together:
        return session_words.warm_up_words(finding, shop) or sentence
    at_the_stop = quality_limits()["relative_humidity", "pinned_from"].value
    if finding.rule == "relative_humidity" and finding.measured is not None and finding.measured >= at_the_stop:
        return f"Is the sensor wet? Air it. {sentence}"
    return sentence


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
    words = marks().get(finding.reason, marks()["missing"]).sentence
    limits = quality_limits()
    low, high = limits.get((finding.quantity, "range_low")), limits.get((finding.quantity, "range_high"))
    believable = ""
    if low is not None and high is not None:
        if finding.quantity == "relative_humidity":
            believable = percent_range(low.value, high.value)
        else:
            believable = temperatures(low.value, high.value, shop.units)
    return words.format(
        quantity=QUANTITY_WORDS.get(finding.quantity, finding.quantity),
        age="" if finding.measured is None else span(finding.measured),
        fresh_for=span(shop.limit("fresh_for").value),
        vapour_for=span(shop.limit("sprayed_recently").value),
        range=believable,
    )


def _band(finding: Finding, band: Band, shop: Shop) -> str:
    """`Humidity 72 %: 7 % RH too damp (GO up to 65 %, WAIT above 80 %).`"""
    humid = finding.rule == "relative_humidity"

    def shown(value: float, decimals: int = 1) -> str:
        return percent(value, decimals) if humid else temperature(value, shop.units, decimals)

    measured = 0.0 if finding.measured is None else finding.measured
    low, high, wait_above = band.go_low.value, band.go_high.value, band.wait_above.value
    limits = [low, high, wait_above, *([band.wait_below.value] if band.wait_below is not None else [])]
    decimals = next((n for n in range(1, 6) if all(shown(measured, n) != shown(limit, n) for limit in limits)), 1)
    said = f"{'Humidity' if humid else 'Air'} {shown(measured, decimals)}"
    if finding.side is Side.LOW:
        least = None if band.wait_below is None else band.wait_below.value
        at_it = ", which is now" if finding.level is Level.CHANGE and measured == least else ""
        wait = "" if least is None else f", WAIT below {shown(least)}{at_it}"
        return f"{said}: {distance(finding, shop)} (GO from {shown(low)}{wait})."
    at_it = ", which is now" if finding.level is Level.CHANGE and measured == wait_above else ""
    return f"{said}: {distance(finding, shop)} (GO up to {shown(high)}, WAIT above {shown(wait_above)}{at_it})."


def _surface(finding: Finding, shop: Shop) -> str:
    above = 0.0 if finding.measured is None else finding.measured
    needed = 0.0 if finding.go_limit is None else finding.go_limit
    where = f"{difference(above, shop.units)} above" if above >= 0 else f"{difference(-above, shop.units)} BELOW"
    piece = "Surface (guessed)" if finding.reason else "Surface"
    return f"{piece} {where} dew point: {distance(finding, shop)} (needs {difference(needed, shop.units)} above)."


def _piece(finding: Finding, shop: Shop) -> str:
    measured = 0.0 if finding.measured is None else finding.measured
    limit = "" if finding.go_limit is None else temperature(finding.go_limit, shop.units)
    side = "from" if finding.side is Side.LOW else "up to"
    return f"Piece {temperature(measured, shop.units)}: {distance(finding, shop)} (GO {side} {limit})."


def _too_cold_for_cure(finding: Finding, shop: Shop) -> str:
    """`Night 12 °C: under 18 °C in its first 12 h it never hardens.`"""
    low, floor = finding.measured or 0.0, finding.limit or 0.0
    hours = finding.figure("hours")
    first = "" if hours is None else f" in its first {span(hours)}"
    never = "it may stay soft"
    if hours is not None:
        never = "it never hardens"
    elif finding.level is Level.STOP:
        never = "it does not cure and may never harden"
    elif finding.reason == "stalls":
        never = "it stalls until it is warm again"
    where = "Night" if finding.rule == "night" else "Air"
    near = "near" if low >= floor else "under"
    limit = f"{near} {temperature(floor, shop.units)}" + (", and under it" if low >= floor else "")
    return f"{where} {temperature(low, shop.units)}: {limit}{first} {never}."


def distance(finding: Finding, shop: Shop) -> str:
    """How far from a GO: `7 % RH too damp`, `4 °C too cold`; empty where no number says it."""
    if finding.margin is None or finding.level in (Level.OK, Level.UNKNOWN) or finding.rule in _NO_DISTANCE:
        return ""
    missing = abs(finding.margin)

    def shown(decimals: int) -> str:
        if finding.rule in _OF_HUMIDITY:
            return percent(missing, decimals)
        return difference(missing, shop.units, decimals)

    if finding.rule == "closing":
        return film_words.pace(finding)
    finest = next((n for n in range(1, 6) if not shown(n).startswith("0 ")), 6)
    if finding.rule in _OF_HUMIDITY:
        return f"{shown(finest)} RH too {'damp' if finding.side is Side.HIGH else 'dry'}"
    return f"{shown(finest)} too {'warm' if finding.side is Side.HIGH else 'cold'}"


def air_line(verdict: Verdict, shop: Shop) -> str:
    """Air, dew point with its uncertainty, and the surface against it; empty when the air is unknown."""
    air = verdict.air
    if air is None:
        return ""
    dew = f"dew point {plus_minus(air.dew_point, air.dew_point_uncertainty, shop.units)}"
    line = f"Air {temperature(air.air_temperature, shop.units)}, {percent(air.relative_humidity)}; {dew}"
    if verdict.surface is not None:
        over = verdict.surface.value - air.dew_point
        taken = "" if verdict.surface.basis == MEASURED else " (guessed)"
        side = f"{bare(difference(abs(over), shop.units))} {'above' if over >= 0 else 'BELOW'} it"
        line += f"; surface {bare(temperature(verdict.surface.value, shop.units))}{taken}, {side}"
    return line + "."


def unmoved(verdict: Verdict) -> str:
    """That the air was read alike to the digit for an hour; empty when it was not. A still room does that too."""
    told = any(finding.reason == STILL for finding in verdict.findings)
    return f"{marks()[STILL].sentence} {marks()[STILL].remedy}" if told else ""


def holds(verdict: Verdict, shop: Shop) -> str:
    """How long a GO holds; empty for a WAIT."""
    if verdict.holds_until is None:
        return ""
    if verdict.session is not None:
        said = session_words.reckoned(verdict.session, shop)
        return f"{said}: open by {clock(verdict.holds_until, shop.zone)}."
    return f"Room as it is now: good to {clock(verdict.holds_until, shop.zone)}. After 10 min of fan, read again."


def cautions(verdict: Verdict) -> tuple[str, ...]:
    """Every caution in full."""
    return tuple(CAUTION_WORDS[key] for key in verdict.cautions)


def summary(verdict: Verdict, shop: Shop) -> str:
    """One line for one coating: the state and its reason."""
    worst = worst_findings(verdict)
    if not worst:
        return f"{state_words(verdict)}."
    far = distance(worst[0], shop)
    return f"{state_words(verdict)}: {far}." if far else f"{state_words(verdict)}. {reason(worst[0], verdict, shop)}"


def summaries(verdicts: Sequence[Verdict], shop: Shop) -> list[str]:
    """One line for each coating; what keeps all of them from a verdict is said once."""
    unknown = {worst_findings(verdict)[0].reason for verdict in verdicts if verdict.cannot_tell}
    if len(verdicts) > 1 and len(unknown) == 1 and all(verdict.cannot_tell for verdict in verdicts):
        finding = worst_findings(verdicts[0])[0]
        said = f"{state_words(verdicts[0])}: {reason(finding, verdicts[0], shop)}"
        do = remedy(finding, verdicts[0].coating, shop)
        return [f"{said} {do}", f"So for {', '.join(verdict.coating.id for verdict in verdicts)}."]
    return [f"{verdict.coating.id}: {summary(verdict, shop)}" for verdict in verdicts]


def notice_text(announced: State, verdict: Verdict, shop: Shop) -> str:
    """A notice in one short line: state, coating, why, and for a GO how it was meant, mask and fan."""
    worst = worst_findings(verdict)
    text = f"{STATE_WORDS[announced]}: {verdict.coating.name}, {verdict.place}."
    if announced is State.WAIT and verdict.cannot_tell:
        text = f"WAIT, cannot tell: {verdict.coating.name}, {verdict.place}."
    if worst and announced is not State.GO:
        text += f" {reason(worst[0], verdict, shop)}"
        if announced is State.CHANGE and worst[0].rule == VAPOUR:
            text += f" {remedy(worst[0], verdict.coating, shop)}"
    elif announced is State.CHANGE:
        text += f" {_NEAR}"
    if announced is not State.WAIT:
        reckoned = "Reckoned with the fan on." if verdict.session else "Room as it is now;"
        text = " ".join([text, *_good_panel(verdict, shop)])
        text += f" {reckoned}" if verdict.session else f" {reckoned} after 10 min of fan, read again."
        if verdict.vapour is not None:
            text += f" {session_words.in_short(verdict.vapour, verdict.coating)}"
    return " ".join(filter(None, (text, unmoved(verdict))))


def told(
    verdict: Verdict,
    shop: Shop,
    changes: Sequence[Change] = (),
    times: DryingTimes | None = None,
    session_ways: Sequence[Way] = (),
    dust: str = "",
    plan: Plan | None = None,
    notes: Sequence[str] = (),
    lines: int = MOST_LINES,
) -> list[str]:
    """The verdict as short paragraphs: state, reasons, what to do, the air, times, how long it holds, the cautions.

    What can best be missed is left out until it fits under ten lines of 80 columns: the second way, the second reason,
    the later times; never a caution, nor what must be done first. The JSON record has it all. dust: a sentence on it;
    plan: what is sprayed; notes: what must be said besides.
    """
    worst = worst_findings(verdict)
    state = f"{state_words(verdict)}: {verdict.coating.name}, {verdict.place}"
    reasons = [reason(finding, verdict, shop) for finding in worst[:3]]
    panels = _good_panel(verdict, shop)
    reasons = reasons or ([] if panels else [_all_good(verdict, shop)])
    first = [finding for finding in worst if finding.rule in FIRST and finding.level is worst[0].level]
    rest = tuple(finding for finding in worst if finding not in first)
    ahead = [session_words.way_words(way, verdict.coating, shop) for way in session_ways[:2]]
    ways = [f"{'Or' if n else 'Do'}: {way}" for n, way in enumerate(ahead)] or _computed_ways(verdict, changes, shop)
    if any(finding.reason == BY_ONE_FLOW for finding in worst):
        ways = [f"Do: {REMEDY_WORDS['fan_trial']}", *(f"Or: {way[4:]}" for way in ways[:1])]
    cold = _cold_piece(worst, shop)
    if cold and not ahead:
        ways = [_what_to_do(cold, verdict.coating, shop), *(f"Or: {way[4:]}" for way in ways[:1])]
    ways = ways or [_what_to_do(rest, verdict.coating, shop)]
    if verdict.state is State.WAIT and not any(ways) and not first:
        ways = [NO_WAY]
    must = " ".join(remedy(finding, verdict.coating, shop) for finding in first)
    full, short = _times(verdict, times, shop), _times(verdict, times, shop, first_only=True)
    kept = max(1, len(first))
    return fitted(
        [
            said(state),
            said(f"First: {must}" if must else ""),
            *(said(text, _SECOND_REASON if n >= kept else STAYS) for n, text in enumerate(reasons)),
            *(said(text, _SECOND_WAY if n or must else STAYS) for n, text in enumerate(ways)),
            *(said(text, _PANEL) for text in panels),
            *map(said, notes),
            said(unmoved(verdict)),
            said(air_line(verdict, shop), _AIR),
            said(full, _TIMES, short),
            said(dust, _DUST),
            said(_after(verdict, plan, shop)),
            said(holds(verdict, shop), _HOLDS),
            said(short_caution(verdict.coating)),
        ],
        lines,
    )


def _after(verdict: Verdict, plan: Plan | None, shop: Shop) -> str:
    """Mask and fan, of what may be sprayed."""
    if verdict.state is State.WAIT or verdict.vapour is None:
        return ""
    return session_words.after_words(verdict.vapour, verdict.coating, plan or plan_for(verdict.coating, shop), shop)


def _times(verdict: Verdict, times: DryingTimes | None, shop: Shop, first_only: bool = False) -> str:
    """When the next coat and the rest may follow, for what may be sprayed."""
    if times is None or verdict.state is State.WAIT:
        return ""
    return film_words.clock_times(times, verdict.coating, verdict.as_of, shop, first_only)


def _computed_ways(verdict: Verdict, changes: Sequence[Change], shop: Shop) -> list[str]:
    """The two cheapest computed ways: at the bench for a change, any out of a WAIT."""
    waiting = verdict.state is State.WAIT
    ways = [way for way in changes if waiting or way.kind in AT_THE_BENCH][:2]
    return [f"{'Or' if n else 'Do'}: {film_words.change(way, verdict.coating, shop)}" for n, way in enumerate(ways)]


def _cold_piece(worst: tuple[Finding, ...], shop: Shop) -> tuple[Finding, ...]:
    """The findings of a cold piece where nothing else keeps from a GO: time mends that, before any heater.

    A film too cold follows from it, and is judged again once the piece is warm.
    """
    stops = tuple(finding for finding in worst if finding.level is not Level.CHANGE)
    deciding = stops or worst
    mends = all(any(way.kind == "warm_piece" for way in finding.remedies) for finding in deciding)
    return deciding if mends and all(session_words.warm_up_words(finding, shop) for finding in deciding) else ()


def _what_to_do(worst: tuple[Finding, ...], coating: Coating, shop: Shop) -> str:
    """The first finding's remedy, and the next ones' where they are others and two lines hold them."""
    sentences = ""
    told_already: set[str] = set()
    for finding in worst:
        # a remedy is said whole or not at all: "heater off" must not be lost for want of room
        parts = [part.rstrip(".") + "." for part in remedy(finding, coating, shop).split(". ") if part]
        text = " ".join(part for part in parts if part not in told_already)
        if text == REMEDY_WORDS["panel_first"] and "test panel" in sentences:
            continue
        together = any(way.together for way in finding.remedies)  # one without the other helps nothing
        if text and (not sentences or together or len(sentences) + len(text) <= _TWO_LINES):
            sentences = f"{sentences} {text}".strip()
            told_already.update(parts)
    return f"Do: {sentences}" if sentences else ""


def _all_good(verdict: Verdict, shop: Shop) -> str:
    """The band the air is in; the air itself is said in the next line."""
    air, humid = verdict.coating.air_temperature, verdict.coating.relative_humidity
    warmth = temperatures(air.go_low.value, air.go_high.value, shop.units)
    return f"Within its limits: {warmth}, {percent_range(humid.go_low.value, humid.go_high.value)} humidity."
