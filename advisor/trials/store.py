"""Puts a trial into the log: whole or not at all, never over another, safe with many writers at once."""

from __future__ import annotations

import errno
import os
import tempfile
from contextlib import suppress
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from advisor.errors import InputError, Problem
from advisor.trials.log import UNFINISHED, reason_of
from advisor.trials.model import Trial
from advisor.trials.write import file_text, identity, to_plain

EARLIEST_CLOCK = datetime(2025, 1, 1, tzinfo=UTC)  # a clock that says less was never set


def store(trial: Trial, folder: Path, now: datetime) -> Trial:
    """Write a trial into the log and give it back with its id.

    `now` is the time of this machine. The file appears whole or not at all. Raises InputError where the
    trial is there already, where its day lies ahead of the clock, and where the folder cannot be written;
    then nothing was stored.
    """
    moment = believed(now)
    _check_day(trial, moment)
    stamped = trial.model_copy(update={"stored": moment and moment.strftime("%Y-%m-%dT%H:%M:%S.%fZ")})
    text = file_text(to_plain(stamped))
    key = identity(text)
    target = folder / f"{key}.yaml"
    try:
        if not folder.is_dir():
            folder.mkdir()
        if target.exists():
            raise FileExistsError
        _create(target, text.encode())
    except FileExistsError as error:
        if folder.is_dir():
            raise InputError(_already_there(target, key)) from None
        raise InputError(_not_here(folder, error)) from None
    except (OSError, ValueError) as error:
        raise InputError(_not_here(folder, error)) from None
    return stamped.model_copy(update={"id": key, "file": str(target)})


def believed(now: datetime) -> datetime | None:
    """The time in UTC; None where this clock was never set, so that nothing is ordered by it."""
    moment = now.astimezone(UTC)
    return moment if moment >= EARLIEST_CLOCK else None


def _check_day(trial: Trial, moment: datetime | None) -> None:
    if trial.date is None or moment is None:
        return
    tomorrow = (moment + timedelta(days=1)).date()  # somewhere it is tomorrow already
    if date.fromisoformat(trial.date) > tomorrow:
        what = "date: lies ahead of this machine's clock; one of the two is wrong, and nothing was stored"
        raise InputError(
            Problem(trial.file or "trial", what, trial.date, f"up to {moment.date().isoformat()}")
        )


def _already_there(target: Path, key: str) -> Problem:
    data = b""
    with suppress(OSError):
        data = target.read_bytes()
    if identity(data) == key:
        what = f"this very trial is in the log already, as {key}; a new one differs in what was done or found"
        return Problem(str(target), what)
    claim = _claim(target)
    if claim.exists() and not target.exists():
        what = f"trial {key} is being stored by another, or was when it was stopped: if nobody is, delete {claim.name}"
        return Problem(str(target.parent), f"{what}; nothing was stored")
    return Problem(
        str(target), f"a damaged file stands where trial {key} belongs; move it away and try again"
    )


def _not_here(folder: Path, error: Exception) -> Problem:
    return Problem(str(folder), f"the trial cannot be stored here: {reason_of(error)}; nothing was stored")


def _create(target: Path, data: bytes) -> None:
    """Make a new file with these bytes in one move. Raises FileExistsError where there is one already."""
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.stem}-", suffix=UNFINISHED)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(name, 0o666 & ~_umask())
        _place(name, target)
    finally:
        with suppress(OSError):
            os.unlink(name)
    _keep_folder(target.parent)


def _place(name: str, target: Path) -> None:
    """Give a finished file its name, unless another has it."""
    try:
        os.link(name, target)
        return
    except FileExistsError:
        raise
    except OSError as error:
        if error.errno not in (errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK):
            raise
    # A file system without hard links: an empty claim that only one can create decides who may rename.
    claim = _claim(target)
    os.close(os.open(claim, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
    try:
        if target.exists():
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(target))
        os.rename(name, target)
    finally:
        os.unlink(claim)


def _claim(target: Path) -> Path:
    return target.with_name(f".{target.stem}.claim")


def _keep_folder(folder: Path) -> None:
    """Make the new name itself last through a loss of power, where the system can."""
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _umask() -> int:
    mask = os.umask(0o077)
    os.umask(mask)
    return mask
