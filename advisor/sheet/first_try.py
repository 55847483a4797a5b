"""The first trial on scrap: the lightest credible step first, and where to go from there."""

from __future__ import annotations

from advisor.sequence.candidate import Candidate
from advisor.sequence.plan import FeaturePlan
from advisor.sequence.surface import PlannedStep
from advisor.sheet.explain import Explainer
from advisor.sheet.model import FirstTry
from advisor.units import figure

#: Parts a trial uses up: one for each step, and two that run through the whole chain. Common practice.
WHOLE_CHAIN_PARTS = 2


def first_try(plan: FeaturePlan, explain: Explainer) -> FirstTry | None:
    """What to try first for the feature that asks for most; None where there is no plan."""
    if not plan.path:
        return None
    first = plan.path[0]
    lighter, coarser = _neighbours(plan, first)
    start, weak, strong = _words(first, lighter, coarser, explain)
    steps = len(plan.path)
    needed = steps + WHOLE_CHAIN_PARTS
    parts = (
        f"{needed} parts from scrap: one for each of the {steps} steps, "
        f"and {WHOLE_CHAIN_PARTS} to run the whole chain"
        if steps > 1
        else f"{needed} parts from scrap: one to find the setting, and {WHOLE_CHAIN_PARTS} to prove it"
    )
    return FirstTry(
        start_with=start,
        feature=plan.feature.name,
        if_too_weak=weak,
        if_too_strong=strong,
        parts_needed=parts,
    )


def _neighbours(plan: FeaturePlan, first: PlannedStep) -> tuple[Candidate | None, Candidate | None]:
    """The next finer and the next coarser grade that the rules leave for the first step."""
    same = [
        candidate
        for field in plan.fields
        if field.stage == first.candidate.stage
        for candidate in field.candidates
        if candidate.tool.media.key == first.candidate.tool.media.key
        and candidate.grain == first.candidate.grain
        and candidate.grade is not None
    ]
    own = first.candidate.grade
    if own is None:
        return None, None
    sizes = {candidate.grade.um: candidate for candidate in same if candidate.grade is not None}
    finer = [size for size in sizes if size < own.um]
    coarser = [size for size in sizes if size > own.um]
    return (sizes[max(finer)] if finer else None), (sizes[min(coarser)] if coarser else None)


def _words(
    first: PlannedStep, lighter: Candidate | None, coarser: Candidate | None, explain: Explainer
) -> tuple[str, str, str]:
    candidate = first.candidate
    media, own = candidate.tool.media.name, candidate.grade
    force = figure(candidate.setup.force, 2)
    if lighter is not None and lighter.grade is not None and own is not None:
        start = (
            f"{lighter.grade.key} {media}, one grade finer than planned, {_passes(first)} at the forces and "
            f"speeds of step 1; every coarser scratch has to be paid for later"
        )
        weak = f"go to the planned {own.key} at {force} N"
    else:
        start = (
            f"step 1 as planned ({own.key + ' ' if own else ''}{media}), at the lower end of its force window"
        )
        weak = f"raise the force to {force} N"
    if coarser is not None and coarser.grade is not None:
        weak += f"; if that is still too weak after {_passes(first)}, take {coarser.grade.key}"
    else:
        weak += "; if that is still too weak, slow the feed to the lower end of its window"
    strong = (
        "lower the force to the lower end of its window, then take the next finer grade or a softer wheel; "
        "change one thing at a time"
    )
    return start, weak, strong


def _passes(step: PlannedStep) -> str:
    return f"{step.passes} pass{'es' if step.passes != 1 else ''}"
