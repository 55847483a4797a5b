"""Puts what trials taught beside what is published, with the trials as the reason: nothing learns silently."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Literal

from advisor.figures.learned import Learned, Taught
from advisor.numbers.path_bands import PathBands, StepBands
from advisor.process.bands import Spread
from advisor.reasons import Reason, Trail
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.plan import FeaturePlan
from advisor.sequence.surface import PlannedStep
from advisor.sheet.learned_value import LearnedValue
from advisor.sheet.model import Feature
from advisor.sheet.part import Band

_FIELDS: Mapping[Taught, Literal["removal_um", "ra_um", "wear"]] = {
    "removal": "removal_um", "roughness-floor": "ra_um", "wear": "wear",
}  # fmt: skip


def learned_values(
    plan: FeaturePlan, bands: PathBands | None, published: PathBands | None
) -> Iterator[LearnedValue]:
    """Every value of a feature's steps that a learned factor has moved."""
    if bands is None or published is None:
        return
    pairs = zip(plan.path, bands.steps, published.steps, strict=True)
    for number, (step, now, before) in enumerate(pairs, start=1):
        candidate = step.candidate
        taught = plan.desk.coefficients().taught(candidate.tool.media, candidate.grain, candidate.grade)
        for factor in taught.values():
            field = _FIELDS[factor.coefficient]
            yield LearnedValue(
                feature=plan.feature.name,
                step=number,
                field=field,
                coefficient=factor.coefficient,
                scope=factor.scope,
                trials=factor.trials,
                factor=factor.factor,
                low=factor.low,
                high=factor.high,
                prior_factor=factor.prior_factor,
                published=_band(before, field),
                learned=_band(now, field),
                latest=factor.latest,
                beyond=factor.beyond(_settings(step)),
            )


def _band(bands: StepBands, field: str) -> Band:
    spread: Spread = bands.parts if field == "wear" else getattr(bands, field)
    return Band.model_validate(spread._asdict())


def _settings(step: PlannedStep) -> dict[str, float]:
    setup = step.candidate.setup
    settings = {
        "line_load": setup.line_load / 1e3,
        "speed": setup.speed,
        "feed": step.feed * 1e3,
        "diameter": setup.diameter * 1e3,
    }
    if setup.grade is not None:
        settings["grain"] = setup.grade.um
    return settings


def with_learned_reasons(feature: Feature, learned: Sequence[LearnedValue], trail: Trail) -> Feature:
    """The feature with a further reason at each value that was moved."""
    steps = []
    for step in feature.steps:
        reasons = dict(step.reasons)
        for value in learned:
            if (value.feature, value.step) == (feature.name, step.number) and value.field in reasons:
                told = trail.refer(
                    Reason(kind="known", text=value.sentence, source_kind="trials of this shop")
                )
                reasons[value.field] = (*reasons[value.field], *told)
        steps.append(step.model_copy(update={"reasons": reasons}))
    return feature.model_copy(update={"steps": tuple(steps)})


def learned_for(desk: FeatureDesk) -> Learned | None:
    """What was learned, as far as it can touch this job: the sheet keeps it, so that it can be replayed."""
    learned = desk.coefficients().learned
    if learned is None:
        return None
    own = {
        "alloy": desk.alloy.key,
        "family": desk.alloy.family,
        "cell": desk.job.cell.key or desk.job.cell.name,
    }
    return learned.model_copy(
        update={
            "factors": tuple(
                row
                for row in learned.factors
                if all(row.scope.get(name, value) == value for name, value in own.items())
            )
        }
    )
