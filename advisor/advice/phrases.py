"""The phrases that words.py puts together: data, one table for each kind of thing said."""

from advisor.advice.verdict import State

STATE_WORDS = {State.GO: "GO", State.CHANGE: "GO WITH CHANGES", State.WAIT: "WAIT"}

QUANTITY_WORDS = {
    "air_temperature": "air temperature",
    "relative_humidity": "humidity",
    "surface_temperature": "surface temperature",
}

# Why a reading may not decide, said of "the <quantity> reading".
REASON_WORDS = {
    "missing": "No {quantity} reading.",
    "stale": "The newest {quantity} reading is {age} old; it counts for {fresh_for}.",
    "not-a-number": "The newest {quantity} reading is not a number.",
    "out-of-range": "The newest {quantity} reading cannot be air ({range}). Wrong unit, or a broken sensor?",
    "wrong-unit": "The {quantity} sensor seems to send another unit than is declared, as Fahrenheit for Celsius.",
    "step": "The {quantity} reading just jumped faster than air turns.",
    "stuck": "The {quantity} reading has not moved for hours, or not with what is beside it: sensor or radio is stuck.",
    "still": "Air and humidity have not moved by a digit for an hour.",
    "offline": "The {quantity} sensor has said that it is offline.",
    "pinned": "The humidity sensor has stood at its end stop for hours: that is the sensor, not the air.",
    "disagrees": "Two {quantity} sensors at one place have disagreed for over a quarter of an hour.",
    "future": "The {quantity} reading is stamped in the future: the sensor's clock is wrong.",
    "conflict": "The {quantity} sensor gave two different values for one moment.",
    "half-line": "The file ends in the middle of a line: its newest reading is cut off.",
    "unreadable-line": "The file ends in a line that cannot be read.",
    "not-live": "The newest {quantity} message is a stored one, not a live reading.",
    "no-store": "The logbook cannot be written.",
    "log-gone": "The logbook was moved, replaced or cut short while it was in use; it is opened anew.",
    "damaged": "The logbook is damaged.",
    "starting": "The daemon has just started; its first word comes within a minute or two.",
    "fault": "The advisor met a fault of its own; its log says which.",
    "clock-set": "The machine's clock was just set; no reading has come in since.",
    "no-film": "No film is computed for such air: nobody sprays in it.",
    "vapour": "Solvent was sprayed here less than {vapour_for} ago: its vapour shifts humidity sensors.",
}
REASON_REMEDIES = {
    "missing": "Read thermometer and hygrometer, and give both.",
    "not-a-number": "Look at the sensor, then read again.",
    "out-of-range": "Check the declared unit and the sensor.",
    "wrong-unit": "Correct the unit of the column or the sensor.",
    "step": "Read again in a minute.",
    "still": "Breathe on the sensor: it must move.",
    "offline": "Look at the sensor's power and radio.",
    "stuck": "Breathe on the sensor: if the reading stays, restart or replace it.",
    "pinned": "Air the sensor in a dry warm place, or replace it; then read again.",
    "disagrees": "Put both sensors side by side; trust neither until they agree.",
    "future": "Set the sensor's clock.",
    "conflict": "Two sensors in one file? Name them in a sensor or place column.",
    "half-line": "Read it again in a minute; if the last line is whole, give it a line end.",
    "unreadable-line": "Look at the end of the file.",
    "not-live": "Wait for the sensor's next message.",
    "no-store": "Look at the disk and the rights of the logbook.",
    "log-gone": "Look what became of its file; a copy of it is kept beside it where it could still be read.",
    "damaged": "Move it away with its -wal and -shm, and put a copy back or let a new one begin.",
    "starting": "Ask again in a minute.",
    "fault": "Look at its log, and judge by hand until it is mended.",
    "clock-set": "Wait for the next reading.",
    "vapour": "Air the room and the sensor; read again when the hour is over.",
}
STALE_REMEDY = "Read again."
# The same marks, counted over many readings
MARK_WORDS = {
    "missing": "missing",
    "not-a-number": "no number",
    "out-of-range": "out of range",
    "wrong-unit": "in the wrong unit",
    "step": "sudden jump",
    "stuck": "stuck",
    "still": "unmoved for an hour",
    "offline": "offline",
    "pinned": "at the end stop",
    "disagrees": "against a sister sensor",
    "future": "stamped in the future",
    "conflict": "two values at one moment",
    "not-live": "stored, not live",
    "half-line": "cut off",
}
RECORDED_HINT = "A recorded file? Judge it with --at last."

NO_WAY = "Do: Wait for other air: no change that was tried turns it."
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
OTHER_MAKE = "one kind, two makes"
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
