"""A store of parsed knowledge, addressed by the content it was parsed from.

The address is the SHA-256 of every file's name and bytes and of the program itself, so an entry is
only ever found by the content that made it; the entry carries its own checksum, and one that is
damaged is ignored. Plain JSON, never pickle: reading it runs no code.
"""

from __future__ import annotations

import hashlib
import os
import sys
import tempfile
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

import pydantic
from pydantic import ValidationError

from advisor.knowledge.base import Knowledge
from advisor.version import VERSION


def fetch(files: Mapping[str, bytes], folder: Path | None = None) -> Knowledge | None:
    """The knowledge parsed earlier from exactly these files, or None."""
    try:
        content = (_folder(folder) / f"{address(files)}.json").read_bytes()
    except OSError:
        return None
    checksum, _, body = content.partition(b"\n")
    if hashlib.sha256(body).hexdigest().encode() != checksum:
        return None
    try:
        return Knowledge.model_validate_json(body)
    except ValidationError:
        return None


def store(files: Mapping[str, bytes], knowledge: Knowledge, folder: Path | None = None) -> None:
    """Keep the knowledge for the next run; a cache that cannot be written is done without."""
    body = knowledge.model_dump_json().encode()
    target = _folder(folder)
    with suppress(OSError):
        target.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=target)
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(hashlib.sha256(body).hexdigest().encode() + b"\n" + body)
            os.replace(name, target / f"{address(files)}.json")
        except OSError:
            Path(name).unlink(missing_ok=True)
            raise


def address(files: Mapping[str, bytes]) -> str:
    """The content address of some files under this program and its dependencies."""
    digest = hashlib.sha256(f"{VERSION} {pydantic.VERSION} {sys.version}".encode())
    for module in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(module.read_bytes())
    for name, content in sorted(files.items()):
        digest.update(f"{name}\0{len(content)}\0".encode())
        digest.update(content)
    return digest.hexdigest()


def _folder(folder: Path | None) -> Path:
    if folder is not None:
        return folder
    home = os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    return Path(home) / "finishing-advisor"
