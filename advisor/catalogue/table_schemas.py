"""JSON Schemas of the reference tables, the sources, the words and the vocabulary, from their models."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

from pydantic import BaseModel

from advisor.catalogue.job_schema import cell_schema
from advisor.catalogue.schema_parts import (
    KEBAB,
    LINE,
    Schema,
    choice,
    described,
    document,
    mapping,
    one_or_more,
    ref,
    sources,
)
from advisor.knowledge.base import ROW_MODELS, Knowledge, Source, Word
from advisor.knowledge.read_tables import LINKS
from advisor.knowledge.read_vocabulary import ATTRIBUTE_KINDS, DECISION_KINDS, SETTERS, TAKEN_FOR
from advisor.knowledge.reference import Scale

#: Columns whose values are those of an attribute of the vocabulary.
_SPOKEN: Mapping[str, Mapping[str, str]] = {
    "alloys": {"family": "alloy.family", "group": "alloy.group"},
    "media": {"shapes": "feature.shape", "directions": "direction"},
    "designations": {"groups": "alloy.group"},
    "symptoms": {"groups": "alloy.group"},
}
#: What the scope of a coefficient may name, and the table or attribute it draws from.
_SCOPES = {
    "alloy": "alloy.key",
    "family": "alloy.family",
    "group": "alloy.group",
    "media": "media",
    "grain": "grain",
}


def table_schemas(knowledge: Knowledge) -> dict[str, Schema]:
    """The schema of each reference table, by the name of the table."""
    written = {name: _table(name, model, knowledge) for name, model in ROW_MODELS.items()}
    written["cells"] = _keyed("cells", cell_schema(knowledge, row=True), {"source key": sources(knowledge)})
    return written


def sources_schema() -> Schema:
    """The schema of `sources.yaml`."""
    row, definitions = _model(Source)
    row["properties"]["key"] = {"type": "string", "pattern": KEBAB}
    return _keyed("sources", row, definitions)


def words_schema(knowledge: Knowledge) -> Schema:
    """The schema of `words.yaml`; the terms there are offered for `see`."""
    row, definitions = _model(Word)
    terms = dict.fromkeys(name for word in knowledge.words for name in (word.term, *word.also))
    row["properties"]["see"]["items"] = {"anyOf": [choice(terms), LINE]}
    return _keyed("words", row, definitions)


def vocabulary_schema(knowledge: Knowledge) -> Schema:
    """The schema of `vocabulary.yaml`."""
    tables = [*ROW_MODELS, "cells"]
    span: Schema = {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2}
    texts = one_or_more(LINE)
    presumed = mapping(
        {"assume": {"type": ["string", "number", "boolean"]}, "say": LINE},
        ["assume", "say"],
        "What is assumed where nobody knows, and the sentence that says so.",
    )
    attribute = mapping(
        {
            "title": described(LINE, "What a shop calls it."),
            "kind": choice(ATTRIBUTE_KINDS),
            "set by": choice(SETTERS),
            "means": described(LINE, "What it says, in one sentence."),
            "values": texts,
            "values from": described(choice(tables), "The table whose keys are the values."),
            "unit": LINE,
            "range": span,
            "needs": described(
                one_or_more(choice(knowledge.vocabulary.decisions)), "The decisions it waits for."
            ),
            "if unknown": presumed,
        },
        ["title", "kind", "set by", "means"],
        allOf=[
            _needs("kind", ["choice"], {"anyOf": [{"required": ["values"]}, {"required": ["values from"]}]}),
            _needs("kind", ["number"], {"required": ["unit", "range"]}),
        ],
    )
    decision = mapping(
        {
            "title": LINE,
            "kind": choice(DECISION_KINDS),
            "taken for": choice(TAKEN_FOR),
            "means": LINE,
            "options": texts,
            "options from": described(choice(tables), "The table whose keys are the options."),
            "unit": LINE,
            "range": span,
        },
        ["title", "kind", "taken for", "means"],
        allOf=[
            _needs(
                "kind",
                ["list", "ordered"],
                {"anyOf": [{"required": ["options"]}, {"required": ["options from"]}]},
            ),
            _needs("kind", ["number"], {"required": ["unit", "range"]}),
        ],
    )
    named = {
        "attributes": {"type": "object", "additionalProperties": ref("attribute")},
        "decisions": {"type": "object", "additionalProperties": ref("decision")},
    }
    return document(
        "The vocabulary",
        mapping(named, ["attributes", "decisions"]),
        {"attribute": attribute, "decision": decision},
    )


def _needs(key: str, values: list[str], then: Schema) -> Schema:
    return {"if": {"properties": {key: choice(values)}}, "then": then}


def _table(name: str, model: type[BaseModel], knowledge: Knowledge) -> Schema:
    row, definitions = _model(model)
    columns: dict[str, Schema] = row["properties"]
    columns["key"] = {"type": "string", "pattern": r"^[A-Za-z0-9]+(-[A-Za-z0-9]+)*$"}
    columns["source"]["items"] = ref("source key")
    columns["source"]["minItems"] = 1
    for column, target in LINKS.get(name, {}).items():
        _restrict(columns[column], choice(knowledge.tables[target]))
    for column, attribute in _SPOKEN.get(name, {}).items():
        _restrict(columns[column], choice(knowledge.vocabulary.testable[attribute].values))
    if name == "coefficients":
        columns["scope"] = _scope(knowledge)
    if name == "designations":
        cami = {row.cami for row in knowledge.tables.grades.values() if row.cami}
        columns["grades"]["items"] = choice([*knowledge.tables.grades, *sorted(cami, key=int)])
    return _keyed(name, row, {**definitions, "source key": sources(knowledge)})


def _scope(knowledge: Knowledge) -> Schema:
    """What a coefficient holds for: a value of each column, or of several."""
    vocabulary = knowledge.vocabulary
    scopes = {column: choice(vocabulary.testable[attribute].values) for column, attribute in _SCOPES.items()}
    scopes |= {"grade": choice(vocabulary.grades), "scale": choice(get_args(Scale))}
    return mapping(scopes, means="What it holds for; the narrowest scope that fits is used.")


def _restrict(column: Schema, allowed: Schema) -> None:
    """Let a column, or the items of its list, hold only some words (and nothing, where it may be empty)."""
    if column.get("type") == "array":
        column["items"] = allowed
    elif "anyOf" in column:
        column["anyOf"] = [allowed if each.get("type") == "string" else each for each in column["anyOf"]]
    else:
        column.pop("type")
        column.update(allowed)


def _keyed(name: str, row: Schema, definitions: Mapping[str, Schema]) -> Schema:
    """A file that is one list under its own name."""
    title = f"The table {name.replace('_', ' ')}" if name in (*ROW_MODELS, "cells") else f"The {name}"
    rows = {"type": "array", "items": ref("row")}
    return document(title, mapping({name: rows}, [name]), {**definitions, "row": row})


def _model(model: type[BaseModel]) -> tuple[Schema, dict[str, Schema]]:
    """A model as a schema of the draft that editors read, with the models it holds."""
    schema = _older(model.model_json_schema())
    definitions: dict[str, Schema] = schema.pop("definitions", {})
    schema.pop("title", None)
    return schema, definitions


def _older(value: Any) -> Any:
    """Draft 2020-12 as pydantic writes it, turned into draft-07."""
    if isinstance(value, list):
        return [_older(item) for item in value]
    if not isinstance(value, dict):
        return value.replace("#/$defs/", "#/definitions/") if isinstance(value, str) else value
    renamed = {"$defs": "definitions", "prefixItems": "items"}
    older = {renamed.get(key, key): _older(item) for key, item in value.items()}
    if isinstance(older.get("title"), str):  # a generated title repeats the key
        del older["title"]
    if isinstance(older.get("description"), str):
        older["description"] = " ".join(older["description"].split())
    return older
