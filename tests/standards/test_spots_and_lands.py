"""Spots, lands and thrown covers against independent numerical solutions: a layer in Fourier space, scipy, slices."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import brentq
from scipy.special import ellipe, ellipk

from advisor.process.belt import centrifugal_pressure, spin_stiffening
from advisor.process.contact import plane_modulus, young_modulus
from advisor.process.elliptic import (
    TOO_THIN_UNDER_SPOT,
    elliptic_contact,
    spot_contact,
    spot_shape,
    touching_width,
)
from advisor.process.lands import FEW_LANDS, grooved_cover, grooved_share, land_flags, serrated_modulus

SOFT = plane_modulus(young_modulus(40.0))
radii = st.floats(0.01, 0.5)


@given(st.floats(1.001, 60.0))
def test_the_shape_of_a_spot_against_a_root_found_by_scipy(ratio: float) -> None:
    """Johnson 4.28: (E / (1 - e^2) - K) / (K - E) = B / A, from memory; brentq on scipy's K and E."""

    def off(q: float) -> float:
        m = 1.0 - q * q
        return float((ellipe(m) / (1.0 - m) - ellipk(m)) / (ellipk(m) - ellipe(m)) - ratio)

    assert spot_shape(ratio)[0] == pytest.approx(brentq(off, 1e-4, 1.0 - 1e-9, xtol=1e-13), rel=1e-6)


@given(st.floats(100.0, 2e4), radii, radii)
def test_the_touching_width_carries_its_force(load: float, along: float, across: float) -> None:
    width = touching_width(load, along, across, SOFT)
    spot = spot_contact(load * width, along, across, SOFT)
    assert 2.0 * spot.half_across == pytest.approx(width, rel=1e-9)
    assert spot.mean_pressure * math.pi * spot.half_width * spot.half_across == pytest.approx(load * width)


@given(st.floats(100.0, 2e4), radii, radii, st.floats(1.01, 3.0))
def test_more_force_per_width_touches_wider_and_a_flatter_face_too(
    load: float, along: float, across: float, more: float
) -> None:
    width = touching_width(load, along, across, SOFT)
    assert touching_width(load * more, along, across, SOFT) > width
    assert touching_width(load, along, across * more, SOFT) > width * (1 - 1e-9)


def layer_solution(force: float, along: float, across: float, thickness: float) -> tuple[float, float]:
    """Peak and mean pressure of a rigid paraboloid on a bonded incompressible layer, by conjugate gradients.

    Sinking in Fourier space: 2 L(k h) / (E* k) with L = (sinh 2w - 2w) / (cosh 2w + 1 + 2 w^2) (Johnson 5.8, from
    memory); the touching points are found as Polonsky and Keer (1999) do, from memory.
    """
    bare = elliptic_contact(force, along, across, SOFT)
    a, count = bare.long_half_axis, 256
    size = min(max(3.2 * a, 2.4 * a + 3.0 * thickness), 7.0 * a)
    cell = size / count
    x = (np.arange(count) - count / 2 + 0.5) * cell
    gap = x[:, None] ** 2 / (2 * along) + x[None, :] ** 2 / (2 * across)
    wave = 2 * math.pi * np.fft.fftfreq(count, cell)
    k = np.hypot(wave[:, None], wave[None, :])
    w = np.minimum(k * thickness, 300.0)
    layer = (np.sinh(2 * w) - 2 * w) / (np.cosh(2 * w) + 1 + 2 * w * w)
    yielding = np.divide(2.0 * layer, SOFT * k, out=np.zeros_like(k), where=k > 0)

    def sunk(pressure: np.ndarray) -> np.ndarray:
        return np.real(np.fft.ifft2(np.fft.fft2(pressure) * yielding))

    total = force / cell**2
    pressure = np.where(gap < np.quantile(gap, 0.1), 1.0, 0.0)
    pressure *= total / pressure.sum()
    way, before, keep = np.zeros_like(pressure), 1.0, 0.0
    for _ in range(200):
        open_ = sunk(pressure) + gap
        touching = pressure > 0
        open_ -= open_[touching].mean()
        size_now = float((open_[touching] ** 2).sum())
        way = np.where(touching, open_ + keep * size_now / before * way, 0.0)
        before = size_now
        turned = sunk(way)
        turned -= turned[touching].mean()
        stride = (open_[touching] * way[touching]).sum() / (turned[touching] * way[touching]).sum()
        last = pressure
        pressure = np.maximum(np.where(touching, pressure - stride * way, pressure), 0.0)
        cut_into = (pressure == 0) & (open_ < 0)
        keep = 0.0 if cut_into.any() else 1.0
        pressure = np.where(cut_into, pressure - stride * open_, pressure)
        pressure *= total / pressure.sum()
        if np.abs(pressure - last).sum() / total < 1e-5:
            break
    return float(pressure.max()), force / (float((pressure > 0).sum()) * cell**2)


@pytest.mark.parametrize(("across", "thinness"), [(0.1, 0.6), (0.1, 1.3), (0.4, 1.0), (1.0, 0.6)])
def test_a_spot_on_a_thin_cover_against_the_elastic_layer(across: float, thinness: float) -> None:
    bare = elliptic_contact(30.0, 0.1, across, SOFT)
    thickness = math.sqrt(bare.long_half_axis * bare.short_half_axis) / thinness
    peak, mean = layer_solution(30.0, 0.1, across, thickness)
    spot = spot_contact(30.0, 0.1, across, SOFT, thickness)
    assert spot.peak_pressure == pytest.approx(peak, rel=0.05)
    assert spot.mean_pressure == pytest.approx(mean, rel=0.05)
    assert TOO_THIN_UNDER_SPOT not in spot.flags


def test_a_cover_beyond_its_fit_is_flagged() -> None:
    bare = elliptic_contact(30.0, 0.1, 0.1, SOFT)
    assert TOO_THIN_UNDER_SPOT in spot_contact(30.0, 0.1, 0.1, SOFT, bare.long_half_axis / 1.7).flags
    assert TOO_THIN_UNDER_SPOT in spot_contact(30.0, 0.01, 5.0, SOFT, 0.05).flags


@given(st.floats(0.3, 0.9), st.floats(4e-3, 12e-3), st.floats(3e-3, 8e-3), st.floats(0.5, 0.9))
def test_a_grooved_cover_is_a_stack_of_slices(
    ratio: float, land: float, groove: float, shape: float
) -> None:
    """The strain of each slice under one stress, summed by quad over the thickness, over that of a solid cover."""
    share, cover = grooved_share(shape, land, groove, ratio), 0.020

    def strain(depth: float) -> float:
        return 1.0 / share if depth < groove else 1.0

    summed = quad(strain, 0.0, cover, points=[groove])[0]
    assert grooved_cover(share, groove, cover) == pytest.approx(cover / summed, rel=1e-6)
    # The smeared modulus of Gent and Lindley, which a published example checks, over E* = 4/3 E.
    smeared = serrated_modulus(2.2e6, shape, land, groove, ratio) / plane_modulus(2.2e6)
    assert share == pytest.approx(min(1.0, smeared), rel=1e-9)


def test_grooves_that_do_not_fit_and_shares_that_are_none_are_refused() -> None:
    with pytest.raises(ValueError, match="does not fit"):
        grooved_cover(0.6, 0.021, 0.020)
    with pytest.raises(ValueError, match="above 0 and at most 1"):
        land_flags(5e-3, 50e-3, 10e-3, 1.2)
    assert land_flags(5e-3, 9e-3, 10e-3, 0.5) == (FEW_LANDS,)
    assert land_flags(5e-3, 10e-3, 10e-3, 0.5) == ()


def test_the_mean_pull_of_a_thrown_cover_by_summing_its_rings() -> None:
    """Half of the pull at the bond, for a thin cover: the share that the band of the coefficient is built around."""
    inner, outer, speed = 0.098, 0.100, 30.0
    turning = speed / outer

    def pull(radius: float) -> float:
        return float(quad(lambda r: 1100.0 * turning**2 * r, radius, outer)[0])

    mean = quad(pull, inner, outer)[0] / (outer - inner)
    bond = centrifugal_pressure(1100.0, outer - inner, speed, outer)
    assert mean / bond == pytest.approx(0.5, rel=0.02)
    assert spin_stiffening(bond, SOFT, 0.5) == pytest.approx(1.0 + mean / SOFT, rel=0.02)
