"""A ridge regression that learns on the way: one for each lead, all leads at once, from the past only."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from advisor.advice.hours import Floats


@dataclass(frozen=True)
class RidgeLaw:
    """How it learns.

    penalty: how many hours of data the prior weighs as much as (features being about 1). half_life [rows]: after so
    many rows what was learned counts half.
    """

    penalty: float
    half_life: float


def learned(design: Floats, targets: Floats, prior: Floats, edges: list[int], law: RidgeLaw) -> Floats:
    """Forecasts of every row, each by coefficients learned from targets known at the edge at or before it.

    design (leads, rows, features): what is known at each row. targets (leads, rows, quantities): what came `lead` rows
    after each row; NaN is left out. prior (leads, features, quantities): coefficients before anything is learned; the
    ridge shrinks towards them. edges: rows at which it is fitted anew, rising from 0. Returns (leads, rows,
    quantities). At an edge e only rows r with r + lead <= e are learned from.
    """
    leads, rows, features = design.shape
    gram = np.zeros((leads, features, features))
    moments = np.zeros_like(prior)
    penalty = law.penalty * np.eye(features)
    forecasts = np.empty(targets.shape)
    each_lead = np.arange(leads)[:, np.newaxis]
    before = -1
    for edge, end in pairwise([*edges, rows]):
        issued = np.arange(before + 1, edge + 1) - (each_lead + 1)
        row = np.maximum(issued, 0)
        seen, came = design[each_lead, row], targets[each_lead, row]
        counts = (issued >= 0) & np.isfinite(came).all(axis=2)
        seen = np.where(counts[..., np.newaxis], seen, 0.0)
        came = np.where(counts[..., np.newaxis], came, 0.0) - seen @ prior
        kept = 0.5 ** ((edge - before) / law.half_life)
        gram = kept * gram + seen.swapaxes(1, 2) @ seen
        moments = kept * moments + seen.swapaxes(1, 2) @ came
        coefficients = prior + np.linalg.solve(gram + penalty, moments)
        forecasts[:, edge:end] = design[:, edge:end] @ coefficients
        before = edge
    return forecasts
