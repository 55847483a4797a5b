"""The jobs whose recommendations are held against each other: the worked jobs, and the jobs of trials."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from advisor.errors import AdvisorError, InputError, Problem
from advisor.job.model import Job
from advisor.job.read import parse_job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.strict_yaml import Node, read_file


@dataclass(frozen=True, slots=True)
class Case:
    """A job as it is written, and where."""

    key: str
    title: str
    file: str
    job: Node

    def read(self, knowledge: Knowledge) -> Job | AdvisorError:
        """The job in the words of one knowledge base, or why it cannot be read there."""
        try:
            return parse_job(self.job, knowledge, self.file)
        except AdvisorError as error:
            return error


def cases(old: Path, new: Path) -> tuple[Case, ...]:
    """The jobs of the new folder, then those that only the old one has, each in the order of their keys.

    Raises InputError with every file that cannot be read, and where there is no job at all.
    """
    found: dict[str, Case] = {}
    problems: list[Problem] = []
    for folder in (new, old):
        for path in _files(folder):
            key = path.relative_to(folder).with_suffix("").as_posix()
            if key in found:
                continue
            try:
                found[key] = _case(key, path)
            except AdvisorError as error:
                problems += error.problems
    if not found and not problems:
        problems.append(Problem(str(new), "there is no worked job here", allowed="files in jobs/"))
    if problems:
        raise InputError(problems)
    return tuple(found.values())


def _files(folder: Path) -> Iterator[Path]:
    for name in ("jobs", "trials"):
        yield from sorted((folder / name).rglob("*.yaml"))


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
