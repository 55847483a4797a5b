"""Draws of uncertain coefficients and bands read from them, so that every prediction carries its spread."""

from __future__ import annotations

import hashlib
from functools import cache
from statistics import NormalDist
from typing import NamedTuple, Protocol, cast

import numpy as np
from numpy.typing import NDArray

from advisor.process.real import Real, is_plain

_EDGE = NormalDist().inv_cdf(0.95)


class Bounds(Protocol):
    """Anything with a 5th, 50th and 95th percentile, such as a row of the coefficient table."""

    @property
    def low(self) -> float:
        """The 5th percentile."""

    @property
    def expected(self) -> float:
        """The 50th percentile."""

    @property
    def high(self) -> float:
        """The 95th percentile."""


class Spread(NamedTuple):
    """A band: 5th, 50th and 95th percentile of one quantity, in that quantity's unit."""

    low: float
    expected: float
    high: float


def seed_of(name: str, seed_text: str) -> int:
    """The seed of one coefficient's stream: SHA-256 of the seed text, a line end and the name.

    The seed text is the canonical job, so a sheet is reproduced from its job; each name has its own
    stream, so adding a coefficient moves no other one.

    >>> seed_of("u80", "job") == seed_of("mu80", "job")
    False
    """
    return int.from_bytes(hashlib.sha256(f"{seed_text}\n{name}".encode()).digest(), "big")


def draws(name: str, band: Bounds, seed_text: str, count: int = 400) -> Real:
    """An array of `count` draws of a positive coefficient whose 5th, 50th and 95th percentiles are its band.

    The logarithm is normal on either side of the expected value, with its own spread above and below.
    The draws are stratified: the middle of each of `count` equally likely slices, in an order of
    their own, so that a few hundred show the band's ends. Range: 0 < low <= expected <= high, otherwise
    ValueError. Source: our own choice of shape; a band of ratios cannot turn negative.

    >>> array = draws("u80", Spread(20e9, 32e9, 45e9), "job")
    >>> len(array), percentiles(array).expected > 31e9
    (400, True)
    """
    if not 0 < band.low <= band.expected <= band.high:
        raise ValueError(f"{name}: a band needs 0 < low <= expected <= high, given {band}")
    stream = np.random.Generator(np.random.PCG64(seed_of(name, seed_text)))
    normal = _levels(count)[np.argsort(stream.random(count), kind="stable")]
    below = np.log(band.expected / band.low) / _EDGE
    above = np.log(band.high / band.expected) / _EDGE
    return cast(Real, band.expected * np.exp(normal * np.where(normal < 0, below, above)))


@cache
def _levels(count: int) -> NDArray[np.float64]:
    """The middles of equally likely slices of the normal distribution, low to high."""
    inverse = NormalDist().inv_cdf
    return np.array([inverse((place + 0.5) / count) for place in range(count)])


def percentiles(values: Real) -> Spread:
    """The band of an array of draws: 5th, 50th and 95th percentile; a plain number is a band without width.

    Each end is one of the draws (the nearest in rank), so that draws that never end (infinity) do
    not turn the others into nonsense.

    >>> percentiles(3.0)
    Spread(low=3.0, expected=3.0, high=3.0)
    """
    if is_plain(values):
        return Spread(values, values, values)
    array = np.asarray(values)
    places = [round(share * (array.size - 1)) for share in (0.05, 0.50, 0.95)]
    low, expected, high = np.partition(array, places)[places]
    return Spread(float(low), float(expected), float(high))
