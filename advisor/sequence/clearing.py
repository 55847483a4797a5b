"""Clears a defect: on its edge, as a strip where it stands proud, as a track where it is local, else all over."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from advisor.figures.effect import effect, whole_valley
from advisor.figures.media_life import media_life
from advisor.knowledge.reference import Defect
from advisor.process import roughness, timing
from advisor.sequence.candidate import Candidate
from advisor.sequence.step_maker import StepMaker
from advisor.sequence.strips import FORCE_SHARES, Strips
from advisor.sequence.surface import PlannedStep, Surface

#: Heights at which a strip may be handed over to the next step, in m, beside the step's own roughness.
HAND_OVERS = (0.1e-3, 0.25e-3)


@dataclass(frozen=True, slots=True)
class DefectAtHand:
    """A defect of the face with the depth that is planned for (m) and the width of its strip (m)."""

    row: Defect
    depth: float
    strip: float


class Clearing:
    """Makes the clearing steps of one feature."""

    def __init__(self, maker: StepMaker, most_dish: float) -> None:
        self._maker = maker
        self._strips = Strips(maker.desk)
        self._most_dish = most_dish
        self._with_less_force: dict[tuple[int, float], Candidate] = {}

    def clear(
        self, candidate: Candidate, before: Surface, defect: DefectAtHand, floor: float
    ) -> Iterator[PlannedStep]:
        """Steps that take a defect away, or down to the edge of the band of depth (`floor`, m).

        A burr is drawn off its edge. What stands proud of the face is levelled as a strip. Any other
        local defect (a tint, a scratch, a pit) is worked as a track as wide as the contact, over the whole
        depth.
        """
        if defect.row.on_edge:
            yield from self._clear_edge(candidate, before, defect, floor)
            return
        if not self._maker.in_reach(self._maker.received("clear", candidate, before), candidate, before):
            return
        if defect.row.local and defect.row.kind == "proud":
            yield from self._clear_strip(candidate, before, defect, floor)
        else:
            yield from self._clear_area(candidate, before, defect, floor)

    def _clear_area(
        self, candidate: Candidate, before: Surface, defect: DefectAtHand, floor: float
    ) -> Iterator[PlannedStep]:
        values = self._maker.values(candidate)
        ra = before.ra if candidate.effect.floor_ra is None else float(candidate.effect.floor_ra)
        rt = float(whole_valley(ra, values))
        grain = self._maker.grain_after(candidate, before)
        least = self._stock_to_follow(candidate, before, rt)
        if floor > 0:
            yield from self._area_step(
                candidate,
                before,
                max(before.remaining - floor, least),
                ra,
                rt,
                grain,
                defect,
                remaining=floor,
                left=0.0,
            )
            return
        handed = float(roughness.left_after_clearing(rt, values["erase_multiple"]))
        for left in dict.fromkeys((min(handed, before.remaining), 0.0)):
            need = max(before.remaining - left, least)
            yield from self._area_step(
                candidate, before, need, ra, rt, grain, defect, remaining=0.0, left=left
            )

    def _stock_to_follow(self, candidate: Candidate, before: Surface, rt: float) -> float:
        """What a clearing step must take at least: its own texture, and the scratch of the step before."""
        if candidate.effect.floor_ra is None:
            return 0.0
        values = self._maker.values(candidate)
        if before.stage == "start":
            return float(values["own_share"]) * rt
        return float(
            roughness.stock_to_erase(before.rt, rt, values["erase_multiple"], 0.0, values["own_share"])
        )

    def _area_step(
        self,
        candidate: Candidate,
        before: Surface,
        need: float,
        ra: float,
        rt: float,
        grain: float | None,
        defect: DefectAtHand,
        remaining: float,
        left: float,
    ) -> Iterator[PlannedStep]:
        received = self._maker.received("clear", candidate, before)
        run = self._maker.run(candidate, need, received["passes"])
        if run is None:
            return
        passes, feed = run
        time = float(
            timing.strip_time(self._strips.length(), feed, passes)
            if defect.row.local
            else timing.area_time(self._maker.area(), candidate.setup.step_over, feed, passes)
        )
        if defect.row.local:  # the face beside the track keeps its own roughness
            ra, rt = max(ra, before.ra), max(rt, before.rt)
        left = max(left, before.left - need)  # what an earlier step left standing goes only as metal goes
        after = Surface(
            before.defect + (remaining == 0.0),
            remaining,
            ra,
            rt,
            left,
            grain,
            candidate.grade.key if candidate.grade else before.grade,
            candidate.tool.media.key,
            candidate.stage,
            before.face_untouched and defect.row.local,
        )
        track = candidate.setup.contact_width * self._strips.length() if defect.row.local else None
        yield self._maker.step(
            "clear",
            candidate,
            before,
            after,
            passes,
            feed,
            need,
            time,
            received,
            defect.row.key,
            stock=need,
            ground=track,
        )

    def _clear_edge(
        self, candidate: Candidate, before: Surface, defect: DefectAtHand, floor: float
    ) -> Iterator[PlannedStep]:
        """A burr carries the whole of a light force along the edges; the face behind stays as it was."""
        if candidate.effect.floor_ra is None or defect.strip <= 0:
            return
        received = self._maker.received("clear", candidate, before)
        found = self._strips.along_edge(candidate, before.remaining - floor, defect.strip)
        if found is None or found.passes > received["passes"].high:
            return
        after = replace(before, defect=before.defect + (floor == 0.0), remaining=floor, stage=candidate.stage)
        length = self._strips.edges()
        yield self._maker.step(
            "clear",
            self._eased(candidate, found.force),
            before,
            after,
            found.passes,
            found.feed,
            before.remaining - floor,
            float(timing.strip_time(length, found.feed, found.passes)),
            received,
            defect.row.key,
            local_work=True,
            ground=defect.strip * length,
            strip=defect.strip,
        )

    def _clear_strip(
        self, candidate: Candidate, before: Surface, defect: DefectAtHand, floor: float
    ) -> Iterator[PlannedStep]:
        """A narrow strip takes the force until the wheel reaches the face beside it."""
        values = self._maker.values(candidate)
        setup = candidate.setup
        if candidate.effect.floor_ra is None or defect.strip <= 0:
            return
        ra = float(candidate.effect.floor_ra)
        rt = float(whole_valley(ra, values))
        received = self._maker.received("clear", candidate, before)
        own = max(float(values["own_share"]) * rt, 5e-6)
        ends = (floor,) if floor > 0 else (own, *HAND_OVERS)
        least = self._stock_to_follow(candidate, before, rt)
        for end in ends:
            if before.remaining - end < least:
                continue
            for share in FORCE_SHARES:
                found = self._strips.run(candidate, before.remaining, end, defect.strip, share)
                if found is None or found.passes > received["passes"].high or found.dish > self._most_dish:
                    continue
                done = floor == 0.0
                after = Surface(
                    before.defect + done,
                    0.0 if done else end,
                    max(ra, before.ra) if done else ra,
                    max(rt, before.rt) if done else rt,
                    end if done else 0.0,
                    self._maker.grain_after(candidate, before),
                    candidate.grade.key if candidate.grade else before.grade,
                    candidate.tool.media.key,
                    candidate.stage,
                    before.face_untouched,
                )
                time = float(timing.strip_time(self._strips.length(), found.feed, found.passes))
                strip = min(defect.strip, setup.contact_width)
                yield self._maker.step(
                    "clear",
                    self._eased(candidate, found.force),
                    before,
                    after,
                    found.passes,
                    found.feed,
                    before.remaining - end,
                    time,
                    received,
                    defect.row.key,
                    local_work=setup.contact_width > defect.strip,
                    dish=found.dish,
                    flags=found.flags,
                    ground=strip * self._strips.length(),
                    strip=strip,
                )
                break  # the strongest force that keeps the face sound is the quickest

    def _eased(self, candidate: Candidate, force: float) -> Candidate:
        """The candidate with a force (N) that spares the face beside the strip; the same one each time."""
        setup = candidate.setup
        if force == setup.force:
            return candidate
        key = (id(candidate), force)
        if key not in self._with_less_force:
            lighter = replace(setup, line_load=force / setup.contact_width)
            values, economy = self._maker.values(candidate), self._maker.desk.economy(candidate.tool.media)
            weaker = effect(lighter, values)
            life = media_life(lighter, weaker, values, economy)
            self._with_less_force[key] = replace(candidate, setup=lighter, effect=weaker, life=life)
        return self._with_less_force[key]
