"""Where a fact comes from: the job, a table, a formula, an earlier decision, or the rules that concluded it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from advisor.catalogue.sentences import condition_line
from advisor.explain.fields import ROWS, field_of
from advisor.explain.link import Kind, Link
from advisor.inference.engine import Engine
from advisor.inference.tests import answer
from advisor.job.model import Feature, Job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.rules import Rule
from advisor.knowledge.vocabulary import Attribute, Value
from advisor.pipeline import WorkedOut
from advisor.reasons import join_sources
from advisor.sequence.plan import FeaturePlan
from advisor.sequence.surface import PlannedStep
from advisor.sheet.explain import Explainer
from advisor.situations import Facts, job_situation
from advisor.units import figure


@dataclass(slots=True)
class Origins:
    """The facts of one step, each traced back as far as it goes."""

    found: WorkedOut
    knowledge: Knowledge
    plan: FeaturePlan | None
    step: PlannedStep | None
    situation: Facts
    explain: Explainer
    _concluded: Mapping[str, tuple[Rule, ...]] | None = None
    _open: list[str] = field(default_factory=list)  # conclusions being traced: some feed each other

    @classmethod
    def of_step(cls, found: WorkedOut, knowledge: Knowledge, plan: FeaturePlan, step: PlannedStep) -> Origins:
        """The facts that held when a step was decided, its passes and jump included."""
        situation = {
            **step.candidate.situation,
            "previous.grade": step.before.grade,
            "previous.media": step.before.media,
        }
        if step.kind == "clear":
            situation["remaining_mm"] = step.before.remaining * 1e3 or situation.get("remaining_mm")
        return cls(found, knowledge, plan, step, situation, Explainer(knowledge))

    @classmethod
    def of_job(cls, found: WorkedOut, knowledge: Knowledge) -> Origins:
        """The facts of the whole job, on which the handling was decided."""
        return cls(found, knowledge, None, None, found.facts, Explainer(knowledge))

    @property
    def _engine(self) -> Engine:
        return self.found.decider.engine

    @property
    def _job(self) -> Job:
        return self.found.job

    @property
    def _feature(self) -> Feature:
        return self.plan.feature if self.plan else self._job.features[0]

    # ------------------------------------------------------------------ rules
    def rule(self, rule: Rule, strength: str | None = None, alone: bool | None = None) -> Link:
        """A rule that fired, with each fact it tested and the exception that did not hold."""
        reason = self.explain.ruled(rule, self.situation)
        tested = dict.fromkeys(condition.attribute for condition in rule.when)
        says = ", ".join(part for part in (strength, f"concern {rule.concern}") if part)
        return Link(
            what=f"rule {rule.id} ({says})",
            text=reason.text,
            kind="ruled",
            rule=rule.id,
            strength=strength,
            concern=rule.concern,
            alone=alone,
            source=reason.source,
            source_words=reason.source_kind,
            because=(*(self.fact(key) for key in tested), *self._exception(rule)),
        )

    def _exception(self, rule: Rule) -> tuple[Link, ...]:
        """What would have silenced a rule, and why it does not."""
        if not rule.unless:
            return ()
        vocabulary = self.knowledge.vocabulary
        lines = "; ".join(condition_line(item, vocabulary) for item in rule.unless)
        open_ = [
            item for item in rule.unless
            if answer(item, self.situation.get(item.attribute), vocabulary) != "yes"
        ]  # fmt: skip
        told = ", ".join(f"{self._title(item.attribute)}: {self._shown(item.attribute)}" for item in open_)
        return (
            Link(
                what="exception",
                text=f"The rule has an exception ({lines}), which does not hold here: {told}.",
                kind="exception",
                because=tuple(self.fact(item.attribute) for item in open_),
            ),
        )

    # ------------------------------------------------------------------ facts
    def fact(self, key: str) -> Link:
        """An attribute or decision with its value and where that comes from."""
        attribute = self.knowledge.vocabulary.testable[key]
        if attribute.set_by == "rule":
            return self._derived(attribute)
        if attribute.set_by == "decision":
            return self._decided(attribute)
        if attribute.set_by == "plan":
            return self._planned(attribute)
        if attribute.set_by == "formula":
            return self._calculated(attribute)
        if attribute.set_by == "table":
            return self._looked_up(attribute)
        return self._said(attribute)

    def _link(
        self, attribute: Attribute, kind: Kind, text: str, *because: Link, sources: tuple[str, ...] = ()
    ) -> Link:
        value = self.situation.get(attribute.key)
        return Link(
            what=f"{attribute.title}: {self._shown(attribute.key)}",
            text=text,
            kind=kind,
            value=value,
            unit=attribute.unit if attribute.unit != "1" else None,
            because=because,
            source=join_sources(sources),
            source_words=self.explain.kind_of(sources),
        )

    def _said(self, attribute: Attribute) -> Link:
        """What the job says, or what was assumed because it does not."""
        key, job = attribute.key, self._job
        field_name = field_of(key, job, self._feature)
        shown, title = self._shown(key), attribute.title
        assumption = next((item for item in job.assumed if item.field == field_name), None)
        presumption = next((item for item in self.found.presumptions if item.field == key), None)
        if assumption is not None:
            return self._link(
                attribute, "assumed", f"Nobody gave {field_name}; {shown} is taken: {assumption.why}."
            )
        if presumption is not None:
            return self._link(attribute, "assumed", f"{_capital(title)}: not known. {presumption.why}")
        if self.situation.get(key) is None:
            return self._link(attribute, "asked", f"The job does not say {field_name or title}: not known.")
        told = job_situation(job, self.knowledge).get(key)
        if key in ("defect", "depth_mm") and self.step and self.step.defect not in (None, self._main()):
            row = self.knowledge.tables.defects[str(self.step.defect)]
            where = f"{'features[' + self._feature.name + '].' if self._feature.own_start else ''}start.also"
            text = f"The job names {row.name} as a further defect ({where}); the table says how deep it is."
            return self._link(attribute, "asked", text, sources=row.source)
        if told is None and key == "coating.hazard":
            return self._link(attribute, "known", f"No old coating is among the defects: {shown}.")
        return self._link(attribute, "asked", f"{_capital(title)}: {shown}, as the job says ({field_name}).")

    def _main(self) -> str:
        return self._feature.start.defect

    def _looked_up(self, attribute: Attribute) -> Link:
        """A cell of the row that something else picks: the alloy, the defect or the finish."""
        key = attribute.key
        picks = next(picker for prefix, picker in ROWS.items() if key.startswith(prefix))
        tables, target = self.knowledge.tables, self._feature.finish
        if picks == "alloy.key":
            row, sources = tables.alloys[self._job.alloy].name, tables.alloys[self._job.alloy].source
        elif picks == "defect":
            defect = tables.defects[str(self.situation["defect"])]
            row, sources = defect.name, defect.source
        else:
            picks = "finish.designation" if target.designation else picks
            row, sources = self._finish_words(), target.source
        if picks.startswith("finish.") and target.finish is None:
            field_name = field_of("finish.key", self._job, self._feature)
            text = f"{_capital(attribute.title)}: {self._shown(key)}, as the job says ({field_name})."
            return self._link(attribute, "asked", text)
        presumption = next((item for item in self.found.presumptions if item.field == key), None)
        if presumption is not None:
            return self._link(attribute, "assumed", f"The table leaves it open. {presumption.why}")
        return self._link(
            attribute,
            "known",
            f"{_capital(attribute.title)}: {self._shown(key)}, as the table says of {row}.",
            self._said(self.knowledge.vocabulary.attributes[picks]),
            sources=sources,
        )

    def _finish_words(self) -> str:
        target, tables = self._feature.finish, self.knowledge.tables
        if target.designation:
            return str(tables.designations[target.designation].name)
        return tables.finishes[target.finish].name if target.finish else "the finish"

    def _calculated(self, attribute: Attribute) -> Link:
        """What follows from the media's station."""
        key, step = attribute.key, self.step
        if step is None:
            return self._link(attribute, "derived", f"{_capital(attribute.title)}: {self._shown(key)}.")
        tool = step.candidate.tool
        name = tool.station.name
        if key == "reach.ratio":
            radius = self.knowledge.vocabulary.attributes["feature.radius_mm"]
            hollow = () if self.situation.get(key) is None else (self._said(radius),)
            text = (
                f"The wheel of {name} has a radius of {figure(tool.diameter_mm / 2)} mm; against the hollow "
            )
            return self._link(attribute, "derived", f"{text}that is {self._shown(key)}.", *hollow)
        if key == "speed.top_m_s":
            text = (
                f"{name} turns a wheel of {figure(tool.diameter_mm)} mm at up to "
                f"{figure(tool.station.speed_rpm[1])} rpm, which is {self._shown(key)} at the rim."
            )
            return self._link(attribute, "derived", text)
        return self._link(
            attribute,
            "known",
            f"{_capital(attribute.title)}: {self._shown(key)}, as the cell says of {name}.",
        )

    def _planned(self, attribute: Attribute) -> Link:
        key, shown = attribute.key, self._shown(attribute.key)
        texts = {
            "stage": f"This step is there to {shown}.",
            "remaining_mm": f"When the step begins, {shown} of the defect is left.",
            "previous.grade": f"The step before leaves the scratch of {shown}.",
            "previous.media": f"The step before is worked with {shown}.",
        }
        return self._link(attribute, "planned", texts.get(key, f"{_capital(attribute.title)}: {shown}."))

    def _decided(self, attribute: Attribute) -> Link:
        shown = self._shown(attribute.key)
        text = f"{_capital(attribute.title)}: {shown}, decided before (see --decision {attribute.key})."
        return self._link(attribute, "decided", text)

    def _derived(self, attribute: Attribute) -> Link:
        """What rules concluded, with those rules and their own facts."""
        if self._concluded is None:
            drawn: dict[str, list[Rule]] = {}
            for firing in self._engine.conclude(self.situation).firings:
                for item in firing.rule.conclusions():
                    if self.situation.get(item.attribute) == item.value:
                        drawn.setdefault(item.attribute, []).append(firing.rule)
            self._concluded = {key: tuple(rules) for key, rules in drawn.items()}
        rules = self._concluded.get(attribute.key, ())
        shown = self._shown(attribute.key)
        if not rules:
            return self._link(attribute, "derived", f"{_capital(attribute.title)}: {shown}; no rule says.")
        text = f"{_capital(attribute.title)}: {shown}, as rules conclude."
        if attribute.key in self._open:
            return self._link(attribute, "derived", text)
        self._open.append(attribute.key)
        links = [self.rule(rule, "concludes") for rule in rules]
        self._open.pop()
        return self._link(attribute, "derived", text, *links)

    # ------------------------------------------------------------------ words
    def _title(self, key: str) -> str:
        return self.knowledge.vocabulary.testable[key].title

    def _shown(self, key: str) -> str:
        return self.shown(self.situation.get(key), self.knowledge.vocabulary.testable[key])

    def shown(self, value: Value | None, attribute: Attribute) -> str:
        """A value in plain words with its unit."""
        if value is None:
            return "not known"
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, str):
            return self.explain.name(value)
        unit = "" if attribute.unit in (None, "1") else f" {attribute.unit}"
        return f"{figure(value)}{unit}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
