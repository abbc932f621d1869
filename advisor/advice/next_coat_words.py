"""Whether the next coat may be sprayed, in words: the answer first, then why not, then until when and the pot."""

from collections.abc import Sequence

from advisor.advice.cure_words import when_short
from advisor.advice.job_clock import JobClock
from advisor.advice.job_clock_words import coat_name, grits_words, pot_words, warning_words
from advisor.advice.job_words import job_name
from advisor.advice.next_coat import NextCoatAnswer, PotInGun, Reason
from advisor.advice.phrases import at_reference, hand_test
from advisor.say.fitting import STAYS, fitted, paragraph
from advisor.say.numbers import span, temperature
from advisor.shop.shop import Shop

_ANSWERS = {
    True: "YES, by clock, air and your own hand",
    False: "NO, not now",
    None: "CANNOT SAY YES",
}
MOST_LINES = 8
WHY = {
    "no_coating": "Nobody said of what: name a coating.",
    "done": "Job {job} is done: advisor job edit {id} done=no opens it.",
    "complete": "All coats of its schedule are on.",
    "complete_but": "All coats of its schedule are on. One more {name} is usual: name it with --coating.",
    "old": "The mix is {age} old, good for {life}: mix anew.",
    "day_full": "Today had its {limit:g} coats of {name}: not before {when}.",
    "never": "Never at {warmth}: the coat below stands still, warm the room.",
    "not_before": "Not before {when}; then try it: {hand}.",
    "not_before_at_the_latest": "Not before {when} at the latest; then try it: {hand}.",
    "room_unknown": "Cannot tell from when: the room's temperature is not known (sheet: {sheet}).",
    "gap": "Cannot tell: a gap in the room's temperature (sheet: {sheet}); surely from {when}.",
    "pot_dead": "The pot died {when}: mix anew, then --mixed TIME. Is the gun clean?",
    "pot_dies": "The pot dies {when}, before the coat is on: clean the gun in time, mix anew, then --mixed TIME.",
    "bad_panel": "The test panel of it was bad.",
    "no_panel": "A panel first over {name}: advisor job coat --panel, then advisor job panel good.",
    "not_logged": "Of {name} {measured:g} of {limit:g} coats are logged: what is below it is not known.",
    "no_schedule": "Its schedule is not known any more: what belongs below it is not known.",
    "no_air": "The air was not asked: advisor check --job.",
    "air": "{name}",
    "untried": "Try it by hand first: {hand}; if so, --tried.",
}


def why_words(answer: NextCoatAnswer, clock: JobClock, shop: Shop) -> list[str]:
    """Its reasons in sentences, none twice."""
    return [*dict.fromkeys(_reason_words(each, clock, shop) for each in answer.why)]


def _reason_words(reason: Reason, clock: JobClock, shop: Shop) -> str:
    if reason.warning is not None:
        return warning_words(reason.warning, shop, clock.as_of)
    return WHY[reason.kind].format(
        job=job_name(clock.job),
        id=clock.job.id,
        name=reason.name,
        measured=reason.measured,
        limit=reason.limit,
        age=span(reason.measured),
        life=span(reason.limit),
        warmth=temperature(reason.measured, shop.units),
        sheet=at_reference(reason.limit, shop),
        when="" if reason.at is None else when_short(reason.at, clock.as_of, shop),
        hand=hand_test(None if clock.cured is None else clock.cured.coating),
    )


def answer_words(answer: NextCoatAnswer, clock: JobClock, pot: PotInGun | None, shop: Shop) -> Sequence[str]:
    """Eight lines at most: the answer, the reasons, the gravest first, scuff and window, pot."""
    following, now, why = clock.next, clock.as_of, why_words(answer, clock, shop)
    if following is None:
        return [f"{_ANSWERS[answer.allowed]}: next coat on {job_name(clock.job)}.", *why]
    untried = answer.allowed is None and [each.kind for each in answer.why] == ["untried"]
    said = "NOT YET A YES, try it by hand" if untried else _ANSWERS[answer.allowed]
    head = f"{said}: {coat_name(following)}, {following.coating.name}, on {job_name(clock.job)}."
    grits = grits_words(following)
    scuff = f"Sand{grits} first." if answer.scuff else ""
    if answer.until is not None and not answer.scuff:
        scuff = f"From {when_short(answer.until, now, shop)} on scuff-sand{grits} first."
    return fitted(
        [
            paragraph(head),
            *(paragraph(text, min(n + 1, 4) if n else STAYS) for n, text in enumerate(why)),
            paragraph(scuff, 5),
            paragraph(_pot_words(clock, pot, shop), 1),
        ],
        MOST_LINES,
    )


def _pot_words(clock: JobClock, pot: PotInGun | None, shop: Shop) -> str:
    """Until when what is in the gun is good; nothing where that is no matter, or was said as a reason."""
    if pot is None:
        mine = clock.pot is not None and clock.next is not None and clock.pot.coating.id == clock.next.coating.id
        alive = clock.pot is not None and clock.as_of < clock.pot.until
        return pot_words(clock.pot, clock.as_of, shop) if clock.pot is not None and mine and alive else ""
    if pot.until is None or pot.until <= clock.as_of:
        return ""
    guess = "" if pot.guessed is None else f" (room not known, taken as {temperature(pot.guessed, shop.units)})"
    return f"Pot good to {when_short(pot.until, clock.as_of, shop)}{guess}."
