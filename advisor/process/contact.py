"""Elastic contact of a rubber or urethane wheel with a metal part: how wide it is and how hard it presses.

The metal is rigid beside the cover. Nothing here holds for foam, flap, non-woven, brush or buff.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from advisor.process.real import Real, mostly, natural_log

WIDEST = 0.3
"""Half-width over relative radius up to which the contact law is used."""

THINNEST = 2.0
"""Half-width (as on a thick cover) over cover thickness up to which the fits for a thin cover were made."""

TOO_WIDE = "The contact is wider than the contact law holds (half-width above 0.3 of the relative radius)."
TOO_THIN = "The cover is thinner than its fit holds (half-width on a thick cover above twice the thickness)."
CONFORMING = "The wheel fills the hollow and touches all round, so the contact law does not hold."
SHORE_RANGE = "The hardness lies outside 20 to 80 Shore A, where the modulus is known."


@dataclass(frozen=True, slots=True)
class LineContact:
    """A straight contact: half-width (m), pressures (Pa), approach of wheel and part (m), doubts.

    `approach` is None where the cover's thickness is not known, because a half-space has none.
    """

    half_width: Real
    peak_pressure: Real
    mean_pressure: Real
    approach: Real | None
    flags: tuple[str, ...]


def young_modulus(shore_a: Real) -> Real:
    """Young's modulus (Pa) of a rubber from its Shore A hardness.

    E = 98100 (56 + 7.62336 S) / (0.137505 (254 - 2.54 S)). Valid for 20 <= S <= 80 (see
    `shore_flags`); it diverges at 100. Error: see `young_modulus_spread`. Foam is not meant, and a
    urethane's measured modulus is to be preferred. Source: Gent 1958, the formula from memory.

    >>> round(young_modulus(40.0) / 1e6, 4)
    1.6896
    """
    return 98100.0 * (56.0 + 7.62336 * shore_a) / (0.137505 * (254.0 - 2.54 * shore_a))


def shore_flags(shore_a: Real) -> tuple[str, ...]:
    """The doubt about a modulus from a Shore A hardness outside 20 to 80.

    >>> shore_flags(40.0), len(shore_flags(90.0))
    ((), 1)
    """
    return (SHORE_RANGE,) if mostly(shore_a < 20.0) or mostly(shore_a > 80.0) else ()


def young_modulus_spread(shore_a: float) -> tuple[float, float]:
    """The low and high modulus (Pa) that published relations leave open for a Shore A hardness.

    `young_modulus` over and times 1.3 from 20 to 70 Shore A and 2 from 75 up and below 20, with a
    straight change from 70 to 75. Inside the range the relation of BS 903 lies within this from 40
    Shore A up; softer it gives less, and Ruess's relation gives more from 50 to 70 (by up to 1.8):
    the spread is a judgement, not an envelope. Source: our own estimate from the disagreement of
    Gent, Ruess and BS 903.

    >>> low, high = young_modulus_spread(50.0)
    >>> round(low / 1e6, 3), round(high / 1e6, 3)
    (1.889, 3.193)
    """
    factor = 2.0 if shore_a < 20.0 else 1.3 + 0.7 * min(max(shore_a - 70.0, 0.0), 5.0) / 5.0
    middle = young_modulus(shore_a)
    return middle / factor, middle * factor


def plane_modulus(young: Real, poisson: Real = 0.5) -> Real:
    """The modulus (Pa) that counts where a cover cannot spread along the contact: E* = E / (1 - nu^2).

    `young` in Pa; Poisson's ratio 0.5 for solid rubber (really 0.48 to 0.499). Source: Johnson,
    Contact Mechanics, from memory.

    >>> round(plane_modulus(young_modulus(40.0)) / 1e6, 3)
    2.253
    """
    return young / (1.0 - poisson * poisson)


def relative_radius(wheel_radius: Real, feature_radius: Real | None, shape: str) -> Real:
    """The radius (m) of the wheel that presses on a flat as this wheel presses on the curved feature.

    1/Re = 1/Rw + 1/Rp on a `convex` feature or an `edge` of known radius, 1/Rw - 1/Rp in a `concave`
    one, Rw on a `flat` one or where no radius is given. Infinite where the wheel fills the hollow
    or is too large for it; `line_contact` flags that. Raises ValueError for another shape.
    Source: Johnson, Contact Mechanics, from memory.

    >>> round(relative_radius(0.100, 0.050, "convex") * 1000, 3)
    33.333
    >>> round(relative_radius(0.100, 0.250, "concave") * 1000, 3)
    166.667
    """
    if shape not in ("flat", "convex", "concave", "edge"):
        raise ValueError(f"shape must be flat, convex, concave or edge, given {shape!r}")
    if shape == "flat" or feature_radius is None:
        return wheel_radius
    if shape == "concave":
        if mostly(feature_radius <= wheel_radius):
            return math.inf
        return wheel_radius * feature_radius / (feature_radius - wheel_radius)
    return wheel_radius * feature_radius / (wheel_radius + feature_radius)


def line_contact(
    line_load: Real,
    relative_radius: Real,
    plane_modulus: Real,
    cover_thickness: Real | None = None,
) -> LineContact:
    """The contact of a wheel that presses with a force per width on a feature with straight contours.

    `line_load` P' in N/m (above zero), `relative_radius` Re in m, `plane_modulus` E* in Pa. For a thick cover

        b_H = sqrt(4 P' Re / (pi E*)),  p_H = sqrt(P' E* / (pi Re)).

    A cover of `cover_thickness` h (m) on a rigid hub makes it narrower and harder: with r = b_H / h

        b = b_H (1 + 2.619 r^2)^-0.1775               error below 0.5 %
        peak = p_H (1 + 2.147 r^2)^0.2294             error below 0.15 % of p_H
        approach = b_H^2 / Re * ln(1 + 0.8551 / r^1.1334) / 2   error below 0.008 b_H^2 / Re

    fitted at a Poisson's ratio of 0.5 for r of 0.1 to 2. The approach drifts high below r = 0.1 (5 %
    at 0.01). Mean pressure is P' / 2b. Flagged where b > 0.3 Re or r > 2. Source: Johnson, Contact
    Mechanics, chapter 4, from memory; the fits to our own solutions of the elastic layer.

    40 Shore A, 50 N over 50 mm, a 200 mm wheel on a flat:

    >>> contact = line_contact(1000.0, 0.100, plane_modulus(young_modulus(40.0)))
    >>> round(contact.half_width * 1000, 3), round(contact.peak_pressure), round(contact.mean_pressure)
    (7.518, 84682, 66509)
    """
    if mostly(relative_radius == math.inf):
        return LineContact(math.inf, 0.0, 0.0, None, (CONFORMING,))
    half_width = (4.0 * line_load * relative_radius / (math.pi * plane_modulus)) ** 0.5
    peak = (line_load * plane_modulus / (math.pi * relative_radius)) ** 0.5
    approach: Real | None = None
    flags: tuple[str, ...] = ()
    if cover_thickness is not None:
        thinness = half_width / cover_thickness
        squared = thinness * thinness
        sink = 0.5 * natural_log(1.0 + 0.8551 / thinness**1.1334)
        approach = half_width * half_width / relative_radius * sink
        peak = peak * (1.0 + 2.147 * squared) ** 0.2294
        half_width = half_width * (1.0 + 2.619 * squared) ** -0.1775
        if mostly(thinness > THINNEST):
            flags = (TOO_THIN,)
    if mostly(half_width > WIDEST * relative_radius):
        flags = (TOO_WIDE, *flags)
    return LineContact(half_width, peak, line_load / (2.0 * half_width), approach, flags)
