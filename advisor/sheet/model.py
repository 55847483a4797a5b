"""The process sheet as data: the one result that every view, comparison and replay reads."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal, Self

from pydantic import Field, JsonValue, model_validator

from advisor.figures.learned import Learned
from advisor.reasons import Reason
from advisor.sheet.learned_value import LearnedValue
from advisor.sheet.load import ForceLimit, Heat, Wear, WearPoint
from advisor.sheet.part import Band, Ids, Part, Window
from advisor.sheet.reading import references, renumbered
from advisor.sheet.remarks import Assumed, Conflict, Dropped, Hold, Note, Past, Source, TrialLog
from advisor.sheet.robot import Move, Robot
from advisor.sheet.step import (
    Contact,
    Flag,
    Limit,
    LostOn,
    Scale,
    Stage,
    Step,
    StepRival,
    Value,
    Wheel,
    Windows,
    unexplained,
)
from advisor.sheet.totals import Driver, MediaUse, TotalLine, Totals

__all__ = [
    "SHEET_VERSION",
    "Asked",
    "Assumed",
    "Band",
    "Blocked",
    "Conflict",
    "Contact",
    "Driver",
    "Dropped",
    "Feature",
    "FirstTry",
    "Flag",
    "ForceLimit",
    "Handling",
    "Heat",
    "Hold",
    "Ids",
    "Knowledge",
    "LearnedValue",
    "Limit",
    "LostOn",
    "MediaUse",
    "Move",
    "Note",
    "Operation",
    "Part",
    "Past",
    "PathRival",
    "Pause",
    "Program",
    "Robot",
    "Scale",
    "Sheet",
    "Source",
    "Stage",
    "Start",
    "Step",
    "StepRival",
    "Target",
    "TotalLine",
    "Totals",
    "TrialLog",
    "Value",
    "Wear",
    "WearPoint",
    "Wheel",
    "Window",
    "Windows",
    "in_reading_order",
    "sheet_references",
    "unexplained",
]

SHEET_VERSION = 1


class Program(Part):
    """What made the sheet."""

    version: str


class Knowledge(Part):
    """The knowledge base it was made from."""

    fingerprint: str
    rules: int


class Asked(Part):
    """One line of the head of the sheet: what the job says, in words."""

    label: str
    text: str


class Handling(Part):
    """Whether the part goes to the tool or the tool to the part."""

    value: str
    reasons: Ids = ()


class Start(Part):
    """The surface a feature begins with. `depth_mm` is typical and worst."""

    defects: tuple[str, ...] = ()
    depth_mm: Window | None = None
    ra_um: float | None = None


class Target(Part):
    """The surface a feature is to have. `ra_um` is the band accepted, across the lay."""

    finish: str | None = None
    designation: str | None = None
    texture: str | None = None
    lay: str | None = None
    ra_um: Window | None = None
    sample: bool = False


class Blocked(Part):
    """One thing that stands in the way of a plan: a limit, or a rule, and what would open it."""

    text: str
    limit: str | None = None
    value: Value = None
    allowed: Value | tuple[Value, ...] = None
    unit: str | None = None
    rule: str | None = None
    source: str | None = None
    opens: str | None = None
    reasons: Ids = ()


class Feature(Part):
    """One face of the part with its steps; no steps and a `blocked` list where the answer is no.

    `ra_probability` is how likely the last step ends inside the asked Ra band, over the spread of all
    coefficients; `cost` the face's time at the machine and the media it uses up, None without rates.
    """

    name: str
    shape: str
    radius_mm: float | None = None
    width_mm: float | None = None
    area_cm2: float | None = None
    start: Start | None = None
    target: Target | None = None
    steps: tuple[Step, ...] = ()
    time_s: Band | None = None
    cost: Band | None = None
    ra_probability: float | None = None
    blocked: tuple[Blocked, ...] = ()


class Pause(Part):
    """A part grows too warm as a whole over the faces of one hold: `seconds` in the air `before` a step.

    `rise_k` is what the faces before have warmed it by.
    """

    before: str
    seconds: float
    rise_k: float
    text: str
    reasons: Ids = ()


class Operation(Part):
    """One set-up of the batch and the steps it serves (`feature/number`).

    `parts_per_media` is how many parts one belt, disc or wheel does with all the steps it serves. `pauses` are
    needed where the part is worked on all these faces in one hold; they are not in the times, as another
    part is worked meanwhile.
    """

    number: int | None = None
    station: str | None = None
    media: str
    grain: str | None = None
    grade: str | None = None
    set_up: str | None = None
    serves: tuple[str, ...] = ()
    changeover_s: float | None = None
    parts_per_media: float | None = None
    pauses: tuple[Pause, ...] = ()


class PathRival(Part):
    """Another chain of steps that would do, and what it costs more.

    `time_band_s` and `cost_band` carry the spread of the coefficients, drawn as for the plan itself.
    """

    feature: str
    grades: tuple[str, ...] = ()
    media: tuple[str, ...] = ()
    time_s: float | None = None
    cost: float | None = None
    time_band_s: Band | None = None
    cost_band: Band | None = None
    lost_on: LostOn | None = None
    equal: bool = False
    why: str = ""


class FirstTry(Part):
    """The first trial on scrap, lightest credible step first. `feature` is the face it is made on."""

    start_with: str
    feature: str | None = None
    if_too_weak: str | None = None
    if_too_strong: str | None = None
    parts_needed: str | None = None


class Sheet(Part):
    """The answer to one job.

    `job_fingerprint` is the SHA-256 of the job in its canonical form, which the draws behind every band
    start from: an edited job is noticed even where it changes nothing else. So it is with
    `learned_fingerprint`, the SHA-256 of `learned_from`; `trial_log` tells which log was used.
    `made_with` names the keys that are there because they were asked for: `holds`, `trial_log`.
    `names` gives the plain name of a key, `ansi` the nearest grade of the ANSI coated scale for
    each P grade; views use both. `reasons` is keyed r1, r2 ... in order of first reference.
    `waiting` names the rules that an unknown attribute of `measure_next` keeps silent, `weighed` every
    rule that had a say in the search and is named nowhere else: a rule that the sheet does not name has
    no part in it. `symptoms` are the keys of the signs of trouble that can show in some step, those looked
    for first before the others.
    """

    sheet_version: Literal[1] = 1
    program: Program
    job: dict[str, JsonValue]
    job_fingerprint: str = ""
    made_with: tuple[str, ...] = ()
    knowledge: Knowledge
    asked: tuple[Asked, ...] = ()
    handling: Handling
    features: tuple[Feature, ...] = ()
    operations: tuple[Operation, ...] = ()
    robot: Robot | None = None
    rivals: tuple[PathRival, ...] = ()
    learned: tuple[LearnedValue, ...] = ()
    learned_from: Learned | None = None
    learned_fingerprint: str | None = None
    trial_log: TrialLog | None = None
    first_try: FirstTry | None = None
    totals: Totals = Totals()
    cautions: tuple[Note, ...] = ()
    precautions: tuple[Note, ...] = ()
    assumed: tuple[Assumed, ...] = ()
    measure_next: tuple[str, ...] = ()
    holds: tuple[Hold, ...] | None = None
    waiting: dict[str, tuple[str, ...]] = Field(default_factory=dict)
    conflicts: tuple[Conflict, ...] = ()
    outside: tuple[Note, ...] = ()
    after: tuple[Note, ...] = ()
    hidden_advice: tuple[Dropped, ...] = ()
    passed_over: tuple[Dropped, ...] = ()
    past: tuple[Past, ...] = ()
    struck: tuple[Dropped, ...] = ()
    weighed: tuple[str, ...] = ()
    probed: tuple[str, ...] = ()
    symptoms: tuple[str, ...] = ()
    names: dict[str, str] = Field(default_factory=dict)
    ansi: dict[str, str] = Field(default_factory=dict)
    sources: dict[str, Source] = Field(default_factory=dict)
    reasons: dict[str, Reason] = Field(default_factory=dict)

    @property
    def refused(self) -> bool:
        """Whether some feature has no plan; the command line then ends with 1."""
        return any(not feature.steps for feature in self.features)

    @model_validator(mode="after")
    def _ids_lead_somewhere(self) -> Self:
        for key, reason in self.reasons.items():
            if reason.id != key:
                raise ValueError(f"the reason filed under {key} calls itself {reason.id or 'nothing'}")
        lost = sorted({ref for ref in sheet_references(self) if ref not in self.reasons})
        if lost:
            raise ValueError(f"reasons that are referred to are missing: {', '.join(lost)}")
        return self


def sheet_references(sheet: Sheet) -> Iterator[str]:
    """Every id of a reason that the sheet refers to, in reading order, with repeats."""
    for name in Sheet.model_fields:
        if name not in {"reasons", "job"}:
            yield from references(getattr(sheet, name))


def in_reading_order(sheet: Sheet) -> Sheet:
    """The same sheet with reasons numbered as a reader meets them; reasons nobody refers to go.

    A builder works in the order of the pipeline, a reader from the top: this is the last touch.
    """
    new = {old: f"r{place}" for place, old in enumerate(dict.fromkeys(sheet_references(sheet)), start=1)}
    kept = {name: sheet.reasons[old].model_copy(update={"id": name}) for old, name in new.items()}
    changed = {
        name: renumbered(getattr(sheet, name), new)
        for name in Sheet.model_fields
        if name not in {"reasons", "job"}
    }
    return sheet.model_copy(update={**changed, "reasons": kept})
