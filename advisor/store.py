"""Keeps what can be made again, under the address of everything it was made from.

The address is a SHA-256 over the content that went in, the code and what it runs on, so an entry is only
ever found by what would make it again. Each entry carries a checksum over its address and body: one that
is damaged, or that was made for other content, is as good as absent. Bodies are JSON, never pickle, and
the reader still validates them: reading an entry runs no code.
"""

from __future__ import annotations

import hashlib
import os
import sys
import tempfile
from collections.abc import Iterable
from contextlib import suppress
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from advisor.version import VERSION

#: Packages whose version may show in a result.
_UNDERNEATH = ("durable-rules", "numpy", "pydantic")
#: How many entries of a kind are kept unless said otherwise; the ones written longest ago go first.
MOST = 20


def address(parts: Iterable[tuple[str, bytes]], modules: Iterable[Path]) -> str:
    """The address of named contents under the code in `modules`.

    >>> one = address([("job", b"alloy: c110")], [])
    >>> len(one), one == address([("job", b"alloy: c111")], [])
    (64, False)
    """
    digest = hashlib.sha256(f"{VERSION} {sys.version} {sys.platform} {_versions()}".encode())
    for path in modules:
        _add(digest, path.name, path.read_bytes())
    for name, content in parts:
        _add(digest, name, content)
    return digest.hexdigest()


def fetch(kind: str, place: str, folder: Path | None = None) -> bytes | None:
    """The body kept under an address, or None."""
    try:
        content = (_shelf(kind, folder) / f"{place}.json").read_bytes()
    except (OSError, RuntimeError):
        return None
    checksum, _, body = content.partition(b"\n")
    return body if checksum == _checksum(place, body) else None


def keep(kind: str, place: str, body: bytes, folder: Path | None = None, most: int = MOST) -> None:
    """Keep a body for the next run, whole or not at all; where nothing can be written, do without."""
    with suppress(OSError, RuntimeError):
        shelf = _shelf(kind, folder)
        shelf.mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=shelf)
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(_checksum(place, body) + b"\n" + body)
            os.replace(name, shelf / f"{place}.json")
        except OSError:
            Path(name).unlink(missing_ok=True)
            raise
        _make_room(shelf, most)


def cache_folder() -> Path:
    """Where everything lies that can be made again: the user's cache folder, never the project."""
    home = os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    return Path(home) / "finishing-advisor"


def _make_room(shelf: Path, most: int) -> None:
    entries = sorted(shelf.glob("*.json"), key=lambda path: path.stat().st_mtime, reverse=True)
    for path in entries[most:]:
        path.unlink(missing_ok=True)


def _shelf(kind: str, folder: Path | None) -> Path:
    return (folder or cache_folder()) / kind


def _checksum(place: str, body: bytes) -> bytes:
    return hashlib.sha256(place.encode() + b"\n" + body).hexdigest().encode()


def _versions() -> str:
    return " ".join(f"{name} {_version(name)}" for name in _UNDERNEATH)


def _version(package: str) -> str:
    try:
        return version(package)
    except PackageNotFoundError:
        return "absent"


def _add(digest: hashlib._Hash, name: str, content: bytes) -> None:
    digest.update(f"{name}\0{len(content)}\0".encode())
    digest.update(content)
