"""What is said of a job: ten lines of 80 columns at most for its clocks; its record at any length."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from advisor.advice.bench_gates import AGEING, BUILD, COATS, OLD, WET_FILM, WET_FILM_USUAL
from advisor.advice.bench_words import film, pressure, volume
from advisor.advice.cure import BRIDGED, NO_CREDIT, SCUFF
from advisor.advice.cure_words import to_come, when_short, wrong_with
from advisor.advice.fitting import first_that_fits, height
from advisor.advice.job import Coat, Job, Observation, Rework, Spraying
from advisor.advice.job_clock import (
    COATS_TODAY,
    NEVER_OVER,
    NEXT_BUILD,
    NEXT_COATS,
    NEXT_NEVER,
    PANEL_FIRST,
    JobClock,
    JobWarning,
    NextCoat,
    Pot,
)
from advisor.advice.measures import percent, span, temperature, trimmed
from advisor.advice.overcoat import told as overcoat_told
from advisor.advice.words import short_caution
from advisor.catalog.defects import defects
from advisor.physics.cups import cups
from advisor.shop.shop import Shop

MOST_LINES = 10
_SEVERITIES = {1: "slight", 2: "plain", 3: "spoilt"}


def told(clock: JobClock, shop: Shop, head: str = "") -> list[str]:
    """The clocks of one job in ten lines: what comes next, pot, mask and fan, what is passed, how it hardens, a caution.

    head: what was kept just now, else where the job stands. What can best be missed is left out until it fits; pot,
    mask, the gravest warning and the caution stay.
    """
    first = head or _standing(clock, shop)
    following = "" if clock.next is None else f"Next: {next_words(clock.next, clock.as_of, shop)}."
    pot = "" if clock.pot is None else pot_words(clock.pot, clock.as_of, shop)
    mask, caution = _mask(clock, shop), _caution(clock)
    warnings = [warning_words(warning, shop) for warning in clock.warnings]
    wrong, gravest, coming, short = _hardening(clock, shop)
    main = [first, following, pot, mask]
    return first_that_fits(
        (
            [*main, *warnings, *wrong, coming, caution],
            [*main, *warnings, *wrong, short, caution],
            [*main, *warnings, *gravest, caution],
            [*main, *warnings[:2], *gravest[:1], caution],
            [*main, *warnings[:1], caution],
            [following, pot, mask, *warnings[:1], caution],
        ),
        MOST_LINES,
    )


def told_together(clocks: Sequence[JobClock], shop: Shop) -> list[str]:
    """The next things of several jobs, the soonest first; in ten lines, and how many more there are."""
    in_order = sorted(clocks, key=lambda clock: (clock.soonest is None, clock.soonest or clock.as_of, clock.job.id))
    lines: list[str] = []
    for number, clock in enumerate(in_order):
        left = len(in_order) - number
        line = _in_short(clock, shop)
        if height([*lines, line]) > MOST_LINES - (left > 1):
            return [*lines, f"And {left} more: advisor job clock JOB."]
        lines.append(line)
    return lines


def job_name(job: Job) -> str:
    """`3 lid`: the number first, for it is what one types."""
    return f"{job.id} {job.piece}"


def kept_words(job: Job, coat: Coat, now: datetime, name: str, shop: Shop) -> str:
    """A coat that was kept just now, in short."""
    what = " ".join([f"{coat.step}," if coat.step else "", name]).strip()
    panel = "test panel, " if coat.panel else ""
    said = _details(coat, now, shop, ("thinner", "pot", "gun"))
    return f"Kept: {job_name(job)}, coat {coat.number}: {panel}{what}, {_span(coat, now, shop)}{said}."


def next_words(following: NextCoat, now: datetime, shop: Shop) -> str:
    """`colour 1 of 2-4, Water-borne colour coat, from 15:10 to 20:10; sand 320-400 first`."""
    of = "" if following.least is None else f" of {_range(following.least, following.most or following.least)}"
    name = f"{following.step} {following.number}{of}" if following.step else f"coat {following.number}"
    grits = "" if following.grits is None else f" {_range(following.grits.coarse, following.grits.fine)}"
    said = f"{name}, {following.coating.name}"
    scuff = f"; sand{grits} first" if following.scuff else ""
    if following.stage is None:
        return said + scuff
    closes = "" if following.closes is None or following.scuff else when_short(following.closes, now, shop)
    until = f" to {closes}, then scuff-sand{grits}" if closes else ""
    if following.opens is None:
        if following.stage.reached is None or following.stage.at_latest is None:
            sheet = f"{span(following.stage.from_sheet)} at {temperature(_reference(shop), shop.units)}"
            by = f"; from {closes} on scuff-sand{grits} first" if closes else ""
            return f"{said}, cannot tell from when (sheet: {sheet}){by}{scuff}"
    elif following.opens <= now:
        return f"{said}, now{until}{scuff}"
    else:
        least = "" if following.sure else " at the latest"
        return f"{said}, from {when_short(following.opens, now, shop)}{least}{until}{scuff}"
    return said + scuff


def pot_words(pot: Pot, now: datetime, shop: Shop) -> str:
    """Until when a mixed pot is good, and the gun clean; that it is dead."""
    until, clean = when_short(pot.until, now, shop), when_short(pot.clean_by, now, shop)
    if pot.until <= now:
        return f"The pot died {until}: not to be sprayed. Is the gun clean?"
    unsure = [] if pot.mixed_said else ["counted from this coat: --mixed TIME if earlier"]
    if pot.guessed is not None:
        unsure.append(f"room not known, taken as {temperature(pot.guessed, shop.units)}")
    said = f"Pot good to {until}, gun clean by {clean}"
    return f"{said} ({'; '.join(unsure)})." if unsure else f"{said}."


def warning_words(warning: JobWarning, shop: Shop) -> str:
    """One sentence on what is passed or about to be; more where one coating may not go over another."""
    if warning.over is not None and warning.under is not None:
        if warning.kind == PANEL_FIRST:
            return f"{warning.coating.name} over {warning.under.name}: a panel first; {warning.over.reason}."
        said = overcoat_told(warning.over, warning.under, warning.coating, shop)
        return {NEVER_OVER: f"Stop: {said}", NEXT_NEVER: f"Not next: {said}"}[warning.kind]
    measured, limit = warning.measured or 0.0, warning.limit or 0.0
    name = warning.coating.name
    count, most = f"{measured:g}", f"{limit:g}"
    thick, thickest = film(measured, shop), film(limit, shop)
    return {
        COATS: f"{count} coats of {name}, at most {most}: sand back before it cracks.",
        COATS_TODAY: f"{count} coats of {name} today, at most {most} a day.",
        NEXT_COATS: f"The next coat would be number {count} of {name}, at most {most}.",
        BUILD: f"About {thick} of {name} dry, at most {thickest}: sand back, no more coats.",
        NEXT_BUILD: f"The next coat would make about {thick} of {name} dry, at most {thickest}.",
        WET_FILM: f"Wet film {thick}, never over {thickest}: look for pinholes and runs.",
        WET_FILM_USUAL: f"Wet film {thick}, over the usual {thickest}: runs, slow drying.",
        OLD: f"The mix was {span(measured)} old, good for {span(limit)}: it may never harden.",
        AGEING: f"The mix was {span(measured)} old: from {span(limit)} on try it on glass first.",
    }[warning.kind]


def coat_words(coat: Coat, now: datetime, name: str, shop: Shop) -> str:
    """All that was kept of a coat."""
    panel = ", test panel" if coat.panel else ""
    step = f"{coat.step}, " if coat.step else ""
    said = _details(coat, now, shop, ("thinner", "pot", "cup", "gun", "piece"))
    return f"Coat {coat.number}{panel}: {step}{name}, {_span(coat, now, shop)}{said}."


def observation_words(seen: Observation, job: Job, now: datetime, shop: Shop) -> str:
    """What was seen, on which coat, where, how bad."""
    name = "" if seen.defect is None else defects()[seen.defect].name if seen.defect in defects() else seen.defect
    what = (f"no {name}" if name else "good") if seen.good else (name or "bad")
    number = next((coat.number for coat in job.coats if coat.id == seen.coat), None)
    parts = [
        what,
        _SEVERITIES.get(seen.severity or 0, ""),
        "" if number is None else f"coat {number}",
        seen.spot,
        seen.text,
        "" if seen.photo is None else f"photo {seen.photo}",
    ]
    return f"Seen {when_short(seen.at, now, shop)}: {', '.join(part for part in parts if part)}."


def rework_words(rework: Rework, now: datetime, shop: Shop) -> str:
    """What was done to the piece."""
    return f"Rework {when_short(rework.at, now, shop)}: {rework.what}."


def _in_short(clock: JobClock, shop: Shop) -> str:
    """One job in two or three lines."""
    parts = [] if clock.next is None else [next_words(clock.next, clock.as_of, shop)]
    if clock.pot is not None:
        parts.append(pot_words(clock.pot, clock.as_of, shop).rstrip("."))
    if clock.mask_until is not None and clock.mask_until > clock.as_of:
        parts.append(f"mask and fan to {when_short(clock.mask_until, clock.as_of, shop)} at least")
    if clock.position is not None and clock.position.complete:
        parts.append(_hardening(clock, shop)[3].rstrip("."))
    grave = [warning_words(each, shop).rstrip(".") for each in clock.warnings if each.kind in (NEVER_OVER, NEXT_NEVER)]
    return f"{job_name(clock.job)}: {'. '.join([part for part in [*grave, *parts] if part] or ['no coat yet'])}."


def _standing(clock: JobClock, shop: Shop) -> str:
    job = clock.job
    if clock.last is None:
        return f"{job_name(job)}: no coat yet."
    count, name = len(job.on_piece), shop.coating(clock.last.coating).name
    coats = "1 coat" if count == 1 else f"{count} coats"
    return f"{job_name(job)}: {coats}, the last {name}, {_span(clock.last, clock.as_of, shop)}."


def _mask(clock: JobClock, shop: Shop) -> str:
    if clock.mask_until is None or clock.mask_until <= clock.as_of:
        return ""
    until = when_short(clock.mask_until, clock.as_of, shop)
    return f"Mask and fan on to {until} at least; that is a minimum, never a clearance."


def _caution(clock: JobClock) -> str:
    """Of what was sprayed last, or of what comes."""
    coating = clock.cured.coating if clock.cured else clock.next.coating if clock.next else None
    return "" if coating is None else short_caution(coating)


def _hardening(clock: JobClock, shop: Shop) -> tuple[list[str], list[str], str, str]:
    """What went wrong, the gravest of it, the stages to come, the next and the last of them."""
    if clock.cured is None:
        return [], [], "", ""
    wrong = wrong_with(clock.cured, shop, {BRIDGED})
    gravest = wrong_with(clock.cured, shop, {BRIDGED, NO_CREDIT})
    later = replace(clock.cured, stages=tuple(s for s in clock.cured.stages if s.stage not in ("recoat", SCUFF)))
    return wrong, gravest, to_come(later, shop, ""), to_come(later, shop, "", short=True)


def _span(coat: Spraying, now: datetime, shop: Shop) -> str:
    start, end = when_short(coat.started_at, now, shop), when_short(coat.ended_at, coat.started_at, shop)
    return start if start == end else f"{start} to {end}"


def _details(coat: Spraying, now: datetime, shop: Shop, groups: Sequence[str]) -> str:
    """What was said of a coat, with a semicolon before it; nothing where nothing was."""
    cup = cups()[coat.cup].name if coat.cup in cups() else coat.cup
    sanded = {None: "", 0: "not sanded before"}.get(coat.sanded, f"sanded {coat.sanded} before")
    seconds = "" if coat.cup_seconds is None else f"{trimmed(coat.cup_seconds, 1)} s in {cup}"
    said = {
        "thinner": [
            "" if coat.thinning is None else f"thinned {percent(coat.thinning, 1)}",
            "" if coat.thinner is None else f"{coat.thinner} thinner",
            "" if coat.retarder is None else f"retarder {percent(coat.retarder, 1)}",
        ],
        "pot": [
            "" if coat.hardener is None else f"hardener {volume(coat.hardener, shop)}",
            "" if coat.mixed_at is None else f"mixed {when_short(coat.mixed_at, now, shop)}",
        ],
        "cup": [seconds, "" if coat.material is None else f"material {temperature(coat.material, shop.units)}"],
        "gun": [
            "" if coat.needle is None else f"needle {trimmed(coat.needle * 1e3, 2)} mm",
            "" if coat.gun_pressure is None else pressure(coat.gun_pressure, shop),
            "" if coat.wet_film is None else f"wet film {film(coat.wet_film, shop)}",
        ],
        "piece": [
            "" if coat.surface is None else f"piece {temperature(coat.surface, shop.units)}",
            sanded,
            "" if coat.place is None else f"place {coat.place}",
            coat.note,
        ],
    }
    parts = [part for group in groups for part in said[group] if part]
    return f"; {', '.join(parts)}" if parts else ""


def _range(low: int, high: int) -> str:
    return f"{low}" if low == high else f"{low}-{high}"


def _reference(shop: Shop) -> float:
    return shop.limit("reference_temperature").value
