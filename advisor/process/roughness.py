"""What roughness a grade leaves, and how much metal must go before the previous scratch is gone."""

from __future__ import annotations

import math

from advisor.process.real import Real, positive_part, power

REFERENCE_PRESSURE = 110e3
"""Mean pressure (Pa) on the grain at which the roughness coefficient of a grade is given.

The coefficient was set at 80 kPa reckoned for a bare wheel at rest; with the tension of its belt and the speed of
its cover, as the shops behind the charts ran it, the same wheel presses with some 110 kPa."""

_MICRO = 1e-6


def floor_ra(
    c: Real,
    grain_size: Real,
    n: Real,
    alloy_factor: Real,
    pressure: Real,
    pressure_exponent: Real,
) -> Real:
    """The roughness Ra (m) that a fresh grade leaves however long it works.

    Ra = c d^n f (p / 110 kPa)^a. The coefficient `c` (0.0038 to 0.0085, expected 0.0057, for n = 1.1)
    is tabulated for a grain size d in micrometres and gives Ra in micrometres; the function takes
    `grain_size` in metres and returns metres, and converts inside. `alloy_factor` f is 1 for
    austenitic stainless steel, `pressure` p in Pa, `pressure_exponent` a 0.15 to 0.45.
    Published floors spread by a factor of eight with metal, force and wear of the media, so a point
    value means little before a trial. Source: common practice and sanitary tube charts for c and n,
    from memory for a.

    P180 (82 um) at 110 kPa on austenitic stainless steel:

    >>> round(floor_ra(0.0057, 82e-6, 1.1, 1.0, 110e3, 0.3) * 1e6, 3)
    0.726
    """
    at_reference = c * power(grain_size / _MICRO, n) * _MICRO
    return at_reference * alloy_factor * power(pressure / REFERENCE_PRESSURE, pressure_exponent)


def peak_to_valley(ra: Real, ratio: Real) -> Real:
    """The total height Rt (m) of a surface from its Ra (m): Rt = ratio Ra.

    No fixed relation exists: a sine has pi, ground surfaces 6 to 13, expected 10 for the deepest
    scratch that must go. Source: common practice; for shop factors see `tests/standards`.

    >>> round(peak_to_valley(0.8e-6, 7.2) * 1e6, 2)
    5.76
    """
    return ratio * ra


def disturbed_layer(rt: Real, factor: Real) -> Real:
    """The depth (m) of smeared and cold-worked metal below scratches of height `rt` (m): D = factor Rt.

    The factor is 0.3 to 0.5; the layer matters only before mirror or bright plating. Source: our own
    estimate after metallographic practice, from memory.

    >>> round(disturbed_layer(8e-6, 0.5) * 1e6, 6)
    4.0
    """
    return factor * rt


def stock_to_erase(previous_rt: Real, own_rt: Real, multiple: Real, disturbed: Real, own_share: Real) -> Real:
    """The depth (m) a step must take off so that the previous step's scratches are gone.

    s = max(m (Rt_prev - Rt_own) + D, own Rt_own), heights in m, D the disturbed layer in m (zero
    unless mirror or plating follows). `multiple` m is 0.6 to 1.5 and stands for the rare deepest
    scratch; the second term is what the step needs to lay its own texture. Source: our own estimate
    after shop practice.

    P120 (Rt 12 um) over P80 (Rt 20 um):

    >>> round(stock_to_erase(20e-6, 12e-6, 0.8, 0.0, 0.5) * 1e6, 6)
    6.4
    """
    texture = own_share * own_rt
    return texture + positive_part(multiple * (previous_rt - own_rt) + disturbed - texture)


def left_after_clearing(rt: Real, multiple: Real, share: Real = 0.5) -> Real:
    """The height (m) a clearing step may hand over: `share` m Rt, which the next step erases anyway.

    Source: our own estimate.

    >>> round(left_after_clearing(20e-6, 0.8) * 1e6, 6)
    8.0
    """
    return share * multiple * rt


def decay_depth(rt_before: Real, kappa: Real) -> Real:
    """The depth (m) over which roughness falls by a factor e: h0 = kappa Rt, kappa about 0.3 to 0.5.

    Source: low confidence, from memory.

    >>> round(decay_depth(20e-6, 0.3) * 1e6, 6)
    6.0
    """
    return kappa * rt_before


def ra_after(depth: Real, ra_before: Real, ra_floor: Real, decay_depth: Real) -> Real:
    """The roughness Ra (m) after `depth` (m) has come off: Ra_f + (Ra_0 - Ra_f) exp(-h / h0).

    Works in both directions: a coarse grade roughens a smooth surface up to its floor. Serves where
    a blend meets its surroundings; counting it beside `stock_to_erase` counts the erasing twice.
    Ra meets its target before the last deep scratch has gone. Exponential laws of this kind were fitted to
    6 % in vibratory finishing and 15 % in robotic polishing (excerpts). Range: depth zero or above.

    >>> round(ra_after(12e-6, 2.0e-6, 0.6e-6, 6e-6) * 1e6, 4)
    0.7895
    """
    return ra_floor + (ra_before - ra_floor) * power(math.e, -depth / decay_depth)
