"""Parsed knowledge, kept for the next run under the content it was parsed from."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from pydantic import ValidationError

from advisor import store as kept
from advisor.knowledge.base import Knowledge

_KIND = "knowledge"


def fetch(files: Mapping[str, bytes], root: Path, folder: Path | None = None) -> Knowledge | None:
    """The knowledge parsed earlier from exactly these files of this folder, or None."""
    body = kept.fetch(_KIND, address(files, root), folder)
    if body is None:
        return None
    try:
        return Knowledge.model_validate_json(body)
    except ValidationError:
        return None


def store(files: Mapping[str, bytes], root: Path, knowledge: Knowledge, folder: Path | None = None) -> None:
    """Keep the knowledge for the next run; a cache that cannot be written is done without."""
    kept.keep(_KIND, address(files, root), knowledge.model_dump_json().encode(), folder)


def address(files: Mapping[str, bytes], root: Path) -> str:
    """The address of the files of a folder under the code that parses them.

    The folder belongs to it because every rule remembers where it stands.
    """
    package = Path(__file__).parent
    modules = (*sorted(package.parent.glob("*.py")), *sorted(package.glob("*.py")))
    return kept.address([("folder", str(root).encode()), *sorted(files.items())], modules)
