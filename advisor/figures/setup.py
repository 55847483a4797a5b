"""A set-up ready to be calculated: everything in SI, nothing left to decide."""

from __future__ import annotations

from dataclasses import dataclass

from advisor.knowledge.reference import Alloy, Grade, Media


@dataclass(frozen=True, slots=True)
class Face:
    """The face being worked, in SI: shape, radius (m or None), width (m), area (m2).

    Behind it stand the `wall` (m) and the `mass` of the whole part (kg), None where nobody gave them.
    """

    shape: str
    radius: float | None
    width: float
    area: float
    wall: float | None = None
    mass: float | None = None


@dataclass(frozen=True, slots=True)
class Lands:
    """The lands of a serrated wheel: their share of the face, their width and the depth between them (m)."""

    share: float
    width: float
    depth: float


@dataclass(frozen=True, slots=True)
class Setup:
    """One way to work a face.

    `diameter`, `cover_thickness` and `contact_width` in m, `line_load` in N/m, `speed` and `feed`
    in m/s, `hardness` Shore A (None: no rubber wheel), `overlap` a share of the width. `media_width` is
    the whole width of belt, wheel or disc (m); `slowest_speed` the lowest rim speed that still does the
    work (m/s), `spindle_rpm` the spindle's highest and `marked_rpm` the media's (None: not marked),
    `station_least` the smallest diameter that the station takes (m, None: not said). `on_edge`: only a
    burr on the edge of the face is touched. `across` is the relative
    radius in the plane of the axle (m) where face or wheel curve that way so much that the wheel touches on a
    spot, `contact_width` then that of the spot; None for a contact over the whole width. `lands` are those of a
    serrated wheel, `tension` is the belt's at rest for its width (N/m, None: the cell does not say).
    `eased_for_heat`: force or speed stand lower than they else would, so that the alloy keeps its limit.
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
    media_width: float
    slowest_speed: float
    spindle_rpm: float
    marked_rpm: float | None
    station_least: float | None
    on_edge: bool = False
    across: float | None = None
    lands: Lands | None = None
    tension: float | None = None
    eased_for_heat: bool = False

    @property
    def highest_rpm(self) -> float:
        """What neither spindle nor marking lets the wheel pass, however small it has worn."""
        return self.spindle_rpm if self.marked_rpm is None else min(self.spindle_rpm, self.marked_rpm)

    @property
    def force(self) -> float:
        """The normal force in N."""
        return self.line_load * self.contact_width

    @property
    def step_over(self) -> float:
        """How far the next pass lies beside this one, in m."""
        return self.contact_width * (1.0 - self.overlap)
