"""Intervals and exact tests against scipy; the e-values against the law that they must obey."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from advisor.learning.chance import (
    Table,
    binomial_above,
    evidence_above,
    evidence_of_difference,
    fisher_above,
    wilson,
)

counts = st.integers(0, 40).flatmap(lambda of: st.tuples(st.integers(0, of), st.just(of)))


@given(counts)
def test_the_interval_is_scipys_wilson(case: tuple[int, int]) -> None:
    count, of = case
    if of == 0:
        assert wilson(0, 0) == (0.0, 1.0)
        return
    oracle = stats.binomtest(count, of).proportion_ci(0.95, method="wilson")
    assert wilson(count, of) == pytest.approx((oracle.low, oracle.high), abs=1e-12)


@given(counts, counts)
def test_the_exact_test_is_scipys_fisher(inside: tuple[int, int], outside: tuple[int, int]) -> None:
    table = Table(*inside, *outside)
    rows = [[inside[0], inside[1] - inside[0]], [outside[0], outside[1] - outside[0]]]
    assert fisher_above(table) == pytest.approx(stats.fisher_exact(rows, "greater").pvalue, rel=1e-9)


@given(counts, st.floats(0.01, 0.99))
def test_the_binomial_tail_is_scipys(case: tuple[int, int], share: float) -> None:
    assert binomial_above(*case, share) == pytest.approx(float(stats.binom.sf(case[0] - 1, case[1], share)))


def test_more_than_all_is_refused() -> None:
    with pytest.raises(ValueError, match="3 of 2"):
        wilson(3, 2)


@pytest.mark.parametrize("share", [0.1, 0.3, 0.6])
def test_looking_after_every_trial_seldom_finds_a_difference_that_is_not_there(share: float) -> None:
    draw = np.random.default_rng(11)
    wrong = 0
    for _ in range(400):
        inside, failed = draw.random(60) < 0.3, draw.random(60) < share
        tables = np.cumsum([failed & inside, inside, failed & ~inside, ~inside], axis=1).T
        wrong += any(evidence_of_difference(Table(*map(int, row))) >= 20 for row in tables)
    assert wrong / 400 <= 0.05


def test_looking_after_every_trial_seldom_promotes_what_only_keeps_its_share() -> None:
    draw = np.random.default_rng(12)
    wrong = sum(
        any(evidence_above(int(k), n, 0.7) >= 20 for n, k in enumerate(np.cumsum(draw.random(60) < 0.7), 1))
        for _ in range(400)
    )
    assert wrong / 400 <= 0.05


def test_twelve_trials_that_fail_nine_in_ten_are_found_against_thirty_that_fail_one_in_ten() -> None:
    """The exact chance, summed over all outcomes, when forty questions were asked."""
    found = sum(
        stats.binom.pmf(k, 12, 0.9) * stats.binom.pmf(m, 30, 0.1)
        for k in range(13)
        for m in range(31)
        if evidence_of_difference(Table(k, 12, m, 30)) >= 40 / 0.05
    )
    assert found >= 0.9
