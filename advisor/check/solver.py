"""Finds a situation in which rules fire together, or proves that there is none.

The search narrows a box clause by clause (depth first, every alternative tried), so the answer is exact:
boxes are exact over cells, and each answer is put to the real order of conclusions before it is believed.
A point that turns out otherwise teaches a new clause, and the search goes on; there are finitely many cells.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

from advisor.check.space import Box, Literal, Space


@dataclass(frozen=True, slots=True)
class Case:
    """One way to meet a clause: literals that must hold, and further clauses that come with it."""

    literals: tuple[Literal, ...]
    clauses: tuple[Clause, ...] = ()


Clause = tuple[Case, ...]
#: Looks at a point; None where it is as the box says, else a clause that every true answer meets.
Judge = Callable[[Box, Box], Clause | None]


class SpentError(Exception):
    """The search took more steps than it may; nothing is proved."""


@dataclass
class Budget:
    """How many boxes a search may open."""

    left: int
    spent: int = field(default=0)

    def take(self) -> None:
        """One more box. Raises SpentError."""
        if self.left <= 0:
            raise SpentError
        self.left -= 1
        self.spent += 1


def solve(
    space: Space,
    case: Case,
    judge: Judge | None = None,
    within: Box | None = None,
    budget: Budget | None = None,
) -> Box | None:
    """A point in which a case holds, or None where there is none.

    Raises SpentError where a budget runs out first.
    """
    start = space.narrowed(within or {}, case.literals)
    if start is None:
        return None
    return _search(space, start, list(case.clauses), judge, budget)


def _search(
    space: Space, box: Box, clauses: Sequence[Clause], judge: Judge | None, budget: Budget | None
) -> Box | None:
    if budget is not None:
        budget.take()
    at = _open(box, clauses)
    if at is None:
        point = space.point(box)
        learned = judge(point, box) if judge is not None else None
        return point if learned is None else _search(space, box, [learned], judge, budget)
    rest = [*clauses[:at], *clauses[at + 1 :]]
    for case in clauses[at]:
        inner = space.narrowed(box, case.literals)
        if inner is None:
            continue
        found = _search(space, inner, [*rest, *case.clauses], judge, budget)
        if found is not None:
            return found
    return None


def _open(box: Box, clauses: Sequence[Clause]) -> int | None:
    """The first clause that a box does not meet as it is."""
    for at, clause in enumerate(clauses):
        if not any(not case.clauses and _holds(box, case.literals) for case in clause):
            return at
    return None


def _holds(box: Box, literals: Iterable[Literal]) -> bool:
    return all(key in box and not box[key] & ~mask for key, mask in literals)
