"""Finds the cheapest chain for one face of a bench, or what stands in the way."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from advisor.coverage.bench import Bench
from advisor.job.model import Job
from advisor.knowledge.places import NOTES
from advisor.sequence.candidates import ALL_COUNT, StageField
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.paths import Path, PathFinder, Scope, steps_of, target_window
from advisor.sequence.surface import PlannedStep, Surface
from advisor.situations import Facts, defect_facts

_ANY_RA = (0.0, 1.0)


@dataclass(frozen=True, slots=True)
class Way:
    """A chain that serves, and how far the search had to be widened for it."""

    path: Path
    concerns: int
    whole_band: bool


@dataclass(frozen=True, slots=True)
class Obstacle:
    """What stands in the way: the stage where it shows, the kind of limit, one sentence."""

    stage: str
    limit: str
    text: str


class BenchFinder(PathFinder):
    """The path finder of a face whose fields and steps are shared with the other faces of its bench."""

    def __init__(self, desk: FeatureDesk, bench: Bench) -> None:
        super().__init__(desk, desk.job.batch)
        self.bench = bench
        self.moves = bench.moves(desk)
        self._mirror = desk.feature.finish.texture == "mirror"
        self._asked: dict[tuple[str, int, int], float] = {}

    def field(self, stage: str, concerns: int, defect: int = -1, remaining: float = 0.0) -> StageField:
        """The candidates of a stage, kept by the bench."""
        band = sum(1 for limit in self._limits if remaining * 1e3 > limit) if stage == "clear" else -1
        key = (stage, defect, band, concerns)
        found = self.fields.get(key)
        if found is None:
            self._asked[stage, defect, band] = remaining
            facts: Facts = {**self.desk.facts, "stage": stage}
            if stage == "clear":
                at_hand = self.defects[defect]
                facts |= defect_facts(at_hand.row.key, at_hand.depth * 1e3, self.desk.knowledge)
                facts["remaining_mm"] = remaining * 1e3
            found = self.fields[key] = self.bench.field(self.desk, facts, concerns)
        return found

    def as_before(self, concerns: int) -> bool:
        """Whether counting so many concerns changes no field that the search last looked into."""
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
        # Wherever the work may stop on the way, the fields below are asked for by the surfaces it leads to.
        row = self.defects[surface.defect].row
        depth = surface.remaining or self.defects[surface.defect].depth
        field = self.field("clear", scope.concerns, surface.defect, depth)
        ending = None if row.local else id(self.field("finish", scope.concerns))
        key = (surface, row.key, id(field), ending)
        steps = self.bench.steps.get(key)
        if steps is None:
            steps = self.bench.steps[key] = tuple(super()._clearing(surface, scope))
        return steps


def find(bench: Bench, job: Job) -> tuple[Way | None, BenchFinder | None]:
    """The cheapest chain for the only face of a job, widened as `plan_feature` widens; without rivals.

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
            found = finder.search(scope, 1.0)
            if found:
                return Way(steps_of(found[0]), concerns, not inner), finder
    return None, finder


def rules_spoken(bench: Bench, finder: BenchFinder, path: Path) -> frozenset[str]:
    """The rules that fire for the steps of a chain: in a decision, as a conclusion, or with a note."""
    engine = bench.decider.engine
    spoken: set[str] = set()
    for step in path:
        candidate = step.candidate
        own = bench.rules_of.get(id(candidate))
        if own is None:
            places = [place.name for place in bench.knowledge.places if place.names != (NOTES,)]
            own = frozenset(
                rule.id
                for place in places
                for rule in engine.rules(place, engine.signature(place, candidate.situation))
            )
            bench.rules_of[id(candidate)] = own
        spoken |= own
        received: Facts = {
            **candidate.situation,
            **finder.desk.facts,
            "stage": candidate.stage,
            "previous.grade": step.before.grade,
            "previous.media": step.before.media,
        }
        for place in (*step.received, NOTES):
            spoken |= {rule.id for rule in engine.rules(place, engine.signature(place, received))}
    return frozenset(spoken)


def obstacle(bench: Bench, finder: BenchFinder | None) -> Obstacle:
    """What stands in the way of a face without a chain, the first stage without a way out first."""
    if finder is None:
        first = bench.not_runnable[0]
        return Obstacle("any", first.limit, first.text)
    for stage in ("clear", "finish"):
        for (name, _, _, concerns), field in finder.fields.items():
            if name == stage and concerns == ALL_COUNT and not field.candidates:
                return next(_stuck(bench, field))
    return _no_chain(finder)


def _stuck(bench: Bench, field: StageField) -> Iterator[Obstacle]:
    """Why a stage has no candidate: rules that contradict, limits in the numbers, media not to be had."""
    for conflict in field.conflicts:
        yield Obstacle(field.stage, "rules", f"{conflict.what}.")
    for unmet in field.unmet:
        yield Obstacle(field.stage, unmet.limit, unmet.text)
    engine = bench.decider.engine
    wanted = {
        option
        for rule in engine.rules("media", engine.signature("media", field.situation))
        for advice in rule.advice()
        if advice.decision == "media" and advice.strength in ("must", "should", "may")
        for option in advice.options
    }
    for item in (*field.not_offered, *bench.not_runnable):
        if item.media in wanted:
            yield Obstacle(field.stage, item.limit, item.text)
    yield Obstacle(field.stage, "no rule", f"No rule names a media to {field.stage} here.")


def _no_chain(finder: BenchFinder) -> Obstacle:
    """Every stage has candidates, yet no chain of them arrives."""
    for concerns in (ALL_COUNT, 0):
        found = finder.search(Scope(concerns, _ANY_RA), 1.0)
        if found:
            reached = steps_of(found[0])[-1].after.ra * 1e6
            target = finder.desk.feature.finish
            text = (
                f"The chain that comes through ends at Ra {reached:.2g} um, "
                f"not {target.ra_low_um:g} to {target.ra_high_um:g} um."
            )
            return Obstacle("finish", "roughness", text)
    text = "No step that is left takes the defect off in the passes allowed without spoiling the face."
    return Obstacle("clear", "passes", text)
