"""The fading cut against its differential equation, and the change of media against trying every volume."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq, minimize_scalar

from advisor.process.wear import (
    DULL,
    PART_OUTLASTS,
    break_in_factor,
    change_point,
    cut_rate,
    cut_rate_after,
    cutting_volume_from_life,
    cutting_volume_of_belt,
    parts_per_media,
    time_to_cut,
    volume_at_share,
    volume_cut,
)

rates = st.floats(1e-10, 1e-7)
volumes = st.floats(1e-7, 1e-3)


def cost_by_driving(
    volume: float, media: float, second: float, change: float, rate: float, v_c: float
) -> float:
    """Cost of a cubic metre when every media cuts `volume`, its time summed rather than solved."""
    time = quad(lambda v: 1.0 / (rate * math.exp(-v / v_c)), 0.0, volume)[0]
    return (media + second * (change + time)) / volume


@pytest.mark.parametrize(
    ("first", "v_c", "time"), [(1.0, 2.0, 3.0), (20e-9, 2e-5, 2000.0), (5e-9, 1e-6, 900.0)]
)
def test_fading_follows_its_equation(first: float, v_c: float, time: float) -> None:
    path = solve_ivp(
        lambda _, v: first * np.exp(-v / v_c), (0.0, time), [0.0], rtol=1e-11, atol=first * time * 1e-13
    )
    cut = path.y[0, -1]
    assert volume_cut(first, time, v_c) == pytest.approx(cut, rel=1e-8)
    assert cut_rate_after(first, time, v_c) == pytest.approx(first * math.exp(-cut / v_c), rel=1e-8)
    assert cut_rate(first, cut, v_c) == pytest.approx(cut_rate_after(first, time, v_c), rel=1e-8)
    assert time_to_cut(first, cut, v_c) == pytest.approx(time, rel=1e-8)


def test_worked_fading() -> None:
    # Process notes 4.1: Q0 = 1, Vc = 2, t = 3 gives Q = 0.4 and V = 1.832581.
    assert cut_rate_after(1.0, 3.0, 2.0) == pytest.approx(0.4)
    assert volume_cut(1.0, 3.0, 2.0) == pytest.approx(1.832581, abs=5e-7)


def test_worked_change_point() -> None:
    # Process notes 4.2: A = 1.32, z = 1.10589, V = 22117.9 mm3, Q/Q0 = 0.3309.
    assert pytest.approx(1.32) == (20.0 / (1 / 60) + 120.0) * 20.0 / 20000.0
    best = change_point(20.0, 1 / 60, 120.0, 20e-9, 20000e-9)
    assert best.volume / 20000e-9 == pytest.approx(1.10589, abs=5e-6)
    assert best.volume * 1e9 == pytest.approx(22117.9, abs=0.05)
    assert best.share == pytest.approx(0.3309, abs=5e-5)
    assert best.time == pytest.approx(time_to_cut(20e-9, best.volume, 20000e-9))


@pytest.mark.parametrize("media", [0.5, 3.0, 9.0, 20.0, 60.0])
@pytest.mark.parametrize("change", [0.0, 30.0, 240.0])
@pytest.mark.parametrize("v_c", [2e-6, 2e-5, 3e-4])
def test_change_point_is_the_cheapest_volume(media: float, change: float, v_c: float) -> None:
    second, rate = 55.0 / 3600.0, 15e-9

    def cost(volume: float) -> float:
        return cost_by_driving(volume, media, second, change, rate, v_c)

    best = change_point(media, second, change, rate, v_c)
    found = minimize_scalar(
        lambda log: cost(math.exp(log)),
        bounds=(math.log(v_c * 1e-4), math.log(v_c * 8)),
        method="bounded",
        options={"xatol": 1e-9},
    )
    assert best.volume == pytest.approx(math.exp(found.x), rel=1e-4)
    assert best.cost_per_volume == pytest.approx(found.fun, rel=1e-8)
    for factor in (0.5, 0.8, 1.25, 2.0):
        assert cost(best.volume * factor) > best.cost_per_volume


@given(st.floats(-5.0, 6.0))
def test_root_of_the_change_point_over_many_sizes(exponent: float) -> None:
    wanted = 10.0**exponent
    z = change_point(wanted, 1.0, 0.0, 1e-9, 1e-9).volume / 1e-9
    # quad of z exp(z) is exp(z)(z - 1) + 1 without the lost digits near zero.
    assert quad(lambda x: x * math.exp(x), 0.0, z)[0] == pytest.approx(wanted, rel=1e-6)
    assert z == pytest.approx(
        brentq(lambda x: quad(lambda y: y * math.exp(y), 0.0, x)[0] - wanted, 0.0, 20.0, xtol=1e-12), rel=1e-6
    )


def test_change_points_of_draws_are_those_of_each() -> None:
    prices = np.geomspace(0.1, 500.0, 9)
    together = change_point(prices, 0.015, 90.0, 15e-9, 2e-5)  # type: ignore[arg-type]
    for i, price in enumerate(prices):
        alone = change_point(float(price), 0.015, 90.0, 15e-9, 2e-5)
        assert together.volume[i] == pytest.approx(alone.volume)  # type: ignore[index]
        assert together.share[i] == pytest.approx(alone.share)  # type: ignore[index]


def test_a_free_media_is_changed_at_once_and_a_dear_one_is_flagged() -> None:
    assert change_point(0.0, 0.015, 0.0, 15e-9, 2e-5).volume == 0.0
    # Exactly a fifth left: z = ln 5, so A = 5 (ln 5 - 1) + 1.
    limit = 5 * (math.log(5) - 1) + 1
    assert change_point(limit * 0.999, 1.0, 0.0, 1.0, 1.0).flags == ()
    assert change_point(limit * 1.001, 1.0, 0.0, 1.0, 1.0).flags == (DULL,)
    with pytest.raises(ValueError, match="cost something"):
        change_point(9.0, 0.0, 90.0, 15e-9, 2e-5)


@given(st.floats(0.5, 50.0), st.floats(1.0, 4.0), rates, volumes)
def test_a_dearer_media_is_never_changed_sooner(price: float, more: float, rate: float, v_c: float) -> None:
    cheap = change_point(price, 0.015, 90.0, rate, v_c)
    dear = change_point(price * more, 0.015, 90.0, rate, v_c)
    assert cheap.volume <= dear.volume * (1 + 1e-9)
    assert cheap.cost_per_volume <= dear.cost_per_volume * (1 + 1e-9)


@given(rates, volumes, st.floats(0.0, 4.0), st.floats(0.0, 2.0))
def test_more_volume_never_cuts_faster(rate: float, v_c: float, done: float, more: float) -> None:
    assert cut_rate(rate, (done + more) * v_c, v_c) <= cut_rate(rate, done * v_c, v_c) * (1 + 1e-12)
    first = time_to_cut(rate, 0.1 * v_c, v_c)
    later = time_to_cut(rate, (done + 0.1) * v_c, v_c) - time_to_cut(rate, done * v_c, v_c)
    assert later >= first * (1 - 1e-9)


@given(st.floats(0.01, 1.0), volumes)
def test_volume_at_share_leaves_that_share(share: float, v_c: float) -> None:
    assert cut_rate(1.0, volume_at_share(share, v_c), v_c) == pytest.approx(share)


@given(rates, volumes, st.floats(0.1, 0.9))
def test_a_known_life_gives_back_the_fading(rate: float, v_c: float, share: float) -> None:
    life = brentq(lambda t: cut_rate_after(1.0, t, v_c / rate) - share, 0.0, 20 * v_c / rate)
    assert cutting_volume_from_life(rate, life, share) == pytest.approx(v_c, rel=1e-6)


@given(st.floats(0.0, 3e-6), st.floats(0.0, 1e-6), st.floats(0.0, 0.45))
def test_breaking_in_only_slows_down(volume: float, more: float, loss: float) -> None:
    early, late = (break_in_factor(v, 2e-6, loss) for v in (volume, volume + more))
    assert 1.0 <= late <= early <= 1.0 / (1.0 - loss) + 1e-12
    # What a fresh media loses is the share it was said to lose.
    assert 1.0 - 1.0 / break_in_factor(0.0, 2e-6, loss) == pytest.approx(loss)
    assert break_in_factor(2e-6, 2e-6, loss) == 1.0


def test_twice_the_belt_lasts_twice_as_long() -> None:
    once = cutting_volume_of_belt(6.0, 0.1, 201e-6, 0.1)
    assert cutting_volume_of_belt(6.0, 0.2, 201e-6, 0.1) == pytest.approx(2 * once)
    # Grain lost is Vc / G, which is a tenth of a grain all over the belt.
    assert once / 6.0 / 0.1 == pytest.approx(20.1e-6)


@pytest.mark.parametrize(("volume", "part"), [(22.0, 1.5), (3.0, 1.5), (2.99, 1.5), (1.5, 1.5), (0.3, 0.1)])
def test_parts_per_media_by_cutting_one_after_another(volume: float, part: float) -> None:
    done = 0
    while (done + 1) * part <= volume + 1e-12:
        done += 1
    lasting = parts_per_media(volume, part)
    assert lasting.parts == done
    assert lasting.flags == ()


def test_a_part_that_outlasts_its_media_takes_several() -> None:
    lasting = parts_per_media(1.0, 2.5)
    assert lasting.parts == pytest.approx(0.4)
    assert lasting.flags == (PART_OUTLASTS,)
    with pytest.raises(ValueError, match="take something off"):
        parts_per_media(1.0, 0.0)
