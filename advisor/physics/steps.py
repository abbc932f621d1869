"""The moments at which a film is computed: close together where things happen fast."""

from collections.abc import Sequence

import numpy as np

from advisor.physics.liquids import Array


def steps_until(
    ends: Sequence[float],
    first: float = 0.1,
    growth: float = 0.02,
    longest: float = np.inf,
    longest_until: float = np.inf,
) -> Array:
    """Moments [s] from 0 on that grow apart and meet every end exactly, with shorter steps again after each.

    first: the first step [s]; growth: of one step over the one before; longest: the longest step [s] until
    longest_until [s].
    """
    moments = [0.0]
    for end in ends:
        start = moments[-1]
        step = max(first, 0.25 * growth * start)
        while moments[-1] < end:
            step = min(step, longest) if moments[-1] < longest_until else step
            left = end - moments[-1]
            moments.append(end if step >= 0.7 * left else moments[-1] + step)
            step *= 1 + growth
    return np.array(moments)
