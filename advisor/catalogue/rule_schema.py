"""The JSON Schema of a file of rules, so that an editor completes and checks a rule while it is typed."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from advisor.catalogue.schema_parts import (
    KEBAB,
    LINE,
    ONE_END_EACH,
    ONE_SIDE,
    Schema,
    about,
    choice,
    described,
    document,
    ends,
    mapping,
    one_or_more,
    ref,
    sources,
    suggested,
    value_of,
)
from advisor.knowledge.base import Knowledge
from advisor.knowledge.read_consequences import CHANGES
from advisor.knowledge.read_rules import FILLERS, OPTIONAL, REQUIRED, STATUS
from advisor.knowledge.vocabulary import (
    BINDING_CONCERNS,
    CONCERNS,
    STRENGTHS,
    Attribute,
    Decision,
    Strength,
)

_STRENGTHS: dict[Strength, str] = {
    "must": "Nothing else will do (safety, specification, corrosion and form only).",
    "should": "The better choice; every other stays possible.",
    "may": "Will do as well; decides between equals only.",
    "avoid": "The worse choice; still possible.",
    "never": "Cannot be used (safety, specification, corrosion and form only).",
}
_NOTES = {
    "caution": "A warning for the sheet.",
    "check": "How to see that the step is done.",
    "remedy": "What to do about a symptom; the rule tests `symptom`.",
    "outside": "Another process is the better or the required way.",
    "afterwards": "What has to happen after the finishing.",
}
_AIMS = {"number": ("low", "middle", "high"), "grade": ("fine", "coarse")}
_FIELDS = {
    "rule": "The id: small words joined by hyphens that name the situation, not the cure. Never used again.",
    "title": "The rule in one line.",
    "when": "The rule speaks where all of these hold.",
    "unless": "It is silent where all of these hold.",
    "then": "What it says, one thing an entry.",
    "concern": "What it is for; an earlier concern outweighs a later one.",
    "because": "The sentence that the technician reads. {attribute} shows a value that `when` tests.",
    "not for": "Where the rule misleads.",
    "source": "Who says so: keys of sources.yaml, or entries with the place in the source.",
    "status": "A new rule begins on trial.",
    "overrides": "Ids of rules that are silent where this one speaks.",
    "allows": "A check that this rule breaks on purpose, and why.",
    "evidence": "Trials that bear the rule out.",
    "examples": "Cases that show it: one that fires, one that is silent, and both sides of every limit.",
}


def rules_schema(knowledge: Knowledge) -> Schema:
    """The schema of `rules/*.yaml`."""
    definitions = {
        "rule": _rule(knowledge),
        "conditions": _conditions(knowledge),
        "source": sources(knowledge),
        "consequence": _consequence(knowledge),
        "conclusions": _conclusions(knowledge),
        "case": _case(knowledge),
        "changes": _changes(knowledge),
        **{f"values of {key}": value for key, value in _values(knowledge)},
        **{f"advice: {strength}": _advice(strength, knowledge) for strength in STRENGTHS},
    }
    return document("A file of rules", {"type": "array", "items": ref("rule")}, definitions)


def _values(knowledge: Knowledge) -> Iterator[tuple[str, Schema]]:
    for key, attribute in knowledge.vocabulary.testable.items():
        yield key, value_of(attribute, knowledge)


def _rule(knowledge: Knowledge) -> Schema:
    texts: Schema = one_or_more(LINE)
    fields: dict[str, Schema] = {
        "rule": {"type": "string", "pattern": KEBAB},
        "title": LINE,
        "when": ref("conditions"),
        "unless": {"allOf": [ref("conditions")], "minProperties": 1},
        "then": {"type": "array", "items": ref("consequence"), "minItems": 1},
        "concern": choice(CONCERNS),
        "because": LINE,
        "not for": {**LINE, "not": {"pattern": _fillers()}},
        "source": one_or_more(
            {"anyOf": [ref("source"), mapping({"source": ref("source"), "place": LINE}, ["source"])]}
        ),
        "status": choice(STATUS),
        "overrides": one_or_more(
            suggested((rule.id for rule in knowledge.rules), {"type": "string", "pattern": KEBAB})
        ),
        "allows": {"type": "object", "additionalProperties": LINE},
        "evidence": texts,
        "examples": {"type": "array", "items": ref("case"), "minItems": 2},
    }
    told = {key: described(fields.get(key, {}), _FIELDS.get(key)) for key in (*REQUIRED, *OPTIONAL)}
    binding = {"anyOf": [{"required": ["must"]}, {"required": ["never"]}]}
    return mapping(
        told,
        REQUIRED,
        allOf=[
            {
                "if": {"properties": {"then": {"contains": binding}}},
                "then": {"properties": {"concern": choice(c for c in CONCERNS if c in BINDING_CONCERNS)}},
            },
            {
                "if": {"properties": {"then": {"contains": {"required": ["remedy"]}}}},
                "then": {"properties": {"when": {"required": ["symptom"]}}},
            },
        ],
    )


def _fillers() -> str:
    """What may not stand as the whole of `not for`, in any case and with blanks or points around it."""
    words = (
        "".join(f"[{letter}{letter.upper()}]" if letter.isalpha() else f"[{letter}]" for letter in word)
        for word in sorted(FILLERS)
    )
    return f"^[ .]*({'|'.join(words)})[ .]*$"


def _conditions(knowledge: Knowledge) -> Schema:
    return mapping(
        {
            key: described(_condition(attribute), about(attribute))
            for key, attribute in knowledge.vocabulary.testable.items()
        }
    )


def _condition(attribute: Attribute) -> Schema:
    value = ref(f"values of {attribute.key}")
    words: dict[str, Schema] = {"not": one_or_more(value)}
    if attribute.kind in ("number", "grade", "ordered"):
        words = {**ends(value), **words}
    if attribute.set_by in ("job", "table"):
        words["known"] = {"type": "boolean", "description": "Whether anybody said so."}
    compared = mapping(words, minProperties=1, allOf=ONE_END_EACH)
    return {"anyOf": [*one_or_more(value)["anyOf"], compared]}


def _consequence(knowledge: Knowledge) -> Schema:
    said: dict[str, Schema] = {
        strength: described(ref(f"advice: {strength}"), means) for strength, means in _STRENGTHS.items()
    }
    said["conclude"] = described(ref("conclusions"), "A derived attribute that other rules may test.")
    said |= {kind: described(LINE, means) for kind, means in _NOTES.items()}
    one = [{"required": [word]} for word in said]
    said["change"] = described(ref("changes"), "The remedy as settings: which decision, which way.")
    return mapping(said, oneOf=one, dependencies={"change": ["remedy"]})


def _conclusions(knowledge: Knowledge) -> Schema:
    return mapping(
        {
            key: described(ref(f"values of {key}"), about(attribute))
            for key, attribute in knowledge.vocabulary.attributes.items()
            if attribute.set_by == "rule"
        },
        minProperties=1,
        maxProperties=1,
    )


def _changes(knowledge: Knowledge) -> Schema:
    grades = tuple(knowledge.vocabulary.grades)
    return mapping(
        {
            key: described(
                choice(dict.fromkeys((*CHANGES, *each.options, *(grades if each.kind == "grade" else ())))),
                about(each),
            )
            for key, each in knowledge.vocabulary.decisions.items()
        }
    )


def _advice(strength: Strength, knowledge: Knowledge) -> Schema:
    decisions = {
        key: described(_advised(strength, decision), about(decision))
        for key, decision in knowledge.vocabulary.decisions.items()
    }
    return mapping(decisions, minProperties=1, maxProperties=1)


def _advised(strength: Strength, decision: Decision) -> Schema:
    """What may be said of one decision: options for a list, options or a stretch for the others."""
    value = ref(f"values of {decision.key}")
    if decision.kind == "list":
        return one_or_more(value)
    words = ends(value)
    if strength in ("must", "should", "may") and decision.kind in _AIMS:
        words["aim"] = choice(_AIMS[decision.kind])
    rules: list[Any] = [*ONE_END_EACH, *(ONE_SIDE if strength == "never" else [])]
    stretch = mapping(words, minProperties=1, allOf=rules)
    return stretch if decision.kind == "number" else {"anyOf": [*one_or_more(value)["anyOf"], stretch]}


def _case(knowledge: Knowledge) -> Schema:
    given = mapping(
        {
            key: described(ref(f"values of {key}"), about(attribute))
            for key, attribute in knowledge.vocabulary.testable.items()
        }
    )
    return mapping({"given": given, "expect": choice(("fires", "silent")), "note": LINE}, ["given", "expect"])
