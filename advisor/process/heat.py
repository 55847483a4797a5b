"""How warm the metal gets under the moving contact and as a whole, for ranking and warning."""

from __future__ import annotations

import math
from dataclasses import dataclass

from advisor.process.real import Real, mostly, natural_log, positive_part, power, quotient, smaller

SLOWEST = 0.05
"""Peclet number down to which the fit of the moving band holds."""

TOO_SLOW = "The contact moves too slowly for the moving-heat law (Peclet number below 0.05)."
TOO_THIN = "The wall is thinner than the heat runs in during the contact, so the passing rise is too low."
UNEVEN = "The heating is shorter than the wall takes to even out, so the bulk figure is too low at the skin."
TOO_HOT = "The rise reaches the metal's limit."
CLOSE = "The rise lies closer to the metal's limit than these figures can be trusted."


@dataclass(frozen=True, slots=True)
class BandRise:
    """What a moving contact does: the highest `rise` (K) of the skin, the `peclet` number, doubts.

    The flash under a single grain, which lasts microseconds, is not in it.
    """

    rise: Real
    peclet: Real
    flags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BulkRise:
    """How much warmer (K) a thin part is as a whole, doubts."""

    rise: Real
    flags: tuple[str, ...]


def diffusivity(conductivity: Real, density: Real, specific_heat: Real) -> Real:
    """How fast heat spreads (m2/s): k / (rho c), in W/(m K), kg/m3 and J/(kg K). Source: definition.

    304 stainless steel:

    >>> round(diffusivity(16.0, 7900.0, 500.0) * 1e6, 3)
    4.051
    """
    return conductivity / (density * specific_heat)


def heat_into_part(
    conductivity: Real,
    density: Real,
    specific_heat: Real,
    wheel_speed: Real,
    grain_conductivity: Real,
    contact_radius: Real,
) -> Real:
    """The share of the heat that goes into the part (0 to 1), the rest going into the grain.

    R = 1 / (1 + k_g / (beta sqrt(r0 v))) with beta = sqrt(k rho c) of the metal, the surface speed v
    (m/s), the grain's conductivity k_g (W/(m K), about 35 for alumina) and the radius r0 (m, about
    15 um) of a grain's worn flat. Typically 0.6 to 0.9 dry; heat carried off by sparks and swarf is
    counted as the part's, which is the safe side. Not for flooded work. Source: Hahn's and Rowe's
    sliding grain, from memory.

    >>> round(heat_into_part(16.0, 7900.0, 500.0, 25.0, 35.0, 15e-6), 4)
    0.8148
    """
    beta = power(conductivity * density * specific_heat, 0.5)
    return 1.0 / (1.0 + grain_conductivity / (beta * power(contact_radius * wheel_speed, 0.5)))


def heat_flux(power: Real, share: Real, width: Real, half_width: Real) -> Real:
    """The heat (W/m2) into the part under a contact `width` by 2 `half_width` (m): R P / (2 b w).

    `power` P (W) is the cutting power, `share` R that of `heat_into_part`. Source: definition.

    >>> round(heat_flux(500.0, 0.8148, 0.050, 7.5178e-3), -2)
    541900.0
    """
    return share * power / (2.0 * half_width * width)


def peclet(feed: Real, half_width: Real, diffusivity: Real) -> Real:
    """How fast a contact moves against the spread of heat (no unit): L = v_w b / (2 alpha).

    >>> round(peclet(0.030, 7.5178e-3, 4.051e-6), 1)
    27.8
    """
    return feed * half_width / (2.0 * diffusivity)


def band_shape(peclet: Real) -> Real:
    """The highest rise under a moving band without its units: pi k v_w dT / (2 q alpha).

    3.5449 sqrt(L) / sqrt(1 + 0.2955 / L^0.7395), within 0.3 % of the exact integral for a Peclet
    number L of 0.05 to 200 and tending to the exact law beyond; 1.6 % low at 0.01. The average over
    the band is 0.95 of the highest at L = 0.05, 0.8 at 1 and two thirds above 50. Source: our own fit
    to the integral of Jaeger 1942.

    >>> round(band_shape(1.0), 3)
    3.114
    """
    return 3.5449 * power(peclet, 0.5) / power(1.0 + 0.2955 / power(peclet, 0.7395), 0.5)


def band_rise(
    flux: Real,
    half_width: Real,
    feed: Real,
    conductivity: Real,
    diffusivity: Real,
    thickness: Real | None = None,
) -> BandRise:
    """The highest rise (K) of the skin under an even heat `flux` (W/m2) moving with the `feed` (m/s).

    dT = 2 q alpha / (pi k v_w) times `band_shape`. `half_width` in m, `conductivity` W/(m K),
    `diffusivity` m2/s. Flagged below a Peclet number of 0.05, and where the heat runs deeper than
    half the `thickness` (m) while the contact passes, sqrt(2 b alpha / v_w). The figure ranks
    alternatives: dull media, splices and grain flashes put 2 to 4 times on it. Raises ValueError for
    a contact that stands still. Source: Jaeger 1942.

    Dry belt on 304 with 500 W, where the exact integral gives 53.9 K:

    >>> hot = band_rise(5.419e5, 7.5178e-3, 0.030, 16.0, diffusivity(16.0, 7900.0, 500.0))
    >>> round(hot.rise), hot.flags
    (54, ())
    """
    if mostly(feed <= 0):
        raise ValueError(f"the contact must move, given a feed of {feed} m/s")
    moving = peclet(feed, half_width, diffusivity)
    flags: tuple[str, ...] = (TOO_SLOW,) if mostly(moving < SLOWEST) else ()
    if thickness is not None and mostly(power(2.0 * half_width * diffusivity / feed, 0.5) > thickness / 2.0):
        flags = (*flags, TOO_THIN)
    rise = 2.0 * flux * diffusivity / (math.pi * conductivity * feed) * band_shape(moving)
    return BandRise(rise, moving, flags)


def wall_factor(half_width: Real, feed: Real, thickness: Real, diffusivity: Real) -> Real:
    """By what a thin wall makes the rise under a moving contact higher than thick metal would.

    (F + 1/3) / (2 sqrt(F / pi)) with the Fourier number F = alpha (2 b / v_w) / h^2 of the contact's
    passing, above F = 1/3, else 1; lengths in m, `feed` in m/s, `diffusivity` m2/s. For a back that
    gives off nothing and heat that runs straight in (Peclet number above some 5); then within 3 % of
    the exact series. Source: Carslaw and Jaeger, a plate under an even flux, from memory.

    3 mm of zinc alloy under 13.5 mm of contact fed at 92 mm/s; and the same on 30 mm:

    >>> round(wall_factor(6.75e-3, 0.092, 3e-3, 4.08e-5), 3), wall_factor(6.75e-3, 0.092, 30e-3, 4.08e-5)
    (1.085, 1.0)
    """
    fourier = 2.0 * half_width * diffusivity / (feed * thickness * thickness)
    plate = (fourier + 1.0 / 3.0) / (2.0 * power(fourier / math.pi, 0.5))
    return 1.0 + (fourier > 1.0 / 3.0) * (plate - 1.0)


def evening_time(thickness: Real, diffusivity: Real) -> Real:
    """How long (s) a wall heated on one face takes to even out: (h / 2)^2 / alpha. Source: diffusion scaling.

    1.5 mm of stainless steel:

    >>> round(evening_time(1.5e-3, diffusivity=4.051e-6), 3)
    0.139
    """
    return thickness * thickness / (4.0 * diffusivity)


def heating_rate(power_in: Real, mass: Real, specific_heat: Real) -> Real:
    """How fast a part warms (K/s) that takes in `power_in` (W) and gives nothing off: P / (m c).

    `mass` in kg, `specific_heat` in J/(kg K). Source: energy balance.

    100 by 100 by 1.5 mm of stainless steel with 400 W:

    >>> round(heating_rate(400.0, 0.1185, 500.0), 3)
    6.751
    """
    return power_in / (mass * specific_heat)


def cooling_time(mass: Real, specific_heat: Real, film: Real, area: Real) -> Real:
    """The time (s) in which a part loses all but 1/e of its rise to the air: m c / (h A).

    `film` h in W/(m2 K), about 30 in moving air, `area` A (m2) of all sides. Source: energy balance.

    >>> round(cooling_time(0.1185, 500.0, 30.0, 0.02), 2)
    98.75
    """
    return mass * specific_heat / (film * area)


def bulk_rise(
    power_in: Real,
    time: Real,
    mass: Real,
    specific_heat: Real,
    film: Real,
    area: Real,
    evening_time: Real = 0.0,
) -> BulkRise:
    """The rise (K) of a whole part after it has taken in `power_in` (W) for `time` (s).

    (P / (h A)) (1 - exp(-t / tau)) with tau of `cooling_time`; other arguments as there. Conduction
    into grippers is left out, which is the safe side. Flagged where the heating is shorter than the
    wall's `evening_time`. Source: energy balance.

    >>> round(bulk_rise(400.0, 10.0, 0.1185, 500.0, 30.0, 0.02).rise, 1)
    64.2
    """
    settled = power_in / (film * area)
    share = 1.0 - power(math.e, -time / cooling_time(mass, specific_heat, film, area))
    return BulkRise(settled * share, (UNEVEN,) if mostly(time < evening_time) else ())


def plate_share(area: Real, time: Real, diffusivity: Real) -> Real:
    """What is left of a face's own heating (0 to 1) because the heat runs on into the plate around it.

    x (E1(x) + (1 - exp(-x)) / x) with x = a^2 / (4 alpha t) for the middle of a round face of `area`
    pi a^2 (m2) heated evenly for `time` t (s, above zero) in a plate without end that gives nothing to
    the air; times `bulk_rise` of the metal behind the face alone. 1 for a short time, falling with it.
    E1, the exponential integral, by the polynomials of Abramowitz and Stegun 5.1.53 and 5.1.54, within
    5e-5. Source: the spreading of heat from points in a plate (Carslaw and Jaeger, from memory),
    integrated by us.

    9 cm2 of a zinc casting over 16 s, and the same of stainless steel:

    >>> round(plate_share(9e-4, 16.0, 4.08e-5), 2), round(plate_share(9e-4, 16.0, 4.05e-6), 2)
    (0.29, 0.87)
    """
    x = area / (4.0 * math.pi * diffusivity * time)
    near = smaller(x, 1.0 + 0.0 * x)
    series = -0.57721566 + near * (
        0.99999193 + near * (-0.24991055 + near * (0.05519968 + near * (-0.00976004 + near * 0.00107857)))
    )
    far = x + positive_part(1.0 - x)
    decay = power(math.e, -far)
    tail = (far * far + 2.334733 * far + 0.250621) / (far * far + 3.330657 * far + 1.681534)
    integral = (series - natural_log(near)) * (x <= 1.0) + decay / far * tail * (x > 1.0)
    return x * integral + 1.0 - power(math.e, -x)


def duty_rise(power_in: Real, duty: Real, film: Real, area: Real) -> Real:
    """The mean rise (K) a part settles to under `power_in` (W) for a share `duty` (0 to 1) of the time.

    P duty / (h A). Source: energy balance.

    >>> round(duty_rise(400.0, 0.05, 30.0, 0.02), 1)
    33.3
    """
    return power_in * duty / (film * area)


def cycle_peak(power_in: Real, on: Real, off: Real, cooling_time: Real, film: Real, area: Real) -> Real:
    """The highest rise (K) of a part heated for `on` and left for `off` seconds again and again.

    (P / (h A)) (1 - exp(-on / tau)) / (1 - exp(-(on + off) / tau)), once the cycles repeat. Times in
    s and above zero, tau the `cooling_time`. Source: energy balance.

    >>> round(cycle_peak(400.0, 5.0, 95.0, 98.75, 30.0, 0.02), 1)
    51.7
    """
    warmed = 1.0 - power(math.e, -on / cooling_time)
    return power_in / (film * area) * warmed / (1.0 - power(math.e, -(on + off) / cooling_time))


def heat_margin(limit: Real, start: Real, rise: Real) -> Real:
    """How many times the rise fits below the metal's limit: (limit - start) / rise, at least zero.

    Temperatures in degrees Celsius, `rise` in K (passing and bulk together). These figures are good
    to a factor of 2 to 4, so a margin below that is a warning. Source: definition.

    >>> heat_margin(200.0, 20.0, 60.0)
    3.0
    """
    return quotient(positive_part(limit - start), rise)


def heat_flags(margin: Real, wanted: Real) -> tuple[str, ...]:
    """The warning about a `heat_margin` below 1 (the limit is reached) or below the `wanted` one.

    >>> heat_flags(0.8, 3.0) == (TOO_HOT,), heat_flags(2.0, 3.0) == (CLOSE,), heat_flags(3.0, 3.0)
    (True, True, ())
    """
    if mostly(margin < 1.0):
        return (TOO_HOT,)
    return (CLOSE,) if mostly(margin < wanted) else ()
