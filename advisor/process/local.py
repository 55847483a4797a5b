"""A strip that stands proud (bead, stub, parting line): the passes that level it and the dish beside it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from advisor.process.contact import CONFORMING, line_contact
from advisor.process.real import Real, mostly, natural_log, positive_part, quotient, smaller

AS_WIDE = "The strip is as wide as the wheel, so it is worked as an area and nothing is dished beside it."
RUBBING_TAIL = "Spread over the whole wheel the force no longer cuts, so the last of the strip stays proud."
NEVER_FLUSH = "A wheel that gives way never comes flush, so a height to hand over is needed."


@dataclass(frozen=True, slots=True)
class Tail:
    """What the last part of a strip costs, at a rate of (1 - x)(steady - bend x) / x.

    x is the height over the touching height, from 1 down.
    """

    steady: Real
    bend: Real

    def between(self, first: Real, last: Real) -> Real:
        """The rate summed from `first` down to `last` (0 < last <= first <= 1).

        >>> Tail(0.2, 0.1).between(0.5, 0.5)
        0.0
        """
        return (
            self.steady * natural_log(first / last)
            - (self.steady + self.bend) * (first - last)
            + 0.5 * self.bend * (first * first - last * last)
        )


@dataclass(frozen=True, slots=True)
class Sharing:
    """How a wheel shares its force between a strip and the face beside it.

    `touching_height` (m): above it the strip carries everything. Below, in touching heights, `dish` is
    what the face loses, and `delay` what more the strip would have lost, had it kept the whole force.
    `as_area`: the strip is as wide as the wheel, there is no face beside it. `flags` are the doubts.
    """

    touching_height: Real
    dish: Tail
    delay: Tail
    as_area: bool
    flags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StripPlan:
    """What levelling a strip takes and leaves.

    `passes` (not yet whole; infinite where the tail rubs), `dish` (m) cut into the face beside the
    strip, `remaining` height (m) of the strip above that face, doubts.
    """

    passes: Real
    dish: Real
    remaining: Real
    flags: tuple[str, ...]


def flattening(line_load: Real, relative_radius: Real, plane_modulus: Real, cover_thickness: Real) -> Real:
    """How far (m) a wheel gives way under a force per width: the approach of its line contact.

    Arguments as for `contact.line_contact`: N/m, m, Pa, m. Each width of the wheel is taken to give
    way on its own load alone, as a row of springs: a stated choice, good where the strip is wide
    beside the cover's thickness and too soft where it is narrow. Infinite in a hollow that the wheel
    fills. Source: the fit of `contact.line_contact`.

    70 Shore A, 1 N/mm on a 200 mm wheel with 20 mm of cover:

    >>> from advisor.process.contact import plane_modulus, young_modulus
    >>> round(flattening(1000.0, 0.1, plane_modulus(young_modulus(70.0)), 0.020) * 1e6)
    156
    """
    approach = line_contact(line_load, relative_radius, plane_modulus, cover_thickness).approach
    return math.inf if approach is None else approach


def proportional(line_load: Real) -> Real:
    """A depth law without a threshold, to scale: depth goes with the force per width.

    >>> proportional(2000.0) / proportional(1000.0)
    2.0
    """
    return line_load


def load_sharing(
    force: Real,
    strip_width: Real,
    wheel_width: Real,
    relative_radius: Real,
    plane_modulus: Real,
    cover_thickness: Real,
    depth: Callable[[Real], Real] = proportional,
) -> Sharing:
    """How a wheel shares its `force` (N) between a strip and the face beside it; lengths in m.

    `depth` gives the depth of one pass under a force per width (N/m) in any unit, so that one sharing
    serves every speed and feed; give the law with its threshold where there is one. Strip and face
    give way on their own load (`flattening`), the strip by its height more, and the loads sum to the
    force. Where the face takes q times the strip's load per width,

        P_strip = F / (w + (W - w) q),  height = flattening(P_strip) - flattening(q P_strip),

    which is exact. A pass lowers the strip by h_s = depth(P_strip) and the face by h_f =
    depth(q P_strip), so that a height of dr costs dr / (h_s - h_f) passes and h_f times as much dish.
    The two tails meet these costs at q = w / W, where the face carries about half the force, and at
    q = 0.8 + 0.2 w / W; they are zero where the wheel first touches the face and grow as 1 / x
    towards flush, as they must. Source: our own derivation.

    >>> from advisor.process.contact import plane_modulus, young_modulus
    >>> modulus = plane_modulus(young_modulus(70.0))
    >>> round(load_sharing(60.0, 6e-3, 50e-3, 0.1, modulus, 0.020).touching_height * 1e3, 2)
    0.75
    """
    none = Tail(0.0, 0.0)
    if mostly(relative_radius == math.inf):
        return Sharing(math.inf, none, none, False, (CONFORMING,))
    if mostly(strip_width >= wheel_width):
        return Sharing(1.0, none, none, True, (AS_WIDE,))
    contact = line_contact(force / strip_width, relative_radius, plane_modulus, cover_thickness)
    touching = contact.approach if contact.approach is not None else math.inf
    narrow = depth(force / strip_width)

    def state(share: Real) -> tuple[Real, Real, Real]:
        """Height over touching height, and both tails times x / (1 - x), at one share of the loads."""
        on_strip = force / (strip_width + (wheel_width - strip_width) * share)
        on_face = share * on_strip
        x = (
            flattening(on_strip, relative_radius, plane_modulus, cover_thickness)
            - flattening(on_face, relative_radius, plane_modulus, cover_thickness)
        ) / touching
        sinking = depth(on_face)
        gaining = depth(on_strip) - sinking
        cost = 1.0 / (gaining + (gaining <= 0))
        scale = x / (1.0 - x)
        return x, sinking * cost * scale, (narrow * cost - 1.0) * (narrow > 0) * scale

    half, half_dish, half_delay = state(strip_width / wheel_width)
    late, late_dish, late_delay = state(0.8 + 0.2 * strip_width / wheel_width)
    apart = half - late
    dish_bend = (late_dish - half_dish) / apart
    delay_bend = (late_delay - half_delay) / apart
    return Sharing(
        touching_height=touching,
        dish=Tail(half_dish + dish_bend * half, dish_bend),
        delay=Tail(half_delay + delay_bend * half, delay_bend),
        as_area=False,
        flags=contact.flags,
    )


def level(height: Real, hand_over: Real, sharing: Sharing, narrow_depth: Real, wide_depth: Real) -> StripPlan:
    """The passes from `height` down to `hand_over` (m above the face), and the dish, for a known sharing.

    The depths (m) are those of one pass with the whole force on the strip and with the force over
    the whole wheel. With h_t the touching height, x = height / h_t counted from 1 down, and for each
    tail s its `steady` and k its `bend`,

        tail = h_t (s ln(x1 / x2) - (s + k)(x1 - x2) + k (x1^2 - x2^2) / 2),
        dish = tail of the dish,  passes = (height - hand_over + tail of the delay) / narrow depth.

    Near flush both carry almost the same, and the difference, which alone levels the strip, fades
    with its height: the last tenth is dear. Where the force spread over the whole wheel doesn't cut,
    all below the touching height is given up as endless, although the strip would fall a little.

    Error against integration step by step with the same springs and the same depth law, 35 to 90
    Shore A: passes -1 to +7 %, dish within 10 %, with a threshold below half the pressure of the
    whole wheel (dishes of a few micrometres: to a third); nearer to it passes to 12 %, dish to a
    third. A sharing from a law without its threshold makes the dish too high (at a quarter of that
    pressure by a third, up to double) and the passes up to 5 % low. Source: our own derivation.

    >>> nothing = Tail(0.0, 0.0)
    >>> level(1e-3, 0.5e-3, Sharing(0.4e-3, nothing, nothing, False, ()), 0.1e-3, 0.01e-3).passes
    5.0
    """
    fall = positive_part(height - hand_over)
    remaining = smaller(height, hand_over)
    if mostly(sharing.touching_height == math.inf):
        return StripPlan(math.inf, 0.0, height, sharing.flags)
    if sharing.as_area:
        passes = quotient(fall, narrow_depth)
        flags = (*sharing.flags, RUBBING_TAIL) if mostly(passes == math.inf) else sharing.flags
        return StripPlan(passes, 0.0 * fall, remaining, flags)
    if mostly(hand_over <= 0.0):
        return StripPlan(math.inf, math.inf, remaining, (*sharing.flags, NEVER_FLUSH))
    touching = sharing.touching_height
    first = smaller(height / touching, 1.0 + 0.0 * height)
    last = smaller(hand_over / touching, first)
    endless = quotient((first - last) * (wide_depth <= 0), wide_depth)
    passes = quotient(fall + touching * sharing.delay.between(first, last), narrow_depth) + endless
    flags = (*sharing.flags, RUBBING_TAIL) if mostly(passes == math.inf) else sharing.flags
    return StripPlan(passes, touching * sharing.dish.between(first, last), remaining, flags)


def strip(
    *,
    height: Real,
    hand_over: Real,
    strip_width: Real,
    wheel_width: Real,
    force: Real,
    relative_radius: Real,
    plane_modulus: Real,
    cover_thickness: Real,
    depth: Callable[[Real], Real],
) -> StripPlan:
    """The passes that bring a strip from `height` down to `hand_over` above the face, and the dish beside it.

    Lengths in m, `force` in N, `plane_modulus` in Pa. `depth` gives the depth (m) of one pass under
    a force per width (N/m): `removal.depth_per_pass` with all else held. The strip carries the
    whole force until the wheel, flattened by it, touches the face; then see `load_sharing`
    and `level`, which a search over many heights calls one by one. A strip as wide as the wheel is
    an area. Source: our own derivation.

    A 6 mm bead of 0.5 mm under a 50 mm wheel of 70 Shore A with 60 N, 11 um a pass at 1 N/mm:

    >>> from advisor.process.contact import plane_modulus, young_modulus
    >>> plan = strip(height=0.5e-3, hand_over=0.1e-3, strip_width=6e-3, wheel_width=50e-3, force=60.0,
    ...              relative_radius=0.1, plane_modulus=plane_modulus(young_modulus(70.0)),
    ...              cover_thickness=0.020, depth=lambda line_load: 11e-6 * line_load / 1000.0)
    >>> round(plan.passes, 1), round(plan.dish * 1e6), plan.remaining
    (13.3, 127, 0.0001)
    """
    sharing = load_sharing(
        force, strip_width, wheel_width, relative_radius, plane_modulus, cover_thickness, depth
    )
    wide = depth(force / wheel_width)
    narrow = wide if sharing.as_area else depth(force / strip_width)
    return level(height, hand_over, sharing, narrow, wide)
