"""Student's t distribution: how wide a band must be when the noise itself was learned from few readings."""

from __future__ import annotations

import math
from functools import lru_cache

_ROUNDS = 400
_TINY = 1e-300
_CLOSE = 3e-16


def t_cdf(value: float, freedom: float) -> float:
    """The probability that a t variable with `freedom` degrees of freedom lies below a value.

    By the incomplete beta function, good to about 1e-13. `freedom` above zero, otherwise ValueError.

    With one degree of freedom it is the Cauchy distribution, 3/4 of which lies below 1:

    >>> round(t_cdf(1.0, 1.0), 12)
    0.75
    """
    if not freedom > 0:
        raise ValueError(f"degrees of freedom are above zero, given {freedom}")
    if math.isinf(value):
        return 1.0 if value > 0 else 0.0
    square = value * value
    if square <= 1.0:  # near the middle the tail formula would lose digits
        half = 0.5 * _beta_share(square / (freedom + square), 0.5, freedom / 2.0)
        return 0.5 + math.copysign(half, value)
    tail = 0.5 * _beta_share(freedom / (freedom + square), freedom / 2.0, 0.5)
    return 1.0 - tail if value > 0 else tail


def two_sided(value: float, freedom: float) -> float:
    """The probability of a t variable at least so far from zero, on either side.

    >>> round(two_sided(1.0, 1.0), 12)
    0.5
    """
    return 2.0 * t_cdf(-abs(value), freedom)


@lru_cache(maxsize=4096)
def t_quantile(share: float, freedom: float) -> float:
    """The value below which a share (0 to 1, both left out) of a t distribution lies.

    Raises ValueError outside that range.

    >>> round(t_quantile(0.75, 1.0), 12), t_quantile(0.5, 7.0)
    (1.0, 0.0)
    """
    if not 0.0 < share < 1.0:
        raise ValueError(f"a share lies between 0 and 1, given {share}")
    if share == 0.5:
        return 0.0
    if share > 0.5:
        return -_lower(1.0 - share, freedom)
    return _lower(share, freedom)


def _lower(share: float, freedom: float) -> float:
    """The quantile of a share below one half: bracketed, then halved until nothing moves."""
    low, high = -1.0, 0.0
    while t_cdf(low, freedom) > share:
        low, high = low * 2.0, low
    while True:
        middle = 0.5 * (low + high)
        if middle in (low, high) or high - low < 1e-14 * -low:
            return middle
        low, high = (middle, high) if t_cdf(middle, freedom) < share else (low, middle)


def _beta_share(x: float, a: float, b: float) -> float:
    """The regularised incomplete beta function by its continued fraction (Lentz's way of summing it)."""
    if x <= 0.0:
        return 0.0
    if x >= 1.0:
        return 1.0
    front = math.exp(
        math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)
    )
    if x > (a + 1.0) / (a + b + 2.0):
        return 1.0 - front * _fraction(1.0 - x, b, a) / b
    return front * _fraction(x, a, b) / a


def _fraction(x: float, a: float, b: float) -> float:
    above = 1.0
    below = 1.0 / _away(1.0 - (a + b) * x / (a + 1.0))
    found = below
    for m in range(1, _ROUNDS):
        even = m * (b - m) * x / ((a + 2 * m - 1.0) * (a + 2 * m))
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1.0))
        for term in (even, odd):
            below = 1.0 / _away(1.0 + term * below)
            above = _away(1.0 + term / above)
            found *= below * above
        if abs(below * above - 1.0) < _CLOSE:
            break
    return found


def _away(value: float) -> float:
    """A value kept from being zero, by which something is divided next."""
    return value if abs(value) > _TINY else _TINY
