"""The nearest round value that opens a refusal, found by planning again."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from advisor.sequence.plan import FeaturePlan
from advisor.sequence.requirements import Test
from advisor.sequence.worlds import World
from advisor.units import figure

#: A value is looked for up to so many times what is there, on rungs of round numbers.
FARTHEST = 1e3
RUNGS = (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0)
#: The value named opens the way even where it is missed by this share.
MARGIN = 0.02

Change = Callable[[World], World]


@dataclass(frozen=True, slots=True)
class Opening:
    """A change of job or cell that was tried and opens the way, in words."""

    words: str
    change: Change
    media: str | None = None


@dataclass(frozen=True, slots=True)
class Trial:
    """A world, the feature that has no plan in it, and the test of a change."""

    world: World
    plan: FeaturePlan
    comes_through: Test

    @property
    def name(self) -> str:
        """The feature in question."""
        return self.plan.feature.name

    def works(self, change: Change) -> bool:
        """Whether a change opens the way."""
        return self.comes_through(change(self.world))

    def nearest(self, start: float, up: bool, change_to: Callable[[float], Change]) -> float | None:
        """The nearest round value beyond `start` that opens the way with a margin, or None."""
        values = tuple(rungs(start, up))
        if not values or not self.works(change_to(values[-1])):
            return None
        low, high = 0, len(values) - 1
        while low < high:
            middle = (low + high) // 2
            if self.works(change_to(values[middle])):
                high = middle
            else:
                low = middle + 1
        short = values[low] / (1.0 + MARGIN) if up else values[low] * (1.0 + MARGIN)
        if low + 1 < len(values) and not self.works(change_to(short)) and self.works(change_to(values[low + 1])):
            return values[low + 1]
        return values[low]

    def one(self, start: float, up: bool, change_to: Callable[[float], Change], words: str) -> Iterator[Opening]:
        """The nearest value of one number; `words` shows where it stands."""
        value = self.nearest(start, up, change_to)
        if value is not None:
            yield Opening(words.format(figure(value)), change_to(value))

    def window(
        self, now: tuple[float, float], change_to: Callable[[float, float], Change], words: str, least: float
    ) -> Iterator[Opening]:
        """The nearest window: one side moved where that does, else both."""
        low, high = now
        value = self.nearest(high, True, lambda end: change_to(low, end))
        if value is not None:
            yield Opening(words.format(figure(low), figure(value)), change_to(low, value))
            return
        value = self.nearest(low, False, lambda end: change_to(max(end, least), high))
        if value is not None:
            yield Opening(words.format(figure(max(value, least)), figure(high)), change_to(max(value, least), high))
            return
        top = self.nearest(high, True, lambda end: change_to(least, end))
        if top is not None:
            bottom = self.nearest(low, False, lambda end: change_to(max(end, least), top)) or least
            yield Opening(words.format(figure(bottom), figure(top)), change_to(bottom, top))


def rungs(start: float, up: bool) -> Iterator[float]:
    """Round numbers beyond a value, nearest first, as far as a thousand times (or a thousandth of) it.

    >>> list(rungs(0.055, True))[:4], list(rungs(216.0, False))[:3]
    ([0.06, 0.08, 0.1, 0.12], [200.0, 150.0, 120.0])
    """
    if start <= 0:
        return
    exponent = math.floor(math.log10(start))
    decades = range(exponent, exponent + 4) if up else range(exponent, exponent - 4, -1)
    for decade in decades:
        for rung in RUNGS if up else reversed(RUNGS):
            value = float(f"{rung * 10.0**decade:.6g}")
            beyond = value > start * (1 + 1e-9) if up else value < start * (1 - 1e-9)
            if beyond and start / FARTHEST <= value <= start * FARTHEST:
                yield value
