"""The moves of the search: clear a defect, erase the last scratch, or blend a texture over it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from advisor.choices.decide import Room
from advisor.choices.model import RangeChoice
from advisor.figures.coefficients import Values
from advisor.figures.effect import whole_valley
from advisor.knowledge.reference import Defect
from advisor.process import contact, local, roughness, timing
from advisor.sequence.candidates import Candidate
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.surface import PlannedStep, Surface
from advisor.situations import Facts

#: A strip bears at most this load per width, in N/m; local work is not slowed below this feed in m/s.
MOST_STRIP_LOAD = 25e3
SLOWEST_STRIP_FEED = 0.020
#: Heights at which a strip may be handed over to the next step, in m, beside the step's own roughness.
HAND_OVERS = (0.1e-3, 0.25e-3)
#: The hollow beside a local defect: at most this, the stock allowed, or a tenth of the wall.
DEEPEST_DISH = 0.15e-3
#: Fixed passes a step is given where no rule speaks.
_MIRROR = "mirror"


@dataclass(frozen=True, slots=True)
class DefectAtHand:
    """A defect of the face with the depth that is planned for (m) and the width of its strip (m)."""

    row: Defect
    depth: float
    strip: float


class Moves:
    """Makes the steps that lead on from a surface."""

    def __init__(self, desk: FeatureDesk, batch: int) -> None:
        self.desk = desk
        self.batch = max(1, batch)
        self._sharing: dict[int, local.Sharing] = {}
        job = desk.job
        self._rate = job.cell.rates.hour / 3600.0 if job.cell.rates else None
        self._most_stock = (desk.feature.max_stock_mm or math.inf) / 1e3
        wall = job.part.wall_mm
        self._most_dish = min(DEEPEST_DISH, self._most_stock, wall / 1e4 if wall else math.inf)
        self._mirror = desk.feature.finish.texture == _MIRROR

    # ------------------------------------------------------------------ clearing
    def clear(
        self, candidate: Candidate, before: Surface, defect: DefectAtHand, floor: float
    ) -> Iterator[PlannedStep]:
        """Steps that take a defect away, or down to the edge of the band of depth (`floor`, m)."""
        if defect.row.local:
            yield from self._clear_strip(candidate, before, defect, floor)
        else:
            yield from self._clear_area(candidate, before, defect, floor)

    def _clear_area(
        self, candidate: Candidate, before: Surface, defect: DefectAtHand, floor: float
    ) -> Iterator[PlannedStep]:
        values = self._values(candidate)
        ra = before.ra if candidate.effect.floor_ra is None else float(candidate.effect.floor_ra)
        rt = float(whole_valley(ra, values))
        grain = self._grain(candidate, before)
        if floor > 0:
            yield from self._area_step(candidate, before, before.remaining - floor, ra, rt, grain, defect,
                                       remaining=floor, left=0.0)
            return
        own = float(values["own_share"]) * rt if candidate.effect.floor_ra is not None else 0.0
        handed = float(roughness.left_after_clearing(rt, values["erase_multiple"]))
        for left in dict.fromkeys((min(handed, before.remaining), 0.0)):
            need = max(before.remaining - left, own)
            yield from self._area_step(candidate, before, need, ra, rt, grain, defect, remaining=0.0, left=left)

    def _area_step(
        self, candidate: Candidate, before: Surface, need: float, ra: float, rt: float, grain: float | None,
        defect: DefectAtHand, remaining: float, left: float,
    ) -> Iterator[PlannedStep]:
        received = self._received(candidate, before)
        run = self._run(candidate, need, received["passes"])
        if run is None:
            return
        passes, feed = run
        time = float(timing.area_time(self._area(), candidate.setup.step_over, feed, passes))
        after = Surface(
            before.defect + (remaining == 0.0), remaining, ra, rt, left, grain,
            candidate.grade.key if candidate.grade else before.grade, candidate.tool.media.key, candidate.stage,
            before.stock + need, before.dish,
        )
        yield self._step("clear", candidate, before, after, passes, feed, need, time, received, defect.row.key)

    def _clear_strip(
        self, candidate: Candidate, before: Surface, defect: DefectAtHand, floor: float
    ) -> Iterator[PlannedStep]:
        """A narrow strip takes the force until the wheel reaches the face beside it."""
        values = self._values(candidate)
        setup, effect = candidate.setup, candidate.effect
        if effect.floor_ra is None or defect.strip <= 0:
            return
        ra = float(effect.floor_ra)
        rt = float(whole_valley(ra, values))
        received = self._received(candidate, before)
        own = max(float(values["own_share"]) * rt, 5e-6)
        ends = (floor,) if floor > 0 else (own, *HAND_OVERS)
        for end in ends:
            if end >= before.remaining:
                continue
            found = self._strip_passes(candidate, before.remaining, end, defect.strip)
            if found is None:
                continue
            passes, feed, dish, flags = found
            if passes > received["passes"].high or before.dish + dish > self._most_dish:
                continue
            done = floor == 0.0
            after = Surface(
                before.defect + done, 0.0 if done else end, max(ra, before.ra) if done else ra,
                max(rt, before.rt) if done else rt, end if done else 0.0, self._grain(candidate, before),
                candidate.grade.key if candidate.grade else before.grade, candidate.tool.media.key, candidate.stage,
                before.stock, before.dish + dish,
            )
            time = float(timing.strip_time(self._strip_length(), feed, passes))
            yield self._step(
                "clear", candidate, before, after, passes, feed, before.remaining - end, time, received,
                defect.row.key, local_work=setup.contact_width > defect.strip, flags=flags,
            )

    def _strip_passes(
        self, candidate: Candidate, height: float, end: float, strip: float
    ) -> tuple[int, float, float, tuple[str, ...]] | None:
        """Whole passes, feed, dish and doubts for a strip; None where it does not come down."""
        setup, effect = candidate.setup, candidate.effect
        feed = max(setup.feed, SLOWEST_STRIP_FEED)
        width = setup.contact_width
        force = min(setup.force, MOST_STRIP_LOAD * min(strip, width))
        by_load = float(effect.depth_rate) / setup.line_load if effect.fixed_depth is None else None
        fixed = float(effect.fixed_depth) if effect.fixed_depth is not None else 0.0

        def depth(line_load: float) -> float:
            return by_load * line_load / feed if by_load is not None else fixed

        if effect.contact is None or setup.hardness is None:
            per_pass = depth(force / min(strip, width))
            return (timing.whole_passes(height - end, per_pass), feed, 0.0, ()) if per_pass > 0 else None
        radius = float(contact.relative_radius(setup.diameter / 2, setup.face.radius, setup.face.shape))
        modulus = float(contact.plane_modulus(contact.young_modulus(setup.hardness)))
        sharing = local.load_sharing(force, strip, width, radius, modulus, setup.cover_thickness)
        wide = depth(force / width)
        plan = local.level(height, end, sharing, wide if sharing.as_area else depth(force / strip), wide)
        if not math.isfinite(float(plan.passes)):
            return None
        return math.ceil(float(plan.passes) - 1e-9), feed, float(plan.dish), plan.flags

    # ------------------------------------------------------------------ refining and finishing
    def erase(self, candidate: Candidate, before: Surface) -> Iterator[PlannedStep]:
        """A finer grain takes the last scratch out; the first step may also be coarser on purpose."""
        if candidate.effect.floor_ra is None or candidate.grade is None:
            return
        grain = candidate.grade.um
        if before.grain is not None and grain >= before.grain:
            return
        received = self._received(candidate, before)
        if before.grain is not None and before.stage != "start":
            jump = before.grain / grain
            if not received["jump"].low - 1e-9 <= jump <= received["jump"].high + 1e-9:
                return
        values = self._values(candidate)
        ra = float(candidate.effect.floor_ra)
        rt = float(whole_valley(ra, values))
        multiple = values["erase_multiple_mirror" if self._mirror else "erase_multiple"]
        disturbed = roughness.disturbed_layer(before.rt, values["disturbed_layer_factor"]) if self._mirror else 0.0
        need = float(roughness.stock_to_erase(before.rt, rt, multiple, disturbed, values["own_share"]))
        need = max(need, before.left)
        run = self._run(candidate, need, received["passes"])
        if run is None or before.stock + need > self._most_stock:
            return
        passes, feed = run
        time = float(timing.area_time(self._area(), candidate.setup.step_over, feed, passes))
        after = Surface(
            before.defect, before.remaining, ra, rt, 0.0, grain, candidate.grade.key, candidate.tool.media.key,
            candidate.stage, before.stock + need, before.dish,
        )
        yield self._step("erase", candidate, before, after, passes, feed, need, time, received)

    def blend(
        self, candidate: Candidate, before: Surface, target: tuple[float, float] | None
    ) -> Iterator[PlannedStep]:
        """A finishing media lays its texture over the scratch; passes until Ra is inside the target (m)."""
        if candidate.effect.floor_ra is None or before.left > before.rt:
            return
        received = self._received(candidate, before)
        if not self._accepted(candidate, before, received["accepts"]):
            return
        values = self._values(candidate)
        floor = float(candidate.effect.floor_ra)
        decay = float(roughness.decay_depth(before.rt, values["decay_kappa"]))
        depth = float(candidate.effect.depth(candidate.setup.feed)) * self._lapped(candidate)
        if depth <= 0:
            return
        window = received["passes"]
        least = max(1, math.ceil(window.low - 1e-9))
        if self._mirror:  # the lines of the step before must be gone, not only lower
            need = float(roughness.stock_to_erase(
                before.rt, whole_valley(floor, values), values["erase_multiple"], 0.0, values["own_share"]
            ))
            least = max(least, timing.whole_passes(need, depth))
        for passes in range(least, int(window.high + 1e-9) + 1):
            ra = float(roughness.ra_after(passes * depth, before.ra, floor, decay))
            if target is not None and not target[0] <= ra <= target[1]:
                continue
            removal = passes * depth
            if before.stock + removal > self._most_stock:
                return
            feed = candidate.setup.feed
            time = float(timing.area_time(self._area(), candidate.setup.step_over, feed, passes))
            after = Surface(
                before.defect, before.remaining, ra, float(whole_valley(ra, values)), 0.0,
                candidate.grade.um if candidate.grade else before.grain, candidate.grade.key if candidate.grade
                else before.grade, candidate.tool.media.key, candidate.stage, before.stock + removal, before.dish,
            )
            yield self._step("blend", candidate, before, after, passes, feed, removal, time, received)
            return

    def _accepted(self, candidate: Candidate, before: Surface, window: RangeChoice) -> bool:
        """Whether the media can hide the scratch it finds."""
        if before.grade is None:
            return True
        scale, place = self.desk.decider.vocabulary.rank[before.grade]
        if scale == "P":
            return window.low <= place <= window.high
        return candidate.grade is None or before.grain is None or candidate.grade.um < before.grain

    # ------------------------------------------------------------------ shared
    def _received(self, candidate: Candidate, before: Surface) -> dict[str, RangeChoice]:
        """What is decided at the receiving step: passes, the jump, the incoming grade it can blend."""
        facts: Facts = {
            **candidate.situation, "previous.grade": before.grade, "previous.media": before.media,
        }
        decider = self.desk.decider
        last = len(decider.vocabulary.on_scale["P"]) - 1
        low, high = candidate.tool.media.passes
        return {
            "accepts": decider.stretch("accepts", facts, Room(0, last, None, "coarse"), "P"),
            "jump": decider.stretch("jump", facts, Room(1.0, 10.0, None, "middle")),
            "passes": decider.stretch("passes", facts, Room(low, high, None, "low")),
        }

    def _run(self, candidate: Candidate, need: float, window: RangeChoice) -> tuple[int, float] | None:
        """Whole passes and the feed trimmed so that they take exactly the need; None where they cannot."""
        setup, effect = candidate.setup, candidate.effect
        lapped = self._lapped(candidate)
        least = max(1, math.ceil(window.low - 1e-9))
        most = int(window.high + 1e-9)
        if effect.fixed_depth is not None:
            passes = max(least, timing.whole_passes(need, float(effect.fixed_depth) * lapped))
            return (passes, setup.feed) if passes <= most else None
        rate = float(effect.depth_rate) * lapped
        if rate <= 0:
            return None
        passes = max(least, timing.whole_passes(need, rate / setup.feed))
        if passes > most:
            passes = max(least, timing.whole_passes(need, rate / setup.slowest_feed))
            if passes > most:
                return None
            passes = most
        feed = float(timing.trimmed_feed(setup.feed, passes, rate / setup.feed, need))
        return passes, min(max(feed, setup.slowest_feed), setup.fastest_feed)

    def _lapped(self, candidate: Candidate) -> float:
        """Overlapping strokes go over each spot more than once in a pass."""
        return 1.0 / (1.0 - candidate.setup.overlap)

    def _step(
        self, kind: str, candidate: Candidate, before: Surface, after: Surface, passes: int, feed: float,
        need: float, cutting: float, received: dict[str, RangeChoice], defect: str | None = None,
        local_work: bool = False, flags: tuple[str, ...] = (),
    ) -> PlannedStep:
        values = self._values(candidate)
        media = candidate.tool.media
        time = float(timing.step_time(cutting, values["step_seconds"]))
        change = self.desk.job.cell.changeover_s(media.form) / self.batch
        cost = time + change
        if self._rate is not None:
            life = (media.life_minutes[0] * media.life_minutes[1]) ** 0.5 * 60.0
            cost = self._rate * (time + change) + media.price * cutting / life
        depth = float(candidate.effect.depth(feed)) * (1.0 if local_work else self._lapped(candidate))
        removal = need if local_work else passes * depth
        return PlannedStep(
            kind, candidate, before, after, passes, feed, need, removal, time, cost, received,  # type: ignore[arg-type]
            defect, local_work, (*candidate.effect.flags, *flags),
        )

    def _values(self, candidate: Candidate) -> Values:
        return self.desk.expected(candidate.tool.media, candidate.grain, candidate.grade)

    def _grain(self, candidate: Candidate, before: Surface) -> float | None:
        return candidate.grade.um if candidate.grade else before.grain

    def _area(self) -> float:
        return self.desk.area_cm2 / 1e4

    def _strip_length(self) -> float:
        """Along the longer side of the face, where its width is known."""
        width = self.desk.feature.width_mm
        area = self.desk.area_cm2 * 100.0
        return max(area / width, width) / 1e3 if width else (area**0.5) / 1e3
