"""Searches one feature's graph for the cheapest chain of steps and the chains that come close."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator
from dataclasses import replace

from advisor.choices.model import RangeChoice
from advisor.sequence.candidate import Candidate
from advisor.sequence.candidates import ALL_COUNT
from advisor.sequence.clearing import DefectAtHand
from advisor.sequence.cooling import Cooling
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.moves import Moves
from advisor.sequence.search import Label, cheapest_paths
from advisor.sequence.stages import Scope, Stages, inside
from advisor.sequence.step_limits import StepLimits
from advisor.sequence.surface import PlannedStep, Surface

#: Paths within this share of the cheapest count as equal.
EQUAL = 1.10
MOST_STEPS = 8
#: A goal inside this part of the band (by logarithm) leaves room for a wearing belt.
INNER = 0.70
#: A thin film beside the main defect may be left to the steps that follow, if they take that much off.
THIN = 0.05e-3

Path = tuple[PlannedStep, ...]
PathLabel = Label["PlannedStep | None"]


class PathFinder(Stages):
    """The graph of one feature, expanded on demand."""

    def __init__(self, desk: FeatureDesk, batch: int, limited: bool = True) -> None:
        """The graph of a feature; without `limited` the limits that show only in a whole step are let go."""
        super().__init__(desk)
        self.moves = Moves(desk, batch)
        self.step_limits = StepLimits(desk)
        self._cooling = Cooling(desk)
        self._limited = limited
        self._tracks = frozenset(defect.row.key for defect in self.defects if defect.row.local)
        self._goes_between: dict[tuple[Surface, int], tuple[PlannedStep, ...]] = {}
        self._led_on: dict[tuple[Surface, int, tuple[float, float]], tuple[PlannedStep, ...]] = {}

    def search(self, scope: Scope, slack: float = EQUAL) -> tuple[PathLabel, ...]:
        """Finished paths, cheapest first."""
        ends = self.ends(scope)
        if not ends:
            return ()
        cheapest_end = min(self.moves.least_end(item) for item in ends)
        return cheapest_paths(
            [self.origin()],
            lambda label: self._expand(label, scope),
            lambda label: self._done(label, scope),
            slack,
            lambda label: 0.0 if label.move and label.move.after.stage == "finish" else cheapest_end,
        )

    def passable(self, scope: Scope) -> bool:
        """Whether a search would find any path; it ends with the first."""
        return bool(self.search(scope, 0.0))

    def origin(self) -> PathLabel:
        """Where every path begins; the films of the face are still to be taken off by the way."""
        films = [item.depth for item in self.defects[1:] if not stands_proud(item)]
        return Label("start", (*(0.0,) * 7, max(films, default=0.0) * 1e6), None)

    def _surface(self, label: PathLabel) -> Surface:
        return label.move.after if label.move else self.start()

    def _done(self, label: PathLabel, scope: Scope) -> bool:
        if label.move is None or label.move.after.stage != "finish":
            return False
        after = label.move.after
        return inside(after.ra, scope.target) and not self._still_there(label, after)

    def _still_there(self, label: PathLabel, surface: Surface) -> bool:
        """Whether a defect is neither cleared nor taken off by the way."""
        left = self.defects[surface.defect :]
        if not left:
            return False
        stock = sum(step.stock for step in steps_of(label) if step.defect not in self._tracks)
        return any(stands_proud(defect) or defect.depth > stock for defect in left)

    def _expand(self, label: PathLabel, scope: Scope) -> Iterator[PathLabel]:
        surface = self._surface(label)
        steps = int(label.criteria[1])
        if steps >= MOST_STEPS or surface.stage == "finish":
            return
        for planned in self._ahead(surface, scope):
            if scope.banned and (planned.candidate.stage, planned.candidate.key) in scope.banned:
                continue
            further = self._label(label, planned, steps)
            if (
                further.criteria[5] <= self.moves.most_dish * 1e6
                and further.criteria[6] <= self.moves.most_stock * 1e6
            ):
                yield further

    def _ahead(self, surface: Surface, scope: Scope) -> tuple[PlannedStep, ...]:
        """The steps that lead on from a surface; the same however it was reached."""
        key = (surface, scope.concerns, scope.target)
        steps = self._led_on.get(key)
        if steps is None:
            steps = self._led_on[key] = tuple(self._steps(surface, scope))
        return steps

    def _within(self, steps: Iterable[PlannedStep], scope: Scope) -> Iterator[PlannedStep]:
        """The steps that keep their limits; one that is too hot is taken more gently, where that helps."""
        for step in steps:
            if not self._limited or self.step_limits.kept(step):
                yield step
            elif self.step_limits.too_hot_alone(step):
                gentler = (
                    again
                    for candidate in self._cooling.gentler(step.candidate)
                    for again in self._again(step, candidate, scope)
                    if self.step_limits.kept(again)
                )
                yield from itertools.islice(gentler, 1)  # the strongest that is cool enough

    def _again(self, step: PlannedStep, candidate: Candidate, scope: Scope) -> Iterator[PlannedStep]:
        """The same move with another candidate."""
        if step.kind == "clear":
            defect = self.defects[step.before.defect]
            for planned in self.moves.clear(candidate, step.before, defect, step.after.remaining):
                if planned.after.left <= step.after.left:
                    yield planned
        else:
            yield from self._refining(
                candidate, step.before, scope.target if candidate.stage == "finish" else None
            )

    def _steps(self, surface: Surface, scope: Scope) -> Iterator[PlannedStep]:
        if surface.defect < len(self.defects):
            yield from self._within(self._clearing(surface, scope), scope)
            if surface.defect == 0 or any(
                stands_proud(defect) or defect.depth > THIN for defect in self.defects[surface.defect :]
            ):
                return
        if surface.stage in ("start", "clear", "refine"):
            yield from self._refined(surface, scope)
        yield from self._within(self._ending(surface, scope), scope)

    def _refined(self, surface: Surface, scope: Scope) -> tuple[PlannedStep, ...]:
        """The steps between clearing and finish; the same whatever roughness is aimed at."""
        key = (surface, scope.concerns)
        steps = self._goes_between.get(key)
        if steps is None:
            steps = self._goes_between[key] = tuple(self._within(self._between(surface, scope), scope))
        return steps

    def _between(self, surface: Surface, scope: Scope) -> Iterable[PlannedStep]:
        """The refining and preparing steps that lead on from a surface."""
        for stage in ("refine", "prepare"):
            candidates = self.field(stage, scope.concerns).candidates
            for candidate in self.moves.following(candidates, surface):
                yield from self._refining(candidate, surface, None)

    def _ending(self, surface: Surface, scope: Scope) -> Iterable[PlannedStep]:
        """The finishing steps that lead on from a surface."""
        for candidate in self.moves.following(self.ends(scope), surface):
            yield from self._refining(candidate, surface, scope.target)

    def _refining(
        self, candidate: Candidate, surface: Surface, target: tuple[float, float] | None
    ) -> Iterator[PlannedStep]:
        if candidate.tool.media.blends:
            yield from self.moves.blend(candidate, surface, target)
        else:
            yield from self.moves.erase(candidate, surface)

    def _clearing(self, surface: Surface, scope: Scope) -> Iterable[PlannedStep]:
        defect = self.defects[surface.defect]
        if surface.remaining == 0.0:  # the last defect is gone, and nothing has been taken off this one
            surface = replace(surface, remaining=defect.depth)
        field = self.field("clear", scope.concerns, surface.defect, surface.remaining)
        for floor in self._floors(surface.remaining):
            for candidate in field.candidates:
                if self._goes_on_finer(candidate, surface):
                    yield from self.moves.clear(candidate, surface, defect, floor)
        if surface.defect == len(self.defects) - 1 and not defect.row.local:
            clearing = {candidate.key: candidate for candidate in field.candidates}
            for candidate in self.ends(scope):
                twin = clearing.get(candidate.key)
                if twin and not candidate.tool.media.blends and windows_meet(twin, candidate):
                    for planned in self.moves.clear(candidate, surface, defect, 0.0):
                        if planned.after.left == 0.0:
                            yield planned

    def _floors(self, remaining: float) -> list[float]:
        """Depths at which a clearing step may stop: the edges of the bands below, and the end."""
        return [0.0, *(limit / 1e3 for limit in self._limits if 4e-5 < limit / 1e3 < remaining * 0.9)]

    @staticmethod
    def _goes_on_finer(candidate: Candidate, surface: Surface) -> bool:
        """A second clearing step on one defect is finer than the first: coarse work is done once."""
        if surface.stage != "clear" or surface.grain is None or candidate.grade is None:
            return True
        return candidate.grade.um < surface.grain

    def _label(self, parent: PathLabel, planned: PlannedStep, steps: int) -> PathLabel:
        after, candidate = planned.after, planned.candidate
        first = parent.criteria[2] or (candidate.grade.um if candidate.grade else 1.0)
        node = (after.stage, after.defect, round(after.remaining, 7), candidate.stage, candidate.key)
        stock = planned.stock * 1e6 if self.moves.most_stock < math.inf else 0.0
        # What comes off the whole face takes films off by the way; the rest of that is owed by later steps.
        taken = 0.0 if planned.defect in self._tracks else planned.stock * 1e6
        criteria = (
            parent.criteria[0] + planned.cost,
            float(steps + 1),
            first,
            after.rt * 1e6,
            after.left * 1e6,
            parent.criteria[5] + planned.dish * 1e6,
            parent.criteria[6] + stock,
            max(0.0, parent.criteria[7] - taken),
        )
        return Label(node, criteria, planned, parent)


def stands_proud(defect: DefectAtHand) -> bool:
    """Whether only a step of its own takes a defect away: passes over the face do not level a bead."""
    return defect.row.kind == "proud"


def windows_meet(first: Candidate, second: Candidate) -> bool:
    """Whether force and speed of two stages have values in common, so that one step can serve both."""
    for decision in ("force", "surface_speed"):
        one, two = first.choices.get(decision), second.choices.get(decision)
        if (
            isinstance(one, RangeChoice)
            and isinstance(two, RangeChoice)
            and (max(one.low, two.low) > min(one.high, two.high))
        ):
            return False
    return True


def steps_of(label: PathLabel) -> Path:
    """The planned steps of a finished path."""
    return tuple(step for step in label.moves() if step is not None)


def target_window(low_um: float, high_um: float, inner: bool) -> tuple[float, float]:
    """The Ra window aimed at, in m: the whole band, or its inner part by logarithm.

    A band with no lower limit keeps its open side and only moves away from the upper one.

    >>> [round(value * 1e6, 3) for value in target_window(0.3, 0.5, True)]
    [0.324, 0.463]
    >>> target_window(0.0, 0.8, False)
    (0.0, 8e-07)
    """
    if not inner:
        return low_um * 1e-6, high_um * 1e-6
    margin = (1.0 - INNER) / 2.0
    span = math.log(high_um / low_um) if low_um > 0 else math.log(2.0)
    low = low_um * math.exp(margin * span) if low_um > 0 else 0.0
    return low * 1e-6, high_um * math.exp(-margin * span) * 1e-6


__all__ = ["ALL_COUNT", "EQUAL", "Path", "PathFinder", "PathLabel", "Scope", "steps_of", "target_window"]
