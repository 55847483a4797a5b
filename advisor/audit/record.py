"""Keeps sheets with their jobs and the exact knowledge that made them, so that each can be replayed offline.

A record is a folder:

    knowledge/sha256-...   the files of one knowledge, by its fingerprint, stored once
    logs/sha256-...        the trials of one trial log, by its fingerprint, where a sheet used one
    learned/sha256-....json  what trials had taught, where a sheet used it
    jobs/NAME-....yaml     the job file as it was given
    sheets/NAME-....json   the sheet; its name ends in the start of the SHA-256 of its content

Everything is written beside its place, forced to the disk and then renamed, and the sheet comes last: a
sheet that is there has all that it was made from. What a killed run leaves behind begins with a point
and is never read. Two runs that store the same thing store it once, and neither can spoil the other's.
"""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import tempfile
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from advisor.audit.kept_log import log_files, mark_of
from advisor.errors import InputError, KnowledgeError, Problem
from advisor.knowledge.load import load_files
from advisor.sheet.model import Sheet, TrialLog
from advisor.trials.log import Log

KNOWLEDGE, LOGS, LEARNED, JOBS, SHEETS = "knowledge", "logs", "learned", "jobs", "sheets"
_NOT_IN_NAMES = re.compile(r"[^a-z0-9]+")
_LONGEST_NAME = 40


@dataclass(frozen=True, slots=True)
class Recorded:
    """Where a sheet, its job and its knowledge lie in a record."""

    sheet: Path
    job: Path
    knowledge: Path


def record(
    folder: Path, sheet: Sheet, sheet_text: str, job_text: str, files: Mapping[str, bytes], log: Log | None = None
) -> Recorded:
    """Store a sheet, its job and the knowledge files it was made with; what is there already stays.

    With the `log` that the sheet was made with, its trials too, and what trials had taught where the sheet
    used that. Raises InputError where the folder cannot be written, or holds something else in a place
    that is needed.
    """
    stem = f"{_slug(str(sheet.job.get('name', '')))}-{hashlib.sha256(sheet_text.encode()).hexdigest()[:16]}"
    try:
        for name in (KNOWLEDGE, JOBS, SHEETS):
            (folder / name).mkdir(parents=True, exist_ok=True)
        kept = Recorded(
            sheet=folder / SHEETS / f"{stem}.json",
            job=folder / JOBS / f"{stem}.yaml",
            knowledge=folder / KNOWLEDGE / _address(sheet.knowledge.fingerprint),
        )
        fingerprint = sheet.knowledge.fingerprint
        _store_folder(kept.knowledge, files, lambda stored: _is_knowledge(stored, kept.knowledge, fingerprint))
        _store_trials(folder, sheet, log)
        _store_file(kept.job, job_text.encode())
        _store_file(kept.sheet, sheet_text.encode())
    except OSError as error:
        raise InputError(
            Problem(str(folder), f"cannot keep a record: {error.strerror or error}")
        ) from None
    return kept


def _store_trials(folder: Path, sheet: Sheet, log: Log | None) -> None:
    """The log and the lesson of a sheet that was made with them."""
    if sheet.trial_log is not None and log is not None:
        mark, trials = sheet.trial_log, log_files(log.trials)
        (folder / LOGS).mkdir(exist_ok=True)
        _store_folder(folder / LOGS / _address(mark.fingerprint), trials, lambda stored: mark_of(stored) == mark)
    if sheet.learned_from is not None and sheet.learned_fingerprint is not None:
        (folder / LEARNED).mkdir(exist_ok=True)
        lesson = sheet.learned_from.model_dump_json(indent=1) + "\n"
        _store_file(folder / LEARNED / f"{_address(sheet.learned_fingerprint)}.json", lesson.encode())


def log_beside(sheet: Path, mark: TrialLog) -> Path | None:
    """The trial log of the record in which a sheet lies, None where it lies in none that has it."""
    folder = sheet.resolve().parent.parent / LOGS / _address(mark.fingerprint)
    return folder if folder.is_dir() else None


def knowledge_beside(sheet: Path, fingerprint: str) -> Path | None:
    """The knowledge of the record in which a sheet lies, None where it lies in none that has it."""
    folder = sheet.resolve().parent.parent / KNOWLEDGE / _address(fingerprint)
    return folder if folder.is_dir() else None


def recorded_sheets(folder: Path) -> tuple[Path, ...]:
    """Every sheet of a record, by name. Raises InputError where the folder is no record or holds none."""
    found = tuple(sorted(path for path in (folder / SHEETS).glob("*.json") if not path.name.startswith(".")))
    if not found:
        what = "a folder without recorded sheets; name a sheet, or the folder of --record"
        raise InputError(Problem(str(folder), what))
    return found


def _address(fingerprint: str) -> str:
    """The folder name of a fingerprint; anything but letters and digits in it is left out."""
    return _NOT_IN_NAMES.sub("-", fingerprint.lower())[:100]


def _slug(name: str) -> str:
    """A name that every file system bears.

    >>> _slug("Rail bracket, left / Ø 40"), _slug("../..")
    ('rail-bracket-left-40', 'job')
    """
    return _NOT_IN_NAMES.sub("-", name.lower()).strip("-")[:_LONGEST_NAME].strip("-") or "job"


def _store_folder(place: Path, files: Mapping[str, bytes], sound: Callable[[Mapping[str, bytes]], bool]) -> None:
    """Store a folder whole or not at all; one that is there is left alone where it is still `sound`."""
    if place.is_dir():
        _check(place, files, sound)
        return
    beside = Path(tempfile.mkdtemp(dir=place.parent, prefix=".", suffix=".part"))
    try:
        for name, content in files.items():
            target = beside / name
            target.parent.mkdir(parents=True, exist_ok=True)
            _write_through(target, content)
        for inner in {beside, *(path for path in beside.rglob("*") if path.is_dir())}:
            _force(inner)
        beside.chmod(0o755)
        os.rename(beside, place)  # refused where another run was quicker, whose copy is as good
    except OSError:
        shutil.rmtree(beside, ignore_errors=True)
        if not place.is_dir():
            raise
        _check(place, files, sound)
    _force(place.parent)


def _check(place: Path, files: Mapping[str, bytes], sound: Callable[[Mapping[str, bytes]], bool]) -> None:
    """Refuse to build on a stored folder that was changed by hand. Raises InputError."""
    stored = {
        path.relative_to(place).as_posix(): path.read_bytes() for path in sorted(place.rglob("*")) if path.is_file()
    }
    if stored != files and not sound(stored):
        what = "what is stored here is no longer what its name says; move it away to have it stored anew"
        raise InputError(Problem(str(place), what))


def _is_knowledge(stored: Mapping[str, bytes], place: Path, fingerprint: str) -> bool:
    """Whether stored files still are the knowledge of a fingerprint."""
    try:
        return load_files(stored, place).fingerprint == fingerprint
    except KnowledgeError:
        return False


def _store_file(place: Path, content: bytes) -> None:
    """Write a file whole or not at all; one that is there with this content is left alone."""
    with suppress(OSError):
        if place.read_bytes() == content:
            return
    handle, name = tempfile.mkstemp(dir=place.parent, prefix=".", suffix=".part")
    os.close(handle)
    beside = Path(name)
    try:
        _write_through(beside, content)
        beside.chmod(0o644)
        os.replace(beside, place)
    except OSError:
        beside.unlink(missing_ok=True)
        raise
    _force(place.parent)


def _write_through(path: Path, content: bytes) -> None:
    with path.open("wb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())


def _force(folder: Path) -> None:
    """Have the names in a folder on the disk, where the system can do that."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
