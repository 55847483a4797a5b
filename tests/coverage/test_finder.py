"""The sweep's shared finder answers as the planner of a single feature does."""

from __future__ import annotations

from random import Random

import pytest

from advisor.choices.decide import Decider
from advisor.coverage.bench import Bench
from advisor.coverage.finder import find, rules_spoken
from advisor.coverage.grid import Combination, FaceMaker, Grid
from advisor.coverage.obstacle import obstacle
from advisor.inference.engine import Engine
from advisor.inference.matchers import matcher_maker
from advisor.knowledge.load import load_knowledge
from advisor.sequence.plan import plan_feature

KNOWLEDGE = load_knowledge()
GRID = Grid.of(KNOWLEDGE)


@pytest.fixture(scope="module")
def decider() -> Decider:
    return Decider(Engine(KNOWLEDGE, matcher_maker("plain")))


def _benches(count: int) -> list[tuple[str, str, str]]:
    draw = Random(7)
    return [
        (draw.choice(list(GRID.families)), draw.choice(GRID.shapes), draw.choice(GRID.cells))
        for _ in range(count)
    ]


@pytest.mark.parametrize(("family", "shape", "cell"), _benches(8))
def test_a_bench_finds_a_chain_just_where_the_planner_does(
    family: str, shape: str, cell: str, decider: Decider
) -> None:
    draw, bench, maker = Random(f"{family}{shape}{cell}"), Bench(KNOWLEDGE, decider), FaceMaker(KNOWLEDGE)
    for _ in range(16):  # many faces of one bench, so that what is shared between them is put to use
        square = Combination(family, draw.choice(GRID.defects), shape, draw.choice(GRID.finishes))
        job = maker.job(square, GRID.families[family], KNOWLEDGE.tables.cells[cell])
        way, finder = find(bench, job)
        handling = bench.desk(job).handling
        plan = plan_feature(job, job.features[0], handling, KNOWLEDGE, decider)
        assert (way is not None) == bool(plan.path), square
        if way is None:
            assert obstacle(bench, finder).text
            continue
        assert finder is not None
        assert (way.concerns, way.whole_band) == (plan.concerns, plan.whole_band), square
        cheapest = min([plan.cost, *(rival.cost for rival in plan.rivals)])
        assert sum(step.cost for step in way.path) >= cheapest - 1e-9, square
        last = way.path[-1].after
        assert last.stage == "finish"
        low, high = job.features[0].finish.ra_um
        assert low * (1 - 1e-6) <= last.ra * 1e6 <= high * (1 + 1e-6), square
        assert rules_spoken(finder, way.path) <= set(KNOWLEDGE.rule)


def test_the_rules_of_a_chain_are_those_that_fire_for_its_steps(decider: Decider) -> None:
    bench, maker = Bench(KNOWLEDGE, decider), FaceMaker(KNOWLEDGE)
    # Other faces come first: what they leave behind must not be counted for the last one.
    for defect in ("paint", "weld-bead", "machining-marks"):
        square = Combination("austenitic-stainless", defect, "flat", "satin-fine")
        job = maker.job(square, "s30400", KNOWLEDGE.tables.cells["robot-floor-stand"])
        way, finder = find(bench, job)
        assert way is not None
        assert finder is not None
        spoken = rules_spoken(finder, way.path)
    alone = Bench(KNOWLEDGE, decider)
    way, finder = find(alone, job)
    assert way is not None
    assert finder is not None
    assert rules_spoken(finder, way.path) == spoken
    for rule in spoken:
        for condition in KNOWLEDGE.rule[rule].when:
            if condition.attribute == "alloy.family" and condition.operator == "in":
                assert "austenitic-stainless" in condition.operand, rule
            if condition.attribute == "defect" and condition.operator == "in":
                assert "machining-marks" in condition.operand, rule
