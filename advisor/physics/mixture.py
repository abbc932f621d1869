"""How strongly each liquid of a drying film pushes into the air: activities over the film's own make-up."""

from dataclasses import dataclass

import numpy as np

from advisor.physics.liquids import Array, Liquids

_LEAST_VOLUME = 1e-12  # [m3/m2], keeps a film that has lost everything from dividing by nothing


@dataclass(frozen=True)
class Resin:
    """What hardens: water_interaction is the Flory-Huggins parameter of water with it, per mole of water.

    dispersion: the resin floats in water as particles, so water feels hardly any of it until it is nearly gone
    (True), or it is dissolved and every liquid feels it from the start (False).
    """

    water_interaction: float
    dispersion: bool


def activity_per_mass(masses: Array, resin_volume: Array, liquids: Liquids, resin: Resin) -> Array:
    """Activity of each liquid divided by its mass [m2/kg]; shapes (N, S), (N,) -> (N, S).

    Flory-Huggins with each liquid at its own molar volume and a resin of very long chains (Flory 1953, ch. XII):
    ln a = ln phi + 1 - V sum(phi_j / V_j) + chi phi_resin^2. The organic liquids are taken as ideal among themselves
    and are counted without the water, which is dilute; water's own chi is the volume mean of that with each of the
    others. An activity over 1 would be a second liquid layer: it is held at 1, so that water then lies in the film as
    water. In a dispersion a liquid that mixes with water is spread over water and resin, another over the resin alone.
    """
    volumes = masses / liquids.density
    whole = volumes.sum(axis=1) + resin_volume + _LEAST_VOLUME
    molar_volume = liquids.molar_volume
    water = liquids.water
    if water is None:
        base = whole[:, None]
        crowd = (volumes / molar_volume).sum(axis=1)[:, None]
    elif resin.dispersion:
        base = whole[:, None] - np.where(liquids.water_miscible, 0.0, volumes[:, water : water + 1])
        crowd = (volumes / molar_volume).sum(axis=1)[:, None] - np.where(
            liquids.water_miscible, 0.0, volumes[:, water : water + 1] / molar_volume[water]
        )
    else:
        base = (whole - volumes[:, water])[:, None]
        crowd = ((volumes / molar_volume).sum(axis=1) - volumes[:, water] / molar_volume[water])[:, None]
    share = resin_volume[:, None] / base
    factor = np.exp(1.0 - molar_volume * crowd / base + liquids.resin_interaction * share * share) / base
    result: Array = factor / liquids.density
    if water is not None:
        result[:, water] = _water(masses, volumes, whole, resin_volume, liquids, resin, water)
    return result


def _water(
    masses: Array, volumes: Array, whole: Array, resin_volume: Array, liquids: Liquids, resin: Resin, water: int
) -> Array:
    molar_volume = liquids.molar_volume
    fraction = volumes[:, water] / whole
    pull = (volumes @ liquids.water_interaction + resin_volume * resin.water_interaction) / whole
    crowd = (volumes @ (1.0 / molar_volume)) / whole
    per_mass = np.exp(1.0 - molar_volume[water] * crowd + (1.0 - fraction) * pull) / (whole * liquids.density[water])
    most = np.ones_like(whole)
    if resin.dispersion:
        # the water between the particles is as free as its share of the moles in it
        moles = masses / liquids.molar_mass
        dissolved = moles @ liquids.water_miscible.astype(np.float64)
        most = moles[:, water] / np.maximum(dissolved, 1e-12)
    return np.asarray(np.minimum(per_mass, most / np.maximum(masses[:, water], 1e-15)))
