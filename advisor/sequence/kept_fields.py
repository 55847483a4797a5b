"""A search that takes the candidates of a stage from earlier searches that saw the same there."""

from __future__ import annotations

from collections.abc import Hashable

from advisor.job.model import Feature, Job
from advisor.sequence.candidates import StageField
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.paths import PathFinder
from advisor.situations import Facts

#: What only rules look at before a chain is built: left out where they cannot tell it apart.
_START_AS_RULES_SEE_IT = {"depth_mm": (0.0, 0.0), "roughness_um": 0.0}
_FINISH_AS_RULES_SEE_IT = {"ra_low_um": 0.0, "ra_high_um": 0.0}

Kept = dict[Hashable, StageField]


class KeepingFinder(PathFinder):
    """The graph of one feature, with candidates shared between jobs that are alike at a stage."""

    def __init__(self, desk: FeatureDesk, kept: Kept) -> None:
        super().__init__(desk, desk.job.batch)
        self._kept = kept

    def found(self, desk: FeatureDesk, situation: Facts, concerns: int) -> StageField:
        """The candidates of a stage, worked out here or before."""
        key = (tellable(desk, situation), concerns)
        if key not in self._kept:
            self._kept[key] = super().found(desk, situation, concerns)
        return self._kept[key]


def circumstances(job: Job, feature: Feature) -> str:
    """All of a job that the plan of one of its faces may look at."""
    alone = job.model_copy(update={"features": (feature,), "start": None, "finish": None, "assumed": ()})
    return alone.model_dump_json()


def tellable(desk: FeatureDesk, situation: Facts) -> tuple[object, ...]:
    """What two situations must have in common to have the same candidates.

    All of the job but the sizes that only rules look at; of those, which of their tests hold.
    """
    feature = desk.feature.model_copy(
        update={
            "name": "",
            "max_stock_mm": None,
            "start": desk.feature.start.model_copy(update=_START_AS_RULES_SEE_IT),
            "finish": desk.feature.finish.model_copy(update=_FINISH_AS_RULES_SEE_IT),
        }
    )
    engine = desk.decider.engine
    signatures = tuple(engine.mask(place, situation) for place in desk.decider.vocabulary.order)
    return circumstances(desk.job, feature), desk.handling, desk.on_edge, situation["stage"], signatures
