"""Conditions that can never hold, and `unless` that always or never does."""

from __future__ import annotations

from collections.abc import Iterator

from advisor.check.finding import Code, Finding
from advisor.check.meaning import Meaning, joined
from advisor.check.solver import Case
from advisor.knowledge.rules import Rule, show_value

IMPOSSIBLE = Code(
    "K201", "conditions-exclude-each-other", "error",
    "The conditions of a rule exclude each other, or ask for a value that the vocabulary does not let be.",
    "The rule never speaks, so what it knows is lost.",
    "Widen the condition that is wrong. `known: false` on an attribute for which the vocabulary presumes a value "
    "never holds either.",
)  # fmt: skip
UNREACHABLE = Code(
    "K202", "no-such-situation", "warning",
    "Each condition can hold, but no row of the tables and no conclusion lets all of them hold together.",
    "No alloy, defect, finish or media has these facts at once, or no rule draws the conclusion asked for in such "
    "a situation; the rule never speaks.",
    "Look the facts up in `knowledge/reference`, or see which rules conclude what is tested. A rule written for a "
    "row that is still to come says so under `allows`.",
)  # fmt: skip
DEAD_VALUE = Code(
    "K203", "value-that-cannot-hold", "warning",
    "One value in a list of a condition can never hold beside the other conditions.",
    "The list says that the rule speaks for a case in which it is always silent.",
    "Take the value out of the list, or correct the condition or the table row that keeps it out.",
)  # fmt: skip
ALWAYS_SILENCED = Code(
    "K204", "unless-always-holds", "error",
    "Wherever `when` holds, `unless` holds too.",
    "The rule is always silent.",
    "Narrow `unless` to the exception that is meant.",
)  # fmt: skip
NEVER_SILENCED = Code(
    "K205", "unless-never-holds", "warning",
    "`unless` can never hold where `when` does.",
    "The exception is empty; a reader takes it for a limit of the rule.",
    "Take `unless` out, or write the exception that is meant.",
)  # fmt: skip
CODES = (IMPOSSIBLE, UNREACHABLE, DEAD_VALUE, ALWAYS_SILENCED, NEVER_SILENCED)


def never_firing(base: Meaning) -> Iterator[Finding]:
    """Rules that no situation lets speak, and what keeps them silent."""
    for rule in base.rules:
        empty = [key for key, mask in base.when[rule.id].items() if not mask]
        if empty:
            yield IMPOSSIBLE.at(rule, f"what {rule.id} asks of {' and '.join(empty)} can never be")
        elif base.find(base.matches(rule)) is None:
            yield UNREACHABLE.at(
                rule, f"no situation meets all conditions of {rule.id}: {_nearest(base, rule)}"
            )
        elif rule.unless and base.find(base.fires(rule)) is None:
            yield ALWAYS_SILENCED.at(rule, f"the `unless` of {rule.id} holds wherever its `when` does")


def _nearest(base: Meaning, rule: Rule) -> str:
    """A smallest set of conditions that exclude each other."""
    kept = dict(base.when[rule.id])
    for key in list(kept):
        fewer = tuple((other, mask) for other, mask in kept.items() if other != key)
        if base.find(Case(fewer, tuple(base.supports(fewer)))) is None:
            del kept[key]
    shown = [item.text() for item in rule.when if item.attribute in kept]
    return " and ".join(shown)


def dead_values(base: Meaning) -> Iterator[Finding]:
    """Values in lists that can never hold beside the other conditions of their rule."""
    for rule in base.rules:
        fires = base.fires(rule)
        lists = [item for item in rule.when if item.operator == "in" and len(item.operand) > 1]
        if not lists or base.find(fires) is None:
            continue
        for condition in lists:
            key = condition.attribute
            dead = [
                show_value(value)
                for value in condition.operand
                if base.find(Case((*fires.literals, (key, base.space.cell(key, value))), fires.clauses))
                is None
            ]
            if dead:
                yield DEAD_VALUE.at(rule, f"in {rule.id}, {key} can never be {' or '.join(dead)}")


def idle_unless(base: Meaning) -> Iterator[Finding]:
    """Exceptions that can never hold where their rule does."""
    for rule in base.rules:
        if rule.unless and base.find(base.matches(rule)) is not None:
            both = joined(base.matches(rule), base.silences(rule))
            if base.find(both) is None:
                yield NEVER_SILENCED.at(rule, f"the `unless` of {rule.id} never holds where its `when` does")
