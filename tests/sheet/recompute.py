"""Works a number of the sheet out again from nothing but the inputs that its reason states."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from advisor.process import (
    belt,
    contact,
    elliptic,
    heat,
    lands,
    local,
    removal,
    roughness,
    shrinking,
    speed,
    timing,
    wear,
)
from advisor.process.real import Real

Stated = Mapping[str, float]


def _law(given: Stated) -> Callable[[Real, Real], Real]:
    """Depth (m) of one pass under a force per width (N/m) and a pressure (Pa)."""
    grain = given["grain"] * 1e-6
    ratio = removal.force_ratio(given["force ratio at P80"], grain)
    energy = removal.specific_energy(given["specific energy at P80"] * 1e9, grain, given["size exponent"])
    least: Real = 0.0
    if "lowest pressure at 200 HV" in given:
        least = removal.minimum_pressure(
            given["lowest pressure at 200 HV"] * 1e3,
            given["hardness of the metal"],
            given.get("tough grain factor", 1.0),
        )

    def depth(line_load: Real, pressure: Real) -> Real:
        once = removal.depth_per_pass(
            ratio, energy, line_load, given["surface speed"], given["feed"] / 1e3, pressure, least
        )
        return once * given["media factor"]

    return depth


def _lapped(given: Stated) -> float:
    return 1.0 / (1.0 - given["overlap"] / 100.0)


def depth_per_pass(given: Stated) -> float:
    once = _law(given)(given["force per width"] * 1e3, given.get("pressure", 80.0) * 1e3)
    return float(once) * given["passes"] * _lapped(given) * 1e6


def _table(given: Stated) -> float:
    if "media factor" not in given:
        return given["depth of a pass"]
    soft = math.sqrt(given["hardness it is given for"] / given["hardness of the metal"])
    return given["depth of a pass"] * soft * given["media factor"]


def table_depth(given: Stated) -> float:
    return _table(given) * given["passes"] * _lapped(given)


def strip_passes(given: Stated) -> float:
    law = _law(given) if "force ratio at P80" in given else lambda line_load, pressure: _table(given) * 1e-6
    height, left = given["height"] * 1e-6, given["height handed over"] * 1e-6
    strip, width = given["strip"] / 1e3, given["contact width"] / 1e3
    if "wheel hardness" not in given:  # the strip is taken to carry the whole force
        once = float(law(given["force"] / strip, 80e3))
        return max(1, math.ceil((height - left) / once - 1e-6))
    modulus = _modulus(given)
    radius, cover = given["radius of wheel and face together"] / 1e3, given["cover"] / 1e3

    def depth(line_load: Real) -> Real:
        bare = contact.line_contact(line_load, radius, modulus, cover)
        tight = belt.belt_tightening(_running(given), modulus, bare.half_width)
        land = _land_share(given) if "land over land and groove" in given else 1.0
        return law(line_load, bare.mean_pressure * tight.mean_factor / land)

    plan = local.strip(
        height=height,
        hand_over=left,
        strip_width=strip,
        wheel_width=width,
        force=given["force"],
        relative_radius=radius,
        plane_modulus=modulus,
        cover_thickness=cover,
        depth=depth,
    )
    return max(1, math.ceil(float(plan.passes) - 1e-6))


def edge_passes(given: Stated) -> float:
    if "gain on an edge" in given:
        once = _table(given) * given["gain on an edge"] * 1e-6
    else:
        once = float(_law(given)(given["force"] / (given["burr"] / 1e3), 80e3))
    return max(1, math.ceil(given["height"] * 1e-6 / once - 1e-6))


def whole_passes(given: Stated) -> float:
    fewest, most = math.ceil(given["fewest passes"] - 1e-9), int(given["most passes"] + 1e-9)
    depth = given["depth of a pass at the feed set"]
    return min(most, max(1, fewest, math.ceil(given["stock"] / depth - 1e-5)))


def trimmed_feed(given: Stated) -> float:
    exact = timing.trimmed_feed(
        given["feed set"], given["passes"], given["depth of a pass at the feed set"], given["stock"]
    )
    return min(max(float(exact), given["slowest feed"]), given["fastest feed"])


def floor_ra(given: Stated) -> float:
    found = roughness.floor_ra(
        given["factor of the grade"],
        given["grain"] * 1e-6,
        given["exponent of the grade"],
        given["metal factor"],
        given.get("pressure", 110.0) * 1e3,
        given.get("exponent of the pressure", 0.0),
    )
    return float(found) * given["media factor"] * 1e6


def ra_after(given: Stated) -> float:
    decay = roughness.decay_depth(given["Rt before"], given["decay over Rt"])
    return float(roughness.ra_after(given["removed"], given["Ra before"], given["floor"], decay))


def area_time(given: Stated) -> float:
    cutting = timing.area_time(
        given["area"] * 1e-4, given["step-over"] / 1e3, given["feed"] / 1e3, given["passes"]
    )
    return float(timing.step_time(cutting, given["fixed time"]))


def strip_time(given: Stated) -> float:
    cutting = timing.strip_time(given["length"] / 1e3, given["feed"] / 1e3, given["passes"])
    return float(timing.step_time(cutting, given["fixed time"]))


def _modulus(given: Stated) -> float:
    """The plane modulus (Pa) of the cover as it runs."""
    at_rest = contact.plane_modulus(contact.young_modulus(given["wheel hardness"]))
    return float(at_rest) * given["harder at speed"] * given.get("softer for its grooves", 1.0)


def line_contact(given: Stated) -> float:
    found = contact.line_contact(
        given["force per width"] * 1e3,
        given["radius of wheel and face together"] / 1e3,
        _modulus(given),
        given["cover"] / 1e3,
    )
    return float(found.mean_pressure) / 1e3


def spot_contact(given: Stated) -> float:
    found = elliptic.spot_contact(
        given["force per width"] * given["contact width"],
        given["radius of wheel and face together"] / 1e3,
        given["radius across, wheel and face together"] / 1e3,
        _modulus(given),
        given["cover"] / 1e3,
    )
    return float(found.mean_pressure) / 1e3


def spin_stiffening(given: Stated) -> float:
    pull = belt.centrifugal_pressure(
        given["density of the cover"],
        given["cover"] / 1e3,
        given["surface speed"],
        given["diameter"] / 2e3,
    )
    solid = contact.plane_modulus(contact.young_modulus(given["wheel hardness"]))
    return float(
        belt.spin_stiffening(
            pull,
            solid * given["true modulus over that of the hardness"],
            given["share of the pull that stiffens"],
        )
    )


def _land_share(given: Stated) -> float:
    return given["land over land and groove"] * given["lands against the table"]


def grooved_cover(given: Stated) -> float:
    groove, width = given["groove depth"] / 1e3, given["land width"] / 1e3
    own = lands.grooved_share(given["shape constant of the rubber"], width, groove, _land_share(given))
    return float(lands.grooved_cover(own, groove, given["cover"] / 1e3))


def _running(given: Stated) -> float:
    """The tension (N/m) that the running belt has left."""
    return float(
        belt.running_tension(
            given["tension at rest"] * 1e3, given["mass of the belt"], given["surface speed"]
        )
    )


def belt_tightening(given: Stated) -> float:
    half = given["half-width of the bare wheel"] / 1e3
    tight = belt.belt_tightening(_running(given), given["modulus"] * 1e6, half)
    return given["pressure of the bare wheel"] * float(tight.mean_factor)


def land_pressure(given: Stated) -> float:
    return float(lands.land_pressure(given["pressure of the contact"], _land_share(given)))


def _into_part(given: Stated) -> tuple[float, float]:
    """The power into the part (W) and the diffusivity of its metal (m2/s)."""
    metal = given["conductivity"], given["density"] * 1e3, given["specific heat"]
    share = heat.heat_into_part(
        *metal,
        given["surface speed"],
        given["conductivity of the grain"],
        given["contact of a grain"] * 1e-6,
    )
    return float(share) * given["power"], float(heat.diffusivity(*metal))


def band_rise(given: Stated) -> float:
    power, spread = _into_part(given)
    half, feed = given["half-width"] / 1e3, given["feed"] / 1e3
    flux = power * given["pressure"] * 1e3 / given["force"]  # over the area that the force is spread on
    found = heat.band_rise(flux, half, feed, given["conductivity"], spread)
    wall = heat.wall_factor(half, feed, given["wall"] / 1e3, spread) if "wall" in given else 1.0
    return float(found.rise * wall)


def proud_rise(given: Stated) -> float:
    power, spread = _into_part(given)
    load, feed = given["force"] / (given["strip"] / 1e3), given["feed"] / 1e3
    radius, cover = given["radius of wheel and face together"] / 1e3, given["cover"] / 1e3
    bare = contact.line_contact(load, radius, _modulus(given), cover)
    tight = belt.belt_tightening(_running(given), _modulus(given), bare.half_width)
    half = float(bare.half_width * tight.half_width_factor)
    flux = heat.heat_flux(power, 1.0, given["strip"] / 1e3, half)
    wall = heat.wall_factor(half, feed, given["wall"] / 1e3, spread) if "wall" in given else 1.0
    return float(heat.band_rise(flux, half, feed, given["conductivity"], spread).rise * wall)


def bulk_rise(given: Stated) -> float:
    power, spread = _into_part(given)
    area, time, specific = given["area"] * 1e-4, given["time"], given["specific heat"]
    whole = float(heat.heating_rate(power, given["mass"], specific)) * time if "mass" in given else None
    if "wall" not in given:
        assert whole is not None
        return whole
    wall = given["wall"] / 1e3
    found = heat.bulk_rise(
        power,
        time,
        given["density"] * 1e3 * area * wall,
        specific,
        given["air film"],
        2.0 * area,
        heat.evening_time(wall, spread),
    )
    if whole is None:
        return float(found.rise)
    return max(float(found.rise * heat.plate_share(area, time, spread)), whole)


def _fading(given: Stated) -> float:
    return float(
        wear.cutting_volume_of_belt(
            given["metal over abrasive lost"],
            given["belt length"] * given["belt width"] / 1e3,
            given["grain"] * 1e-6,
            given["part of a grain that wears"],
        )
    )


def volume_at_share(given: Stated) -> float:
    volume = float(wear.volume_at_share(given["cut left"], _fading(given)))
    return volume * 1e9 / given["metal of a part"]


def change_point(given: Stated) -> float:
    best = wear.change_point(
        given["price of a belt"],
        given["machine for an hour"] / 3600.0,
        given["change"],
        given["first cut rate"] * 1e-9,
        _fading(given),
    )
    return max(float(best.share), wear.DULLEST)


def parts_of_a_wheel(given: Stated) -> float:
    lost = shrinking.wheel_volume(given["diameter"] / 1e3, given["last diameter"] / 1e3, given["width"] / 1e3)
    return given["metal over wheel lost"] * float(lost) * 1e9 / given["metal of a part"]


def parts_by_time(given: Stated) -> float:
    life = math.sqrt(given["shortest life"] * given["longest life"]) * 60.0
    return life / given["cutting time of a part"]


#: What each formula of a step gives, from its stated inputs, in the unit of the sheet.
FORMULAS: dict[str, Callable[[Stated], float]] = {
    "force": lambda given: given["force per width"] * given["contact width"],
    "rotational_speed": lambda given: float(
        speed.rotational_speed(given["surface speed"], given["diameter"] / 1e3)
    ),
    "cutting_power": lambda given: given["force ratio"] * given["force"] * given["surface speed"],
    "remaining": lambda given: max(0.0, given["depth before"] - given["removed"]),
    "height_taken": lambda given: given["height before"] - given["height left"],
    "table_ra": lambda given: given["Ra of the grade"] * given["metal factor"] * given["media factor"],
    **{
        each.__name__: each
        for each in (
            depth_per_pass, table_depth, strip_passes, edge_passes, whole_passes, trimmed_feed, floor_ra,
            ra_after, area_time, strip_time, line_contact, spot_contact, spin_stiffening, grooved_cover,
            belt_tightening, land_pressure, band_rise, proud_rise, bulk_rise, volume_at_share, change_point,
            parts_of_a_wheel, parts_by_time,
        )
    },
}  # fmt: skip
