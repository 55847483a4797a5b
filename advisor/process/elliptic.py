"""The contact of a wheel with a part curved both ways, or of a crowned wheel: a spot instead of a band."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from advisor.process.contact import TOO_WIDE, WIDEST
from advisor.process.real import Real, is_plain, mostly, power

THINNEST = 1.6
"""Mean half-axis of the spot (as on a thick cover) over the cover's thickness up to which its fit was made."""

SLIMMEST = 0.2
"""Ratio of the spot's half-axes down to which that fit was made."""

TOO_THIN_UNDER_SPOT = (
    "The cover is thinner, or the spot slimmer, than the fit for a spot on a thin cover holds."
)


@dataclass(frozen=True, slots=True)
class Spot:
    """A round or oval contact under a wheel: half-lengths with the travel and across it (m), pressures (Pa), doubts."""

    half_width: Real
    half_across: Real
    peak_pressure: Real
    mean_pressure: Real
    flags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class EllipticContact:
    """A round or elliptic contact: half-axes (m), pressures (Pa), approach (m), doubts."""

    long_half_axis: Real
    short_half_axis: Real
    peak_pressure: Real
    mean_pressure: Real
    approach: Real
    flags: tuple[str, ...]


def elliptic_integrals(axis_ratio: Real) -> tuple[Real, Real]:
    """The complete elliptic integral K and the share S = (K - E) / (e^2 K), for e^2 = 1 - axis_ratio^2.

    By the arithmetic-geometric mean of 1 and the axis ratio q (0 < q <= 1); E is then K (1 - e^2 S).
    Written so that the circle (e = 0, S = 1/2) loses no digits. Eight rounds give full double
    precision for q above 1e-8. Source: Abramowitz and Stegun, section 17.6, from memory.

    >>> k, s = elliptic_integrals(1.0)
    >>> k == math.pi / 2, s
    (True, 0.5)
    """
    squared = 1.0 - axis_ratio * axis_ratio
    mean, root = 0.5 * (1.0 + axis_ratio), axis_ratio**0.5
    # c1 = (1 - q) / 2 = e^2 / (4 mean); dividing by e at once keeps the digits near the circle.
    gap = squared / (4.0 * mean)
    gap_over_squared = 1.0 / (4.0 * mean)
    share = 0.5 + gap * gap_over_squared
    weight = 1.0
    for _ in range(8):
        mean, root = 0.5 * (mean + root), (mean * root) ** 0.5
        gap_over_squared = gap * gap_over_squared / (4.0 * mean)
        gap = gap * gap / (4.0 * mean)
        weight *= 2.0
        share = share + weight * gap * gap_over_squared
    return math.pi / (2.0 * mean), share


def elliptic_contact(force: Real, radius_a: Real, radius_b: Real, plane_modulus: Real) -> EllipticContact:
    """The contact of a crowned wheel, or of any wheel on a part curved both ways.

    `force` F in N; `radius_a` and `radius_b` the relative radii in the two principal planes (m, above
    zero, in any order); `plane_modulus` E* in Pa. With A <= B the halves of their reciprocals and
    the eccentricity e from (E / (1 - e^2) - K) / (K - E) = B / A,

        a^3 = 3 F (K - E) / (2 pi E* e^2 A),  b = a sqrt(1 - e^2),  p0 = 3 F / (2 pi a b),
        approach = p0 b K / E*.

    Flagged where a half-axis is above 0.3 of the radius in its plane. For a thick cover only. Source:
    Johnson, Contact Mechanics, equations 4.24 to 4.34, from memory.

    30 N on a 100 mm radius with a 200 mm crown, 40 Shore A:

    >>> from advisor.process.contact import plane_modulus, young_modulus
    >>> contact = elliptic_contact(30.0, 0.100, 0.200, plane_modulus(young_modulus(40.0)))
    >>> round(contact.long_half_axis * 1000, 3), round(contact.short_half_axis * 1000, 3)
    (14.036, 8.851)
    >>> round(contact.peak_pressure / 1000, 1), round(contact.approach * 1000, 3)
    (115.3, 0.884)
    """
    first_is_larger = radius_a >= radius_b
    larger = radius_a * first_is_larger + radius_b * (1 - first_is_larger)
    smaller = radius_b * first_is_larger + radius_a * (1 - first_is_larger)
    ratio, complete, share = spot_shape(larger / smaller)
    long_axis = (3.0 * force * complete * share * larger / (math.pi * plane_modulus)) ** (1.0 / 3.0)
    short_axis = long_axis * ratio
    peak = 3.0 * force / (2.0 * math.pi * long_axis * short_axis)
    too_wide = mostly(short_axis > WIDEST * smaller) or mostly(long_axis > WIDEST * larger)
    return EllipticContact(
        long_half_axis=long_axis,
        short_half_axis=short_axis,
        peak_pressure=peak,
        mean_pressure=peak * 2.0 / 3.0,
        approach=peak * short_axis * complete / plane_modulus,
        flags=(TOO_WIDE,) if too_wide else (),
    )


def spot_shape(wanted: Real) -> tuple[Real, Real, Real]:
    """The ratio of the half-axes (0 to 1) for a ratio of the radii (1 or above), with K and S of that ratio.

    Solves (1 - S) / S = ratio of radii * q^2 by halving. Source: Johnson, Contact Mechanics, from memory.

    >>> ratio, complete, share = spot_shape(2.0)
    >>> round(ratio, 4)
    0.6306
    """
    found: tuple[Real, Real, Real] = _shape_of_one(wanted) if is_plain(wanted) else _solved(wanted)
    return found


def _solved(wanted: Real) -> tuple[Real, Real, Real]:
    low, high = 0.0 * wanted, 0.0 * wanted + 1.0
    for _ in range(60):
        ratio = 0.5 * (low + high)
        _, share = elliptic_integrals(ratio)
        too_slim = (1.0 - share) > wanted * ratio * ratio * share
        low, high = low + (ratio - low) * too_slim, high + (ratio - high) * (1 - too_slim)
    complete, share = elliptic_integrals(high)
    return high, complete, share


_shape_of_one = lru_cache(maxsize=256)(_solved)  # a job meets few pairs of radii, each many hundred times


def touching_width(line_load: Real, along: Real, across: Real, plane_modulus: Real) -> Real:
    """How much of a wheel's width (m) touches a part curved both ways under a force per touching width (N/m).

    `along` and `across` are the relative radii (m) in the plane of the wheel and in that of its axle. With
    the half-axis c across the wheel and the axes' ratio q, F = 2 c P' in the law of `elliptic_contact`
    gives a^2 = 2 k P' (times q where c is the short one), k = 3 K S R / (pi E*). For a thick cover.
    Source: rearranged from Johnson, Contact Mechanics.

    The width of a 30 N contact comes back from its own force per width:

    >>> spot = spot_contact(30.0, 0.100, 0.200, 2.2529e6)
    >>> round(touching_width(30.0 / (2 * spot.half_across), 0.100, 0.200, 2.2529e6) / spot.half_across, 6)
    2.0
    """
    wide = across >= along
    larger = across * wide + along * (1 - wide)
    smaller = along * wide + across * (1 - wide)
    ratio, complete, share = spot_shape(larger / smaller)
    lies = 1.0 * wide + ratio * (1 - wide)
    squared = 6.0 * complete * share * larger / (math.pi * plane_modulus) * line_load * lies
    half_axis = power(squared, 0.5)
    return 2.0 * half_axis * lies


def spot_contact(
    force: Real, along: Real, across: Real, plane_modulus: Real, cover_thickness: Real | None = None
) -> Spot:
    """The contact of a wheel with a part curved both ways: `elliptic_contact` laid along the travel.

    `along` and `across` are the relative radii (m) in the plane of the wheel and in that of its axle, other
    arguments as there. A cover of `cover_thickness` h (m) on a rigid hub makes the spot smaller and
    harder: with t = sqrt(a b) / h of the thick cover

        peak = p0 (1 + 1.383 t^2.582)^0.261,  mean = pm (1 + 2.382 t^2.935)^0.145

    and both half-axes over the square root of the mean's factor; within 4.5 % for t up to 1.6 and axes of
    1 to 0.2, flagged outside. Source: Johnson, from memory; the fit to our own numerical solution of
    the bonded incompressible layer.

    >>> spot = spot_contact(30.0, 0.100, 0.200, 2.2529e6, 0.020)
    >>> round(spot.half_width * 1e3, 2), round(spot.half_across * 1e3, 2), round(spot.mean_pressure / 1e3, 1)
    (8.63, 13.68, 80.9)
    """
    bare = elliptic_contact(force, along, across, plane_modulus)
    peak, mean, shrunk, flags = bare.peak_pressure, bare.mean_pressure, 1.0, bare.flags
    if cover_thickness is not None:
        thinness = (bare.long_half_axis * bare.short_half_axis) ** 0.5 / cover_thickness
        harder = power(1.0 + 2.382 * power(thinness, 2.935), 0.145)
        peak = peak * power(1.0 + 1.383 * power(thinness, 2.582), 0.261)
        mean, shrunk = mean * harder, power(harder, -0.5)
        if mostly(thinness > THINNEST) or mostly(bare.short_half_axis < SLIMMEST * bare.long_half_axis):
            flags = (*flags, TOO_THIN_UNDER_SPOT)
    wide = across >= along
    first = bare.short_half_axis * wide + bare.long_half_axis * (1 - wide)
    second = bare.long_half_axis * wide + bare.short_half_axis * (1 - wide)
    return Spot(first * shrunk, second * shrunk, peak, mean, flags)
