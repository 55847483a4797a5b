"""What readings say of effects and of the noise at once: the normal-inverse-gamma posterior.

Readings are y = x'm + noise, with y the logarithm of measured over predicted. The effects m are
normal around a prior mean, with the prior spread in units of the noise's variance; that variance is
inverse-gamma. Then the posterior is of the same kind, in closed form, and taking readings one by one
or all at once gives the same. Source: conjugate Bayesian regression, as in any textbook of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from advisor.learning.student import t_quantile

Numbers: TypeAlias = NDArray[np.float64]
_BLOCK = 128


@dataclass(frozen=True, slots=True)
class Belief:
    """What is believed of some effects and of the variance of the noise.

    `mean` of the effects, `spread` their covariance over the noise's variance, `shape` and `scale` of
    the inverse-gamma variance (its mean is scale / (shape - 1)).
    """

    mean: Numbers
    spread: Numbers
    shape: float
    scale: float

    @property
    def freedom(self) -> float:
        """Degrees of freedom of every t band that is read from this belief."""
        return 2.0 * self.shape

    @property
    def noise(self) -> float:
        """The typical standard deviation of one reading."""
        return float(np.sqrt(self.scale / self.shape))

    def of(self, direction: ArrayLike) -> tuple[float, float]:
        """Middle and scale of a sum of effects, `direction` saying how much of each."""
        x = np.asarray(direction, dtype=float)
        return float(x @ self.mean), self.noise * float(np.sqrt(max(x @ self.spread @ x, 0.0)))

    def band(self, direction: ArrayLike, level: float = 0.95) -> tuple[float, float, float]:
        """Low, middle and high of a sum of effects: the band holds it with the probability `level`.

        The worked case of the notes on calibration: three readings of one effect.

        >>> prior = belief([0.0], [9.0], 2.0, 0.02)
        >>> after = updated(prior, [[1.0]] * 3, [0.25, 0.31, 0.18])
        >>> low, middle, high = after.band([1.0])
        >>> round(middle, 6), round(float(np.exp(middle)), 4)
        (0.237857, 1.2685)
        """
        middle, scale = self.of(direction)
        reach = t_quantile(0.5 + level / 2.0, self.freedom) * scale
        return middle - reach, middle, middle + reach

    def next(
        self, direction: ArrayLike, level: float = 0.95, more: float = 0.0
    ) -> tuple[float, float, float]:
        """Low, middle and high of the next reading; `more` is further spread, in variances of the noise.

        >>> after = updated(belief([0.0], [9.0], 2.0, 0.02), [[1.0]] * 3, [0.25, 0.31, 0.18])
        >>> [round(float(np.exp(edge)), 4) for edge in after.next([1.0])]
        [0.9969, 1.2685, 1.6141]
        """
        x = np.asarray(direction, dtype=float)
        middle, scale = self.of(x)
        reach = t_quantile(0.5 + level / 2.0, self.freedom) * float(
            np.sqrt(scale**2 + self.noise**2 * (1.0 + more))
        )
        return middle - reach, middle, middle + reach


def belief(mean: ArrayLike, variances: ArrayLike, shape: float, scale: float) -> Belief:
    """A prior whose effects know nothing of each other.

    `variances` are in units of the noise's variance. Raises ValueError unless all of them, the shape
    and the scale are above zero.
    """
    spread = np.asarray(variances, dtype=float)
    if not ((spread > 0).all() and shape > 0 and scale > 0):
        raise ValueError("variances, shape and scale of a prior are above zero")
    return Belief(np.asarray(mean, dtype=float), np.diag(spread), shape, scale)


def updated(
    prior: Belief, design: ArrayLike, readings: ArrayLike, weights: ArrayLike | None = None
) -> Belief:
    """The belief after some readings, a row of the design each.

    A weight (0 to 1) makes a reading count as that part of one: its likelihood to that power, so that
    a doubtful reading tells less of the effects and of the noise alike. Raises ValueError where the
    numbers of rows differ.
    """
    x, y = np.atleast_2d(np.asarray(design, dtype=float)), np.asarray(readings, dtype=float)
    if x.shape != (len(y), len(prior.mean)):
        raise ValueError(f"{len(y)} readings of {len(prior.mean)} effects, but a design of {x.shape}")
    w = np.ones(len(y)) if weights is None else np.asarray(weights, dtype=float)
    left = y - x @ prior.mean  # relative to the prior mean the sums stay small
    inverse = np.linalg.inv(prior.spread)
    spread = np.linalg.inv(inverse + _weighed_squares(x, w))
    spread = 0.5 * (spread + spread.T)
    pull = x.T @ (w * left)
    move = spread @ pull
    scale = prior.scale + 0.5 * max(float(w @ (left * left) - pull @ move), 0.0)
    return Belief(prior.mean + move, spread, prior.shape + 0.5 * float(w.sum()), scale)


def _weighed_squares(x: Numbers, w: Numbers) -> Numbers:
    """X'WX, block by block: small products stay on one thread, faster here and alike on every machine."""
    found = np.zeros((x.shape[1], x.shape[1]))
    for first in range(0, len(x), _BLOCK):
        block = x[first : first + _BLOCK]
        found += (block.T * w[first : first + _BLOCK]) @ block
    return found


@dataclass(frozen=True, slots=True)
class Surprise:
    """How far each reading lies from what all the others say.

    `off` is its distance (a logarithm), `t` that in units of its spread, with so many degrees of `freedom`.
    """

    t: Numbers
    freedom: Numbers
    off: Numbers


def surprises(
    after: Belief, design: ArrayLike, readings: ArrayLike, weights: ArrayLike | None = None
) -> Surprise:
    """Each reading held against the belief without it (`after` has seen them all, with these weights).

    The next reading of the worked case: 0.35 is no surprise, 0.90 is one.

    >>> seen = updated(belief([0.0], [9.0], 2.0, 0.02), [[1.0]] * 3, [0.25, 0.31, 0.18])
    >>> [round(float(t), 2) for t in surprises(seen, [[1.0], [1.0]], [0.35, 0.90], [0.0, 0.0]).t]
    [1.1, 6.5]
    """
    x, y = np.atleast_2d(np.asarray(design, dtype=float)), np.asarray(readings, dtype=float)
    w = np.ones(len(y)) if weights is None else np.asarray(weights, dtype=float)
    own = np.einsum("ij,ij->i", x @ after.spread, x)
    left = y - x @ after.mean
    rest = np.maximum(1.0 - w * own, 1e-12)
    shape = after.shape - 0.5 * w
    scale = np.maximum(after.scale - 0.5 * w * left * left / rest, 1e-300)
    spread = np.sqrt(scale / shape * (1.0 + own / rest))
    return Surprise(left / rest / spread, 2.0 * shape, left / rest)
