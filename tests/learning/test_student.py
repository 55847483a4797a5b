"""Student's t against scipy."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from advisor.learning.student import t_cdf, t_quantile, two_sided


@given(st.floats(-60, 60), st.floats(0.5, 5000))
def test_the_distribution_is_scipys(value: float, freedom: float) -> None:
    expected = float(stats.t.cdf(value, freedom))
    assert t_cdf(value, freedom) == pytest.approx(expected, rel=1e-9, abs=1e-300)


@given(st.floats(1e-6, 1 - 1e-6), st.floats(1, 2000))
def test_the_quantile_is_scipys(share: float, freedom: float) -> None:
    expected = float(stats.t.ppf(share, freedom))
    assert t_quantile(share, freedom) == pytest.approx(expected, rel=1e-7, abs=1e-9)


def test_far_out_nothing_is_left() -> None:
    assert t_cdf(math.inf, 3.0) == 1.0
    assert t_cdf(-math.inf, 3.0) == 0.0
    assert two_sided(1e6, 4.0) == pytest.approx(2 * float(stats.t.sf(1e6, 4)), rel=1e-9)


@pytest.mark.parametrize("share", [0.0, 1.0, -0.1, math.nan])
def test_a_share_outside_its_range_is_refused(share: float) -> None:
    with pytest.raises(ValueError, match="share"):
        t_quantile(share, 5.0)


@pytest.mark.parametrize("freedom", [0.0, -1.0, math.nan])
def test_degrees_of_freedom_are_above_zero(freedom: float) -> None:
    with pytest.raises(ValueError, match="freedom"):
        t_cdf(1.0, freedom)
