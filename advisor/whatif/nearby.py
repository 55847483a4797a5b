"""Plans a job again with one quantity at another value, and works out only what hangs on it.

What a rule tests and a formula reads decides what can be kept: as long as every test gives the answer it
gave, nothing that the rules say changes, and what no formula reads changes nothing at all. A test holds
every plan made in this way equal to one made from nothing.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, field

from advisor.choices.decide import Decider
from advisor.inference.tests import answer
from advisor.job.model import Feature, Job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.rules import Condition
from advisor.pipeline import Desk, WorkedOut
from advisor.sequence.candidates import StageField
from advisor.sequence.cooling import Cooling
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.joint import share_set_ups
from advisor.sequence.moves import Moves
from advisor.sequence.offers import fits, width_room
from advisor.sequence.paths import PathFinder
from advisor.sequence.plan import FeaturePlan, decide_handling, plan_feature
from advisor.sequence.step_limits import StepLimits
from advisor.sequence.surface import PlannedStep, Surface
from advisor.situations import job_situation, presumed
from advisor.whatif.chains import JobChoice, choice_of
from advisor.whatif.limits import attributes_of
from advisor.whatif.quantities import Quantity, knowledge_with, with_value

#: Kinds of quantity that no formula of a search reads, that only its ways hang on, and that its moves hang on but
#: no set-up. Whatever is not named here is worked out from nothing.
_UNREAD = frozenset({"mass", "size", "edge_radius"})
_FOR_THE_SEARCH = frozenset({"depth", "roughness", "max_stock"})
_FOR_MOVES = frozenset({"area", "batch"})
#: What a rule tests of this follows from the band of depth, which the search tells apart itself.
_BY_BAND = "remaining_mm"

Answers = tuple[str, ...]
LedOn = dict[tuple[Surface, int, tuple[float, float]], tuple[PlannedStep, ...]]
Between = dict[tuple[Surface, int], tuple[PlannedStep, ...]]


@dataclass(frozen=True, slots=True)
class _Mark:
    """What set-ups and moves hang on, the same where they are the same; None where a formula reads the quantity."""

    set_ups: Hashable | None
    moves: Hashable | None


@dataclass(slots=True)
class _Kept:
    """What the plans of one face have in common, by their marks."""

    fields: dict[Hashable, dict[tuple[str, int, int, int], StageField]] = field(default_factory=dict)
    moves: dict[Hashable, tuple[Moves, StepLimits, Cooling, LedOn, Between]] = field(default_factory=dict)


class _KeptFinder(PathFinder):
    """A search that goes on with the set-ups and moves of an earlier one."""

    def __init__(self, desk: FeatureDesk, batch: int, kept: _Kept, mark: _Mark) -> None:
        super().__init__(desk, batch)
        if mark.set_ups is not None:
            self.fields = kept.fields.setdefault(mark.set_ups, self.fields)
        if mark.moves is not None:
            # Together, because each knows a candidate by its id: none may outlive the candidates it knows.
            stock = self.moves.most_stock
            made = (self.moves, self.step_limits, self._cooling, self._led_on, self._goes_between)
            moves, self.step_limits, self._cooling, self._led_on, self._goes_between = kept.moves.setdefault(
                (mark.moves, self.moves.most_dish), made
            )
            self.moves = copy(moves)  # the stock that may come off is held against whole ways, not against moves
            self.moves.most_stock = stock


class Nearby:
    """The plans of one job with single quantities at other values; thrown away with its question."""

    def __init__(self, found: WorkedOut, desk: Desk, tests: Mapping[str, Sequence[Condition]]) -> None:
        self.found, self.desk = found, desk
        self.decider: Decider = desk.decider.listening()
        self.planned = 0  # faces planned so far: what the answer has cost
        self.given = tuple(item.plan for item in found.planned)
        self.choice: JobChoice = choice_of(str(found.handling.winner), self.given)
        self._tests = tests
        self._kept: dict[tuple[str, str], _Kept] = {}
        self._plans: dict[Hashable, FeaturePlan] = {}

    @property
    def job(self) -> Job:
        """The job as given."""
        return self.found.job

    def at(self, quantity: Quantity, value: float) -> tuple[JobChoice, tuple[FeaturePlan, ...]]:
        """What is chosen for the whole job with a quantity at another value, and the plans of its faces."""
        said = self._answers(quantity, value)
        unsaid = said == self._answers(quantity, quantity.value if quantity.known else None)
        if unsaid and quantity.kind in _UNREAD:
            return self.choice, self.given
        job = with_value(self.job, quantity, value)
        knowledge = knowledge_with(self.desk.knowledge, job, quantity, value)
        handling = str(self.found.handling.winner)
        if not unsaid:
            facts, _ = presumed(job_situation(job, knowledge), knowledge)
            handling = str(decide_handling(job, self.decider, facts).winner)
        heard = () if unsaid else (quantity.kind, said)
        apart = _UNREAD | _FOR_THE_SEARCH
        mark = _Mark(
            heard if quantity.kind in apart | _FOR_MOVES else None, heard if quantity.kind in apart else None
        )
        if quantity.kind == "access" and self._as_wide(job, quantity):
            mark = _Mark(heard, heard)
        key = (quantity.kind, value, said)
        alone = [
            self._plan(job, face, handling, knowledge, mark, key)
            if face.name in quantity.faces or handling != self.found.handling.winner
            else plan
            for face, plan in zip(job.features, self.found.alone, strict=True)
        ]
        plans, _ = share_set_ups(alone)
        return choice_of(handling, plans), plans

    def _as_wide(self, job: Job, quantity: Quantity) -> bool:
        """Whether free space leaves every tool the room that it has now: then no formula sees it."""
        (name,) = quantity.faces
        place = next(place for place, face in enumerate(job.features) if face.name == name)
        before, after, tables = self.job.features[place], job.features[place], self.desk.knowledge.tables
        return all(
            width_room(tool, before) == width_room(tool, after)
            and fits(tool, before, tool.media.stages[0], tables) == fits(tool, after, tool.media.stages[0], tables)
            for tools in self.found.alone[place].desk.tools.values()
            for tool in tools
        )

    def tested(self, quantity: Quantity) -> bool:
        """Whether any rule looks at a quantity."""
        return any(self._tests.get(name) for name, _ in attributes_of(quantity.field))

    def heard(self) -> frozenset[str]:
        """Every rule that spoke on the job as given or at some point."""
        return self.decider.engine.heard() | self.found.decider.engine.heard()

    def _answers(self, quantity: Quantity, value: float | None) -> Answers:
        """What every test of a rule on the quantity says."""
        vocabulary = self.desk.knowledge.vocabulary
        return tuple(
            answer(test, value, vocabulary)
            for name, _ in attributes_of(quantity.field)
            if name != _BY_BAND
            for test in self._tests.get(name, ())
        )

    def _plan(
        self, job: Job, face: Feature, handling: str, knowledge: Knowledge, mark: _Mark, key: Hashable
    ) -> FeaturePlan:
        plan = self._plans.get((face.name, handling, key))
        if plan is None:
            self.planned += 1
            kept, book = self._kept.setdefault((face.name, handling), _Kept()), self.desk.book
            plan = self._plans[face.name, handling, key] = plan_feature(
                job, face, handling, knowledge, self.decider, book,
                lambda desk, batch: _KeptFinder(desk, batch, kept, mark),
            )  # fmt: skip
        return plan
