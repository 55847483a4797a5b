"""The journal of a batch: what is finished, so that a second run need not do it again."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

from pydantic import ValidationError

from advisor.batch.task import Line

NAME = "batch.jsonl"


class Journal:
    """One line for each finished job, added as soon as its sheet is written.

    A job is known by its key alone (see `Way.key`), and counts as finished only while its sheet lies there
    with the bytes that were written. A torn last line, as a power cut leaves it, is passed over.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._path = folder / NAME
        self._known: dict[str, tuple[Line, str | None]] = {}
        torn = False
        if self._path.is_file():
            for text in self._path.read_text(encoding="utf-8", errors="replace").splitlines(keepends=True):
                torn = not text.endswith("\n")
                self._take(text)
        self._before = "\n" if torn else ""

    def _take(self, text: str) -> None:
        try:
            entry = json.loads(text)
            self._known[str(entry["key"])] = (Line.model_validate(entry["line"]), entry["sheet_sha256"])
        except (ValueError, KeyError, TypeError, ValidationError):
            return

    def finished(self, key: str, source: str) -> Line | None:
        """The line of a job finished before, for the place where it lies today; None where it must be done."""
        line, digest = self._known.get(key, (None, None))
        if line is None:
            return None
        if line.sheet is not None and _sha256(self._folder / line.sheet) != digest:
            return None
        return line.model_copy(update={"source": source})

    def note(self, key: str, line: Line, text: str | None) -> None:
        """Add a finished job; its sheet has been written by now."""
        digest = None if text is None else hashlib.sha256(text.encode()).hexdigest()
        entry = {"key": key, "sheet_sha256": digest, "line": line.model_dump(mode="json")}
        with self._path.open("a", encoding="utf-8") as stream:
            stream.write(self._before + json.dumps(entry, ensure_ascii=False) + "\n")
        self._before = ""


def _sha256(path: Path) -> str | None:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError:
        return None
