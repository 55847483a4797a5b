"""How deep a defect may lie in a wall: what would grind most of it away is refused before anything is planned."""

from __future__ import annotations

from dataclasses import dataclass

from advisor.job.model import Feature, Job
from advisor.knowledge.base import Tables

#: The share of a wall that may be ground off where the job does not say how much may. Own estimate.
WALL_SHARE = 0.5
#: Stands proud, yet where the halves of a mould are out of line its height is a step in the wall itself.
_PARTLY_IN_THE_WALL = "parting-line"


@dataclass(frozen=True, slots=True)
class TooThin:
    """A wall that a defect goes too deep into; lengths in mm. `allowed` is what may be ground off."""

    defect: str
    depth: float
    wall: float
    allowed: float


def too_thin(job: Job, feature: Feature, tables: Tables) -> TooThin | None:
    """The wall that is too thin for a defect of the face, or None; None too where no wall is given."""
    wall = job.part.wall_mm
    if wall is None:
        return None
    allowed = WALL_SHARE * wall if feature.max_stock_mm is None else min(feature.max_stock_mm, wall)
    for key in feature.start.defects:
        row = tables.defects[key]
        depth = feature.start.depth_mm[0] if key == feature.start.defect else row.depth_mm[0]
        lies_in = row.kind not in ("proud", "surface", "film") or key == _PARTLY_IN_THE_WALL
        limit = wall if row.kind == "proud" else allowed
        if lies_in and depth >= limit and (feature.max_stock_mm is None or depth >= wall):
            return TooThin(row.name, depth, wall, limit)
    return None
