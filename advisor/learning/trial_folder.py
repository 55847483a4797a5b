"""Tries a change of the knowledge on a copy of its folder: what `advisor check` finds, what it does to jobs."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from advisor.check.run import examine
from advisor.check.where import Where
from advisor.errors import KnowledgeError
from advisor.inference.examples import limit_cases, missing_cases, run_examples
from advisor.knowledge.base import Knowledge
from advisor.knowledge.files import read_files
from advisor.knowledge.parse import parse_knowledge


@contextmanager
def changed_folder(folder: Path, files: Mapping[str, str]) -> Iterator[Path]:
    """A copy of a knowledge folder with some files replaced; it goes when the work is done."""
    with tempfile.TemporaryDirectory(prefix="advisor-proposal-") as name:
        copy = Path(name) / "knowledge"
        shutil.copytree(folder, copy, ignore=shutil.ignore_patterns("trials", ".git"))
        for path, text in files.items():
            (copy / path).write_text(text, encoding="utf-8")
        yield copy


def checked(folder: Path, files: Mapping[str, str]) -> tuple[Knowledge | None, tuple[str, ...]]:
    """The knowledge with some files replaced, and every fault of it, as `advisor check` tells them.

    None where it cannot be read at all.
    """
    with changed_folder(folder, files) as copy:
        try:
            bytes_of = read_files(copy)
            knowledge, problems = parse_knowledge(bytes_of, copy)
        except KnowledgeError as error:
            return None, tuple(_short(str(item), copy) for item in error.problems)
        found = list(problems)
        if knowledge is not None:
            for rule in knowledge.rules:
                for look in (run_examples, missing_cases, limit_cases):
                    found += look(rule, knowledge.vocabulary)
        faults = [_short(str(item), copy) for item in found]
        if knowledge is not None and not faults:
            deep = examine(knowledge, Where(bytes_of, copy))
            faults += [
                _short(f"{item.place}: {item.code.code} {item.says}", copy)
                for item in deep.findings
                if item.code.severity == "error"
            ]
        return knowledge, tuple(faults)


def _short(text: str, copy: Path) -> str:
    return text.replace(f"{copy}/", "")
