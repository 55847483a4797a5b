"""Removal, threshold and reach against integration and geometry done another way."""

from __future__ import annotations

import math

import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from advisor.process.contact import line_contact, plane_modulus, young_modulus
from advisor.process.reach import largest_wheel_radius, reaches, root_gap
from advisor.process.removal import (
    cutting_share,
    depth_per_pass,
    force_ratio,
    minimum_pressure,
    outgrows_grain,
    preston_coefficient,
    specific_energy,
)


@pytest.mark.parametrize("shore", [30.0, 40.0, 70.0])
def test_depth_is_the_integral_of_prestons_law_under_the_contact(shore: float) -> None:
    """Depth = K v / v_w times the integral of the pressure that a point passes under (11.1111 um)."""
    contact = line_contact(1000.0, 0.100, plane_modulus(young_modulus(shore)))

    def sinking(angle: float) -> float:
        # x = b sin(angle), p = p0 cos(angle)
        return contact.peak_pressure * math.cos(angle) ** 2 * contact.half_width

    area = quad(sinking, -math.pi / 2, math.pi / 2)[0]
    integral = preston_coefficient(0.40, 30e9) * 25.0 / 0.030 * area
    depth = depth_per_pass(0.40, 30e9, 1000.0, 25.0, 0.030, contact.mean_pressure, 0.0)
    assert depth == pytest.approx(integral, rel=1e-10)
    assert depth * 1e6 == pytest.approx(11.1111, abs=1e-4)


def test_the_threshold_takes_off_the_force_that_rubs() -> None:
    """An even pressure p over a width 2b, of which p - p_min cuts: the same depth by sums of forces."""
    load, pressure, least = 1000.0, 60e3, 15e3
    width = load / pressure
    cutting_load = (pressure - least) * width
    with_threshold = depth_per_pass(0.4, 30e9, load, 25.0, 0.030, pressure, least)
    assert with_threshold == pytest.approx(
        depth_per_pass(0.4, 30e9, cutting_load, 25.0, 0.030, pressure, 0.0)
    )


@pytest.mark.parametrize(("pressure", "share"), [(15e3, 0.0), (14.9e3, 0.0), (0.0, 0.0), (30e3, 0.5)])
def test_cutting_share_at_and_below_the_threshold(pressure: float, share: float) -> None:
    assert cutting_share(pressure, 15e3) == pytest.approx(share)


def test_fine_grades_take_two_to_four_times_the_energy() -> None:
    # From memory: P320 and finer need 2 to 4 times the energy of P60 to P120; 1.6 between near neighbours.
    for size in (46.2e-6, 35e-6, 25.8e-6):
        for start in (269e-6, 201e-6, 125e-6):
            assert 1.6 < specific_energy(1.0, size, 0.5) / specific_energy(1.0, start, 0.5) < 4.0


def test_force_ratio_stays_in_the_remembered_ranges() -> None:
    # From memory: sharp coarse 0.4 to 0.6, fine 0.25 to 0.4.
    assert 0.4 <= force_ratio(0.42, 425e-6) <= 0.6
    assert 0.25 <= force_ratio(0.42, 25.8e-6) <= 0.4


def test_minimum_pressure_at_its_reference_and_by_logarithms() -> None:
    assert minimum_pressure(15e3, 200.0) == 15e3
    twice = math.log(minimum_pressure(15e3, 400.0) / minimum_pressure(15e3, 200.0)) / math.log(2.0)
    assert twice == pytest.approx(0.7)


def test_outgrows_grain_exactly_at_the_limit() -> None:
    assert not outgrows_grain(0.15 * 200e-6, 200e-6)
    assert outgrows_grain(0.1501 * 200e-6, 200e-6)


def test_depth_is_not_capped() -> None:
    assert depth_per_pass(0.4, 8e9, 4000.0, 32.0, 0.020, 200e3, 15e3) > 201e-6


@pytest.mark.parametrize("angle", [30.0, 60.0, 90.0, 120.0, 180.0])
def test_root_gap_by_placing_the_circles(angle: float) -> None:
    """Distance between two circles tangent to the same flanks, the wheel moved until it touches."""
    wheel, corner, half = 0.050, 0.040, math.radians(angle) / 2

    def clearance(centre: float) -> float:
        return centre * math.sin(half) - wheel

    centre = brentq(clearance, 0.0, 10.0)
    lowest_of_wheel = centre - wheel
    root_of_corner = corner / math.sin(half) - corner
    assert root_gap(wheel, corner, math.radians(angle)) == pytest.approx(
        lowest_of_wheel - root_of_corner, abs=1e-12
    )


def test_published_root_gap() -> None:
    # Calculated: R 50, r 40, 90 degrees: 4.142 mm, 16.6 % of a 25 mm cover.
    gap = root_gap(0.050, 0.040, math.pi / 2)
    assert gap * 1000 == pytest.approx(4.142, abs=5e-4)
    assert gap / 0.025 == pytest.approx(0.166, abs=5e-4)
    assert root_gap(0.030, 0.040) == 0.0


def test_reach_exactly_at_the_margin() -> None:
    assert reaches(largest_wheel_radius(0.037), 0.037)
    assert not reaches(largest_wheel_radius(0.037) * 1.001, 0.037)
    assert reaches(0.037, 0.037, margin=1.0)
