"""What a robot's program needs beside the settings of the steps: the order, how to touch and to leave."""

from __future__ import annotations

from pydantic import Field

from advisor.sheet.load import WearPoint
from advisor.sheet.part import Ids, Part


class Move(Part):
    """How the media come on to a face and leave it in one step (`serves`: feature/number). Lengths in mm.

    `inner` is a face that a wall or a hollow encloses. A stroke begins `lead_in_mm` before the face and ends
    `lead_out_mm` behind it, counted from the middle of the contact; where the length of the contact is not
    known, half of it is to be added (`contact_known` False). The force rises over `engage_ramp_mm` from first
    touch and falls over `retract_ramp_mm` before the media leave. `against_feed` says whether the media's
    surface runs against the feed; None is not decided. `strokes` side by side cover the face once.
    `diameters` is the rpm table of a wheel that is dressed, where the step's wear has none.
    """

    serves: str
    inner: bool
    lead_in_mm: float
    lead_out_mm: float
    contact_known: bool
    engage_ramp_mm: float
    retract_ramp_mm: float
    against_feed: bool | None = None
    strokes: int | None = None
    highest_rpm: int
    diameters: tuple[WearPoint, ...] = ()


class Robot(Part):
    """The moves in the order of the program, and how the wheel is touched off on a fixed point.

    None on a sheet for a cell in which a person works. `reasons` has a key for each kind of value.
    """

    moves: tuple[Move, ...] = ()
    touch_off_force_n: float
    touch_off_speed_mm_s: float
    reasons: dict[str, Ids] = Field(default_factory=dict)
