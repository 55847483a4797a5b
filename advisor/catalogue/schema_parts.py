"""The pieces of JSON Schema that several files share: keys, sources, values of attributes, quantities."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from advisor.knowledge.base import Knowledge
from advisor.knowledge.entries import RANGES
from advisor.knowledge.vocabulary import Attribute, Decision
from advisor.units import DIMENSIONS, UNITS

Schema = dict[str, Any]

DRAFT = "http://json-schema.org/draft-07/schema#"  # the draft that editors complete from
KEBAB = r"^[a-z0-9]+(-[a-z0-9]+)*$"
LINE: Schema = {"type": "string", "pattern": r"\S"}


def document(title: str, body: Schema, definitions: Mapping[str, Schema] | None = None) -> Schema:
    """A whole schema with its head."""
    schema: Schema = {"$schema": DRAFT, "title": title, **body}
    if definitions:
        schema["definitions"] = dict(definitions)
    return schema


def ref(name: str) -> Schema:
    """A pointer to a definition of the same schema."""
    return {"$ref": f"#/definitions/{name}"}


def mapping(
    properties: Mapping[str, Schema], required: Sequence[str] = (), means: str | None = None, **more: Any
) -> Schema:
    """A mapping with these keys and no others."""
    schema: Schema = {"type": "object", "properties": dict(properties), "additionalProperties": False}
    if required:
        schema["required"] = list(required)
    return described({**schema, **more}, means)


def described(schema: Schema, means: str | None) -> Schema:
    """The schema with the sentence that an editor shows beside it."""
    return {**schema, "description": means} if means else schema


def choice(options: Iterable[str]) -> Schema:
    """One of some words."""
    return {"enum": list(options)}


def one_or_more(item: Schema) -> Schema:
    """A value, or a list of such values."""
    return {"anyOf": [item, {"type": "array", "items": item, "minItems": 1}]}


def suggested(options: Iterable[str], else_: Schema) -> Schema:
    """Words that an editor offers; others that fit the second schema are allowed."""
    return {"anyOf": [choice(options), else_]}


def value_of(attribute: Attribute, knowledge: Knowledge) -> Schema:
    """A single value that an attribute can have."""
    if attribute.kind == "flag":
        return {"type": "boolean"}
    if attribute.kind == "grade":
        return choice(knowledge.vocabulary.grades)
    if attribute.kind == "number":
        return {"type": "number", **_bounds(attribute)}
    return choice(attribute.values)


def _bounds(declared: Attribute | Decision) -> Schema:
    if declared.low is None or declared.high is None:
        return {}
    return {"minimum": plain(declared.low), "maximum": plain(declared.high)}


def about(declared: Attribute | Decision) -> str:
    """What an editor says about an attribute or a decision: title, unit, meaning."""
    unit = f" ({declared.unit})" if declared.unit and declared.unit != "1" else ""
    return f"{declared.title}{unit}. {declared.means}"


def ends(limit: Schema) -> dict[str, Schema]:
    """The four ways of limiting a quantity."""
    return dict.fromkeys(("at least", "at most", "above", "below"), limit)


#: No end is given twice.
ONE_END_EACH: list[Schema] = [
    {"not": {"required": ["at least", "above"]}},
    {"not": {"required": ["at most", "below"]}},
]
#: An end on one side only.
ONE_SIDE: list[Schema] = [
    {"not": {"allOf": [{"anyOf": [{"required": [low]} for low in ("at least", "above")]},
                       {"anyOf": [{"required": [high]} for high in ("at most", "below")]}]}},
]  # fmt: skip


def plain(number: float) -> int | float:
    """A number without a needless `.0`.

    >>> plain(50.0), plain(0.1)
    (50, 0.1)
    """
    return int(number) if number == int(number) else number


def sources(knowledge: Knowledge) -> Schema:
    """A key of the list of sources, with each source's title in the editor."""
    return {
        "oneOf": [
            {"const": key, "description": f"{source.title} ({source.kind.replace('-', ' ')})"}
            for key, source in knowledge.sources.items()
        ]
    }


_NUMBER = r"(\d+\.?\d*|\.\d+)([eE][-+]?\d{1,3})?"
_FRACTION = r"(\d+[ -])?\d+/\d+"


def quantity(rule: str, means: str | None = None) -> Schema:
    """A quantity of a job as text: a number and a unit of its dimension.

    `rule` is a key of `advisor.knowledge.entries.RANGES`.

    >>> re.fullmatch(quantity("radius")["pattern"], "1/8 in") is not None
    True
    >>> re.fullmatch(quantity("radius")["pattern"], "18 kg") is None
    True
    """
    return dimension_text(RANGES[rule][0], means)


def dimension_text(dimension: str, means: str | None = None) -> Schema:
    """The same for a key of `advisor.units.DIMENSIONS`."""
    base = DIMENSIONS[dimension]
    units = sorted(
        (name for name, unit in UNITS.items() if unit.kind == base.kind), key=lambda name: (-len(name), name)
    )
    spelled = "|".join(_any_case(unit) for unit in units)
    pattern = rf"^\s*[-+]?({_FRACTION}|{_NUMBER})\s*({spelled})\.?\s*$"
    example = f"18 {base.base}" if base.base != "um" else "0.4 um"
    told = f"{base.article[0].upper()}{base.article[1:]} with its unit: {', '.join(base.offered)}."
    return {
        "type": "string",
        "pattern": pattern,
        "description": " ".join(filter(None, (means, told))),
        "examples": [example],
    }


def _any_case(unit: str) -> str:
    """A unit as a pattern for every spelling that is read: any case, `^2`, the Greek letter for micro."""
    letters = []
    for letter in unit:
        if letter == "u":
            letters.append("[uUµμ]")
        elif letter.isalpha():
            letters.append(f"[{letter.lower()}{letter.upper()}]")
        elif letter == "2":
            letters.append(r"(\^?2|²)")
        else:
            letters.append(re.escape(letter))
    degree = "[°º]?\\s*" if unit in ("C", "F", "K") else ""
    return degree + "".join(letters)


def band(rule: str, means: str | None = None) -> Schema:
    """One quantity, or a low and a high one."""
    one = quantity(rule)
    pair: Schema = {"type": "array", "items": one, "minItems": 2, "maxItems": 2}
    return described({"anyOf": [one, pair]}, " ".join(filter(None, (means, "One value, or low and high."))))
