"""Finds a chain for one face of a bench, and the rules that spoke for it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from advisor.coverage.bench import Bench
from advisor.coverage.residue import VARYING
from advisor.job.model import Job
from advisor.knowledge.places import NOTES
from advisor.sequence.candidate import Candidate
from advisor.sequence.candidates import ALL_COUNT, StageField
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.paths import Path, PathFinder, PathLabel, Scope, steps_of, target_window
from advisor.sequence.search import cheapest_paths
from advisor.sequence.surface import PlannedStep, Surface
from advisor.situations import Facts, defect_facts

#: How many of the cheapest last steps a chain is reckoned to need still, by the stage it has reached. More
#: than it can need: the search then goes deep first and stops at a chain near the cheapest.
AHEAD: Mapping[str, float] = {"start": 0.0, "clear": 8.0, "refine": 4.0, "prepare": 2.0, "finish": 0.0}


@dataclass(frozen=True, slots=True)
class Way:
    """A chain that serves, and how far the search had to be widened for it."""

    path: Path
    concerns: int
    whole_band: bool


class BenchFinder(PathFinder):
    """The path finder of a face whose fields and steps are shared with the other faces of its bench."""

    def __init__(self, desk: FeatureDesk, bench: Bench) -> None:
        super().__init__(desk, desk.job.batch)
        self.bench = bench
        self.moves = bench.moves(desk)
        self._mirror = desk.feature.finish.texture == "mirror"
        self._asked: dict[tuple[str, int, int], float] = {}

    def first(self, scope: Scope) -> Path:
        """A chain inside a scope, near the cheapest; empty where there is none.

        Every chain is looked at before it is said that there is none, so the answer to whether there is
        one is that of `search`.
        """
        ends = self.field("finish", scope.concerns).candidates
        if not ends:
            return ()
        least = min(self.moves.least_cost(candidate) for candidate in ends)

        def ahead(label: PathLabel) -> float:
            return least * AHEAD[label.move.after.stage] if label.move else 0.0

        start: PathLabel = self.origin()
        found = cheapest_paths(
            [start],
            lambda label: self._expand(label, scope),
            lambda label: self._done(label, scope),
            0.0,  # the first one will do
            ahead,
        )
        return steps_of(found[0]) if found else ()

    def field(self, stage: str, concerns: int, defect: int = -1, remaining: float = 0.0) -> StageField:
        """The candidates of a stage, kept by the bench."""
        band = sum(1 for limit in self._limits if remaining * 1e3 > limit) if stage == "clear" else -1
        key = (stage, defect, band, concerns)
        found = self.fields.get(key)
        if found is None:
            self._asked[stage, defect, band] = remaining
            desk = self.desk_for(stage, defect)
            facts: Facts = {**desk.facts, "stage": stage}
            if stage == "clear":
                at_hand = self.defects[defect]
                facts |= defect_facts(at_hand.row.key, at_hand.depth * 1e3, self.desk.knowledge)
                facts["remaining_mm"] = remaining * 1e3
            found = self.fields[key] = self.bench.field(desk, facts, concerns)
        return found

    def as_before(self, concerns: int) -> bool:
        """Whether counting so many concerns changes no field that the search has looked into."""
        return bool(self._asked) and all(
            self.field(stage, concerns, defect, remaining)
            is self.fields.get((stage, defect, band, concerns + 1))
            for (stage, defect, band), remaining in list(self._asked.items())
        )

    def _between(self, surface: Surface, scope: Scope) -> Iterable[PlannedStep]:
        fields = (self.field("refine", scope.concerns), self.field("prepare", scope.concerns))
        key = (surface, self._mirror, *map(id, fields))
        steps = self.bench.steps.get(key)
        if steps is None:
            steps = self.bench.steps[key] = tuple(super()._between(surface, scope))
        return steps

    def _ending(self, surface: Surface, scope: Scope) -> Iterable[PlannedStep]:
        key = (surface, self._mirror, scope.target, id(self.field("finish", scope.concerns)))
        steps = self.bench.steps.get(key)
        if steps is None:
            steps = self.bench.steps[key] = tuple(super()._ending(surface, scope))
        return steps

    def _clearing(self, surface: Surface, scope: Scope) -> Iterable[PlannedStep]:
        defect = self.defects[surface.defect]
        field = self.field("clear", scope.concerns, surface.defect, surface.remaining or defect.depth)
        # A step that clears the whole face may lay the finish as well, so the finish counts there.
        ending = None if defect.row.local else id(self.field("finish", scope.concerns))
        key = (surface, self._mirror, defect.row.key, id(field), ending)
        steps = self.bench.steps.get(key)
        if steps is None:
            steps = self.bench.steps[key] = tuple(super()._clearing(surface, scope))
        return steps


def find(bench: Bench, job: Job) -> tuple[Way | None, BenchFinder | None]:
    """A chain for the only face of a job, widened as `plan_feature` widens; without rivals.

    The finder is None where the cell can run nothing.
    """
    desk = bench.desk(job)
    if not desk.tools:
        return None, None
    finder = BenchFinder(desk, bench)
    target = desk.feature.finish
    for concerns in range(ALL_COUNT, -1, -1):
        if concerns < ALL_COUNT and finder.as_before(concerns):
            continue
        for inner in (True, False):
            scope = Scope(concerns, target_window(target.ra_low_um, target.ra_high_um, inner))
            path = finder.first(scope)
            if path:
                return Way(path, concerns, not inner), finder
    return None, finder


def rules_spoken(finder: BenchFinder, path: Path) -> frozenset[str]:
    """The rules that fire for the steps of a chain: in a decision, as a conclusion, or with a note."""
    bench, engine = finder.bench, finder.bench.decider.engine
    spoken: set[str] = set()
    # A candidate may have been found for another face of the bench: what a note says goes by this one.
    own = {key: finder.desk.facts[key] for key in VARYING if key != "remaining_mm"}
    for step in path:
        candidate = step.candidate
        received: Facts = {
            **candidate.situation,
            **own,
            "previous.grade": step.before.grade,
            "previous.media": step.before.media,
        }
        if id(candidate) not in bench.rules_of:
            bench.rules_of[id(candidate)] = _decided(bench, candidate)
        spoken |= bench.rules_of[id(candidate)]
        for place in (*step.received, NOTES):
            spoken |= {rule.id for rule in engine.rules(place, engine.signature(place, received))}
    return frozenset(spoken)


def _decided(bench: Bench, candidate: Candidate) -> frozenset[str]:
    """The rules that speak in the conclusions and decisions of a candidate."""
    engine = bench.decider.engine
    places = [place.name for place in bench.knowledge.places if place.names != (NOTES,)]
    return frozenset(
        rule.id
        for place in places
        for rule in engine.rules(place, engine.signature(place, candidate.situation))
    )
