"""Surface speed of a turning wheel and the rotational speed that gives it."""

from __future__ import annotations

import math

from advisor.process.real import Real


def surface_speed(diameter: Real, rpm: Real) -> Real:
    """The speed of a wheel's rim, which is the speed of the belt on it, in m/s.

    v = pi D n / 60 with the diameter D in m and n in revolutions per minute. Exact for a belt that
    does not slip; a soft wheel grows at speed, so measure the rim where it matters. Source: geometry.

    A 5 in wheel at 1200 rpm runs at 1570.8 ft/min:

    >>> round(surface_speed(5 * 0.0254, 1200) / 0.3048 * 60, 1)
    1570.8
    """
    return math.pi * diameter * rpm / 60.0


def rotational_speed(surface_speed: Real, diameter: Real) -> Real:
    """The revolutions per minute at which a wheel of `diameter` (m, above zero) has a surface speed (m/s).

    n = 60 v / (pi D). A worn wheel needs more turns for the same speed, and never more than are
    marked on it. Source: geometry.

    8 in at 6000 ft/min:

    >>> round(rotational_speed(6000 * 0.3048 / 60, 8 * 0.0254), 3)
    2864.789
    """
    return 60.0 * surface_speed / (math.pi * diameter)


def diameter_for(surface_speed: Real, rpm: Real) -> Real:
    """The diameter (m) that has a surface speed (m/s) at a rotational speed (rpm, above zero).

    D = 60 v / (pi n). With the highest speed of a spindle this is the smallest wheel that still
    reaches the surface speed: the point at which a shrinking wheel must come off. Source: geometry.

    25 m/s on a spindle that ends at 3000 rpm:

    >>> round(diameter_for(25.0, 3000.0), 6)
    0.159155
    """
    return 60.0 * surface_speed / (math.pi * rpm)
