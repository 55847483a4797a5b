"""A trial log as a sheet knows it again: its files in one form, the fingerprint of them, and the log as it was."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path

from advisor.sheet.model import TrialLog
from advisor.trials.log import Log
from advisor.trials.model import Trial
from advisor.trials.write import file_text, identity, to_plain


def log_files(trials: Iterable[Trial]) -> dict[str, bytes]:
    """One file a trial, by its name in a log; read again they are the same trials, wherever they lie.

    A file that the log wrote stays as it is. One that a person laid there is written out, with its job.
    """
    return {f"{trial.id}.yaml": _content(trial) for trial in sorted(trials, key=lambda trial: trial.id)}


def _content(trial: Trial) -> bytes:
    with suppress(OSError):
        data = Path(trial.file).read_bytes()
        if Path(trial.file).name == f"{trial.id}.yaml" and identity(data) == trial.id:
            return data
    return file_text(to_plain(trial)).encode()


def mark_of(files: Mapping[str, bytes]) -> TrialLog:
    """What a sheet says of the log it was made with.

    >>> mark_of({"a.yaml": b"one"}) == mark_of({"a.yaml": b"two"}), mark_of({}).trials
    (False, 0)
    """
    listed = {name: hashlib.sha256(content).hexdigest() for name, content in files.items()}
    text = json.dumps(listed, sort_keys=True, separators=(",", ":"))
    return TrialLog(fingerprint="sha256:" + hashlib.sha256(text.encode()).hexdigest(), trials=len(files))


def as_it_was(log: Log, mark: TrialLog) -> Log | None:
    """The log of a mark: this one, or the part of it that was there before later trials came; None otherwise.

    A log only ever grows, and every trial says when it was stored.
    """
    by_age = sorted(log.trials, key=lambda trial: (trial.stored or "", trial.id))
    for trials in (by_age, by_age[: mark.trials]):
        if len(trials) == mark.trials and mark_of(log_files(trials)) == mark:
            return Log(log.folder, tuple(sorted(trials, key=lambda trial: trial.when)))
    return None
