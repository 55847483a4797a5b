"""What a step does to part and media beside cutting: heat, wear, and what bounds the force."""

from __future__ import annotations

from typing import Literal

from advisor.sheet.part import Band, Part

ForceBound = Literal["rules", "media", "compliance", "power", "alloy", "face"]
WheelEnd = Literal["spindle", "marked speed", "smallest diameter"]


class Heat(Part):
    """Temperature rise of the skin against the rise the alloy stands, in kelvin.

    `rise_k` is `passing_k` (under the moving contact; None without a contact wheel) and `bulk_k` (the
    part as a whole by the end of the step; None where neither mass nor wall is given) together, and
    `rise` its band. `margin` is how many times the rise fits below the limit and `wanted_margin` how many
    times it should; `warning` is None where that is kept. `goes` is in how many goes the step is best
    worked, the part cooling between, so that the rise stays below half the limit; 1 where it does so at
    once. `proud_k` is how warm the top of a bead or stub gets, which goes with the cut and is held against
    no limit. The figures rank, they do not promise.
    """

    rise_k: float
    limit_k: float | None = None
    rise: Band | None = None
    passing_k: float | None = None
    bulk_k: float | None = None
    margin: float | None = None
    wanted_margin: float | None = None
    warning: str | None = None
    goes: int = 1
    proud_k: float | None = None


class ForceLimit(Part):
    """The highest force that one thing allows. `binds` is True for the lowest of them.

    `by` is what allows it: the `rules` for this set-up, the `media`, the `compliance` of the tool, the
    `power` of the station, the heat that the `alloy` stands, or the `face` beside a strip.
    """

    by: ForceBound
    allowed_n: float
    binds: bool = False
    text: str


class WearPoint(Part):
    """Settings for a wheel that has worn to a diameter.

    `index_mm` is how far in all the tool or part has been moved in since the wheel was new, so that it
    touches as it did: half of what the diameter has lost. `force_n` is trimmed because a worn wheel
    is smaller and stiffer. `surface_speed_m_s` is what the rim reaches; `parts` are done by then.
    """

    diameter_mm: float
    rpm: int
    index_mm: float | None = None
    force_n: float | None = None
    surface_speed_m_s: float | None = None
    parts: float | None = None


class Wear(Part):
    """How long the media lasts and how to follow it down.

    `parts_per_media` is the expected figure and `parts` its band: whole parts, or the share of a part
    where one belt, disc or wheel does not last one. `volume_cm3` is the metal that one cuts until it is
    changed, `cut_left` the share of its first cut rate left then (None where it does not dull).

    For a wheel that shrinks: `wheel_wear_um` is what its radius loses on a part; after
    `touch_off_parts` it must be moved in by `touch_off_mm`, so that the compliant tool keeps its stroke;
    it comes off at `change_out_mm`, which `change_out_by` sets, as `change_out` says in words. At another
    diameter D the force is `force_n` times sqrt(D / D0 / ((D0 - core) / (D - core))^`stiffening`), with
    `core_mm` and the diameter D0 of the new wheel. `highest_rpm` is never to be passed.
    """

    parts_per_media: float | None = None
    schedule: tuple[WearPoint, ...] = ()
    change_out: str | None = None
    parts: Band | None = None
    volume_cm3: float | None = None
    cut_left: float | None = None
    wheel_wear_um: float | None = None
    touch_off_parts: float | None = None
    touch_off_mm: float | None = None
    change_out_mm: float | None = None
    change_out_by: WheelEnd | None = None
    core_mm: float | None = None
    stiffening: float | None = None
    highest_rpm: int | None = None
