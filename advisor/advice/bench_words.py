"""What the mixing bench says, in at most eight short lines."""

from datetime import datetime, timedelta

from advisor.advice.bench import BenchAnswer, InThePot
from advisor.advice.measures import clock, percent, reachable, span, temperature, trimmed, volume
from advisor.advice.words import short_caution
from advisor.catalog.coatings import Coating
from advisor.physics.cups import cups
from advisor.shop.shop import US, Shop


def told(answer: BenchAnswer, pot: InThePot, coating: Coating, now: datetime, shop: Shop) -> list[str]:
    """The answer as short paragraphs, one thought each."""
    lines = [
        f"{coating.name}. {_reading(answer, pot, shop)}",
        _pour(answer, pot, coating, shop),
        _thinner(answer, coating, shop),
        _pot_life(answer, coating, now, shop),
        _cost(answer, shop),
        _needle(coating, shop),
        _gate(coating),
        short_caution(coating),
    ]
    return [line for line in lines if line]


def _reading(answer: BenchAnswer, pot: InThePot, shop: Shop) -> str:
    thick = trimmed(answer.viscosity * 1e6, 0)
    said = f"{trimmed(pot.seconds, 1)} s in {pot.cup.name} at {temperature(pot.material, shop.units)}: {thick} mm2/s"
    if answer.in_range:
        return f"{said}."
    better = "" if answer.better_cup is None else f"; {_name(answer.better_cup)} would measure it"
    return f"{said}, an estimate (outside this cup's range){better}."


def _name(cup: str) -> str:
    known = cups()
    return known[cup].name if cup in known else cup


def _pour(answer: BenchAnswer, pot: InThePot, coating: Coating, shop: Shop) -> str:
    seconds = f"{trimmed(answer.reached_seconds, 0)} s"
    if answer.thinner <= 0.0 and not answer.capped:
        return f"Add nothing: it runs as it is ({seconds})."
    what = coating.thinners[0] if len(coating.thinners) == 1 else "thinner"
    steps = " In steps of 2 to 3 %: rest, measure again." if coating.carrier == "water" and answer.thinner > 0 else ""
    said = "Add nothing more" if answer.thinner <= 0.0 else (
        f"Add {volume(answer.thinner, shop.units)} of {what} to {volume(pot.batch, shop.units)}"
        f" ({percent(answer.share, 1)})"
    )  # fmt: skip
    if not answer.capped:
        return f"{said}: then {seconds}.{steps}"
    limit = f"the limit of {percent(answer.most_thinning)}"
    if answer.warm_to is not None:
        warm = reachable(answer.warm_to, True, shop.units)
        return f"{said}: {limit}, then {seconds}. Still thick: warm the tin to {warm} in warm water, never by flame."
    return f"{said}: {limit}, then {seconds}. Still thick: use the larger needle."


def _thinner(answer: BenchAnswer, coating: Coating, shop: Shop) -> str:
    today = answer.thinner_today
    if today is None:
        return ""
    said = f"Today's air: {today.speed} thinner"
    if today.retarder_share:
        name = coating.retarders[0] if coating.retarders else "retarder"
        said += f", {volume(today.retarder, shop.units)} of it {name}"
    return said + ("." if today.recoat_from is None else f"; next coat after {span(today.recoat_from)}.")


def _pot_life(answer: BenchAnswer, coating: Coating, now: datetime, shop: Shop) -> str:
    said = ""
    if answer.hardener is not None:
        said = f"Hardener {volume(answer.hardener, shop.units)}, exactly, by the sheet. "
    elif coating.hardens_by == "two-pack":
        said = "Hardener by the sheet's ratio only. "
    if answer.pot_life is None:
        return said.strip()
    until = now + timedelta(seconds=answer.pot_life)
    clean = until - timedelta(seconds=shop.limit("clean_gun_before").value)
    said += f"Pot good to {clock(until, shop.zone)}, gun clean by {clock(clean, shop.zone)}."
    return said + (" It dies without thickening: the clock, never the cup." if coating.carrier == "water" else "")


def _cost(answer: BenchAnswer, shop: Shop) -> str:
    dry = answer.dry_film_per_coat
    thick = f"{trimmed(dry / 2.54e-5, 2)} mil" if shop.units == US else f"{trimmed(dry * 1e6, 0)} µm"
    if answer.extra_coats == 0:
        return f"Dry film {thick} a coat."
    more = "one coat" if answer.extra_coats == 1 else f"{answer.extra_coats} coats"
    return f"Dry film {thick} a coat: {more} more for what {answer.coats} unthinned would build."


def _needle(coating: Coating, shop: Shop) -> str:
    low, high = (coating.numbers[f"needle_{edge}"].value * 1e3 for edge in ("low", "high"))
    return f"Needle {trimmed(low, 1)} to {trimmed(high, 1)} mm: prove it on scrap."


def _gate(coating: Coating) -> str:
    never = "; ".join(coating.never_mix_with[:2])
    return f"Never: {never}." if never else ""
