"""The table of combinations nobody asks for: every key known, every row of use, every reason a sentence."""

from __future__ import annotations

from collections import Counter

from advisor.coverage.grid import Combination, Grid
from advisor.coverage.sensible import read_unusual, why_unusual
from advisor.knowledge.load import load_knowledge

GRID = Grid.of(load_knowledge())
ROWS = read_unusual()


def test_every_key_of_the_table_is_an_axis_value() -> None:
    for row in ROWS:
        assert row.families <= set(GRID.families), row
        assert row.defects <= set(GRID.defects), row
        assert row.shapes <= set(GRID.shapes), row
        assert row.finishes <= set(GRID.finishes), row


def test_every_row_rules_something_out_and_says_why() -> None:
    counted = Counter(why_unusual(square, ROWS) for square in GRID.combinations())
    assert len({row.reason for row in ROWS}) == len(ROWS)
    for row in ROWS:
        assert counted[row.reason] > 0, row
        assert row.reason[0].isupper()
        assert row.reason.endswith(".")


def test_no_axis_is_ruled_out_whole_and_most_combinations_stay() -> None:
    sensible = [square for square in GRID.combinations() if why_unusual(square, ROWS) is None]
    assert len(sensible) > 0.7 * len(tuple(GRID.combinations()))
    assert {square.family for square in sensible} == set(GRID.families)
    assert {square.defect for square in sensible} == set(GRID.defects)
    assert {square.shape for square in sensible} == set(GRID.shapes)
    assert {square.finish for square in sensible} == set(GRID.finishes)


def test_common_work_is_sensible_and_nonsense_is_not() -> None:
    common = [
        Combination("austenitic-stainless", "weld-bead", "flat", "satin-medium"),
        Combination("zinc-die-cast", "parting-line", "convex", "plate-ready"),
        Combination("grey-iron", "casting-skin", "flat", "keyed-paint"),
        Combination("leaded-brass", "forging-scale", "convex", "mirror"),
        Combination("wrought-aluminium", "die-lines", "flat", "satin-fine"),
        Combination("carbon-steel", "laser-edge", "edge", "keyed-powder"),
    ]
    nonsense = [
        Combination("zinc-die-cast", "weld-bead", "flat", "satin-medium"),
        Combination("copper", "mill-scale", "flat", "mirror"),
        Combination("grey-iron", "lacquer", "flat", "keyed-paint"),
        Combination("grey-iron", "casting-skin", "flat", "mirror"),
        Combination("wrought-aluminium", "casting-skin", "flat", "satin-fine"),
    ]
    assert [why_unusual(square, ROWS) for square in common] == [None] * len(common)
    assert all(why_unusual(square, ROWS) for square in nonsense)
