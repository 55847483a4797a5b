"""Runs a batch: skips what is finished, spreads the rest over workers, and keeps each result as it comes."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from joblib import Parallel, delayed

from advisor.batch.journal import Journal
from advisor.batch.task import Line, Result, Task, Way
from advisor.batch.work import work

Progress = Callable[[int, int], None]
Keep = Callable[[str, str], None]
#: Fewer jobs than this for each worker are quicker without starting it.
FEW = 12


@dataclass(frozen=True, slots=True)
class Ran:
    """The lines of all jobs in the order asked, and how many of them were finished before."""

    lines: tuple[Line, ...]
    before: int


def run(
    tasks: Sequence[Task],
    way: Way,
    keep: Keep | None = None,
    journal: Journal | None = None,
    workers: int | None = None,
    progress: Progress = lambda done, of: None,
) -> Ran:
    """The lines of some jobs.

    `keep` writes a sheet (file name, text); the journal is told after it has. `workers` None: as many as
    there are processors, fewer for few jobs; inside a joblib `parallel_config` with a back end of its own,
    that back end decides where the work is done. Results come back one by one and are not held, so the
    memory does not grow with the number of jobs.
    """
    keys = [way.key(task) for task in tasks]
    lines: dict[int, Line] = {}
    if journal is not None:
        for place, (task, key) in enumerate(zip(tasks, keys, strict=True)):
            line = journal.finished(key, task.source)
            if line is not None:
                lines[place] = line
    before = len(lines)
    progress(before, len(tasks))
    todo = [place for place in range(len(tasks)) if place not in lines]
    for result in _results([(place, tasks[place]) for place in todo], way, workers):
        line = result.line
        if line.status in ("done", "no process"):
            if keep is not None and line.sheet is not None and result.text is not None:
                keep(line.sheet, result.text)
            if journal is not None:
                journal.note(keys[result.place], line, result.text)
        lines[result.place] = line
        progress(len(lines), len(tasks))
    return Ran(tuple(lines[place] for place in range(len(tasks))), before)


def _results(tasks: Sequence[tuple[int, Task]], way: Way, workers: int | None) -> Iterator[Result]:
    if not tasks:
        return
    count = workers
    if count is None and not _elsewhere():
        count = max(1, min(os.cpu_count() or 1, len(tasks) // FEW))
    parallel = Parallel(n_jobs=count, return_as="generator_unordered")
    yield from parallel(delayed(work)(place, task, way) for place, task in tasks)


def _elsewhere() -> bool:
    """Whether a joblib context has set a back end of its own (dask, ray, threads)."""
    from joblib.parallel import get_active_backend

    backend, _ = get_active_backend()
    return type(backend).__name__ != "LokyBackend"
