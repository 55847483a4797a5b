"""The moves of the search: clear a defect, erase the last scratch, or blend a texture over it."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from advisor.choices.decide import Room
from advisor.choices.model import RangeChoice
from advisor.figures.coefficients import Values
from advisor.figures.effect import whole_valley
from advisor.figures.setup import Setup
from advisor.knowledge.reference import Defect
from advisor.process import contact, local, removal, roughness, timing
from advisor.process.real import Real
from advisor.sequence.candidate import Candidate
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


Received = dict[str, RangeChoice]
#: A strip is tried with the whole force and with less, as far as the face beside it demands.
FORCE_SHARES = (1.0, 0.6, 0.35, 0.2)


@dataclass(frozen=True, slots=True)
class StripRun:
    """How a strip is levelled: whole passes, feed (m/s), force (N), the dish beside it (m), doubts."""

    passes: int
    feed: float
    force: float
    dish: float
    flags: tuple[str, ...]


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
        self._shared: dict[tuple[int, float], tuple[local.Sharing, float, float] | None] = {}
        self._receiving: dict[tuple[int, str | None, str | None], Received] = {}
        job = desk.job
        self._rate = job.cell.rates.hour / 3600.0 if job.cell.rates else None
        self.most_stock = (desk.feature.max_stock_mm or math.inf) / 1e3
        wall = job.part.wall_mm
        self.most_dish = min(DEEPEST_DISH, self.most_stock, wall / 1e4 if wall else math.inf)
        self._mirror = desk.feature.finish.texture == _MIRROR

    # ------------------------------------------------------------------ clearing
    def clear(
        self, candidate: Candidate, before: Surface, defect: DefectAtHand, floor: float
    ) -> Iterator[PlannedStep]:
        """Steps that take a defect away, or down to the edge of the band of depth (`floor`, m).

        What stands proud of the face is levelled as a strip. Any other local defect (a tint, a
        scratch, a pit) is worked as a track as wide as the contact, over the whole depth.
        """
        if defect.row.local and defect.row.kind == "proud":
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
        least = self._stock_to_follow(candidate, before, rt)
        if floor > 0:
            yield from self._area_step(candidate, before, max(before.remaining - floor, least), ra, rt, grain, defect,
                                       remaining=floor, left=0.0)
            return
        handed = float(roughness.left_after_clearing(rt, values["erase_multiple"]))
        for left in dict.fromkeys((min(handed, before.remaining), 0.0)):
            need = max(before.remaining - left, least)
            yield from self._area_step(candidate, before, need, ra, rt, grain, defect, remaining=0.0, left=left)

    def _stock_to_follow(self, candidate: Candidate, before: Surface, rt: float) -> float:
        """What a clearing step must take at least: its own texture, and the scratch of the step before."""
        if candidate.effect.floor_ra is None:
            return 0.0
        values = self._values(candidate)
        if before.stage == "start":
            return float(values["own_share"]) * rt
        return float(roughness.stock_to_erase(before.rt, rt, values["erase_multiple"], 0.0, values["own_share"]))

    def _area_step(
        self, candidate: Candidate, before: Surface, need: float, ra: float, rt: float, grain: float | None,
        defect: DefectAtHand, remaining: float, left: float,
    ) -> Iterator[PlannedStep]:
        received = self._received(candidate, before)
        run = self._run(candidate, need, received["passes"])
        if run is None:
            return
        passes, feed = run
        time = float(
            timing.strip_time(self._strip_length(), feed, passes) if defect.row.local
            else timing.area_time(self._area(), candidate.setup.step_over, feed, passes)
        )
        if defect.row.local:  # the face beside the track keeps its own roughness
            ra, rt = max(ra, before.ra), max(rt, before.rt)
        after = Surface(
            before.defect + (remaining == 0.0), remaining, ra, rt, left, grain,
            candidate.grade.key if candidate.grade else before.grade, candidate.tool.media.key, candidate.stage,
        )
        yield self._step(
            "clear", candidate, before, after, passes, feed, need, time, received, defect.row.key, stock=need
        )

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
        least = self._stock_to_follow(candidate, before, rt)
        for end in ends:
            if before.remaining - end < least:
                continue
            for share in FORCE_SHARES:
                found = self._strip_passes(candidate, before.remaining, end, defect.strip, share)
                if found is None or found.passes > received["passes"].high or found.dish > self.most_dish:
                    continue
                done = floor == 0.0
                after = Surface(
                    before.defect + done, 0.0 if done else end, max(ra, before.ra) if done else ra,
                    max(rt, before.rt) if done else rt, end if done else 0.0, self._grain(candidate, before),
                    candidate.grade.key if candidate.grade else before.grade, candidate.tool.media.key,
                    candidate.stage,
                )
                time = float(timing.strip_time(self._strip_length(), found.feed, found.passes))
                eased = candidate if found.force == setup.force else replace(
                    candidate, setup=replace(setup, line_load=found.force / setup.contact_width)
                )
                yield self._step(
                    "clear", eased, before, after, found.passes, found.feed, before.remaining - end, time,
                    received, defect.row.key, local_work=setup.contact_width > defect.strip,
                    dish=found.dish, flags=found.flags,
                )
                break  # the strongest force that keeps the face sound is the quickest

    def _strip_passes(
        self, candidate: Candidate, height: float, end: float, strip: float, share: float
    ) -> StripRun | None:
        """How a strip comes down under a share of the force; None where it does not."""
        setup = candidate.setup
        feed = max(setup.slowest_feed, SLOWEST_STRIP_FEED)
        force = min(setup.force * share, MOST_STRIP_LOAD * min(strip, setup.contact_width))
        least = self.desk.job.cell.compliance.force_n[0] if (
            self.desk.job.cell.compliance and self.desk.job.cell.compliance.force_n) else 0.0
        if force < least:
            return None
        shared = self._sharing(candidate, force, strip, feed)
        if shared is None:
            return None
        sharing, narrow, wide = shared
        plan = local.level(height, end, sharing, narrow, wide)
        if not math.isfinite(float(plan.passes)):
            return None
        return StripRun(max(1, math.ceil(float(plan.passes) - 1e-9)), feed, force, float(plan.dish), plan.flags)

    def _sharing(
        self, candidate: Candidate, force: float, strip: float, feed: float
    ) -> tuple[local.Sharing, float, float] | None:
        """How the wheel shares a force between strip and face, with the depth of a pass on either.

        Holds for every height, so it is worked out once. Without a rubber wheel the strip is taken
        to carry the whole force and nothing is said of a dish; None where the strip is not cut.
        """
        key = (id(candidate), force)
        if key not in self._shared:
            setup = candidate.setup
            depth = self._strip_law(candidate, feed)
            if candidate.effect.contact is None or setup.hardness is None:
                narrow = wide = float(depth(force / min(strip, setup.contact_width)))
                sharing = local.Sharing(1.0, local.Tail(0.0, 0.0), local.Tail(0.0, 0.0), True, ())
            else:
                radius, modulus = _geometry(setup)
                sharing = local.load_sharing(
                    force, strip, setup.contact_width, radius, modulus, setup.cover_thickness, depth
                )
                wide = float(depth(force / setup.contact_width))
                narrow = wide if sharing.as_area else float(depth(force / strip))
            self._shared[key] = (sharing, narrow, wide) if narrow > 0 else None
        return self._shared[key]

    def _strip_law(self, candidate: Candidate, feed: float) -> Callable[[Real], Real]:
        """Depth of one pass under a force per width, with the pressure below which the grain only rubs."""
        setup, effect = candidate.setup, candidate.effect
        fixed = effect.fixed_depth
        if fixed is not None:
            return lambda line_load: fixed
        if effect.contact is None or setup.hardness is None:
            rate = float(effect.depth_rate) / setup.line_load / feed
            return lambda line_load: rate * line_load
        radius, modulus = _geometry(setup)
        cutting = float(effect.force_ratio) * setup.speed / (float(effect.specific_energy) * feed)
        factor = cutting * setup.media.removal_factor

        def depth(line_load: Real) -> Real:
            pressure = contact.line_contact(line_load, radius, modulus, setup.cover_thickness).mean_pressure
            return factor * line_load * removal.cutting_share(pressure, effect.minimum_pressure)

        return depth

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
        if run is None:
            return
        passes, feed = run
        time = float(timing.area_time(self._area(), candidate.setup.step_over, feed, passes))
        after = Surface(
            before.defect, before.remaining, ra, rt, 0.0, grain, candidate.grade.key, candidate.tool.media.key,
            candidate.stage,
        )
        yield self._step("erase", candidate, before, after, passes, feed, need, time, received, stock=need)

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
            feed = candidate.setup.feed
            time = float(timing.area_time(self._area(), candidate.setup.step_over, feed, passes))
            after = Surface(
                before.defect, before.remaining, ra, float(whole_valley(ra, values)), 0.0,
                self._grain(candidate, before), candidate.grade.key if candidate.grade else before.grade,
                candidate.tool.media.key, candidate.stage,
            )
            yield self._step(
                "blend", candidate, before, after, passes, feed, removal, time, received, stock=removal
            )
            return

    def _accepted(self, candidate: Candidate, before: Surface, window: RangeChoice) -> bool:
        """Whether the media can hide the scratch it finds."""
        if before.grade is None:
            return True
        scale, place = self.desk.decider.vocabulary.rank[before.grade]
        if scale == "P":
            return window.low <= place <= window.high
        found = self.desk.decider.vocabulary.grades[before.grade]
        return candidate.grade is None or candidate.grade.um < found.um

    # ------------------------------------------------------------------ shared
    def least_cost(self, candidate: Candidate) -> float:
        """What a step with this candidate costs at least: the fixed time and the change of media."""
        values = self._values(candidate)
        change = self.desk.job.cell.changeover_s(candidate.tool.media.form) / self.batch
        time = float(values["step_seconds"]) + change
        return time if self._rate is None else self._rate * time

    def _received(self, candidate: Candidate, before: Surface) -> Received:
        """What is decided at the receiving step: passes, the jump, the incoming grade it can blend."""
        key = (id(candidate), before.grade, before.media)
        received = self._receiving.get(key)
        if received is None:
            facts: Facts = {
                **candidate.situation, "previous.grade": before.grade, "previous.media": before.media,
            }
            decider = self.desk.decider
            last = len(decider.vocabulary.on_scale["P"]) - 1
            low, high = candidate.tool.media.passes
            received = {
                "accepts": decider.stretch("accepts", facts, Room(0, last, None, "coarse"), "P"),
                "jump": decider.stretch("jump", facts, Room(1.0, 10.0, None, "middle")),
                "passes": decider.stretch("passes", facts, Room(low, high, None, "low")),
            }
            self._receiving[key] = received
        return received

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
        need: float, cutting: float, received: Received, defect: str | None = None,
        local_work: bool = False, stock: float = 0.0, dish: float = 0.0, flags: tuple[str, ...] = (),
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
            defect, local_work, stock, dish, (*candidate.effect.flags, *flags),
        )

    def _values(self, candidate: Candidate) -> Values:
        return self.desk.expected(candidate.tool.media, candidate.grain, candidate.grade)

    def _grain(self, candidate: Candidate, before: Surface) -> float | None:
        """The last coated scratch; a web or a wire wheel leaves none that a belt must be finer than."""
        coated = candidate.grade is not None and not candidate.grade.equivalent
        return candidate.grade.um if coated and candidate.grade else before.grain

    def _area(self) -> float:
        return self.desk.area_cm2 / 1e4

    def _strip_length(self) -> float:
        """Along the longer side of the face, where its width is known."""
        width = self.desk.feature.width_mm
        area = self.desk.area_cm2 * 100.0
        return max(area / width, width) / 1e3 if width else (area**0.5) / 1e3


def _geometry(setup: Setup) -> tuple[float, float]:
    """Relative radius (m) and plane modulus (Pa) of a rubber wheel on the face."""
    radius = contact.relative_radius(setup.diameter / 2, setup.face.radius, setup.face.shape)
    return float(radius), float(contact.plane_modulus(contact.young_modulus(setup.hardness or 0.0)))
