"""The posterior against the worked cases of the notes, against its own laws, and against plain weighting."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from advisor.learning.posterior import belief, surprises, updated
from advisor.learning.robust import robust_update

PRIOR = belief([0.0], [9.0], 2.0, 0.02)
WORKED = [0.25, 0.31, 0.18]
ONE = [[1.0]]


def test_the_worked_posterior_to_six_digits() -> None:
    after = updated(PRIOR, ONE * 3, WORKED)
    assert round(float(after.mean[0]), 6) == 0.237857
    assert round(float(after.spread[0, 0]), 6) == 0.321429
    assert after.shape == 3.5
    assert round(after.scale, 8) == 0.02749286
    low, middle, high = np.exp(after.next([1.0]))
    assert (round(low, 4), round(middle, 4), round(high, 4)) == (0.9969, 1.2685, 1.6141)


def test_the_worked_surprises() -> None:
    after = updated(PRIOR, ONE * 3, WORKED)
    seen = surprises(after, ONE * 2, [0.35, 0.90], [0.0, 0.0])
    chance = 2 * stats.t.sf(np.abs(seen.t), seen.freedom)
    assert np.round(seen.t, 2).tolist() == [1.10, 6.50]
    assert round(float(chance[0]), 3) == 0.307
    assert round(float(chance[1]), 5) == 0.00033


def test_the_worked_case_with_two_effects() -> None:
    force, depth = np.array([20.0, 40, 60, 80]), np.array([4.1, 6.4, 8.0, 9.6])
    design = np.column_stack([np.ones(4), np.log(force / 40)])
    after = updated(belief([np.log(7), 0.8], [4.0, 1.0], 2.0, 0.02), design, np.log(depth))
    assert np.round(after.mean, 6).tolist() == [1.837919, 0.699965]


numbers = st.floats(-2, 2)


@given(st.lists(st.tuples(numbers, numbers, numbers), min_size=1, max_size=12))
def test_one_by_one_is_all_at_once_in_any_order(rows: list[tuple[float, float, float]]) -> None:
    prior = belief([0.0, 0.3], [9.0, 2.0], 2.0, 0.02)
    table = np.array(rows)
    batch = updated(prior, table[:, :2], table[:, 2])
    single = prior
    for row in table[::-1]:
        single = updated(single, row[None, :2], row[2:])
    assert single.mean == pytest.approx(batch.mean, abs=1e-7)
    assert single.spread == pytest.approx(batch.spread, abs=1e-7)
    assert (single.shape, single.scale) == pytest.approx((batch.shape, batch.scale), rel=1e-6)


@given(st.lists(st.floats(-1, 1), min_size=3, max_size=9), st.integers(0, 2))
def test_a_reading_is_held_against_the_belief_without_it(values: list[float], place: int) -> None:
    y = np.array(values)
    x = np.ones((len(y), 1))
    full = surprises(updated(PRIOR, x, y), x, y)
    rest = np.delete(y, place)
    without = updated(PRIOR, x[1:], rest)
    low, middle, high = without.next([1.0])
    scale = (high - low) / 2 / float(stats.t.ppf(0.975, without.freedom))
    assert full.t[place] == pytest.approx((y[place] - middle) / scale, rel=1e-5, abs=1e-7)
    assert full.freedom[place] == without.freedom


def test_sound_readings_all_count_whole() -> None:
    y = np.random.default_rng(5).normal(0.2, 0.14, 40)
    after, counted = robust_update(PRIOR, np.ones((40, 1)), y)
    assert counted.tolist() == [1.0] * 40
    assert after.mean == pytest.approx(updated(PRIOR, np.ones((40, 1)), y).mean)


def test_a_few_wild_readings_hardly_move_what_the_others_say() -> None:
    draw = np.random.default_rng(6)
    y = draw.normal(0.2, 0.14, 20)
    sound, _ = robust_update(PRIOR, np.ones((20, 1)), y)
    wild = np.concatenate([y, [np.log(25.4), np.log(25.4), -2.0]])
    after, counted = robust_update(PRIOR, np.ones((23, 1)), wild)
    assert counted[:20].min() > 0.95
    assert counted[20:].max() < 0.1
    assert after.mean[0] == pytest.approx(sound.mean[0], abs=0.03)
    plain = updated(PRIOR, np.ones((23, 1)), wild)
    assert abs(plain.mean[0] - sound.mean[0]) > 0.1, "without weights they would"


def test_the_order_of_readings_does_not_matter() -> None:
    y = np.array([0.1, 0.2, 3.1, 0.15, -0.05, 0.3])
    forth, _ = robust_update(PRIOR, np.ones((6, 1)), y)
    back, _ = robust_update(PRIOR, np.ones((6, 1)), y[::-1])
    assert forth.mean == pytest.approx(back.mean, abs=1e-12)


def test_a_design_that_does_not_fit_is_refused() -> None:
    with pytest.raises(ValueError, match="design"):
        updated(PRIOR, [[1.0, 2.0]], [0.1])
    with pytest.raises(ValueError, match="above zero"):
        belief([0.0], [0.0], 2.0, 0.02)
