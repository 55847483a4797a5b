"""How far one belt, disc or wheel goes in a step: it dulls, it wears away, or it lasts for a time.

Belts dull: their cut fades with the metal they have taken, and a change pays at some point. Flap and
non-woven wheels wear away and stay sharp. All other media last for the cutting time of their table row.
"""

from __future__ import annotations

from dataclasses import dataclass

from advisor.figures.coefficients import Values
from advisor.figures.effect import MICRON, Effect, rougher
from advisor.figures.setup import Setup
from advisor.process import shrinking, wear
from advisor.process.real import Real, natural_log, positive_part, quotient, smaller
from advisor.process.speed import diameter_for


@dataclass(frozen=True, slots=True)
class Economy:
    """What a change of media costs: the price of a second at the machine (None: no rates), the change (s)."""

    rate: float | None
    change_s: float


@dataclass(frozen=True, slots=True)
class MediaLife:
    """One belt, disc or wheel over its life.

    Either `volume` (m3 of metal) or `seconds` (of cutting) ends it, the other is None. `price` is that
    of one, in the cell's currency. `cut_left` is the share of its first cut rate when it is changed and
    `dulling` how much longer than fresh it cuts, on the average over its life (1: it stays sharp).
    """

    volume: Real | None
    seconds: Real | None
    price: Real
    cut_left: Real | None
    dulling: Real
    flags: tuple[str, ...] = ()

    def used(self, volume: Real, cutting: Real) -> Real:
        """The share of one media that a part uses up, from the metal (m3) it loses and its cutting time (s)."""
        if self.volume is not None:
            return quotient(volume, self.volume)
        assert self.seconds is not None
        return quotient(cutting, self.seconds)


def media_life(
    setup: Setup, effect: Effect, values: Values, economy: Economy, cut_left: Real | None = None
) -> MediaLife:
    """How far one media of a set-up goes.

    `cut_left` is the share of its first cut rate at which a belt is to be changed, where that is decided;
    otherwise it is found.

    The price of the table is that of the usual width, and goes in proportion to another. A contact narrower
    than the media is taken to be shifted over its whole width in the course of its life.
    """
    media = setup.media
    price = media.price * setup.media_width * 1e3 / media.usual_width_mm
    if "wheel_wear_ratio" in values:
        last = last_diameter(setup, values)
        volume = values["wheel_wear_ratio"] * shrinking.wheel_volume(setup.diameter, last, setup.media_width)
        return MediaLife(volume, None, price, None, 1.0)
    if media.form == "belt" and media.abrasive == "coated" and "g_ratio" in values:
        price = price * values.get("grain_price_factor", 1.0)
        return _dulling(setup, effect, values, economy, price, cut_left)
    low, high = media.life_minutes
    seconds = (low * high) ** 0.5 * 60.0 * values.get("life_spread", 1.0)
    return MediaLife(None, seconds, price, None, 1.0)


def _dulling(
    setup: Setup, effect: Effect, values: Values, economy: Economy, price: Real, cut_left: Real | None
) -> MediaLife:
    """A belt's life: up to where a change costs least, or without rates to where shops change by eye."""
    assert setup.grade is not None
    area = values["belt_length_m"] * setup.media_width
    fading = wear.cutting_volume_of_belt(
        values["g_ratio"], area, setup.grade.um * MICRON, values["usable_layer_share"]
    )
    flags: tuple[str, ...] = ()
    left: Real
    if cut_left is not None:
        left = cut_left
    elif not economy.rate:
        left = values["end_of_life_share"]
    else:
        rate = effect.depth_rate * setup.contact_width
        best = wear.change_point(price, economy.rate, economy.change_s, rate, fading)
        left, flags = rougher(best.share, wear.DULLEST), best.flags
    return MediaLife(
        volume=wear.volume_at_share(left, fading),
        seconds=None,
        price=price,
        cut_left=left,
        dulling=(1.0 / left - 1.0) / natural_log(1.0 / left),
        flags=flags,
    )


def last_diameter(setup: Setup, values: Values) -> Real:
    """The diameter (m) at which a shrinking wheel comes off: its own end, or the rim no longer fast enough."""
    slow = diameter_for(setup.slowest_speed, setup.highest_rpm)
    end = rougher(slow, smallest_diameter(setup, values))
    return smaller(end, setup.diameter + 0.0 * end)


def smallest_diameter(setup: Setup, values: Values) -> Real:
    """The diameter (m) of the worn-out wheel: a share of the new one, or what the station still takes."""
    share = values["last_diameter_share"] * setup.diameter
    return share if setup.station_least is None else rougher(share, setup.station_least)


def touch_off(setup: Setup, values: Values, stroke: float, volume: Real) -> shrinking.Reindex:
    """After how many parts a shrinking wheel is moved in again, and by how much (m).

    `stroke` (m) is the compliant tool's, `volume` (m3) the metal that a part loses in the step.
    """
    return shrinking.reindex(
        stroke_left(values, stroke), setup.diameter, setup.media_width, values["wheel_wear_ratio"], volume
    )


def stroke_left(values: Values, stroke: float) -> Real:
    """What the part's and the path's tolerances leave of a compliant `stroke` (m) for the wheel's wear."""
    return shrinking.stroke_for_wear(
        stroke, values["part_tolerance_mm"] * 1e-3, values["position_error_mm"] * 1e-3, 0.0
    )


def volume_for(setup: Setup, values: Values, worn: Real) -> Real:
    """The metal (m3) that a new shrinking wheel takes while its radius wears by `worn` (m)."""
    last = positive_part(setup.diameter - 2.0 * worn)
    return values["wheel_wear_ratio"] * shrinking.wheel_volume(setup.diameter, last, setup.media_width)


def radius_lost(setup: Setup, values: Values, volume: Real) -> Real:
    """What the radius (m) of a new shrinking wheel loses on a part that gives `volume` (m3)."""
    worn = volume / values["wheel_wear_ratio"]
    return (setup.diameter - shrinking.diameter_after(setup.diameter, worn, setup.media_width)) / 2.0


def trimmed_force(setup: Setup, values: Values, diameter: float) -> tuple[float, tuple[str, ...]]:
    """The force (N) at which a worn wheel presses as hard as it did when new, and the doubts."""
    core = float(values["core_diameter_share"]) * setup.diameter
    stiff = shrinking.stiffness_factor(setup.diameter, diameter, core, float(values["stiffening_exponent"]))
    trim = float(shrinking.force_trim(diameter / setup.diameter, stiff))
    return setup.force * trim, shrinking.stiffness_flags(stiff)
