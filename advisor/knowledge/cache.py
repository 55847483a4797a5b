"""A store of parsed knowledge, addressed by the content it was parsed from.

The address is the SHA-256 of the folder, of every file's name and bytes and of the program itself, so
an entry is only ever found by the content that made it. The entry carries a checksum over its address
and body: one that is damaged, or that was made for other content, is ignored. Plain JSON, never pickle:
reading it runs no code.
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


def fetch(files: Mapping[str, bytes], root: Path, folder: Path | None = None) -> Knowledge | None:
    """The knowledge parsed earlier from exactly these files of this folder, or None."""
    place = address(files, root)
    try:
        content = ((folder or cache_folder()) / f"{place}.json").read_bytes()
    except (OSError, RuntimeError):
        return None
    checksum, _, body = content.partition(b"\n")
    if _checksum(place, body) != checksum:
        return None
    try:
        return Knowledge.model_validate_json(body)
    except ValidationError:
        return None


def store(files: Mapping[str, bytes], root: Path, knowledge: Knowledge, folder: Path | None = None) -> None:
    """Keep the knowledge for the next run; a cache that cannot be written is done without."""
    body = knowledge.model_dump_json().encode()
    place = address(files, root)
    with suppress(OSError, RuntimeError):
        target = folder or cache_folder()
        target.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=target)
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(_checksum(place, body) + b"\n" + body)
            os.replace(name, target / f"{place}.json")
        except OSError:
            Path(name).unlink(missing_ok=True)
            raise


def address(files: Mapping[str, bytes], root: Path) -> str:
    """The content address of the files of a folder under this program and its dependencies.

    The folder belongs to it because every rule remembers where it stands.
    """
    digest = hashlib.sha256(f"{VERSION} {pydantic.VERSION} {sys.version} {root}".encode())
    package = Path(__file__).parent
    for module in (*sorted(package.parent.glob("*.py")), *sorted(package.glob("*.py"))):
        digest.update(module.read_bytes())
    for name, content in sorted(files.items()):
        digest.update(f"{name}\0{len(content)}\0".encode())
        digest.update(content)
    return digest.hexdigest()


def _checksum(place: str, body: bytes) -> bytes:
    return hashlib.sha256(place.encode() + b"\n" + body).hexdigest().encode()


def cache_folder() -> Path:
    """Where everything lies that can be made again: the user's cache folder, never the project."""
    home = os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    return Path(home) / "finishing-advisor"
