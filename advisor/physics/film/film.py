"""A wet film on a piece of wood, metal or glass: what its temperature, solvents and water do from the gun to dry.

One function over any number of cases at once. State of each case: the mass of every liquid, water among them (taken up,
condensed, given back), the film's temperature, and the heat in the piece under it. Within a step each liquid leaves
exponentially, so no mass turns negative, with its activity extrapolated to the step's middle; the evaporated mass so
found enters the heat balance, which is solved for the temperature at the step's end (Newton), and the piece's heat is
exact for a steady flow. Tests hold it to a stiff solver within 0.1 K.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from advisor.errors import OutOfRange
from advisor.physics.basics import ZERO_CELSIUS, Array, all_inside
from advisor.physics.film.film_step import Air, Films, State, over, stepped, steps_until, wood_of
from advisor.physics.film.slab import CELLS, slab_modes

_STOP_EVERY = 8  # steps between looks whether all films have set

FILM_TEMPERATURE_RANGE = (-40.0, 60.0)  # [°C], of pieces, air and landed films


@dataclass(frozen=True)
class HeatBalance:
    """Where the heat went, each (N,) [J/m2]: what came from air and walls, what evaporating took, what is where."""

    received: Array
    evaporated: Array
    into_film: Array
    into_piece: Array
    out_of_back: Array


@dataclass(frozen=True)
class History:
    """What happened at M moments.

    moments (M,) [s]; temperature (M, N) [°C]; masses (M, N, S) [kg/m2]; solids (M, N): volume share of the resin;
    heat: the balance over the whole time, None where it was not kept.
    """

    moments: Array
    temperature: Array
    masses: Array
    solids: Array
    heat: HeatBalance | None


def dry(
    films: Films,
    airs: Sequence[Air],
    moments: Array | None = None,
    *,
    cells: int = CELLS,
    set_at: float | None = None,
    at_least: float = 0.0,
    balance: bool = False,
) -> History:
    """Dry the films through one air after the other.

    moments: as of `steps_until`, which also makes the default; the ends of the airs must be among them. cells: into how
    many the slab is cut. set_at: stop once every film has reached this share of solids and at_least [s] are past.
    balance: keep the heat's account. Range: laminar air near one atmosphere, temperatures -40 to 60 °C. Raises
    OutOfRange for figures that are no film.
    """
    _refuse_nonsense(films, airs)
    if moments is None:
        moments = steps_until([air.until for air in airs])
    wood = wood_of(films, slab_modes(films.slabs, cells))
    count = len(films.piece)
    state = State(
        films.masses.astype(np.float64), films.temperature + ZERO_CELSIUS,
        np.zeros((count, wood.rates.shape[1])), None, 1.0, np.zeros(count), None,
    )  # fmt: skip
    kept, ledger = [state], np.zeros((4, count))
    stage, above = 0, over(airs[0], films, wood)
    for step in range(1, len(moments)):
        while moments[step] > airs[stage].until:
            stage += 1
            above = over(airs[stage], films, wood)
        state = stepped(state, films, above, wood, float(moments[step] - moments[step - 1]), balance)
        kept.append(state)
        if state.heats is not None:
            ledger += np.stack(state.heats)
        if (
            set_at is not None
            and step % _STOP_EVERY == 0
            and moments[step] >= at_least
            and _all_set(state, films, set_at)
        ):
            break
    masses = np.array([each.masses for each in kept])
    into_piece = (wood.heat_content * state.modes).sum(axis=1)
    return History(
        moments=moments[: len(kept)],
        temperature=np.array([each.kelvin for each in kept]) - ZERO_CELSIUS,
        masses=masses,
        solids=films.resin_volume / (films.resin_volume + (masses / films.liquids.density).sum(axis=2)),
        heat=HeatBalance(ledger[0], ledger[1], ledger[2], into_piece, ledger[3] - into_piece) if balance else None,
    )


def _all_set(state: State, films: Films, solids: float) -> bool:
    volume = films.resin_volume + state.masses @ films.liquids.inverse_density
    return bool(np.all(films.resin_volume >= solids * volume))


def _refuse_nonsense(films: Films, airs: Sequence[Air]) -> None:
    if not airs:
        raise OutOfRange("no air", "one stage at least", "say what air the film dries in")
    for name, value in (("liquid", films.masses), ("resin", films.resin_volume)):
        if not np.all(np.isfinite(value) & (value >= 0)):
            raise OutOfRange(f"a film with {name} below 0 or not a number", "0 or more", "check the wet film")
    all_inside(
        ("film", films.temperature, FILM_TEMPERATURE_RANGE, "°C"),
        ("piece", films.piece, FILM_TEMPERATURE_RANGE, "°C"),
        *(("air", air.temperature, FILM_TEMPERATURE_RANGE, "°C") for air in airs),
        *(("walls", air.surroundings, FILM_TEMPERATURE_RANGE, "°C") for air in airs),
        do="check it",
    )
    for air in airs:
        vapour = air.vapour_pressure if air.vapours is None else np.column_stack([air.vapour_pressure, air.vapours])
        if not np.all((vapour >= 0) & (vapour < 0.5 * films.pressure)):
            raise OutOfRange("an air with no such vapour pressure", "0 to half the pressure", "check humidity")
        if not np.all((air.convective > 0) & np.isfinite(air.convective)):
            raise OutOfRange("an air that takes up no heat", "over 0 W/(m2 K)", "check the air speed")
