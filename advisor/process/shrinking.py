"""What becomes of a wheel that wears away: its diameter, its rpm, its touch-off, its stiffness, its end."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from advisor.process.real import Real, mostly, positive_part, power
from advisor.process.speed import diameter_for, rotational_speed, surface_speed

STIFFEST = 3.0
"""Stiffness over that of the new wheel up to which the correction is believed (our own choice)."""

TOO_STIFF = "The wheel is worn so far down that it is over three times as stiff; its correction is a guess."
NO_STROKE = "The stroke is used up by the tolerances, so nothing is left for the wheel's wear."
EVERY_PART = "One part wears the wheel by more than the stroke: it must be touched off within a part."
TOO_FAST_NEW = "The wheel may not turn fast enough for this surface speed even when it is new."

Limit = Literal["spindle", "marked speed", "smallest diameter"]


@dataclass(frozen=True, slots=True)
class ChangeOut:
    """When a wheel comes off: `diameter` (m) and what sets it, doubts."""

    diameter: float
    because: Limit
    flags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class WheelState:
    """A line of the rpm schedule: `diameter` (m), `parts` done so far, `rpm`, `speed` (m/s) of the rim.

    `limited`: the highest rpm is reached, and the speed is below the wanted one.
    """

    diameter: float
    parts: float
    rpm: float
    speed: float
    limited: bool


@dataclass(frozen=True, slots=True)
class Reindex:
    """When a wheel must be touched off again: after so many whole `parts`, each `step` m inward, doubts."""

    parts: Real
    step: Real
    flags: tuple[str, ...]


def diameter_after(diameter: Real, worn_volume: Real, width: Real) -> Real:
    """The diameter (m) of a wheel that has lost `worn_volume` (m3) evenly over its `width` (m).

    D1 = sqrt(D0^2 - 4 V / (pi W)); zero where more is lost than there was. Source: geometry.

    >>> round(diameter_after(0.200, 1000e-9, 0.050) * 1000, 5)
    199.93633
    """
    return power(positive_part(diameter * diameter - 4.0 * worn_volume / (math.pi * width)), 0.5)


def wheel_volume(diameter: Real, last_diameter: Real, width: Real) -> Real:
    """The volume (m3) a wheel loses from `diameter` to `last_diameter` (m): pi W (D0^2 - D1^2) / 4.

    Source: geometry.

    >>> round(wheel_volume(0.200, 0.19993633, 0.050) * 1e9)
    1000
    """
    return math.pi * width * positive_part(diameter * diameter - last_diameter * last_diameter) / 4.0


def wear_rate(removal_rate: Real, wear_ratio: Real, diameter: Real, width: Real) -> Real:
    """How fast a wheel's radius wears (m/s): Q / (pi D W G).

    `removal_rate` Q of metal (m3/s); `wear_ratio` G is metal cut over wheel lost, counted with the
    whole bulk of the wheel (cloth, web and bond, not grain alone). It is the least certain number
    here. Source: geometry; G from a trial, else our own estimate.

    5 mm3/s, G = 2, a wheel of 200 by 50 mm: 0.0796 um/s:

    >>> round(wear_rate(5e-9, 2.0, 0.200, 0.050) * 1e6, 4)
    0.0796
    """
    return removal_rate / (math.pi * diameter * width * wear_ratio)


def wear_ratio_from_life(
    removal_rate: Real, life: Real, diameter: Real, last_diameter: Real, width: Real
) -> Real:
    """Metal cut over wheel lost, from the cutting time (s) in which a wheel goes from new to worn out.

    G = Q t / (pi W (D0^2 - D1^2) / 4) with the mean `removal_rate` Q (m3/s), lengths in m. Keeps the
    shrinking of a wheel in step with the life that the shop knows. Source: geometry.

    >>> round(wear_ratio_from_life(2e-9, 4 * 3600.0, 0.200, 0.120, 0.050), 4)
    0.0286
    """
    return removal_rate * life / wheel_volume(diameter, last_diameter, width)


def parts_between(
    diameter: Real, last_diameter: Real, width: Real, wear_ratio: Real, volume_per_part: Real
) -> Real:
    """The parts (not whole) done while a wheel wears from `diameter` to `last_diameter` (m).

    n = G pi W (D0^2 - D1^2) / (4 v) with the metal `volume_per_part` v (m3, above zero) and the
    `wear_ratio` G of `wear_rate`. Source: geometry.

    >>> round(parts_between(0.200, 0.120, 0.050, 0.06, 60e-9))
    1005
    """
    return wear_ratio * wheel_volume(diameter, last_diameter, width) / volume_per_part


def diameter_after_parts(
    diameter: Real, parts: Real, width: Real, wear_ratio: Real, volume_per_part: Real
) -> Real:
    """The diameter (m) after some `parts`; the reverse of `parts_between`. Source: geometry.

    >>> round(diameter_after_parts(0.200, 500, 0.050, 0.06, 60e-9) * 1000, 1)
    165.1
    """
    return diameter_after(diameter, parts * volume_per_part / wear_ratio, width)


def marked_rpm(marked_speed: Real, new_diameter: Real) -> Real:
    """The highest rpm a wheel may ever turn, from its marked speed (m/s) and its diameter when new (m).

    A worn wheel has a slower rim, but the marked rpm holds for life. Source: the usual safety rule for
    bonded and coated wheels, from memory.

    >>> round(marked_rpm(50.0, 0.200))
    4775
    """
    return rotational_speed(marked_speed, new_diameter)


def change_out(
    new_diameter: float,
    slowest_speed: float,
    spindle_rpm: float,
    smallest_diameter: float,
    marked_rpm: float | None = None,
) -> ChangeOut:
    """The diameter (m) at which a wheel comes off, and which limit says so.

    The largest of 60 v / (pi n) for the spindle's highest rpm, the same for the rpm marked on the
    wheel (None: not marked), and `smallest_diameter` (m: the core and its margin). `slowest_speed` v
    (m/s) is the slowest at which the work is still good. Equal limits name the more binding one for
    safety: marked speed, spindle, smallest diameter. Flagged where a new wheel of `new_diameter`
    (m) is already too small. Source: geometry; the smallest diameter is the wheel's own.

    25 m/s on a spindle that ends at 3000 rpm:

    >>> end = change_out(0.200, 25.0, 3000.0, 0.120)
    >>> round(end.diameter, 6), end.because
    (0.159155, 'spindle')
    """
    limits: list[tuple[float, Limit]] = []
    if marked_rpm is not None:
        limits.append((diameter_for(slowest_speed, marked_rpm), "marked speed"))
    limits.append((diameter_for(slowest_speed, spindle_rpm), "spindle"))
    limits.append((smallest_diameter, "smallest diameter"))
    diameter, because = max(limits, key=lambda limit: limit[0])
    return ChangeOut(diameter, because, (TOO_FAST_NEW,) if diameter > new_diameter else ())


def rpm_schedule(
    new_diameter: float,
    last_diameter: float,
    wanted_speed: float,
    highest_rpm: float,
    life_parts: float,
    rows: int = 6,
) -> tuple[WheelState, ...]:
    """The rpm that holds a rim speed while a wheel wears, in `rows` equal steps of diameter, both ends given.

    n = 60 v / (pi D) up to `highest_rpm` (the lower of the spindle's and the wheel's marked rpm),
    beyond which the rim slows down and the row says so. Diameters in m, `wanted_speed` in m/s.
    `life_parts` are the parts from new to last (see `parts_between`); a row's parts follow the area
    of the ring worn off. Raises ValueError for fewer than two rows or a wheel that doesn't shrink.
    Source: geometry.

    >>> for row in rpm_schedule(0.200, 0.150, 25.0, 3000.0, 1000, rows=3):
    ...     print(round(row.diameter, 3), round(row.parts), round(row.rpm), round(row.speed, 1), row.limited)
    0.2 0 2387 25.0 False
    0.175 536 2728 25.0 False
    0.15 1000 3000 23.6 True
    """
    if rows < 2 or not 0 < last_diameter < new_diameter:
        raise ValueError(
            f"a schedule needs two rows and a wheel that shrinks, given {rows} rows,"
            f" {new_diameter} m to {last_diameter} m"
        )
    ring = new_diameter**2 - last_diameter**2
    states = []
    for row in range(rows):
        diameter = new_diameter + (last_diameter - new_diameter) * row / (rows - 1)
        wanted = rotational_speed(wanted_speed, diameter)
        rpm = min(wanted, highest_rpm)
        states.append(
            WheelState(
                diameter=diameter,
                parts=life_parts * (new_diameter**2 - diameter**2) / ring,
                rpm=rpm,
                speed=surface_speed(diameter, rpm),
                limited=wanted > highest_rpm * (1 + 1e-12),
            )
        )
    return tuple(states)


def stroke_for_wear(stroke: Real, part_tolerance: Real, position_error: Real, force_travel: Real) -> Real:
    """What is left (m) of a compliance's `stroke` for the wear of the wheel, at least zero.

    The part's tolerance, the robot's error and the travel over which the force strays are taken off (m).
    Source: a budget; the shares are the cell's own.

    >>> round(stroke_for_wear(0.025, 0.001, 0.0005, 0.005) * 1000, 1)
    18.5
    """
    return positive_part(stroke - part_tolerance - position_error - force_travel)


def reindex(
    stroke_left: Real, diameter: Real, width: Real, wear_ratio: Real, volume_per_part: Real
) -> Reindex:
    """After how many parts the wheel must be touched off again: while its radius wears by `stroke_left` (m).

    The radius may fall by s, so the diameter from D to D - 2 s; the parts are those of
    `parts_between`, whole. A smaller wheel wears faster, so ask again with the diameter of the day.
    Flagged where no stroke is left, or one part takes more. Source: geometry.

    >>> done = reindex(1e-3, 0.200, 0.050, 2.0, 62.8e-9)
    >>> done.parts, done.step, done.flags
    (995.0, 0.001, ())
    """
    left = positive_part(diameter - 2.0 * stroke_left)
    exact = parts_between(diameter, left, width, wear_ratio, volume_per_part)
    whole = (exact + 1e-9) // 1.0
    flags: tuple[str, ...] = ()
    if mostly(stroke_left <= 0):
        flags = (NO_STROKE,)
    elif mostly(whole < 1):
        flags = (EVERY_PART,)
    return Reindex(whole, stroke_left, flags)


def force_lost(stiffness: Real, radius_worn: Real) -> Real:
    """How much the force (N) falls at a fixed position when the radius has worn (m): F = k dR.

    `stiffness` k of wheel and holder in series (N/m). Without force control this is what a missed
    touch-off costs. Source: mechanics.

    >>> force_lost(20e3, 0.5e-3)
    10.0
    """
    return stiffness * radius_worn


def stiffness_factor(new_diameter: Real, diameter: Real, core_diameter: Real, exponent: Real) -> Real:
    """How much stiffer a worn flap or non-woven wheel is than it was new: ((D0 - Dc) / (D - Dc))^n.

    The free length of a flap, or the depth of a web, is what stands out of the core (`core_diameter`
    Dc, m). A web pressed as a block has n = 1, a lone flap bent as a cantilever n = 3; flaps that
    lean on each other lie between. Needs D above Dc; ask `stiffness_flags`. A correction for trimming
    the force, not a law. Source: beam and block by mechanics, what lies between our own estimate.

    >>> round(stiffness_factor(0.200, 0.150, 0.080, 1.5), 2)
    2.24
    """
    return power((new_diameter - core_diameter) / (diameter - core_diameter), exponent)


def stiffness_flags(factor: Real) -> tuple[str, ...]:
    """The doubt about a `stiffness_factor` above three.

    >>> stiffness_flags(2.0), len(stiffness_flags(3.5))
    ((), 1)
    """
    return (TOO_STIFF,) if mostly(factor > STIFFEST) else ()


def force_trim(diameter_ratio: Real, stiffness_factor: Real) -> Real:
    """By what the force must be multiplied so that a worn wheel presses as hard (N/m2) as a new one.

    sqrt((D / D0) / f). A wheel that gives way as a bed of springs (stiffness c per area) has the
    half-width (3 P' R / 2c)^(1/3), so its mean pressure goes with (P'^2 c / R)^(1/3), and the force
    that holds it with sqrt(R / c). `diameter_ratio` D / D0 is at most 1, `stiffness_factor` f as the
    function of that name. Source: our own derivation.

    >>> round(force_trim(0.150 / 0.200, 2.24), 2)
    0.58
    """
    return power(diameter_ratio / stiffness_factor, 0.5)
