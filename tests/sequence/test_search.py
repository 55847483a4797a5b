"""The exact search against networkx and against every path written out, on small drawn graphs."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.sequence.search import Criteria, Label, cheapest_paths

Edge = tuple[int, int]
EVERY = float("inf")


@dataclass(frozen=True)
class Network:
    """Places 0 to n - 1, what it takes to go from one to another, and where one wants to be."""

    size: int
    edges: Mapping[Edge, Criteria]
    goals: frozenset[int]

    def graph(self, criterion: int = 0) -> nx.DiGraph:
        """The same as a networkx graph, in which a goal leads nowhere on."""
        graph = nx.DiGraph()
        graph.add_nodes_from(range(self.size))
        for (one, two), costs in self.edges.items():
            if one not in self.goals:
                graph.add_edge(one, two, weight=costs[criterion])
        return graph


@st.composite
def networks(draw: st.DrawFn, criteria: int, most: int = 6, least: int = 0) -> Network:
    size = draw(st.integers(2, most))
    pairs = [(one, two) for one in range(size) for two in range(size) if one != two]
    chosen = draw(st.lists(st.sampled_from(pairs), max_size=3 * size, unique=True))
    costs = st.tuples(*[st.integers(least, 9).map(float)] * criteria)
    goals = draw(st.lists(st.integers(1, size - 1), min_size=1, max_size=2, unique=True))
    return Network(size, {pair: draw(costs) for pair in chosen}, frozenset(goals))


def search(
    net: Network, slack: float = 1.0, ahead: Callable[[Label[Edge | None]], float] = lambda label: 0.0
) -> tuple[Label[Edge | None], ...]:
    width = len(next(iter(net.edges.values()), (0.0,)))

    def expand(label: Label[Edge | None]) -> Iterable[Label[Edge | None]]:
        for (one, two), costs in net.edges.items():
            if one == label.node:
                summed = tuple(a + b for a, b in zip(label.criteria, costs, strict=True))
                yield Label(two, summed, (one, two), label)

    start: Label[Edge | None] = Label(0, (0.0,) * width, None)
    return cheapest_paths([start], expand, lambda label: label.node in net.goals, slack, ahead)


def every_path(net: Network) -> Iterator[tuple[int, Criteria]]:
    """The end and the sums of every path without a loop; no cost is below zero, so loops never help."""
    graph = net.graph()
    width = len(next(iter(net.edges.values()), (0.0,)))
    for goal in net.goals:
        for nodes in nx.all_simple_paths(graph, 0, goal):
            legs = [net.edges[pair] for pair in pairwise(nodes)]
            yield goal, tuple(sum(leg[place] for leg in legs) for place in range(width))


def no_worse(one: Criteria, two: Criteria) -> bool:
    return all(a <= b for a, b in zip(one, two, strict=True))


def undominated(found: Iterable[tuple[int, Criteria]]) -> set[tuple[int, Criteria]]:
    every = set(found)
    return {
        (goal, sums) for goal, sums in every
        if not any(goal == other and sums != theirs and no_worse(theirs, sums) for other, theirs in every)
    }  # fmt: skip


def reached(labels: Iterable[Label[Edge | None]]) -> list[tuple[int, Criteria]]:
    return [(int(str(label.node)), label.criteria) for label in labels]


@given(networks(1))
def test_the_cheapest_cost_is_dijkstras(net: Network) -> None:
    lengths = nx.single_source_dijkstra_path_length(net.graph(), 0)
    costs = [float(lengths[goal]) for goal in net.goals if goal in lengths]
    found = search(net)
    assert bool(found) is bool(costs)
    if found:
        assert found[0].cost == min(costs)


@given(networks(1))
def test_with_endless_slack_every_goal_is_reached_at_its_own_cheapest_cost(net: Network) -> None:
    lengths = nx.single_source_dijkstra_path_length(net.graph(), 0)
    expected = {goal: (float(lengths[goal]),) for goal in net.goals if goal in lengths}
    assert dict(reached(search(net, EVERY))) == expected


@given(st.integers(2, 3).flatmap(networks))
def test_no_path_that_nothing_beats_is_missed(net: Network) -> None:
    found = reached(search(net, EVERY))
    every = set(every_path(net))
    assert len(found) == len(set(found))
    assert undominated(every) <= set(found) <= every
    for goal, sums in found:  # what is kept beside them costs no less and came first
        assert all(
            sums[0] == theirs[0] for other, theirs in every
            if other == goal and theirs != sums and no_worse(theirs, sums)
        )  # fmt: skip


@given(networks(2), st.sampled_from([1.0, 1.1, 1.5, 2.0]))
def test_slack_keeps_what_lies_within_it_and_nothing_dearer(net: Network, slack: float) -> None:
    best = undominated(every_path(net))
    found = reached(search(net, slack))
    if not best:
        assert found == []
        return
    limit = min(sums[0] for _, sums in best) * slack
    assert {(goal, sums) for goal, sums in best if sums[0] <= limit} <= set(found)
    assert all(sums[0] <= limit + 1e-6 for _, sums in found)


@given(networks(2), st.sampled_from([1.0, 1.5, EVERY]))
def test_what_is_found_comes_cheapest_first(net: Network, slack: float) -> None:
    costs = [label.cost for label in search(net, slack)]
    assert costs == sorted(costs)


@given(networks(2))
def test_the_moves_of_a_label_add_up_to_it(net: Network) -> None:
    for label in search(net, EVERY):
        first, *moves = label.moves()
        assert first is None
        legs = [move for move in moves if move is not None]
        assert len(legs) == len(moves)
        assert all(one[1] == two[0] for one, two in pairwise(legs))
        assert not legs or (legs[0][0], legs[-1][1]) == (0, label.node)
        for place, value in enumerate(label.criteria):
            assert value == sum(net.edges[leg][place] for leg in legs)


@settings(max_examples=200)
@given(networks(2), st.sampled_from([0.25, 0.5, 1.0]), st.sampled_from([1.0, 1.25, EVERY]))
def test_a_bound_that_never_promises_too_much_changes_no_answer(
    net: Network, share: float, slack: float
) -> None:
    """The bound is a share of what really lies ahead, which networkx tells by going backwards."""
    backwards = net.graph().reverse()
    left = nx.multi_source_dijkstra_path_length(backwards, set(net.goals))

    def ahead(label: Label[Edge | None]) -> float:
        return share * float(left.get(label.node, EVERY))

    assert set(reached(search(net, slack, ahead))) == set(reached(search(net, slack)))


def test_the_bound_saves_expansions() -> None:
    """A line of 50 places behind the start that leads away from the goal is not walked."""
    asked: list[int] = []

    def expand(label: Label[int]) -> Iterator[Label[int]]:
        place = int(str(label.node))
        asked.append(place)
        for further in (place + 1, place - 1):
            if -50 <= further <= 5:
                yield Label(further, (label.cost + 1.0,), further, label)

    def run(ahead: Callable[[Label[int]], float]) -> float:
        asked.clear()
        found = cheapest_paths([Label(0, (0.0,), 0)], expand, lambda label: label.node == 5, ahead=ahead)
        return found[0].cost

    assert run(lambda label: 0.0) == 5.0 and min(asked) < 0
    assert run(lambda label: 5.0 - int(str(label.node))) == 5.0 and min(asked) == 0


def test_several_starts_and_no_way() -> None:
    def expand(label: Label[str]) -> Iterator[Label[str]]:
        yield Label("end", (label.cost + 1.0,), "on", label)

    starts = [Label("far", (5.0,), "far"), Label("near", (2.0,), "near")]
    (found,) = cheapest_paths(starts, expand, lambda label: label.node == "end")
    assert (found.cost, found.moves()) == (3.0, ("near", "on"))
    assert cheapest_paths(starts, lambda label: (), lambda label: False) == ()
    assert cheapest_paths([], expand, lambda label: True) == ()


def test_a_start_that_is_a_goal_needs_no_move() -> None:
    (found,) = cheapest_paths([Label("here", (0.0,), "here")], lambda label: (), lambda label: True)
    assert found.moves() == ("here",)


def test_a_dearer_way_is_kept_only_where_it_is_better_in_something() -> None:
    ways = {"a": (1.0, 9.0), "b": (2.0, 9.0), "c": (3.0, 1.0)}

    def expand(label: Label[str]) -> Iterator[Label[str]]:
        for name, costs in ways.items():
            yield Label("end", costs, name, label)

    def run(slack: float) -> list[str]:
        found = cheapest_paths(
            [Label("start", (0.0, 0.0), "go")], expand, lambda label: label.node == "end", slack
        )
        return [label.move for label in found]

    assert run(math.inf) == ["a", "c"]
    assert run(2.9) == ["a"]
    assert run(3.0) == ["a", "c"]


def test_criteria_of_different_lengths_are_a_mistake() -> None:
    def expand(label: Label[str]) -> Iterator[Label[str]]:
        yield Label("end", (1.0, 1.0), "two", label)
        yield Label("end", (2.0,), "one", label)

    with pytest.raises(ValueError, match="argument"):
        cheapest_paths(
            [Label("start", (0.0, 0.0), "go")], expand, lambda label: label.node == "end", math.inf
        )
