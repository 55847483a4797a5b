"""Heat against Jaeger's integral, against energy balances solved step by step, and the worked table."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp
from scipy.optimize import minimize_scalar
from scipy.special import k0

from advisor.process.contact import line_contact, plane_modulus, young_modulus
from advisor.process.heat import (
    CLOSE,
    TOO_HOT,
    TOO_SLOW,
    TOO_THIN,
    UNEVEN,
    band_rise,
    band_shape,
    bulk_rise,
    cooling_time,
    cycle_peak,
    diffusivity,
    duty_rise,
    evening_time,
    heat_flags,
    heat_flux,
    heat_into_part,
    heat_margin,
    heating_rate,
)
from advisor.process.removal import cutting_power

# Process notes 5.1: Peclet number against the highest rise of the exact integral.
PUBLISHED_SHAPE = [
    (0.05, 0.41262), (0.1, 0.69125), (0.25, 1.30911), (0.5, 2.04859), (1.0, 3.11599),
    (2.0, 4.62947), (5.0, 7.61271), (10.0, 10.94844), (20.0, 15.63973),
]  # fmt: skip


def kernel(u: float) -> float:
    """exp(u) K0(|u|): a line source at distance u ahead (below zero) or behind."""
    if abs(u) < 100:
        return float(math.exp(u) * k0(abs(u)))
    return math.sqrt(math.pi / (2 * abs(u))) * math.exp(u - abs(u)) * (1 - 1 / (8 * abs(u)))


def jaeger(place: float, number: float) -> float:
    """Jaeger's integral at `place` (against the motion, in half-widths) for a Peclet `number`."""
    low, high = number * (place - 1), number * (place + 1)
    cuts = [low, 0.0, high] if low < 0 < high else [low, high]
    return sum(quad(kernel, a, b, limit=400)[0] for a, b in pairwise(cuts))


def hottest(number: float) -> float:
    coarse = max(np.linspace(-1, 1, 81), key=lambda place: jaeger(float(place), number))
    found = minimize_scalar(
        lambda place: -jaeger(place, number),
        bounds=(max(-1.0, coarse - 0.03), min(1.0, coarse + 0.03)),
        method="bounded",
        options={"xatol": 1e-6},
    )
    return float(-found.fun)


@pytest.mark.parametrize(("number", "published"), PUBLISHED_SHAPE)
def test_the_fit_meets_jaegers_integral_and_the_table(number: float, published: float) -> None:
    exact = hottest(number)
    assert exact == pytest.approx(published, rel=1e-4)
    assert band_shape(number) == pytest.approx(exact, rel=3e-3)


@pytest.mark.parametrize("number", [0.07, 0.7, 3.0, 50.0, 100.0, 200.0])
def test_the_fit_holds_between_and_beyond_the_table(number: float) -> None:
    assert band_shape(number) == pytest.approx(hottest(number), rel=3e-3)


def test_far_below_its_range_the_fit_is_off_by_what_it_says() -> None:
    assert band_shape(0.01) / hottest(0.01) == pytest.approx(1 - 0.016, abs=1e-3)


@pytest.mark.parametrize(
    ("number", "percent"), [(20, 1.4), (10, 2.4), (5, 4.1), (2, 8.3), (1, 13.8), (0.5, 22.4)]
)
def test_the_fast_law_lies_above_by_the_published_share(number: float, percent: float) -> None:
    # Process notes 5.1: 1.128 q sqrt(2b / (k rho c v_w)) is high by these percentages.
    assert 3.5449 * math.sqrt(number) / band_shape(number) == pytest.approx(1 + percent / 100, abs=4e-3)


@pytest.mark.parametrize("number", [0.5, 1.0, 2.0, 5.0, 10.0, 20.0])
def test_takazawas_power_law_agrees_within_its_claim(number: float) -> None:
    # Process notes 5.1: 3.1 L^0.53 within about 5 % for 0.5 to 20.
    assert band_shape(number) == pytest.approx(3.1 * number**0.53, rel=0.06)


# Process notes 5.2: conductivity, density, heat; share, flux W/m2, Peclet number, rise K.
TABLE = {
    "carbon steel": (50, 7850, 470, 0.8826, 5.870e5, 8.32, 33.6),
    "304": (16, 7900, 500, 0.8148, 5.419e5, 27.8, 53.9),
    "6061": (167, 2700, 896, 0.9175, 6.102e5, 1.63, 22.1),
    "brass": (115, 8500, 380, 0.9143, 6.081e5, 3.17, 23.8),
    "Ti-6-4": (6.7, 4430, 560, 0.6928, 4.608e5, 41.8, 89.6),
    "zinc alloy 3": (113, 6600, 420, 0.9073, 6.035e5, 2.77, 25.6),
}


@pytest.mark.parametrize("metal", TABLE)
def test_worked_table_of_metals(metal: str) -> None:
    conductivity, density, heat, share, flux, number, rise = TABLE[metal]
    half = line_contact(1000.0, 0.100, plane_modulus(young_modulus(40.0))).half_width
    found_share = heat_into_part(conductivity, density, heat, 25.0, 35.0, 15e-6)
    assert found_share == pytest.approx(share, abs=5e-5)
    found_flux = heat_flux(cutting_power(0.4, 50.0, 25.0), found_share, 0.050, half)
    assert found_flux == pytest.approx(flux, rel=2e-4)
    alpha = diffusivity(conductivity, density, heat)
    band = band_rise(found_flux, half, 0.030, conductivity, alpha)
    assert band.peclet == pytest.approx(number, rel=3e-3)  # printed with three digits
    assert band.rise == pytest.approx(rise, rel=4e-3)
    assert band.flags == ()


@pytest.mark.parametrize("metal", ["304", "brass"])
def test_rise_in_kelvin_by_summing_line_sources(metal: str) -> None:
    """Each strip of the band is a moving line source: q / (pi k) exp(-v x / 2a) K0(v |x| / 2a)."""
    conductivity, density, heat, *_ = TABLE[metal]
    alpha, half, feed, flux = conductivity / (density * heat), 4e-3, 0.030, 5e5

    def skin(place: float) -> float:
        def strip(source: float) -> float:
            behind = (source - place) * feed / (2 * alpha)
            return flux / (math.pi * conductivity) * kernel(behind)

        return quad(strip, -half, place, limit=300)[0] + quad(strip, place, half, limit=300)[0]

    # The motion is toward higher x, so the rear, x = -half and a little ahead of it, is the hottest.
    highest = max(skin(float(place)) for place in np.linspace(-half * 0.999, half * 0.5, 300))
    assert band_rise(flux, half, feed, conductivity, alpha).rise == pytest.approx(highest, rel=4e-3)


def test_band_is_flagged_at_the_ends_of_its_range() -> None:
    alpha = 4e-6
    slow = 0.05 * 2 * alpha / 5e-3
    assert band_rise(1e5, 5e-3, slow * 1.001, 16.0, alpha).flags == ()
    assert band_rise(1e5, 5e-3, slow * 0.999, 16.0, alpha).flags == (TOO_SLOW,)
    deep = 2 * math.sqrt(2 * 5e-3 * alpha / 0.030)
    assert band_rise(1e5, 5e-3, 0.030, 16.0, alpha, deep * 1.001).flags == ()
    assert band_rise(1e5, 5e-3, 0.030, 16.0, alpha, deep * 0.999).flags == (TOO_THIN,)
    with pytest.raises(ValueError, match="must move"):
        band_rise(1e5, 5e-3, 0.0, 16.0, alpha)


def test_worked_bulk_rise() -> None:
    # Process notes 5.3: 304, 100 x 100 x 1.5 mm, 400 W: 6.751 K/s, 0.139 s, tau 98.75 s, +33.3 K at 5 % duty.
    mass = 7900 * 0.1 * 0.1 * 1.5e-3
    assert heating_rate(400.0, mass, 500.0) == pytest.approx(6.751, abs=5e-4)
    assert evening_time(1.5e-3, diffusivity(16.0, 7900.0, 500.0)) == pytest.approx(0.139, abs=5e-4)
    assert cooling_time(mass, 500.0, 30.0, 0.02) == pytest.approx(98.75, abs=5e-3)
    assert duty_rise(400.0, 0.05, 30.0, 0.02) == pytest.approx(33.3, abs=0.05)


@pytest.mark.parametrize("time", [1.0, 10.0, 60.0, 400.0])
def test_bulk_rise_follows_its_energy_balance(time: float) -> None:
    mass, heat, film, area, power = 0.1185, 500.0, 30.0, 0.02, 325.0
    path = solve_ivp(
        lambda _, rise: (power - film * area * rise) / (mass * heat),
        (0.0, time),
        [0.0],
        rtol=1e-10,
        atol=1e-10,
    )
    found = bulk_rise(power, time, mass, heat, film, area, evening_time=5.0)
    assert found.rise == pytest.approx(path.y[0, -1], rel=1e-7)
    assert found.flags == ((UNEVEN,) if time < 5.0 else ())
    assert found.rise <= heating_rate(power, mass, heat) * time


def test_cycles_are_driven_until_they_repeat() -> None:
    mass, heat, film, area, power, on, off = 0.1185, 500.0, 30.0, 0.02, 400.0, 8.0, 52.0
    rise, step, peak, total = 0.0, 0.01, 0.0, 0.0
    for cycle in range(20):
        peak = total = 0.0
        for tick in range(round((on + off) / step)):
            taken = power if tick * step < on else 0.0
            rise += step * (taken - film * area * rise) / (mass * heat)
            peak, total = max(peak, rise), total + rise * step
        assert cycle < 20
    tau = cooling_time(mass, heat, film, area)
    assert cycle_peak(power, on, off, tau, film, area) == pytest.approx(peak, rel=1e-3)
    assert duty_rise(power, on / (on + off), film, area) == pytest.approx(total / (on + off), rel=2e-3)


@given(st.floats(1e4, 1e7), st.floats(5e-4, 2e-2), st.floats(0.005, 0.2), st.floats(1.0, 3.0))
def test_directions_of_the_passing_rise(flux: float, half: float, feed: float, more: float) -> None:
    def rise(q: float, b: float, v: float) -> float:
        return band_rise(q, b, v, 16.0, 4e-6).rise

    assert rise(flux * more, half, feed) >= rise(flux, half, feed)
    assert rise(flux, half, feed * more) <= rise(flux, half, feed) * (1 + 1e-9)
    # The same power over a narrower contact is hotter.
    assert rise(flux * more, half / more, feed) >= rise(flux, half, feed) * (1 - 1e-9)


@given(st.floats(5.0, 400.0), st.floats(2.0, 60.0), st.floats(1.0, 3.0), st.floats(5.0, 100.0))
def test_share_into_the_part_lies_between_and_grows_with_its_conductivity(
    conductivity: float, speed: float, more: float, grain: float
) -> None:
    low = heat_into_part(conductivity, 7900.0, 500.0, speed, grain, 15e-6)
    high = heat_into_part(conductivity * more, 7900.0, 500.0, speed, grain, 15e-6)
    assert 0.0 < low <= high < 1.0


@given(st.floats(60.0, 500.0), st.floats(0.0, 50.0), st.floats(0.1, 900.0))
def test_margin_is_one_exactly_where_the_limit_is_reached(limit: float, start: float, rise: float) -> None:
    assert heat_margin(limit, start, limit - start) == pytest.approx(1.0)
    assert heat_margin(limit, start, rise) >= heat_margin(limit, start, rise * 1.5)
    assert heat_margin(start, limit, rise) == 0.0
    assert heat_margin(limit, start, 0.0) == math.inf


@pytest.mark.parametrize(
    ("margin", "flags"), [(0.99, (TOO_HOT,)), (1.0, (CLOSE,)), (2.99, (CLOSE,)), (3.0, ())]
)
def test_warning_exactly_at_its_limits(margin: float, flags: tuple[str, ...]) -> None:
    assert heat_flags(margin, 3.0) == flags


def test_draws_warm_up_as_each_of_them() -> None:
    fluxes, films = np.geomspace(1e4, 1e6, 7), np.linspace(15.0, 60.0, 7)
    band = band_rise(fluxes, 5e-3, 0.03, 16.0, 4e-6, 1e-3)  # type: ignore[arg-type]
    bulk = bulk_rise(300.0, 20.0, 0.1, 500.0, films, 0.02)  # type: ignore[arg-type]
    margins = heat_margin(200.0, 20.0, band.rise + bulk.rise)
    for i in range(7):
        one = band_rise(float(fluxes[i]), 5e-3, 0.03, 16.0, 4e-6, 1e-3).rise
        other = bulk_rise(300.0, 20.0, 0.1, 500.0, float(films[i]), 0.02).rise
        assert band.rise[i] == pytest.approx(one)  # type: ignore[index]
        assert bulk.rise[i] == pytest.approx(other)  # type: ignore[index]
        assert margins[i] == pytest.approx(180.0 / (one + other))  # type: ignore[index]
