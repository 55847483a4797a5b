"""What stands at each stage of one feature: its defects, the candidates, and those that can end a chain."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from advisor.figures.effect import whole_valley
from advisor.knowledge.reference import Defect
from advisor.sequence.candidate import Candidate
from advisor.sequence.candidates import StageField, stage_field
from advisor.sequence.clearing import DefectAtHand
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.surface import Surface
from advisor.situations import Facts, defect_facts


@dataclass(frozen=True, slots=True)
class Scope:
    """How wide the search looks: how many concerns count, the Ra window in m, and what is banned."""

    concerns: int
    target: tuple[float, float]
    banned: frozenset[tuple[str, tuple[str, str | None, str | None]]] = frozenset()


class Stages:
    """The candidates of each stage of one feature, found on demand."""

    def __init__(self, desk: FeatureDesk) -> None:
        self.desk = desk
        self.defects = tuple(self._defects())
        self.fields: dict[tuple[str, int, int, int], StageField] = {}
        self._limits = desk.knowledge.depth_limits
        self._edges: FeatureDesk | None = None
        self._looked_at: dict[tuple[str, int, int], float] = {}
        self._ends: dict[tuple[int, tuple[float, float]], tuple[Candidate, ...]] = {}

    def _defects(self) -> Iterator[DefectAtHand]:
        """The defects that must be cleared, the main one first; a sound surface is none."""
        start = self.desk.feature.start
        for key in start.defects:
            row: Defect = self.desk.knowledge.tables.defects[key]
            depth = start.depth_mm[0] if key == start.defect else row.depth_mm[0]
            if row.kind != "surface" and depth > 0:
                yield DefectAtHand(row, depth / 1e3, (row.strip_mm or 0.0) / 1e3)

    def start(self) -> Surface:
        """The surface as it arrives."""
        ra = self.desk.feature.start.roughness_um * 1e-6
        any_tool = next(iter(self.desk.tools.values()))
        rt = float(whole_valley(ra, self.desk.expected(any_tool[0].media, None, None)))
        return Surface(0, self.defects[0].depth if self.defects else 0.0, ra, rt)

    def field(self, stage: str, concerns: int, defect: int = -1, remaining: float = 0.0) -> StageField:
        """The candidates of a stage; for clearing, in the band that a remaining depth lies in."""
        band = sum(1 for limit in self._limits if remaining * 1e3 > limit) if stage == "clear" else -1
        key = (stage, defect, band, concerns)
        if key not in self.fields:
            self._looked_at[stage, defect, band] = remaining
            desk = self.desk_for(stage, defect)
            self.fields[key] = self.found(desk, self._situation(stage, defect, remaining), concerns)
        return self.fields[key]

    def found(self, desk: FeatureDesk, situation: Facts, concerns: int) -> StageField:
        """The candidates in a situation; a finder with a memory looks there first."""
        return stage_field(desk, situation, concerns)

    def desk_for(self, stage: str, defect: int) -> FeatureDesk:
        """Where a stage is worked: on the face, or on its edges where a burr is to go."""
        if stage != "clear" or not self.defects[defect].row.on_edge:
            return self.desk
        if self._edges is None:
            self._edges = self.desk.for_edges()
        return self._edges

    def as_before(self, concerns: int) -> bool:
        """Whether counting so many concerns leaves the candidates as they are with one more of them.

        Asked of all stages that the searches so far have looked into; then they would find the same.
        """
        return bool(self._looked_at) and all(
            _names(self.field(stage, concerns, defect, remaining).candidates)
            == _names(self.field(stage, concerns + 1, defect, remaining).candidates)
            for (stage, defect, _), remaining in list(self._looked_at.items())
        )

    def ends(self, scope: Scope) -> tuple[Candidate, ...]:
        """The finishing candidates that can leave a roughness inside the target; no chain ends on another.

        A cutting grade leaves its own floor. A blend moves from what it finds toward its floor, so it
        leaves more than the target allows where both are above it.
        """
        key = (scope.concerns, scope.target)
        if key not in self._ends:
            self._ends[key] = tuple(
                candidate
                for candidate in self.field("finish", scope.concerns).candidates
                if candidate.effect.floor_ra is not None
                and self._may_end(candidate.tool.media.blends, float(candidate.effect.floor_ra), scope)
            )
        return self._ends[key]

    def _may_end(self, blends: bool, floor: float, scope: Scope) -> bool:
        if not blends:
            return inside(floor, scope.target)
        high = scope.target[1] * (1 + 1e-9)
        return floor <= high or self._smoothest(scope.concerns) <= high

    def _smoothest(self, concerns: int) -> float:
        """The least roughness (m) that any step before the finish can leave."""
        fields = [self.field(stage, concerns) for stage in ("refine", "prepare")]
        fields += [
            self.field("clear", concerns, row, depth)
            for row, defect in enumerate(self.defects)
            for depth in (
                defect.depth,
                *(limit / 1e3 for limit in self._limits if limit / 1e3 < defect.depth),
            )
        ]
        floors = (item.effect.floor_ra for field in fields for item in field.candidates)
        return min([self.start().ra, *(float(floor) for floor in floors if floor is not None)])

    def _situation(self, stage: str, defect: int, remaining: float) -> Facts:
        facts: Facts = {**self.desk_for(stage, defect).facts, "stage": stage}
        if stage == "clear":
            at_hand = self.defects[defect]
            facts.update(defect_facts(at_hand.row.key, at_hand.depth * 1e3, self.desk.knowledge))
            facts["remaining_mm"] = remaining * 1e3
        concluded = self.desk.decider.engine.conclude(facts)
        return dict(concluded.situation)


def inside(ra: float, target: tuple[float, float]) -> bool:
    """Whether a roughness (m) lies in a window (m), its ends included."""
    return target[0] * (1 - 1e-9) <= ra <= target[1] * (1 + 1e-9)


def _names(candidates: Iterable[Candidate]) -> frozenset[tuple[object, ...]]:
    return frozenset((*candidate.key, candidate.tool.station.name) for candidate in candidates)
