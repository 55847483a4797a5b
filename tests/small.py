"""A small shop written as text and read by the real readers, for tests that need a base of their own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from textwrap import dedent, indent

from advisor.choices.model import Spoken
from advisor.errors import Problem
from advisor.knowledge.base import Knowledge
from advisor.knowledge.fields import Faults
from advisor.knowledge.read_rules import Names, read_rules
from advisor.knowledge.read_vocabulary import read_vocabulary
from advisor.knowledge.reference import Grade
from advisor.knowledge.rules import Rule
from advisor.knowledge.strict_yaml import load
from advisor.knowledge.vocabulary import Vocabulary

GRADES: Mapping[str, Grade] = {
    key: Grade.model_validate({"key": key, "name": key, "source": ("fepa",), "scale": scale, "um": um})
    for key, scale, um in [
        ("P60", "P", 269.0),
        ("P80", "P", 201.0),
        ("P120", "P", 125.0),
        ("P180", "P", 82.0),
        ("P240", "P", 58.5),
        ("coarse", "web", 190.0),
        ("medium", "web", 110.0),
        ("fine", "web", 60.0),
        ("cut", "compound", 8.0),
        ("colour", "compound", 1.0),
    ]
}
TABLES = {"media": ("belt", "disc", "brush", "buff"), "grains": ("tough", "sharp")}
SOURCES = ("common-practice", "handbook")

VOCABULARY = """
attributes:
  stage: {title: stage, kind: choice, values: [clear, finish], set by: plan, means: A stage.}
  defect: {title: defect, kind: choice, values: [scale, burr, weld], set by: job, means: What must go.}
  depth_mm: {title: depth, kind: number, unit: mm, range: [0, 50], set by: job, means: How deep.}
  radius_mm: {title: radius, kind: number, unit: mm, range: [0.1, 5000], set by: job, means: How round.}
  wet: {title: wet, kind: flag, set by: job, means: Fluid can be used.}
  texture: {title: texture, kind: choice, values: [satin, bright], set by: table, means: What is asked for.}
  symptom: {title: symptom, kind: choice, values: [chatter, burn], set by: plan, means: What looks wrong.}
  previous.grade: {title: before, kind: grade, set by: plan, needs: [lubricant], means: The scratch found.}
  reach: {title: reach, kind: number, unit: "1", range: [0, 9], set by: formula, needs: [media], means: Fit.}
  risk: {title: risk, kind: choice, values: [low, high], set by: rule, means: A danger.}
  demand: {title: demand, kind: choice, values: [light, heavy], set by: rule, means: How much.}
  hot: {title: hot, kind: flag, set by: rule, means: Heat matters.}
  slow: {title: slow, kind: flag, set by: rule, means: Speed matters.}
decisions:
  media: {title: media, kind: list, options from: media, taken for: feature, means: The form.}
  pressure:
    {title: pressure, kind: ordered, options: [low, medium, high], taken for: media, means: How hard.}
  grain: {title: grain, kind: list, options from: grains, taken for: media, means: The mineral.}
  grade: {title: grade, kind: grade, taken for: grain, means: The size.}
  backing: {title: backing, kind: list, options: [J, X, "Y"], taken for: grade, means: What carries it.}
  lubricant: {title: lubricant, kind: list, options: [dry, oil], taken for: grade, means: What lies between.}
  speed:
    {title: speed, kind: number, unit: m/s, range: [0, 60], taken for: grade, means: Speed of the grain.}
  jump: {title: jump, kind: number, unit: "1", range: [1, 10], taken for: step, means: The step in size.}
"""

#: A rule without fault; the tests replace what they are about.
RULE = {
    "rule": "a-case",
    "title": "A case",
    "when": "{defect: scale}",
    "then": "[{should: {backing: J}}]",
    "concern": "form",
    "because": "It is so.",
    "not for": "Parts that are made another way.",
    "source": "common-practice",
    "examples": "[{given: {defect: scale}, expect: fires}, {given: {defect: burr}, expect: silent}]",
}


@cache
def small_vocabulary(text: str = VOCABULARY) -> Vocabulary:
    """The small vocabulary; a fault in it fails the test that uses it."""
    faults = Faults("vocabulary.yaml")
    vocabulary = read_vocabulary(load(text, "vocabulary.yaml"), TABLES, GRADES, faults)
    assert not faults.found, faults.found
    return vocabulary


def rule_text(**fields: str | None) -> str:
    """One rule as YAML; an underscore in a name is a space, None leaves the field out."""
    given = {key.replace("_", " "): value for key, value in fields.items()}
    merged = {**RULE, **given}
    lines = [f"{key}: {value}" for key, value in merged.items() if value is not None]
    return "- " + indent("\n".join(lines), "  ").lstrip() + "\n"


def read_text_of_rules(text: str, vocabulary: Vocabulary) -> tuple[tuple[Rule, ...], list[Problem]]:
    """Rules and faults of one file named rules.yaml."""
    faults = Faults("rules.yaml")
    node = load(dedent(text), "rules.yaml")
    return read_rules(node, "topic", Names(vocabulary, SOURCES), faults), faults.found


def rules_of(text: str, vocabulary: Vocabulary | None = None) -> tuple[Rule, ...]:
    """The rules of a text that has no fault."""
    rules, faults = read_text_of_rules(text, vocabulary or small_vocabulary())
    assert not faults, faults
    return rules


def knowledge_of(rules: Sequence[Rule], vocabulary: Vocabulary | None = None) -> Knowledge:
    """A knowledge base with rules and a vocabulary only: all that inference looks at."""
    return Knowledge.model_construct(
        vocabulary=vocabulary or small_vocabulary(), sources={}, rules=tuple(rules), words=(), fingerprint=""
    )


def says(identity: str, concern: str, then: str) -> tuple[Spoken, ...]:
    """Every piece of advice of one rule, as it is heard when the rule has fired."""
    (rule,) = rules_of(rule_text(rule=identity, concern=concern, then=f"[{then}]"))
    return tuple(Spoken(rule, advice) for advice in rule.advice())
