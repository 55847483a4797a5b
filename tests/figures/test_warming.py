"""Heat of whole steps against scipy: the plate, the spreading disc, and what the alloy stands."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.special import exp1

from advisor.figures.warming import ROOM, Warming, proud_rise, warming
from advisor.process.heat import plate_share, wall_factor
from advisor.sequence.candidate import Candidate
from tests import invented
from tests.figures.test_effect import candidates, one


def heat_of(item: Candidate, feed: float = 0.06, time: float = 10.0) -> Warming:
    desk = invented.plan("oar-lock").desk
    values = desk.expected(item.tool.media, item.grain, item.grade)
    found = warming(item.setup, item.effect, values, feed, time)
    assert found is not None
    return found


def wheel() -> Candidate:
    """A belt over a rubber wheel on a part whose wall and mass are known."""
    item = one("coated", wheel=True)[1]
    face = replace(item.setup.face, wall=3e-3, mass=0.5)
    return replace(item, setup=replace(item.setup, face=face))


# ---------------------------------------------------------------- formulas against scipy


@given(st.floats(0.02, 60.0))
def test_a_plate_under_an_even_flux_against_its_series(fourier: float) -> None:
    """Carslaw and Jaeger: F + 1/3 - 2/pi^2 sum exp(-n^2 pi^2 F)/n^2 over that of thick metal, 2 sqrt(F/pi)."""
    series = sum(math.exp(-((n * math.pi) ** 2) * fourier) / n**2 for n in range(1, 60))
    exact = (fourier + 1.0 / 3.0 - 2.0 / math.pi**2 * series) / (2.0 * math.sqrt(fourier / math.pi))
    # h = 1, alpha = 1 and v_w = 1 make F the length 2 b of the contact.
    assert wall_factor(fourier / 2.0, 1.0, 1.0, 1.0) == pytest.approx(exact, rel=0.03)


@given(st.floats(1e-3, 80.0))
def test_what_runs_on_into_the_plate_against_the_exponential_integral(x: float) -> None:
    exact = x * exp1(x) + 1.0 - math.exp(-x)
    assert plate_share(4.0 * math.pi * x, 1.0, 1.0) == pytest.approx(exact, rel=2e-4)


def test_the_spreading_of_a_round_face_against_an_integral_over_its_points() -> None:
    """The middle of a disc that gets an even flux: each ring reaches it as exp(-r^2 / 4 a t) / (4 pi a t)."""
    area, time, spread = 9e-4, 16.0, 4.08e-5
    radius = math.sqrt(area / math.pi)

    def reached(age: float) -> float:
        def ring(r: float) -> float:
            return math.exp(-(r * r) / (4 * spread * age)) / (4 * math.pi * spread * age) * 2 * math.pi * r

        return float(quad(ring, 0.0, radius)[0])

    exact = quad(reached, 1e-9, time, limit=200)[0] / time
    assert plate_share(area, time, spread) == pytest.approx(exact, rel=1e-3)


# ---------------------------------------------------------------- laws


def test_heat_rises_with_force_and_time_and_falls_with_feed() -> None:
    item = wheel()
    base = heat_of(item)
    assert base.passing is not None and base.bulk is not None
    slow, long = heat_of(item, feed=0.03), heat_of(item, time=20.0)
    assert slow.passing is not None and slow.passing > base.passing and slow.bulk == base.bulk
    assert long.bulk is not None and base.bulk < long.bulk < 2.0 * base.bulk + 1e-9
    assert long.passing == base.passing


def test_what_stands_proud_is_hotter_than_the_face_that_stays() -> None:
    item, desk = wheel(), invented.plan("oar-lock").desk
    values = desk.expected(item.tool.media, item.grain, item.grade)
    top = proud_rise(item.setup, item.effect, values, 0.06, item.setup.contact_width / 5.0)
    passing = heat_of(item).passing
    assert top is not None and passing is not None and top > passing
    assert proud_rise(item.setup, item.effect, values, 0.06, item.setup.contact_width) is None


def test_a_thin_wall_is_never_cooler_and_a_heavy_part_never_hotter() -> None:
    item = wheel()

    def bulk(wall: float | None, mass: float | None) -> float:
        face = replace(item.setup.face, wall=wall, mass=mass)
        found = heat_of(replace(item, setup=replace(item.setup, face=face)))
        return float(found.bulk or 0.0)

    assert bulk(1e-3, 0.5) > bulk(3e-3, 0.5) > bulk(9e-3, 0.5)
    assert bulk(3e-3, None) >= bulk(3e-3, 0.5)
    assert bulk(None, 0.2) == pytest.approx(2.5 * bulk(None, 0.5))


def test_nobody_knows_the_heat_without_wheel_wall_and_mass() -> None:
    desk, item = next(pair for pair in candidates("compound") if pair[1].effect.contact is None)
    bare = replace(item.setup, face=replace(item.setup.face, wall=None, mass=None))
    values = desk.expected(item.tool.media, item.grain, item.grade)
    assert warming(bare, item.effect, values, 0.06, 10.0) is None


def test_the_limit_is_that_of_the_alloy_above_room() -> None:
    found = heat_of(wheel())
    alloy = invented.knowledge().tables.alloys["s31603"]
    assert found.limit == alloy.heat_limit_c - ROOM
    assert found.margin == pytest.approx(found.limit / found.rise)


def test_draws_and_numbers_go_the_same_way() -> None:
    desk, item = one("coated", wheel=True)
    values = desk.expected(item.tool.media, item.grain, item.grade)
    plain = warming(item.setup, item.effect, values, 0.06, 10.0)
    many = warming(
        item.setup, item.effect, {key: np.full(3, value) for key, value in values.items()}, 0.06, 10.0  # type: ignore[misc]
    )
    assert plain is not None and many is not None
    assert np.asarray(many.rise) == pytest.approx(np.full(3, plain.rise))
