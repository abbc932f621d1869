"""What is said of a job's clocks: ten lines of 80 columns at most."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from advisor.bench.bench_gates import AGEING, BUILD, COATS, LEVEL, OLD, WET_FILM, WET_FILM_USUAL, counts_what_is_below
from advisor.catalog.schedules import NO
from advisor.jobs.cure import GAP, NO_CREDIT, SCUFF
from advisor.jobs.following_coat import (
    COATS_TODAY,
    GRAVE,
    NEVER_OVER,
    NEXT_BUILD,
    NEXT_COATS,
    PANEL_FIRST,
    TOO_SOON,
    UNSURE_WAIT,
    JobWarning,
    NextCoat,
)
from advisor.jobs.job_clock import JobClock, PotClock
from advisor.say.craft.cure_words import flag_words, to_come, when_short, wrong_with
from advisor.say.craft.job_words import from_to, job_name, sprayed
from advisor.say.craft.overcoat_words import told as overcoat_told
from advisor.say.fitting import Paragraph, first_met, fitted, height, paragraph
from advisor.say.numbers import bare, capital, counted, span, temperature
from advisor.say.phrases import at_reference, hand_test, said_of, short_caution
from advisor.shop.shop import Shop

MOST_LINES = 10
_ALL_ON = "All coats are on."
_LEFT_AT = (20.0, 25.0)  # [°C] where a coat that came too soon is left; common practice, no source


def told(
    clock: JobClock, shop: Shop, head: str = "", notes: Sequence[str] = (), grave: Sequence[str] = ()
) -> list[str]:
    """The clocks of one job in ten lines: what comes next, pot, mask and fan, what is passed, how it hardens.

    head: what was kept just now, else where the job stands. notes: what must be said besides. grave: what was wrong
    with an older coat kept just now. What can best be missed is left out until it fits; what was sprayed too soon or
    over the wrong coat, pot, mask, notes and the caution stay.
    """
    said = [(each.kind, warning_words(each, shop, clock.as_of)) for each in clock.warnings]
    gravest = [*dict.fromkeys((*grave, *(text for kind, text in said if kind in GRAVE)))]
    warnings = [text for _, text in said if text not in gravest]
    wrong, coming, short = _hardening(clock, shop)
    complete = _ALL_ON if clock.position is not None and clock.position.complete else ""
    following, mask = _following(clock, shop), fan_and_mask(clock, clock.as_of, shop)
    cautioned = clock.cured or clock.next  # of what was sprayed last, or of what comes
    # after a coat that went wrong, that it was kept matters more than the next one
    spoilt = ((50, complete), (40, following)) if gravest else ()
    return fitted(
        [
            paragraph(head or _standing(clock, shop), 40),
            *map(paragraph, gravest),
            Paragraph(following, (*spoilt, (20, _following(clock, shop, short=True)), (10, complete))),
            paragraph("" if clock.pot is None else pot_words(clock.pot, clock.as_of, shop)),
            paragraph(f"{capital(mask)}." if mask else ""),
            *map(paragraph, notes),
            *(paragraph(text, (60 if gravest else 30, 70, 80)[min(n, 2)]) for n, text in enumerate(warnings)),
            *wrong,
            paragraph(coming, 90, short),
            paragraph(short_caution(cautioned.coating) if cautioned else ""),
        ],
        MOST_LINES,
    )


def told_together(clocks: Sequence[JobClock], shop: Shop) -> list[str]:
    """The next things of several jobs, the soonest first; in ten lines, and how many more there are."""
    in_order = sorted(clocks, key=lambda clock: (clock.soonest is None, clock.soonest or clock.as_of, clock.job.id))
    lines = [] if shop.zone else ["Times are UTC: set zone in the configuration."]
    for number, clock in enumerate(in_order):
        left = len(in_order) - number
        line = _in_short(clock, shop)
        if height([*lines, line]) > MOST_LINES - (left > 1):
            return [*lines, f"And {left} more: advisor job clock JOB."]
        lines.append(line)
    return lines


def next_words(following: NextCoat, now: datetime, shop: Shop, short: bool = False) -> str:
    """`colour 2 of 2-4, Water-borne colour coat, not before 15:10; then try it: sands to powder, ...`.

    A clock says from when to try, never yes. short: without what is tried.
    """
    said, grits = f"{coat_name(following)}, {following.coating.name}", grits_words(following)
    scuff = f"; sand{grits} first" if following.scuff else ""
    if following.over is not None and following.over.standing == NO:
        return f"{said}, not straight over what is on it"
    if following.stage is None:
        return said + scuff
    closes = "" if following.closes is None or following.scuff else when_short(following.closes, now, shop)
    until = f"; from {closes} on scuff-sand{grits} first" if closes else ""
    if following.never:
        return f"{said}, never in a room as cold as now{scuff}"
    if following.opens is None:
        sheet = at_reference(following.stage.from_sheet, shop)
        return f"{said}, cannot tell from when (sheet: {sheet}){until}{scuff}"
    least = "" if following.sure else " at the latest"
    under = None if following.over is None else shop.coating(following.over.under)
    trial = ", then try it" if short else f"; then try it: {hand_test(under)}"
    return f"{said}, not before {when_short(following.opens, now, shop)}{least}{trial}{until}{scuff}"


def coat_name(following: NextCoat) -> str:
    """`colour 2 of 2-4`, `coat 2`."""
    step, number = following.step, following.number
    return f"coat {number}" if step is None else f"{step.step} {number} of {from_to(step.least, step.most)}"


def grits_words(following: NextCoat) -> str:
    """With what it is scuff-sanded, ` 320-400`; empty where no step says."""
    return "" if following.grits is None else f" {from_to(following.grits.coarse, following.grits.fine)}"


def pot_words(pot: PotClock, now: datetime, shop: Shop) -> str:
    """Until when a mixed pot is good, and the gun clean; that it is dead."""
    until, clean = when_short(pot.until, now, shop), when_short(pot.clean_by, now, shop)
    if pot.until <= now:
        return f"The pot died {until}: not to be sprayed. Is the gun clean?"
    counted_from = "" if pot.mixed_said else "counted from its first coat: --mixed TIME says better"
    taken = "" if pot.guessed is None else f"room not known, taken as {temperature(pot.guessed, shop.units)}"
    unsure = "; ".join(filter(None, (counted_from, taken)))
    return f"Pot good to {until}, gun clean by {clean}{f' ({unsure})' if unsure else ''}."


def warning_words(warning: JobWarning, shop: Shop, now: datetime) -> str:
    """One sentence on what is passed or about to be; more where a coat may not go over another or came too soon."""
    if warning.kind in (TOO_SOON, UNSURE_WAIT):
        return _hurried_words(warning, shop, now)
    if warning.over is not None and warning.under is not None:
        if warning.kind == PANEL_FIRST:
            return f"{warning.coating.name} over {warning.under.name}: a panel first; {warning.over.reason}."
        said = overcoat_told(warning.over, warning.under, warning.coating, shop)
        return f"Stop: {said} {_OVER_THE_WRONG_ONE}" if warning.kind == NEVER_OVER else f"Not next: {said}"
    numbers = said_of(warning.measured or 0.0, warning.limit or 0.0, shop)
    name = warning.coating.name
    beneath = f" dry, {name} and all beneath" if counts_what_is_below(warning.coating) else f" of {name} dry"
    return WARNING_WORDS[warning.kind].format(**numbers, name=name, dry=f"{numbers['film']}{beneath}")


WARNING_WORDS = {
    COATS: "{count:g} coats of {name}, at most {most:g}: sand back before it cracks.",
    COATS_TODAY: "{count:g} coats of {name} today, at most {most:g} a day.",
    NEXT_COATS: "The next coat would be number {count:g} of {name}, at most {most:g}.",
    BUILD: "About {dry}, at most {thickest}: sand back, no more coats.",
    LEVEL: "About {dry}: level and rub it out, to at most {thickest}.",
    NEXT_BUILD: "The next coat would make about {dry}, at most {thickest}.",
    WET_FILM: "Wet film {film}, never over {thickest}: look for pinholes and runs.",
    WET_FILM_USUAL: "Wet film {film}, over the usual {thickest}: runs, slow drying.",
    OLD: "The mix was {age} old, good for {life}: it may never harden.",
    AGEING: "The mix was {age} old: from {life} on try it on glass first.",
}
_OVER_THE_WRONG_ONE = "It may crack or lift: no more coats; try it on a panel, or strip it."


def _hurried_words(warning: JobWarning, shop: Shop, now: datetime) -> str:
    """What it waited, what it should have, and what to do now; no blame where the room was not known."""
    under, waited, wants = warning.under, span(warning.measured or 0.0), at_reference(warning.limit or 0.0, shop)
    same = under is None or under.id == warning.coating.id
    what = f"{warning.coating.name} {waited} after {'itself' if same or under is None else under.name}"
    if warning.kind == UNSURE_WAIT:
        return (
            f"Cannot tell whether {what} was too soon: it wants {wants}, the room was not known. Thumb test, no hurry."
        )
    opened = "" if warning.opened is None else f", here {when_short(warning.opened, now, shop)}"
    unknown = "" if warning.known else "; the room was not known, cannot tell from when"
    between = warning.over.between if warning.over is not None else ""
    way = f", best with {between} between" if between else ""
    said = f"Too soon: {what}; that wants {wants}{opened}{way}{unknown}."
    if warning.until is not None and now >= warning.until:
        return f"{said} It may wrinkle or stay soft: look at it, thumb test, before any more coats."
    until = "" if warning.until is None else f" before {when_short(warning.until, now, shop)}"
    low, high = bare(temperature(_LEFT_AT[0], shop.units)), temperature(_LEFT_AT[1], shop.units)
    trapped = "Water" if under is not None and under.carrier == "water" else "Solvent"
    return (
        f"{said} {trapped} trapped below: it may wrinkle or stay soft. Leave it, air moving,"
        f" {low}-{high}, look tomorrow; no more coats on"
        f" it{until}."
    )


def _in_short(clock: JobClock, shop: Shop) -> str:
    """One job in two or three lines."""
    grave = [warning_words(each, shop, clock.as_of).rstrip(".") for each in clock.warnings if each.kind in GRAVE]
    complete = clock.position is not None and clock.position.complete
    parts = [
        *grave,
        _following(clock, shop, short=True).removeprefix("Next: ").rstrip("."),
        "" if clock.pot is None else pot_words(clock.pot, clock.as_of, shop).rstrip("."),
        capital(fan_and_mask(clock, clock.as_of, shop)),
        _hardening(clock, shop)[2].rstrip(".") if complete else "",
    ]
    return f"{job_name(clock.job)}: {'. '.join([part for part in parts if part] or ['no coat yet'])}."


def _standing(clock: JobClock, shop: Shop) -> str:
    if clock.last is None:
        return f"{job_name(clock.job)}: no coat yet."
    coats, name = counted(len(clock.job.on_piece), "1 coat"), shop.coating(clock.last.coating).name
    return f"{job_name(clock.job)}: {coats}, the last {name}, {sprayed(clock.last, clock.as_of, shop)}."


def _following(clock: JobClock, shop: Shop, short: bool = False) -> str:
    """What comes next; that all coats are on, and whether one more is usual."""
    if clock.next is None:
        return ""
    said, where = next_words(clock.next, clock.as_of, shop, short), clock.position
    if where is None:
        return f"Next: {said}."
    more = where.may_repeat
    return first_met(
        (where.complete and more is None, _ALL_ON),
        (where.complete, f"All coats are on; one more at most: {said}."),
        (True, f"Next: {said}{'' if more is None else f'; or one more {more.step}'}."),
    )


def fan_and_mask(clock: JobClock, now: datetime, shop: Shop) -> str:
    """`fan on to 12:30, nobody in without a mask before 15:00: at least, no clearance`; empty where both are over."""
    if clock.fan_until is None or clock.mask_until is None or clock.mask_until <= now:
        return ""
    fan, entry = (when_short(until, now, shop) for until in (clock.fan_until, clock.mask_until))
    on = f"fan on to {fan}, " if clock.fan_until > now else ""
    return f"{on}nobody in without a mask before{'' if on and fan == entry else f' {entry}'}: at least, no clearance"


def _hardening(clock: JobClock, shop: Shop) -> tuple[list[Paragraph], str, str]:
    """What went wrong, the gravest the last to give way; the stages to come, the next and the last of them."""
    if clock.cured is None:
        return [], "", ""
    # a gap of no length is a coat that ends now: that the temperature is not known is said anyhow
    flags = [flag for flag in wrong_with(clock.cured) if not (flag.kind == GAP and flag.seconds < 1.0)]
    grave = [flag for flag in flags if flag.kind != NO_CREDIT]
    wrong = [
        paragraph(flag_words(flag, clock.cured, shop), 90 if flag not in grave else 80 if flag in grave[1:] else 70)
        for flag in flags
    ]
    later = replace(clock.cured, stages=tuple(s for s in clock.cured.stages if s.stage not in ("recoat", SCUFF)))
    return wrong, to_come(later, shop, ""), to_come(later, shop, "", short=True)
