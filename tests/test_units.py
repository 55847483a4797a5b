"""Quantities: every unit against an independent library, exactness, and what is refused."""

from __future__ import annotations

import math
import re
from fractions import Fraction

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.errors import InputError
from advisor.units import (
    DIMENSIONS,
    UNITS,
    US_UNIT,
    convert,
    figure,
    find_unit,
    parse_exact,
    parse_quantity,
    plain_number,
    quantity_text,
    round_sig,
    show,
    show_both,
    show_window,
)

PINT: pint.UnitRegistry[float] = pint.UnitRegistry()
OTHER_SPELLING = {
    "um": "micrometer", "nm": "nanometer", '"': "inch", "in": "inch", "mil": "thou", "uin": "microinch",
    "cm2": "cm**2", "mm2": "mm**2", "m2": "m**2", "in2": "inch**2", "ft2": "foot**2", "t": "metric_ton",
    "lbs": "pound", "lb": "pound", "oz": "ounce", "lbf": "pound_force", "ozf": "ounce_force",
    "kgf": "kilogram_force", "lbf/in": "pound_force/inch", "hp": "horsepower", "sfpm": "foot/minute",
    "sfm": "foot/minute", "fpm": "foot/minute", "ft/min": "foot/minute", "ft/s": "foot/second",
    "in/s": "inch/second", "in/min": "inch/minute", "ipm": "inch/minute", "m/min": "meter/minute",
    "mm/min": "millimeter/minute", "rpm": "1/minute", "1/min": "1/minute", "r/min": "1/minute",
    "rev/min": "1/minute", "1/s": "1/second", "sec": "second", "h": "hour", "min": "minute", "C": "degC",
    "F": "degF", "K": "kelvin", "deg": "degree", "m/s": "meter/second", "cm/s": "centimeter/second",
}  # fmt: skip
FIRST = {
    "length": "mm", "area": "cm2", "mass": "kg", "force": "N", "line force": "N/mm", "power": "kW",
    "speed": "m/s", "rotation": "rpm", "time": "s", "angle": "deg", "temperature": "C", "pressure": "kPa",
}  # fmt: skip
KIND_TO_DIMENSION = {row.kind: name for name, row in DIMENSIONS.items() if name not in ("roughness", "feed", "removal")}


@pytest.mark.parametrize("name", sorted(UNITS))
@pytest.mark.parametrize("value", ["1", "0.25", "37.5"])
def test_every_unit_agrees_with_pint(name: str, value: str) -> None:
    base = FIRST[UNITS[name].kind]
    there = PINT.Quantity(float(value), OTHER_SPELLING.get(name, name)).to(OTHER_SPELLING.get(base, base))
    here = parse_quantity(f"{value} {name}", KIND_TO_DIMENSION[UNITS[name].kind])
    assert here == pytest.approx(there.magnitude, rel=1e-12, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("18 mm", "length", 18.0),
        ("18mm", "length", 18.0),
        ("  18   mm ", "length", 18.0),
        ("0.010 in", "length", 0.254),
        ("1/8 in", "length", 3.175),
        ("1 1/2 in", "length", 38.1),
        ("1-1/2 in", "length", 38.1),
        ('2"', "length", 50.8),
        ("10 thou", "length", 0.254),
        ("250 µm", "length", 0.25),
        ("250 μm", "roughness", 250.0),
        ("0.3 um", "roughness", 0.3),
        ("32 µin", "roughness", 0.8128),
        ("40 cm²", "area", 40.0),
        ("2 in^2", "area", 12.9032),
        ("5 lb", "mass", 2.26796185),
        ("1 lbf", "force", 4.4482216152605),
        ("6000 ft/min", "speed", 30.48),
        ("6000 SFPM", "speed", 30.48),
        ("1.8 m/min", "feed", 30.0),
        ("2 h", "time", 7200.0),
        ("90 s", "time", 90.0),
        ("3600 rpm", "rotation", 3600.0),
        ("60 1/s", "rotation", 3600.0),
        ("212 °F", "temperature", 100.0),
        ("300 K", "temperature", 26.85),
        ("1e-3 mm", "length", 0.001),
        ("-5 C", "temperature", -5.0),
        ("\u22125 C", "temperature", -5.0),
    ],
)
def test_values_by_definition(text: str, dimension: str, value: float) -> None:
    assert parse_quantity(text, dimension) == value


@pytest.mark.parametrize(
    ("text", "dimension", "says"),
    [
        ("18", "length", "needs a unit: mm, um"),
        ("3 kg", "length", "3 kg is a mass; a length is needed: mm, um"),
        ("3 mm", "mass", "3 mm is a length; a mass is needed: kg"),
        ("3 mm/s", "length", "is a speed; a length is needed"),
        ("3 psi", "force", "is a pressure; a force is needed"),
        ("1,5 mm", "length", "a comma in a number"),
        ("6,000 ft/min", "speed", "a comma in a number"),
        ("", "length", "empty"),
        ("   ", "length", "empty"),
        ("nan mm", "length", "finite"),
        ("inf mm", "length", "finite"),
        (".inf", "length", "finite"),
        ("mm 18", "length", "not a length"),
        ("eighteen mm", "length", "not a length"),
        ("1/0 in", "length", "0 below the line"),
        ("1e999 mm", "length", "far too large"),
        ("1e99999 mm", "length", "unknown unit"),
        ("1" * 100 + " mm", "length", "too long"),
        ("18 mm mm", "length", "unknown unit"),
        ("18 furlongs", "length", "unknown unit 'furlongs'"),
        ("18 \u0661 mm", "length", "unknown unit"),
    ],
)
def test_refused_with_the_units_or_the_reason(text: str, dimension: str, says: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_quantity(text, dimension, "job.yaml:3:5")
    (problem,) = caught.value.problems
    assert says in problem.what
    assert problem.place == "job.yaml:3:5"


@pytest.mark.parametrize(
    ("text", "dimension", "near"),
    [
        ("18 mn", "length", "mm"),
        ("18 mmm", "length", "mm"),
        ("3000 rmp", "rotation", "rpm"),
        ("5 lbfs", "force", "lbf"),
        ("2 kw/", "power", "kW"),
    ],
)
def test_misspelt_unit_names_the_nearest(text: str, dimension: str, near: str) -> None:
    with pytest.raises(InputError) as caught:
        parse_quantity(text, dimension)
    assert caught.value.problems[0].nearest == near


def test_every_offered_unit_is_of_its_dimension() -> None:
    for row in DIMENSIONS.values():
        assert {UNITS[name].kind for name in (row.base, *row.offered)} == {row.kind}
    for unit, other in US_UNIT.items():
        assert UNITS[unit].kind == UNITS[other].kind


@settings(deadline=None)
@given(st.floats(-1e12, 1e12), st.sampled_from(sorted(DIMENSIONS)))
def test_quantity_text_reads_back_the_same_float(value: float, dimension: str) -> None:
    base = DIMENSIONS[dimension].base
    assert parse_quantity(quantity_text(value, base), dimension) == value


@settings(deadline=None)
@given(st.decimals(0, 10_000, places=4), st.sampled_from(sorted(n for n, u in UNITS.items() if not u.offset)))
def test_conversion_is_exact(value: object, name: str) -> None:
    unit = UNITS[name]
    assert parse_exact(f"{value} {name}", KIND_TO_DIMENSION[unit.kind]) == Fraction(str(value)) * unit.factor


@settings(deadline=None)
@given(st.floats(-1e9, 1e9), st.sampled_from(sorted(UNITS)), st.sampled_from(sorted(UNITS)))
def test_convert_there_and_back(value: float, first: str, second: str) -> None:
    if UNITS[first].kind != UNITS[second].kind:
        with pytest.raises(ValueError, match="different things"):
            convert(value, first, second)
    else:
        again = convert(convert(value, first, second), second, first)
        assert again == pytest.approx(value, rel=1e-9, abs=1e-9)


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=40), st.sampled_from(sorted(DIMENSIONS)))
def test_any_text_gives_a_finite_number_or_a_problem(text: str, dimension: str) -> None:
    try:
        assert math.isfinite(parse_quantity(text, dimension))
    except InputError as error:
        assert error.problems[0].what


@pytest.mark.parametrize(
    ("value", "rounded"),
    [
        (0.0, 0.0),
        (123456.5, 123456.0),
        (123457.5, 123458.0),
        (1.2345675e-6, 1.23457e-6),
        (-1234567.0, -1.23457e6),
    ],
)
def test_round_sig_is_half_even(value: float, rounded: float) -> None:
    assert round_sig(value) == rounded


def test_round_sig_has_no_minus_zero_and_refuses_what_is_not_finite() -> None:
    assert math.copysign(1, round_sig(-0.0)) == 1
    with pytest.raises(ValueError, match="finite"):
        round_sig(math.nan)


@settings(deadline=None)
@given(st.floats(allow_nan=False, allow_infinity=False, min_value=-1e15, max_value=1e15), st.integers(1, 9))
def test_round_sig_is_close_and_stable(value: float, digits: int) -> None:
    once = round_sig(value, digits)
    assert round_sig(once, digits) == once
    assert once == pytest.approx(value, rel=0.5000001 * 10.0 ** (1 - digits), abs=1e-300)


@settings(deadline=None)
@given(st.floats(-1e9, 1e9))
def test_text_of_a_number_has_no_junk(value: float) -> None:
    for text in (figure(value), plain_number(value)):
        assert re.fullmatch(r"-?(0|[1-9]\d*)(\.\d*[1-9])?", text), text
        assert text != "-0"
    assert float(plain_number(value)) == value


@pytest.mark.parametrize(
    ("value", "unit", "si", "us"),
    [
        (18, "mm", "18 mm (0.71 in)", "0.709 in (18 mm)"),
        (250, "mm", "250 mm (9.84 in)", "9.84 in (250 mm)"),
        (0.8128, "um", "0.813 um (32 uin)", "32 uin (0.813 um)"),
        (30.48, "m/s", "30.5 m/s (6000 ft/min)", "6000 ft/min (30.5 m/s)"),
        (100, "C", "100 C (212 F)", "212 F (100 C)"),
        (1725, "rpm", "1725 rpm", "1725 rpm"),
        (3, "1", "3", "3"),
    ],
)
def test_both_systems(value: float, unit: str, si: str, us: str) -> None:
    assert show_both(value, unit) == si
    assert show_both(value, unit, "us") == us


def test_windows_give_the_unit_once() -> None:
    assert show_window(30, 60, "N") == "30 to 60 N"
    assert show_window(2, 3, "1") == "2 to 3"
    assert show(45, "N", "us") == "10.1 lbf"
    assert find_unit("nothing") is None
