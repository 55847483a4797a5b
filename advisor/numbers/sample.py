"""One sample for bands and for sensitivity: seeded draws first, then every coefficient alone at its ends.

Behind the draws stands one column with all coefficients as expected, and then two for each
coefficient: it at its low and at its high end, all others as expected. So one walk through the
formulas gives the bands and what moves the total most.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import cast

import numpy as np

from advisor.figures.coefficients import DRAWS, Draws, is_fixed
from advisor.knowledge.reference import Coefficient
from advisor.process.bands import Bounds, Spread, percentiles
from advisor.process.real import Real


@dataclass(frozen=True, slots=True)
class Swept:
    """What is moved alone: a key and a name for it, its unit and its ends."""

    key: str
    name: str
    unit: str
    ends: Bounds


@dataclass(frozen=True, slots=True)
class Ends:
    """A figure with one thing moved to its low and to its high end."""

    moved: Swept
    at_low: float
    at_high: float


class Sample(Draws):
    """Draws with a tail of columns that each move one thing; see the module."""

    def __init__(self, seed: str, moved: Iterable[Swept], count: int = DRAWS) -> None:
        super().__init__(seed, count)
        self.moved = tuple({each.key: each for each in moved}.values())
        self._place = {each.key: number for number, each in enumerate(self.moved)}

    @property
    def width(self) -> int:
        """All columns: draws, the expected one, and two for each thing that is moved."""
        return self.count + 1 + 2 * len(self.moved)

    def plain(self) -> Draws:
        """The same draws without the tail, for what needs bands alone."""
        return _Head(self)

    def _draw(self, row: Coefficient) -> Real:
        return self._with_tail(super()._draw(row), row.key, row.band)

    def factor(self, key: str, ends: Bounds) -> Real:
        """A plain factor that is not drawn, only moved: its expected value everywhere but in its own columns."""
        return self._with_tail(np.full(self.count, ends.expected), key, ends)

    def _with_tail(self, drawn: object, key: str, ends: Bounds) -> Real:
        tail = np.full(self.width - self.count, ends.expected)
        place = self._place.get(key)
        if place is not None:
            tail[1 + 2 * place : 3 + 2 * place] = ends.low, ends.high
        return cast(Real, np.concatenate([np.asarray(drawn), tail]))

    def band(self, values: Real) -> Spread:
        """5th, 50th and 95th percentile of the draws; a plain number is a band without width."""
        array = np.asarray(values)
        return percentiles(values if array.ndim == 0 else cast(Real, array[: self.count]))

    def share(self, truth: object) -> float:
        """The share of the draws for which something holds."""
        return float(np.mean(np.broadcast_to(np.asarray(truth), (self.width,))[: self.count]))

    def expected(self, values: Real) -> float:
        """The figure with everything as expected."""
        return float(np.broadcast_to(np.asarray(values), (self.width,))[self.count])

    def ends(self, values: Real) -> Iterator[Ends]:
        """The figure with one thing moved at a time."""
        tail = np.broadcast_to(np.asarray(values), (self.width,))[self.count + 1 :]
        for place, moved in enumerate(self.moved):
            yield Ends(moved, float(tail[2 * place]), float(tail[2 * place + 1]))


class _Head(Draws):
    """The draws of a sample without its tail."""

    def __init__(self, whole: Sample) -> None:
        super().__init__("", whole.count)
        self._whole = whole

    def _draw(self, row: Coefficient) -> Real:
        return cast(Real, np.asarray(self._whole.one(row))[: self.count])


def swept(rows: Iterable[Coefficient]) -> Iterator[Swept]:
    """The coefficients that have a spread, as things to be moved."""
    for row in rows:
        if not is_fixed(row) and row.band.low < row.band.high:
            yield Swept(row.key, row.name, row.unit, row.band)
