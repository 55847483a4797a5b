"""Plans one job again and again under small changes; what a change leaves as it was is not worked out anew.

Three memories, each keyed by all that its content depends on: the plan of a face by its quantities and the
rules still open in each of its situations; the candidates of one tool; and the search through the same
candidates from the same start. The answer is that of a whole recommendation, see `prove`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

from advisor.choices.decide import Decider
from advisor.choices.model import ListChoice
from advisor.explain.muted import lacking, without
from advisor.explain.remedies.fields import Fields
from advisor.explain.remedies.voices import BEFORE, Voices
from advisor.figures.coefficients import CoefficientBook
from advisor.inference.engine import Growing
from advisor.job.model import Feature, Job
from advisor.knowledge.base import Knowledge
from advisor.sequence.candidate import Candidate
from advisor.sequence.candidates import ALL_COUNT, StageField
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.joint import share_set_ups
from advisor.sequence.moves import most_dish, most_stock
from advisor.sequence.offers import Tool, fits, tools, width_room
from advisor.sequence.paths import Path, PathFinder, Scope, target_window
from advisor.sequence.plan import FeaturePlan, decide_handling, plan_feature
from advisor.sequence.walls import too_thin
from advisor.situations import Facts, defect_facts, feature_situation, job_situation, presumed

Key = tuple[object, ...]
_NOTHING = ListChoice("media", (), None)
STAGES = ("clear", "refine", "prepare", "finish")


@dataclass(slots=True)
class Face:
    """One face under some changes: its desk, and the situations in which its stages are decided."""

    job: Job
    desk: FeatureDesk
    silent: frozenset[str]
    limits: tuple[float, ...]
    situations: dict[str, tuple[Growing, ...]] = field(default_factory=dict)
    key: Key = ()


@dataclass(slots=True)
class Replanner:
    """Faces and plans of jobs that differ little from one another."""

    knowledge: Knowledge
    decider: Decider
    book: CoefficientBook
    reach: int = ALL_COUNT  # so many concerns count in the plan that is taken
    voices: Voices = field(init=False)
    fields: Fields = field(init=False)
    plans: dict[Key, FeaturePlan] = field(default_factory=dict)
    searched: dict[Key, FeaturePlan] = field(default_factory=dict)
    _mute: dict[frozenset[str], tuple[Decider, tuple[float, ...]]] = field(default_factory=dict)
    _tools: dict[Key, dict[str, tuple[Tool, ...]]] = field(default_factory=dict)
    _reach: dict[Key, tuple[Key, Key]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Open the memories."""
        self.voices = Voices(self.decider.engine, self.knowledge)
        self.fields = Fields(self.knowledge, self.voices)

    # ------------------------------------------------------------------ a face
    def handling(self, job: Job, silent: frozenset[str]) -> ListChoice:
        """Whether the part goes to the tool, under the changes."""
        facts, _ = presumed(job_situation(job, self.knowledge), self.knowledge)
        return decide_handling(job, self._muted(silent)[0], facts)

    def face(self, job: Job, feature: Feature, silent: frozenset[str]) -> Face:
        """A face of a job, with the rules that are still open in each of its situations."""
        decider, limits = self._muted(silent)
        handling = str(self.handling(job, silent).winner)
        stations = (tuple(job.cell.stations), handling)
        runnable = self._tools.get(stations)
        if runnable is None:
            runnable = self._tools[stations] = tools(job.cell, handling, self.knowledge.tables)[0]
        facts: Facts = {**feature_situation(job, feature, self.knowledge), "handling": handling}
        page = self.book.page(self.knowledge.tables.alloys[job.alloy])
        desk = FeatureDesk(job, feature, handling, self.knowledge, decider, runnable, facts, page)
        return Face(job, desk, silent, limits)

    def key(self, face: Face) -> Key:
        """What the plan of a face depends on: quantities, then what can be had and which rules are open.

        Faces with the second part in common are of one class, as far as choices go.
        """
        if not face.key:
            places = self.knowledge.vocabulary.order[1:]
            voices = [
                self.voices.of(each, places, BEFORE, face.silent)
                for stage in STAGES
                for each in self.situations(face, stage)
            ]
            rooms, reached = self._reached(face.desk)
            face.key = ((*_quantities(face.desk), rooms), (reached, *voices))
        return face.key

    def _muted(self, silent: frozenset[str]) -> tuple[Decider, tuple[float, ...]]:
        """A decider that does not hear some rules, and the depths at which the others change their mind."""
        if silent not in self._mute:
            named = [self.knowledge.rule[each] for each in silent]
            asks = any(
                test.attribute == "remaining_mm" for rule in named for test in (*rule.when, *rule.unless)
            )
            base = lacking(self.knowledge, silent) if asks else self.knowledge
            self._mute[silent] = without(self.decider, silent), base.depth_limits
        return self._mute[silent]

    def open_rules(self, face: Face) -> frozenset[str]:
        """Every rule that could have a say in the plan of a face; leaving out another one alters nothing."""
        places = self.knowledge.vocabulary.order[1:]
        heard = [
            self.voices.open(each, places, BEFORE)
            for stage in STAGES
            for each in self.situations(face, stage)
        ]
        first = {
            rule.id for place in self.knowledge.places if place.name == "handling" for rule in place.rules
        }
        return self.voices.drawing.union(first, *heard)

    def _reached(self, desk: FeatureDesk) -> tuple[Key, Key]:
        """How wide each tool may be on the face, and which get at it, stage by stage."""
        feature = desk.feature
        key = (
            desk.job.cell.stations, desk.handling, feature.shape, feature.radius_mm, feature.width_mm,
            feature.access_mm, feature.finish.lay, feature.start.defects,
        )  # fmt: skip
        found = self._reach.get(key)
        if found is None:
            tables, at_hand = self.knowledge.tables, [tool for each in desk.tools.values() for tool in each]
            worked = {id(each.feature): each.feature for each in map(desk.at, (None, *feature.start.defects))}
            found = self._reach[key] = (
                tuple(width_room(tool, face) for tool in at_hand for face in worked.values()),
                tuple(
                    (tool.media.key, tool.station.name, stage, face.shape)
                    for tool in at_hand
                    for stage in STAGES
                    for face in worked.values()
                    if fits(tool, face, stage, tables) is None
                ),
            )
        return found

    def situations(self, face: Face, stage: str) -> tuple[Growing, ...]:
        """What a stage is decided in; clearing once for every band that a depth goes through."""
        found = face.situations.get(stage)
        if found is None:
            found = face.situations[stage] = tuple(
                self.voices.concluded(each, face.desk.decider.engine, face.silent)
                for each in self._given(face, stage)
            )
        return found

    def _given(self, face: Face, stage: str) -> Iterator[Facts]:
        facts: Facts = {**face.desk.facts, "stage": stage}
        if stage != "clear":
            yield facts
            return
        tables, start = self.knowledge.tables, face.desk.feature.start
        for key in start.defects:
            depth = start.depth_mm[0] if key == start.defect else tables.defects[key].depth_mm[0]
            if tables.defects[key].kind == "surface" or depth <= 0:
                continue
            facts = {**face.desk.at(key).facts, "stage": stage, **defect_facts(key, depth, self.knowledge)}
            for left in (depth, *(limit for limit in face.limits if limit < depth)):
                yield {**facts, "remaining_mm": left}

    # ------------------------------------------------------------------ what a stage may be done with
    def media(self, face: Face, stage: str) -> Iterator[tuple[FeatureDesk, ListChoice]]:
        """Where a stage is worked and how the media stand there, for each situation in which it is decided."""
        for each in self.situations(face, stage):
            desk = worked_at(face.desk, each)
            yield desk, self.fields.media(desk, each)

    def candidates(self, face: Face, stage: str, concerns: int) -> Iterator[Candidate]:
        """The candidates of a stage, in whatever situation."""
        for each in self.situations(face, stage):
            yield from self.fields.of(worked_at(face.desk, each), each, concerns, face.silent).candidates

    # ------------------------------------------------------------------ plans
    def alone(self, face: Face) -> FeaturePlan:
        """The plan of a face for itself."""
        key = self.key(face)
        found = self.plans.get(key)
        if found is None:
            found = self.plans[key] = self._search(face)
        return found

    def _search(self, face: Face) -> FeaturePlan:
        desk = face.desk
        if not desk.tools or too_thin(face.job, desk.feature, self.knowledge.tables):
            return FeaturePlan(desk.feature, desk, (), 0.0, (), (), ())
        alike = (
            _start(desk),
            face.limits,
            *(
                (
                    stage,
                    *map(id, self.fields.of(worked_at(desk, each), each, concerns, face.silent).candidates),
                )
                for concerns in range(ALL_COUNT, self.reach - 1, -1)
                for stage in STAGES
                for each in self.situations(face, stage)
            ),
        )
        found = self.searched.get(alike)
        if found is None:
            found = plan_feature(
                face.job, desk.feature, desk.handling, self.knowledge, desk.decider, self.book,
                lambda _, batch: _Sharing(face, self.fields, batch),
            )  # fmt: skip
            if found.path and found.concerns >= self.reach:  # with fewer, other candidates than those count
                self.searched[alike] = found
        return found

    def still_planned(self, face: Face, chain: Path) -> bool:
        """Whether a chain's set-ups still make a plan while as many concerns count; False leaves it open.

        A search through a few of the candidates: what it finds, the search through all finds as well.
        """
        if not face.desk.tools or too_thin(face.job, face.desk.feature, self.knowledge.tables):
            return False
        wanted = frozenset((step.candidate.stage, step.candidate.key) for step in chain)
        finder = _Sharing(face, self.fields, face.job.batch, wanted)
        finish = face.desk.feature.finish
        return finder.passable(
            Scope(self.reach, target_window(finish.ra_low_um, finish.ra_high_um, inner=False))
        )

    def offered(self, face: Face, wanted: Callable[[Path], bool]) -> bool:
        """Whether any path of a face for itself, taken or rival, is wanted; sharing picks among these only."""
        plan = self.alone(face)
        return any(wanted(path) for path in (plan.path, *(rival.path for rival in plan.rivals)))

    def shared(self, job: Job, name: str, silent: frozenset[str]) -> FeaturePlan:
        """The plan of a feature as the whole recommendation makes it, set-ups shared with the others."""
        alone = [self.alone(self.face(job, feature, silent)) for feature in job.features]
        return next(plan for plan in share_set_ups(alone)[0] if plan.feature.name == name)


def worked_at(desk: FeatureDesk, situation: Facts) -> FeatureDesk:
    """Where a stage is worked: on the face, or on its edges where a burr is to go."""
    return desk.at(str(situation["defect"])) if situation["stage"] == "clear" else desk


def _quantities(desk: FeatureDesk) -> Key:
    """Everything beside the rules that a plan of a face depends on."""
    job, feature = desk.job, desk.feature
    cell, start, finish = job.cell, feature.start, feature.finish
    return (
        job.alloy, desk.handling, job.batch, job.part.wall_mm,
        feature.shape, feature.radius_mm, feature.cross_radius_mm, feature.width_mm, feature.area_cm2,
        feature.max_stock_mm, start.defects, start.depth_mm, start.roughness_um,
        finish.texture, finish.lay, finish.ra_low_um, finish.ra_high_um,
        cell.stations, cell.wet, cell.compliance, cell.changeover, cell.rates,
    )  # fmt: skip


def _start(desk: FeatureDesk) -> Key:
    """What a search looks at beside its candidates."""
    job, feature = desk.job, desk.feature
    start, finish, cell = feature.start, feature.finish, job.cell
    return (
        job.alloy, job.batch, feature.width_mm, feature.area_cm2, feature.shape, start.defects, start.depth_mm[0],
        start.roughness_um, finish.texture, finish.ra_low_um, finish.ra_high_um, most_dish(desk), most_stock(desk),
        cell.compliance, cell.changeover, cell.rates, next(iter(desk.tools)),
    )  # fmt: skip


class _Sharing(PathFinder):
    """A search that takes the candidates of a stage from what others have worked out, or only some of them."""

    def __init__(
        self, face: Face, fields: Fields, batch: int, only: frozenset[tuple[str, object]] | None = None
    ) -> None:
        super().__init__(face.desk, batch)
        self._face, self._shared, self._only = face, fields, only
        self._limits = face.limits

    def field(self, stage: str, concerns: int, defect: int = -1, remaining: float = 0.0) -> StageField:
        """The candidates of a stage, worked out here or before."""
        band = sum(1 for limit in self._limits if remaining * 1e3 > limit) if stage == "clear" else -1
        own = (stage, defect, band, concerns)
        if own not in self.fields:
            self.fields[own] = self._found(stage, concerns, defect, remaining)
        return self.fields[own]

    def _found(self, stage: str, concerns: int, defect: int, remaining: float) -> StageField:
        desk = self.desk_for(stage, defect)
        facts: Facts = {**desk.facts, "stage": stage}
        if stage == "clear":
            at_hand = self.defects[defect]
            facts.update(defect_facts(at_hand.row.key, at_hand.depth * 1e3, desk.knowledge))
            facts["remaining_mm"] = remaining * 1e3
        if self._only is not None and all(stage != each for each, _ in self._only):
            return StageField(stage, facts, _NOTHING, (), (), (), ())
        silent = self._face.silent
        situation = self._shared.voices.concluded(facts, desk.decider.engine, silent)
        field = self._shared.of(desk, situation, concerns, silent)
        if self._only is None:
            return field
        kept = tuple(each for each in field.candidates if (stage, each.key) in self._only)
        return replace(field, candidates=kept)
