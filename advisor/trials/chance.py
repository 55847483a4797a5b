"""How likely a log-normal quantity lies in a band."""

from __future__ import annotations

import math


def chance_within(low: float, high: float, expected: float, spread: float) -> float:
    """How likely a log-normal quantity lies in a band; `low` 0 leaves the band open below.

    `expected` is the median, `spread` the standard deviation of the logarithm.

    >>> round(chance_within(0.5, 2.0, 1.0, 0.5), 3)  # the normal distribution within 1.386 deviations
    0.834
    >>> chance_within(0.5, 2.0, 3.0, 0.0)
    0.0
    """
    if spread <= 0:
        return 1.0 if low <= expected <= high else 0.0
    below = 0.0 if low <= 0 else _normal((math.log(low / expected)) / spread)
    return _normal(math.log(high / expected) / spread) - below


def _normal(value: float) -> float:
    return 0.5 * (1.0 + math.erf(value / math.sqrt(2.0)))
