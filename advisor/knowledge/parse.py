"""Parses the files of a knowledge folder: every name resolved, every fault gathered."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from advisor.errors import InputError, Problem, listing, nearest
from advisor.knowledge.base import ROW_MODELS, Knowledge, Tables, fingerprint, layout_of
from advisor.knowledge.fields import TWICE, Faults, fields
from advisor.knowledge.places import place_rules
from advisor.knowledge.read_rules import Names, read_rules
from advisor.knowledge.read_tables import (
    Places,
    build_tables,
    read_cells,
    read_sources,
    read_table,
    read_words,
    resolve_rows,
)
from advisor.knowledge.read_vocabulary import read_vocabulary
from advisor.knowledge.reference import Media, Row
from advisor.knowledge.rules import Rule
from advisor.knowledge.strict_yaml import Node, load

_TABLES = (*ROW_MODELS, "cells")

Files = Mapping[str, bytes]


def parse_knowledge(
    files: Files, root: Path, parsed: dict[tuple[str, bytes], Node] | None = None
) -> tuple[Knowledge | None, tuple[Problem, ...]]:
    """The knowledge in some files, and every fault; None where a fault leaves nothing to go on with.

    `parsed` keeps the YAML of sound files, for whoever parses nearly the same folder again and again.
    """
    problems: list[Problem] = []
    nodes = _parse(files, root, problems, {} if parsed is None else parsed)
    expected = {f"reference/{table}.yaml": table for table in _TABLES}
    missing = [table for name, table in expected.items() if name not in files]
    problems += [Problem(str(root / "reference" / f"{table}.yaml"), "missing table") for table in missing]
    for name in files:
        if name.startswith("reference/") and name not in expected:
            table = Path(name).stem
            what = "no table has this name"
            problems.append(Problem(str(root / name), what, table, listing(_TABLES), nearest(table, _TABLES)))
    if missing or any(name not in nodes for name in files if not name.startswith("rules/")):
        return None, tuple(problems)
    faults = {name: Faults(str(root / name)) for name in files}
    sources = read_sources(nodes["sources.yaml"], faults["sources.yaml"])
    words = read_words(nodes["words.yaml"], faults["words.yaml"])
    tables = _tables(nodes, sources, faults)
    keys = {table: tuple(tables[table]) for table in _TABLES}
    vocabulary = read_vocabulary(nodes["vocabulary.yaml"], keys, tables.grades, faults["vocabulary.yaml"])
    rules = _rules(nodes, Names(vocabulary, sources), faults)
    problems += [fault for name in faults for fault in faults[name].found]
    problems += _check_ids(rules, _written_ids(nodes))
    places, circles = place_rules(rules, vocabulary)
    problems += circles
    return Knowledge(
        vocabulary=vocabulary,
        sources=sources,
        tables=tables,
        rules=rules,
        words=words,
        fingerprint=fingerprint(vocabulary, sources, tables, rules),
        layout=() if problems else layout_of(places, rules),
    ), tuple(problems)


def _parse(
    files: Files, root: Path, problems: list[Problem], parsed: dict[tuple[str, bytes], Node]
) -> dict[str, Node]:
    nodes = {}
    for name, content in files.items():
        if (name, content) in parsed:
            nodes[name] = parsed[name, content]
            continue
        try:
            text = content.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            problems.append(Problem(str(root / name), f"not UTF-8 text (byte {error.start})"))
            continue
        try:
            nodes[name] = parsed[name, content] = load(text, str(root / name))
        except InputError as error:
            problems += error.problems
    return nodes


def _tables(nodes: Mapping[str, Node], sources: Mapping[str, object], faults: Mapping[str, Faults]) -> Tables:
    places: Places = {}
    named = {table: faults[f"reference/{table}.yaml"] for table in _TABLES}
    rows: dict[str, dict[str, Row]] = {
        table: read_table(table, nodes[f"reference/{table}.yaml"], named[table], places)
        for table in ROW_MODELS
    }
    media = {key: row for key, row in rows["media"].items() if isinstance(row, Media)}
    cells = read_cells(nodes["reference/cells.yaml"], media, sources, named["cells"])
    resolve_rows(rows, sources, places, named)
    return build_tables(rows, cells)


def _rules(nodes: Mapping[str, Node], names: Names, faults: Mapping[str, Faults]) -> tuple[Rule, ...]:
    rules: list[Rule] = []
    for name, node in nodes.items():
        if name.startswith("rules/"):
            topic = name.removeprefix("rules/").removesuffix(".yaml")
            rules += read_rules(node, topic, names, faults[name])
    # By id, as in the fingerprint: no answer may depend on which file a rule stands in.
    return tuple(sorted(rules, key=lambda rule: rule.id))


def _written_ids(nodes: Mapping[str, Node]) -> list[str]:
    """Every rule id that stands in the files, those of faulty rules included."""
    ids = []
    for name, node in nodes.items():
        if name.startswith("rules/") and isinstance(node.value, list):
            named = [fields(item)["rule"].value for item in node.value if "rule" in fields(item)]
            ids += [identity for identity in named if isinstance(identity, str)]
    return ids


def _check_ids(rules: tuple[Rule, ...], written: list[str]) -> list[Problem]:
    """Ids are unique in the whole base, and what a rule overrides exists and does not lead back to it."""
    problems = []
    first: dict[str, Rule] = {}
    for rule in rules:
        if rule.id in first:
            what = f"the rule id stands already at {first[rule.id].place}"
            problems.append(Problem(rule.place, what, given=rule.id, kind=TWICE))
        first.setdefault(rule.id, rule)
    for rule in rules:
        for other in rule.overrides:
            if other not in written:
                close = nearest(other, written)
                what = "overrides an unknown rule"
                told = Problem(rule.place, what, other, listing(written), close, "overrides-nobody")
                problems.append(told)
            elif rule.id in _overridden_by(other, first):
                what = f"{rule.id} and {other} override each other in a circle"
                problems.append(Problem(rule.place, what, kind="overrides-in-a-circle"))
    return problems


def _overridden_by(identity: str, rules: Mapping[str, Rule]) -> frozenset[str]:
    reached: set[str] = set()
    ahead = [identity]
    while ahead:
        current = ahead.pop()
        if current not in reached and current in rules:
            reached.add(current)
            ahead += rules[current].overrides
    return frozenset(reached)
