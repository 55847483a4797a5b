"""How hard a contact wheel presses as it runs: hardness, grooves, speed and belt, on a band or on a spot.

The order is that of the reasons on the sheet: the modulus of the cover, stiffer for its speed and softer for its
grooves; the contact of that cover; narrower and harder under a tight belt; and harder again on the lands alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from advisor.figures.coefficients import Values
from advisor.figures.setup import Lands, Setup
from advisor.process import belt, contact, elliptic, lands
from advisor.process.real import Real, is_plain

#: Above this hardness (Shore A) the published relations spread wider.
HARD_COVER = 75.0
#: Grooves take at most this share of a cover; a thin one is not cut to its hub. Own estimate.
DEEPEST_GROOVE = 0.4
_N_PER_M = 1e3


@dataclass(frozen=True, slots=True)
class Touch:
    """Where wheel and part meet: half of its length with the travel (m), pressures (Pa), approach (m), doubts.

    `mean_pressure` is spread over the whole contact, `grain_pressure` over what touches in it: less than all
    on a serrated wheel. `approach` is that of the bare cover, None where nobody knows it.
    """

    half_width: Real
    mean_pressure: Real
    grain_pressure: Real
    approach: Real | None
    flags: tuple[str, ...]

    def area(self, force: Real) -> Real:
        """The area (m2) of the contact under a force (N)."""
        return force / self.mean_pressure


@dataclass(frozen=True, slots=True)
class Pressing:
    """A contact wheel ready to press on a face: all that does not depend on the force.

    `modulus` (Pa) is that of the cover as it runs, `thrown` and `grooved` the factors in it; `tension` (N/m) is
    what the running belt has left, `land_share` 1 on a plain face.
    """

    setup: Setup
    modulus: Real
    thrown: Real
    grooved: Real
    tension: Real
    land_share: Real
    radius: Real
    doubts: tuple[str, ...]

    def at(self, line_load: Real) -> Touch:
        """The contact under a force per touching width (N/m)."""
        return self.tightened(self.bare(line_load))

    def bare(self, line_load: Real) -> contact.LineContact:
        """The contact of the cover alone, without belt and grooves."""
        setup = self.setup
        if setup.across is None or self.radius == float("inf"):
            return contact.line_contact(line_load, self.radius, self.modulus, setup.cover_thickness)
        force = line_load * setup.contact_width
        spot = elliptic.spot_contact(force, self.radius, setup.across, self.modulus, setup.cover_thickness)
        return contact.LineContact(spot.half_width, spot.peak_pressure, spot.mean_pressure, None, spot.flags)

    def tightened(self, bare: contact.LineContact) -> Touch:
        """What belt and lands make of the bare contact."""
        half, mean, flags = bare.half_width, bare.mean_pressure, (*bare.flags, *self.doubts)
        if contact.CONFORMING not in bare.flags:
            tight = belt.belt_tightening(self.tension, self.modulus, half)
            half, mean = half * tight.half_width_factor, mean * tight.mean_factor
            flags += tight.flags
        grains = mean
        land = self.setup.lands
        if land is not None:
            grains = lands.land_pressure(mean, self.land_share)
            flags += lands.land_flags(half, self.setup.contact_width, land.width, self.land_share)
        return Touch(half, mean, grains, bare.approach, flags)


def pressing(setup: Setup, values: Values) -> Pressing | None:
    """The contact wheel of a set-up under some values of the coefficients; None without a rubber wheel."""
    if setup.hardness is None or not setup.media.contact_wheel:
        return None
    spread = values.get(spread_symbol(setup), 1.0)
    coefficients = (spread, *(values.get(symbol, usual) for symbol, usual in _USUAL))
    prepared = _prepared if all(map(is_plain, coefficients)) else _prepare
    modulus, thrown, grooved, tension, share, doubts = prepared(
        setup.hardness,
        setup.cover_thickness,
        setup.diameter,
        setup.speed,
        setup.lands,
        setup.tension,
        *coefficients,
    )
    radius = contact.relative_radius(setup.diameter / 2, setup.face.radius, setup.face.shape)
    return Pressing(setup, modulus, thrown, grooved, tension, share, radius, doubts)


def spread_symbol(setup: Setup) -> str:
    """The coefficient for how far the true modulus may lie from that of the hardness."""
    return "modulus_spread_hard" if (setup.hardness or 0.0) > HARD_COVER else "modulus_spread"


def groove_depth(land: Lands, cover: float) -> float:
    """How deep (m) the grooves really are in a cover that may be too thin for those of the table."""
    return min(land.depth, DEEPEST_GROOVE * cover)


#: The coefficients that a moving wheel brings in, with what stands where a table leaves one out.
_USUAL = (
    ("belt_tension_n_mm", 0.0),
    ("belt_mass_kg_m2", 0.0),
    ("cover_density_kg_m3", 0.0),
    ("spin_stiffening_share", 0.0),
    ("land_shape_constant", 0.0),
    ("land_spread", 1.0),
)
_Prepared = tuple[Real, Real, Real, Real, Real, tuple[str, ...]]


def _prepare(
    hardness: float,
    cover: float,
    diameter: float,
    speed: float,
    land: Lands | None,
    tension_given: float | None,
    spread: Real,
    tension: Real,
    belt_mass: Real,
    density: Real,
    stiffening: Real,
    shape_constant: Real,
    land_spread: Real,
) -> _Prepared:
    solid = contact.plane_modulus(contact.young_modulus(hardness)) * spread
    pull = belt.centrifugal_pressure(density, cover, speed, diameter / 2)
    thrown = belt.spin_stiffening(pull, solid, stiffening)
    doubts = (*contact.shore_flags(hardness), *belt.spin_flags(pull, solid))
    grooved: Real = 1.0
    share: Real = 1.0
    if land is not None:
        share, groove = land.share * land_spread, groove_depth(land, cover)
        grooved = lands.grooved_cover(
            lands.grooved_share(shape_constant, land.width, groove, share), groove, cover
        )
    at_rest = tension * _N_PER_M if tension_given is None else tension_given
    doubts += belt.tension_flags(at_rest, belt_mass, speed)
    return (
        solid * thrown * grooved, thrown, grooved, belt.running_tension(at_rest, belt_mass, speed), share, doubts,
    )  # fmt: skip


_prepared = lru_cache(maxsize=1024)(_prepare)  # the grades and grains of one wheel share all of it
