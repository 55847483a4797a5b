"""Builds the process sheet out of what the pipeline found."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from advisor.choices.model import ListChoice
from advisor.inference.engine import Engine
from advisor.job.model import Assumed as JobAssumed
from advisor.job.model import Feature as JobFeature
from advisor.job.model import Job
from advisor.job.write import canonical_json, job_fingerprint
from advisor.knowledge.base import Knowledge
from advisor.knowledge.vocabulary import CONCERNS
from advisor.numbers.job_figures import JobFigures
from advisor.numbers.path_bands import PathBands
from advisor.reasons import Reason, Trail, source_words, split_sources
from advisor.sequence.candidates import ALL_COUNT
from advisor.sequence.joint import Visit
from advisor.sequence.plan import FeaturePlan
from advisor.sheet import model
from advisor.sheet.explain import Explainer
from advisor.sheet.first_try import first_try
from advisor.sheet.learned_values import learned_for, learned_values, with_learned_reasons
from advisor.sheet.notes import gather, step_notes, symptoms
from advisor.sheet.refusal import blocked
from advisor.sheet.robot_build import robot_program
from advisor.sheet.set_aside import conflicts, hidden, passed_over, struck
from advisor.sheet.step_build import build_step
from advisor.sheet.step_load import band_of
from advisor.sheet.unknowns import assumed, measure_next
from advisor.sheet.weighed import weighed
from advisor.sheet.whole import operations, rivals, totals
from advisor.situations import Facts
from advisor.units import figure
from advisor.version import VERSION


@dataclass(frozen=True, slots=True)
class Planned:
    """A feature's plan and, where there is a path, its bands.

    `published` are the bands without what trials taught, None where they taught nothing.
    """

    plan: FeaturePlan
    bands: PathBands | None
    published: PathBands | None = None


def planned_with(plans: Sequence[FeaturePlan], figures: JobFigures) -> tuple[Planned, ...]:
    """Each plan beside its bands."""
    return tuple(
        Planned(plan, bands, published)
        for plan, bands, published in zip(plans, figures.paths, figures.published, strict=True)
    )


def build_sheet(
    job: Job,
    facts: Facts,
    handling: ListChoice,
    presumptions: Sequence[JobAssumed],
    planned: Sequence[Planned],
    set_ups: Sequence[Visit],
    figures: JobFigures,
    knowledge: Knowledge,
    engine: Engine,
) -> model.Sheet:
    """The sheet: steps, limits, checks, cautions, rivals, assumptions, and the reason of every value."""
    explain, trail = Explainer(knowledge), Trail()
    plans = [item.plan for item in planned]
    situations = list(_situations(plans))
    pairs = [(plan.feature.name, situation) for plan, situation in situations]
    assumptions = assumed(job, presumptions, plans, knowledge)
    to_measure, waiting = measure_next(engine, [situation for _, situation in situations], assumptions)
    features = tuple(_feature(item, engine, explain, trail) for item in planned)
    learned = tuple(value for item in planned for value in learned_values(item.plan, item.bands, item.published))
    features = tuple(with_learned_reasons(feature, learned, trail) for feature in features)
    sheet = model.Sheet(
        program=model.Program(version=VERSION),
        job=json.loads(canonical_json(job)),
        job_fingerprint=job_fingerprint(job),
        knowledge=model.Knowledge(
            fingerprint=knowledge.fingerprint, rules=sum(rule.status != "retired" for rule in knowledge.rules)
        ),
        asked=tuple(_asked(job, explain)),
        handling=model.Handling(
            value=str(handling.winner), reasons=trail.refer(*_handling(job, handling, facts, explain))
        ),
        features=features,
        operations=tuple(operations(set_ups, plans, explain, trail)),
        robot=robot_program(job, plans, set_ups, explain, trail),
        rivals=tuple(rivals(plans, figures)),
        learned=learned,
        learned_from=(taught := learned_for(plans[0].desk)),
        learned_fingerprint=None if taught is None else taught.fingerprint(),
        first_try=first_try(max(plans, key=lambda plan: plan.cost), explain),
        totals=totals(job, plans, set_ups, figures.totals, explain, trail),
        cautions=gather("caution", engine, pairs, explain, trail, CONCERNS[:1]),
        precautions=gather("caution", engine, pairs, explain, trail, CONCERNS[1:]),
        assumed=assumptions,
        measure_next=to_measure,
        waiting=waiting,
        conflicts=conflicts(plans, explain, trail),
        outside=gather("outside", engine, pairs, explain, trail),
        after=gather("afterwards", engine, pairs, explain, trail),
        hidden_advice=hidden(plans, explain, trail),
        passed_over=passed_over(plans, explain),
        struck=struck(plans, explain, trail),
        symptoms=symptoms(engine, [situation for _, situation in situations]),
        names=_names(knowledge),
        ansi={key: grade.cami for key, grade in knowledge.tables.grades.items() if grade.cami},
        reasons=trail.reasons(),
    )
    ordered = model.in_reading_order(sheet)
    return ordered.model_copy(
        update={
            "sources": _sources(ordered, knowledge),
            "weighed": weighed(ordered, plans, knowledge, engine.heard()),
        }
    )


def _situations(plans: Sequence[FeaturePlan]) -> Iterator[tuple[FeaturePlan, Facts]]:
    """The situation of every step; for a feature without a plan, those of the stages that were tried."""
    for plan in plans:
        if plan.path:
            for step in plan.path:
                yield plan, step.candidate.situation
        elif plan.fields:
            for field in plan.fields:
                yield plan, field.situation
        else:
            concluded = plan.desk.decider.engine.conclude({**plan.desk.facts, "stage": "clear"})
            yield plan, dict(concluded.situation)


def _feature(item: Planned, engine: Engine, explain: Explainer, trail: Trail) -> model.Feature:
    plan, feature = item.plan, item.plan.feature
    steps = []
    if item.bands is not None:
        for number, (step, bands) in enumerate(zip(plan.path, item.bands.steps, strict=True), start=1):
            notes = step_notes(engine, step.candidate.situation, explain)
            steps.append(build_step(number, plan, step, bands, notes, explain, trail))
    target = feature.finish
    return model.Feature(
        name=feature.name,
        shape=feature.shape,
        radius_mm=feature.radius_mm,
        width_mm=feature.width_mm,
        area_cm2=feature.area_cm2,
        start=model.Start(
            defects=feature.start.defects, depth_mm=feature.start.depth_mm, ra_um=feature.start.roughness_um
        ),
        target=model.Target(
            finish=target.finish,
            designation=target.designation,
            texture=target.texture,
            lay=target.lay,
            ra_um=target.ra_um,
            sample=target.sample,
        ),
        steps=tuple(steps),
        time_s=band_of(item.bands.time_s) if item.bands else None,
        cost=band_of(item.bands.cost) if item.bands and item.bands.cost else None,
        ra_probability=item.bands.ra_probability if item.bands else None,
        blocked=blocked(plan, explain, trail),
    )


def _asked(job: Job, explain: Explainer) -> Iterator[model.Asked]:
    alloy = explain.knowledge.tables.alloys[job.alloy]
    names = ", ".join(name for name in (alloy.uns, alloy.en) if name)
    yield model.Asked(
        label="Metal", text=f"{alloy.name}{f' ({names})' if names else ''}, about {alloy.hardness_hv:g} HV"
    )
    part = job.part
    sizes = [
        f"{label} {figure(value)} {unit}"
        for label, value, unit in (
            ("mass", part.mass_kg, "kg"),
            ("longest side", part.size_mm, "mm"),
            ("thinnest wall", part.wall_mm, "mm"),
        )
        if value is not None
    ]
    if sizes:
        yield model.Asked(label="Part", text=", ".join([*sizes, f"{part.contour} contour"]))
    cell = job.cell
    yield model.Asked(
        label="Cell",
        text=f"{cell.name or 'as given in the job'}, {'wet' if cell.wet else 'dry'}, {cell.operator}",
    )
    for feature in job.features:
        if feature.finish.says:
            yield model.Asked(label=f"Finish of {feature.name}", text=feature.finish.says)
        for ask in feature.finish.asks:
            yield model.Asked(label=f"Sample for {feature.name} still lacks", text=ask)
    if job.environment:
        yield model.Asked(label="Will live", text=job.environment)
    if job.after != "none":
        yield model.Asked(label="Followed by", text=job.after.replace("-", " "))
    if job.batch > 1:
        yield model.Asked(label="Batch", text=f"{job.batch} parts")


def _handling(job: Job, choice: ListChoice, facts: Facts, explain: Explainer) -> tuple[Reason, ...]:
    if len(job.cell.handling) == 1:
        return (
            Reason(kind="limited", text=f"This cell only allows {job.cell.handling[0].replace('-', ' ')}."),
        )
    return explain.listed(choice, str(choice.winner), facts, "cell", ())


def _names(knowledge: Knowledge) -> dict[str, str]:
    """Plain names of everything a view may print."""
    tables = knowledge.tables
    named: dict[str, str] = {}
    for table in (
        "media",
        "grains",
        "alloys",
        "defects",
        "finishes",
        "designations",
        "backings",
        "covers",
        "faces",
        "builds",
        "coats",
        "top_coats",
        "lubricants",
    ):
        named.update({key: str(row.name) for key, row in tables[table].items() if key not in named})
    named.update(
        {key: attribute.title for key, attribute in knowledge.vocabulary.testable.items() if key not in named}
    )
    return named


def _sources(sheet: model.Sheet, knowledge: Knowledge) -> dict[str, model.Source]:
    cited: dict[str, Any] = {}
    texts = [reason.source for reason in sheet.reasons.values()]
    texts += [note.source for note in (*sheet.cautions, *sheet.outside, *sheet.after)]
    texts += [entry.source for feature in sheet.features for entry in feature.blocked]
    for text in texts:
        for key in split_sources(text):
            if key in knowledge.sources:
                row = knowledge.sources[key]
                cited[key] = model.Source(title=row.title, words=source_words(row.kind, row.seen))
    return dict(sorted(cited.items()))


__all__ = ["ALL_COUNT", "JobFeature", "Planned", "build_sheet", "planned_with"]
