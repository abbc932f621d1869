"""What the mixing bench says: eight lines of 80 columns at most, what stops it first."""

from datetime import datetime, timedelta
from typing import Any

from advisor.bench.batch import Batch
from advisor.bench.bench import BenchAnswer, InThePot
from advisor.bench.bench_gates import AGEING, BUILD, COATS, DEAD, OLD, WET_FILM, WET_FILM_USUAL, Gate
from advisor.catalog.coatings import Coating
from advisor.film.mix import usual
from advisor.say.as_json import Forms, headed, keyed
from advisor.say.fitting import fitted, paragraph
from advisor.say.numbers import area, clock, counted, film, percent, pressures, span, temperature, trimmed, volume
from advisor.say.phrases import cautions_of, cup_name, said_of, short_caution
from advisor.shop.shop import Shop

_MOST_LINES = 8
_OWN_SHEET = "data sheet"  # the tag of a number that the shop has from the tin's own sheet


def told(
    answer: BenchAnswer, pot: InThePot, coating: Coating, now: datetime, shop: Shop, notes: tuple[str, ...] = ()
) -> list[str]:
    """The answer as short paragraphs, one thought each; what can best be missed is left out until it fits.

    notes: sentences from elsewhere, such as what this coat may go over.
    """
    stops = [gate_words(gate, shop) for gate in answer.gates if gate.stop]
    warns = [gate_words(gate, shop) for gate in answer.gates if not gate.stop]
    never = "; ".join(coating.never_mix_with[:2])
    return fitted(
        [
            *map(paragraph, stops),
            paragraph(f"{coating.name}. {_reading(answer, pot, shop)}", 2),
            *map(paragraph, notes),
            paragraph(_pour(answer, pot, coating, shop)),
            paragraph(OWN_READINGS.format(count=own) if (own := answer.flow.readings) else "", 7),
            paragraph(_thinner(answer, coating, shop), 2),
            paragraph(_drop_test(answer, coating), 8),
            paragraph(_pot_life(answer, coating, now, shop), 1),
            paragraph(_area(answer, shop), 3),
            *(paragraph(text, 2 if n else 1) for n, text in enumerate(warns)),
            paragraph(_cost(answer, shop), 6),
            paragraph(_needle(answer, coating, shop), 5),
            paragraph(f"Never: {never}." if never else "", 4),
            paragraph(short_caution(coating)),
        ],
        _MOST_LINES,
    )


OWN_READINGS = "By your own {count} cup readings, not the family's figures."
GATE_WORDS = {
    DEAD: "WAIT: this pot died after {life}, {ago} ago: mix a new one.",
    OLD: "WAIT: mixed {age} ago, good for {life}: it may never harden. New mix.",
    AGEING: "Mixed {age} ago: from {life} on try it on glass, hard by next day?",
    WET_FILM: "WAIT: wet film {film}, never over {thickest}: pinholes and runs. Thinner coats.",
    WET_FILM_USUAL: "Wet film {film} is over the usual {thickest}: runs, slow drying.",
    BUILD: "These coats build {film}, limit {thickest}: leave one out or sand back.",
    COATS: "{count:g} coats, limit {most:g}.",
}


def gate_words(gate: Gate, shop: Shop) -> str:
    """One sentence on a gate that is passed."""
    return GATE_WORDS[gate.kind].format(
        **said_of(gate.measured, gate.limit, shop), ago=span(gate.measured - gate.limit)
    )


def _reading(answer: BenchAnswer, pot: InThePot, shop: Shop) -> str:
    thick = trimmed(answer.viscosity * 1e6, 0)
    said = f"{trimmed(pot.seconds, 1)} s in {pot.cup.name} at {temperature(pot.material, shop.units)}: {thick} mm2/s"
    better = "" if answer.better_cup is None else f"; {cup_name(answer.better_cup)} would measure it"
    estimate = "" if answer.in_range else f", an estimate (outside this cup's range){better}"
    return f"{said}{estimate}."


def _pour(answer: BenchAnswer, pot: InThePot, coating: Coating, shop: Shop) -> str:
    seconds = f"{trimmed(answer.reached_seconds, 0)} s"
    if answer.over_thinned:
        return _too_thin(answer, pot.already, coating, shop)
    if answer.thinner <= 0.0 and not answer.capped:
        return f"Add nothing: it runs as it is ({seconds})."
    what = coating.thinners[0].split(",")[0]  # the grade; its speed is said with the air
    steps = " Steps of 2-3 %, rest, read again." if coating.carrier == "water" and answer.thinner > 0 else ""
    said = "Add nothing more" if answer.thinner <= 0.0 else (
        f"Add {volume(answer.thinner, shop.units)} of {what} to {volume(answer.batch, shop.units)}"
        f" ({percent(answer.share, 1)})"
    )  # fmt: skip
    if not answer.capped:
        return f"{said}: then {seconds}.{steps}"
    way = "use the larger needle" if answer.warm_to is None else (
        f"warm the tin to {temperature(answer.warm_to, shop.units, up=True)} in warm water, never by flame"
    )  # fmt: skip
    return f"{said}: the limit of {percent(answer.most_thinning)}, then {seconds}. Still thick: {way}."


def _too_thin(answer: BenchAnswer, already: float, coating: Coating, shop: Shop) -> str:
    """What is wrong with a pot that has had too much thinner, and the way back."""
    most = f"it takes at most {percent(answer.most_thinning, 1)}" if answer.most_thinning > 0.0 else "it takes none"
    wrong = "it builds little, no more thinner" if answer.capped else "too thin, builds little, may run"
    said = f"Thinned {percent(already, 1)} already, {most}: {wrong}."
    if answer.paint_back is None:
        return f"{said} Mix a new batch unthinned."
    paint = "unthinned paint with its hardener" if coating.hardens_by == "two-pack" else "unthinned paint"
    return f"{said} Mix in {volume(answer.paint_back, shop.units)} of {paint}, or spray thinner coats and more of them."


def _hardener(answer: BenchAnswer, coating: Coating, shop: Shop) -> str:
    """How much hardener, and who says so: only a sheet's own figure is the sheet's."""
    if answer.hardener is None or answer.hardener_source is None:
        return "Hardener by the sheet's ratio only. " if coating.hardens_by == "two-pack" else ""
    amount, source = volume(answer.hardener, shop.units), answer.hardener_source
    return f"Hardener {amount} exactly, by your sheet. " if source.tag == _OWN_SHEET else (
        f"Hardener {amount} at the family's {percent(source.value, 1)} ({source.tag}); the tin's sheet decides. "
    )  # fmt: skip


def _thinner(answer: BenchAnswer, coating: Coating, shop: Shop) -> str:
    today = answer.thinner_today
    if today is None:
        return ""
    retarder = f", {volume(today.retarder, shop.units)} of it {(*coating.retarders, 'retarder')[0]}"
    then = "" if today.recoat_from is None else f"; next coat after {span(today.recoat_from)}"
    return f"Today's air: {today.speed} thinner{retarder if today.retarder_share else ''}{then}."


def _drop_test(answer: BenchAnswer, coating: Coating) -> str:
    """How to tell an unknown thinner's speed, where the speed matters."""
    drop = f"Thinner unknown? A drop each on paper beside a {usual(coating)} one: first gone is faster."
    return drop if answer.thinner_today is not None and len(coating.thinner_speeds) > 1 else ""


def _pot_life(answer: BenchAnswer, coating: Coating, now: datetime, shop: Shop) -> str:
    said = _hardener(answer, coating, shop)
    if not answer.pot_left:
        return said.strip()
    until = now + timedelta(seconds=answer.pot_left)
    clean = until - timedelta(seconds=shop.limit("clean_gun_before").value)
    said += f"Pot good to {clock(until, shop.zone)}, gun clean by {clock(clean, shop.zone)}."
    thickens = coating.numbers.get("discard_at_thickening")
    if coating.carrier == "water":
        return f"{said} By the clock: it dies without thickening. Never close the tin: pressure."
    return said if thickens is None else f"{said} Sooner if {trimmed(thickens.value, 1)} times as thick."


def _area(answer: BenchAnswer, shop: Shop) -> str:
    wanted = answer.for_area
    if wanted is None:
        return ""
    coats, ready = counted(wanted.coats, "a coat"), volume(wanted.ready, shop.units)
    gives = "" if wanted.coats_of_pot is None else f"; this pot gives {trimmed(wanted.coats_of_pot, 1)}"
    said = f"{area(wanted.area, shop.units)}, {coats}: {ready} ready mix from {volume(wanted.paint, shop.units)}{gives}"
    if wanted.coats_in_pot is not None and wanted.coats_in_pot < wanted.coats:
        alone = volume(wanted.a_coat * wanted.coats_in_pot, shop.units)
        return f"{said}. Mix {alone} at a time: the pot dies before coat {wanted.coats_in_pot + 1}."
    return f"{said}."


def _cost(answer: BenchAnswer, shop: Shop) -> str:
    more = f": {counted(answer.extra_coats, 'one coat')} more for what {answer.coats} unthinned would build"
    return f"Dry film {film(answer.dry_film_per_coat, shop.units)} a coat{more if answer.extra_coats else ''}."


def _needle(answer: BenchAnswer, coating: Coating, shop: Shop) -> str:
    low, high = (coating.numbers[f"needle_{edge}"].value * 1e3 for edge in ("low", "high"))
    least, most = (coating.numbers[f"gun_pressure_{edge}"].value for edge in ("low", "high"))
    size = f"{trimmed(answer.needle * 1e3, 1)} mm ({trimmed(low, 1)} to {trimmed(high, 1)})"
    return f"Needle {size}, {pressures(least, most, shop.units)} at the gun: prove it on scrap."


_MIX = (
    "coating=coating.id cup=pot.cup.id seconds=pot.seconds viscosity~=answer.viscosity in_range=answer.in_range"
    " better_cup=answer.better_cup target_viscosity~=answer.target_viscosity"
    " reached_viscosity~=answer.reached_viscosity reached_seconds=answer.reached_seconds thinner~=answer.thinner"
    " share=answer.share thinning=answer.thinning thinning_max=answer.most_thinning capped=answer.capped"
    " over_thinned=answer.over_thinned paint_back~=answer.paint_back warm_to=answer.warm_to"
    " thinner_speed=answer.thinner_today.speed retarder_share=answer.thinner_today.retarder_share"
    " retarder~=answer.thinner_today.retarder recoat_from=answer.thinner_today.recoat_from hardener~=answer.hardener"
    " hardener_source! pot_life=answer.pot_life pot_life_until wet_film~=answer.wet_film"
    " dry_film_per_coat~=answer.dry_film_per_coat extra_coats=answer.extra_coats needle~=answer.needle"
    " batch~=answer.batch for_area=answer.for_area gates=answer.gates stopped=answer.stopped"
    " thinning_slope=answer.flow.slope flow_energy=answer.flow.energy own_readings=answer.flow.readings cautions"
)
_FORMS = Forms(
    {
        Batch: (
            "area coats ready_mix~=ready ready_mix_a_coat~=a_coat paint~ thinner~ hardener~ coats_in_pot coats_of_pot"
        ),
        Gate: "kind measured~ limit~ stop",
    }
)


def mix_record(answer: BenchAnswer, pot: InThePot, coating: Coating, now: datetime) -> dict[str, Any]:
    """The record for JSON: SI."""
    mixed, source = now - timedelta(seconds=pot.age or 0.0), answer.hardener_source
    asked = {
        "answer": answer,
        "pot": pot,
        "coating": coating,
        "hardener_source": source and keyed("share=value tag", source),
        "pot_life_until": None if answer.pot_life is None else mixed + timedelta(seconds=answer.pot_life),
        "cautions": cautions_of(coating),
    }
    return headed(now, _FORMS.keyed(_MIX, asked))
