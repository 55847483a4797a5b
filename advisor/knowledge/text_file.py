"""Files become text in one place: of limited size, UTF-8, and never a folder, a device or binary data."""

from __future__ import annotations

from pathlib import Path

from advisor.errors import InputError, Problem

LIMIT_BYTES = 5_000_000


def read_text(path: str | Path, limit_bytes: int = LIMIT_BYTES, name: str | None = None) -> str:
    """The text of one UTF-8 file of limited size. Raises InputError."""
    path = Path(path)
    name = name or str(path)
    try:
        if path.is_dir():
            raise InputError(Problem(name, "is a folder, not a file"))
        if not path.exists():
            raise InputError(Problem(name, "no such file"))
        if not path.is_file():
            raise InputError(Problem(name, "is not a plain file"))
        with path.open("rb") as stream:
            data = stream.read(limit_bytes + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError(Problem(name, f"cannot be read: {reason}")) from None
    if len(data) > limit_bytes:
        raise InputError(Problem(name, "the file is too large", allowed=f"at most {limit_bytes / 1e6:g} MB"))
    return decode(data, name)


def decode(data: bytes, name: str) -> str:
    """Bytes as text. Raises InputError for binary data and other encodings than UTF-8."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise InputError(Problem(name, "the text is UTF-16; save it as UTF-8"))
    if b"\0" in data:
        raise InputError(Problem(name, "the file is binary, not text"))
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        column = error.start - data.rfind(b"\n", 0, error.start)
        raise InputError(Problem(f"{name}:{line}:{column}", "the text is not UTF-8")) from None
