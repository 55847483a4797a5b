"""A shrinking wheel against its differential equation, against wearing it part by part, and figures."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from advisor.process.shrinking import (
    EVERY_PART,
    NO_STROKE,
    TOO_FAST_NEW,
    TOO_STIFF,
    change_out,
    diameter_after,
    diameter_after_parts,
    force_lost,
    force_trim,
    marked_rpm,
    parts_between,
    reindex,
    rpm_schedule,
    stiffness_factor,
    stiffness_flags,
    stroke_for_wear,
    wear_rate,
    wear_ratio_from_life,
    wheel_volume,
)

diameters = st.floats(0.05, 0.5)
SLACK = 1 + 1e-9


def test_worked_diameter() -> None:
    # Process notes 4.4: D0 200, W 50, 1000 mm3 worn: 199.93633 mm, radius -0.031836 mm.
    after = diameter_after(0.200, 1000e-9, 0.050)
    assert after * 1000 == pytest.approx(199.93633, abs=5e-6)
    assert (0.200 - after) / 2 * 1000 == pytest.approx(0.031836, abs=5e-7)


def test_worked_speeds() -> None:
    # Process notes 4.5: 25 m/s at 200, 180, 150 mm: 2387.32, 2652.58, 3183.10 rpm; 3000 rpm at 159.155 mm.
    rows = rpm_schedule(0.200, 0.150, 25.0, 1e9, 1000.0, rows=6)
    by_diameter = {round(row.diameter * 1000): row.rpm for row in rows}
    for diameter, rpm in ((200, 2387.32), (180, 2652.58), (150, 3183.10)):
        assert by_diameter[diameter] == pytest.approx(rpm, abs=5e-3)
    end = change_out(0.200, 25.0, 3000.0, 0.100)
    assert end.diameter == pytest.approx(0.159155, abs=5e-7)
    assert end.because == "spindle"


def test_worked_touch_off() -> None:
    # Process notes 4.6: 5 mm3/s, G 2, 200 by 50 mm: 0.0796 um/s, 12566 s for a millimetre.
    rate = wear_rate(5e-9, 2.0, 0.200, 0.050)
    assert rate * 1e6 == pytest.approx(0.0796, abs=5e-5)
    assert 1e-3 / rate == pytest.approx(12566, abs=1)
    # With a part of one second the parts are seconds; the exact law knows that the wheel gets smaller.
    done = reindex(1e-3, 0.200, 0.050, 2.0, 5e-9)
    assert done.parts == pytest.approx(12566 * (1 - 1e-3 / 0.200), abs=1)


@pytest.mark.parametrize(("rate", "ratio"), [(5e-9, 2.0), (2e-9, 0.05), (1e-9, 0.01)])
def test_shrinking_follows_its_equation(rate: float, ratio: float) -> None:
    # dD/dt = -2 Q / (pi D W G)
    time = 0.6 * ratio * wheel_volume(0.200, 0.0, 0.050) / rate
    path = solve_ivp(
        lambda _, d: -2 * rate / (math.pi * d * 0.050 * ratio), (0.0, time), [0.200], rtol=1e-10, atol=1e-12
    )
    end = float(path.y[0, -1])
    assert diameter_after(0.200, rate * time / ratio, 0.050) == pytest.approx(end, rel=1e-7)
    assert 2 * wear_rate(rate, ratio, end, 0.050) == pytest.approx(2 * rate / (math.pi * end * 0.050 * ratio))
    assert parts_between(0.200, end, 0.050, ratio, rate * 10.0) == pytest.approx(time / 10.0, rel=1e-6)
    assert wear_ratio_from_life(rate, time, 0.200, end, 0.050) == pytest.approx(ratio, rel=1e-6)


def test_a_wheel_worn_part_by_part() -> None:
    """Each part takes a ring of the volume it wears; the sum of the rings is the closed form."""
    diameter, width, ratio, volume = 0.200, 0.050, 0.06, 60e-9
    for _ in range(400):
        depth = brentq(
            lambda t, d=diameter: math.pi * (d - t) * t * width - volume / ratio,
            0.0,
            diameter / 2,
            xtol=1e-16,
        )
        diameter -= 2 * depth
    assert diameter_after_parts(0.200, 400, width, ratio, volume) == pytest.approx(diameter, rel=1e-9)
    assert parts_between(0.200, diameter, width, ratio, volume) == pytest.approx(400)


def test_nothing_is_left_of_a_wheel_that_lost_more_than_it_had() -> None:
    assert diameter_after(0.200, wheel_volume(0.200, 0.0, 0.050) * 1.1, 0.050) == 0.0
    assert wheel_volume(0.100, 0.200, 0.050) == 0.0


def test_rows_of_the_schedule_hold_the_speed_until_the_limit() -> None:
    rows = rpm_schedule(0.200, 0.120, 25.0, 3000.0, 800.0, rows=9)
    assert [rows[0].parts, rows[-1].parts] == pytest.approx([0.0, 800.0])
    for row in rows:
        assert row.rpm <= 3000.0
        assert row.speed == pytest.approx(math.pi * row.diameter * row.rpm / 60)
        assert row.limited == (row.diameter < 0.159154)
        assert row.limited or row.speed == pytest.approx(25.0)
        # The area of the ring worn off, by integration, gives the parts.
        ring = quad(lambda d: math.pi * d / 2, row.diameter, 0.200)[0]
        whole = quad(lambda d: math.pi * d / 2, 0.120, 0.200)[0]
        assert row.parts == pytest.approx(800.0 * ring / whole, abs=1e-6)


def test_a_limit_met_exactly_is_not_called_a_limit() -> None:
    end = 60 * 25.0 / (math.pi * 3000.0)
    assert not rpm_schedule(0.200, end, 25.0, 3000.0, 100.0)[-1].limited
    with pytest.raises(ValueError, match="shrinks"):
        rpm_schedule(0.200, 0.200, 25.0, 3000.0, 100.0)
    with pytest.raises(ValueError, match="two rows"):
        rpm_schedule(0.200, 0.150, 25.0, 3000.0, 100.0, rows=1)


@given(diameters, st.floats(0.3, 0.95), st.floats(3.0, 50.0), st.floats(500.0, 9000.0))
def test_a_smaller_wheel_never_turns_slower_nor_too_fast(
    new: float, share: float, speed: float, limit: float
) -> None:
    rows = rpm_schedule(new, new * share, speed, limit, 100.0)
    for earlier, later in pairwise(rows):
        assert later.diameter < earlier.diameter
        assert later.rpm >= earlier.rpm / SLACK
        assert later.speed <= earlier.speed * SLACK
        assert later.parts > earlier.parts
    assert all(row.rpm <= limit for row in rows)


@pytest.mark.parametrize(
    ("spindle", "smallest", "marked", "because"),
    [
        pytest.param(3000.0, 0.120, None, "spindle", id="spindle"),
        pytest.param(6000.0, 0.120, 2600.0, "marked speed", id="marked"),
        pytest.param(6000.0, 0.120, 5000.0, "smallest diameter", id="core"),
        pytest.param(3000.0, 0.120, 3000.0, "marked speed", id="equal-limits-name-the-marking"),
    ],
)
def test_change_out_by_walking_down(
    spindle: float, smallest: float, marked: float | None, because: str
) -> None:
    """A wheel is made smaller by hundredths of a millimetre until something says no."""
    highest = spindle if marked is None else min(spindle, marked)
    diameter = 0.200
    while diameter >= smallest and 60 * 25.0 / (math.pi * diameter) <= highest:
        diameter -= 1e-5
    end = change_out(0.200, 25.0, spindle, smallest, marked)
    assert end.diameter == pytest.approx(diameter, abs=1.1e-5)
    assert (end.because, end.flags) == (because, ())


def test_a_new_wheel_that_is_too_small_is_flagged() -> None:
    assert change_out(0.150, 25.0, 3000.0, 0.100).flags == (TOO_FAST_NEW,)


@given(diameters, st.floats(10.0, 80.0), st.floats(0.3, 1.0))
def test_a_worn_wheel_keeps_its_marked_rpm_and_runs_slower_than_marked(
    new: float, marked: float, share: float
) -> None:
    rpm = marked_rpm(marked, new)
    assert math.pi * new * share * rpm / 60 <= marked * SLACK
    assert change_out(new, marked, 1e9, 1e-3, rpm).diameter == pytest.approx(new)


def test_touch_off_by_wearing_part_by_part() -> None:
    diameter, parts = 0.200, 0
    while True:
        smaller = math.sqrt(diameter**2 - 4 * 300e-9 / 0.06 / (math.pi * 0.050))
        if 0.200 - smaller > 2 * 3e-3:
            break
        diameter, parts = smaller, parts + 1
    done = reindex(3e-3, 0.200, 0.050, 0.06, 300e-9)
    assert (done.parts, done.step, done.flags) == (parts, 3e-3, ())


@pytest.mark.parametrize(("stroke", "flags"), [(0.0, (NO_STROKE,)), (1e-5, (EVERY_PART,)), (3e-3, ())])
def test_a_stroke_smaller_than_the_wear_of_a_part_is_flagged(stroke: float, flags: tuple[str, ...]) -> None:
    assert reindex(stroke, 0.200, 0.050, 0.06, 300e-9).flags == flags


@given(st.floats(1e-4, 1e-2), diameters, st.floats(0.3, 1.0))
def test_a_smaller_wheel_is_touched_off_no_later(stroke: float, new: float, share: float) -> None:
    big, small = (reindex(stroke, d, 0.05, 0.06, 60e-9).parts for d in (new, new * share))
    assert small <= big


def test_stroke_is_a_budget() -> None:
    assert stroke_for_wear(0.025, 0.004, 0.003, 0.002) == pytest.approx(0.016)
    assert stroke_for_wear(0.005, 0.004, 0.003, 0.002) == 0.0
    assert force_lost(20e3, 1e-3) == pytest.approx(20.0)


@pytest.mark.parametrize(("diameter", "factor"), [(0.200, 1.0), (0.150, 1.7), (0.120, 3.0)])
def test_force_trim_on_a_bed_of_springs(diameter: float, factor: float) -> None:
    """Springs of 4 MPa/m pressed by a circle, force and width by integration, the trim by searching."""

    def mean_pressure(load: float, size: float, stiffness: float) -> float:
        radius = size / 2

        def carried(depth: float) -> float:
            half = math.sqrt(2 * radius * depth)
            return 2 * quad(lambda x: stiffness * (depth - x * x / (2 * radius)), 0.0, half)[0]

        depth = brentq(lambda d: carried(d) - load, 1e-9, 0.1, xtol=1e-15)
        return load / (2 * math.sqrt(2 * radius * depth))

    new = mean_pressure(1000.0, 0.200, 4e6 / 1e-1)
    load = brentq(lambda p: mean_pressure(p, diameter, 4e6 / 1e-1 * factor) - new, 10.0, 2000.0, xtol=1e-9)
    assert force_trim(diameter / 0.200, factor) == pytest.approx(load / 1000.0, rel=1e-6)


def test_a_flap_as_a_cantilever_and_a_web_as_a_block() -> None:
    # Tip deflection of a beam by summing curvature twice, P = 1, EI = 1.
    def deflection(length: float) -> float:
        return quad(lambda x: (length - x) ** 2, 0.0, length)[0]

    assert stiffness_factor(0.200, 0.150, 0.080, 3.0) == pytest.approx(deflection(0.060) / deflection(0.035))
    assert stiffness_factor(0.200, 0.150, 0.080, 1.0) == pytest.approx(0.060 / 0.035)
    assert stiffness_factor(0.200, 0.200, 0.080, 1.7) == 1.0
    assert stiffness_flags(3.0) == ()
    assert stiffness_flags(3.01) == (TOO_STIFF,)


@given(st.floats(0.1, 0.2), st.floats(0.0, 0.05), st.floats(0.7, 3.0))
def test_a_worn_wheel_is_stiffer_and_wants_less_force(diameter: float, worn: float, exponent: float) -> None:
    less = max(diameter - worn, 0.09)
    factor = stiffness_factor(0.2, less, 0.08, exponent)
    assert factor >= stiffness_factor(0.2, max(diameter, less), 0.08, exponent) / SLACK
    assert force_trim(less / 0.2, factor) <= SLACK


def test_draws_of_the_wear_ratio_give_the_parts_of_each() -> None:
    ratios = np.geomspace(0.01, 0.3, 7)
    together = reindex(3e-3, 0.2, 0.05, ratios, 300e-9)  # type: ignore[arg-type]
    sizes = diameter_after_parts(0.2, 100, 0.05, ratios, 60e-9)  # type: ignore[arg-type]
    for i, ratio in enumerate(ratios):
        assert together.parts[i] == reindex(3e-3, 0.2, 0.05, float(ratio), 300e-9).parts  # type: ignore[index]
        assert sizes[i] == pytest.approx(diameter_after_parts(0.2, 100, 0.05, float(ratio), 60e-9))  # type: ignore[index]
