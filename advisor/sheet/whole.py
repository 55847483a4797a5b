"""What a sheet says of the whole job: set-ups of the batch, rival chains, totals with their reasons."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from advisor.figures.coefficients import DRAWS
from advisor.job.model import Job
from advisor.numbers.job_figures import JobFigures, RivalFigures
from advisor.numbers.path_bands import parts_done
from advisor.numbers.totals import TotalFigures, Use
from advisor.process.bands import Spread
from advisor.reasons import Reason, Trail
from advisor.sequence.joint import Visit
from advisor.sequence.plan import FeaturePlan, Rival
from advisor.sheet import model
from advisor.sheet.explain import Explainer
from advisor.sheet.inputs import given
from advisor.sheet.pauses import pauses
from advisor.sheet.step_load import band_of
from advisor.units import figure

#: What no figure of the totals holds, whatever the job.
EXCLUDED = (
    "porosity and hidden damage that come to light while working",
    "scrap, and parts that come worse than the depths and roughness named here",
    "masking, degreasing, passivation and other work before and after",
    "contact wheels, dust collection, waste and energy beyond the hourly rate",
)


def operations(
    set_ups: Sequence[Visit], plans: Sequence[FeaturePlan], explain: Explainer, trail: Trail
) -> Iterator[model.Operation]:
    """The set-ups of the batch in machine order, each with the steps it serves."""
    needed = pauses(set_ups, plans, explain, trail)
    for number, visit in enumerate(set_ups, start=1):
        candidate = visit.step.candidate
        values = candidate.values
        hardness, width = values.get("wheel_hardness"), values.get("wheel_width")
        parts = [
            f"{values['backing']} backing" if values.get("backing") else None,
            f"{hardness:g} Shore A" if isinstance(hardness, float) else None,
            f"{values['wheel_face']} face" if values.get("wheel_face") else None,
            f"{figure(width)} mm wide" if isinstance(width, float) else None,
            str(values["lubricant"]) if values.get("lubricant") else None,
        ]
        used = sum(plans[row].path[step].used for row, step in visit.serves)
        yield model.Operation(
            number=number,
            station=candidate.tool.station.name,
            media=candidate.tool.media.key,
            grain=candidate.grain,
            grade=candidate.grade.key if candidate.grade else None,
            set_up=", ".join(part for part in parts if part),
            serves=_served(visit, plans),
            changeover_s=plans[0].desk.job.cell.changeover_s(candidate.tool.media.form),
            parts_per_media=float(parts_done(used).parts),
            pauses=needed[number - 1],
        )


def _served(visit: Visit, plans: Sequence[FeaturePlan]) -> tuple[str, ...]:
    return tuple(f"{plans[row].feature.name}/{step + 1}" for row, step in visit.serves)


def rivals(plans: Sequence[FeaturePlan], figures: JobFigures) -> Iterator[model.PathRival]:
    """The other chains that would do, with their time and cost."""
    for plan, found in zip(plans, figures.rivals, strict=True):
        for rival, bands in zip(plan.rivals, found, strict=True):
            yield _rival(plan, rival, bands)


def _rival(plan: FeaturePlan, rival: Rival, bands: RivalFigures) -> model.PathRival:
    rates = plan.desk.job.cell.rates
    media = sum(float(step.candidate.life.price) * step.used for step in rival.path)
    return model.PathRival(
        feature=plan.feature.name,
        grades=tuple(step.candidate.grade.key for step in rival.path if step.candidate.grade),
        media=tuple(step.candidate.tool.media.key for step in rival.path),
        time_s=rival.time,
        cost=rates.hour / 3600.0 * rival.time + media if rates else None,
        time_band_s=band_of(bands.time),
        cost_band=_band(bands.cost),
        lost_on="tie" if rival.equal else "cost",
        equal=rival.equal,
        why=rival.why,
    )


def totals(
    job: Job,
    plans: Sequence[FeaturePlan],
    set_ups: Sequence[Visit],
    figures: TotalFigures | None,
    explain: Explainer,
    trail: Trail,
) -> model.Totals:
    """Time and cost per part and per batch; without figures only the count of steps."""
    steps = sum(len(plan.path) for plan in plans)
    if figures is None:
        return model.Totals(steps=steps)
    cell, batched = job.cell, not job.is_assumed("batch")
    return model.Totals(
        time_s=band_of(figures.working),
        cost=_band(figures.working_cost),
        steps=steps,
        currency=cell.rates.currency if cell.rates else None,
        media_cost=_band(figures.media_cost),
        set_ups=len(set_ups),
        changeover_s=sum(cell.changeover_s(visit.step.candidate.tool.media.form) for visit in set_ups),
        batch=job.batch if batched else None,
        batch_time_s=_band(figures.batch_time),
        batch_cost=_band(figures.batch_cost),
        part_time_s=band_of(figures.part_time),
        part_cost=_band(figures.part_cost),
        lines=tuple(
            model.TotalLine.model_validate(
                {"what": line.what, "time_s": band_of(line.time), "cost": _band(line.cost)}
            )
            for line in figures.lines
        ),
        media=tuple(_use(use, set_ups, plans) for use in figures.media),
        driven="part_cost" if cell.rates else "part_time_s",
        driven_total=figures.driven,
        drivers=tuple(
            model.Driver(
                assumption=ends.moved.name,
                low=ends.at_low,
                high=ends.at_high,
                coefficient=ends.moved.key,
                at_low=ends.moved.ends.low,
                at_high=ends.moved.ends.high,
                unit=ends.moved.unit,
            )
            for ends in figures.drivers
        ),
        excluded=_excluded(job, batched),
        reasons=trail.refer_all(_reasons(job, set_ups, figures, batched, explain)),
    )


def _band(spread: Spread | None) -> model.Band | None:
    return None if spread is None else band_of(spread)


def _use(use: Use, set_ups: Sequence[Visit], plans: Sequence[FeaturePlan]) -> model.MediaUse:
    candidate = set_ups[use.visits[0]].step.candidate
    return model.MediaUse(
        media=candidate.tool.media.key,
        grain=candidate.grain,
        grade=candidate.grade.key if candidate.grade else None,
        station=candidate.tool.station.name,
        serves=tuple(name for number in use.visits for name in _served(set_ups[number], plans)),
        per_1000_parts=band_of(use.per_thousand),
        cost_per_1000=_band(use.cost),
    )


def _excluded(job: Job, batched: bool) -> tuple[str, ...]:
    said = list(EXCLUDED)
    if not batched:
        said.append("setting up, because no batch is given")
    if job.cell.rates is None:
        said.append("all money, because the cell gives no rates")
    unsaid = [feature.name for feature in job.features if feature.area_cm2 is None]
    if unsaid:
        said.append(f"another area than the one assumed for {', '.join(unsaid)}")
    return tuple(said)


def _reasons(
    job: Job, set_ups: Sequence[Visit], figures: TotalFigures, batched: bool, explain: Explainer
) -> dict[str, tuple[Reason, ...]]:
    """Where the totals come from, by the name of the figure."""
    own = ("own-estimate",)
    working = explain.derived(
        "The steps of all faces, drawn together: metal that is harder to cut than thought is so in each.",
        "step_time",
        {"draws": given(DRAWS)},
        None,
        own,
    )
    part = explain.derived(
        "Working, slower cutting on worn media, handling, inspection, dressing, changes of media, rework"
        + (" and a share of setting up." if batched else "; no batch is given, so nothing for setting up."),
        "part_time",
        {
            "batch": given(job.batch),
            "times in hand": given(figures.holds),
            "turns to another face": given(figures.turns),
            "set-ups": given(len(set_ups)),
        },
        None,
        own,
    )
    found: dict[str, tuple[Reason, ...]] = {"time_s": (working,), "part_time_s": (part,)}
    moved = Reason(
        kind="derived",
        text="Each assumption in turn at its low and at its high end, all others as expected.",
        formula="swings",
        source="own-estimate",
        source_kind=explain.kind_of(own),
    )
    found["drivers"] = (moved,)
    if job.cell.rates is not None:
        rate = {"price of an hour": given(job.cell.rates.hour)}
        found["cost"] = (
            explain.derived(
                "Time at the machine for its price, and the media used up.", "path_cost", rate, None, own
            ),
        )
        found["part_cost"] = (
            explain.derived(
                "The time of a good part for the price of an hour, and its media, worked again or not.",
                "part_cost",
                rate,
                None,
                own,
            ),
        )
    used = "A belt, disc or wheel stays on for the next batch, so a part pays for the share it uses up."
    found["media"] = (explain.derived(used, "media_per_thousand", {"parts": given(1000)}, None, own),)
    return found
