"""A set-up ready to be calculated: everything in SI, nothing left to decide."""

from __future__ import annotations

from dataclasses import dataclass

from advisor.knowledge.reference import Alloy, Grade, Media


@dataclass(frozen=True, slots=True)
class Face:
    """The face being worked, in SI: shape, radius (m or None), width (m), area (m2)."""

    shape: str
    radius: float | None
    width: float
    area: float


@dataclass(frozen=True, slots=True)
class Setup:
    """One way to work a face.

    `diameter`, `cover_thickness` and `contact_width` in m, `line_load` in N/m, `speed` and `feed`
    in m/s, `hardness` Shore A (None: no rubber wheel), `overlap` a share of the width.
    """

    media: Media
    grade: Grade | None
    tough: bool
    alloy: Alloy
    face: Face
    diameter: float
    cover_thickness: float
    contact_width: float
    hardness: float | None
    line_load: float
    speed: float
    feed: float
    slowest_feed: float
    fastest_feed: float
    overlap: float

    @property
    def force(self) -> float:
        """The normal force in N."""
        return self.line_load * self.contact_width

    @property
    def step_over(self) -> float:
        """How far the next pass lies beside this one, in m."""
        return self.contact_width * (1.0 - self.overlap)
