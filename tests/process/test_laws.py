"""What must always hold, whatever the numbers: the directions a finisher relies on."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from advisor.process.contact import (
    CONFORMING,
    TOO_THIN,
    TOO_WIDE,
    line_contact,
    plane_modulus,
    relative_radius,
    young_modulus,
    young_modulus_spread,
)
from advisor.process.elliptic import elliptic_contact
from advisor.process.local import level, load_sharing
from advisor.process.removal import cutting_share, depth_per_pass
from advisor.process.roughness import floor_ra, ra_after, stock_to_erase
from advisor.process.speed import diameter_for, rotational_speed, surface_speed

loads = st.floats(100.0, 2e4)
radii = st.floats(0.02, 0.3)
shores = st.floats(20.0, 80.0)
covers = st.one_of(st.none(), st.floats(0.005, 0.06))
grains = st.floats(8e-6, 8e-4)
heights = st.floats(1e-7, 1e-3)
SLACK = 1 + 1e-9


@given(loads, st.floats(1.0, 3.0), radii, shores, covers, st.floats(0.0, 50e3))
def test_more_force_never_removes_less(
    load: float, more: float, radius: float, shore: float, cover: float | None, least: float
) -> None:
    def depth(line_load: float) -> float:
        pressure = line_contact(line_load, radius, plane_modulus(young_modulus(shore)), cover).mean_pressure
        return depth_per_pass(0.4, 30e9, line_load, 25.0, 0.03, pressure, least)

    assert depth(load) <= depth(load * more) * SLACK


@given(loads, radii, shores, shores, covers)
def test_a_softer_wheel_never_presses_harder(
    load: float, radius: float, one: float, other: float, cover: float | None
) -> None:
    soft, hard = (
        line_contact(load, radius, plane_modulus(young_modulus(s)), cover) for s in sorted((one, other))
    )
    assert soft.mean_pressure <= hard.mean_pressure * SLACK
    assert soft.peak_pressure <= hard.peak_pressure * SLACK
    assert soft.half_width * SLACK >= hard.half_width


@given(loads, radii, shores, st.floats(0.005, 0.06), st.floats(1.0, 4.0))
def test_a_thinner_cover_never_presses_softer_nor_gives_more(
    load: float, radius: float, shore: float, cover: float, thicker: float
) -> None:
    thin = line_contact(load, radius, plane_modulus(young_modulus(shore)), cover)
    thick = line_contact(load, radius, plane_modulus(young_modulus(shore)), cover * thicker)
    assert thin.mean_pressure * SLACK >= thick.mean_pressure
    assert thin.approach is not None and thick.approach is not None
    assert thin.approach <= thick.approach * SLACK


@given(loads, radii, shores, covers)
def test_pressure_times_width_is_the_load_and_flags_are_as_documented(
    load: float, radius: float, shore: float, cover: float | None
) -> None:
    modulus = plane_modulus(young_modulus(shore))
    contact = line_contact(load, radius, modulus, cover)
    assert contact.mean_pressure * 2 * contact.half_width == pytest.approx(load)
    assert (TOO_WIDE in contact.flags) == (contact.half_width > 0.3 * radius)
    plain = math.sqrt(4 * load * radius / (math.pi * modulus))
    assert (TOO_THIN in contact.flags) == (cover is not None and plain / cover > 2.0)


@given(st.floats(1.0, 200.0), radii, radii, shores)
def test_ellipse_carries_its_force_and_lies_the_long_way(
    force: float, one: float, other: float, shore: float
) -> None:
    contact = elliptic_contact(force, one, other, plane_modulus(young_modulus(shore)))
    area = math.pi * contact.long_half_axis * contact.short_half_axis
    assert contact.mean_pressure * area == pytest.approx(force)
    assert contact.short_half_axis <= contact.long_half_axis * SLACK


@given(radii, st.floats(0.001, 1.0))
def test_relative_radius_orders_the_shapes(wheel: float, feature: float) -> None:
    convex = relative_radius(wheel, feature, "convex")
    concave = relative_radius(wheel, feature, "concave")
    assert convex < wheel == relative_radius(wheel, None, "flat") < concave
    assert (concave == math.inf) == (feature <= wheel)
    assert relative_radius(wheel, feature, "edge") == convex


def test_a_wheel_that_fills_the_hollow_is_flagged_and_an_unknown_shape_refused() -> None:
    contact = line_contact(1000.0, relative_radius(0.1, 0.1, "concave"), 2e6, 0.02)
    assert contact.flags == (CONFORMING,)
    assert contact.mean_pressure == 0.0
    with pytest.raises(ValueError, match="shape must be"):
        relative_radius(0.1, 0.1, "round")


@given(grains, st.floats(1.0, 20.0), st.floats(0.5, 1.5), st.floats(10e3, 250e3), st.floats(0.1, 0.5))
def test_a_finer_grade_never_leaves_a_rougher_floor(
    fine: float, coarser: float, n: float, pressure: float, exponent: float
) -> None:
    floors = [floor_ra(0.0057, size, n, 1.0, pressure, exponent) for size in (fine, fine * coarser)]
    assert floors[0] <= floors[1] * SLACK


@given(st.floats(5.0, 80.0), st.floats(0.05, 0.5), st.floats(1.001, 5.0))
def test_a_smaller_wheel_turns_faster_for_the_same_surface_speed(
    speed: float, diameter: float, larger: float
) -> None:
    rpm = rotational_speed(speed, diameter)
    assert rpm > rotational_speed(speed, diameter * larger)
    assert surface_speed(diameter, rpm) == pytest.approx(speed)
    assert diameter_for(speed, rpm) == pytest.approx(diameter)


@given(heights, heights, heights, st.floats(0.1, 2.0), st.floats(0.0, 1.0))
def test_a_rougher_surface_never_needs_less_stock(
    one: float, other: float, own: float, multiple: float, share: float
) -> None:
    smooth, rough = sorted((one, other))
    assert (
        stock_to_erase(smooth, own, multiple, 0.0, share)
        <= stock_to_erase(rough, own, multiple, 0.0, share) * SLACK
    )


@given(heights, heights, st.floats(0.0, 1e-3), heights)
def test_roughness_moves_between_start_and_floor(
    before: float, floor: float, depth: float, decay: float
) -> None:
    after = ra_after(depth, before, floor, decay)
    assert min(before, floor) / SLACK <= after <= max(before, floor) * SLACK


@given(st.floats(0.0, 1e6), st.floats(0.0, 1e5))
def test_share_that_cuts_lies_between_none_and_all(pressure: float, least: float) -> None:
    assert 0.0 <= cutting_share(pressure, least) <= 1.0


@given(st.floats(20.0, 94.0), st.floats(0.1, 5.0))
def test_modulus_and_its_spread_grow_with_hardness(shore: float, step: float) -> None:
    assert young_modulus(shore) < young_modulus(shore + step)
    low, high = young_modulus_spread(shore)
    assert low < young_modulus(shore) < high
    assert high < young_modulus_spread(shore + step)[1]


@given(
    st.floats(15.0, 120.0),
    st.floats(1e-3, 45e-3),
    shores,
    st.floats(5e-5, 3e-3),
    st.floats(1e-5, 3e-4),
    st.floats(1.0, 4.0),
)
def test_standing_prouder_never_costs_more(
    force: float, width: float, shore: float, height: float, hand_over: float, prouder: float
) -> None:
    assume(force / width < 25e3)
    sharing = load_sharing(force, width, 50e-3, 0.1, plane_modulus(young_modulus(shore)), 0.02)
    flush = level(height, hand_over, sharing, 11e-9 * force / width, 11e-9 * force / 50e-3)
    proud = level(height, hand_over * prouder, sharing, 11e-9 * force / width, 11e-9 * force / 50e-3)
    assert flush.passes * SLACK + 1e-9 >= proud.passes
    assert flush.dish * SLACK + 1e-12 >= proud.dish >= -1e-12
