"""The order in which rules may speak: one dependency graph over attributes and decisions.

A rule's consequence is placed once what it tests is there. Conclusions may feed each other; an
edge into a decision, or through `unless` or `not`, is strict, and a strict edge inside a circle is
an error that names the circle.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from advisor.errors import Problem
from advisor.knowledge.rules import Rule
from advisor.knowledge.vocabulary import Vocabulary

#: Cautions, checks, remedies and other sentences come when everything is decided.
NOTES = "notes"


@dataclass(frozen=True, slots=True)
class Place:
    """A stop of the inference: a decision, a set of conclusions that feed each other, or the notes."""

    names: tuple[str, ...]
    rules: tuple[Rule, ...]

    @property
    def name(self) -> str:
        """The decision or attribute, or the attributes of a circle joined by a plus."""
        return "+".join(self.names)


@dataclass(frozen=True, slots=True)
class Edge:
    """`after` cannot be known before `before`; strict where a circle would make no sense."""

    before: str
    after: str
    strict: bool
    rule: str


def place_rules(
    rules: Sequence[Rule], vocabulary: Vocabulary
) -> tuple[tuple[Place, ...], tuple[Problem, ...]]:
    """The places in order, and a problem for every circle that cannot be resolved."""
    active = [rule for rule in rules if rule.status != "retired"]
    edges = [*_decision_edges(vocabulary), *_formula_edges(vocabulary), *_rule_edges(active, vocabulary)]
    nodes = _nodes(active, vocabulary, edges)
    circles = _components(nodes, edges)
    problems = []
    home = {name: index for index, names in enumerate(circles) for name in names}
    for edge in edges:
        if edge.strict and home[edge.before] == home[edge.after] and edge.rule:
            circle = " -> ".join(_path(edge.after, edge.before, circles[home[edge.before]], edges))
            rule = next(item for item in active if item.id == edge.rule)
            what = f"rule {edge.rule} makes {edge.after} wait for itself: {edge.before} -> {circle}"
            problems.append(Problem(rule.place, what, kind="rules-wait-in-a-circle"))
    places = [
        Place(names, _speakers(names, active))
        for names in circles
        if names[0] in vocabulary.decisions or vocabulary.attributes[names[0]].set_by == "rule"
    ]
    problems += _late_overrides(active, home, {*vocabulary.decisions, *(edge.after for edge in edges)})
    noted = tuple(rule for rule in active if any(item.type == "note" for item in rule.then))
    return (*places, Place((NOTES,), noted)), tuple(dict.fromkeys(problems))


def _speakers(names: tuple[str, ...], rules: Sequence[Rule]) -> tuple[Rule, ...]:
    """The rules that speak at a place, and those that may strike them out there."""
    speaking = {rule.id for rule in rules if _speaks_on(rule, names)}
    heard = set(speaking)
    while True:
        strikers = {rule.id for rule in rules if heard.intersection(rule.overrides)}
        if strikers <= heard:
            return tuple(rule for rule in rules if rule.id in heard)
        heard |= strikers


def _late_overrides(rules: Sequence[Rule], home: Mapping[str, int], waiting: Container[str]) -> list[Problem]:
    """A rule may only strike out advice that is placed after everything its own tests wait for.

    What strikes a striker is heard where the striker is, so it must be known there as well.
    """
    by_id = {rule.id: rule for rule in rules}
    problems = []
    for rule in rules:
        tested = {item.attribute for item in (*rule.when, *rule.unless) if item.attribute in waiting}
        last_tested = max((home[name] for name in tested), default=-1)
        for other in rule.overrides:
            if other in by_id and any(home[name] <= last_tested for name in _struck_at(other, by_id)):
                what = f"overrides {other}, whose advice is placed before what this rule tests is known"
                problems.append(Problem(rule.place, what, kind="override-too-late"))
    return problems


def _struck_at(identity: str, rules: Mapping[str, Rule]) -> set[str]:
    """The decisions at which a rule is heard: those it advises, and those at which it strikes."""
    reached: set[str] = set()
    ahead, seen = [identity], set()
    while ahead:
        current = ahead.pop()
        if current in seen or current not in rules:
            continue
        seen.add(current)
        reached.update(_targets(rules[current]))
        ahead += rules[current].overrides
    return reached


def _targets(rule: Rule) -> tuple[str, ...]:
    return tuple(item.decision for item in rule.advice())


def _speaks_on(rule: Rule, names: Iterable[str]) -> bool:
    wanted = set(names)
    return any(item.decision in wanted for item in rule.advice()) or any(
        item.attribute in wanted for item in rule.conclusions()
    )


def _nodes(rules: Sequence[Rule], vocabulary: Vocabulary, edges: Sequence[Edge]) -> tuple[str, ...]:
    concluded = (item.attribute for rule in rules for item in rule.conclusions())
    ends = (end for edge in edges for end in (edge.before, edge.after))
    return tuple(dict.fromkeys([*vocabulary.order, *concluded, *ends]))


def _decision_edges(vocabulary: Vocabulary) -> list[Edge]:
    order = vocabulary.order
    return [Edge(before, after, True, "") for before, after in pairwise(order)]


def _formula_edges(vocabulary: Vocabulary) -> list[Edge]:
    return [
        Edge(need, attribute.key, True, "")
        for attribute in vocabulary.attributes.values()
        for need in attribute.needs
    ]


def _rule_edges(rules: Sequence[Rule], vocabulary: Vocabulary) -> list[Edge]:
    edges = []
    for rule in rules:
        tested = [(item.attribute, item.operator == "not in") for item in rule.when]
        tested += [(item.attribute, True) for item in rule.unless]
        targets = [(item.decision, True) for item in rule.advice()]
        targets += [(item.attribute, False) for item in rule.conclusions()]
        edges += [
            Edge(attribute, target, negated or into_decision, rule.id)
            for target, into_decision in targets
            for attribute, negated in tested
        ]
    return edges


def _components(nodes: Sequence[str], edges: Sequence[Edge]) -> tuple[tuple[str, ...], ...]:
    """Strongly connected nodes together, each after what it needs (Tarjan 1972, without recursion)."""
    needs: dict[str, list[str]] = {node: [] for node in nodes}
    for edge in edges:
        needs[edge.after].append(edge.before)
    index: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    held: set[str] = set()
    found: list[tuple[str, ...]] = []
    for root in nodes:
        work = [(root, iter(needs[root]))] if root not in index else []
        if work:
            index[root] = low[root] = len(index)
            stack.append(root)
            held.add(root)
        while work:
            node, rest = work[-1]
            for need in rest:
                if need not in index:
                    index[need] = low[need] = len(index)
                    stack.append(need)
                    held.add(need)
                    work.append((need, iter(needs[need])))
                    break
                if need in held:
                    low[node] = min(low[node], index[need])
            else:
                work.pop()
                if work:
                    low[work[-1][0]] = min(low[work[-1][0]], low[node])
                if low[node] == index[node]:
                    cut = stack.index(node)
                    found.append(tuple(sorted(stack[cut:])))
                    held.difference_update(stack[cut:])
                    del stack[cut:]
    return tuple(found)


def _path(start: str, goal: str, within: Sequence[str], edges: Sequence[Edge]) -> list[str]:
    """A shortest way from start to goal inside a circle."""
    ways: Mapping[str, list[str]] = {
        name: [edge.after for edge in edges if edge.before == name and edge.after in within]
        for name in within
    }
    queue, seen = [[start]], {start}
    while queue:
        way = queue.pop(0)
        if way[-1] == goal:
            return way
        for step in ways[way[-1]]:
            if step not in seen:
                seen.add(step)
                queue.append([*way, step])
    return [start, goal]
