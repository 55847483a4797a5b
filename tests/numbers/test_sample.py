"""The sample: draws as before, and behind them each coefficient alone at its ends."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from advisor.figures.coefficients import Draws
from advisor.numbers.sample import Sample, Swept, swept
from advisor.process.bands import Spread, percentiles
from tests import invented

ROWS = [
    invented.knowledge().tables.coefficients[key] for key in ("step-seconds", "handling-seconds", "roughness-n")
]


def sample() -> Sample:
    return Sample("any job", swept(ROWS))


def test_the_draws_are_those_of_a_sample_without_a_tail() -> None:
    whole, plain = sample(), Draws("any job")
    for row in ROWS[:2]:
        drawn = np.asarray(plain.one(row))
        assert np.array_equal(np.asarray(whole.one(row))[:400], drawn)
        assert np.array_equal(np.asarray(whole.plain().one(row)), drawn)
        assert whole.band(whole.one(row)) == percentiles(plain.one(row))


def test_each_column_of_the_tail_moves_one_thing() -> None:
    whole = sample()
    total = 2.0 * whole.one(ROWS[0]) + whole.one(ROWS[1])
    steps, handling = (row.band for row in ROWS[:2])
    assert whole.expected(total) == 2.0 * steps.expected + handling.expected
    moved = {ends.moved.key: (ends.at_low, ends.at_high) for ends in whole.ends(total)}
    assert moved == {
        "step-seconds": (2.0 * steps.low + handling.expected, 2.0 * steps.high + handling.expected),
        "handling-seconds": (2.0 * steps.expected + handling.low, 2.0 * steps.expected + handling.high),
    }


def test_what_keeps_its_expected_value_is_not_moved() -> None:
    whole = sample()
    assert whole.one(ROWS[2]) == ROWS[2].band.expected
    assert [each.key for each in whole.moved] == ["step-seconds", "handling-seconds"]


def test_a_factor_is_moved_but_not_drawn() -> None:
    ends = Spread(1.0, 1.0, 2.5)
    whole = Sample("any job", [*swept(ROWS), Swept("depth", "depth", "1", ends)])
    factor = whole.factor("depth", ends)
    assert whole.band(factor) == (1.0, 1.0, 1.0)
    assert {each.at_high for each in whole.ends(factor) if each.moved.key == "depth"} == {2.5}
    assert {each.at_high for each in whole.ends(factor) if each.moved.key != "depth"} == {1.0}


@pytest.mark.parametrize("count", [1, 2, 10, 399, 400, 401, 1000])
def test_percentiles_are_numpys_nearest_ranks(count: int) -> None:
    values = np.random.default_rng(count).random(count)
    expected = np.percentile(values, (5, 50, 95), method="nearest")
    assert tuple(percentiles(values)) == tuple(expected)  # type: ignore[arg-type]
    assert all(low <= high for low, high in pairwise(expected))
