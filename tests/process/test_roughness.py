"""Roughness laws against an equation solved step by step and against worked figures."""

from __future__ import annotations

import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from advisor.process.roughness import (
    decay_depth,
    disturbed_layer,
    floor_ra,
    left_after_clearing,
    peak_to_valley,
    ra_after,
    stock_to_erase,
)


@pytest.mark.parametrize(("depth", "ra"), [(6, 1.1150), (12, 0.7895), (18, 0.6697), (24, 0.6256)])
def test_decay_table_and_its_equation(depth: float, ra: float) -> None:
    # dRa/dh = -(Ra - floor) / h0, from 2.0 um to a floor of 0.6 um with h0 6 um; the table is calculated.
    path = solve_ivp(lambda _, y: -(y - 0.6) / 6.0, (0.0, depth), [2.0], rtol=1e-10, atol=1e-12)
    found = ra_after(depth * 1e-6, 2.0e-6, 0.6e-6, 6e-6) * 1e6
    assert found == pytest.approx(path.y[0, -1], rel=1e-7)
    assert found == pytest.approx(ra, abs=5e-5)


def test_depth_at_which_a_roughness_is_reached() -> None:
    # Calculated: 0.7 um after 15.834 um.
    depth = brentq(lambda h: ra_after(h * 1e-6, 2.0e-6, 0.6e-6, 6e-6) * 1e6 - 0.7, 0.0, 50.0)
    assert depth == pytest.approx(15.834, abs=5e-4)


def test_a_coarse_grade_roughens_a_smooth_surface() -> None:
    assert 0.2e-6 < ra_after(3e-6, 0.2e-6, 0.9e-6, 6e-6) < 0.9e-6


def test_decay_depth_and_layers_are_plain_products() -> None:
    assert decay_depth(20e-6, 0.3) == pytest.approx(6e-6)
    assert disturbed_layer(8e-6, 0.5) == pytest.approx(4e-6)
    assert left_after_clearing(20e-6, 0.8) == pytest.approx(8e-6)
    assert peak_to_valley(0.6e-6, 10.0) == pytest.approx(6e-6)


@pytest.mark.parametrize(
    ("previous", "own", "multiple", "disturbed", "share"),
    [
        pytest.param(20.0, 12.0, 0.8, 0.0, 0.5, id="erasing-decides"),
        pytest.param(13.0, 12.0, 0.8, 0.0, 0.5, id="own-texture-decides"),
        pytest.param(5.0, 12.0, 0.8, 0.0, 0.5, id="coarser-than-before"),
        pytest.param(20.0, 12.0, 1.5, 10.0, 0.5, id="mirror"),
    ],
)
def test_stock_is_the_larger_of_two(
    previous: float, own: float, multiple: float, disturbed: float, share: float
) -> None:
    found = stock_to_erase(previous * 1e-6, own * 1e-6, multiple, disturbed * 1e-6, share) * 1e6
    assert found == pytest.approx(max(multiple * (previous - own) + disturbed, share * own))


def test_floor_in_metres_is_the_tabulated_law_in_micrometres() -> None:
    # c belongs to micrometres in and out: with everything else one, 1 um of grain leaves c um.
    assert floor_ra(0.0057, 1e-6, 1.1, 1.0, 110e3, 0.3) * 1e6 == pytest.approx(0.0057)
    assert floor_ra(0.0057, 10e-6, 2.0, 1.4, 110e3, 0.3) * 1e6 == pytest.approx(0.57 * 1.4)
    assert floor_ra(0.0057, 10e-6, 2.0, 1.0, 440e3, 0.5) * 1e6 == pytest.approx(1.14)


@pytest.mark.parametrize("size", [201e-6, 162e-6, 125e-6, 100e-6, 82e-6, 68e-6])
def test_floor_on_stainless_is_a_hundredth_or_so_of_the_grain(size: float) -> None:
    # Synthesis of published floors: 0.010 to 0.020 of the grain, in light work 0.004 to 0.008.
    assert 0.008 < floor_ra(0.0057, size, 1.1, 1.0, 110e3, 0.3) / size < 0.020
