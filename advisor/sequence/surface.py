"""The state of a surface between two steps, and a step as it is planned."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from advisor.choices.model import RangeChoice
from advisor.sequence.candidate import Candidate

Kind = Literal["clear", "erase", "blend"]


@dataclass(frozen=True, slots=True)
class Surface:
    """What the next step finds. Lengths in m.

    `defect` counts the defects dealt with, `remaining` is what is left of the next one, `left` the
    height that the last clearing step handed over. `grain` is the size of the last coated grain, None
    before any; `grade` and `media` name it for the rules. Only what decides the next step is
    here, so that two ways to one surface lead on alike.
    """

    defect: int
    remaining: float
    ra: float
    rt: float
    left: float = 0.0
    grain: float | None = None
    grade: str | None = None
    media: str | None = None
    stage: str = "start"
    face_untouched: bool = True  # only strips and tracks were worked: the face still is as it came


@dataclass(frozen=True, slots=True)
class PlannedStep:
    """One step of a path with the numbers the search found for it.

    `feed` in m/s after trimming, `removal` in m over the whole step, `time` in s with the fixed
    part, `cost` what it adds to the path (`change` of it for changing the media), `need` the depth (m)
    that had to come off, `stock` what leaves the whole face (m), `dish`
    the hollow (m) cut beside a strip. `cutting` is the time (s) on the metal alone, `volume` the metal
    (m3) a part loses, `strip` the width (m) of a strip that takes the whole force (None: the face),
    and `used` the share of one belt, disc or wheel that a part uses up.
    """

    kind: Kind
    candidate: Candidate
    before: Surface
    after: Surface
    passes: int
    feed: float
    need: float
    removal: float
    time: float
    cost: float
    change: float
    received: Mapping[str, RangeChoice]
    cutting: float
    volume: float
    used: float
    strip: float | None = None
    defect: str | None = None
    local: bool = False
    stock: float = 0.0
    dish: float = 0.0
    flags: tuple[str, ...] = ()
