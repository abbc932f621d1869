"""Every sentence the tool says about a verdict, made in this one place, in the reader's units.

Command line, page, notices and reports all speak from here.
"""

from collections.abc import Sequence

from advisor.catalog.coatings import Coating
from advisor.catalog.limits import marks
from advisor.film.drying import DryingTimes
from advisor.judge.conditions import MEASURED, STILL
from advisor.judge.finding import Finding, Level
from advisor.judge.panel_rule import PANEL
from advisor.judge.plan import Plan, plan_for
from advisor.judge.session import BY_ONE_FLOW
from advisor.judge.vapour_rule import VAPOUR
from advisor.judge.verdict import FIRST, State, Verdict, worst_findings
from advisor.say import film_words, session_words
from advisor.say.finding_words import distance, panel, reason, remedy
from advisor.say.fitting import STAYS, fitted, paragraph
from advisor.say.numbers import (
    bare,
    clock,
    difference,
    percent,
    percent_range,
    plus_minus,
    temperature,
    temperatures,
)
from advisor.say.phrases import NO_WAY, REMEDY_WORDS, short_caution, state_said
from advisor.shop.shop import Shop
from advisor.ways.changes import AT_THE_BENCH, Change
from advisor.ways.tries import Way

# what is left out first of told(), highest first
_SECOND_WAY, _SECOND_REASON, _TIMES, _DUST, _PANEL, _AIR, _HOLDS = 70, 60, 50, 40, 30, 20, 10
_NEAR = "Good by now, but near a limit: a test panel first, and read again before each coat."
MOST_LINES = 9  # of told(): it stays under ten
_TWO_LINES = 152  # characters of advice that two lines of 80 columns hold


def state_words(verdict: Verdict) -> str:
    """`GO`, `GO WITH CHANGES`, `WAIT` or `WAIT, cannot tell`."""
    return state_said(verdict.state, verdict.cannot_tell)


def _good_panel(verdict: Verdict, shop: Shop) -> list[str]:
    """That a panel of the day was good, where one counts and nothing else makes a WAIT."""
    good = [each for each in verdict.findings if each.rule == PANEL and each.level is Level.OK]
    return [] if verdict.state is State.WAIT else [panel(finding, verdict, shop) for finding in good]


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
    until, session = clock(verdict.holds_until, shop.zone), verdict.session
    return f"Room as it is now: good to {until}. After 10 min of fan, read again." if session is None else (
        f"{session_words.reckoned(session, shop)}: open by {until}."
    )  # fmt: skip


def summary(verdict: Verdict, shop: Shop) -> str:
    """One line for one coating: the state and its reason."""
    state, worst = state_words(verdict), worst_findings(verdict)
    if not worst:
        return f"{state}."
    far = distance(worst[0], shop)
    return f"{state}: {far}." if far else f"{state}. {reason(worst[0], verdict, shop)}"


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
    worst, waits = worst_findings(verdict), announced is State.WAIT
    state = state_said(announced, waits and verdict.cannot_tell)
    why = [_NEAR] if announced is State.CHANGE else []
    if worst and announced is not State.GO:
        mend = announced is State.CHANGE and worst[0].rule == VAPOUR
        do = [remedy(worst[0], verdict.coating, shop)] if mend else []
        why = [reason(worst[0], verdict, shop), *do]
    meant = "Reckoned with the fan on." if verdict.session else "Room as it is now; after 10 min of fan, read again."
    mask = "" if verdict.vapour is None else session_words.in_short(verdict.vapour, verdict.coating)
    allowed = [] if waits else [*_good_panel(verdict, shop), meant, mask]
    said = [f"{state}: {verdict.coating.name}, {verdict.place}.", *why, *allowed, unmoved(verdict)]
    return " ".join(filter(None, said))


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
    reasons = [reason(finding, verdict, shop) for finding in worst[:3]]
    panels = _good_panel(verdict, shop)
    reasons = reasons or ([] if panels else [_all_good(verdict, shop)])
    first = [finding for finding in worst if finding.rule in FIRST and finding.level is worst[0].level]
    rest = tuple(finding for finding in worst if finding not in first)
    ways = _ways(verdict, worst, rest, changes, session_ways, shop)
    if verdict.state is State.WAIT and not ways and not first:
        ways = [NO_WAY]
    must = " ".join(remedy(finding, verdict.coating, shop) for finding in first)
    full, short = _times(verdict, times, shop), _times(verdict, times, shop, first_only=True)
    kept = max(1, len(first))
    return fitted(
        [
            paragraph(f"{state_words(verdict)}: {verdict.coating.name}, {verdict.place}"),
            paragraph(f"First: {must}" if must else ""),
            *(paragraph(text, _SECOND_REASON + n if n >= kept else STAYS) for n, text in enumerate(reasons)),
            *(
                paragraph(f"{'Or' if n else 'Do'}: {text}", _SECOND_WAY + n if n or must else STAYS)
                for n, text in enumerate(ways)
            ),
            *(paragraph(text, _PANEL + n) for n, text in enumerate(panels)),
            *map(paragraph, notes),
            paragraph(unmoved(verdict)),
            paragraph(air_line(verdict, shop), _AIR),
            paragraph(full, _TIMES, short),
            paragraph(dust, _DUST),
            paragraph(_after(verdict, plan, shop)),
            paragraph(holds(verdict, shop), _HOLDS),
            paragraph(short_caution(verdict.coating)),
        ],
        lines,
    )


def _after(verdict: Verdict, plan: Plan | None, shop: Shop) -> str:
    """Mask and fan, of what may be sprayed."""
    return "" if verdict.state is State.WAIT or verdict.vapour is None else session_words.after_words(
        verdict.vapour, verdict.coating, plan or plan_for(verdict.coating, shop), shop
    )  # fmt: skip


def _times(verdict: Verdict, times: DryingTimes | None, shop: Shop, first_only: bool = False) -> str:
    """When the next coat and the rest may follow, for what may be sprayed."""
    return "" if times is None or verdict.state is State.WAIT else film_words.clock_times(
        times, verdict.coating, verdict.as_of, shop, first_only
    )  # fmt: skip


def _ways(
    verdict: Verdict,
    worst: tuple[Finding, ...],
    rest: tuple[Finding, ...],
    changes: Sequence[Change],
    session_ways: Sequence[Way],
    shop: Shop,
) -> list[str]:
    """What to do, the two cheapest computed ways: at the bench for a change, any out of a WAIT."""
    coating, waiting = verdict.coating, verdict.state is State.WAIT
    ahead = [session_words.way_words(way, coating, shop) for way in session_ways[:2]]
    computed = [way for way in changes if waiting or way.kind in AT_THE_BENCH][:2]
    found = ahead or [film_words.change(way, coating, shop) for way in computed]
    if any(finding.reason == BY_ONE_FLOW for finding in worst):
        found = [REMEDY_WORDS["fan_trial"], *found[:1]]
    cold = _cold_piece(worst, shop)
    if cold and not ahead:
        found = [_what_to_do(cold, coating, shop), *found[:1]]
    return found or [*filter(None, [_what_to_do(rest, coating, shop)])]


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
    return sentences


def _all_good(verdict: Verdict, shop: Shop) -> str:
    """The band the air is in; the air itself is said in the next line."""
    air, humid = verdict.coating.air_temperature, verdict.coating.relative_humidity
    warmth = temperatures(air.go_low.value, air.go_high.value, shop.units)
    return f"Within its limits: {warmth}, {percent_range(humid.go_low.value, humid.go_high.value)} humidity."
