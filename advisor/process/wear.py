"""How the cut of a belt or disc fades as it is used, when a change pays, and how many parts one lasts."""

from __future__ import annotations

import math
from dataclasses import dataclass

from advisor.process.real import Real, is_plain, mostly, natural_log, positive_part, power, smaller

DULLEST = 0.2
"""Share of the first cut rate below which the fading law is not believed (our own choice)."""

DULL = "Cost alone would run the media below a fifth of its first cut; heat or finish ends it earlier."
PART_OUTLASTS = "One part takes more than one belt, disc or wheel lasts."

_ROUNDS = 24


@dataclass(frozen=True, slots=True)
class ChangePoint:
    """When a change of media costs least.

    `volume` (m3) cut by one media, `share` of the first cut rate left then, cutting `time` (s) of one
    media, `cost_per_volume` (money per m3: media, change and machine time together), doubts.
    """

    volume: Real
    share: Real
    time: Real
    cost_per_volume: Real
    flags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Lasting:
    """How far one belt, disc or wheel goes: `parts` (whole where it lasts one at all), doubts."""

    parts: Real
    flags: tuple[str, ...]


def cut_rate(first_rate: Real, volume: Real, cutting_volume: Real) -> Real:
    """The cut rate (m3/s) of a media that has already cut `volume` (m3): Q = Q0 exp(-V / Vc).

    `first_rate` Q0 (m3/s) is that of a media broken in, `cutting_volume` Vc (m3, above zero) the
    volume over which the rate falls by a factor e. Holds for the steady part of a media's life at
    one force and speed, down to about a fifth of the first rate; the sudden end is not in it.
    Source: the fading law of the grinding literature, from memory.

    >>> round(cut_rate(20e-9, 22117.9e-9, 20000e-9) / 20e-9, 4)
    0.3309
    """
    return first_rate * power(math.e, -volume / cutting_volume)


def cut_rate_after(first_rate: Real, time: Real, cutting_volume: Real) -> Real:
    """The cut rate (m3/s) after `time` (s) of cutting: Q = Q0 / (1 + Q0 t / Vc).

    The same law as `cut_rate`, in time. Source: dV/dt = Q0 exp(-V / Vc), integrated.

    >>> round(cut_rate_after(1.0, 3.0, 2.0), 6)
    0.4
    """
    return first_rate / (1.0 + first_rate * time / cutting_volume)


def volume_cut(first_rate: Real, time: Real, cutting_volume: Real) -> Real:
    """The volume (m3) a media has cut after `time` (s): V = Vc ln(1 + Q0 t / Vc).

    Source: as `cut_rate_after`.

    >>> round(volume_cut(1.0, 3.0, 2.0), 6)
    1.832581
    """
    return cutting_volume * natural_log(1.0 + first_rate * time / cutting_volume)


def time_to_cut(first_rate: Real, volume: Real, cutting_volume: Real) -> Real:
    """The time (s) a media needs to cut its first `volume` (m3): t = (Vc / Q0)(exp(V / Vc) - 1).

    A part cut from V1 to V2 takes the difference of two such times. Source: as `cut_rate_after`.

    >>> round(time_to_cut(1.0, 1.832581, 2.0), 5)
    3.0
    """
    return cutting_volume / first_rate * (power(math.e, volume / cutting_volume) - 1.0)


def volume_at_share(share: Real, cutting_volume: Real) -> Real:
    """The volume (m3) after which a share of the first cut rate (0 to 1) is left: V = Vc ln(1 / share).

    Where heat or finish sets a lowest share, this ends the media before `change_point` does.
    Source: `cut_rate`.

    >>> round(volume_at_share(0.3309, 20000e-9) * 1e9)
    22119
    """
    return cutting_volume * natural_log(1.0 / share)


def break_in_factor(volume: Real, break_in_volume: Real, loss: Real) -> Real:
    """How much faster a fresh media cuts than the steady law says: 1 / (1 - loss) at first, then down to 1.

    Falls on a straight line over `break_in_volume` (m3, above zero), which is 10 to 30 % of a media's
    volume; `loss` is 0.2 to 0.45 of the fresh rate. The first parts on a fresh belt are therefore cut
    deeper and left rougher: break in on scrap. Source: from memory, and on wood rather than metal;
    the straight line is our own choice.

    >>> round(break_in_factor(0.0, 2e-6, 0.3), 4), break_in_factor(3e-6, 2e-6, 0.3)
    (1.4286, 1.0)
    """
    return 1.0 + loss / (1.0 - loss) * positive_part(1.0 - volume / break_in_volume)


def cutting_volume_of_belt(g_ratio: Real, belt_area: Real, grain_size: Real, usable_share: Real) -> Real:
    """The volume (m3) over which a coated media's cut fades by a factor e: Vc = G A s d.

    The `g_ratio` G is metal cut over abrasive lost (volumes), `belt_area` A (m2) all of its cutting
    face, and s d the part of a grain's size d (m) that wears before it is blunt; `usable_share` s is
    0.05 to 0.2. A belt twice as long lasts twice as long. Good to a factor of three at best: a start
    before a trial. Source: our own estimate; G from memory.

    Ordinary alumina P80 on stainless steel, a belt of 50 mm by 2 m:

    >>> round(cutting_volume_of_belt(6.0, 0.050 * 2.0, 201e-6, 0.1) * 1e9)
    12060
    """
    return g_ratio * belt_area * usable_share * grain_size


def cutting_volume_from_life(first_rate: Real, life: Real, end_share: Real) -> Real:
    """The volume (m3) over which the cut fades by a factor e, from a life (s) known in the shop.

    Vc = Q0 t s / (1 - s): after the cutting time `life` t the share s = `end_share` (above 0, below 1)
    of the first rate Q0 (m3/s) is left. Source: `cut_rate_after`, solved for Vc.

    >>> round(cutting_volume_from_life(20e-9, 2022.0, 0.3309) * 1e9, -1)
    20000.0
    """
    return first_rate * life * end_share / (1.0 - end_share)


def change_point(
    media_cost: Real, machine_rate: Real, change_time: Real, first_rate: Real, cutting_volume: Real
) -> ChangePoint:
    """The volume at which a change of media makes the cost of a volume cut least.

    With the price of one media C_b (`media_cost`), of a second at the machine C_m (`machine_rate`,
    same currency), the change t_ch (`change_time`, s), Q0 (m3/s) and Vc (m3), it is the least of

        (C_b + C_m (t_ch + (Vc / Q0)(exp(V / Vc) - 1))) / V,   so z = V / Vc solves
        exp(z) (z - 1) + 1 = (C_b / C_m + t_ch) Q0 / Vc.

    Solved by Newton's rule from above, where it cannot overshoot. A free media with no change time
    gives zero: change at once. Flagged where less than a fifth of the first cut would be left (see
    `DULL`): then the law is not believed. Raises ValueError unless a second at the machine costs
    something. Source: tool-life economics, from memory; the root is our own.

    A belt at 20, a machine at 60 an hour, 2 min to change, 20 mm3/s at first:

    >>> best = change_point(20.0, 1 / 60, 120.0, 20e-9, 20000e-9)
    >>> round(best.volume * 1e9, 1), round(best.share, 4), best.flags
    (22117.9, 0.3309, ())
    """
    if mostly(machine_rate <= 0):
        raise ValueError(f"a second at the machine must cost something, given {machine_rate}")
    wanted = (media_cost / machine_rate + change_time) * first_rate / cutting_volume
    z = smaller(power(2.0 * wanted, 0.5), 1.0 + natural_log(1.0 + wanted))
    for _ in range(_ROUNDS):
        grown = power(math.e, z)
        # The slope z exp(z) is zero only at z = 0, which is then the root itself.
        nearer = positive_part(z - (grown * (z - 1.0) + 1.0 - wanted) / (z * grown + (z <= 0)))
        if is_plain(nearer) and nearer == z:
            break
        z = nearer
    share = power(math.e, -z)
    return ChangePoint(
        volume=z * cutting_volume,
        share=share,
        time=cutting_volume / first_rate * (1.0 / share - 1.0),
        cost_per_volume=machine_rate / (first_rate * share),
        flags=(DULL,) if mostly(share < DULLEST) else (),
    )


def parts_per_media(usable_volume: Real, volume_per_part: Real) -> Lasting:
    """How many parts one belt, disc or wheel does before it has cut `usable_volume` (m3).

    Whole parts, because media is changed between parts. Where it doesn't last one part, the fraction
    of a part it does, flagged. `volume_per_part` in m3; raises ValueError unless above zero.
    Source: counting.

    >>> parts_per_media(22000e-9, 150e-9).parts, parts_per_media(100e-9, 150e-9).flags == (PART_OUTLASTS,)
    (146.0, True)
    """
    if mostly(volume_per_part <= 0):
        raise ValueError(f"a part must take something off the media, given {volume_per_part} m3")
    exact = usable_volume / volume_per_part
    whole = (exact + 1e-9) // 1.0
    none = whole < 1.0
    return Lasting(whole * (1 - none) + exact * none, (PART_OUTLASTS,) if mostly(none) else ())
