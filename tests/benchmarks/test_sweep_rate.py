"""How fast the sweep of the coverage is: one family and shape of the 80 that a whole sweep has."""

from __future__ import annotations

from collections.abc import Callable

from pytest_benchmark.fixture import BenchmarkFixture

from advisor.choices.decide import Decider
from advisor.coverage.grid import Grid
from advisor.coverage.sensible import read_unusual
from advisor.coverage.sweep import answer_group
from advisor.inference.engine import Engine
from advisor.inference.matchers import matcher_maker
from tests import invented

Note = Callable[[str, BenchmarkFixture], None]


def test_one_family_and_shape(benchmark: BenchmarkFixture, note: Note) -> None:
    """The whole takes as many times this as there are families and shapes, shared among the processors.

    On the two quiet cores of the requirement 120 s allow 3 s for each; the expected time of the whole is
    kept with the benchmark as `whole_on_two_cores_s`.
    """
    knowledge = invented.knowledge()
    grid, unusual = Grid.of(knowledge), read_unusual()
    groups = len(grid.families) * len(grid.shapes)
    group = [
        item
        for item in grid.combinations()
        if (item.family, item.shape) == ("austenitic-stainless", "convex")
    ]

    def swept() -> int:
        decider = Decider(Engine(knowledge, matcher_maker("plain")))
        return len(answer_group(group, grid, knowledge, decider, unusual))

    assert benchmark.pedantic(swept, rounds=3) == len(grid.defects) * len(grid.finishes)
    if benchmark.stats is not None:
        benchmark.extra_info["whole_on_two_cores_s"] = benchmark.stats.stats.median * groups / 2
    note("sweep, one family and shape", benchmark)
