"""Checks a knowledge folder and gathers every finding before saying a word."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from advisor.check.finding import SEVERITIES, Finding
from advisor.check.folder import findings_of
from advisor.check.run import Outcome, codes, examine
from advisor.check.sarif import to_sarif
from advisor.check.where import Where
from advisor.errors import InputError, KnowledgeError, Problem
from advisor.inference.examples import limit_cases, missing_cases, run_examples
from advisor.knowledge.files import read_files
from advisor.knowledge.parse import parse_knowledge
from advisor.knowledge.revision import read_revision, split_revision


@dataclass(frozen=True, slots=True)
class Report:
    """What was checked, what was found, and what rules allow themselves with the reason that they give."""

    rules: int
    examples: int
    findings: tuple[Finding, ...]
    allowed: tuple[tuple[Finding, str], ...] = ()

    @property
    def failed(self) -> bool:
        """Whether anything is wrong; warnings and notes are worth a look and fail nothing."""
        return self.count("error") > 0

    def count(self, severity: str) -> int:
        """How many findings there are of a severity."""
        return sum(finding.code.severity == severity for finding in self.findings)


def check_folder(root: Path) -> Report:
    """Everything wrong with a knowledge folder, read afresh: files, names, placing, cases, meaning.

    `FOLDER@REVISION` is the folder as committed in a git revision. Raises InputError where there is no
    such folder or revision.
    """
    if not root.is_dir():
        named = split_revision(root)
        if named is not None:
            return check_files(_committed(*named), root)
        what = "is not a folder" if root.exists() else "no such folder"
        raise InputError(
            Problem(str(root), what, allowed="a folder that holds vocabulary.yaml, reference/ and rules/")
        )
    try:
        files = read_files(root)
    except KnowledgeError as error:
        return Report(0, 0, _told(error.problems))
    return check_files(files, root)


def _committed(folder: Path, revision: str) -> dict[str, bytes]:
    """The files of a revision; one that is not there is a slip of the keyboard, not a finding."""
    try:
        return read_revision(folder, revision)
    except KnowledgeError as error:
        raise InputError(error.problems) from None


def check_files(files: Mapping[str, bytes], root: Path) -> Report:
    """Everything wrong with knowledge files, given by their path in the folder `root`."""
    knowledge, problems = parse_knowledge(files, root)
    if knowledge is None:
        return Report(0, 0, _told(problems))
    cases = [
        problem
        for rule in knowledge.rules
        for look in (run_examples, missing_cases, limit_cases)
        for problem in look(rule, knowledge.vocabulary)
    ]
    examples = sum(len(rule.examples) for rule in knowledge.rules)
    # what a rule means can only be looked at where all names and places are settled
    deep = Outcome((), ()) if problems else examine(knowledge, Where(files, root))
    found = (*_told([*problems, *cases]), *deep.findings)
    return Report(len(knowledge.rules), examples, found, deep.allowed)


def _told(problems: Iterable[Problem]) -> tuple[Finding, ...]:
    return tuple(findings_of(problems, {code.name: code for code in codes().values()}))


def findings_text(report: Report, everything: bool = False) -> str:
    """One line a finding, then the summary; warnings and notes only where everything is asked for."""
    lines = [
        f"{finding.place}: {finding.code.code} {finding.code.severity}: {finding.says}"
        for finding in report.findings
        if everything or finding.code.severity == "error"
    ]
    return "".join(f"{line}\n" for line in [*lines, summary(report)])


def findings_json(report: Report) -> str:
    """All findings as a JSON list of code, severity, place, what, given, allowed, nearest, help, reason.

    `reason` is why a rule allows itself the finding, whose severity then is `allowed`; null where nobody does.
    """
    rows = [_row(finding, None) for finding in report.findings]
    rows += [_row(finding, reason) for finding, reason in report.allowed]
    return json.dumps(rows, ensure_ascii=False, indent=1) + "\n"


def _row(finding: Finding, reason: str | None) -> dict[str, Any]:
    problem = finding.problem or Problem(finding.place, finding.says)
    return {
        "code": finding.code.code, "severity": "allowed" if reason else finding.code.severity, "place": finding.place,
        "what": problem.what, "given": problem.given, "allowed": problem.allowed, "nearest": problem.nearest,
        "help": finding.code.page, "reason": reason,
    }  # fmt: skip


def findings_sarif(report: Report) -> str:
    """All findings as SARIF 2.1.0, those that rules allow themselves as suppressed."""
    return to_sarif(report.findings, codes(), report.allowed)


def summary(report: Report) -> str:
    """What was looked at and how much was found, on one line.

    >>> summary(Report(646, 2100, ()))
    '646 rules, 2,100 examples, no finding'
    """
    count = report.count("error")
    said = "no finding" if not count else f"{count:,} finding{'s' if count > 1 else ''}"
    counts = {severity: report.count(severity) for severity in SEVERITIES[1:]}
    more = [
        f"{number} {severity}{'s' if number > 1 else ''}" for severity, number in counts.items() if number
    ]
    if report.allowed:
        more.append(f"{len(report.allowed)} allowed by the rules themselves")
    looked = f"{report.rules:,} rules, {report.examples:,} examples"
    return f"{looked}, {', '.join(more)}, {said}" if more else f"{looked}, {said}"
