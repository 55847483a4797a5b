"""Runs the sweep, one family and shape at a time, on as many processors as there are."""

from __future__ import annotations

import gc
import os
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor, as_completed
from functools import cache
from multiprocessing import get_context
from pathlib import Path

from advisor.choices.decide import Decider
from advisor.coverage.answers import Answer, Coverage
from advisor.coverage.bench import Bench
from advisor.coverage.finder import find, rules_spoken
from advisor.coverage.grid import Combination, FaceMaker, Grid
from advisor.coverage.obstacle import Obstacle, obstacle
from advisor.coverage.sensible import Unusual, read_unusual, why_unusual
from advisor.inference.engine import Engine
from advisor.inference.matchers import matcher_maker
from advisor.job.model import Job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.load import load_knowledge
from advisor.sequence.candidates import ALL_COUNT

Progress = Callable[[int, int], None]
#: Fewer combinations than this are quicker without starting other processes.
FEW = 200


def sweep(
    knowledge: Knowledge,
    folder: Path | None,
    cells: tuple[str, ...] = (),
    sample: int | None = None,
    workers: int | None = None,
    progress: Progress = lambda done, of: None,
) -> Coverage:
    """The answer to every combination, or to a sample of them.

    `knowledge` is what `folder` holds (None: the packaged folder); other processes read it again.
    `progress` is told how many combinations are answered.
    """
    grid = Grid.of(knowledge, cells)
    wanted = tuple(grid.combinations()) if sample is None else grid.sample(sample)
    groups: dict[tuple[str, str], list[Combination]] = {}
    for combination in wanted:
        groups.setdefault((combination.family, combination.shape), []).append(combination)
    count = min(workers or os.cpu_count() or 1, len(groups))
    found: dict[Combination, Answer] = {}

    def note(answers: Iterable[Answer]) -> None:
        found.update((answer.combination, answer) for answer in answers)
        progress(len(found), len(wanted))

    unusual = read_unusual()
    if count < 2 or len(wanted) < FEW:
        decider = _decider(knowledge)
        for group in groups.values():
            note(answer_group(group, grid, knowledge, decider, unusual))
    else:
        # The little garbage of a sweep is in no circles; looking for some takes a fifth of the time.
        with ProcessPoolExecutor(count, get_context("spawn"), gc.set_threshold, (500_000,)) as pool:
            tasks = [pool.submit(_in_process, tuple(group), grid, folder) for group in groups.values()]
            for done in as_completed(tasks):
                note(done.result())
    return Coverage(grid, knowledge.fingerprint, sample is None, tuple(found[item] for item in wanted))


def _decider(knowledge: Knowledge) -> Decider:
    """All matchers agree, and the plain one is the quickest here."""
    return Decider(Engine(knowledge, matcher_maker("plain")))


@cache
def _opened(folder: Path | None) -> tuple[Knowledge, Decider, tuple[Unusual, ...]]:
    """What a process keeps from one group to the next."""
    knowledge = load_knowledge(folder)
    return knowledge, _decider(knowledge), read_unusual()


def _in_process(group: tuple[Combination, ...], grid: Grid, folder: Path | None) -> tuple[Answer, ...]:
    return answer_group(group, grid, *_opened(folder))


def answer_group(
    group: Iterable[Combination],
    grid: Grid,
    knowledge: Knowledge,
    decider: Decider,
    unusual: tuple[Unusual, ...],
) -> tuple[Answer, ...]:
    """The answers for combinations of one family and shape: from the first cell that has a plan."""
    left = list(group)
    maker = FaceMaker(knowledge)
    recalled = _from_memory(knowledge)
    refused: dict[Combination, list[tuple[str, Obstacle]]] = {item: [] for item in left}
    answers: list[Answer] = []
    for cell in grid.cells:
        bench = Bench(knowledge, decider)
        still = []
        for item in left:
            job = maker.job(item, grid.families[item.family], knowledge.tables.cells[cell])
            given = _ask(bench, job, item, cell, recalled, why_unusual(item, unusual))
            if isinstance(given, Answer):
                answers.append(given)
            else:
                refused[item].append((cell, given))
                still.append(item)
        left = still
        if not left:
            break
    answers += (Answer(item, why_unusual(item, unusual), obstacles=tuple(refused[item])) for item in left)
    return tuple(answers)


def _ask(
    bench: Bench, job: Job, item: Combination, cell: str, recalled: frozenset[str], unusual: str | None
) -> Answer | Obstacle:
    """The plan that a cell has for a combination, or what stands in the way there.

    No error may end a sweep of tens of thousands: it becomes an answer that names it.
    """
    try:
        way, finder = find(bench, job)
        if way is None or finder is None:
            return obstacle(bench, finder)
        spoken = rules_spoken(finder, way.path)
    except Exception as error:
        return Answer(item, unusual, fault=f"{cell}: {type(error).__name__}: {error}")
    memory = len(spoken & recalled) / len(spoken) if spoken else 0.0
    widened = way.whole_band or way.concerns < ALL_COUNT
    return Answer(item, unusual, cell, len(way.path), widened, len(spoken), memory)


def _from_memory(knowledge: Knowledge) -> frozenset[str]:
    """The rules all of whose sources are memory or own judgement."""
    return frozenset(
        rule.id
        for rule in knowledge.rules
        if all(knowledge.sources[citation.source].kind == "from-memory" for citation in rule.source)
    )
