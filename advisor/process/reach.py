"""Whether a round wheel gets into a hollow radius, which is geometry and comes before any pressure."""

from __future__ import annotations

import math

from advisor.process.real import Real, positive_part

FREE_SHARE = 0.9
"""A wheel fuller than this share of the hollow lies in it like a bearing and loses its line of contact
(our own choice)."""


def largest_wheel_radius(concave_radius: Real, margin: Real = FREE_SHARE) -> Real:
    """The radius (m) of the largest wheel that works in a hollow of `concave_radius` (m).

    R = margin r. The wheel's axis lies along the hollow; with the axis across it, the same holds for
    the radius dressed on the wheel's face. `margin` is below 1 so that the wheel touches at the root
    and not all round. Source: geometry; the margin is our own choice.

    >>> round(largest_wheel_radius(0.040), 4)
    0.036
    """
    return margin * concave_radius


def reaches(wheel_radius: float, concave_radius: float, margin: float = FREE_SHARE) -> bool:
    """Whether a wheel of `wheel_radius` (m) works at the root of a hollow of `concave_radius` (m).

    True up to and at `largest_wheel_radius`. A wheel that wears reaches more than it did new.
    Source: geometry.

    >>> reaches(0.036, 0.040), reaches(0.050, 0.040)
    (True, False)
    """
    return wheel_radius <= largest_wheel_radius(concave_radius, margin) * (1 + 1e-12)


def root_gap(wheel_radius: Real, concave_radius: Real, included_angle: float = math.pi / 2) -> Real:
    """The gap (m) between a wheel too large for a corner's radius and the root of that corner.

    g = (R - r)(1 / sin(phi / 2) - 1) with the wheel radius R, the corner's radius r (m) and the
    included angle phi between its flanks (radians, above 0, at most pi); zero where the wheel
    reaches the root. A rubber cover bridges a gap of about a tenth of its thickness (our own
    choice of limit). Rigid wheel, flanks tangent to both. Source: geometry.

    A 50 mm wheel in a 40 mm corner of 90 degrees stands off 4.142 mm:

    >>> round(root_gap(0.050, 0.040, math.pi / 2) * 1000, 3)
    4.142
    """
    return positive_part(wheel_radius - concave_radius) * (1.0 / math.sin(included_angle / 2.0) - 1.0)
