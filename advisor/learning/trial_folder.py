"""Tries changes of a knowledge folder in memory: the changed knowledge, and what `advisor check` finds in it.

What one change leaves as it was is read once for all of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from advisor.check.run import errors
from advisor.errors import KnowledgeError
from advisor.inference.examples import limit_cases, missing_cases, run_examples
from advisor.knowledge.base import Knowledge
from advisor.knowledge.files import read_files
from advisor.knowledge.node import Node
from advisor.knowledge.parse import parse_knowledge


class TrialFolder:
    """A knowledge folder as it lies on disk, against which changes are tried; nothing is ever written."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._files = read_files(folder)
        self._parsed: dict[tuple[str, bytes], Node] = {}

    def checked(self, files: Mapping[str, str]) -> tuple[Knowledge | None, tuple[str, ...]]:
        """The knowledge with some files replaced, and every fault of it, as `advisor check` tells them.

        None where it cannot be read at all.
        """
        changed = {**self._files, **{name: text.encode() for name, text in files.items()}}
        try:
            knowledge, problems = parse_knowledge(changed, self._folder, self._parsed)
        except KnowledgeError as error:
            return None, tuple(self._short(str(item)) for item in error.problems)
        found = list(problems)
        if knowledge is not None:
            for rule in knowledge.rules:
                for look in (run_examples, missing_cases, limit_cases):
                    found += look(rule, knowledge.vocabulary)
        faults = [self._short(str(item)) for item in found]
        if knowledge is not None and not faults:
            faults += [
                self._short(f"{item.place}: {item.code.code} {item.says}") for item in errors(knowledge)
            ]
        return knowledge, tuple(faults)

    def _short(self, text: str) -> str:
        return text.replace(f"{self._folder}/", "")
