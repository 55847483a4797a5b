"""One order of set-ups for all features: shared where they can be, coarse before fine.

Each feature brings its best few paths. Among all ways to pick one of each, the one with the lowest
total wins, a set-up that several features use being changed to only once a batch, and the part being
taken in hand anew for every time that a station is set up again.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from advisor.sequence.candidate import Candidate
from advisor.sequence.handling import Handling, Stop, arranged, in_goes, turns
from advisor.sequence.paths import EQUAL, Path
from advisor.sequence.plan import FeaturePlan, Rival
from advisor.sequence.surface import PlannedStep

#: Set-ups come in this order of stages where their grain sizes tie.
_STAGES = ("clear", "refine", "prepare", "finish")
SetupKey = tuple[object, ...]
#: Why the path that is best for a face alone was given up.
_TOGETHER = "is better for this face alone; the path taken shares set-ups with other faces or spares handling"
_ALONE = "costs less at the machine; the path taken spares the part a time in hand"


@dataclass(frozen=True, slots=True)
class Visit:
    """A set-up of the batch: the step that shows it, and what it serves (feature, step), from zero."""

    key: SetupKey
    step: PlannedStep
    serves: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class _Stop:
    """A step with its set-up and its place in the machine order, both worked out once."""

    key: SetupKey
    coarseness: tuple[float, int, str]
    step: PlannedStep


Stops = tuple[_Stop, ...]


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
    joint = joint_plan(offers, handling_of(plans[planned[0]]))
    shared = list(plans)
    for row, number in zip(planned, joint.picked, strict=True):
        if number:
            shared[row] = _with_rival(plans[row], number - 1, _ALONE if len(planned) == 1 else _TOGETHER)
    served = tuple(
        replace(visit, serves=tuple((planned[row], step) for row, step in visit.serves))
        for visit in joint.visits
    )
    return tuple(shared), served


def handling_of(plan: FeaturePlan) -> Handling:
    """What handling costs in the cell of a plan, in the unit of its costs."""
    desk = plan.desk
    general, rates = desk.general(), desk.job.cell.rates
    price = rates.hour / 3600.0 if rates else 1.0
    return Handling(
        hold=price * general["handling_seconds"].band.expected,
        turn=price * general["turning_seconds"].band.expected,
        one_part=desk.job.batch == 1,
    )


def times_handled(visits: Sequence[Visit], one_part: bool) -> tuple[int, int]:
    """How often a part is taken in hand, and how often it is turned to another face meanwhile.

    >>> times_handled([], False)
    (1, 0)
    """
    goes = in_goes([_as_stop(visit) for visit in visits], one_part)
    return len(goes), sum(turns(go) for go in goes)


def _as_stop(visit: Visit) -> Stop:
    return visit.step.candidate.tool.station.name, frozenset(row for row, _ in visit.serves)


def _in_hand_order(visits: Sequence[Visit], one_part: bool) -> Iterator[Visit]:
    """The visits with the faces of each in the order in which the part is turned least."""
    goes = in_goes([_as_stop(visit) for visit in visits], one_part)
    order = (faces for go in goes for faces in arranged(go))
    for visit, faces in zip(visits, order, strict=True):
        served = sorted(visit.serves, key=lambda pair, faces=faces: (faces.index(pair[0]), pair[1]))  # type: ignore[misc]
        yield replace(visit, serves=tuple(served))


def _with_rival(plan: FeaturePlan, number: int, why: str) -> FeaturePlan:
    taken = plan.rivals[number]
    time = sum(step.time for step in plan.path)
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


def joint_plan(offers: Sequence[Sequence[Path]], handling: Handling = Handling()) -> JointPlan:  # noqa: B008
    """The best combination of one path for each feature, with the visits in machine order.

    `offers` holds the paths of each feature, best first; `handling` is what it costs to take a part in hand
    and to turn it. Totals above the cheapest by no more than a tenth of its work (handling not counted) are
    equal; of equals the one with the fewest steps, then the fewest set-ups, then the finest starts is
    taken. Exact: a branch is left only when no completion of it could win. Raises
    ValueError where a feature offers no path.
    """
    if not all(offers):
        raise ValueError("every feature must offer a path")
    search = _Combinations(offers, handling)
    search.extend((), 0.0, {}, search.cheapest)
    limit = search.limit
    search.extend((), 0.0, {}, lambda picked: search.neatest(picked, limit))
    picked = search.best[1]
    stops = search.stops(picked)
    return JointPlan(picked, tuple(_in_hand_order(list(_visits(stops)), handling.one_part)), search.total(stops))


class _Combinations:
    """Walks the combinations of paths, twice: for the least total, then for the neatest near it."""

    def __init__(self, offers: Sequence[Sequence[Path]], handling: Handling) -> None:
        self._handling = handling
        self._offers = [[_stops(path) for path in paths] for paths in offers]
        self._alone = [[sum(step.cost - step.change for step in path) for path in paths] for paths in offers]
        self._ahead = [0.0] * (len(offers) + 1)
        for row in range(len(offers) - 1, -1, -1):
            self._ahead[row] = self._ahead[row + 1] + min(self._alone[row])
        self.least = float("inf")
        self.best: tuple[tuple[float, ...], tuple[int, ...]] = ((float("inf"),), ())
        self.limit = float("inf")

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
            stops = self._offers[row][number]
            added = {stop.key: stop.step.change for stop in stops if stop.key not in seen}
            so_far = cost + self._alone[row][number] + sum(added.values())
            if so_far + self._ahead[row + 1] > self.limit:
                continue
            so_seen = {**seen, **added}
            least = self._handling.at_least(len(self._offers), Counter(key[0] for key in so_seen))
            if so_far + self._ahead[row + 1] + least <= self.limit:
                self.extend((*picked, number), so_far, so_seen, finish)

    def stops(self, picked: tuple[int, ...]) -> list[Stops]:
        """The steps of a combination, a row for each feature."""
        return [self._offers[row][number] for row, number in enumerate(picked)]

    def cheapest(self, picked: tuple[int, ...]) -> None:
        """Keep the least total."""
        work, handled = self.costs(self.stops(picked))
        if work + handled < self.least:
            self.least = work + handled
            self.limit = work * EQUAL + handled

    def neatest(self, picked: tuple[int, ...], limit: float) -> None:
        """Keep the neatest combination whose total is within the limit."""
        rows = self.stops(picked)
        steps = float(sum(map(len, rows)))
        if steps > self.best[0][0]:
            return
        total = self.total(rows)
        if total <= limit:
            grades = [row[0].step.candidate.grade for row in rows]
            starts = sum(grade.um for grade in grades if grade)
            merit = (steps, float(sum(1 for _ in _visits(rows))), starts, total)
            self.best = min(self.best, (merit, picked))


    def total(self, rows: Sequence[Stops]) -> float:
        """Working, changes of media and handling of one combination."""
        return sum(self.costs(rows))

    def costs(self, rows: Sequence[Stops]) -> tuple[float, float]:
        """Working with changes of media, and handling."""
        visits = list(_visits(rows))
        cutting = sum(stop.step.cost - stop.step.change for row in rows for stop in row)
        handled = self._handling.cost([_as_stop(visit) for visit in visits])
        return cutting + sum(visit.step.change for visit in visits), handled


def visits(paths: Sequence[Path]) -> Iterator[Visit]:
    """The set-ups in machine order: always the coarsest that is next on some feature, with all it serves.

    A set-up comes twice only where a path goes back to a coarser one.
    """
    return _visits([_stops(path) for path in paths])


def _visits(rows: Sequence[Stops]) -> Iterator[Visit]:
    done = [0] * len(rows)
    while True:
        heads = [stops[done[row]] for row, stops in enumerate(rows) if done[row] < len(stops)]
        if not heads:
            return
        head = min(heads, key=_by_coarseness)
        serves = []
        for row, stops in enumerate(rows):
            while done[row] < len(stops) and stops[done[row]].key == head.key:
                serves.append((row, done[row]))
                done[row] += 1
        yield Visit(head.key, head.step, tuple(serves))


def _stops(path: Path) -> Stops:
    found = []
    for step in path:
        key = setup_key(step.candidate)
        found.append(_Stop(key, _coarseness(step, key), step))
    return tuple(found)


def _by_coarseness(stop: _Stop) -> tuple[float, int, str]:
    return stop.coarseness


def _coarseness(step: PlannedStep, key: SetupKey) -> tuple[float, int, str]:
    """Coarse first; at one grain size the earlier stage first; then by name, so that the order is fixed."""
    grade = step.candidate.grade
    size = -grade.um if grade else -1e6
    return size, _STAGES.index(step.candidate.stage), repr(key)
