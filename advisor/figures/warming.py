"""How warm a step makes the metal: the skin under the contact, the part as a whole, and what the alloy stands."""

from __future__ import annotations

from dataclasses import dataclass, replace

from advisor.figures.coefficients import Values
from advisor.figures.effect import MICRON, Effect, rougher, touching_contact
from advisor.figures.pressing import Touch
from advisor.figures.setup import Setup
from advisor.process import heat
from advisor.process.real import Real

#: Temperature (degrees Celsius) at which a part comes to a step: steps of a batch leave it time to cool.
ROOM = 20.0


@dataclass(frozen=True, slots=True)
class Warming:
    """Rises in K. `passing` is None without a contact wheel, `bulk` where neither wall nor mass is known.

    `limit` is the rise the alloy stands, `wanted` how many times the rise should fit below it.
    `power_in` is what goes into the part (W). `passing_flags` and `bulk_flags` are the doubts about either figure.
    """

    passing: Real | None
    bulk: Real | None
    limit: float
    wanted: Real
    power_in: Real
    passing_flags: tuple[str, ...]
    bulk_flags: tuple[str, ...]

    @property
    def rise(self) -> Real:
        """Both together: the contact passes over metal that is already warm."""
        return (0.0 if self.passing is None else self.passing) + (0.0 if self.bulk is None else self.bulk)

    @property
    def margin(self) -> Real:
        """How many times the rise fits below the limit."""
        return heat.heat_margin(ROOM + self.limit, ROOM, self.rise)


def warming(setup: Setup, effect: Effect, values: Values, feed: Real, time: Real) -> Warming | None:
    """What a set-up does at a `feed` (m/s) over a cutting `time` (s); None where nothing can be said.

    The part is taken to come to the step at room temperature, to give nothing to gripper or fixture, and
    to take in all heat that the grains do not; the last two are the safe side. The skin is that of the face
    which stays: what stands proud of it warms more (`proud_rise`) and goes with the cut.
    """
    alloy = setup.alloy
    share, spread = _into_part(setup, values)
    passing = _passing(setup, effect, feed, share, spread)
    bulk = _bulk(setup, share * effect.power, values, time, spread)
    if passing is None and bulk is None:
        return None
    return Warming(
        passing=passing.rise if passing else None,
        bulk=bulk.rise if bulk else None,
        limit=alloy.heat_limit_c - ROOM,
        wanted=values["heat_margin"],
        power_in=share * effect.power,
        passing_flags=passing.flags if passing else (),
        bulk_flags=bulk.flags if bulk else (),
    )


def proud_rise(setup: Setup, effect: Effect, values: Values, feed: Real, width: float) -> Real | None:
    """How warm (K) the top of a strip of a `width` (m) gets that takes the whole force; None without a wheel.

    The strip is as wide as the contact at most. Beside it the face is not touched yet.
    """
    if width >= setup.contact_width:
        return None
    touching = touching_contact(replace(setup, across=None), values, setup.force / width)
    if touching is None:
        return None
    return _rise(setup, effect, touching, feed, *_into_part(setup, values)).rise


def _into_part(setup: Setup, values: Values) -> tuple[Real, Real]:
    """The share of the heat that goes into the part, and how fast it spreads there (m2/s)."""
    alloy = setup.alloy
    density = alloy.density * 1e3
    share = heat.heat_into_part(
        alloy.conductivity,
        density,
        alloy.specific_heat,
        setup.speed,
        values["grain_conductivity"],
        values["grain_contact_radius_um"] * MICRON,
    )
    return share, heat.diffusivity(alloy.conductivity, density, alloy.specific_heat)


def _passing(setup: Setup, effect: Effect, feed: Real, share: Real, spread: Real) -> heat.BandRise | None:
    """The skin under the contact of the whole width, as it moves over the face that stays."""
    touching = effect.contact
    if touching is None:
        return None
    return _rise(setup, effect, touching, feed, share, spread)


def _rise(
    setup: Setup, effect: Effect, touching: Touch, feed: Real, share: Real, spread: Real
) -> heat.BandRise:
    width = touching.area(setup.force) / (2.0 * touching.half_width)
    flux = heat.heat_flux(effect.power, share, width, touching.half_width)
    found = heat.band_rise(flux, touching.half_width, feed, setup.alloy.conductivity, spread)
    if setup.face.wall is None:
        return found
    factor = heat.wall_factor(touching.half_width, feed, setup.face.wall, spread)
    return replace(found, rise=found.rise * factor)


def _bulk(setup: Setup, power_in: Real, values: Values, time: Real, spread: Real) -> heat.BulkRise | None:
    """The metal behind the face where the wall is known, never cooler than the part as a whole."""
    face, alloy = setup.face, setup.alloy
    whole = None
    if face.mass is not None:
        whole = heat.heating_rate(power_in, face.mass, alloy.specific_heat) * time
    if face.wall is None:
        return None if whole is None else heat.BulkRise(whole, ())
    behind = alloy.density * 1e3 * face.area * face.wall
    evening = heat.evening_time(face.wall, spread)
    found = heat.bulk_rise(
        power_in, time, behind, alloy.specific_heat, values["air_film"], 2.0 * face.area, evening
    )
    if whole is None:
        return found  # nobody knows whether there is more metal than that of the face
    nearby = found.rise * heat.plate_share(face.area, time, spread)
    return replace(found, rise=rougher(nearby, whole))
