"""Keeps a wild reading from pulling everything with it: it counts less the less it agrees with the others."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from advisor.learning.posterior import Belief, Numbers, surprises, updated
from advisor.learning.student import t_quantile

#: A reading counts whole unless the others give it less than this probability. Own choice: of five
#: hundred sound readings one is doubted, which costs next to nothing.
DOUBTED_BELOW = 0.002
_POWER = 4
_START_ROUNDS = 25
_ROUNDS = 30
_NEARLY = 0.05
_SETTLED = 1e-3


def robust_update(prior: Belief, design: ArrayLike, readings: ArrayLike) -> tuple[Belief, Numbers]:
    """The belief after some readings, and how much each of them counted (0 to 1).

    Every reading is held against the belief without it. Beyond the t value `c` that the others give
    a chance of 0.002, it counts as (c / t)^4 of a reading, so that the farther it lies the less it
    tells, of the effects and of the noise; all sound ones count exactly 1, and their bands stay exact.
    The first rounds doubt strongly (as a Cauchy law would), so that several wild readings cannot cover
    each other. The order of the readings does not matter. Source: robust regression by reweighting,
    from memory; limit and power are our own choice.

    Four readings that agree, and one taken in inches:

    >>> from advisor.learning.posterior import belief
    >>> prior = belief([0.0], [9.0], 2.0, 0.02)
    >>> after, counted = robust_update(prior, [[1.0]] * 5, [0.25, 0.31, 0.18, 0.22, 3.4])
    >>> round(float(after.mean[0]), 2), [round(float(part), 2) for part in counted]
    (0.23, [1.0, 1.0, 1.0, 1.0, 0.0])
    """
    x, y = np.atleast_2d(np.asarray(design, dtype=float)), np.asarray(readings, dtype=float)
    weights = np.ones(len(y))
    after = updated(prior, x, y, weights)
    if not (np.abs(surprises(after, x, y, weights).t) > 2.0).any():
        return after, weights  # nothing stands out: the common case, and the exact one
    for _ in range(_START_ROUNDS):
        t = surprises(after, x, y, weights).t
        new = 1.0 / (1.0 + t * t)
        settled = float(np.abs(new - weights).max()) < _NEARLY
        weights = new
        after = updated(prior, x, y, weights)
        if settled:
            break
    for _ in range(_ROUNDS):
        surprise = surprises(after, x, y, weights)
        limit = t_quantile(1.0 - DOUBTED_BELOW / 2.0, float(np.median(surprise.freedom)))
        new = np.minimum(1.0, (limit / np.maximum(np.abs(surprise.t), 1e-12)) ** _POWER)
        settled = float(np.abs(new - weights).max()) < _SETTLED
        weights = new
        after = updated(prior, x, y, weights)
        if settled:
            break
    return after, weights
