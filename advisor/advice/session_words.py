"""What is said of a session ahead: how it was reckoned, where it fails, and the ways out of it."""

from advisor.advice.fan import fan_flows
from advisor.advice.measures import difference, percent, reachable, span, temperature, trimmed
from advisor.advice.phrases import HEATER_OFF_FIRST, MEASURE_IT, STATE_WORDS
from advisor.advice.remedies import (
    FEWER,
    RETARDER,
    THINNER,
    WAIT_UNTIL,
    WARM_MAKE_UP,
    WARM_MAKE_UP_AND_PIECES,
    WARM_PIECES,
    WARM_ROOM,
    WARM_THROUGH,
    Way,
)
from advisor.advice.session import Session
from advisor.catalog.coatings import Coating
from advisor.shop.shop import Shop

_HEATER_FIT = "Its heater stands outside the spray zone, or is proved fit for it."


def reckoned(session: Session, shop: Shop) -> str:
    """`Session of 16 min, one coat, outdoors 18 °C, 60 %`."""
    coats = "one coat" if session.plan.coats == 1 else f"{session.plan.coats} coats"
    return f"Session of {span(session.plan.length)}, {coats}, {outdoors(session, shop)}"


def by_which_fan(session: Session, shop: Shop) -> str:
    """Which of the two flows an unmeasured fan may have makes it fail."""
    least, most = fan_flows(shop)[0], fan_flows(shop)[-1]
    return "if the fan moves its full plate" if session.flow == most != least else "if it moves half its plate"


def outdoors(session: Session, shop: Shop) -> str:
    """`outdoors 18 °C, 60 %`."""
    return f"outdoors {temperature(session.outdoors[0], shop.units)}, {percent(session.outdoors[1])}"


def way_words(way: Way, coating: Coating, shop: Shop) -> str:
    """One way, what it costs, and what it comes to."""
    pieces = "" if way.pieces is None else reachable(way.pieces, True, shop.units)
    warm = "" if way.temperature is None else temperature(way.temperature, shop.units, 0)
    rise = "" if not way.rise else f"by {difference(way.rise, shop.units, 0)}"
    power = "" if way.power is None else f"{trimmed(way.power / 1e3, 1)} kW"
    energy = f"{trimmed(way.energy / 3.6e6, 1)} kWh"
    minutes = span(round(way.minutes) * 60.0)
    come_in = f"the air that comes in {rise} ({power} while the fan runs)" if rise else ""
    said = {
        THINNER: f"{(way.pot.thinner or '').capitalize()} thinner.",
        RETARDER: f"{percent(way.pot.retarder, 1)} of all solvent as {(*coating.retarders, 'retarder')[0]}.",
        FEWER: f"{'One coat' if way.plan.coats == 1 else f'{way.plan.coats} coats'} only.",
        WARM_PIECES: f"Warm the pieces to {pieces} first, some {minutes} in a warm place.",
        WARM_ROOM: f"Heat room and pieces {minutes}, door shut, {power}, to {warm} ({energy}). {HEATER_OFF_FIRST}",
        WARM_MAKE_UP: f"Warm {come_in}. {_HEATER_FIT}",
        WARM_MAKE_UP_AND_PIECES: f"Warm the pieces to {pieces}, and {come_in}. {_HEATER_FIT}",
        WAIT_UNTIL: f"Wait some {span(round(way.minutes / 15.0) * 900.0)}: likely air then would do. Read again then.",
        WARM_THROUGH: f"Keep room, walls and pieces at {warm} from the day before"
        + (f", and warm {come_in}. {_HEATER_FIT}" if come_in else f". {HEATER_OFF_FIRST}"),
    }[way.kind]
    if way.kind == WAIT_UNTIL:
        return said
    measure = f" {MEASURE_IT}" if way.measure else ""
    return f"{said}{measure} Then {STATE_WORDS[way.state]}."
