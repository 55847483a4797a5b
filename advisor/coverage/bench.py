"""One alloy, one face and one cell, with everything kept that faces of another start or finish share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from advisor.choices.decide import Decider
from advisor.choices.model import Conflict, ListChoice
from advisor.coverage.residue import Residue, State, fixed_facts, residues, state
from advisor.job.model import Feature, Job
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


@dataclass(frozen=True, slots=True)
class Part:
    """What one media on one station comes to: its candidates, and what fell by the way."""

    candidates: tuple[Candidate, ...]
    unmet: tuple[Unmet, ...]
    conflicts: tuple[Conflict, ...]
    grains: ListChoice | None


Offer = tuple[dict[str, list[Tool]], list[NotOffered]]


@dataclass(slots=True)
class Bench:
    """Plans the faces of one alloy, shape and cell; answers are kept by what the rules can tell apart."""

    knowledge: Knowledge
    decider: Decider
    alloy: str
    shape: str
    cell: str
    handling: str = ""
    not_runnable: tuple[NotOffered, ...] = ()
    steps: dict[tuple[object, ...], tuple[PlannedStep, ...]] = field(default_factory=dict)
    rules_of: dict[int, frozenset[str]] = field(default_factory=dict)
    _tools: Mapping[str, tuple[Tool, ...]] = field(default_factory=dict)
    _moves: dict[bool, Moves] = field(default_factory=dict)
    _residues: dict[tuple[str, str | None], tuple[Residue, ...]] = field(default_factory=dict)
    _offers: dict[tuple[str, str], Offer] = field(default_factory=dict)
    _concluded: dict[tuple[str, State], Facts] = field(default_factory=dict)
    _parts: dict[tuple[object, ...], Part] = field(default_factory=dict)
    _fields: dict[tuple[object, ...], StageField] = field(default_factory=dict)

    def desk(self, job: Job) -> FeatureDesk:
        """The desk of a face of this bench, whose handling and tools are the same every time."""
        face = job.features[0]
        if not self.handling:
            facts, _ = presumed(job_situation(job, self.knowledge), self.knowledge)
            self.handling = str(decide_handling(job, self.decider, facts).winner)
            self._tools, self.not_runnable = tools(job.cell, self.handling, self.knowledge.tables)
        facts = {**feature_situation(job, face, self.knowledge), "handling": self.handling}
        return FeatureDesk(job, face, self.handling, self.knowledge, self.decider, self._tools, facts)

    def moves(self, desk: FeatureDesk) -> Moves:
        """The moves, which differ between faces of one bench only by whether a mirror is wanted."""
        mirror = desk.feature.finish.texture == "mirror"
        if mirror not in self._moves:
            self._moves[mirror] = Moves(desk, desk.job.batch)
        return self._moves[mirror]

    def field(self, desk: FeatureDesk, facts: Facts, concerns: int) -> StageField:
        """The candidates of the stage that `facts` describe, as `stage_field` finds them.

        Fields that hold the same candidates are one and the same object.
        """
        stage = str(facts["stage"])
        told = self._state(facts, stage, None)
        situation = self._concluded.get((stage, told))
        if situation is None:
            derived = self.decider.engine.conclude(facts).situation
            situation = {key: value for key, value in derived.items() if facts.get(key) != value}
            self._concluded[stage, told] = situation
        whole = {**facts, **situation}
        offered, refused = self._offer(desk.feature, desk, stage)
        choice = self.decider.listed("media", whole, tuple(offered), spoken_by=SPOKEN_BY[stage])
        parts = [
            self._part(desk, whole, concerns, choice, tool)
            for media in choice.candidates(concerns)
            for tool in offered[media]
        ]
        key = (stage, id(choice), id(refused), *map(id, parts))
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

    def _offer(self, face: Feature, desk: FeatureDesk, stage: str) -> Offer:
        key = (stage, face.finish.lay if stage == "finish" else "")
        if key not in self._offers:
            self._offers[key] = offered_media(desk, stage)
        return self._offers[key]

    def _part(
        self, desk: FeatureDesk, whole: Facts, concerns: int, choice: ListChoice, tool: Tool
    ) -> Part:
        """One media on one station; fewer concerns matter only where they let in another grain."""
        stage, media = str(whole["stage"]), tool.media.key
        told = self._state(whole, stage, media)
        key = (stage, id(tool), told, concerns)
        part = self._parts.get(key)
        if part is not None:
            return part
        strict = self._parts.get((stage, id(tool), told, ALL_COUNT))
        if strict is not None and _no_wider(strict.grains, concerns):
            part = strict
        else:
            walk = Walk(desk, whole, concerns, choice)
            already = len(walk.conflicts)
            found = tuple(walk.of_media(tool))
            grains = found[0].choices.get("grain") if found else None
            part = Part(
                found,
                tuple(walk.unmet),
                tuple(walk.conflicts[already:]),
                grains if isinstance(grains, ListChoice) else None,
            )
            if found and not tool.media.grains:  # nothing to widen
                self._parts[stage, id(tool), told, ALL_COUNT] = part
        self._parts[key] = part
        return part

    def _state(self, facts: Mapping[str, Value | None], stage: str, media: str | None) -> State:
        vocabulary = self.knowledge.vocabulary
        if (stage, media) not in self._residues:
            fixed = fixed_facts(facts, stage, vocabulary, media)
            self._residues[stage, media] = residues(self.knowledge.rules, fixed, vocabulary)
        return state(self._residues[stage, media], facts, vocabulary)


def _no_wider(grains: ListChoice | None, concerns: int) -> bool:
    """Whether counting fewer concerns lets no other grain in."""
    return grains is not None and grains.candidates(concerns) == grains.candidates(ALL_COUNT)
