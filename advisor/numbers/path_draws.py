"""Walks a path with draws instead of single numbers: each step starts from what the last one left.

One seeded stream a coefficient, shared by all steps that use it: if the steel is harder to cut than
thought, it is so in every step.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from advisor.figures.coefficients import Draws, Values
from advisor.figures.effect import Effect, effect, rougher, whole_valley
from advisor.figures.media_life import MediaLife, media_life
from advisor.figures.warming import Warming, warming
from advisor.process import roughness
from advisor.process.real import Real, positive_part
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.surface import PlannedStep

MICRON = 1e-6
#: A step is never taken to last longer than this many times its plan: by then the reaction plan has begun.
LONGEST = 4.0


@dataclass(frozen=True, slots=True)
class StepDraws:
    """One step under every draw. Depths and roughness in m, times in s.

    `cutting` is the time on the metal, `time` that with the fixed part; `used` the share of one media
    that a part uses up; `warming` is None where nothing can be said of heat, or nobody asked.
    """

    removal: Real
    remaining: Real
    ra: Real
    rz: Real
    time: Real
    cutting: Real
    life: MediaLife
    used: Real
    warming: Warming | None

    @property
    def media_cost(self) -> Real:
        """What a part uses up of the media, in the cell's currency."""
        return self.life.price * self.used


@dataclass(frozen=True, slots=True)
class PathDraws:
    """Every step of a path under every draw."""

    steps: tuple[StepDraws, ...]

    @property
    def time(self) -> Real:
        """The time of all steps (s)."""
        return sum((step.time for step in self.steps), 0.0)

    @property
    def media_cost(self) -> Real:
        """The media of all steps."""
        return sum((step.media_cost for step in self.steps), 0.0)

    def cost(self, rate: float) -> Real:
        """Time at the machine for the price of a second, and the media used up."""
        return rate * self.time + self.media_cost


def path_draws(
    desk: FeatureDesk,
    path: Sequence[PlannedStep],
    drawn: Draws,
    depth: Real = 1.0,
    with_heat: bool = True,
) -> PathDraws:
    """A path under the draws, which all paths of a job share.

    `depth` is the depth of the main defect over the one planned for. Raises ValueError for an empty path.
    """
    if not path:
        raise ValueError("a path without steps has no bands")
    ra: Real = path[0].before.ra
    rt: Real = path[0].before.rt
    steps = []
    for step in path:
        candidate = step.candidate
        values = drawn.of(desk.picked(candidate.tool.media, candidate.grain, candidate.grade))
        outcome = effect(candidate.setup, values)
        deeper = depth if step.kind == "clear" and step.defect == desk.feature.start.defect else 1.0
        removal, share = _removal(step, outcome, values, rt, desk, deeper)
        left = _roughness(step, outcome, values, ra, rt, removal)
        beside = step.defect is not None and desk.knowledge.tables.defects[step.defect].local
        if candidate.setup.on_edge:  # a burr goes off the edge, and the face behind it is not touched
            pass
        elif beside and step.after.remaining == 0.0:  # the next step finds the face beside the track as it was
            ra, rt = rougher(left, ra), rougher(whole_valley(left, values), rt)
        else:
            ra, rt = left, whole_valley(left, values)
        remaining = positive_part(step.before.remaining - removal) if step.kind == "clear" else 0.0 * removal
        cutting = step.cutting * share
        economy = desk.economy(candidate.tool.media)
        life = media_life(candidate.setup, outcome, values, economy, candidate.life.cut_left)
        steps.append(
            StepDraws(
                removal=removal,
                remaining=remaining,
                ra=left + 0.0 * removal,
                rz=values["rz_over_ra"] * left,
                time=values["step_seconds"] + cutting,
                cutting=cutting,
                life=life,
                used=life.used(_volume(step, removal, deeper), cutting),
                warming=warming(candidate.setup, outcome, values, step.feed, cutting)
                if with_heat
                else None,
            )
        )
    return PathDraws(tuple(steps))


def _volume(step: PlannedStep, removal: Real, deeper: Real) -> Real:
    """The metal (m3) that a part loses: a blend takes what its passes take, the others what they must."""
    return step.volume * (removal / step.removal if step.kind == "blend" else deeper)


def _removal(
    step: PlannedStep, outcome: Effect, values: Values, rt_before: Real, desk: FeatureDesk, deeper: Real
) -> tuple[Real, Real]:
    """The depth that the planned passes take, and how much longer than planned the step needs."""
    candidate = step.candidate
    planned = float(candidate.effect.depth(step.feed))
    ratio = outcome.depth(step.feed) / planned
    removal = step.removal * ratio
    need: Real = step.need * deeper
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
