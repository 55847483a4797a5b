"""Levelling a strip against strip and face integrated step by step: the same springs, no closed form."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from advisor.process.contact import CONFORMING, line_contact, plane_modulus, young_modulus
from advisor.process.local import (
    AS_WIDE,
    NEVER_FLUSH,
    RUBBING_TAIL,
    StripPlan,
    flattening,
    level,
    load_sharing,
    strip,
)
from advisor.process.removal import cutting_share

RADIUS, COVER, WHEEL = 0.100, 0.020, 50e-3
PER_LOAD = 11e-9  # metres of depth for one N/m in a pass


def wheel(shore: float) -> float:
    return plane_modulus(young_modulus(shore))


def linear(line_load: float) -> float:
    return PER_LOAD * line_load


def with_threshold(modulus: float, least: float) -> Callable[[float], float]:
    def depth(line_load: float) -> float:
        pressure = line_contact(line_load, RADIUS, modulus, COVER).mean_pressure
        return PER_LOAD * line_load * cutting_share(pressure, least)

    return depth


def step_by_step(
    height: float,
    hand_over: float,
    width: float,
    force: float,
    modulus: float,
    depth: Callable[[float], float],
) -> tuple[float, float]:
    """Passes and dish from the balance of forces at every moment: two heights, two springs, one force."""

    def give(load: float) -> float:
        return flattening(load, RADIUS, modulus, COVER) if load > 0 else 0.0

    def loads(proud: float) -> tuple[float, float]:
        alone = force / width
        if proud >= give(alone):
            return alone, 0.0
        if proud <= 0:  # a trial step of the integrator beyond flush
            return force / WHEEL, force / WHEEL

        def surplus(face: float) -> float:
            on_strip = (force - (WHEEL - width) * face) / width
            return give(on_strip) - give(face) - proud

        face = brentq(surplus, 0.0, force / WHEEL, xtol=1e-10)
        return (force - (WHEEL - width) * face) / width, face

    def sink(_: float, state: np.ndarray) -> list[float]:
        on_strip, on_face = loads(float(state[0] - state[1]))
        return [-depth(on_strip), -depth(on_face) if on_face > 0 else 0.0]

    def done(_: float, state: np.ndarray) -> float:
        return float(state[0] - state[1] - hand_over)

    done.terminal = True  # type: ignore[attr-defined]
    path = solve_ivp(sink, (0.0, 1e4), [height, 0.0], events=done, rtol=1e-6, atol=1e-10, first_step=0.01)
    assert path.status == 1
    return float(path.t[-1]), float(-path.y[1, -1])


CASES = [
    # height, hand over, strip width (mm), force (N)
    (0.5, 0.1, 6.0, 60.0),
    (1.0, 0.05, 3.0, 30.0),
    (0.3, 0.02, 3.0, 30.0),
    (1.0, 0.1, 10.0, 100.0),
    (2.0, 0.25, 6.0, 100.0),
]


@pytest.mark.parametrize("shore", [40.0, 55.0, 70.0, 90.0])
@pytest.mark.parametrize(("height", "hand_over", "width", "force"), CASES)
def test_without_a_threshold(
    shore: float, height: float, hand_over: float, width: float, force: float
) -> None:
    """Passes within -1 and +4 %, the dish too or within 2 um."""
    modulus = wheel(shore)
    passes, dish = step_by_step(height / 1e3, hand_over / 1e3, width / 1e3, force, modulus, linear)
    plan = strip(
        height=height / 1e3,
        hand_over=hand_over / 1e3,
        strip_width=width / 1e3,
        wheel_width=WHEEL,
        force=force,
        relative_radius=RADIUS,
        plane_modulus=modulus,
        cover_thickness=COVER,
        depth=linear,
    )
    assert 0.99 * passes < plan.passes < 1.04 * passes
    assert 0.99 * dish - 1e-6 < plan.dish < 1.04 * dish + 2e-6
    assert plan.remaining == pytest.approx(hand_over / 1e3)


@pytest.mark.parametrize("least", [8e3, 15e3, 30e3])
@pytest.mark.parametrize("shore", [45.0, 70.0, 85.0])
@pytest.mark.parametrize(("height", "hand_over", "width", "force"), CASES)
def test_with_a_threshold(
    least: float, shore: float, height: float, hand_over: float, width: float, force: float
) -> None:
    """The law holds its threshold: passes within -1 and +7 %, dish within 10 % or 3 um."""
    modulus = wheel(shore)
    depth = with_threshold(modulus, least)
    assert depth(force / WHEEL) > 0
    passes, dish = step_by_step(height / 1e3, hand_over / 1e3, width / 1e3, force, modulus, depth)
    sharing = load_sharing(force, width / 1e3, WHEEL, RADIUS, modulus, COVER, depth)
    plan = level(height / 1e3, hand_over / 1e3, sharing, depth(force / (width / 1e3)), depth(force / WHEEL))
    assert 0.99 * passes < plan.passes < 1.07 * passes
    assert 0.90 * dish - 3e-6 < plan.dish < 1.10 * dish + 3e-6


@pytest.mark.parametrize("shore", [45.0, 70.0])
def test_a_sharing_without_the_threshold_dishes_too_much_on_paper(shore: float) -> None:
    modulus = wheel(shore)
    depth = with_threshold(modulus, 15e3)
    passes, dish = step_by_step(1e-3, 5e-5, 3e-3, 30.0, modulus, depth)
    sharing = load_sharing(30.0, 3e-3, WHEEL, RADIUS, modulus, COVER)
    plan = level(1e-3, 5e-5, sharing, depth(30.0 / 3e-3), depth(30.0 / WHEEL))
    assert 0.95 * passes < plan.passes < 1.02 * passes
    assert dish < plan.dish < 2.0 * dish


def test_the_scale_of_the_depth_law_does_not_touch_the_sharing() -> None:
    depth = with_threshold(wheel(70.0), 15e3)
    given = (60.0, 6e-3, WHEEL, RADIUS, wheel(70.0), COVER)
    once, thrice = load_sharing(*given, depth), load_sharing(*given, lambda load: 3 * depth(load))
    assert once.dish.steady == pytest.approx(thrice.dish.steady)
    assert once.delay.bend == pytest.approx(thrice.delay.bend)


def plan_of(
    shore: float, hand_over: float = 0.1e-3, width: float = 6e-3, least: float = 0.0, height: float = 0.5e-3
) -> StripPlan:
    modulus = wheel(shore)
    return strip(
        height=height,
        hand_over=hand_over,
        strip_width=width,
        wheel_width=WHEEL,
        force=60.0,
        relative_radius=RADIUS,
        plane_modulus=modulus,
        cover_thickness=COVER,
        depth=with_threshold(modulus, least),
    )


def test_areas_add_up() -> None:
    """What strip and face lose is what the passes cut, however they share it (no threshold)."""
    plan = plan_of(70.0)
    strip_drop = 0.5e-3 - plan.remaining + plan.dish
    cut = 6e-3 * strip_drop + (WHEEL - 6e-3) * plan.dish
    assert plan.passes * PER_LOAD * 60.0 == pytest.approx(cut, rel=1e-9)


def test_a_softer_wheel_takes_more_passes_and_dishes_more() -> None:
    plans = [plan_of(shore) for shore in (40.0, 55.0, 70.0, 85.0)]
    assert all(a.passes > b.passes and a.dish > b.dish for a, b in itertools.pairwise(plans))


def test_far_above_the_face_the_strip_takes_everything() -> None:
    touching = load_sharing(60.0, 6e-3, WHEEL, RADIUS, wheel(70.0), COVER).touching_height
    plan = plan_of(70.0, height=3e-3, hand_over=touching * 1.001)
    assert plan.dish == 0.0
    assert plan.passes == pytest.approx((3e-3 - touching * 1.001) / (PER_LOAD * 60.0 / 6e-3))


def test_a_tail_below_the_cutting_pressure_never_ends() -> None:
    plan = plan_of(40.0, least=90e3)
    assert plan.passes == math.inf
    assert RUBBING_TAIL in plan.flags
    assert RUBBING_TAIL not in plan_of(40.0, least=15e3).flags


def test_flush_is_never_reached() -> None:
    plan = plan_of(70.0, hand_over=0.0)
    assert plan.passes == math.inf
    assert NEVER_FLUSH in plan.flags
    # The nearer to flush, the dearer without end.
    dishes = [plan_of(70.0, hand_over=h).dish for h in (1e-4, 1e-5, 1e-6)]
    assert dishes[2] - dishes[1] == pytest.approx(dishes[1] - dishes[0], rel=0.15)


def test_a_strip_as_wide_as_the_wheel_is_an_area() -> None:
    plan = plan_of(70.0, width=WHEEL)
    assert plan.flags == (AS_WIDE,)
    assert plan.dish == 0.0
    assert plan.passes == pytest.approx(0.4e-3 / linear(60.0 / WHEEL))
    wider = plan_of(70.0, width=2 * WHEEL)
    assert wider.passes == plan.passes


def test_nothing_to_do_takes_nothing() -> None:
    plan = plan_of(70.0, height=0.05e-3)
    assert (plan.passes, plan.dish, plan.remaining) == (0.0, 0.0, 0.05e-3)


def test_a_wheel_that_fills_the_hollow_is_flagged() -> None:
    sharing = load_sharing(60.0, 6e-3, WHEEL, math.inf, wheel(70.0), COVER)
    assert sharing.flags == (CONFORMING,)
    plan = level(1e-3, 1e-4, sharing, 1e-4, 1e-5)
    assert plan.passes == math.inf
    assert plan.remaining == 1e-3
