"""One number type for all formulas, so that the same body serves a single value and an array of draws.

The search calls a formula with floats, the bands call it with arrays (`bands.draws`). Formulas are
therefore written with arithmetic operators alone; the few things that operators cannot say are here.
"""

from __future__ import annotations

import math
from typing import TypeAlias, cast

Real: TypeAlias = float
"""A float, or an array of draws that stands in for one. Typed as the float that callers reason with."""

Truth: TypeAlias = bool
"""The outcome of comparing two `Real`: a bool, or an array of them."""


def is_plain(value: Real) -> bool:
    """Whether a value is one number and not an array of draws.

    >>> is_plain(2.0)
    True
    """
    return isinstance(value, (int, float))


def mostly(condition: Truth) -> bool:
    """Whether a condition holds; for an array of draws, whether it holds for more than half of them.

    A flag is raised for the expected case, not for the tail that every band has.

    >>> mostly(3.0 > 2.0)
    True
    """
    mean = getattr(condition, "mean", None)
    return bool(condition) if mean is None else bool(mean() > 0.5)


def positive_part(value: Real) -> Real:
    """The value where it is above zero, otherwise zero.

    >>> positive_part(-2.0), positive_part(3.0)
    (0.0, 3.0)
    """
    return value * (value > 0) + 0.0


def smaller(first: Real, second: Real) -> Real:
    """The smaller of two finite values, draw by draw.

    >>> smaller(2.0, 3.0)
    2.0
    """
    return first * (first <= second) + second * (first > second)


def power(base: Real, exponent: Real) -> Real:
    """A positive base to a power, typed (Python's own may turn complex, which no formula here wants).

    >>> power(4.0, 0.5)
    2.0
    """
    return cast(Real, base**exponent)


def natural_log(value: Real) -> Real:
    """The natural logarithm of a positive value.

    >>> natural_log(1.0)
    0.0
    """
    if is_plain(value):
        return math.log(value)
    import numpy

    return cast(Real, numpy.log(value))


def quotient(amount: Real, rate: Real) -> Real:
    """How many times a rate goes into an amount, both zero or above.

    A rate of zero never gets there (infinity), and an amount of zero needs nothing.

    >>> quotient(6.0, 3.0), quotient(6.0, 0.0), quotient(0.0, 0.0)
    (2.0, inf, 0.0)
    """
    if is_plain(amount) and is_plain(rate):
        return amount / rate if rate > 0 else (math.inf if amount > 0 else 0.0)
    import numpy

    endless = numpy.where(numpy.asarray(amount) > 0, numpy.inf, 0.0)
    return cast(Real, numpy.where(rate > 0, amount / (rate + (rate <= 0)), endless))
