"""Text in and out: results to standard output, talk to standard error, files whole or not at all."""

from __future__ import annotations

import os
import stat
import sys
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from advisor.errors import InputError, Problem

if TYPE_CHECKING:
    from advisor.knowledge.strict_yaml import Node

DASH = "-"
STANDARD_INPUT = "standard input"
STANDARD_OUTPUT = "standard output"


def emit(text: str) -> None:
    """Write a result to standard output as UTF-8 with plain line feeds, whatever the locale says.

    A reader that has seen enough (`| head`) is no fault. Raises InputError where nothing can be written.
    """
    stream = sys.stdout
    if stream is None:
        raise InputError(Problem(STANDARD_OUTPUT, "is closed; nothing can be written"))
    try:
        stream.flush()
        binary = getattr(stream, "buffer", None)
        if binary is None:
            stream.write(text)
        else:
            binary.write(text.encode("utf-8", "backslashreplace"))
        stream.flush()
    except BrokenPipeError:
        _swallow_the_rest()
    except (OSError, ValueError) as error:
        _swallow_the_rest()
        raise InputError(Problem(STANDARD_OUTPUT, f"cannot be written: {_reason(error)}")) from None


def say(text: str) -> None:
    """Write a line to standard error; what could steer a terminal is shown, not sent."""
    with suppress(OSError, ValueError, AttributeError):
        sys.stderr.write(harmless(text) + "\n")
        sys.stderr.flush()


def prompt(text: str) -> None:
    """Write to standard error without ending the line."""
    with suppress(OSError, ValueError, AttributeError):
        sys.stderr.write(harmless(text))
        sys.stderr.flush()


def harmless(text: str) -> str:
    r"""Text in which every control character but the line feed is written out.

    >>> harmless("red\x1b[31m")
    'red\\x1b[31m'
    """
    if text.isprintable():
        return text
    return "".join(
        letter if letter.isprintable() or letter == "\n" else letter.encode("unicode_escape").decode("ascii")
        for letter in text
    )


def read_document(path: str) -> tuple[Node, str]:
    """The YAML or JSON of a file, or of standard input for `-`, and the name to use in messages.

    Raises InputError where it cannot be read or is not strict YAML.
    """
    from advisor.knowledge.strict_yaml import load

    text, name = read_words(path)
    return load(text, name), name


def read_words(path: str, limit_bytes: int | None = None) -> tuple[str, str]:
    """The text of a file, or of standard input for `-`, and the name to use in messages.

    Raises InputError where it cannot be read, is too large (5 MB without a limit) or is not text.
    """
    from advisor.knowledge.text_file import LIMIT_BYTES, decode, read_text

    limit = LIMIT_BYTES if limit_bytes is None else limit_bytes
    if path != DASH:
        return read_text(path, limit), path
    if sys.stdin is None:
        raise InputError(Problem(STANDARD_INPUT, "is closed; nothing can be read"))
    if sys.stdin.isatty():
        say("Reading from the keyboard; end with an end-of-file (Ctrl-D, on Windows Ctrl-Z and Enter).")
    try:
        data = sys.stdin.buffer.read(limit + 1)
    except OSError as error:
        raise InputError(Problem(STANDARD_INPUT, f"cannot be read: {_reason(error)}")) from None
    if len(data) > limit:
        raise InputError(Problem(STANDARD_INPUT, "too large", allowed=f"at most {limit / 1e6:g} MB"))
    return decode(data, STANDARD_INPUT), STANDARD_INPUT


def check_output(path: str | None, inputs: tuple[str, ...] = ()) -> None:
    """Refuse early what cannot become an output file. Raises InputError.

    `inputs` are files that must not be overwritten.
    """
    if path is None or path == DASH:
        return
    if not path.strip():
        raise InputError(Problem("--output", "a file name is needed", given=path))
    target = Path(path)
    if _kind(target) == stat.S_IFDIR:
        raise InputError(Problem(path, "is a folder; a file name is needed"))
    if _kind(target.parent) != stat.S_IFDIR:
        raise InputError(Problem(path, f"cannot be written: there is no folder {str(target.parent)!r}"))
    if any(each != DASH and os.path.realpath(each) == os.path.realpath(path) for each in inputs):
        raise InputError(Problem(path, "is the file that was read; name another one for the output"))


def write_whole(path: str | None, text: str) -> None:
    """Write text to a file, whole or not at all; None and `-` mean standard output.

    The text is written beside the file and then takes its place, with the file's own permissions where
    there was one. Something that is not a plain file (a pipe, `/dev/null`) is written to as it is.
    Raises InputError where that cannot be done.
    """
    if path is None or path == DASH:
        emit(text)
        return
    check_output(path)
    try:
        target = Path(os.path.realpath(path))
        if target.exists() and not target.is_file():
            target.write_bytes(text.encode())
        else:
            _replace(target, text.encode())
    except BrokenPipeError:
        return
    except (OSError, ValueError) as error:
        raise InputError(Problem(path, f"cannot be written: {_reason(error)}")) from None


def _replace(target: Path, content: bytes) -> None:
    if target.exists() and not os.access(target, os.W_OK):
        raise PermissionError(13, "the file is read-only")
    handle, beside = tempfile.mkstemp(dir=target.parent, prefix=".", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(beside, stat.S_IMODE(target.stat().st_mode) if target.exists() else 0o666 & ~_umask())
        os.replace(beside, target)
    except BaseException:
        with suppress(OSError):
            os.unlink(beside)
        raise


def _umask() -> int:
    mask = os.umask(0o077)
    os.umask(mask)
    return mask


def _kind(path: Path) -> int | None:
    try:
        return stat.S_IFMT(path.stat().st_mode)
    except (OSError, ValueError):
        return None


def _reason(error: Exception) -> str:
    return getattr(error, "strerror", None) or str(error)


def _swallow_the_rest() -> None:
    """Keep Python from complaining at exit about what is left in the buffer."""
    with suppress(OSError, ValueError, AttributeError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)
