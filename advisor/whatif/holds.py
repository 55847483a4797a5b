"""How far each quantity may be off before the first choice changes, found as a what-if over a range is.

Every quantity of the job is looked at outward from its value, both ways, one ring further in turn: on every
limit of a rule or a table and just beyond it, and at the ring itself. Once enough of them are known to matter
no further ring is begun, and the changes that lie nearest are placed to one per cent by halving.
Every point is worked out for the whole job, set-ups shared between faces included.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from advisor.job.model import Job
from advisor.knowledge.base import Knowledge
from advisor.pipeline import Desk, sheet_of, work_out
from advisor.sheet.model import Hold, Sheet
from advisor.sheet.weighed import named_rules
from advisor.whatif.hold_words import hold_of
from advisor.whatif.limits import conditions_by_attribute, limits_of
from advisor.whatif.looked import Looked, Side
from advisor.whatif.nearby import Nearby
from advisor.whatif.quantities import Quantity, quantities
from advisor.whatif.scan import CLOSE

#: The steps outward, as factors. What lies further off than the last is not looked at.
RINGS = (1.1, 1.25, 1.5, 2.0)
#: Once so many quantities are known to matter no further ring is begun; so many are placed closely.
ENOUGH, TOLD = 2, 3
#: Faces planned at most for each face of the job; what is not known by then is told as far as it is.
MOST_PLANS = 120
#: A depth is cleared in whole passes, so costs go up and down with it: it is looked at in finer steps.
_FINE = 1.025
#: How far beyond a limit one looks.
_BEYOND = 1e-3


def recommend_with_holds(job: Job, desk: Desk) -> Sheet:
    """The sheet of a job as `recommend` makes it, and on it how far the advice holds.

    `holds` has an entry for every quantity, the one whose change lies nearest first, `probed` the rules
    that they rest on. Takes ten to twenty times as long as the sheet alone.
    """
    found = work_out(job, desk)
    sheet = sheet_of(found, desk.knowledge)
    search = Search(Nearby(found, desk, conditions_by_attribute(desk.knowledge)), desk.knowledge)
    holds = search.holds()
    heard = search.rests_on() - named_rules(sheet)
    probed = tuple(rule.id for rule in desk.knowledge.rules if rule.id in heard)
    return sheet.model_copy(update={"holds": holds, "probed": probed, "made_with": ("holds",)})


def _by_nearness(looked: Looked) -> float:
    return looked.nearest


@dataclass(slots=True)
class Search:
    """The search on one job, with an ear for the rules that speak on the way."""

    nearby: Nearby
    knowledge: Knowledge
    _limit_rules: set[str] = field(default_factory=set)

    def holds(self) -> tuple[Hold, ...]:
        """What is told of every quantity, the one whose change lies nearest first."""
        looked = [each for quantity in self._quantities() if (each := self._begin(quantity)) is not None]
        for ring in range(len(RINGS)):
            for each in looked:
                for side in each.sides:
                    self._look(each, side, ring)
            if sum(each.nearest < math.inf for each in looked) >= ENOUGH:
                break
        nearest = self._nearest(looked)
        for each in nearest:
            for side in each.sides:
                while self._halve(each, side):
                    pass
        rest = [each for each in looked if each not in nearest]
        ordered = (*sorted(nearest, key=_by_nearness), *sorted(rest, key=_by_nearness))
        return tuple(hold_of(each, self.nearby, self._drawn(each), self.knowledge) for each in ordered)

    def _nearest(self, looked: Sequence[Looked]) -> list[Looked]:
        """The few whose change lies nearest, placed only as closely as it takes to know which they are."""
        open_ = [each for each in looked if each.nearest < math.inf]
        found: list[Looked] = []
        while open_ and len(found) < TOLD:
            first = min(open_, key=_by_nearness)
            side = min((side for side in first.sides if side.other is not None), key=first.off)
            if not self._halve(first, side):
                found.append(first)
                open_.remove(first)
        return found

    def rests_on(self) -> frozenset[str]:
        """Every rule that was heard at some point or draws a limit that a point was taken from."""
        return self.nearby.decider.engine.heard() | self._limit_rules

    def _quantities(self) -> Iterator[Quantity]:
        """Those that bear on a face with a process."""
        planned = {plan.feature.name for plan in self.nearby.given if plan.path}
        for quantity in quantities(self.nearby.job, self.knowledge):
            if planned & set(quantity.faces):
                yield quantity

    def _begin(self, quantity: Quantity) -> Looked | None:
        """Where a quantity stands; None for one whose assumed value, once given, is another choice by itself."""
        if not quantity.known and self.nearby.tested(quantity):
            choice, _ = self.nearby.at(quantity, quantity.value)
            if choice.chains != self.nearby.choice.chains:
                return None
        value, far = quantity.value, RINGS[-1]
        limits = limits_of(quantity.field, quantity.unit, self.nearby.job, self.knowledge)
        within = {limit: rules for limit, rules in limits.items() if value / far <= limit <= value * far}
        self._limit_rules |= {rule for rules in within.values() for rule in rules}
        return Looked(quantity, within, Side(value, up=False), Side(value, up=True))

    def _look(self, looked: Looked, side: Side, ring: int) -> None:
        """Look one ring further, at the limits in it first, unless that was done or a change is known."""
        if side.ring > ring or side.other is not None:
            return
        side.ring = ring + 1
        value, quantity = looked.quantity.value, looked.quantity
        near, far = RINGS[ring - 1] if ring else 1.0, RINGS[ring]
        here, there = (value * near, value * far) if side.up else (value / near, value / far)
        points = {there}
        if quantity.kind == "depth":
            steps = math.floor(math.log(far / near) / math.log(_FINE))
            points |= {here * (_FINE**step if side.up else _FINE**-step) for step in range(1, steps + 1)}
        for limit in looked.limits:
            if min(here, there) <= limit <= max(here, there):
                points |= {limit, limit * (1 + _BEYOND if side.up else 1 - _BEYOND)}
                if quantity.whole:
                    points |= {limit + 1.0 if side.up else limit - 1.0}
        lowest, highest = quantity.possible
        inside = {quantity.rounded(min(max(point, lowest), highest)) for point in points}
        for point in sorted(inside, reverse=not side.up):
            if side.other is None and (point > side.same if side.up else point < side.same):
                self._see(looked, side, point)

    def _halve(self, looked: Looked, side: Side) -> bool:
        """Look in the middle of where a change lies, unless it is known closely enough; whether one looked."""
        if side.other is None or self._spent():
            return False
        if looked.quantity.whole:
            close = abs(side.other - side.same) <= 1.0
        else:
            close = abs(side.other - side.same) <= CLOSE * max(side.other, side.same)
        middle = looked.quantity.rounded((side.same + side.other) / 2)
        if close or middle in (side.same, side.other):
            return False
        self._see(looked, side, middle)
        return True

    def _see(self, looked: Looked, side: Side, point: float) -> None:
        """Look at one point, and move the end of the side that it belongs to."""
        if self._spent():
            return
        choice, plans = self.nearby.at(looked.quantity, point)
        looked.checked += 1
        if choice.chains == self.nearby.choice.chains:
            side.same = point
        else:
            side.other, side.plans = point, plans

    def _spent(self) -> bool:
        return self.nearby.planned >= MOST_PLANS * len(self.nearby.given)

    def _drawn(self, looked: Looked) -> set[str]:
        """The rules that draw a limit between what is the same and what is not, and that speak on this job."""
        drawn: set[str] = set()
        for side in looked.sides:
            if side.other is not None:
                low, high = sorted((side.same, side.other))
                drawn |= {
                    rule for limit, rules in looked.limits.items() if low <= limit <= high for rule in rules
                }
        return drawn & self.nearby.heard()
