"""Sets a trial up again: what was used, completed by what the advisor decides where the trial is silent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from advisor.choices.model import Choice
from advisor.figures.coefficients import Draws, Values
from advisor.figures.effect import Effect, effect
from advisor.figures.setup import Setup
from advisor.job.model import Feature, Job
from advisor.job.write import canonical_json
from advisor.knowledge.reference import Grade, Media
from advisor.knowledge.vocabulary import Value
from advisor.pipeline import Desk
from advisor.process.real import Real
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.later_decisions import later_decisions
from advisor.sequence.offers import Tool, tools
from advisor.sequence.plan import decide_handling
from advisor.sequence.surface import PlannedStep
from advisor.situations import Facts, defect_facts, feature_situation, job_situation, presumed
from advisor.trials.bench import plans_of
from advisor.trials.model import Trial, Used

_Key = tuple[object, ...]
#: Settings that differ from trial to trial without changing what is decided besides.
_NUMBERS = ("force_n", "surface_speed_m_s", "feed_mm_s", "passes", "media_age_parts", "media_lot")


@dataclass(frozen=True, slots=True)
class Rig:
    """A trial set up again: the set-up in SI with its effect, the facts, and what nobody wrote down.

    `depth` of a pass and `floor_ra` (m) are medians over the spread of the coefficients, as the sheet of
    the job shows them; `effect` and `values` belong to the expected coefficients. `completed` names the
    settings that the advisor filled in.
    """

    setup: Setup
    effect: Effect
    values: Values
    depth: float
    floor_ra: float | None
    facts: Mapping[str, Value | None]
    completed: tuple[str, ...]

    @property
    def media(self) -> Media:
        """The media's row."""
        return self.setup.media


class Bench:
    """Sets trials of one knowledge base up again, remembering what many of them share."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.knowledge = desk.knowledge
        self._desks: dict[_Key, FeatureDesk] = {}
        self._situations: dict[_Key, Facts] = {}
        self._templates: dict[_Key, tuple[Setup, Facts]] = {}
        self._plans: dict[_Key, tuple[PlannedStep, ...]] = {}
        self._jobs: dict[int, Job] = {}  # keeps every job alive, so that its number stays its own
        self._rigs: dict[_Key, Rig | None] = {}
        self._draws: dict[int, Draws] = {}

    def rig(self, trial: Trial) -> Rig | None:
        """The trial's set-up; None where the tables do not hold such a set-up (no force, no such grade)."""
        age_free = trial.used.model_copy(update={"media_age_parts": None, "media_lot": None})
        key = (*self._key(trial.job, trial.face), self.stage(trial), trial.incoming, age_free)
        if key not in self._rigs:
            self._rigs[key] = self._made(trial)
        return self._rigs[key]

    def planned(self, trial: Trial) -> PlannedStep | None:
        """The step of the advisor's own plan that the trial tried; None where media or grade differ."""
        steps = self._plan(trial.job, trial.face)
        if trial.extra or trial.step > len(steps):
            return None
        step = steps[trial.step - 1]
        used = trial.used
        same = step.candidate.key == (used.media, used.grain or step.candidate.grain, used.grade)
        return step if same else None

    def stage(self, trial: Trial) -> str:
        """The stage of a trial: that of the advisor's own plan, where it has this media at this step.

        Otherwise it is told from the number of the step, the media and the finish asked for: the first
        step on a face with something to take away clears it; a media that blends, or a grade that the
        finish names, finishes; what lies between refines. A first buff prepares.
        """
        face, used = trial.face, trial.used
        steps = self._plan(trial.job, face)
        own = not trial.extra and trial.step <= len(steps)
        if own and steps[trial.step - 1].candidate.key[0] == used.media:
            return steps[trial.step - 1].candidate.stage
        media = self.knowledge.tables.media[used.media]
        defect = self.knowledge.tables.defects[trial.incoming.defect or face.start.defect]
        if media.abrasive == "compound":
            return "prepare" if used.grade == "cut" and "mirror" in face.finish.texture else "finish"
        if trial.step == (0 if trial.extra else 1) and defect.kind != "surface":
            return "clear"
        if media.blends or used.grade in face.finish.grades:
            return "finish"
        return "refine"

    def feature_desk(self, job: Job, face: Feature) -> FeatureDesk:
        """What stays the same for all trials on one face."""
        key = self._key(job, face)
        if key not in self._desks:
            facts, _ = presumed(job_situation(job, self.knowledge), self.knowledge)
            handling = str(decide_handling(job, self.desk.decider, facts).winner)
            runnable, _ = tools(job.cell, handling, self.knowledge.tables)
            own = {**feature_situation(job, face, self.knowledge), "handling": handling}
            self._desks[key] = FeatureDesk(
                job, face, handling, self.knowledge, self.desk.decider, runnable, own
            )
        return self._desks[key]

    def _key(self, job: Job, face: Feature) -> _Key:
        self._jobs[id(job)] = job
        return (id(job), face.name)

    def _plan(self, job: Job, face: Feature) -> tuple[PlannedStep, ...]:
        key = self._key(job, face)
        if key not in self._plans:
            for plan in plans_of(job, self.desk):
                self._plans[self._key(job, plan.feature)] = plan.path
        return self._plans[key]

    def situation(self, trial: Trial) -> Facts:
        """Every fact before anything is decided, conclusions included."""
        face, stage = trial.face, self.stage(trial)
        defect, depth = trial.incoming.defect or face.start.defect, trial.incoming.depth_mm
        key = (*self._key(trial.job, face), stage, defect, depth)
        if key not in self._situations:
            facts: Facts = {**self.feature_desk(trial.job, face).facts, "stage": stage}
            if stage == "clear":
                facts.update(defect_facts(defect, depth or face.start.depth_mm[0], self.knowledge))
                facts["remaining_mm"] = facts["depth_mm"]
            self._situations[key] = dict(self.desk.decider.engine.conclude(facts).situation)
        return self._situations[key]

    def _made(self, trial: Trial) -> Rig | None:
        used, tables = trial.used, self.knowledge.tables
        media = tables.media[used.media]
        grade = tables.grades[used.grade] if used.grade in media.grades else None
        if (media.grades and grade is None) or (media.grains and used.grain not in media.grains):
            return None
        desk = self.feature_desk(trial.job, trial.face)
        template = self._template(trial, desk, media, grade)
        if template is None:
            return None
        setup, facts = template
        width = setup.contact_width * 1e3
        if used.force_n is not None:
            setup = replace(setup, line_load=used.force_n / width * 1e3)
        if used.surface_speed_m_s is not None:
            setup = replace(setup, speed=used.surface_speed_m_s)
        if used.feed_mm_s is not None:
            setup = replace(setup, feed=used.feed_mm_s / 1e3)
        facts = {
            **facts, "force": setup.line_load / 1e3, "surface_speed": setup.speed, "feed": setup.feed * 1e3
        }  # fmt: skip
        values = desk.expected(media, used.grain, grade)
        filled = tuple(
            name
            for name in ("force_n", "surface_speed_m_s", "feed_mm_s", "passes", "hardness_shore_a")
            if getattr(used, name) is None and not (name == "hardness_shore_a" and setup.hardness is None)
        )
        drawn = effect(setup, self._drawn(trial.job).of(desk.picked(media, used.grain, grade)))
        return Rig(
            setup,
            effect(setup, values),
            values,
            depth=middle(drawn.depth(setup.feed)),
            floor_ra=None if drawn.floor_ra is None else middle(drawn.floor_ra),
            facts=facts,
            completed=filled,
        )

    def _template(
        self, trial: Trial, desk: FeatureDesk, media: Media, grade: Grade | None
    ) -> tuple[Setup, Facts] | None:
        """The set-up with what was used, its force, speed and feed still as the advisor would choose them."""
        used = trial.used
        tool = self._tool(desk, media, trial.job)
        if tool is None:
            return None
        key = (
            *self._key(trial.job, trial.face), self.stage(trial), trial.incoming.defect, trial.incoming.depth_mm,
            used.model_copy(update=dict.fromkeys(_NUMBERS)),
        )  # fmt: skip
        if key in self._templates:
            return self._templates[key]
        facts: Facts = {**self.situation(trial), "media": media.key, **desk.tool_facts(tool)}
        planned = self.planned(trial)
        pressure = planned.candidate.values["pressure"] if planned else "medium"
        facts |= {"pressure": pressure, "grain": used.grain, "grade": used.grade}
        choices: dict[str, Choice] = {}
        wanted = _wanted(used)
        for decision, choice in later_decisions(desk, facts, tool, grade):
            choices[decision] = choice
            if wanted.get(decision) is not None:
                facts[decision] = wanted[decision]
        setup = desk.setup(tool, used.grain, grade, facts, choices)
        if used.wheel_diameter_mm is not None:
            setup = replace(setup, diameter=used.wheel_diameter_mm / 1e3)
        self._templates[key] = (setup, facts)
        return self._templates[key]

    def _drawn(self, job: Job) -> Draws:
        """The draws of a job's sheet, so that what is predicted here is what the sheet says."""
        if id(job) not in self._draws:
            self._draws[id(job)] = Draws(canonical_json(job))
        return self._draws[id(job)]

    def _tool(self, desk: FeatureDesk, media: Media, job: Job) -> Tool | None:
        """The media on its station; where the cell of the job has none, on the first that turns at all."""
        offered = desk.tools.get(media.key)
        if offered:
            return offered[0]
        stations = job.cell.stations_for(media.key) or job.cell.stations
        return Tool(media, stations[0], *media.speed_m_s) if stations else None


def middle(drawn: Real) -> float:
    """The median of some draws; a plain number is its own.

    >>> middle(3.0)
    3.0
    """
    values = np.sort(np.atleast_1d(np.asarray(drawn, dtype=float)))
    return float(values[len(values) // 2])


def _wanted(used: Used) -> Mapping[str, Value | None]:
    """What was used, by the decision that it is the outcome of."""
    return {
        "build": used.build,
        "coat": used.coat,
        "top_coat": used.top_coat,
        "backing": used.backing,
        "wheel_cover": used.wheel_cover,
        "wheel_hardness": used.hardness_shore_a,
        "wheel_face": used.wheel_face,
        "wheel_width": used.wheel_width_mm,
        "wheel_edge": used.wheel_edge_mm,
        "lubricant": used.lubricant,
        "direction": used.direction,
        "overlap": used.overlap_percent,
    }
