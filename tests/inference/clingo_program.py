"""Rules told to a third party: the answer set solver clingo, which shares no line with our matchers.

The translation reads rules and situations only. Numbers become thousandths, grades compare by the
size of their grain, and what is unknown is simply absent.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import clingo

from advisor.knowledge.rules import Condition, Rule
from advisor.knowledge.vocabulary import Value, Vocabulary

Situation = Mapping[str, Value | None]

_GENERAL = """
known(A) :- value(A, _).
value(A, V) :- said(A, V), not clash(A).
clash(A) :- said(A, V), said(A, W), V != W.
"""
_COMPARE = {"at least": ">=", "at most": "<=", "above": ">", "below": "<"}
_FINER = {"at least": "<=", "at most": ">=", "above": "<", "below": ">"}  # finer grain is smaller


def solve(
    rules: Sequence[Rule], vocabulary: Vocabulary, situation: Situation
) -> tuple[set[str], dict[str, str], set[str]]:
    """The ids that fire, the concluded values as clingo writes them, and the attributes in conflict."""
    program = "\n".join(
        [
            _GENERAL,
            *_facts(vocabulary, situation),
            *(line for number, rule in enumerate(rules) for line in _rule(number, rule, vocabulary)),
        ]
    )
    control = clingo.Control(["--warn=none"])
    control.add("base", [], program)
    control.ground([("base", [])])
    models: list[list[clingo.Symbol]] = []
    control.solve(on_model=lambda model: models.append(list(model.symbols(atoms=True))))
    assert len(models) == 1, "a placed rule base has exactly one meaning"
    fired = {rules[_number(atom)].id for atom in models[0] if atom.name == "fires"}
    clashes = {atom.arguments[0].string for atom in models[0] if atom.name == "clash"}
    said = {
        atom.arguments[0].string: str(atom.arguments[1])
        for atom in models[0]
        if atom.name == "said" and atom.arguments[0].string not in clashes
    }
    return fired, said, clashes


def _number(atom: clingo.Symbol) -> int:
    return atom.arguments[0].number


def term(value: Value) -> str:
    """A value as clingo writes it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(round(value * 1000)) if isinstance(value, float) else f'"{value}"'


def _facts(vocabulary: Vocabulary, situation: Situation) -> Iterator[str]:
    for key, value in situation.items():
        if value is not None:
            yield f'value("{key}", {term(value)}).'
    for grade in vocabulary.grades.values():
        yield f'grain("{grade.key}", "{grade.scale}", {round(grade.um * 1000)}).'
    for decision in vocabulary.decisions.values():
        for place, option in enumerate(decision.options):
            yield f'place("{decision.key}", "{option}", {place}).'


def _rule(number: int, rule: Rule, vocabulary: Vocabulary) -> Iterator[str]:
    for side, conditions in (("when", rule.when), ("unless", rule.unless)):
        for index, condition in enumerate(conditions):
            for body in _bodies(condition, vocabulary):
                yield f"{side}({number}, {index}) :- {body}."
    silent = [f"unless({number}, {index})" for index in range(len(rule.unless))]
    if silent:
        yield f"silenced({number}) :- {', '.join(silent)}."
    when = [f"when({number}, {index})" for index in range(len(rule.when))]
    yield f"fires({number}) :- {', '.join([*when, f'not silenced({number})' if silent else '#true'])}."
    for item in rule.conclusions():
        yield f'said("{item.attribute}", {term(item.value)}) :- fires({number}).'


def _bodies(condition: Condition, vocabulary: Vocabulary) -> Iterator[str]:
    name = condition.attribute
    kind = vocabulary.testable[name].kind
    if condition.operator == "known":
        yield f'{"" if condition.operand[0] else "not "}known("{name}")'
    elif condition.operator == "in":
        for value in condition.operand:
            yield f'value("{name}", {term(value)})'
    elif condition.operator == "not in":
        others = ", ".join(f"V != {term(value)}" for value in condition.operand)
        yield f'value("{name}", V), {others}'
    elif kind == "grade":
        limit = vocabulary.grades[str(condition.operand[0])]
        yield (
            f'value("{name}", G), grain(G, "{limit.scale}", U), '
            f"U {_FINER[condition.operator]} {round(limit.um * 1000)}"
        )
    elif kind == "ordered":
        yield (
            f'value("{name}", V), place("{name}", V, P), place("{name}", {term(condition.operand[0])}, L), '
            f"P {_COMPARE[condition.operator]} L"
        )
    else:
        yield f'value("{name}", V), V {_COMPARE[condition.operator]} {term(condition.operand[0])}'
