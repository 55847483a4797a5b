"""The moves of the search: clear a defect, erase the last scratch, or blend a texture over it."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from advisor.figures.effect import whole_valley
from advisor.process import roughness, timing
from advisor.sequence.candidate import Candidate
from advisor.sequence.clearing import Clearing, DefectAtHand
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.step_maker import StepMaker
from advisor.sequence.surface import PlannedStep, Surface
from advisor.sequence.walls import WALL_SHARE

#: The hollow beside a local defect: at most this (m), the stock allowed, or a tenth of the wall.
DEEPEST_DISH = 0.15e-3
#: The steps after a defect take less than this (m). Own choice.
BEYOND_THE_DEFECT = 0.3e-3
_MIRROR = "mirror"


def most_dish(desk: FeatureDesk) -> float:
    """How deep (m) the hollow beside a local defect of this face may be."""
    stock, wall = desk.feature.max_stock_mm, desk.job.part.wall_mm
    return min(DEEPEST_DISH, stock / 1e3 if stock else math.inf, wall / 1e4 if wall else math.inf)


def most_stock(desk: FeatureDesk) -> float:
    """What may come off a whole face (m): the stock that the job allows, or else the wall's share.

    Infinite where nothing is said of either, or the wall is so thick that the work cannot come near.
    """
    stock, wall = desk.feature.max_stock_mm, desk.job.part.wall_mm
    if stock is not None:
        return min(stock, wall or math.inf) / 1e3
    if wall is None:
        return math.inf
    of_wall = WALL_SHARE * wall / 1e3
    tables = desk.knowledge.tables.defects
    worst = max((tables[key].depth_mm[1] for key in desk.feature.start.defects), default=0.0)
    deep = max(desk.feature.start.depth_mm[1], worst) / 1e3 * len(desk.feature.start.defects)
    return math.inf if of_wall > deep + BEYOND_THE_DEFECT else of_wall


class Moves:
    """Makes the steps that lead on from a surface."""

    def __init__(self, desk: FeatureDesk, batch: int) -> None:
        self.desk = desk
        self._maker = StepMaker(desk, batch)
        self.most_stock = most_stock(desk)
        self.most_dish = most_dish(desk)
        self._clearing = Clearing(self._maker, self.most_dish)
        self._mirror = desk.feature.finish.texture == _MIRROR
        self._following: dict[tuple[object, ...], tuple[Candidate, ...]] = {}

    def clear(
        self, candidate: Candidate, before: Surface, defect: DefectAtHand, floor: float
    ) -> Iterator[PlannedStep]:
        """Steps that take a defect away, or down to the edge of the band of depth (`floor`, m)."""
        return self._clearing.clear(candidate, before, defect, floor)

    def least_cost(self, candidate: Candidate) -> float:
        """What a step with this candidate costs at least: the fixed time and the change of media."""
        return self._maker.least_cost(candidate)

    def following(self, candidates: Sequence[Candidate], before: Surface) -> tuple[Candidate, ...]:
        """Those that may come on a scratch at all, whatever is left of it; remembered by the scratch."""
        key = (
            id(candidates), before.grain, before.grade, before.media, before.face_untouched, _stands(before),
        )  # fmt: skip
        found = self._following.get(key)
        if found is None:
            found = self._following[key] = tuple(
                candidate
                for candidate in candidates
                if (
                    self._may_blend(candidate, before)
                    if candidate.tool.media.blends
                    else self._may_erase(candidate, before)
                )
            )
        return found

    def _may_erase(self, candidate: Candidate, before: Surface) -> bool:
        """Whether a grain is fine enough for the scratch it finds, and the jump to it not too long."""
        if candidate.effect.floor_ra is None or candidate.grade is None:
            return False
        if before.grain is None:
            return True
        if candidate.grade.um >= before.grain:
            return before.face_untouched and candidate.stage == "finish"
        return self._maker.in_reach(self._maker.received("erase", candidate, before), candidate, before)

    def _may_blend(self, candidate: Candidate, before: Surface) -> bool:
        """Whether a media can hide the scratch it finds; what stands higher than a scratch it cannot."""
        if candidate.effect.floor_ra is None or _stands(before):
            return False
        if before.grade is None:
            return True
        window = self._maker.received("blend", candidate, before)["accepts"]
        scale, place = self.desk.decider.vocabulary.rank[before.grade]
        if scale == "P":
            return window.low <= place <= window.high
        found = self.desk.decider.vocabulary.grades[before.grade]
        return candidate.grade is None or candidate.grade.um < found.um

    def least_end(self, candidate: Candidate) -> float:
        """What a step over the whole face costs at least: beside the fixed time, one pass at full feed."""
        return self._maker.least_end(candidate)

    def erase(self, candidate: Candidate, before: Surface) -> Iterator[PlannedStep]:
        """A finer grain takes the last scratch out.

        The first step over the whole face may be coarser on purpose, where it lays the texture: it
        finds the face as it came, and a worked strip no rougher than itself.
        """
        if not self._may_erase(candidate, before):
            return
        assert candidate.effect.floor_ra is not None and candidate.grade is not None
        grain = candidate.grade.um
        received = self._maker.received("erase", candidate, before)
        values = self._maker.values(candidate)
        ra = float(candidate.effect.floor_ra)
        rt = float(whole_valley(ra, values))
        multiple = values["erase_multiple_mirror" if self._mirror else "erase_multiple"]
        disturbed = (
            roughness.disturbed_layer(before.rt, values["disturbed_layer_factor"]) if self._mirror else 0.0
        )
        need = float(roughness.stock_to_erase(before.rt, rt, multiple, disturbed, values["own_share"]))
        need = max(need, before.left)
        run = self._maker.run(candidate, need, received["passes"])
        if run is None:
            return
        passes, feed = run
        time = float(timing.area_time(self._maker.area(), candidate.setup.step_over, feed, passes))
        after = Surface(
            before.defect,
            before.remaining,
            ra,
            rt,
            0.0,
            grain,
            candidate.grade.key,
            candidate.tool.media.key,
            candidate.stage,
            False,
        )
        yield self._maker.step(
            "erase", candidate, before, after, passes, feed, need, time, received, stock=need
        )

    def blend(
        self, candidate: Candidate, before: Surface, target: tuple[float, float] | None
    ) -> Iterator[PlannedStep]:
        """A finishing media lays its texture over the scratch; passes until Ra is inside the target (m)."""
        if not self._may_blend(candidate, before):
            return
        assert candidate.effect.floor_ra is not None
        received = self._maker.received("blend", candidate, before)
        values = self._maker.values(candidate)
        floor = float(candidate.effect.floor_ra)
        decay = float(roughness.decay_depth(before.rt, values["decay_kappa"]))
        depth = float(candidate.effect.depth(candidate.setup.feed)) * self._maker.lapped(candidate)
        if depth <= 0:
            return
        window = received["passes"]
        least = max(1, math.ceil(window.low - 1e-9), timing.whole_passes(before.left, depth))
        if self._mirror:  # the lines of the step before must be gone, not only lower
            need = float(
                roughness.stock_to_erase(
                    before.rt, whole_valley(floor, values), values["erase_multiple"], 0.0, values["own_share"]
                )
            )
            least = max(least, timing.whole_passes(need, depth))
        for passes in range(least, int(window.high + 1e-9) + 1):
            ra = float(roughness.ra_after(passes * depth, before.ra, floor, decay))
            if target is not None and not target[0] <= ra <= target[1]:
                continue
            removal = passes * depth
            feed = candidate.setup.feed
            time = float(timing.area_time(self._maker.area(), candidate.setup.step_over, feed, passes))
            after = Surface(
                before.defect,
                before.remaining,
                ra,
                float(whole_valley(ra, values)),
                0.0,
                self._maker.grain_after(candidate, before),
                candidate.grade.key if candidate.grade else before.grade,
                candidate.tool.media.key,
                candidate.stage,
                False,
            )
            yield self._maker.step(
                "blend", candidate, before, after, passes, feed, removal, time, received, stock=removal
            )
            return


def _stands(surface: Surface) -> bool:
    """Whether more was left standing than the roughness is high."""
    return surface.left > surface.rt
