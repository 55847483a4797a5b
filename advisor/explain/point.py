"""What can be asked about: the values of a step, by the names that the sheet, the rules and people use."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from advisor.errors import InputError, Problem, listing, nearest
from advisor.knowledge.vocabulary import Vocabulary
from advisor.pipeline import WorkedOut
from advisor.sequence.plan import FeaturePlan
from advisor.sequence.surface import PlannedStep
from advisor.sheet.model import Feature, Sheet, Step

PLACE = "advisor why"
#: What people say -> the field of a step, or the decision behind a part of it.
_ALSO: Mapping[str, str] = {
    "speed": "surface_speed",
    "hardness": "wheel_hardness",
    "cover": "wheel_cover",
    "face": "wheel_face",
    "width": "wheel_width",
    "edge": "wheel_edge",
    "diameter": "wheel_diameter",
    "roughness": "ra",
    "stock": "removal",
    "left": "remaining",
    "marked": "marked_speed",
    "revolutions": "rpm",
    "spindle_speed": "rpm",
    "rz": "rz",
    "duration": "time",
}
#: Fields of a step whose name ends in a unit -> the same without it.
_UNITS = ("_mm_s", "_m_s", "_mm", "_um", "_n", "_s", "_w")
#: Decisions that are parts of another field of the sheet.
_PARTS = {
    "wheel_hardness": "wheel",
    "wheel_cover": "wheel",
    "wheel_face": "wheel",
    "wheel_width": "wheel",
    "wheel_edge": "wheel",
    "wheel_diameter": "wheel",
    "overlap": "step_over_mm",
    "jump": "grade",
    "accepts": "grade",
}
_NOT_ASKED = {"number", "grade_scale", "limits", "flags", "go_on_when", "if_not", "rivals", "reasons"}


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked, as it was typed; None is not said."""

    feature: str | None = None
    step: int | None = None
    decision: str | None = None
    option: str | None = None


@dataclass(frozen=True, slots=True)
class Place:
    """One step of one feature: as planned, and as it stands on the sheet."""

    row: int
    plan: FeaturePlan
    feature: Feature
    planned: PlannedStep
    step: Step

    @property
    def name(self) -> str:
        """The step as a reader finds it.

        A feature and a number, such as "outer sweep, step 2".
        """
        return f"{self.feature.name}, step {self.step.number}"


def places(found: WorkedOut, sheet: Sheet) -> tuple[Place, ...]:
    """Every step of the sheet, in reading order."""
    return tuple(
        Place(row, item.plan, feature, planned, step)
        for row, (item, feature) in enumerate(zip(found.planned, sheet.features, strict=True))
        for planned, step in zip(item.plan.path, feature.steps, strict=True)
    )


def plain(name: str) -> str:
    """A name as it is compared: no case, no spaces, no unit.

    >>> plain("Wheel Cover"), plain("force_n"), plain("wheel.hardness_shore_a"), plain("top coat")
    ('wheel_cover', 'force', 'wheel_hardness', 'top_coat')
    """
    key = name.strip().lower().replace(" ", "_").replace("-", "_").replace(".", "_")
    for unit in ("_shore_a", *_UNITS):
        if key.endswith(unit) and len(key) > len(unit) + 1 and key != "surface_speed_s":
            return key.removesuffix(unit)
    return key


def askable(vocabulary: Vocabulary) -> tuple[str, ...]:
    """Everything a decision may be called: the decisions in their order, then the other values of a step."""
    fields = [plain(name) for name in Step.model_fields if name not in _NOT_ASKED]
    return tuple(dict.fromkeys([*vocabulary.order, *fields, "wheel_diameter", "texture", "lay"]))


def decision_of(name: str, vocabulary: Vocabulary) -> str:
    """The decision or value meant. Raises InputError with all of them and the nearest.

    An attribute that rules test, such as `stock.demand`, may be asked about as well.
    """
    if name in vocabulary.attributes:
        return name
    allowed = askable(vocabulary)
    key = plain(name)
    key = key if key in allowed else _ALSO.get(key, key)
    if key in ("texture", "lay"):
        return f"finish.{key}"
    if key in allowed:
        return key
    near = nearest(key, [*allowed, *vocabulary.attributes])
    raise InputError(Problem(f"{PLACE} --decision", "no such decision", name, listing(allowed, 60), near))


def field_on_sheet(decision: str) -> str | None:
    """The field of a step that shows a decision or value.

    >>> field_on_sheet("force"), field_on_sheet("wheel_hardness"), field_on_sheet("stock.demand")
    ('force_n', 'wheel', None)
    """
    if decision in _PARTS:
        return _PARTS[decision]
    return next((name for name in Step.model_fields if plain(name) == decision), None)


def field_is_whole(decision: str) -> bool:
    """Whether a decision has a field of its own on the sheet, and is not a part of another one."""
    return decision not in _PARTS


def asked_places(question: Question, found: WorkedOut, sheet: Sheet) -> tuple[Place, ...]:
    """The steps a question is about. Raises InputError with every part of it that does not exist."""
    problems = []
    names = [feature.name for feature in sheet.features]
    chosen = names
    if question.feature is not None:
        chosen = [name for name in names if name.casefold() == question.feature.strip().casefold()]
        if not chosen:
            near = nearest(question.feature, names)
            problems.append(
                Problem(f"{PLACE} --feature", "no such feature", question.feature, listing(names), near)
            )
    kept = [place for place in places(found, sheet) if place.feature.name in (chosen or names)]
    if question.step is not None:
        numbers = sorted({place.step.number for place in kept})
        kept = [place for place in kept if place.step.number == question.step]
        if not kept:
            where = f" of {chosen[0]}" if len(chosen) == 1 else ""
            allowed = listing([str(number) for number in numbers]) or "none, for there is no plan"
            problems.append(Problem(f"{PLACE} --step", f"no such step{where}", str(question.step), allowed))
    if problems:
        raise InputError(problems)
    return tuple(kept)
