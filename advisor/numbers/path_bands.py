"""Carries the spread of every coefficient through a path: each step starts from what the last one left.

One seeded stream a coefficient, shared by all steps that use it: if the steel is harder to cut than
thought, it is so in every step.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from advisor.figures.coefficients import Draws, Values
from advisor.figures.effect import Effect, effect, rougher, whole_valley
from advisor.process import roughness
from advisor.process.bands import Spread, percentiles
from advisor.process.real import Real, positive_part
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.surface import PlannedStep

MICRON = 1e-6
#: A step is never taken to last longer than this many times its plan: by then the reaction plan has begun.
LONGEST = 4.0


@dataclass(frozen=True, slots=True)
class StepBands:
    """One step: depth taken off and left (um), roughness after it (um), time for a part (s)."""

    removal_um: Spread
    remaining_um: Spread
    ra_um: Spread
    time_s: Spread


@dataclass(frozen=True, slots=True)
class PathBands:
    """The bands of every step, and of the time of the whole path."""

    steps: tuple[StepBands, ...]
    time_s: Spread


def path_bands(desk: FeatureDesk, path: Sequence[PlannedStep], drawn: Draws) -> PathBands:
    """Bands of a path as 5th, 50th and 95th percentile of the draws, which all paths of a job share.

    Raises ValueError for an empty path.
    """
    if not path:
        raise ValueError("a path without steps has no bands")
    ra: Real = path[0].before.ra
    rt: Real = path[0].before.rt
    steps = []
    total: Real = 0.0
    for step in path:
        candidate = step.candidate
        values = drawn.of(desk.picked(candidate.tool.media, candidate.grain, candidate.grade))
        outcome = effect(candidate.setup, values)
        removal, share = _removal(step, outcome, values, rt, desk)
        left = _roughness(step, outcome, values, ra, rt, removal)
        beside = step.defect is not None and desk.knowledge.tables.defects[step.defect].local
        if beside and step.after.remaining == 0.0:  # the next step finds the face beside the track as it was
            ra, rt = rougher(left, ra), rougher(whole_valley(left, values), rt)
        else:
            ra, rt = left, whole_valley(left, values)
        fixed = values["step_seconds"]
        cutting = step.time - float(candidate_values(desk, step)["step_seconds"])
        time = fixed + cutting * share
        total = total + time
        remaining = positive_part(step.before.remaining - removal) if step.kind == "clear" else 0.0 * removal
        steps.append(
            StepBands(
                percentiles(removal / MICRON),
                percentiles(remaining / MICRON),
                percentiles(left / MICRON + 0.0 * removal),
                percentiles(time),
            )
        )
    return PathBands(tuple(steps), percentiles(total))


def candidate_values(desk: FeatureDesk, step: PlannedStep) -> Values:
    """The expected coefficients of a step."""
    candidate = step.candidate
    return desk.expected(candidate.tool.media, candidate.grain, candidate.grade)


def _removal(
    step: PlannedStep, outcome: Effect, values: Values, rt_before: Real, desk: FeatureDesk
) -> tuple[Real, Real]:
    """The depth that the planned passes take, and how much longer than planned the step needs."""
    candidate = step.candidate
    planned = float(candidate.effect.depth(step.feed))
    ratio = outcome.depth(step.feed) / planned
    removal = step.removal * ratio
    need: Real = step.need
    if step.kind == "erase":
        own = whole_valley(outcome.floor_ra if outcome.floor_ra is not None else 0.0, values)
        mirror = desk.feature.finish.texture == "mirror"
        multiple = values["erase_multiple_mirror" if mirror else "erase_multiple"]
        disturbed = roughness.disturbed_layer(rt_before, values["disturbed_layer_factor"]) if mirror else 0.0
        stock = roughness.stock_to_erase(rt_before, own, multiple, disturbed, values["own_share"])
        need = rougher(stock, step.before.left)
    if step.kind == "blend":
        return removal, 1.0 + 0.0 * ratio
    share = need / (removal + (removal <= 0) * MICRON)
    longest = LONGEST - positive_part(LONGEST - share)
    # Metal that cuts better is worked with fewer passes or a faster feed, as far as both may go.
    fewest = max(1.0, step.received["passes"].low) / step.passes * step.feed / candidate.setup.fastest_feed
    return removal, longest + positive_part(fewest - longest)


def _roughness(
    step: PlannedStep, outcome: Effect, values: Values, ra_before: Real, rt_before: Real, removal: Real
) -> Real:
    if outcome.floor_ra is None:
        return ra_before
    if step.kind != "blend":
        return outcome.floor_ra
    decay = roughness.decay_depth(rt_before, values["decay_kappa"])
    return roughness.ra_after(removal, ra_before, outcome.floor_ra, decay)
