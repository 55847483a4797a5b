"""Words that nobody uses: conclusions, attributes and options that no rule ever takes up."""

from __future__ import annotations

from collections.abc import Iterator

from advisor.check.finding import Code, Finding
from advisor.check.meaning import Meaning
from advisor.check.where import Where
from advisor.knowledge.rules import show_value

UNUSED_CONCLUSION = Code(
    "K401", "conclusion-nobody-tests", "warning",
    "Rules conclude an attribute that no rule tests.",
    "The conclusion changes nothing.",
    "Test it where it matters, or drop the rules and the attribute.",
)  # fmt: skip
UNDRAWN = Code(
    "K402", "conclusion-nobody-draws", "warning",
    "A value of a concluded attribute is declared, and no rule that can fire concludes it.",
    "A rule that tests the value never speaks, and a reader of the vocabulary is misled.",
    "Write the rule that concludes it, or take the value out of the vocabulary.",
)  # fmt: skip
UNUSED_ATTRIBUTE = Code(
    "K403", "attribute-nobody-uses", "note",
    "The vocabulary declares an attribute that no rule tests or concludes.",
    "The technician may be asked for something that no rule hears; the formulas may still need it.",
    "Write the rule that needs it, or drop it if no formula does.",
)  # fmt: skip
UNUSED_VALUE = Code(
    "K404", "value-nobody-tests", "note",
    "A choice of the vocabulary has a value that no condition names.",
    "Situations with this value are treated like any other; often a rule is missing.",
    "Write the rule that the value asks for, or leave it where the difference does not matter to any rule.",
)  # fmt: skip
UNADVISED = Code(
    "K405", "option-nobody-advises", "warning",
    "An option of a decision is never advised: no `must`, `should` or `may` names it. Of a quantity, no rule speaks "
    "at all.",
    "It can win only as the usual row of its table, or not at all.",
    "Write the rule that says when it is the right one, or take it out of the table.",
)  # fmt: skip
CODES = (UNUSED_CONCLUSION, UNDRAWN, UNUSED_ATTRIBUTE, UNUSED_VALUE, UNADVISED)

#: Choices with more values than these are tables of their own; a rule need not name every row.
_MOST_VALUES = 12


def unused_conclusions(base: Meaning, where: Where) -> Iterator[Finding]:
    """Concluded attributes that nobody tests, and declared values that nobody draws."""
    tested = {item.attribute for rule in base.rules for item in (*rule.when, *rule.unless)}
    for key, rules in base.concluding.items():
        declared = base.vocabulary.attributes[key]
        if rules and key not in tested:
            yield Finding(UNUSED_CONCLUSION, where.attribute(key), f"no rule tests the conclusion {key}")
        drawn = {cell for rule, cell in rules if base.find(base.fires(rule)) is not None}
        values = (True,) if declared.kind == "flag" else declared.values
        missing = [show_value(value) for value in values if base.space.cell(key, value) not in drawn]
        if missing:
            says = f"no rule that can fire concludes {key}: {', '.join(missing)}"
            yield Finding(UNDRAWN, where.attribute(key), says)


def unused_attributes(base: Meaning, where: Where) -> Iterator[Finding]:
    """Declared attributes that no rule tests, and declared values that no condition names."""
    named: dict[str, set[object]] = {}
    for rule in base.rules:
        for item in (*rule.when, *rule.unless):
            named.setdefault(item.attribute, set()).update(item.operand)
    for key, attribute in base.vocabulary.attributes.items():
        if attribute.set_by != "rule" and key not in named:
            yield Finding(UNUSED_ATTRIBUTE, where.attribute(key), f"no rule tests {key}")
        elif attribute.kind == "choice" and key in named and len(attribute.values) <= _MOST_VALUES:
            silent = [value for value in attribute.values if value not in named[key]]
            if silent and len(silent) < len(attribute.values):
                says = f"no condition names {key}: {', '.join(silent)}"
                yield Finding(UNUSED_VALUE, where.attribute(key), says)


def unadvised_options(base: Meaning, where: Where) -> Iterator[Finding]:
    """Options of list and ordered decisions that no rule speaks for, and quantities that no rule speaks of."""
    spoken = {item.decision for rule in base.rules for item in rule.advice()}
    for key, decision in base.vocabulary.decisions.items():
        if not decision.options:
            if key not in spoken:
                yield Finding(UNADVISED, where.decision(key), f"no rule ever speaks of {key}")
            continue
        named = {
            option
            for rule in base.rules
            for item in rule.advice()
            if item.decision == key and item.strength in ("must", "should", "may")
            for option in item.options
        }
        silent = [option for option in decision.options if option not in named]
        if silent:
            says = f"no rule ever speaks for {key}: {', '.join(silent)}"
            yield Finding(UNADVISED, where.decision(key), says)
