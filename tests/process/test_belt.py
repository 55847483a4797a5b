"""A tight belt on a soft wheel against a numerical solution of belt and half-plane, and worked pressures."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.process.belt import (
    SLIPS,
    THROWN,
    TOO_TIGHT,
    belt_tension_pressure,
    belt_tightening,
    centrifugal_pressure,
    running_tension,
    spin_flags,
    spin_stiffening,
    tension_flags,
)
from advisor.process.contact import line_contact, plane_modulus, young_modulus

SLACK = 1 + 1e-9


def solved(
    line_load: float, radius: float, modulus: float, tension: float, points: int = 601
) -> tuple[float, float]:
    """Half-width and peak pressure under a belt, by boundary elements.

    Pressure q on the half-plane sinks it by u = K q (line loads, logarithmic); the belt adds its
    tension times the curvature, q = p + T u'', with p from the part. The contact is the narrowest
    that the part does not cut into.
    """
    hertz = math.sqrt(4 * line_load * radius / (math.pi * modulus))
    x = np.linspace(-5 * hertz, 5 * hertz, points)
    step, middle = x[1] - x[0], points // 2

    def integral(s: Any) -> Any:
        return s * np.log(np.maximum(np.abs(s), 1e-300)) - s

    apart = x[:, None] - x[None, :]
    sinking = -2 / (math.pi * modulus) * (integral(apart + step / 2) - integral(apart - step / 2))
    bend = (np.eye(points, k=1) - 2 * np.eye(points) + np.eye(points, k=-1)) / step**2
    bend[0] = bend[-1] = 0.0
    compliance = sinking @ np.linalg.inv(np.eye(points) - tension * bend @ sinking)

    def attempt(half: int) -> tuple[bool, Any]:
        inside = slice(middle - half, middle + half + 1)
        count = 2 * half + 1
        matrix = np.zeros((count + 1, count + 1))
        matrix[:-1, :-1] = compliance[inside, inside]
        matrix[:-1, -1] = -1.0
        matrix[-1, :-1] = step
        answer = np.linalg.solve(matrix, np.append(-(x[inside] ** 2) / (2 * radius), line_load))
        gap = compliance[:, inside] @ answer[:-1] - (answer[-1] - x**2 / (2 * radius))
        return bool(min(gap[middle + half + 1], gap[middle - half - 1]) >= 0), answer[:-1]

    low, high = 2, int(1.3 * hertz / step)
    while high - low > 1:
        trial = (low + high) // 2
        low, high = (low, trial) if attempt(trial)[0] else (trial, high)
    pressure = attempt(high)[1]
    return high * step, float(pressure[len(pressure) // 2])


@pytest.mark.parametrize("tension", [500.0, 2000.0, 4000.0])
@pytest.mark.parametrize(
    ("line_load", "radius", "shore"), [(1000.0, 0.1, 40.0), (500.0, 0.1, 70.0), (3000.0, 0.0333, 30.0)]
)
def test_tightening_meets_the_numerical_solution(
    line_load: float, radius: float, shore: float, tension: float
) -> None:
    modulus = plane_modulus(young_modulus(shore))
    bare = line_contact(line_load, radius, modulus)
    tight = belt_tightening(tension, modulus, bare.half_width)
    half, peak = solved(line_load, radius, modulus, tension)
    assert bare.peak_pressure * tight.peak_factor == pytest.approx(peak, rel=5e-3)
    # The grid resolves the edge to a sixtieth of the half-width.
    assert bare.half_width * tight.half_width_factor == pytest.approx(
        half, rel=0.015, abs=bare.half_width / 40
    )
    assert tight.mean_factor * tight.half_width_factor == pytest.approx(1.0)


def test_the_numerical_solution_without_a_belt_is_hertz() -> None:
    modulus = plane_modulus(young_modulus(40.0))
    bare = line_contact(1000.0, 0.1, modulus)
    half, peak = solved(1000.0, 0.1, modulus, 0.0)
    assert half == pytest.approx(bare.half_width, rel=0.02)
    assert peak == pytest.approx(bare.peak_pressure, rel=2e-3)


def test_worked_pressures() -> None:
    # Process notes 1.6: 2 kN/m on R 0.1 m: 20 kPa; 1100 kg/m3, 20 mm, 30 m/s, 0.1 m: 198 kPa.
    assert belt_tension_pressure(2000.0, 0.1) == pytest.approx(20e3)
    assert centrifugal_pressure(1100.0, 0.020, 30.0, 0.1) == pytest.approx(198e3)


def test_tension_pressure_by_statics() -> None:
    """Both strands pull with T' across a half circle whose pressure adds up along the pull."""
    angle = np.linspace(-math.pi / 2, math.pi / 2, 20001)
    pressure = belt_tension_pressure(1700.0, 0.125)
    pull = np.trapezoid(pressure * np.cos(angle) * 0.125, angle)
    assert pull == pytest.approx(2 * 1700.0, rel=1e-6)


def test_centrifugal_pressure_by_summing_thin_rings() -> None:
    """Rings from hub to rim, each with its own speed; a thin cover, so within its share of the radius."""
    radii = np.linspace(0.098, 0.100, 2001)
    turning = 30.0 / 0.100
    summed = np.trapezoid(1100.0 * turning**2 * radii, radii)
    assert centrifugal_pressure(1100.0, 0.002, 30.0, 0.100) == pytest.approx(summed, rel=0.02)


@given(st.floats(0.0, 5000.0), st.floats(0.3, 2.0), st.floats(0.0, 60.0), st.floats(1.0, 2.0))
def test_a_faster_belt_never_lies_tighter(tension: float, mass: float, speed: float, more: float) -> None:
    left = running_tension(tension, mass, speed)
    assert 0.0 <= running_tension(tension, mass, speed * more) <= left <= tension
    assert (tension_flags(tension, mass, speed) == (SLIPS,)) == (tension <= mass * speed**2)


@given(st.floats(0.0, 4000.0), st.floats(1.0, 3.0), st.floats(1e6, 2e7), st.floats(1e-3, 2e-2))
def test_a_tighter_belt_never_presses_softer(
    tension: float, more: float, modulus: float, half: float
) -> None:
    one, other = (belt_tightening(t, modulus, half) for t in (tension, tension * more))
    assert 0.0 < other.half_width_factor <= one.half_width_factor * SLACK
    assert one.half_width_factor <= 1.0
    assert other.peak_factor * SLACK >= one.peak_factor >= 1.0


def test_corrections_vanish_without_tension_and_are_flagged_outside_their_fit() -> None:
    none = belt_tightening(0.0, 2e6, 5e-3)
    assert (none.half_width_factor, none.peak_factor, none.mean_factor, none.flags) == (1.0, 1.0, 1.0, ())
    limit = 0.6 * 2e6 * 5e-3
    assert belt_tightening(limit * 0.999, 2e6, 5e-3).flags == ()
    assert belt_tightening(limit * 1.001, 2e6, 5e-3).flags == (TOO_TIGHT,)
    assert spin_flags(0.2 * 2e6, 2e6) == ()
    assert spin_flags(0.2001 * 2e6, 2e6) == (THROWN,)
    assert spin_stiffening(0.0, 2e6, 0.5) == 1.0
