"""One trial: the job it belongs to, what was set, what came in, what was measured, and how it ended."""

from __future__ import annotations

from typing import Literal

from advisor.job.model import Feature, Job
from advisor.knowledge.reference import Frozen
from advisor.sheet.remarks import step_words

Verdict = Literal["pass", "fail"]


class Used(Frozen):
    """The set-up as it really ran. What was not written down is None, which is not "as recommended".

    Force is the whole force on the work in N, speed in m/s, feed in mm/s, lengths in mm.
    `media_age_parts` counts the parts done on this media since it was fresh.
    """

    media: str
    grain: str | None = None
    grade: str | None = None
    build: str | None = None
    coat: str | None = None
    top_coat: str | None = None
    backing: str | None = None
    hardness_shore_a: float | None = None
    wheel_cover: str | None = None
    wheel_face: str | None = None
    wheel_diameter_mm: float | None = None
    wheel_width_mm: float | None = None
    wheel_edge_mm: float | None = None
    lubricant: str | None = None
    direction: str | None = None
    overlap_percent: float | None = None
    force_n: float | None = None
    surface_speed_m_s: float | None = None
    feed_mm_s: float | None = None
    passes: int | None = None
    media_age_parts: int | None = None
    media_lot: str | None = None


class Incoming(Frozen):
    """The surface this part really came with, where somebody looked.

    `grade` is the last grade it was worked with, where that was not the grade of the sheet.
    """

    defect: str | None = None
    depth_mm: float | None = None
    ra_um: float | None = None
    grade: str | None = None


class Measured(Frozen):
    """What was measured after the whole step; None was not measured."""

    ra_um: float | None = None
    removal_um: float | None = None
    time_s: float | None = None
    parts_per_media: float | None = None

    @property
    def anything(self) -> bool:
        """Whether there is any reading at all."""
        return any(value is not None for value in (self.ra_um, self.removal_um, self.time_s)) or (
            self.parts_per_media is not None
        )


class RoughnessReading(Frozen):
    """How the roughness was measured: the cut-off of the filter, and the way the stylus went over the lay."""

    cutoff_mm: float | None = None
    direction: Literal["across", "along"] | None = None


class Trial(Frozen):
    """One trial of one step on one feature of a job, as it is kept in the log.

    `step` is a step of the sheet; where the step is `extra`, put in beyond those of the sheet, the one that
    it came after (0: before the first).
    `id` is empty until the log has taken the trial. `stored` is when that was (UTC, ISO 8601), None where
    the clock could not be believed. `followed` names the rules whose remedy this try carried out,
    `corrects` the trial that this one replaces. `file` is where it was read from.
    """

    id: str = ""
    job: Job
    feature: str
    step: int
    extra: bool = False
    used: Used
    incoming: Incoming = Incoming()
    measured: Measured = Measured()
    roughness: RoughnessReading = RoughnessReading()
    symptoms: tuple[str, ...] = ()
    verdict: Verdict
    by: str | None = None
    date: str | None = None
    note: str | None = None
    photos: tuple[str, ...] = ()
    followed: tuple[str, ...] = ()
    corrects: str | None = None
    stored: str | None = None
    file: str = ""

    @property
    def face(self) -> Feature:
        """The feature of the job that was worked on."""
        return self.job.feature(self.feature)

    @property
    def step_words(self) -> str:
        """Which step it was, as people say it."""
        return step_words(self.step, self.extra)

    @property
    def when(self) -> tuple[str, str, str]:
        """What trials are ordered by: the day, the moment it was stored, the id.

        A trial without a day counts by the day on which it was stored.
        """
        return (self.date or (self.stored or "")[:10], self.stored or "", self.id)

    @property
    def failed(self) -> bool:
        """Whether the verdict was fail."""
        return self.verdict == "fail"
