"""Reads of a log only what may belong to the step that one trial tried: a long log does not slow the next try."""

from __future__ import annotations

import re
from pathlib import Path

from advisor.knowledge.base import Knowledge
from advisor.trials.log import LAST, Log, names_in, read_log
from advisor.trials.model import Trial
from advisor.trials.write import identity

_LINES = re.compile(rb'^"(?:feature|step)": .*$|^"job": \{"name": "(?:[^"\\]|\\.)*"', re.MULTILINE)
_CORRECTS = b'\n"corrects": '
_MOMENT = re.compile(rb'^"stored": "([^"]+)"', re.MULTILINE)
_DAY = re.compile(rb'^"date": "([^"]+)"', re.MULTILINE)
_SHORTEST = 4


def read_work(folder: Path, named: str, knowledge: Knowledge) -> tuple[Trial, Log]:
    """The trial of an id (or the beginning of one, or `last`), and the log as far as its step goes.

    What the log wrote of other jobs, faces and steps is held against its name and not read further; all
    corrections are read. Raises InputError as the whole log does: the folder cannot be read, no such trial.
    """
    stem = _newest(folder, knowledge) if named.strip() == LAST else _stem(folder, named.strip())
    marks = () if stem is None else _marks(folder / f"{stem}.yaml")
    if stem is not None and marks:
        log = read_log(
            folder, knowledge, wanted=lambda data: _CORRECTS in data or all(mark in data for mark in marks)
        )
        if stem in log.by_id:
            return log.by_id[stem], log
    log = read_log(folder, knowledge)  # laid in by hand, damaged, or nowhere: the whole log tells
    return log.find(named), log


def _stem(folder: Path, named: str) -> str | None:
    """The id that is meant, where only one file of the log can be."""
    stems = [name.removesuffix(".yaml") for name in names_in(folder) if name.endswith(".yaml")]
    if named in stems:
        return named
    found = [stem for stem in stems if len(named) >= _SHORTEST and stem.startswith(named)]
    return found[0] if len(found) == 1 else None


def _newest(folder: Path, knowledge: Knowledge) -> str | None:
    """The id of the trial stored last; by its day where nobody knew the moment."""
    newest = ("", "")

    def look(data: bytes) -> bool:
        nonlocal newest
        when = _MOMENT.search(data) or _DAY.search(data)
        newest = max(newest, (when.group(1).decode() if when else "", identity(data)))
        return False

    by_hand = read_log(folder, knowledge, wanted=look).trials
    return max([newest, *((trial.stored or trial.date or "", trial.id) for trial in by_hand)])[1] or None


def _marks(path: Path) -> tuple[bytes, ...]:
    """The lines that every trial of the same job, face and step has as the log writes them."""
    try:
        return tuple(_LINES.findall(path.read_bytes()))
    except OSError:
        return ()
