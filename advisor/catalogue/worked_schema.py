"""The JSON Schema of a worked job: a job, and what its sheet must, may and must not hold."""

from __future__ import annotations

from collections.abc import Iterable
from typing import get_args

from advisor.catalogue.job_schema import job_definitions
from advisor.catalogue.schema_parts import (
    LINE,
    ONE_END_EACH,
    Schema,
    choice,
    described,
    dimension_text,
    document,
    ends,
    mapping,
    one_or_more,
    ref,
    sources,
    suggested,
)
from advisor.knowledge.base import Knowledge
from advisor.knowledge.reference import Handling
from advisor.worked.facts import NOTES, PLAN_FACTS, PLAN_NUMBERS, STEP_FACTS, STEP_KEYS, STEP_NUMBERS
from advisor.worked.model import Selection
from advisor.worked.read import EXPECTATION_KEYS, WORKED_KEYS

_NUMBERS = {**STEP_NUMBERS, **PLAN_NUMBERS}


def worked_job_schema(knowledge: Knowledge) -> Schema:
    """The schema of `jobs/*.yaml`."""
    fields: dict[str, Schema] = {
        "title": LINE,
        "source": one_or_more(ref("source key")),
        "place": described(
            {"anyOf": [LINE, {"type": "null"}]}, "Where in the source the answer stands; null for practice."
        ),
        "why": LINE,
        "job": ref("job"),
        "expect": {"type": "array", "items": ref("expectation"), "minItems": 1},
    }
    definitions = {
        **job_definitions(knowledge),
        "source key": sources(knowledge),
        "expectation": _expectation(),
        "rule or words": suggested((rule.id for rule in knowledge.rules), LINE),
        **{f"fact: {name}": _fact(name, knowledge) for name in dict.fromkeys((*STEP_FACTS, *PLAN_FACTS))},
    }
    body = mapping({key: fields.get(key, {}) for key in WORKED_KEYS}, WORKED_KEYS)
    return document("A worked job", body, definitions)


def _expectation() -> Schema:
    facts = _facts(dict.fromkeys((*STEP_FACTS, *PLAN_FACTS)))
    fields: dict[str, Schema] = {
        "feature": described(
            {"type": ["string", "number"]}, "The feature this is said of; each one without it."
        ),
        "step": described(choice(get_args(Selection)), "Which steps; without it the plan as a whole."),
        "among": described(_facts(STEP_FACTS), "Narrows the steps."),
        "must": described(facts, "Has to come out."),
        "may": described(facts, "May come out; nothing else may."),
        "never": described(facts, "Must not come out."),
        "why": LINE,
        "source": one_or_more(ref("source key")),
    }
    words = ("must", "may", "never")
    of_step = {"properties": {word: {"propertyNames": choice(STEP_FACTS)} for word in words}}
    of_plan = {
        "properties": {word: {"propertyNames": choice(PLAN_FACTS)} for word in words},
        "not": {"required": ["among"]},
    }
    return mapping(
        {key: fields.get(key, {}) for key in EXPECTATION_KEYS},
        ["why"],
        anyOf=[{"required": [word]} for word in words],
        allOf=[{"if": {"required": ["step"]}, "then": of_step, "else": of_plan}],
    )


def _facts(names: Iterable[str]) -> Schema:
    return mapping({name: ref(f"fact: {name}") for name in names}, minProperties=1)


def _fact(name: str, knowledge: Knowledge) -> Schema:
    tables = knowledge.tables
    if name in STEP_KEYS:
        return one_or_more(choice(tables[STEP_KEYS[name]]))
    if name == "grade":
        grade = choice(tables.grades)
        return {"anyOf": [*one_or_more(grade)["anyOf"], _bounds(grade)]}
    if name in ("pressure", "handling"):
        return one_or_more(choice(("low", "medium", "high") if name == "pressure" else get_args(Handling)))
    if name == "refused":
        return {"type": "boolean"}
    if name in NOTES:
        return one_or_more(ref("rule or words"))
    if name in _NUMBERS:
        dimension = _NUMBERS[name]
        return _bounds({"type": "number"} if dimension is None else dimension_text(dimension))
    return one_or_more(LINE)


def _bounds(limit: Schema) -> Schema:
    return mapping(ends(limit), minProperties=1, allOf=ONE_END_EACH)
