"""Handling in the joint plan, against every order and every combination written out."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from itertools import pairwise, permutations, product
from types import SimpleNamespace
from typing import Any, cast

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.numbers.job_figures import job_figures
from advisor.sequence.handling import Handling, arranged, in_goes, turns
from advisor.sequence.joint import joint_plan, share_set_ups, times_handled
from advisor.sequence.paths import EQUAL, Path
from tests import invented

faces = st.frozensets(st.integers(0, 3), min_size=1, max_size=3)


def every_order(go: Sequence[frozenset[int]]) -> Iterator[list[int]]:
    """Every way in which a part can be shown: each visit takes its faces one after another."""
    for orders in product(*(permutations(sorted(each)) for each in go)):
        yield [face for order in orders for face in order]


def changes_of(shown: Sequence[int]) -> int:
    return sum(one != two for one, two in pairwise(shown))


@given(st.lists(faces, min_size=1, max_size=5))
def test_the_turns_are_the_fewest_of_all_orders(go: list[frozenset[int]]) -> None:
    assert turns(go) == min(changes_of(shown) for shown in every_order(go))


@given(st.lists(faces, min_size=1, max_size=6))
def test_the_order_told_has_so_many_turns(go: list[frozenset[int]]) -> None:
    order = list(arranged(go))
    assert [frozenset(each) for each in order] == go
    assert changes_of([face for each in order for face in each]) == turns(go)


@given(st.lists(st.tuples(st.sampled_from("abc"), faces), min_size=1, max_size=8), st.booleans())
def test_the_bound_is_never_above_the_cost(stops: list[tuple[str, frozenset[int]]], one_part: bool) -> None:
    """Whatever prefix of the set-ups is known, what is told to be the least is no more than the whole costs."""
    for hold, turn in ((20.0, 6.0), (5.0, 9.0)):
        handling = Handling(hold, turn, one_part)
        shown = len(frozenset().union(*(each for _, each in stops)))
        for known in range(len(stops) + 1):
            names = [station for station, _ in stops[:known]]
            counted = {name: names.count(name) for name in names}
            assert handling.at_least(shown, counted) <= handling.cost(stops) + 1e-9


def test_a_station_set_up_again_takes_the_part_in_hand_again() -> None:
    one, two = frozenset({0}), frozenset({0, 1})
    assert in_goes([("a", one), ("b", two), ("a", two)]) == [[one, two], [two]]
    assert in_goes([("a", one), ("a", two)], one_part=True) == [[one, two]]


# ---------------------------------------------------------------- combinations
def step(draw: random.Random, place: int) -> Any:
    """A step as the joint plan sees it: a station, an abrasive, a grain size, what it costs."""
    station = draw.choice("abc")
    um = (300.0, 200.0, 125.0, 80.0, 50.0)[min(4, place + draw.randint(0, 1))]
    grade = SimpleNamespace(um=um, key=f"{um:g}")
    candidate = SimpleNamespace(
        tool=SimpleNamespace(station=SimpleNamespace(name=station)), key=(station, "grain", grade.key),
        grade=grade, values={}, stage=("clear", "refine", "finish")[min(2, place)],
    )  # fmt: skip
    change = {"a": 2.0, "b": 5.0, "c": 1.0}[station]
    return SimpleNamespace(candidate=candidate, cost=draw.uniform(10.0, 60.0) + change, change=change)


def offers(seed: int, features: int, paths: int) -> list[list[Path]]:
    draw = random.Random(seed)
    return [
        [cast(Path, tuple(step(draw, place) for place in range(draw.randint(1, 3)))) for _ in range(paths)]
        for _ in range(features)
    ]


def merit(paths: Sequence[Path], handling: Handling) -> tuple[float, ...]:
    """Steps, set-ups, starts and the total of one combination, reckoned without the joint plan."""
    left = [list(path) for path in paths]
    stops: list[tuple[str, frozenset[int]]] = []
    total = 0.0
    while any(left):
        heads: list[Any] = [path[0] for path in left if path]
        first = min(heads, key=lambda each: (
            -each.candidate.grade.um, ("clear", "refine", "prepare", "finish").index(each.candidate.stage),
            each.candidate.tool.station.name,
        ))  # fmt: skip
        served = set()
        for row, path in enumerate(left):
            while path and cast(Any, path[0]).candidate.key == first.candidate.key:
                one = path.pop(0)
                served.add(row)
                total += one.cost - one.change
        total += first.change
        stops.append((first.candidate.tool.station.name, frozenset(served)))
    goes: list[list[tuple[str, frozenset[int]]]] = [[]]
    for stop in stops:
        if not handling.one_part and stop[0] in [station for station, _ in goes[-1]]:
            goes.append([])
        goes[-1].append(stop)
    handled = handling.hold * len(goes)
    handled += handling.turn * sum(turns([served for _, served in go]) for go in goes)
    total += handled
    starts = sum(path[0].candidate.grade.um for path in paths if path[0].candidate.grade)
    return sum(map(len, paths)), len(stops), starts, handled, total


def neatest(found: list[list[Path]], handling: Handling) -> tuple[float, ...]:
    every = [merit(paths, handling) for paths in product(*found)]
    least = min(every, key=lambda each: each[-1])
    limit = EQUAL * (least[-1] - least[-2]) + least[-2]
    near = [each for each in every if each[-1] <= limit * (1 + 1e-12)]
    return min(near, key=lambda each: (*each[:3], each[-1]))


@pytest.mark.parametrize(("features", "paths"), [(2, 5), (3, 5), (4, 4), (5, 3), (8, 2)])
@pytest.mark.parametrize("one_part", [True, False])
def test_the_combination_is_the_neatest_within_a_tenth_with_handling(
    features: int, paths: int, one_part: bool
) -> None:
    handling = Handling(20.0, 6.0, one_part)
    for seed in range(4):
        found = offers(seed, features, paths)
        joint = joint_plan(found, handling)
        taken = [each[number] for each, number in zip(found, joint.picked, strict=True)]
        assert merit(taken, handling) == pytest.approx(neatest(found, handling), rel=1e-12)
        assert joint.cost == pytest.approx(merit(taken, handling)[-1], rel=1e-12)


def test_eight_features_with_five_paths_each() -> None:
    """All 390,625 combinations take minutes; here every one that swaps any two features' paths."""
    handling = Handling(20.0, 6.0)
    found = offers(7, 8, 5)
    joint = joint_plan(found, handling)
    taken = [each[number] for each, number in zip(found, joint.picked, strict=True)]
    best = merit(taken, handling)
    cheapest = best[-1]
    for one, two in product(range(8), repeat=2):
        for first, second in product(found[one], found[two]):
            other = [*taken]
            other[one], other[two] = first, second
            cheapest = min(cheapest, merit(other, handling)[-1])
    assert best[-1] <= EQUAL * cheapest * (1 + 1e-12)
    assert joint.cost == pytest.approx(best[-1], rel=1e-12)


def test_handling_can_move_the_choice() -> None:
    """A path that is dearer alone is taken where it spares the part a second time in hand."""

    def made(station: str, grade: float, cost: float, stage: str) -> Any:
        row = SimpleNamespace(um=grade, key=f"{grade:g}")
        candidate = SimpleNamespace(
            tool=SimpleNamespace(station=SimpleNamespace(name=station)), key=(station, "grain", row.key),
            grade=row, values={}, stage=stage,
        )  # fmt: skip
        return SimpleNamespace(candidate=candidate, cost=cost, change=1.0)

    twice = cast(Path, (made("a", 200.0, 20.0, "clear"), made("a", 80.0, 20.0, "finish")))
    across = cast(Path, (made("a", 200.0, 20.0, "clear"), made("b", 80.0, 27.0, "finish")))
    assert joint_plan([[twice, across]]).picked == (0,)
    assert joint_plan([[twice, across]], Handling(hold=30.0, turn=6.0)).picked == (1,)


def test_the_sheet_counts_the_same_handling() -> None:
    """Handling stands once in the totals, as the joint plan counted it, and never in a step."""
    job = invented.job_of(
        alloy="s31603", start={"defect": "casting-skin", "depth": "0.1 mm"}, finish="satin-fine",
        features=[{**invented.PLAIN_FACE, "name": name} for name in ("left", "right", "top")],
    )  # fmt: skip
    plans, visits = share_set_ups(invented.plans_of(job))
    holds, turned = times_handled(visits, one_part=False)
    totals = job_figures(job, plans, visits, "seed").totals
    assert totals is not None and (totals.holds, totals.turns) == (holds, turned)
    assert turned >= 2
    general = plans[0].desk.general()
    expected = general["handling_seconds"].band.expected * holds + general["turning_seconds"].band.expected * turned
    line = next(each for each in totals.lines if each.what == "handling")
    assert line.time.low < expected < line.time.high
    shown = [row for visit in visits for row in dict.fromkeys(row for row, _ in visit.serves)]
    assert sum(one != two for one, two in pairwise(shown)) <= turned + holds - 1
