"""Makes planned steps: whole passes, trimmed feed, time and cost, and what the receiving step decides."""

from __future__ import annotations

import math

from advisor.choices.decide import Room
from advisor.choices.model import RangeChoice
from advisor.figures.coefficients import Values
from advisor.process import timing
from advisor.sequence.candidate import Candidate
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.surface import Kind, PlannedStep, Surface
from advisor.situations import Facts

Received = dict[str, RangeChoice]


class StepMaker:
    """What every kind of move needs to become a step of the plan."""

    def __init__(self, desk: FeatureDesk, batch: int) -> None:
        self.desk = desk
        self._batch = max(1, batch)
        self._changes: dict[str, float] = {}
        self._receiving: dict[tuple[Kind, int, str | None, str | None], Received] = {}
        rates = desk.job.cell.rates
        self._rate = rates.hour / 3600.0 if rates else None

    def least_cost(self, candidate: Candidate) -> float:
        """What a step with this candidate costs at least: the fixed time and the change of media."""
        values = self.values(candidate)
        change = self._changeover(candidate) / self._batch
        time = float(values["step_seconds"]) + change
        return time if self._rate is None else self._rate * time

    def least_end(self, candidate: Candidate) -> float:
        """What a step over the whole face costs at least: beside the fixed time, one pass at full feed."""
        setup = candidate.setup
        feed = setup.fastest_feed if candidate.effect.fixed_depth is None else setup.feed
        cutting = float(timing.area_time(self.area(), setup.step_over, max(feed, setup.feed), 1))
        return self.least_cost(candidate) + (cutting if self._rate is None else self._rate * cutting)

    def received(self, kind: Kind, candidate: Candidate, before: Surface) -> Received:
        """What is decided at the receiving step: passes, the jump, the incoming grade it can blend."""
        key = (kind, id(candidate), before.grade, before.media)
        received = self._receiving.get(key)
        if received is None:
            more: Facts = {"previous.grade": before.grade, "previous.media": before.media}
            facts = candidate.situation.grown(more)
            decider, low, high = self.desk.decider, *candidate.tool.media.passes
            received = {"passes": decider.stretch("passes", facts, Room(low, high, None, "low"))}
            if kind in ("erase", "clear"):
                received["jump"] = decider.stretch("jump", facts, Room(1.0, 10.0, None, "middle"))
            if kind == "blend":
                last = len(decider.vocabulary.on_scale["P"]) - 1
                received["accepts"] = decider.stretch("accepts", facts, Room(0, last, None, "coarse"), "P")
            self._receiving[key] = received
        return received

    def in_reach(self, received: Received, candidate: Candidate, before: Surface) -> bool:
        """Whether a finer coated grain is fine enough, and not too fine, for the scratch it finds."""
        grade = candidate.grade
        if before.grain is None or grade is None or grade.equivalent or grade.um >= before.grain:
            return True
        jump = before.grain / grade.um
        return received["jump"].low - 1e-9 <= jump <= received["jump"].high + 1e-9

    def run(self, candidate: Candidate, need: float, window: RangeChoice) -> tuple[int, float] | None:
        """Whole passes and the feed trimmed so that they take exactly the need; None where they cannot."""
        setup, effect = candidate.setup, candidate.effect
        lapped = self.lapped(candidate)
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

    def lapped(self, candidate: Candidate) -> float:
        """Overlapping strokes go over each spot more than once in a pass."""
        return 1.0 / (1.0 - candidate.setup.overlap)

    def step(
        self,
        kind: Kind,
        candidate: Candidate,
        before: Surface,
        after: Surface,
        passes: int,
        feed: float,
        need: float,
        cutting: float,
        received: Received,
        defect: str | None = None,
        local_work: bool = False,
        stock: float = 0.0,
        dish: float = 0.0,
        flags: tuple[str, ...] = (),
        ground: float | None = None,
        strip: float | None = None,
    ) -> PlannedStep:
        """The step with its time and cost.

        `cutting` is the time (s) on the metal alone, `ground` the area (m2) that loses the depth where it is
        not the whole face, `strip` the width (m) of a strip that takes the whole force.
        """
        values = self.values(candidate)
        time = float(timing.step_time(cutting, values["step_seconds"]))
        changeover = self._changeover(candidate)
        depth = float(candidate.effect.depth(feed)) * (1.0 if local_work else self.lapped(candidate))
        removal = need if local_work else passes * depth
        volume = removal * (self.area() if ground is None else ground)
        used = float(candidate.life.used(volume, cutting))
        change, worn = changeover / self._batch, changeover * used
        if self._rate is None:
            cost = time + change + worn
        else:
            change = self._rate * change
            cost = self._rate * (time + worn) + change + float(candidate.life.price) * used
        return PlannedStep(
            kind,
            candidate,
            before,
            after,
            passes,
            feed,
            need,
            removal,
            time,
            cost,
            change,
            received,
            cutting,
            volume,
            used,
            strip,
            defect,
            local_work,
            stock,
            dish,
            (*candidate.effect.flags, *flags),
        )

    def _changeover(self, candidate: Candidate) -> float:
        """The seconds (s) that a change of its media takes in this cell."""
        form = candidate.tool.media.form
        if form not in self._changes:
            self._changes[form] = self.desk.job.cell.changeover_s(form)
        return self._changes[form]

    def values(self, candidate: Candidate) -> Values:
        """The expected coefficients of a candidate."""
        return self.desk.expected(candidate.tool.media, candidate.grain, candidate.grade)

    def grain_after(self, candidate: Candidate, before: Surface) -> float | None:
        """The last coated scratch; a web or a wire wheel leaves none that a belt must be finer than."""
        coated = candidate.grade is not None and not candidate.grade.equivalent
        return candidate.grade.um if coated and candidate.grade else before.grain

    def area(self) -> float:
        """The area of the face in m2."""
        return self.desk.area_cm2 / 1e4
