"""What was seen of one quantity: how far each way the first choice is the same, and where it is another one."""

from __future__ import annotations

import math
from dataclasses import dataclass

from advisor.sequence.plan import FeaturePlan
from advisor.whatif.limits import Limits
from advisor.whatif.quantities import Quantity


@dataclass(slots=True)
class Side:
    """One direction from a value: the furthest point that is the same, and the first that is not.

    `ring` counts the rings that were looked at, `plans` are those at the other point.
    """

    same: float
    up: bool
    other: float | None = None
    plans: tuple[FeaturePlan, ...] = ()
    ring: int = 0

    @property
    def seen(self) -> float:
        """The furthest point that was looked at."""
        return self.same if self.other is None else self.other


@dataclass(slots=True)
class Looked:
    """What was seen of one quantity; `limits` are those of rules and tables that lie within reach."""

    quantity: Quantity
    limits: Limits
    down: Side
    up: Side
    checked: int = 0

    @property
    def sides(self) -> tuple[Side, Side]:
        """Down and up."""
        return self.down, self.up

    def off(self, side: Side) -> float:
        """How far off the value a change lies at least, as the logarithm of a factor; infinite where none was seen."""
        return math.inf if side.other is None else abs(math.log(side.same / self.quantity.value))

    @property
    def nearest(self) -> float:
        """How far off the nearer of the two changes lies at least."""
        return min(map(self.off, self.sides))
