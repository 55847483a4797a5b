"""One order of set-ups for all features: shared where they can be, coarse before fine.

Each feature brings its best few paths. Among all ways to pick one of each, the one with the lowest
total wins, a set-up that several features use being changed to only once a batch.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from advisor.sequence.candidate import Candidate
from advisor.sequence.paths import EQUAL, Path
from advisor.sequence.plan import FeaturePlan, Rival
from advisor.sequence.surface import PlannedStep

#: Set-ups come in this order of stages where their grain sizes tie.
_STAGES = ("clear", "refine", "prepare", "finish")
SetupKey = tuple[object, ...]


@dataclass(frozen=True, slots=True)
class Visit:
    """A set-up of the batch: the step that shows it, and what it serves (feature, step), from zero."""

    key: SetupKey
    step: PlannedStep
    serves: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class JointPlan:
    """The path picked for each feature (its number among those offered), the visits, and the cost."""

    picked: tuple[int, ...]
    visits: tuple[Visit, ...]
    cost: float


def share_set_ups(plans: Sequence[FeaturePlan]) -> tuple[tuple[FeaturePlan, ...], tuple[Visit, ...]]:
    """The plans with the paths that are cheapest together, and the set-ups in machine order.

    A feature without a path stays as it is. Where a feature gives up the path that is best for it
    alone, that path becomes its first rival.
    """
    planned = [row for row, plan in enumerate(plans) if plan.path]
    if not planned:
        return tuple(plans), ()
    offers = [(plans[row].path, *(rival.path for rival in plans[row].rivals)) for row in planned]
    joint = joint_plan(offers)
    shared = list(plans)
    for row, number in zip(planned, joint.picked, strict=True):
        if number:
            shared[row] = _with_rival(plans[row], number - 1)
    served = tuple(
        replace(visit, serves=tuple((planned[row], step) for row, step in visit.serves))
        for visit in joint.visits
    )
    return tuple(shared), served


def _with_rival(plan: FeaturePlan, number: int) -> FeaturePlan:
    taken = plan.rivals[number]
    time = sum(step.time for step in plan.path)
    why = "is better for this face alone; the path taken shares its set-ups with other faces"
    former = Rival(plan.path, plan.cost, time, plan.cost * EQUAL >= taken.cost, why)
    others = tuple(rival for place, rival in enumerate(plan.rivals) if place != number)
    return replace(plan, path=taken.path, cost=taken.cost, rivals=(former, *others))


def setup_key(candidate: Candidate) -> SetupKey:
    """What must be alike for two steps to be worked in one set-up."""
    values = candidate.values
    width = values.get("wheel_width")
    return (
        candidate.tool.station.name,
        *candidate.key,
        values.get("backing"),
        values.get("wheel_cover"),
        values.get("wheel_hardness"),
        values.get("wheel_face"),
        round(float(width), 1) if isinstance(width, (int, float)) else None,
        values.get("lubricant"),
    )


def joint_plan(offers: Sequence[Sequence[Path]]) -> JointPlan:
    """The best combination of one path for each feature, with the visits in machine order.

    `offers` holds the paths of each feature, best first. Totals within a tenth of the cheapest count
    as equal; of equals the one with the fewest steps, then the fewest set-ups, then the finest
    starts is taken. Exact: a branch is left only when no completion of it could win. Raises
    ValueError where a feature offers no path.
    """
    if not all(offers):
        raise ValueError("every feature must offer a path")
    search = _Combinations(offers)
    search.extend((), 0.0, {}, search.cheapest)
    limit = search.least * EQUAL
    search.extend((), 0.0, {}, lambda picked: search.neatest(picked, limit))
    picked = search.best[1]
    paths = [offers[row][number] for row, number in enumerate(picked)]
    return JointPlan(picked, tuple(visits(paths)), _total(paths))


class _Combinations:
    """Walks the combinations of paths, twice: for the least total, then for the neatest near it."""

    def __init__(self, offers: Sequence[Sequence[Path]]) -> None:
        self._offers = offers
        self._keys = [[[setup_key(step.candidate) for step in path] for path in paths] for paths in offers]
        self._alone = [[sum(step.cost - step.change for step in path) for path in paths] for paths in offers]
        self._ahead = [0.0] * (len(offers) + 1)
        for row in range(len(offers) - 1, -1, -1):
            self._ahead[row] = self._ahead[row + 1] + min(self._alone[row])
        self.least = float("inf")
        self.best: tuple[tuple[float, ...], tuple[int, ...]] = ((float("inf"),), ())
        self._limit = float("inf")

    def extend(
        self,
        picked: tuple[int, ...],
        cost: float,
        seen: Mapping[SetupKey, float],
        finish: Callable[[tuple[int, ...]], None],
    ) -> None:
        """Every combination that starts with `picked` and can still stay under the limit."""
        row = len(picked)
        if row == len(self._offers):
            finish(picked)
            return
        for number in sorted(range(len(self._offers[row])), key=lambda place: self._alone[row][place]):
            steps = zip(self._keys[row][number], self._offers[row][number], strict=True)
            added = {key: step.change for key, step in steps if key not in seen}
            so_far = cost + self._alone[row][number] + sum(added.values())
            if so_far + self._ahead[row + 1] <= self._limit:
                self.extend((*picked, number), so_far, {**seen, **added}, finish)

    def _paths(self, picked: tuple[int, ...]) -> list[Path]:
        return [self._offers[row][number] for row, number in enumerate(picked)]

    def cheapest(self, picked: tuple[int, ...]) -> None:
        """Keep the least total."""
        self.least = min(self.least, _total(self._paths(picked)))
        self._limit = self.least * EQUAL

    def neatest(self, picked: tuple[int, ...], limit: float) -> None:
        """Keep the neatest combination whose total is within the limit."""
        paths = self._paths(picked)
        total = _total(paths)
        if total <= limit:
            starts = sum(path[0].candidate.grade.um for path in paths if path[0].candidate.grade)
            merit = (float(sum(map(len, paths))), float(len(list(visits(paths)))), starts, total)
            self.best = min(self.best, (merit, picked))


def _total(paths: Sequence[Path]) -> float:
    cutting = sum(step.cost - step.change for path in paths for step in path)
    return cutting + sum(visit.step.change for visit in visits(paths))


def visits(paths: Sequence[Path]) -> Iterator[Visit]:
    """The set-ups in machine order: always the coarsest that is next on some feature, with all it serves.

    A set-up comes twice only where a path goes back to a coarser one.
    """
    done = [0] * len(paths)
    while any(done[row] < len(path) for row, path in enumerate(paths)):
        heads = [path[done[row]] for row, path in enumerate(paths) if done[row] < len(path)]
        step = min(heads, key=_coarseness)
        key = setup_key(step.candidate)
        serves = []
        for row, path in enumerate(paths):
            while done[row] < len(path) and setup_key(path[done[row]].candidate) == key:
                serves.append((row, done[row]))
                done[row] += 1
        yield Visit(key, step, tuple(serves))


def _coarseness(step: PlannedStep) -> tuple[float, int, str]:
    """Coarse first; at one grain size the earlier stage first; then by name, so that the order is fixed."""
    grade = step.candidate.grade
    size = -grade.um if grade else -1e6
    return size, _STAGES.index(step.candidate.stage), repr(setup_key(step.candidate))
