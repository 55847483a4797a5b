"""Whether an option could win under some changes, and whether it does: the cheap question, and the whole run."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from advisor.choices.decide import Decider, Room
from advisor.choices.model import RangeChoice
from advisor.errors import AdvisorError
from advisor.explain.changes import NUMBERS, Change, changed, left_out, quickly
from advisor.explain.fields import field_of
from advisor.explain.forced import Wish
from advisor.explain.muted import without
from advisor.explain.shared import Shared
from advisor.job.model import Job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.vocabulary import Value
from advisor.pipeline import Desk, WorkedOut, work_out
from advisor.sequence.candidates import ALL_COUNT, SPOKEN_BY, offered_media
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.later_decisions import later_decisions
from advisor.sequence.offers import Tool, tools
from advisor.sequence.paths import PathFinder
from advisor.sequence.plan import FeaturePlan, decide_handling
from advisor.situations import Facts, defect_facts, feature_situation, job_situation, presumed


@dataclass(frozen=True)
class Prospects:
    """Asks of one option of one feature what changes would do for it."""

    found: WorkedOut
    knowledge: Knowledge
    feature: str
    wish: Wish
    shared: Shared

    def job(self, changes: Collection[Change]) -> Job | None:
        """The job with some changes, with the feature in question alone.

        None where the changes do not go together, or the feature is gone.
        """
        if all(change.rule is not None for change in changes):
            return self._alone
        job: Job | None = self._alone
        for change in changes:
            if job is not None and change.rule is None:
                job = quickly(job, job.features[0], change)
        if job is not None:
            return job
        try:
            return changed(self._alone, changes, self.knowledge)
        except AdvisorError:
            return None

    @cached_property
    def _alone(self) -> Job:
        """The job without its other features: what they ask for does not decide this one's candidates."""
        job = self.found.job
        return job.model_copy(update={"features": (job.feature(self.feature),)})

    def number(self, change: Change) -> float | None:
        """What a numeric field of the feature or the part says now; None where it says nothing."""
        job = self._alone
        facts = feature_situation(job, job.features[0], self.knowledge)
        attribute = next(
            (key for key in NUMBERS if field_of(key, job, job.features[0]) == change.field), None
        )
        value = facts.get(attribute) if attribute is not None and attribute != "batch" else None
        return float(value) if isinstance(value, (int, float)) and value > 0 else None

    def decider(self, changes: Collection[Change]) -> Decider:
        """A decider that does not hear the rules that some changes leave out."""
        silent = left_out(changes)
        return without(self.found.decider, silent) if silent else self.found.decider

    # ------------------------------------------------------------------ could it win
    def could_win(self, job: Job, decider: Decider, concerns: int = ALL_COUNT) -> bool:
        """Whether the decisions leave the option among the candidates of its stage, whatever they cost.

        What this denies cannot win while so many concerns count: a plan is made of candidates only.
        """
        desk = self._desk(job, decider)
        if self.wish.decision == "handling":
            return desk.handling == self.wish.option
        return bool(desk.tools) and any(
            self._reached(desk, situation, concerns) for situation in self._situations(desk)
        )

    def signature(self, job: Job, decider: Decider) -> tuple[object, ...]:
        """What the rules up to the decision can tell apart: equal ones leave every option as it stands."""
        desk = self._desk(job, decider)
        order = decider.vocabulary.order
        before = order[1 : order.index(self.wish.decision) + 1]
        offered = tuple(offered_media(desk, self.wish.stage)[0]) if desk.tools else ()
        masks = tuple(
            decider.engine.signature(name, situation)
            for situation in self._situations(desk)
            for name in before
        )
        return (desk.handling, offered, *masks)

    def _desk(self, job: Job, decider: Decider) -> FeatureDesk:
        facts, _ = presumed(job_situation(job, self.knowledge), self.knowledge)
        handling = str(decide_handling(job, decider, facts).winner)
        feature = job.feature(self.feature)
        runnable, _ = tools(job.cell, handling, self.knowledge.tables)
        facts = {**feature_situation(job, feature, self.knowledge), "handling": handling}
        return FeatureDesk(job, feature, handling, self.knowledge, decider, runnable, facts)

    def _situations(self, desk: FeatureDesk) -> Iterator[Facts]:
        """The situations in which the stage of the option is decided: one for each band of depth."""
        stage, engine = self.wish.stage, desk.decider.engine
        facts: Facts = {**desk.facts, "stage": stage}
        if stage != "clear":
            yield dict(engine.conclude(facts).situation)
            return
        for at_hand in PathFinder(desk, desk.job.batch).defects:
            depth = at_hand.depth * 1e3
            there = {**desk.at(at_hand.row.key).facts, "stage": stage}
            clearing = {**there, **defect_facts(at_hand.row.key, depth, self.knowledge)}
            for remaining in (depth, *(limit for limit in self.knowledge.depth_limits if limit < depth)):
                yield dict(engine.conclude({**clearing, "remaining_mm": remaining}).situation)

    def _reached(self, desk: FeatureDesk, situation: Facts, concerns: int) -> bool:
        if self.wish.stage == "clear":
            desk = desk.at(str(situation["defect"]))
        offered, _ = offered_media(desk, self.wish.stage)
        choice = desk.decider.listed("media", situation, tuple(offered), spoken_by=SPOKEN_BY[self.wish.stage])
        media = choice.candidates(concerns)
        if self.wish.decision == "media":
            return self.wish.option in media
        return any(self._with_tool(desk, situation, tool, concerns) for key in media for tool in offered[key])

    def _with_tool(self, desk: FeatureDesk, situation: Facts, tool: Tool, concerns: int) -> bool:
        decider, decision, option = desk.decider, self.wish.decision, self.wish.option
        facts = {**situation, "media": tool.media.key, **desk.tool_facts(tool)}
        aim = "middle" if self.wish.stage == "clear" else "low"
        pressure = decider.stretch("pressure", facts, Room(0, 2, (0, 1, 2), aim))
        facts["pressure"] = decider.vocabulary.decisions["pressure"].options[int(pressure.value)]
        if pressure.conflict or decision == "pressure":
            return not pressure.conflict and facts["pressure"] == option
        if not tool.media.grains:
            return self._later(desk, facts, tool, None)
        grains = decider.listed("grain", facts, tool.media.grains, spoken_by=frozenset())
        if decision == "grain":
            return option in grains.candidates(concerns)
        return any(
            self._with_grade(desk, {**facts, "grain": grain}, tool) for grain in grains.candidates(concerns)
        )

    def _with_grade(self, desk: FeatureDesk, facts: Facts, tool: Tool) -> bool:
        vocabulary = desk.decider.vocabulary
        places = {vocabulary.rank[key][1]: key for key in tool.media.grades}
        if not places:
            return False
        room = Room(min(places), max(places), tuple(sorted(map(float, places))), "coarse")
        window = desk.decider.stretch("grade", facts, room, tool.media.scale)
        keys = [key for place, key in places.items() if window.low <= place <= window.high]
        if window.conflict or self.wish.decision == "grade":
            return not window.conflict and self.wish.option in keys
        return any(self._later(desk, {**facts, "grade": key}, tool, key) for key in keys)

    def _later(self, desk: FeatureDesk, facts: Facts, tool: Tool, grade: str | None) -> bool:
        row = desk.decider.vocabulary.grades[grade] if grade else None
        for decision, choice in later_decisions(desk, facts, tool, row):
            if choice.conflict:
                return False
            if decision == self.wish.decision:
                value = choice.value if isinstance(choice, RangeChoice) else choice.winner
                return _same(value, self.wish.option)
        return False

    # ------------------------------------------------------------------ does it win
    def promising(self, changes: Sequence[Change]) -> bool:
        """The same as `wins`, faster: what the changes leave as it was is not worked out again."""
        try:
            job = changed(self.found.job, changes, self.knowledge)
        except AdvisorError:
            return False
        silent, decider = left_out(changes), self.decider(changes)
        if self.wish.decision == "handling":
            return self.could_win(job, decider)
        plan = self.shared.plan(job, self.feature, decider, silent, self.wish.met_in)
        return plan is not None and self.wish.met_in(plan.path)

    def _takes_it(self, plans: Iterable[FeaturePlan]) -> bool:
        return any(plan.feature.name == self.feature and self.wish.met_in(plan.path) for plan in plans)

    def wins(self, changes: Sequence[Change]) -> bool:
        """Whether the whole recommendation, worked out anew with the changes, takes the option."""
        try:
            job = changed(self.found.job, changes, self.knowledge)
        except AdvisorError:
            return False
        silent = left_out(changes)
        base = self.knowledge
        if silent:
            base = base.with_rules([rule for rule in base.rules if rule.id not in silent])
        desk = Desk(base, "plain")
        if not silent:
            desk.decider = self.found.decider  # remembers what the same rules have said
        again = work_out(job, desk)
        if self.wish.decision == "handling":
            return again.handling.winner == self.wish.option
        return self._takes_it(item.plan for item in again.planned)


def _same(value: Value | None, option: Value) -> bool:
    if isinstance(option, float) and isinstance(value, (int, float)):
        return abs(value - option) <= 1e-6 * max(1.0, abs(option))
    return value == option
