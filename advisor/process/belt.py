"""What a tight belt and a fast wheel change in the contact of a wheel that stands still without a belt."""

from __future__ import annotations

from dataclasses import dataclass

from advisor.process.real import Real, mostly, positive_part, power

TIGHTEST = 0.6
"""Tension over modulus times half-width up to which the correction was fitted."""

ALL_BELT = 1.5
"""The same ratio beyond which the belt carries nearly all of the load."""

TOO_TIGHT = "The belt is tighter than its correction holds for so soft or so lightly pressed a wheel."
SLIPS = "At this speed the belt's own weight takes up all its tension, so it lifts off the wheel."
HARDEST_THROWN = 0.2
"""Pull at the bond over the modulus up to which a cover's stiffening at speed is a small correction."""

THROWN = "So soft a cover is thrown outward so hard at this speed that its own hardness says little."


@dataclass(frozen=True, slots=True)
class Tightening:
    """What belt tension makes of a contact: factors on half-width, peak and mean pressure, doubts."""

    half_width_factor: Real
    peak_factor: Real
    mean_factor: Real
    flags: tuple[str, ...]


def running_tension(tension: Real, belt_mass: Real, surface_speed: Real) -> Real:
    """The tension per width (N/m) that a running belt has left to press with: T' - m v^2, at least zero.

    `tension` T' at rest (N/m), `belt_mass` m of a square metre (kg/m2), speed in m/s. Zero means that
    the belt floats (see `tension_flags`). Source: mechanics of a moving string.

    >>> running_tension(2000.0, 1.0, 30.0)
    1100.0
    """
    return positive_part(tension - belt_mass * surface_speed * surface_speed)


def tension_flags(tension: Real, belt_mass: Real, surface_speed: Real) -> tuple[str, ...]:
    """The doubt about a belt whose running tension is used up.

    >>> tension_flags(800.0, 1.0, 30.0) == (SLIPS,), tension_flags(2000.0, 1.0, 30.0)
    (True, ())
    """
    return (SLIPS,) if mostly(running_tension(tension, belt_mass, surface_speed) <= 0) else ()


def belt_tension_pressure(tension: Real, wheel_radius: Real) -> Real:
    """The pressure (Pa) with which a belt under `tension` (N/m of width) lies on its wheel: T' / R.

    It presses the wheel, not the part; `belt_tightening` says what the part feels. Source: statics.

    2 kN/m on a wheel of 100 mm radius:

    >>> belt_tension_pressure(2000.0, 0.1)
    20000.0
    """
    return tension / wheel_radius


def centrifugal_pressure(
    density: Real, cover_thickness: Real, surface_speed: Real, wheel_radius: Real
) -> Real:
    """The pressure (Pa) with which a turning cover pulls outward at its bond: rho h v^2 / R.

    `density` in kg/m3, the cover thin beside the radius (m), speed of the rim in m/s. The cover grows
    and acts harder than a durometer at rest says: `spin_stiffening`. Source: mechanics.

    >>> round(centrifugal_pressure(1100.0, 0.020, 30.0, 0.1))
    198000
    """
    return density * cover_thickness * surface_speed * surface_speed / wheel_radius


def spin_stiffening(centrifugal_pressure: Real, plane_modulus: Real, share: Real) -> Real:
    """By what a cover that is thrown outward resists more than at rest: 1 + share p_c / E*.

    The pull p_c of `centrifugal_pressure` at the bond falls to nothing at the rim, half of it in the mean;
    a stretched body resists being pushed back in by about its tension more than by its modulus E* (both Pa). So
    `share` is 0.5 where all of the mean counts; a cover that can neither spread nor shrink on its hub shows less,
    and shops say that wheels act harder at speed: a band of 0.1 to 1. Only for small corrections, see
    `spin_flags`. Source: our own estimate after what shops say.

    >>> round(spin_stiffening(198e3, 2.253e6, 0.5), 3)
    1.044
    """
    return 1.0 + share * centrifugal_pressure / plane_modulus


def spin_flags(centrifugal_pressure: Real, plane_modulus: Real) -> tuple[str, ...]:
    """The doubt about a wheel thrown outward by more than a fifth of its modulus (both Pa).

    >>> spin_flags(600e3, 2.253e6) == (THROWN,), spin_flags(198e3, 2.253e6)
    (True, ())
    """
    return (THROWN,) if mostly(centrifugal_pressure > HARDEST_THROWN * plane_modulus) else ()


def belt_tightening(tension: Real, plane_modulus: Real, half_width: Real) -> Tightening:
    """What the tension of the belt makes of a contact computed for the bare wheel.

    Pressed flat, a tight belt carries part of the load over the edges of the contact, so the part
    meets a narrower and harder patch. With the `tension` T' (N/m, running), the `plane_modulus` E*
    (Pa) and the bare contact's `half_width` b (m), and t = T' / (E* b),

        half-width factor = (1 + 0.477 t^0.794)^-3.13       error below 1.5 % of b
        peak factor = (1 + 1.033 t^1.028)^1.357             error below 0.2 %
        mean factor = 1 / half-width factor

    fitted for t of 0.005 to 0.6 to a thin belt without bending stiffness on a thick cover; with no
    tension all are 1. Flagged above 0.6; above 1.5 the belt carries nearly all, whose pressure of tension
    over radius no longer rises with the load, and the half-width goes on as 1 / t. Works on flat, convex
    and hollow parts alike, because only the change of curvature counts. Source: our own numerical solution
    of belt and elastic half-plane.

    2 kN/m on a wheel of 40 Shore A whose bare contact is 7.5 mm either way:

    >>> tight = belt_tightening(2000.0, 2.253e6, 7.518e-3)
    >>> round(tight.half_width_factor, 2), round(tight.peak_factor, 2), tight.flags
    (0.77, 1.16, ())
    """
    t = tension / (plane_modulus * half_width)
    beyond = positive_part(t - ALL_BELT)
    within = t - beyond
    narrowing = power(1.0 + 0.477 * power(within, 0.794), -3.13) / (1.0 + beyond / ALL_BELT)
    return Tightening(
        half_width_factor=narrowing,
        peak_factor=power(1.0 + 1.033 * power(t, 1.028), 1.357),
        mean_factor=1.0 / narrowing,
        flags=(TOO_TIGHT,) if mostly(t > TIGHTEST) else (),
    )
