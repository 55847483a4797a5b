"""Checks a knowledge folder and gathers every finding before saying a word."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from pathlib import Path

from advisor.errors import InputError, KnowledgeError, Problem
from advisor.inference.examples import limit_cases, missing_cases, run_examples
from advisor.knowledge.load import read_files
from advisor.knowledge.parse import parse_knowledge


@dataclass(frozen=True, slots=True)
class Report:
    """What was checked and what was found."""

    rules: int
    examples: int
    findings: tuple[Problem, ...]


def check_folder(root: Path) -> Report:
    """Everything wrong with a knowledge folder, read afresh: files, names, placing, examples.

    Raises InputError where there is no such folder.
    """
    if not root.is_dir():
        what = "is not a folder" if root.exists() else "no such folder"
        raise InputError(
            Problem(str(root), what, allowed="a folder that holds vocabulary.yaml, reference/ and rules/")
        )
    try:
        files = read_files(root)
    except KnowledgeError as error:
        return Report(0, 0, error.problems)
    knowledge, problems = parse_knowledge(files, root)
    if knowledge is None:
        return Report(0, 0, problems)
    found = list(problems)
    for rule in knowledge.rules:
        found += run_examples(rule, knowledge.vocabulary)
        found += missing_cases(rule, knowledge.vocabulary)
        found += limit_cases(rule, knowledge.vocabulary)
    examples = sum(len(rule.examples) for rule in knowledge.rules)
    return Report(len(knowledge.rules), examples, tuple(found))


def findings_text(report: Report) -> str:
    """One line a finding, then the summary."""
    return "".join(f"{line}\n" for line in [*map(str, report.findings), summary(report)])


def findings_json(report: Report) -> str:
    """The findings as a JSON list of place, what, given, allowed, nearest."""
    return json.dumps([asdict(finding) for finding in report.findings], ensure_ascii=False, indent=1) + "\n"


def summary(report: Report) -> str:
    """What was looked at and how much was found, on one line.

    >>> summary(Report(646, 2100, ()))
    '646 rules, 2,100 examples, no finding'
    """
    count = len(report.findings)
    said = "no finding" if not count else f"{count:,} finding{'s' if count > 1 else ''}"
    return f"{report.rules:,} rules, {report.examples:,} examples, {said}"
