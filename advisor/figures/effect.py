"""What a set-up does in one pass: contact, depth, floor of roughness, power.

One function for single numbers (the search) and for arrays of draws (the bands).
"""

from __future__ import annotations

from dataclasses import dataclass

from advisor.figures.coefficients import Values
from advisor.figures.pressing import Touch, pressing
from advisor.figures.setup import Setup
from advisor.process import removal, roughness
from advisor.process.real import Real, power

MICRON = 1e-6
#: Hardness that the depths of webs and buffs are given for.
WEB_HARDNESS = 180.0


@dataclass(frozen=True, slots=True)
class Effect:
    """What one set-up does. Lengths in m, pressures in Pa, power in W.

    `depth_rate` is depth per pass times feed (m2/s) where the depth falls with the feed;
    `fixed_depth` (m) where the table gives it per pass whatever the feed. `floor_ra` is None for a
    media that leaves the roughness as it is. `contact` is None where no rubber wheel touches.
    """

    contact: Touch | None
    force_ratio: Real
    specific_energy: Real
    minimum_pressure: Real
    depth_rate: Real
    fixed_depth: Real | None
    floor_ra: Real | None
    power: Real
    flags: tuple[str, ...]

    def depth(self, feed: Real) -> Real:
        """Depth of one pass at a feed."""
        return self.depth_rate / feed if self.fixed_depth is None else self.fixed_depth


def effect(setup: Setup, values: Values) -> Effect:
    """The effect of a set-up under some values of the coefficients."""
    if setup.media.abrasive in ("web", "compound"):
        return _by_table(setup, values)
    if setup.grade is None:
        return _wire(setup, values)
    return _by_grain(setup, values)


def _by_grain(setup: Setup, values: Values) -> Effect:
    assert setup.grade is not None
    grain = setup.grade.um * MICRON
    mu = removal.force_ratio(values["force_ratio_80"], grain)
    energy = removal.specific_energy(
        values["specific_energy_80"] * 1e9, grain, values["size_effect_exponent"]
    )
    touching = touching_contact(setup, values, setup.line_load)
    tough = values["tough_grain_factor"] if setup.tough else 1.0
    least = removal.minimum_pressure(values["minimum_pressure_kpa"] * 1e3, setup.alloy.hardness_hv, tough)
    pressure = touching.grain_pressure if touching else roughness.REFERENCE_PRESSURE
    # Without a rubber wheel no pressure is known: the media's own factor and limits on load stand for it.
    floor_pressure = 0.0 if touching is None else least
    rate = (
        removal.depth_per_pass(mu, energy, setup.line_load, setup.speed, 1.0, pressure, floor_pressure)
        * setup.media.removal_factor
    )
    floor = (
        roughness.floor_ra(
            values["roughness_c"],
            grain,
            values["roughness_n"],
            values["alloy_roughness_factor"],
            pressure,
            values["pressure_exponent"],
        )
        * setup.media.roughness_factor
    )
    return Effect(
        touching,
        mu,
        energy,
        least,
        rate,
        None,
        floor,
        removal.cutting_power(mu, setup.force, setup.speed),
        touching.flags if touching else (),
    )


def touching_contact(setup: Setup, values: Values, line_load: float) -> Touch | None:
    """The contact of a rubber wheel pressed with a force per width (N/m); None without one."""
    wheel = pressing(setup, values)
    return None if wheel is None else wheel.at(line_load)


def _by_table(setup: Setup, values: Values) -> Effect:
    """Webs and buffs: depth and floor are typed in by grade; no contact figures are invented."""
    kind = "web" if setup.media.abrasive == "web" else "buff"
    softness = (WEB_HARDNESS / setup.alloy.hardness_hv) ** 0.5
    depth = values[f"{kind}_depth_um"] * MICRON * softness * setup.media.removal_factor
    if setup.on_edge:
        depth = depth * values["edge_gain"]
    floor = values[f"{kind}_ra_um"] * MICRON * values["alloy_roughness_factor"] * setup.media.roughness_factor
    mu = values["force_ratio_80"]
    touching = touching_contact(setup, values, setup.line_load)
    return Effect(
        touching,
        mu,
        values["specific_energy_80"] * 1e9,
        0.0,
        0.0,
        depth,
        floor,
        removal.cutting_power(mu, setup.force, setup.speed),
        touching.flags if touching else (),
    )


def _wire(setup: Setup, values: Values) -> Effect:
    """A wire wheel peens and cleans: it takes films off and leaves the scratch as it was."""
    depth = values["wire_depth_um"] * MICRON
    mu = values["force_ratio_80"]
    return Effect(
        None,
        mu,
        values["specific_energy_80"] * 1e9,
        0.0,
        0.0,
        depth,
        None,
        removal.cutting_power(mu, setup.force, setup.speed),
        (),
    )


def whole_valley(ra: Real, values: Values) -> Real:
    """Peak to valley height Rt of a scratch with roughness Ra."""
    return roughness.peak_to_valley(ra, values["rt_over_ra"])


def rougher(first: Real, second: Real) -> Real:
    """The larger of two, for numbers and for draws."""
    return power((first + second + abs(first - second)) / 2.0, 1.0)
