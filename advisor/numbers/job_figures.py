"""All numbers of a job with their spread: one sample for its paths, their rivals and the totals."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from advisor.figures.coefficients import Draws
from advisor.job.model import Job
from advisor.numbers.path_bands import PathBands, bands_of, path_bands
from advisor.numbers.path_draws import PathDraws, path_draws
from advisor.numbers.sample import Sample, Swept, swept
from advisor.numbers.totals import TotalFigures, total_figures
from advisor.process.bands import Spread
from advisor.sequence.joint import Visit
from advisor.sequence.plan import FeaturePlan
from advisor.sequence.surface import PlannedStep

#: The key under which the depth of the main defect is moved.
DEPTH = "start.depth"


@dataclass(frozen=True, slots=True)
class RivalFigures:
    """Time (s) and cost of a rival chain; no cost without rates."""

    time: Spread
    cost: Spread | None


@dataclass(frozen=True, slots=True)
class JobFigures:
    """The bands of each plan (None where it has no path), of its rivals, and of the whole.

    `totals` is None where some feature has no plan: half a job has no price. `published` are the bands
    of the same steps without what trials taught, None where they taught nothing.
    """

    paths: tuple[PathBands | None, ...]
    published: tuple[PathBands | None, ...]
    rivals: tuple[tuple[RivalFigures, ...], ...]
    totals: TotalFigures | None


def job_figures(job: Job, plans: Sequence[FeaturePlan], visits: Sequence[Visit], seed: str) -> JobFigures:
    """The figures of a job, drawn from streams that `seed` gives: the canonical text of a job."""
    sample = Sample(seed, _moved(plans))
    walked = [_walk(plan, sample) if plan.path else None for plan in plans]
    whole = [path for path in walked if path is not None]
    complete = bool(plans) and len(whole) == len(plans)
    general = sample.of(plans[0].desk.general()) if plans else {}
    return JobFigures(
        paths=tuple(
            None if path is None else bands_of(plan.desk, path, sample)
            for plan, path in zip(plans, walked, strict=True)
        ),
        published=tuple(_published(plan, seed) for plan in plans),
        rivals=tuple(_rivals(plan, sample.plain()) for plan in plans),
        totals=total_figures(job, whole, visits, general, sample) if complete else None,
    )


def _published(plan: FeaturePlan, seed: str) -> PathBands | None:
    """What the published coefficients say of the same steps; None where nothing was learned."""
    if plan.desk.coefficients().learned is None or not plan.path:
        return None
    return path_bands(plan.desk.without_learning(), plan.path, Draws(seed))


def _moved(plans: Sequence[FeaturePlan]) -> Iterator[Swept]:
    """Everything that is moved alone: the coefficients of every step, those of no step, the depth."""
    for plan in plans:
        yield from swept(plan.desk.general().values())
        for step in plan.path:
            candidate = step.candidate
            rows = plan.desk.picked(candidate.tool.media, candidate.grain, candidate.grade)
            yield from swept(rows.values())
    deepest = max((_deeper(plan).high for plan in plans), default=1.0)
    if deepest > 1.0:
        ends = Spread(1.0, 1.0, deepest)
        yield Swept(DEPTH, "depth of the defect over the typical one", "1", ends)


def _deeper(plan: FeaturePlan) -> Spread:
    """The depth of the main defect over the typical one, at best and at worst."""
    typical, worst = plan.feature.start.depth_mm
    return Spread(1.0, 1.0, worst / typical if typical > 0 else 1.0)


def _walk(plan: FeaturePlan, sample: Sample) -> PathDraws:
    return path_draws(plan.desk, plan.path, sample, depth=sample.factor(DEPTH, _deeper(plan)))


def _rivals(plan: FeaturePlan, drawn: Draws) -> tuple[RivalFigures, ...]:
    return tuple(_rival(plan, rival.path, drawn) for rival in plan.rivals)


def _rival(plan: FeaturePlan, path: Sequence[PlannedStep], drawn: Draws) -> RivalFigures:
    walked, rates = path_draws(plan.desk, path, drawn, with_heat=False), plan.desk.job.cell.rates
    return RivalFigures(
        time=drawn.band(walked.time),
        cost=drawn.band(walked.cost(rates.hour / 3600.0)) if rates else None,
    )
