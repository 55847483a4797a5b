"""The trial log: a folder with one file a trial, each written once, whole or not at all, and never again.

The name of a file is the id of its trial, and the id follows from the content. So twenty writers at once
never meet on one name, a trial handed in twice is known by its name, and a file that was changed later
no longer fits its own.
"""

from __future__ import annotations

import json
import os
import re
import time
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from advisor.errors import AdvisorError, InputError, Problem, listing, nearest
from advisor.knowledge.base import Knowledge
from advisor.knowledge.strict_yaml import from_plain, load, plain
from advisor.knowledge.text_file import decode
from advisor.trials.model import Trial
from advisor.trials.read import TrialReader
from advisor.trials.write import identity

LAST = "last"
SUFFIXES = (".yaml", ".yml", ".json")
_OURS = re.compile(r"t[0-9a-f]{12}")
_MAY_LIE_THERE = (".jpg", ".jpeg", ".png", ".heic", ".webp", ".gif", ".tif", ".tiff", ".md", ".txt")
_LIMIT_BYTES = 2_000_000
UNFINISHED = ".part"
_PATIENCE_S = 60.0  # a writer that takes longer than this was stopped


Wanted = Callable[[bytes], bool]


@dataclass(frozen=True)
class Log:
    """A trial log as it was read: its trials in the order of their days, and what was left out and why.

    `unread` counts sound trials that were not wanted.
    """

    folder: Path
    trials: tuple[Trial, ...] = ()
    left_out: tuple[Problem, ...] = ()
    unread: int = 0

    @cached_property
    def by_id(self) -> Mapping[str, Trial]:
        """Every trial by its id."""
        return {trial.id: trial for trial in self.trials}

    @cached_property
    def corrected(self) -> Mapping[str, str]:
        """The ids of trials that a later one replaces, each with the id of that one."""
        return {
            trial.corrects: trial.id
            for trial in self.trials
            if trial.corrects and trial.corrects in self.by_id
        }

    @cached_property
    def standing(self) -> tuple[Trial, ...]:
        """The trials that count: without those that were corrected."""
        return tuple(trial for trial in self.trials if trial.id not in self.corrected)

    def find(self, identity_: str) -> Trial:
        """The trial of an id, of the beginning of one, or the `last` one stored.

        Raises InputError with what is near.
        """
        wanted = identity_.strip()
        if wanted == LAST and self.trials:
            return max(self.trials, key=lambda trial: (trial.stored or trial.date or "", trial.id))
        if wanted in self.by_id:
            return self.by_id[wanted]
        found = [key for key in self.by_id if len(wanted) >= 4 and key.startswith(wanted)]
        if len(found) == 1:
            return self.by_id[found[0]]
        if found:
            raise InputError(Problem("ID", "fits several trials", wanted, listing(found)))
        if not self.by_id:
            raise InputError(Problem(str(self.folder), "the log holds no trial that can be read"))
        newest = listing([trial.id for trial in self.trials[::-1]], 6)
        near = nearest(wanted, self.by_id)
        raise InputError(Problem(str(self.folder), "no such trial in this log", wanted, newest, near))


def read_log(
    folder: Path, knowledge: Knowledge, must_exist: bool = True, wanted: Wanted | None = None
) -> Log:
    """Every trial of a folder. A file that is damaged or foreign is left out and told; the rest is used.

    `wanted` looks at the bytes of a sound trial that the log wrote; those that are not wanted are only held
    against their names, which is many times faster. Raises InputError where the folder cannot be read at all.
    """
    if not folder.exists() and not must_exist:
        return Log(folder)
    reader = TrialReader(knowledge)
    unread = 0

    def passes(data: bytes) -> bool:
        nonlocal unread
        taken = wanted is None or wanted(data)
        unread += not taken
        return taken

    trials: dict[str, Trial] = {}
    faults: dict[Path, tuple[Problem, ...]] = {}
    for name in names_in(folder):
        try:
            trial = _read(folder, name, reader, passes)
            if trial is not None and trial.id in trials:
                raise InputError(Problem(str(folder / name), f"a second trial with the id {trial.id}"))
            if trial is not None:
                trials[trial.id] = trial
        except AdvisorError as error:
            faults[folder / name] = error.problems
    jobs = {path.resolve() for path in reader.job_files}  # a job may lie beside its trials
    left_out = [item for path, items in faults.items() if path.resolve() not in jobs for item in items]
    in_order = tuple(sorted(trials.values(), key=lambda trial: trial.when))
    return Log(folder, in_order, tuple(left_out), unread)


def names_in(folder: Path) -> list[str]:
    """The names of the files of a log, sorted. Raises InputError where the folder cannot be read."""
    try:
        return sorted(entry.name for entry in os.scandir(folder) if not entry.is_dir())
    except (OSError, ValueError) as error:
        raise InputError(Problem(str(folder), f"the log cannot be read: {reason_of(error)}")) from None


def _read(folder: Path, name: str, reader: TrialReader, wanted: Wanted) -> Trial | None:
    """The trial of a file; None where the file is none of the log's business, or not wanted. Raises InputError."""
    place = os.path.join(folder, name)  # a Path for each of 20,000 files would take a third of the time
    stem, _, ending = name.rpartition(".")
    if ending == "yaml" and _OURS.fullmatch(stem):
        return _ours(_bytes(place), reader, stem, place, wanted)
    path = folder / name
    if name.startswith("."):
        _refuse_unfinished(path)
        return None
    if path.suffix.lower() not in SUFFIXES:
        if path.suffix.lower() in _MAY_LIE_THERE:
            return None
        raise InputError(Problem(place, "not a trial: a foreign file in the log; left out"))
    return _by_hand(_bytes(place), reader, place, folder).model_copy(update={"id": path.stem})


def _ours(data: bytes, reader: TrialReader, stem: str, name: str, wanted: Wanted) -> Trial | None:
    """A trial as the log wrote it: one field a line, the job first. The job is read once for all its trials."""
    if identity(data) != stem:
        what = "damaged, or changed after it was stored; left out. A correction is a new trial (corrects: ID)"
        raise InputError(Problem(name, what))
    if not wanted(data):
        return None
    folder = Path(name).parent
    try:
        head, job, rest = data.split(b"\n", 2)
        job_text = job.partition(b": ")[2].removesuffix(b",").decode()
        content = json.loads(head + rest)
        trial = reader.stored.read(content, reader.job_of(job_text, name), stem, name)
        trial = trial or reader.read(from_plain({"job": job_text, **content}), name, folder, job_text)
    except (AdvisorError, ValueError, TypeError):  # not as the log writes: read with lines and columns, to tell
        trial = _by_hand(data, reader, name, folder)
    return trial if trial.id == stem else trial.model_copy(update={"id": stem})


def _by_hand(data: bytes, reader: TrialReader, name: str, folder: Path) -> Trial:
    """A trial that a person laid into the log."""
    node = load(decode(data, name), name)
    known = isinstance(node.value, dict) and {"used", "verdict"} & set(node.value)
    if not known:  # one line for what never was a trial, instead of one for each field it lacks
        raise InputError(Problem(name, "not a trial: it has neither 'used' nor 'verdict'; left out"))
    content = plain(node)
    content.pop("job", None)
    job = node.value.get("job")
    if job is not None and isinstance(job.value, (str, dict)):
        trial = reader.stored.read(content, reader.job_at(job, name, folder), "", name)
        if trial is not None:
            return trial
    return reader.read(node, name, folder)


def _refuse_unfinished(path: Path) -> None:
    """A hidden file is passed over; one that a stopped writer left behind is told."""
    with suppress(OSError):
        if path.name.endswith(UNFINISHED) and time.time() - path.stat().st_mtime > _PATIENCE_S:
            raise InputError(Problem(str(path), "a write that was interrupted; it holds no trial; delete it"))


def _bytes(place: str) -> bytes:
    try:
        with open(place, "rb") as stream:
            data = stream.read(_LIMIT_BYTES + 1)
    except (OSError, ValueError) as error:
        raise InputError(Problem(place, f"cannot be read: {reason_of(error)}; left out")) from None
    if len(data) > _LIMIT_BYTES:
        raise InputError(Problem(place, "too large for a trial; left out"))
    return data


def reason_of(error: Exception) -> str:
    """What the system says went wrong."""
    return getattr(error, "strerror", None) or str(error)
