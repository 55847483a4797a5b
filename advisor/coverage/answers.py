"""What the sweep found: one answer a combination, and the sums that the table and the picture show."""

from __future__ import annotations

import statistics
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from advisor.coverage.grid import Combination, Grid
from advisor.coverage.obstacle import Obstacle


@dataclass(frozen=True, slots=True)
class Answer:
    """What came of one combination.

    `unusual` is the reason why nobody asks for it. With a plan, `cell` names the first cell that has
    one, `rules` counts the rules that spoke for its steps and `memory` is the share of them that rest
    on memory or own judgement only. Without one, `obstacles` has what stood in the way in each cell.
    `fault` is an error of the program, which must not happen.
    """

    combination: Combination
    unusual: str | None = None
    cell: str | None = None
    steps: int = 0
    widened: bool = False
    rules: int = 0
    memory: float = 0.0
    obstacles: tuple[tuple[str, Obstacle], ...] = ()
    fault: str | None = None

    @property
    def planned(self) -> bool:
        """Whether some cell has a plan."""
        return self.cell is not None


@dataclass(frozen=True, slots=True)
class Coverage:
    """A sweep: what was swept, over which knowledge, and every answer."""

    grid: Grid
    fingerprint: str
    whole: bool
    answers: tuple[Answer, ...]

    @property
    def faults(self) -> tuple[Answer, ...]:
        """The combinations that ended in an error."""
        return tuple(answer for answer in self.answers if answer.fault)


@dataclass(frozen=True, slots=True)
class Tally:
    """Sums over some answers: combinations, the sensible ones, those with a plan, and what plans rest on.

    `rules` is the median number of rules that spoke for a plan of a sensible combination, `memory`
    the mean share that rests on memory. Shares are None where there is nothing to share.
    """

    combinations: int
    sensible: int
    planned: int
    planned_of_all: int
    rules: float | None
    memory: float | None

    @property
    def share(self) -> float | None:
        """The share of the sensible combinations that have a plan."""
        return self.planned / self.sensible if self.sensible else None


def tally(answers: Iterable[Answer]) -> Tally:
    """The sums over some answers.

    >>> square = Combination("brass", "burr", "flat", "mirror")
    >>> sums = tally([Answer(square, cell="bench", rules=60, memory=0.5), Answer(square)])
    >>> sums.sensible, sums.planned, sums.share, sums.memory
    (2, 1, 0.5, 0.5)
    """
    every = tuple(answers)
    sensible = [answer for answer in every if answer.unusual is None]
    planned = [answer for answer in sensible if answer.planned]
    return Tally(
        len(every),
        len(sensible),
        len(planned),
        sum(answer.planned for answer in every),
        statistics.median(answer.rules for answer in planned) if planned else None,
        statistics.fmean(answer.memory for answer in planned) if planned else None,
    )


Key = Callable[[Combination], str]

AXES: Mapping[str, Key] = {
    "family": lambda item: item.family,
    "defect": lambda item: item.defect,
    "shape": lambda item: item.shape,
    "finish": lambda item: item.finish,
}


def along(answers: Sequence[Answer], axis: str) -> dict[str, Tally]:
    """The sums for each value of one axis, in the order of the sweep's axes."""
    groups: dict[str, list[Answer]] = {}
    for answer in answers:
        groups.setdefault(AXES[axis](answer.combination), []).append(answer)
    return {key: tally(group) for key, group in groups.items()}


def across(answers: Sequence[Answer], rows: str, columns: str) -> dict[tuple[str, str], Tally]:
    """The sums for each pair of values of two axes."""
    groups: dict[tuple[str, str], list[Answer]] = {}
    for answer in answers:
        key = (AXES[rows](answer.combination), AXES[columns](answer.combination))
        groups.setdefault(key, []).append(answer)
    return {key: tally(group) for key, group in groups.items()}


@dataclass(frozen=True, slots=True)
class Gap:
    """Combinations refused for one reason: what stands in the way, how many, and one of them."""

    stage: str
    limit: str
    count: int
    example: Answer


def gaps(answers: Iterable[Answer]) -> tuple[Gap, ...]:
    """Why sensible combinations have no plan, the most frequent first.

    A combination counts once, under what stood in the way in the cell that came nearest: one whose
    chains arrive at the wrong roughness, then one that cannot take the defect off, then the first.
    """
    counted: Counter[tuple[str, str]] = Counter()
    examples: dict[tuple[str, str], Answer] = {}
    for answer in answers:
        if answer.planned or answer.unusual or not answer.obstacles:
            continue
        nearest = nearest_obstacle(answer)
        key = (nearest.stage, nearest.limit)
        counted[key] += 1
        examples.setdefault(key, answer)
    return tuple(Gap(*key, count, examples[key]) for key, count in counted.most_common())


_NEARNESS = ("roughness", "passes")


def nearest_obstacle(answer: Answer) -> Obstacle:
    """What stood in the way in the cell that came nearest. Raises ValueError where nothing did."""
    found = [item for _, item in answer.obstacles]
    return min(
        found, key=lambda item: _NEARNESS.index(item.limit) if item.limit in _NEARNESS else len(_NEARNESS)
    )
