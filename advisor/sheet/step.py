"""One step of a process sheet, with everything a person sets a machine from."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from advisor.sheet.load import ForceLimit, Heat, Wear
from advisor.sheet.part import Band, Ids, Part, Window

Stage = Literal["clear", "refine", "prepare", "finish"]
Scale = Literal["P", "web", "compound"]
LostOn = Literal["safety", "specification", "corrosion", "form", "look", "economy", "cost", "tie", "limit"]
Value = bool | int | float | str | None


class Wheel(Part):
    """The wheel, disc or buff behind or carrying the abrasive; what does not apply is None."""

    hardness_shore_a: float | None = None
    cover: str | None = None
    face: str | None = None
    diameter_mm: float | None = None
    width_mm: float | None = None
    edge_radius_mm: float | None = None


class Windows(Part):
    """Between what a setting may be moved without leaving the recommendation."""

    force_n: Window | None = None
    surface_speed_m_s: Window | None = None
    feed_mm_s: Window | None = None
    rpm: tuple[int, int] | None = None


class Contact(Part):
    """The contact of wheel and work as they run: half of its length with the travel, and the pressure in it.

    `land_pressure_kpa` is that on the lands of a serrated wheel, which the grain feels; `across_mm` how much
    of the wheel's width touches where face or wheel curve that way. None where that does not apply.
    """

    half_width_mm: float
    mean_pressure_kpa: float
    land_pressure_kpa: float | None = None
    across_mm: float | None = None


class Flag(Part):
    """A formula used outside the range it was made for."""

    formula: str
    text: str


class Limit(Part):
    """A value held against what is allowed; `met` False means that it is broken."""

    limit: str
    value: Value = None
    allowed: Value | tuple[Value, ...] = None
    unit: str | None = None
    source: str | None = None
    met: bool = True
    text: str | None = None


class StepRival(Part):
    """An option that lost a decision of this step, and on what."""

    decision: str
    option: str
    lost_on: LostOn
    text: str | None = None
    reasons: Ids = ()


class Step(Part):
    """One step that a person can set a machine from. Lengths mm or um, force N, speed m/s, feed mm/s.

    `number` counts within the feature. `passes` is how often each spot is gone over. `removal_um`
    is the total of the step, `ra_um` and `rz_um` are after it and across the lay, `time_s` is per part,
    `remaining_um` what the step leaves of the defect. `force_limits` are what bounds the force, the
    tightest marked. `reasons` has a key for every value that is not None.
    """

    number: int = Field(ge=1)
    stage: Stage
    station: str | None = None
    media: str
    pressure: str | None = None
    grain: str | None = None
    grade: str | None = None
    grade_scale: Scale | None = None
    grain_um: float | None = None
    build: str | None = None
    coat: str | None = None
    top_coat: str | None = None
    backing: str | None = None
    wheel: Wheel | None = None
    lubricant: str | None = None
    direction: str | None = None
    step_over_mm: float | None = None
    windows: Windows = Windows()
    surface_speed_m_s: float | None = None
    marked_speed_m_s: float | None = None
    rpm: int | None = None
    force_n: float | None = None
    feed_mm_s: float | None = None
    passes: int | None = None
    removal_um: Band | None = None
    remaining_um: Band | None = None
    ra_um: Band | None = None
    rz_um: Band | None = None
    time_s: Band | None = None
    power_w: float | None = None
    contact: Contact | None = None
    heat: Heat | None = None
    wear: Wear | None = None
    force_limits: tuple[ForceLimit, ...] | None = None
    limits: tuple[Limit, ...] = ()
    flags: tuple[Flag, ...] = ()
    go_on_when: tuple[str, ...] = ()
    if_not: tuple[str, ...] = ()
    rivals: tuple[StepRival, ...] = ()
    reasons: dict[str, Ids] = Field(default_factory=dict)


_NOT_EXPLAINED = {"number", "grade_scale", "limits", "flags", "go_on_when", "if_not", "rivals", "reasons"}


def unexplained(step: Step) -> tuple[str, ...]:
    """The fields of a step that hold a value but have no reason; empty on a complete step.

    >>> unexplained(Step(number=1, stage="clear", media="belt", reasons={"media": ("r1",), "stage": ("r2",)}))
    ()
    >>> unexplained(Step(number=1, stage="clear", media="belt", passes=4))
    ('stage', 'media', 'passes')
    """

    def speaks(name: str) -> bool:
        value = getattr(step, name)
        if isinstance(value, Windows):
            return value != Windows()
        return value is not None

    return tuple(
        name
        for name in Step.model_fields
        if name not in _NOT_EXPLAINED and speaks(name) and not step.reasons.get(name)
    )
