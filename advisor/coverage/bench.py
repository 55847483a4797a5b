"""One alloy, one face and one cell, with everything kept that faces of another start or finish share."""

from __future__ import annotations

from collections.abc import Mapping
from copy import copy
from dataclasses import dataclass, field

from advisor.choices.decide import Decider
from advisor.choices.model import Conflict, ListChoice
from advisor.coverage.residue import Residues, State, fixed_facts, residues
from advisor.figures.coefficients import CoefficientBook
from advisor.job.model import Job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.vocabulary import Value
from advisor.sequence.candidate import Candidate
from advisor.sequence.candidates import ALL_COUNT, SPOKEN_BY, StageField, Walk, offered_media
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.limits import Unmet
from advisor.sequence.moves import Moves
from advisor.sequence.offers import NotOffered, Tool, tools
from advisor.sequence.plan import decide_handling
from advisor.sequence.pruning import best_stations, undominated
from advisor.sequence.surface import PlannedStep
from advisor.situations import Facts, feature_situation, job_situation, presumed

Offer = tuple[dict[str, list[Tool]], list[NotOffered]]


@dataclass(frozen=True, slots=True)
class Part:
    """What one media on one station comes to: its candidates, and what fell by the way."""

    candidates: tuple[Candidate, ...]
    unmet: tuple[Unmet, ...]
    conflicts: tuple[Conflict, ...]
    grains: ListChoice | None


@dataclass(slots=True)
class Bench:
    """Serves the faces of one alloy, shape and cell; answers are kept by what the rules can tell apart."""

    knowledge: Knowledge
    decider: Decider
    not_runnable: tuple[NotOffered, ...] = ()
    steps: dict[tuple[object, ...], tuple[PlannedStep, ...]] = field(default_factory=dict)
    rules_of: dict[int, frozenset[str]] = field(default_factory=dict)
    _desk: FeatureDesk | None = None
    _moves: dict[bool, Moves] = field(default_factory=dict)
    _residues: dict[tuple[object, ...], Residues] = field(default_factory=dict)
    _offers: dict[tuple[object, ...], Offer] = field(default_factory=dict)
    _concluded: dict[tuple[object, ...], Facts] = field(default_factory=dict)
    _parts: dict[tuple[object, ...], Part] = field(default_factory=dict)
    _fields: dict[tuple[object, ...], StageField] = field(default_factory=dict)

    def desk(self, job: Job) -> FeatureDesk:
        """The desk of the only face of a job; all desks of a bench share the numbers they look up."""
        face = job.features[0]
        facts = feature_situation(job, face, self.knowledge)
        if self._desk is None:
            of_job, _ = presumed(job_situation(job, self.knowledge), self.knowledge)
            handling = str(decide_handling(job, self.decider, of_job).winner)
            tooled, self.not_runnable = tools(job.cell, handling, self.knowledge.tables)
            tables = self.knowledge.tables
            page = CoefficientBook(tables.coefficients.values()).page(tables.alloys[job.alloy])
            self._desk = FeatureDesk(job, face, handling, self.knowledge, self.decider, tooled, facts, page)
        desk = copy(self._desk)
        desk.job, desk.feature = job, face
        desk.facts = {**facts, "handling": desk.handling}
        return desk

    def moves(self, desk: FeatureDesk) -> Moves:
        """The moves, which differ between the faces of a bench only by whether a mirror is wanted."""
        mirror = desk.feature.finish.texture == "mirror"
        if mirror not in self._moves:
            self._moves[mirror] = Moves(desk, desk.job.batch)
        return self._moves[mirror]

    def field(self, desk: FeatureDesk, facts: Facts, concerns: int) -> StageField:
        """The candidates of the stage that `facts` describe, as `stage_field` finds them.

        Fields that hold the same candidates are one and the same object.
        """
        stage = str(facts["stage"])
        whole = {**facts, **self._conclusions(facts, stage)}
        offered, refused = self._offer(desk, stage)
        choice = self.decider.listed("media", whole, tuple(offered), spoken_by=SPOKEN_BY[stage])
        parts = [
            self._part(desk, whole, concerns, choice, tool)
            for media in choice.candidates(concerns)
            for tool in offered[media]
        ]
        # A field that holds something is what it holds; an empty one is told apart by what emptied it.
        held = [part for part in parts if part.candidates]
        key = (stage, *map(id, held)) if held else (stage, id(choice), id(refused), *map(id, parts))
        if key not in self._fields:
            found = [candidate for part in parts for candidate in part.candidates]
            met = [choice.conflict] if choice.conflict else []
            self._fields[key] = StageField(
                stage,
                whole,
                choice,
                tuple(undominated(best_stations(found), desk.job.cell)),
                tuple(refused),
                tuple(item for part in parts for item in part.unmet),
                (*met, *(item for part in parts for item in part.conflicts)),
            )
        return self._fields[key]

    def _conclusions(self, facts: Facts, stage: str) -> Facts:
        key = (stage, facts["feature.shape"], self._state(facts, stage, None))
        if key not in self._concluded:
            derived = self.decider.engine.conclude(facts).situation
            self._concluded[key] = {
                name: value for name, value in derived.items() if facts.get(name) != value
            }
        return self._concluded[key]

    def _offer(self, desk: FeatureDesk, stage: str) -> Offer:
        key = (stage, desk.on_edge, desk.feature.finish.lay if stage == "finish" else "")
        if key not in self._offers:
            self._offers[key] = offered_media(desk, stage)
        return self._offers[key]

    def _part(self, desk: FeatureDesk, whole: Facts, concerns: int, choice: ListChoice, tool: Tool) -> Part:
        """One media on one station; counting fewer concerns matters only where it lets in another grain."""
        stage = str(whole["stage"])
        told = self._state(whole, stage, tool.media.key)
        key = (stage, desk.on_edge, id(tool), told, concerns)
        part = self._parts.get(key)
        if part is not None:
            return part
        strict = self._parts.get((stage, desk.on_edge, id(tool), told, ALL_COUNT))
        if strict is not None and (not tool.media.grains or _no_wider(strict.grains, concerns)):
            part = strict
        else:
            walk = Walk(desk, whole, concerns, choice)
            already = len(walk.conflicts)
            found = tuple(walk.of_media(tool))
            grains = found[0].choices.get("grain") if found else None
            heard = grains if isinstance(grains, ListChoice) else None
            part = Part(found, tuple(walk.unmet), tuple(walk.conflicts[already:]), heard)
        self._parts[key] = part
        return part

    def _state(self, facts: Mapping[str, Value | None], stage: str, media: str | None) -> State:
        vocabulary = self.knowledge.vocabulary
        key = (stage, media, facts["feature.shape"])  # a burr is worked on the edge of its face
        if key not in self._residues:
            fixed = fixed_facts(facts, stage, vocabulary, media)
            self._residues[key] = residues(self.knowledge.rules, fixed, vocabulary)
        return self._residues[key].state(facts)


def _no_wider(grains: ListChoice | None, concerns: int) -> bool:
    """Whether counting fewer concerns lets no other grain in."""
    return grains is not None and grains.candidates(concerns) == grains.candidates(ALL_COUNT)
