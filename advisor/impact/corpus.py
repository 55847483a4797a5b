"""The jobs whose recommendations are held against each other: the worked jobs, and the jobs of trials."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from advisor.errors import AdvisorError, InputError, Problem, listing
from advisor.job.model import Job
from advisor.job.read import parse_job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.revision import folder_of
from advisor.knowledge.strict_yaml import Node, plain, read_file

_TRIAL_ENDINGS = (".yaml", ".yml", ".json")
_MOST_NAMED = 6


@dataclass(frozen=True, slots=True)
class Case:
    """A job as it is written, and where; of a worked job, or of one trial or more."""

    key: str
    title: str
    file: str
    job: Node
    of_trial: bool = False

    def read(self, knowledge: Knowledge) -> Job | AdvisorError:
        """The job in the words of one knowledge base, or why it cannot be read there."""
        try:
            return parse_job(self.job, knowledge, self.file)
        except AdvisorError as error:
            return error


def cases(
    old: Path, new: Path, log: Path | None = None
) -> tuple[tuple[Case, ...], tuple[Problem, ...]]:
    """The jobs of the new folder, those that only the old one has, those of the log; and what was left out.

    Trials of one job make one case, under the name of the first of them. A trial file that cannot be
    read is left out, as in the log itself. Of a git revision the jobs that lie in its folder now are taken.
    Raises InputError with every worked job that cannot be read, where there is no job at all, and where
    the log is no folder.
    """
    found: dict[str, Case] = {}
    trials: dict[str, Case] = {}
    problems: list[Problem] = []
    left_out: list[Problem] = []
    for folder in map(folder_of, (new, old)):
        _read(folder, sorted((folder / "jobs").rglob("*.yaml")), found, problems)
        _read(folder, _trial_files(folder / "trials"), trials, left_out)
    if log is not None:
        if not log.is_dir():
            problems.append(Problem("--log", "no such folder", str(log)))
        _read(log.resolve().parent, _trial_files(log.resolve()), trials, left_out)
    if not found and not trials and not problems:
        problems.append(Problem(str(new), "there is no worked job here", allowed="files in jobs/"))
    if problems:
        raise InputError(problems)
    return (*found.values(), *_gathered(trials)), tuple(left_out)


def _trial_files(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*") if path.suffix in _TRIAL_ENDINGS and path.is_file())


def _read(folder: Path, files: Iterable[Path], found: dict[str, Case], problems: list[Problem]) -> None:
    """The cases of some files, by their path in the folder; a key that is taken keeps its case."""
    for path in files:
        key = path.relative_to(folder).with_suffix("").as_posix()
        if key in found:
            continue
        try:
            found[key] = _case(key, path)
        except AdvisorError as error:
            problems += error.problems


def _gathered(trials: Mapping[str, Case]) -> Iterator[Case]:
    """One case for all trials of one job, named after the first, with the others in its title."""
    groups: dict[str, list[Case]] = {}
    for case in trials.values():
        groups.setdefault(json.dumps(plain(case.job), sort_keys=True), []).append(case)
    for first, *others in groups.values():
        more = f"also of {listing([Path(case.key).name for case in others], _MOST_NAMED)}" if others else ""
        yield replace(first, title=more, of_trial=True)


def _case(key: str, path: Path) -> Case:
    """A worked job or a trial; a trial may name the file of its job instead."""
    node = read_file(path)
    entries = node.value if isinstance(node.value, dict) else {}
    job = entries.get("job")
    if job is None:
        raise InputError(Problem(node.place(str(path)), "has no 'job'"))
    title = entries["title"].raw if "title" in entries else ""
    if isinstance(job.value, str):
        file = path.parent / job.value
        return Case(key, title, str(file), read_file(file))
    return Case(key, title, str(path), job)
