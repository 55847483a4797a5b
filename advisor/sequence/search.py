"""Exact cheapest paths in a graph that is only known by expanding it.

Labels are settled in order of cost (Dijkstra 1959, with several criteria as in Martins 1984): a
label at a node is dropped only if another one there is no worse in every criterion, so whatever
ordering of the criteria is asked for afterwards, its best path is among those found.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass
from itertools import count
from typing import Generic, TypeVar

Move = TypeVar("Move")
Criteria = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Label(Generic[Move]):
    """A way to a node: what it costs, how it stands in the other criteria, and how it got there.

    `criteria` are all to be made small and start with the cost, which never falls along a way.
    """

    node: Hashable
    criteria: Criteria
    move: Move
    parent: Label[Move] | None = None

    @property
    def cost(self) -> float:
        """The first criterion."""
        return self.criteria[0]

    def moves(self) -> tuple[Move, ...]:
        """The moves from the start to here."""
        way: list[Move] = []
        label: Label[Move] | None = self
        while label is not None:
            way.append(label.move)
            label = label.parent
        return tuple(reversed(way))


Expansion = Iterable[Label[Move]]


def cheapest_paths(
    starts: Iterable[Label[Move]],
    expand: Callable[[Label[Move]], Expansion[Move]],
    is_goal: Callable[[Label[Move]], bool],
    slack: float = 1.0,
    ahead: Callable[[Label[Move]], float] = lambda label: 0.0,
) -> tuple[Label[Move], ...]:
    """The labels that reach a goal, cheapest first, up to `slack` times the cheapest cost.

    `expand` gives the labels one move further, each with its parent. Costs must not fall along a
    path. `ahead` is a lower bound on what is still to be paid (Hart, Nilsson and Raphael 1968), zero
    at a goal, and never falling by more than a move costs. An infinite `slack` finds every path
    that is not dominated.
    """
    order = count()
    queue = [(label.cost + ahead(label), next(order), label) for label in starts]
    heapq.heapify(queue)
    settled: dict[Hashable, list[Criteria]] = {}
    found: list[Label[Move]] = []
    limit = float("inf")
    while queue:
        bound, _, label = heapq.heappop(queue)
        if bound > limit:
            break
        kept = settled.setdefault(label.node, [])
        if _dominated(label.criteria, kept):
            continue
        kept.append(label.criteria)
        if is_goal(label):
            found.append(label)
            limit = min(limit, label.cost * slack + 1e-9)
            continue
        for further in expand(label):
            bound = further.cost + ahead(further)
            if bound <= limit and not _dominated(further.criteria, settled.get(further.node, ())):
                heapq.heappush(queue, (bound, next(order), further))
    return tuple(found)


def _dominated(criteria: Criteria, others: Iterable[Criteria]) -> bool:
    """Whether some other is no worse in every criterion."""
    for other in others:
        for theirs, ours in zip(other, criteria, strict=True):
            if theirs > ours:
                break
        else:
            return True
    return False
