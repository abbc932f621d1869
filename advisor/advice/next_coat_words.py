"""Whether the next coat may be sprayed, in words: the answer first, then why not, then until when and the pot."""

from collections.abc import Sequence

from advisor.advice.cure_words import when_short
from advisor.advice.fitting import first_that_fits
from advisor.advice.job_clock import JobClock
from advisor.advice.job_clock_words import pot_words
from advisor.advice.job_words import from_to, job_name
from advisor.advice.measures import temperature
from advisor.advice.next_coat import NextCoatAnswer, PotInGun
from advisor.shop.shop import Shop

_ANSWERS = {
    True: "YES, by clock, air and your own hand",
    False: "NO, not now",
    None: "CANNOT SAY YES",
}
MOST_LINES = 8


def answer_words(answer: NextCoatAnswer, clock: JobClock, pot: PotInGun | None, shop: Shop) -> Sequence[str]:
    """Eight lines at most: the answer, the reasons, the gravest first, scuff and window, pot."""
    following, now = clock.next, clock.as_of
    if following is None:
        return [f"{_ANSWERS[answer.allowed]}: next coat on {job_name(clock.job)}.", *answer.why]
    of = "" if following.least is None else f" of {from_to(following.least, following.most or following.least)}"
    step = f"{following.step} {following.number}{of}" if following.step else f"coat {following.number}"
    untried = answer.allowed is None and len(answer.why) == 1 and "--tried" in answer.why[0]
    said = "NOT YET A YES, try it by hand" if untried else _ANSWERS[answer.allowed]
    head = f"{said}: {step}, {following.coating.name}, on {job_name(clock.job)}."
    grits = "" if following.grits is None else f" {from_to(following.grits.coarse, following.grits.fine)}"
    scuff = f"Sand{grits} first." if answer.scuff else ""
    if answer.until is not None and not answer.scuff:
        scuff = f"From {when_short(answer.until, now, shop)} on scuff-sand{grits} first."
    mixed = _pot_words(clock, pot, shop)
    why = list(answer.why)
    return first_that_fits(
        ([head, *why, scuff, mixed], [head, *why, mixed], [head, *why[:3], mixed], [head, *why[:2], mixed],
         [head, *why[:1], mixed], [head, *why[:1]]),
        MOST_LINES,
    )  # fmt: skip


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
