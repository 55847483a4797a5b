"""How deep a pass cuts, what it takes in power, and where a grain stops cutting and rubs."""

from __future__ import annotations

from advisor.process.real import Real, Truth, positive_part, power

REFERENCE_GRAIN = 201e-6
"""Median grain of P80 (m), the size at which the coefficients u80 and mu80 are given."""

REFERENCE_HARDNESS = 200.0
"""Vickers hardness at which the lowest cutting pressure is given."""

DEEPEST_CUT = 0.15
"""Share of the grain size beyond which a depth of cut is not believed (our own choice)."""


def specific_energy(u80: Real, grain_size: Real, exponent: Real) -> Real:
    """The energy (J/m3) that it takes to cut a volume of metal with a grain of `grain_size` (m).

    u = u80 (201 um / d)^e: fine grains spend more on rubbing and ploughing. `u80` (J/m3) belongs to
    the metal at grade P80; the exponent is 0.3 to 0.8, expected 0.5. Good for sharp coated media of
    roughly P24 to P600; dull media needs two to four times more. Source: the size effect of the
    grinding literature, from memory; the exponent fitted to "fine grades take two to four times".

    Austenitic stainless steel, 32 J/mm3 at P80, with P400 (35 um):

    >>> round(specific_energy(32e9, 35e-6, 0.5) / 1e9, 2)
    76.69
    """
    return u80 * power(REFERENCE_GRAIN / grain_size, exponent)


def force_ratio(mu80: Real, grain_size: Real) -> Real:
    """The tangential over the normal force (no unit) of a sharp grain of `grain_size` (m).

    mu = mu80 (d / 201 um)^0.15: a coarse grain bites, a fine one slides. `mu80` is about 0.35 to
    0.45 with a spread of 0.1; glazed media falls to 0.15 to 0.25. Source: from memory, the exponent
    fitted to 0.4 to 0.6 coarse and 0.25 to 0.4 fine.

    >>> round(force_ratio(0.40, 35e-6), 3)
    0.308
    """
    return mu80 * power(grain_size / REFERENCE_GRAIN, 0.15)


def minimum_pressure(base: Real, hardness_hv: Real, tough_factor: Real = 1.0) -> Real:
    """The mean contact pressure (Pa) below which grains rub and glaze instead of cutting.

    p_min = base (HV / 200)^0.7 f with the base (Pa) at 200 HV, 8 to 30 kPa, expected 15 kPa, and f
    the factor of the grain: 1, or about 3 for a tough grain that must break to stay sharp.
    Source: our own estimate, to be replaced by trials.

    >>> round(minimum_pressure(15e3, 200.0, 3.0))
    45000
    """
    return base * power(hardness_hv / REFERENCE_HARDNESS, 0.7) * tough_factor


def cutting_share(pressure: Real, minimum_pressure: Real) -> Real:
    """The part of the force that cuts (0 to 1): 1 - p_min / p, and zero at or below p_min.

    Pressures in Pa. The rest of the force only makes the grains rub. Source: a threshold force as
    the grinding literature has it, from memory; written on pressure as our own estimate.

    >>> cutting_share(60e3, 15e3), cutting_share(10e3, 15e3)
    (0.75, 0.0)
    """
    above = positive_part(pressure - minimum_pressure)
    return above / (pressure + (pressure <= 0))


def depth_per_pass(
    force_ratio: Real,
    specific_energy: Real,
    line_load: Real,
    surface_speed: Real,
    feed: Real,
    pressure: Real,
    minimum_pressure: Real,
) -> Real:
    """The depth of metal (m) that one pass takes off.

    h = mu P' v / (u v_w) * max(0, 1 - p_min / p): the power that cuts, over the energy a volume
    takes and the area covered in a second. `line_load` P' in N/m of width, `surface_speed` v and
    `feed` v_w in m/s, `specific_energy` u in J/m3, pressures in Pa. The depth doesn't depend on the
    width of the contact except through the pressure. There is no cap: ask `outgrows_grain`.
    Calibrated models of this kind miss by 15 to 20 %, uncalibrated ones by a factor of two.
    Source: Preston 1927 in the power form; the threshold is our own estimate.

    304 stainless steel, 50 N over 50 mm at 25 m/s, fed at 30 mm/s, 30 J/mm3, no threshold:

    >>> round(depth_per_pass(0.40, 30e9, 1000.0, 25.0, 0.030, 66.5e3, 0.0) * 1e6, 4)
    11.1111
    """
    share = cutting_share(pressure, minimum_pressure)
    return force_ratio * line_load * surface_speed / (specific_energy * feed) * share


def outgrows_grain(depth: Real, grain_size: Real) -> Truth:
    """Whether a depth per pass (m) is more than a grain of `grain_size` (m) can plausibly bury: h > 0.15 d.

    The depth stays as computed; the sheet prints the doubt. Source: our own choice of limit.

    >>> outgrows_grain(40e-6, 201e-6), outgrows_grain(20e-6, 201e-6)
    (True, False)
    """
    return depth > DEEPEST_CUT * grain_size


def cutting_power(force_ratio: Real, force: Real, surface_speed: Real) -> Real:
    """The power (W) drawn at the media: P = mu F v, normal force in N, surface speed in m/s.

    Drive losses come on top. Source: mechanics.

    >>> cutting_power(0.45, 50.0, 25.0)
    562.5
    """
    return force_ratio * force * surface_speed


def tangential_force(power: Real, surface_speed: Real) -> Real:
    """The force along the surface (N) that a cutting power (W) means at a surface speed (m/s): F = P / v.

    Source: mechanics. 1.8 hp at the rim of a 10 in wheel turning at 4000 rpm is 5.67 lbf:

    >>> round(tangential_force(1.8 * 745.69987, 53.198) / 4.4482216, 2)
    5.67
    """
    return power / surface_speed


def removal_rate(power: Real, specific_energy: Real) -> Real:
    """The volume of metal cut in a second (m3/s): Q = P / u, power in W, specific energy in J/m3.

    Source: the definition of specific energy.

    >>> round(removal_rate(500.0, 30e9) * 1e9, 4)
    16.6667
    """
    return power / specific_energy


def preston_coefficient(force_ratio: Real, specific_energy: Real) -> Real:
    """Preston's coefficient (1/Pa): K = mu / u, so that a surface sinks at K p v.

    `specific_energy` in J/m3, which is Pa. The same number is Archard's wear coefficient over the
    hardness. Source: Preston 1927.

    >>> preston_coefficient(0.40, 8e9)
    5e-11
    """
    return force_ratio / specific_energy
