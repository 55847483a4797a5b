"""Checks a knowledge folder and gathers every finding before saying a word."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from advisor.check.finding import SEVERITIES, Code, Finding
from advisor.check.folder import CASES, UNREADABLE
from advisor.check.run import Outcome, codes, examine
from advisor.check.sarif import to_sarif
from advisor.check.where import Where
from advisor.errors import InputError, KnowledgeError, Problem
from advisor.inference.examples import limit_cases, missing_cases, run_examples
from advisor.knowledge.files import read_files
from advisor.knowledge.parse import parse_knowledge


@dataclass(frozen=True, slots=True)
class Report:
    """What was checked and what was found; `problems` are faults of files and cases, `deep` all others."""

    rules: int
    examples: int
    problems: tuple[tuple[Code, Problem], ...]
    deep: Outcome = field(default_factory=lambda: Outcome((), ()))

    @property
    def failed(self) -> bool:
        """Whether anything is wrong; warnings and notes are worth a look and fail nothing."""
        return bool(self.problems) or self.deep.count("error") > 0


def check_folder(root: Path) -> Report:
    """Everything wrong with a knowledge folder, read afresh: files, names, placing, cases, meaning.

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
        return Report(0, 0, _coded(UNREADABLE, error.problems))
    knowledge, problems = parse_knowledge(files, root)
    if knowledge is None:
        return Report(0, 0, _coded(UNREADABLE, problems))
    found = list(_coded(UNREADABLE, problems))
    for rule in knowledge.rules:
        for look in (run_examples, missing_cases, limit_cases):
            found += _coded(CASES, look(rule, knowledge.vocabulary))
    examples = sum(len(rule.examples) for rule in knowledge.rules)
    deep = Outcome((), ()) if problems else examine(knowledge, Where(files, root))
    return Report(len(knowledge.rules), examples, tuple(found), deep)


def _coded(code: Code, problems: Iterable[Problem]) -> tuple[tuple[Code, Problem], ...]:
    return tuple((code, problem) for problem in problems)


def findings_text(report: Report, everything: bool = False) -> str:
    """One line a finding, then the summary; warnings and notes only where everything is asked for."""
    lines = [str(problem) for _, problem in report.problems]
    lines += [
        f"{finding.place}: {finding.code.code} {finding.code.severity}: {finding.says}"
        for finding in report.deep.findings
        if everything or finding.code.severity == "error"
    ]
    return "".join(f"{line}\n" for line in [*lines, summary(report)])


def findings_json(report: Report) -> str:
    """All findings as a JSON list of code, severity, place, what, given, allowed, nearest, help."""
    rows: list[dict[str, Any]] = [
        {
            "code": code.code, "severity": code.severity, "place": problem.place, "what": problem.what,
            "given": problem.given, "allowed": problem.allowed, "nearest": problem.nearest, "help": code.page,
        }
        for code, problem in report.problems
    ]  # fmt: skip
    rows += [
        {
            "code": finding.code.code, "severity": finding.code.severity, "place": finding.place,
            "what": finding.says, "given": None, "allowed": None, "nearest": None, "help": finding.code.page,
        }
        for finding in report.deep.findings
    ]  # fmt: skip
    return json.dumps(rows, ensure_ascii=False, indent=1) + "\n"


def findings_sarif(report: Report) -> str:
    """All findings as SARIF 2.1.0."""
    shallow = [Finding(code, problem.place, str(problem)) for code, problem in report.problems]
    return to_sarif([*shallow, *report.deep.findings], codes())


def summary(report: Report) -> str:
    """What was looked at and how much was found, on one line.

    >>> summary(Report(646, 2100, ()))
    '646 rules, 2,100 examples, no finding'
    """
    count = len(report.problems) + report.deep.count("error")
    said = "no finding" if not count else f"{count:,} finding{'s' if count > 1 else ''}"
    counts = {severity: report.deep.count(severity) for severity in SEVERITIES[1:]}
    more = [
        f"{number} {severity}{'s' if number > 1 else ''}" for severity, number in counts.items() if number
    ]
    if report.deep.allowed:
        more.append(f"{len(report.deep.allowed)} allowed by the rules themselves")
    looked = f"{report.rules:,} rules, {report.examples:,} examples"
    return f"{looked}, {', '.join(more)}, {said}" if more else f"{looked}, {said}"
