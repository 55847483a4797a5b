"""The state of an interview and its steps: what comes next, what an answer does, how to go back."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from advisor.ask.answers import Value, shown, understand
from advisor.ask.face_questions import FACE
from advisor.ask.question import Presumed, Question, When
from advisor.ask.questions import FIRST, LAST, STAND_INS
from advisor.errors import InputError, Problem
from advisor.job.read import parse_job
from advisor.job.start import OLD_COATINGS
from advisor.knowledge.base import Knowledge

NOT_KNOWN = "not known"


@dataclass(frozen=True, slots=True)
class Asked:
    """A question at its place: `id` tells the faces apart (`face.2.radius`), `field` is where it lands."""

    id: str
    field: str
    question: Question


@dataclass(frozen=True, slots=True)
class Answer:
    """What was answered. `known` is False for a don't-know; `value` then is what is taken, or None."""

    asked: Asked
    value: Value
    known: bool
    shown: str


@dataclass(frozen=True, slots=True)
class Interview:
    """All answers so far, in the order they were given."""

    answers: tuple[Answer, ...] = ()

    @property
    def by_id(self) -> Mapping[str, Answer]:
        """The answers by the id of their question."""
        return {answer.asked.id: answer for answer in self.answers}

    @property
    def faces(self) -> int:
        """How many faces have been begun."""
        return sum(answer.asked.question.key == "face.name" for answer in self.answers)


def next_question(interview: Interview, knowledge: Knowledge) -> Asked | None:
    """The first question of the script that is not answered; None at the end."""
    answered = interview.by_id
    return next((asked for asked in _script(interview, knowledge) if asked.id not in answered), None)


def _script(interview: Interview, knowledge: Knowledge) -> Iterator[Asked]:
    known = facts(interview, knowledge)
    for question in FIRST:
        if _applies(question, known):
            yield Asked(question.key, question.key, question)
    number = 1
    while True:
        own = {**known, **_face_facts(interview, number)}
        for question in FACE:
            if _applies(question, own):
                key = question.key.removeprefix("face.")
                yield Asked(f"face.{number}.{key}", f"features[{number}].{key}", question)
        if own.get("face.more") != "yes":
            break
        number += 1
    for question in LAST:
        if _applies(question, known):
            yield Asked(question.key, question.key, question)


def _applies(question: Question, known: Mapping[str, str]) -> bool:
    return question.when is None or _holds(question.when, known)


def _holds(when: When, known: Mapping[str, str]) -> bool:
    return known.get(when.fact) in when.among


def facts(interview: Interview, knowledge: Knowledge) -> dict[str, str]:
    """What later questions depend on: every single answer, and what follows from some of them."""
    known = {
        answer.asked.id: (answer.value if isinstance(answer.value, str) else "known")
        if answer.known
        else NOT_KNOWN
        for answer in interview.answers
    }
    job = draft(interview)
    alloy = knowledge.tables.alloys.get(str(job.get("alloy")))
    if alloy is not None:
        known["alloy.cast"] = "yes" if alloy.cast else "no"
    start = job.get("start", {})
    defects = {start.get("defect"), *start.get("also", [])}
    known["old coating"] = "yes" if defects & set(OLD_COATINGS) else "no"
    return known


def _face_facts(interview: Interview, number: int) -> dict[str, str]:
    prefix = f"face.{number}."
    return {
        f"face.{answer.asked.id.removeprefix(prefix)}": str(answer.value)
        for answer in interview.answers
        if answer.asked.id.startswith(prefix)
    }


def answer(interview: Interview, asked: Asked, text: str, knowledge: Knowledge) -> Interview:
    """The interview with one more answer. Raises InputError where the answer cannot be used.

    The answer is put into the job as it stands and read by the same reader as a job file.
    """
    value = understand(asked.question, text, knowledge)
    added = Answer(asked, value, True, shown(asked.question, value, knowledge))
    grown = replace(interview, answers=(*interview.answers, added))
    _check(grown, asked, knowledge)
    return grown


def dont_know(interview: Interview, asked: Asked, knowledge: Knowledge) -> tuple[Interview, Presumed]:
    """The interview with a don't-know, and what is taken instead."""
    known = facts(interview, knowledge)
    number = str(interview.faces + 1 if asked.question.key == "face.name" else interview.faces)
    fits = (item for item in asked.question.unknown if item.when is None or _holds(item.when, known))
    taken = next(fits)
    value = None if taken.value is None else taken.value.replace("{number}", number)
    said = taken.model_copy(update={"value": value, "say": taken.say.replace("{number}", number)})
    told = NOT_KNOWN
    if value is not None:
        told = f"{shown(asked.question, value, knowledge)} ({NOT_KNOWN}, taken for now)"
    grown = replace(interview, answers=(*interview.answers, Answer(asked, value, False, told)))
    return grown, said


def back(interview: Interview) -> Interview:
    """The interview without its last answer."""
    return replace(interview, answers=interview.answers[:-1])


def how_to_find_out(interview: Interview, asked: Asked, knowledge: Knowledge) -> str:
    """How a shop finds out what is asked; for a depth it depends on the defect."""
    if asked.question.find_out:
        return asked.question.find_out
    defect = knowledge.tables.defects.get(str(draft(interview).get("start", {}).get("defect")))
    return "" if defect is None else defect.find_out


def draft(interview: Interview) -> dict[str, Any]:
    """The answers as the mapping of a job file, as far as it has got."""
    job: dict[str, Any] = {}
    for given in interview.answers:
        if given.value is None or given.asked.question.key in ("face.more",):
            continue
        value: Any = list(given.value) if isinstance(given.value, tuple) else given.value
        field = given.asked.field
        if field == "metal":
            job["alloy"] = STAND_INS[str(value)]
        elif field == "batch":
            job["batch"] = int(value) if str(value).isdecimal() else value
        elif field.startswith("features["):
            number, _, key = field.removeprefix("features[").partition("].")
            faces = job.setdefault("features", [])
            if len(faces) < int(number):
                faces.append({})
            faces[int(number) - 1][key] = value
        elif "." in field:
            section, _, key = field.partition(".")
            job.setdefault(section, {})[key] = value
        else:
            job[field] = value
    return {key: job[key] for key in _ORDER if key in job}


_ORDER = ("name", "alloy", "part", "start", "features", "finish", "environment", "after", "cell", "batch")


def _check(interview: Interview, asked: Asked, knowledge: Knowledge) -> None:
    """Read the unfinished job with stand-ins for what is still to come; every fault is the last answer's."""
    tables = knowledge.tables
    job = draft(interview)
    job.setdefault("name", "job")
    job.setdefault("alloy", next(iter(tables.alloys)))
    job["start"] = {"defect": next(iter(tables.defects)), **job.get("start", {})}
    job["features"] = [_whole(face) for face in job.get("features", [{}])]
    job.setdefault("finish", next(iter(tables.finishes)))
    job.setdefault("cell", next(iter(tables.cells)))
    try:
        parse_job(job, knowledge, "")
    except InputError as error:
        raise InputError(_plain(problem, asked) for problem in error.problems) from None


def _whole(face: Mapping[str, Any]) -> dict[str, Any]:
    whole = {"name": "face", "shape": "flat", **face}
    if whole["shape"] in ("convex", "concave"):
        whole.setdefault("radius", "25 mm")
    return whole


def _plain(problem: Problem, asked: Asked) -> Problem:
    """A problem without the path of the field, which the user never saw."""
    _, path, what = problem.what.partition(f".{asked.field.rpartition('.')[2]}: ")
    if not path:
        what = problem.what.removeprefix(f"{asked.field}: ")
    return replace(problem, place="", what=what)
