"""Speeds, powers and forces against printed examples and exact unit definitions (pint)."""

from __future__ import annotations

import math

import pint
import pytest

from advisor.process.removal import (
    cutting_power,
    depth_per_pass,
    preston_coefficient,
    removal_rate,
    tangential_force,
)
from advisor.process.speed import diameter_for, rotational_speed, surface_speed

ureg = pint.UnitRegistry()


def si(value: float, unit: str) -> float:
    """A shop value in SI base units, converted by pint."""
    return float(ureg.Quantity(value, unit).to_base_units().magnitude)


def in_unit(value: float, base: str, unit: str) -> float:
    """An SI value in a shop unit, converted by pint."""
    return float(ureg.Quantity(value, base).to(unit).magnitude)


def test_five_inch_wheel_at_1200_rpm() -> None:
    # Published example: 5 in, 1200 rpm, printed as 1570 ft/min.
    speed = in_unit(surface_speed(si(5, "inch"), 1200), "m/s", "ft/min")
    assert speed == pytest.approx(1570.796, abs=1e-3)
    assert math.floor(speed) == 1570


@pytest.mark.parametrize(
    ("speed", "diameter", "rpm"),
    [
        # v = pi D n with exact unit definitions; calculated, not printed anywhere.
        pytest.param(si(6000, "ft/min"), si(8, "inch"), 2864.789, id="8-in-at-6000-ft-min"),
        pytest.param(30.0, 0.150, 3819.719, id="150-mm-at-30-m-s"),
        pytest.param(25.0, 0.200, 2387.32, id="200-mm-at-25-m-s"),
        pytest.param(25.0, 0.180, 2652.58, id="180-mm-at-25-m-s"),
        pytest.param(25.0, 0.150, 3183.10, id="150-mm-at-25-m-s"),
    ],
)
def test_rotational_speed(speed: float, diameter: float, rpm: float) -> None:
    assert rotational_speed(speed, diameter) == pytest.approx(rpm, abs=0.006)


def test_rotational_speed_agrees_with_pint_in_radians() -> None:
    omega = ureg.Quantity(30.0, "m/s") / ureg.Quantity(0.075, "m") * ureg.radian
    assert rotational_speed(30.0, 0.150) == pytest.approx(omega.to("rpm").magnitude, rel=1e-12)


def test_smallest_wheel_on_a_3000_rpm_spindle() -> None:
    assert diameter_for(25.0, 3000.0) == pytest.approx(0.159155, abs=5e-7)


def test_printed_cutting_force_of_57_pounds_is_wrong() -> None:
    """Printed: low-carbon steel, 10 in wheel, 4000 rpm, 1 in wide, 0.002 in deep, 60 in/min.

    With 15 hp min/in3 it prints 0.12 in3/min and 1.8 hp, which follow, and 57 lbf, which doesn't:
    the power and the speed give 5.67 lbf (25.23 N).
    """
    rate = si(1.0, "inch") * si(0.002, "inch") * si(60, "inch/min")
    energy = si(15, "horsepower * minute / inch**3")
    assert in_unit(rate, "m**3/s", "inch**3/min") == pytest.approx(0.12)
    assert energy / 1e9 == pytest.approx(40.955, abs=1e-3)
    assert rate * 1e9 == pytest.approx(32.774, abs=1e-3)
    power = rate * energy
    assert in_unit(power, "W", "horsepower") == pytest.approx(1.8)
    assert removal_rate(power, energy) == pytest.approx(rate)
    speed = surface_speed(si(10, "inch"), 4000)
    assert speed == pytest.approx(53.198, abs=1e-3)
    force = tangential_force(power, speed)
    assert force == pytest.approx(25.23, abs=0.005)
    assert in_unit(force, "N", "force_pound") == pytest.approx(5.67, abs=0.005)
    # The pass removes the printed depth when the whole tangential force counts (force ratio 1).
    depth = depth_per_pass(1.0, energy, force / si(1, "inch"), speed, si(60, "inch/min"), 1.0, 0.0)
    assert in_unit(depth, "m", "inch") == pytest.approx(0.002)


def test_surface_grinding_question_of_a_textbook() -> None:
    """Question as printed: 5000 ft/min, 0.002 in deep, 0.15 in cross feed, 20 ft/min, 7.3 lbf.

    Answers: 0.072 in3/min; 6,083,333 in lbf/in3 = 41.94 J/mm3 (the book's, from memory); 1.106 hp.
    """
    speed, force = si(5000, "ft/min"), si(7.3, "force_pound")
    rate = si(20, "ft/min") * si(0.15, "inch") * si(0.002, "inch")
    assert in_unit(rate, "m**3/s", "inch**3/min") == pytest.approx(0.072)
    power = cutting_power(1.0, force, speed)
    assert in_unit(power, "W", "horsepower") == pytest.approx(1.106, abs=5e-4)
    energy = power / rate
    assert in_unit(energy, "J/m**3", "inch * force_pound / inch**3") == pytest.approx(6_083_333, rel=1e-6)
    assert energy / 1e9 == pytest.approx(41.94, abs=0.005)
    assert removal_rate(power, si(6_083_333, "inch * force_pound / inch**3")) == pytest.approx(rate, rel=1e-6)
    assert in_unit(tangential_force(power, speed), "N", "force_pound") == pytest.approx(7.3)


@pytest.mark.parametrize(
    ("pounds", "feet_per_minute", "horsepower", "watt"),
    # hp = F V / 33000 by definition; both lines calculated.
    [(100.0, 5000.0, 15.1515, 11298.5), (20.0, 5000.0, 3.030303, 2259.697)],
)
def test_horsepower_rule(pounds: float, feet_per_minute: float, horsepower: float, watt: float) -> None:
    power = cutting_power(1.0, si(pounds, "force_pound"), si(feet_per_minute, "ft/min"))
    assert in_unit(power, "W", "horsepower") == pytest.approx(pounds * feet_per_minute / 33000.0, rel=1e-9)
    assert in_unit(power, "W", "horsepower") == pytest.approx(horsepower, abs=1e-4)
    assert power == pytest.approx(watt, rel=1e-5)


@pytest.mark.parametrize(
    ("metal", "mu", "energy", "rate", "depth", "coefficient", "kilowatt"),
    # 50 N, 25 m/s, 50 mm wide, fed at 30 mm/s: worked table (calculated), energies from memory.
    [
        ("carbon steel", 0.45, 20, 28.125, 18.75, 2.25e-11, 0.5625),
        ("304", 0.40, 30, 16.6667, 11.1111, 1.3333e-11, 0.5),
        ("brass", 0.40, 8, 62.5, 41.667, 5.0e-11, 0.5),
        ("aluminium", 0.45, 7, 80.357, 53.571, 6.4286e-11, 0.5625),
        ("Ti-6Al-4V", 0.35, 45, 9.7222, 6.4815, 7.778e-12, 0.4375),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_removal_table(
    metal: str, mu: float, energy: float, rate: float, depth: float, coefficient: float, kilowatt: float
) -> None:
    power = cutting_power(mu, 50.0, 25.0)
    assert power / 1000.0 == pytest.approx(kilowatt)
    assert removal_rate(power, energy * 1e9) * 1e9 == pytest.approx(rate, rel=1e-4)
    assert preston_coefficient(mu, energy * 1e9) == pytest.approx(coefficient, rel=1e-4)
    cut = depth_per_pass(mu, energy * 1e9, 50.0 / 0.050, 25.0, 0.030, 66.5e3, 0.0)
    assert cut * 1e6 == pytest.approx(depth, rel=1e-4)


def test_stainless_lies_in_the_range_of_two_body_abrasion() -> None:
    # Archard's coefficient K H for H = 2 GPa inside 0.005 to 0.05 (tribology texts, from memory).
    assert 0.005 < preston_coefficient(0.40, 30e9) * 2e9 < 0.05
