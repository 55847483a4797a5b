"""A search that takes the candidates of a stage from earlier searches that saw the same there."""

from __future__ import annotations

from collections.abc import Hashable

from advisor.sequence.candidates import StageField
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.paths import PathFinder

Kept = dict[Hashable, StageField]


class KeepingFinder(PathFinder):
    """The graph of one feature, with candidates shared between jobs that are alike at a stage."""

    def __init__(self, desk: FeatureDesk, kept: Kept) -> None:
        super().__init__(desk, desk.job.batch)
        self._kept = kept

    def field(self, stage: str, concerns: int, defect: int = -1, remaining: float = 0.0) -> StageField:
        """The candidates of a stage, worked out here or before."""
        band = sum(1 for limit in self._limits if remaining * 1e3 > limit) if stage == "clear" else -1
        own = (stage, defect, band, concerns)
        found = self.fields.get(own)
        if found is None:
            key = self._key(stage, concerns, defect, remaining)
            found = self._kept.get(key)
            if found is None:
                found = self._kept[key] = super().field(stage, concerns, defect, remaining)
            self.fields[own] = found
        return found

    def _key(self, stage: str, concerns: int, defect: int, remaining: float) -> Hashable:
        """All that the candidates of a stage depend on: cell, face, part, and what the rules can tell apart."""
        desk = self.desk_for(stage, defect)
        feature, part, engine = desk.feature, desk.job.part, desk.decider.engine
        situation = self._situation(stage, defect, remaining)
        return (
            stage, concerns, desk.on_edge, desk.handling, desk.job.alloy, desk.job.cell, part.wall_mm, part.mass_kg,
            feature.shape, feature.radius_mm, feature.width_mm, feature.access_mm, feature.area_cm2,
            feature.finish.lay, *(engine.signature(place, situation) for place in desk.decider.vocabulary.order[1:]),
        )  # fmt: skip
