"""Draws have the percentiles of their band, the shape that was promised, and are the same everywhere."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import kstest, norm

from advisor.process.bands import Spread, draws, percentiles

BANDS = [
    Spread(20.0, 32.0, 45.0),
    Spread(0.0038, 0.0057, 0.0085),
    Spread(8e3, 15e3, 30e3),
    Spread(0.3, 0.5, 1.0),
]


@pytest.mark.parametrize("band", BANDS)
def test_four_hundred_draws_show_the_band(band: Spread) -> None:
    found = np.percentile(draws("x", band, "job"), (5, 50, 95))
    assert found == pytest.approx(np.array(band), rel=0.02)
    assert percentiles(draws("x", band, "job")) == pytest.approx(band, rel=0.02)


@pytest.mark.parametrize("band", BANDS)
def test_each_side_is_lognormal(band: Spread) -> None:
    array = np.asarray(draws("x", band, "job", count=2000))
    low, high = np.log(band.expected / band.low), np.log(band.high / band.expected)
    logs = np.log(array / band.expected) * norm.ppf(0.95)
    assert kstest(np.where(logs < 0, logs / low, logs / high), "norm").pvalue > 0.05


def test_streams_are_independent_and_new_ones_move_no_other() -> None:
    first, second = draws("u80", BANDS[0], "job"), draws("mu80", BANDS[0], "job")
    assert abs(np.corrcoef(first, second)[0, 1]) < 0.15
    assert abs(np.corrcoef(first, draws("u80", BANDS[0], "another job"))[0, 1]) < 0.15
    assert np.array_equal(first, draws("u80", BANDS[0], "job"))


def test_the_same_in_another_process() -> None:
    here = np.asarray(draws("u80", BANDS[0], "job", count=5)).tolist()
    code = (
        "from advisor.process.bands import Spread, draws\n"
        "print(draws('u80', Spread(20.0, 32.0, 45.0), 'job', count=5).tolist())"
    )
    root = Path(__file__).parents[2]
    environment = {**os.environ, "PYTHONHASHSEED": "7", "PYTHONPATH": str(root)}
    run = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env=environment, check=True
    )
    assert run.stdout.strip() == str(here)


def test_product_of_bands_has_the_spread_of_the_sum_of_logs() -> None:
    # Two even bands of x/÷ 2: the product spreads by 2 ** sqrt 2 (variances of logarithms add).
    band = Spread(0.5, 1.0, 2.0)
    product = draws("a", band, "job", count=4000) * draws("b", band, "job", count=4000)
    assert percentiles(product).high == pytest.approx(2**2**0.5, rel=0.06)


def test_no_width_is_a_constant() -> None:
    assert np.ptp(draws("x", Spread(3.0, 3.0, 3.0), "job")) == 0.0
    assert percentiles(3.0) == (3.0, 3.0, 3.0)


@pytest.mark.parametrize("band", [Spread(0.0, 1.0, 2.0), Spread(2.0, 1.0, 3.0), Spread(1.0, 3.0, 2.0)])
def test_a_band_out_of_order_or_not_positive_is_refused(band: Spread) -> None:
    with pytest.raises(ValueError, match="a band needs"):
        draws("x", band, "job")


def test_draws_that_never_end_leave_the_rest_readable() -> None:
    values = np.append(np.arange(1.0, 91.0), np.full(10, np.inf))
    low, expected, high = percentiles(values)  # type: ignore[arg-type]
    assert (low, expected, high) == (6.0, 51.0, np.inf)
