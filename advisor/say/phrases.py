"""The phrases that words.py puts together: data, one table for each kind of thing said."""

from advisor.catalog.coatings import Coating
from advisor.judge.verdict import State, cautions_for
from advisor.physics.paint.cups import cups
from advisor.say.fitting import first_met
from advisor.say.numbers import film, span, temperature
from advisor.shop.shop import Shop

STATE_WORDS = {State.GO: "GO", State.CHANGE: "GO WITH CHANGES", State.WAIT: "WAIT"}

QUANTITY_WORDS = {
    "air_temperature": "air temperature",
    "relative_humidity": "humidity",
    "surface_temperature": "surface temperature",
}

RECORDED_HINT = "A recorded file? Judge it with --at last."

NO_WAY = "Wait for other air: no change that was tried turns it."
MEASURE_IT = "Measure the piece then."
HEATER_OFF_FIRST = "Heater off, or proved fit for the spray zone, before the gun is picked up."
DRYER_OFF_FIRST = "Dryer off, or proved fit for the spray zone, before the gun is picked up."
REMEDY_WORDS = {
    "hold_room": "Keep the room at {temperature} or more while it cures; the safety data sheet says how.",
    "read_after_fan": "Wait for other air outdoors, or warm the air that comes in; read again after 10 min of fan.",
    "fan_trial": "Fan on 10 min, booth empty; read the air at the work, then decide (advisor trial).",
    "less_vapour": "More fan, or spray less an hour.",
    "warm_room": "Warm the room to {temperature}{then}. " + HEATER_OFF_FIRST,
    "warm_room_and_hold": "Warm the room to {temperature}{then}, and keep it so while the film hardens. "
    + HEATER_OFF_FIRST,
    "cool_piece": "Let the piece cool to {temperature}, measured, out of the sun.",
    "cool_room": "Wait for the room to cool to {temperature}, or spray in the cool of the day.",
    "warm_room_and_pieces": "Warm room AND pieces to {temperature}{same}. " + HEATER_OFF_FIRST,
    "dry_air": "Dry the air to {humidity}, or wait. " + DRYER_OFF_FIRST,
    "warm_piece": "Warm the piece to {temperature}, measured; then check that it is dry.",
    "measure_piece": "Read the piece with an infrared thermometer (not on bare metal or wet gloss).",
    "measure_or_settled": "Measure the piece; or is it here since yesterday? Then add --piece-in 24h.",
    "allow_longer": "Warm the tin in warm water, never by flame; allow longer between coats.",
    "allow_longer_damp": "Thin coats, and allow longer between them.",
    "thin_coats_moving_air": "Thin coats, keep air moving over them, and allow longer between coats.",
    "slower_thinner_or_retarder": "Slower thinner, or {retarder} within the data sheet; spray a test panel first.",
    "panel_first": "Spray a test panel first: same wood, same mix.",
    "another_panel": "Change the mix or wait for other air; then another test panel.",
    "wet_coats_slower": "Slower thinner within the data sheet; gun closer, wetter coats.",
    "thin_coats": "Thin coats, and allow longer between them; keep dust down while the film is open.",
    "extender_for_dry": "Water or extender within the data sheet; gun closer, larger needle. Dampen the floor.",
    "slow_it_down_water": "Water or extender within the data sheet; gun closer, larger needle.",
    "slower_thinner_for_warm": "Slower thinner within the data sheet; gun closer, wetter coats.",
    "wet_coats": "Gun closer, even wet coats. Keep the piece out of the sun.",
    "slower_thinner_for_dry": "Slower thinner within the data sheet; gun closer, wetter coats. Ground against static.",
    "wet_coats_for_dry": "Gun closer, even wet coats. Wipe dust off just before: dry air makes static.",
}

CAUTION_WORDS = {
    "isocyanate": "Isocyanate gives no warning smell: respirator or supplied air as the safety data sheet and local"
    " rules say, cartridges on a change schedule, other people out of the building's air.",
    "hardener-skin": "Keep hardener off the skin and out of the eyes.",
    "flammable": "Flammable: no flame, spark or smoking near the work, and none until the vapour is gone.",
    "rated-equipment": "Fan, lamp and motor in the spray area must be rated for it; ordinary cleaners, heaters,"
    " dehumidifiers, tablets and phones are not.",
    "formaldehyde": "Gives off formaldehyde while it cures: keep airing after the last coat.",
    "oily-rags": "Oily rags catch fire by themselves: lay them flat outdoors or under water in a metal can.",
    "mixed-residues": "Residues of different coatings in one bin or filter can catch fire by themselves.",
    "finish-only": "GO is about the finish, never about the air being fit to breathe.",
    "respirator": "Mask and fan on while spraying and after the last coat, as the safety data sheet says.",
    "authorities": "The safety data sheet, local codes and licensed practice decide.",
    "no-alarm": "This tool is no gas alarm and switches nothing.",
}
LONGEST_SHORT_CAUTION = 90

# What the coat below must have reached, by its number
AFTER_WORDS = {
    "recoat_from_high": "from its recoat time on",
    "before_two_pack_clear": "after its wait before a two-pack",
    "sand_high": "once it sands to dust",
    "sand_flat": "once it sands flat",
    "full_cure_high": "once it is fully cured",
}
TRY_A_PANEL = "; try a panel"
GOES_OVER = "Over another coat (times of the coat below, at {at}; the data sheets of both decide):"
GOES_OVER_HEADS = {
    "own window": "Goes over itself:",
    "yes": "Goes over, try a panel still:",
    "panel": "Goes over once a panel has held:",
    "no": "Never straight over:",
}
FRESH_TWO_PACK_DUST = "Dust of a fresh two-pack carries isocyanate: mask by the safety data sheet."
ANY_OTHER_KIND = "any other kind"
RESIDUES_APART = (
    "Changing to or from {others}: residues together in one filter or bin can catch fire by themselves. Change the"
    " filter, take another bin; oily rags flat outdoors or under water. Local codes decide."
)


def state_said(state: State, cannot_tell: bool) -> str:
    """`GO`, `GO WITH CHANGES`, `WAIT` or `WAIT, cannot tell`."""
    return STATE_WORDS[state] + (", cannot tell" if cannot_tell else "")


def at_reference(seconds: float, shop: Shop) -> str:
    """How long by the data sheet: `60 min at 23 °C`."""
    return f"{span(seconds)} at {temperature(shop.limit('reference_temperature').value, shop.units)}"


def said_of(measured: float, limit: float, shop: Shop) -> dict[str, str | float]:
    """What came and what is allowed, as an age [s], a film [m] and a count: a sentence takes of it what it is about."""
    return {
        "age": span(measured), "life": span(limit), "film": film(measured, shop.units),
        "thickest": film(limit, shop.units), "count": measured, "most": limit,
    }  # fmt: skip


def cup_name(cup: str | None) -> str | None:
    """As it is printed on the cup; what no table knows as it was typed."""
    return cups()[cup].name if cup is not None and cup in cups() else cup


def cautions_of(coating: Coating) -> list[str]:
    """Every caution of a coating in full, gravest first."""
    return [CAUTION_WORDS[key] for key in cautions_for(coating)]


def short_caution(coating: Coating) -> str:
    """One line of at most 90 characters for every verdict."""
    both = "Isocyanate has no warning smell; flammable, no sparks: safety data sheet first."
    return first_met(
        (coating.isocyanate and coating.flammable, both),
        (coating.isocyanate, "Isocyanate has no warning smell: mask and fan as the safety data sheet says."),
        (coating.hardens_by == "oxidation", "Flammable; oily rags ignite by themselves. Safety data sheet decides."),
        (coating.flammable, "Flammable: no sparks, rated fan and lamp, mask. Safety data sheet decides."),
        (True, "GO is about the finish, not the air you breathe: mask and fan by the data sheet."),
    )


# tried by hand before the next coat: a clock counts hours, only the coat itself tells that it is ready; common
# practice, no source. Nobody is sent to smell a coat that holds isocyanate: it has no warning smell
BARE = "dry, sanded, free of dust"  # wood, or whatever the first coat goes on


def hand_test(under: Coating | None) -> str:
    """What the coat below must answer, in a few words; of a bare piece where there is none."""
    return BARE if under is None else first_met(
        # what melts into the next coat need not sand, but must have let its solvent go
        (under.burns_in, "no smell, no thumb print"),
        (under.carrier == "water", "sands to powder, not cool to the touch"),
        (under.isocyanate, "sands to powder, no thumb print"),
        (True, "sands to powder, no smell"),
    )  # fmt: skip
