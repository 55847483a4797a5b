"""What is answered about a wheel: its settings, or why it may not run like this."""

from __future__ import annotations

from advisor.sheet.part import Part


class Refusal(Part):
    """One limit that the wheel does not keep, and what would help."""

    limit: str
    value: float
    allowed: float
    unit: str
    text: str
    helps: str


class WheelToday(Part):
    """Settings for a wheel of `diameter_mm`; `rpm` is None where it is refused.

    `index_mm` is how far in all the wheel has been moved in since it was new. `touch_off_parts` and
    `parts_left` count from today. What is not known is None. `doubts` are reasons to look twice.
    """

    diameter_mm: float
    surface_speed_m_s: float
    rpm: int | None = None
    force_n: float | None = None
    force_trim: float | None = None
    index_mm: float | None = None
    touch_off_parts: float | None = None
    touch_off_mm: float | None = None
    parts_left: float | None = None
    change_out_mm: float | None = None
    highest_rpm: float | None = None
    step: str | None = None
    refused: tuple[Refusal, ...] = ()
    doubts: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
