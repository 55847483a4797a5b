"""Levels what stands proud of a face: how a strip comes down under a wheel, and what that does beside it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from advisor.figures.pressing import Pressing, pressing
from advisor.process import local, removal
from advisor.process.real import Real
from advisor.sequence.candidate import Candidate
from advisor.sequence.feature_desk import FeatureDesk

#: A strip bears at most this load per width, in N/m; local work is not slowed below this feed in m/s.
MOST_STRIP_LOAD = 25e3
SLOWEST_STRIP_FEED = 0.020
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


class Strips:
    """The strips of one feature, with what the wheels share out between strip and face remembered."""

    def __init__(self, desk: FeatureDesk) -> None:
        self.desk = desk
        self._shared: dict[tuple[int, float], tuple[local.Sharing, float, float] | None] = {}

    def run(
        self, candidate: Candidate, height: float, end: float, strip: float, share: float
    ) -> StripRun | None:
        """How a strip comes down under a share of the force; None where it does not."""
        setup = candidate.setup
        feed = max(setup.slowest_feed, SLOWEST_STRIP_FEED)
        force = min(setup.force * share, MOST_STRIP_LOAD * min(strip, setup.contact_width))
        if force < self._least_force():
            return None
        shared = self._sharing(candidate, force, strip, feed)
        if shared is None:
            return None
        sharing, narrow, wide = shared
        plan = local.level(height, end, sharing, narrow, wide)
        if not math.isfinite(float(plan.passes)):
            return None
        return StripRun(
            max(1, math.ceil(float(plan.passes) - 1e-9)), feed, force, float(plan.dish), plan.flags
        )

    def along_edge(self, candidate: Candidate, height: float, width: float) -> StripRun | None:
        """How a burr of some height and width (m) comes off its edge; None where the media does not cut it.

        Nothing lies beside an edge, so the burr alone carries the force, which stays a light one: no
        more than a narrow strip bears, or the least that the compliant tool holds. With a web or a buff
        the depth of a pass is the one looked up, times what it gains on an edge.
        """
        setup, effect = candidate.setup, candidate.effect
        feed = max(setup.slowest_feed, SLOWEST_STRIP_FEED)
        force = min(setup.force, max(MOST_STRIP_LOAD * width, self._least_force()))
        if effect.fixed_depth is not None:
            once = float(effect.fixed_depth)
        else:
            cutting = float(effect.force_ratio) * setup.speed / (float(effect.specific_energy) * feed)
            once = cutting * setup.media.removal_factor * force / width
        if once <= 0:
            return None
        return StripRun(max(1, math.ceil(height / once - 1e-9)), feed, force, 0.0, ())

    def _least_force(self) -> float:
        """What the compliant tool holds at least (N)."""
        held = self.desk.job.cell.compliance
        return held.force_n[0] if held and held.force_n else 0.0

    def edges(self) -> float:
        """How far the edges run (m): all round a face, once along where the edge itself is the face."""
        along = self.length()
        if self.desk.feature.shape == "edge":
            return along
        return 2.0 * (along + self.desk.area_cm2 / 1e4 / along)

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
            wheel = self._wheel(candidate)
            depth = self._law(candidate, feed, wheel)
            if wheel is None:
                narrow = wide = float(depth(force / min(strip, setup.contact_width)))
                sharing = local.Sharing(1.0, local.Tail(0.0, 0.0), local.Tail(0.0, 0.0), True, ())
            else:
                sharing = local.load_sharing(
                    force,
                    strip,
                    setup.contact_width,
                    wheel.radius,
                    wheel.modulus,
                    setup.cover_thickness,
                    depth,
                )
                wide = float(depth(force / setup.contact_width))
                narrow = wide if sharing.as_area else float(depth(force / strip))
            self._shared[key] = (sharing, narrow, wide) if narrow > 0 else None
        return self._shared[key]

    def _wheel(self, candidate: Candidate) -> Pressing | None:
        """The rubber wheel as it runs; on a strip it meets a straight band, however the face curves."""
        if candidate.effect.contact is None:
            return None
        values = self.desk.expected(candidate.tool.media, candidate.grain, candidate.grade)
        return pressing(replace(candidate.setup, across=None), values)

    def _law(self, candidate: Candidate, feed: float, wheel: Pressing | None) -> Callable[[Real], Real]:
        """Depth of one pass under a force per width, with the pressure below which the grain only rubs."""
        setup, effect = candidate.setup, candidate.effect
        fixed = effect.fixed_depth
        if fixed is not None:
            return lambda line_load: fixed
        if wheel is None:
            rate = float(effect.depth_rate) / setup.line_load / feed
            return lambda line_load: rate * line_load
        cutting = float(effect.force_ratio) * setup.speed / (float(effect.specific_energy) * feed)
        factor = cutting * setup.media.removal_factor

        def depth(line_load: Real) -> Real:
            pressure = wheel.at(line_load).grain_pressure
            return factor * line_load * removal.cutting_share(pressure, effect.minimum_pressure)

        return depth

    def length(self) -> float:
        """Along the longer side of the face, where its width is known."""
        width = self.desk.feature.width_mm
        area = self.desk.area_cm2 * 100.0
        return max(area / width, width) / 1e3 if width else (area**0.5) / 1e3
