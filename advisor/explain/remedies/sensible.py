"""How far a number of a part may be moved before the part stops making sense."""

from __future__ import annotations

import math

from advisor.job.model import Feature, Job
from advisor.knowledge.base import Knowledge

#: A number that is known moves at most by this factor: farther off it is another part. Own choice.
FARTHEST = 8.0
#: A face may be curved, so that its area is more than the square of the part's longest side. Own choice.
CURVED = 2.0


def smallest(attribute: str, job: Job, feature: Feature, present: float | None) -> float:
    """The smallest value worth proposing, in the unit of the attribute; 0 where nothing bounds it."""
    least = present / FARTHEST if present else 0.0
    if attribute == "part.size_mm":  # the part is not smaller than its faces, its wall and its metal
        sides = [feature.width_mm for feature in job.features] + [job.part.wall_mm]
        areas = [math.sqrt(face.area_cm2 * 100.0 / CURVED) for face in job.features if face.area_cm2]
        return max([least, *(side for side in sides if side), *areas])
    if attribute == "part.wall_mm" and feature.edge_radius_mm:
        return max(least, feature.edge_radius_mm)
    return least


def largest(attribute: str, job: Job, feature: Feature, present: float | None, knowledge: Knowledge) -> float:
    """The largest value worth proposing, in the unit of the attribute; infinite where nothing bounds it."""
    most = present * FARTHEST if present else math.inf
    size, wall = job.part.size_mm, job.part.wall_mm
    if attribute == "part.mass_kg" and size:
        return min(most, knowledge.tables.alloys[job.alloy].density * (size / 100.0) ** 3)
    if attribute in ("feature.width_mm", "part.wall_mm") and size:
        return min(most, size)
    if attribute == "feature.area_cm2" and size:
        return min(most, CURVED * (size / 10.0) ** 2)
    if attribute == "feature.cross_radius_mm" and size and present is None:
        return 10.0 * size
    if attribute in ("feature.edge_radius_mm", "feature.max_stock_mm") and wall:
        return min(most, wall)
    return most
