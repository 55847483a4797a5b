"""Finds the line of a row, a word or a source in the files, for findings that no rule stands for."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path


@dataclass(frozen=True)
class Where:
    """The files of a knowledge folder by their path in it; without files a place is the name alone."""

    files: Mapping[str, bytes] = field(default_factory=dict)
    root: Path = Path()

    def attribute(self, key: str) -> str:
        """The line of an attribute in the vocabulary."""
        return self._line("vocabulary.yaml", rf"^  {re.escape(key)}:")

    decision = attribute

    def source(self, key: str) -> str:
        """The line of a source."""
        return self._line("sources.yaml", rf"^\s*-?\s*key: {re.escape(key)}\s*$")

    def row(self, table: str, key: str) -> str:
        """The line of a row of a table."""
        return self._line(f"reference/{table}.yaml", rf"^\s*-?\s*key: ['\"]?{re.escape(key)}['\"]?\s*$")

    def word(self, term: str) -> str:
        """The line of a shop word."""
        return self._line("words.yaml", rf"^\s*-?\s*term: ['\"]?{re.escape(term)}['\"]?\s*$")

    def file(self, name: str) -> str:
        """A file of the folder."""
        return str(self.root / name)

    def _line(self, name: str, pattern: str) -> str:
        text = self.files.get(name, b"").decode("utf-8", "replace")
        found = re.search(pattern, text, re.MULTILINE)
        if found is None:
            return self.file(name)
        return f"{self.file(name)}:{text.count(chr(10), 0, found.start()) + 1}"
