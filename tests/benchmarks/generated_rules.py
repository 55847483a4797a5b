"""A base of made-up rules over the packaged vocabulary, as large as one likes."""

from __future__ import annotations

import random
from typing import Any

from advisor.knowledge.base import Knowledge
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.rules import Rule
from advisor.knowledge.vocabulary import Attribute, Decision, Vocabulary

_LETTERS = "bdfgklmnprst"
_STRENGTHS = ("should", "avoid", "may")


def base_of(size: int, seed: int = 7) -> Knowledge:
    """So many rules of two to four conditions, a tenth with an exception, one in thirty a demand."""
    packaged = load_knowledge()
    chance = random.Random(seed)
    return packaged.with_rules([_rule(number, chance, packaged.vocabulary) for number in range(size)])


def _rule(number: int, chance: random.Random, words: Vocabulary) -> Rule:
    decision = chance.choice([item for item in words.decisions.values() if item.kind in ("list", "number")])
    early = [
        item
        for item in words.attributes.values()
        if item.set_by in ("job", "table") and item.kind in ("choice", "number", "flag")
    ]
    picked = [words.attributes["stage"], *chance.sample(early, chance.randint(1, 3))]
    binding = number % 30 == 0
    return Rule.model_validate(
        {
            "id": f"generated-{number}",
            "title": _sentence(chance),
            "when": [_condition(item, chance) for item in picked],
            "unless": [_condition(chance.choice(early), chance)] if number % 10 == 0 else [],
            "then": [_advice(decision, chance.choice(("must", "never") if binding else _STRENGTHS), chance)],
            "concern": chance.choice(("form", "corrosion") if binding else ("form", "look", "economy")),
            "because": _sentence(chance),
            "not_for": _sentence(chance),
            "source": [{"source": "common-practice"}],
            "examples": [{"given": {}, "expect": "silent"}],
            "topic": "generated",
            "place": f"rules/generated.yaml:{number + 1}:1",
        }
    )


def _condition(attribute: Attribute, chance: random.Random) -> dict[str, Any]:
    if attribute.kind == "number":
        low, high = attribute.low or 0.0, attribute.high or 1.0
        limit = low + (high - low) * chance.randint(1, 19) / 20
        return {
            "attribute": attribute.key,
            "operator": chance.choice(("at least", "below")),
            "operand": [limit],
        }
    values = (True, False) if attribute.kind == "flag" else attribute.values
    picked = chance.sample(values, chance.randint(1, min(3, len(values) - 1)))
    return {"attribute": attribute.key, "operator": "in", "operand": picked}


def _advice(decision: Decision, strength: str, chance: random.Random) -> dict[str, Any]:
    said: dict[str, Any] = {"type": "advice", "strength": strength, "decision": decision.key}
    if decision.kind == "list":
        return {
            **said,
            "options": chance.sample(decision.options, chance.randint(1, min(3, len(decision.options)))),
        }
    end = chance.choice(("low", "high"))
    low, high = decision.low or 0.0, decision.high or 1.0
    return {**said, "span": {end: low + (high - low) * chance.randint(1, 9) / 10}}


def _sentence(chance: random.Random) -> str:
    """Eight words out of some thousand."""
    return " ".join(
        "".join(chance.choice(_LETTERS) + chance.choice("aeiou") for _ in range(2)) for _ in range(8)
    )
