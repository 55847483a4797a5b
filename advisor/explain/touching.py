"""The contact of a rubber wheel as terms: hardness, grooves, speed and curvature, then the belt, then the lands."""

from __future__ import annotations

import math
from dataclasses import dataclass

from advisor.explain.terms import Term, Terms
from advisor.figures.pressing import groove_depth, spread_symbol
from advisor.figures.setup import Setup
from advisor.process import contact, elliptic
from advisor.process.real import Real, positive_part, power, smaller

_JOHNSON = ("johnson-contact",)
_OWN = ("own-estimate",)


@dataclass(frozen=True, slots=True)
class Touching:
    """The terms of the contact of one set-up under a force per width."""

    setup: Setup
    terms: Terms
    line_load: Term
    width: Term
    speed: Term
    diameter: Term

    # ------------------------------------------------------------------ the cover
    def modulus(self) -> Term:
        """The plane modulus of the cover as it runs."""
        setup, terms = self.setup, self.terms
        shore = Terms.given("hardness of the cover", "S", "Shore A", setup.hardness or 0.0)
        young = Terms.formula(
            "young_modulus", "modulus of the cover", "E", "MPa",
            "0.0981 * (56 + 7.62336 * S) / (0.137505 * (254 - 2.54 * S))",
            lambda s: contact.young_modulus(s) / 1e6, (shore,), "Young's modulus from the hardness (Gent).",
            ("gent-1958",),
        )  # fmt: skip
        spread = terms.coefficient(spread_symbol(setup), "y")
        solid = Terms.formula(
            "plane_modulus", "modulus at rest where it cannot spread", "Q", "MPa", "y * E / 0.75",
            lambda y, e: y * e / 0.75, (spread, young), "Rubber keeps its volume, so it acts a third stiffer.",
            _JOHNSON,
        )  # fmt: skip
        thrown = Terms.formula(
            "spin_stiffening", "harder at speed", "j", "1", "1 + a * 2e-6 * g * h * v ** 2 / (D * Q)",
            lambda a, g, h, v, d, q: 1 + a * 2e-6 * g * h * v * v / (d * q),
            (
                terms.coefficient("spin_stiffening_share", "a"), terms.coefficient("cover_density_kg_m3", "g"),
                self._cover(), self.speed, self.diameter, solid,
            ),
            "The cover is thrown outward, which stiffens it a little.", ("common-practice", *_OWN),
        )  # fmt: skip
        if setup.lands is None:
            return Terms.formula(
                "running_modulus", "modulus as it runs", "M", "MPa", "Q * j", lambda q, j: q * j, (solid, thrown),
                "The cover as it runs.", _JOHNSON,
            )  # fmt: skip
        return Terms.formula(
            "running_modulus", "modulus as it runs", "M", "MPa", "Q * j * i", lambda q, j, i: q * j * i,
            (solid, thrown, self._grooved()), "The cover as it runs.", _JOHNSON,
        )  # fmt: skip

    def _grooved(self) -> Term:
        lands = self.setup.lands
        assert lands is not None
        depth = groove_depth(lands, self.setup.cover_thickness)
        share = Terms.formula(
            "grooved_share", "stiffness of the lands over that of solid rubber", "z", "1",
            "min(1, s * (1 + k * (u / (2 * e)) ** 2))",
            lambda s, k, u, e: smaller(s * (1 + k * (u / (2 * e)) * (u / (2 * e))), 1.0 + 0.0 * s),
            (
                self.land_share(), self.terms.coefficient("land_shape_constant", "k"),
                Terms.given("width of a land", "u", "mm", lands.width * 1e3),
                Terms.given("depth of a groove", "e", "mm", depth * 1e3),
            ),
            "Lands bulge into their grooves (Gent and Lindley).", ("gent-lindley-1959",),
        )  # fmt: skip
        return Terms.formula(
            "grooved_cover", "softer for its grooves", "i", "1", "1 / (1 + e / h * (1 / z - 1))",
            lambda e, h, z: 1 / (1 + e / h * (1 / z - 1)),
            (Terms.given("depth of a groove", "e", "mm", depth * 1e3), self._cover(), share),
            "Lands and the solid rubber below them give way one behind the other.", ("common-practice",),
        )  # fmt: skip

    def land_share(self) -> Term:
        """How much of a serrated face is land."""
        lands = self.setup.lands
        assert lands is not None
        usual = Terms.given("land over land and groove, usual", "o", "1", lands.share)
        return Terms.formula(
            "land_share", "share of the face that is land", "s", "1", "o * r", lambda o, r: o * r,
            (usual, self.terms.coefficient("land_spread", "r")), "As usual for this face; measure your own.",
            ("common-practice",),
        )  # fmt: skip

    def _cover(self) -> Term:
        return Terms.given("thickness of the cover", "h", "mm", self.setup.cover_thickness * 1e3)

    def _radius(self) -> Term:
        face = self.setup.face
        if face.shape == "flat" or face.radius is None:
            return Terms.formula(
                "relative_radius", "relative radius", "R", "mm", "D / 2", lambda d: d / 2, (self.diameter,),
                "On a flat, the radius of the wheel.", _JOHNSON,
            )  # fmt: skip
        curve = Terms.given("radius of the face", "r", "mm", face.radius * 1e3)
        sign = -1 if face.shape == "concave" else 1
        equation = f"1 / (2 / D {'-' if sign < 0 else '+'} 1 / r)"
        return Terms.formula(
            "relative_radius", "relative radius", "R", "mm", equation,
            lambda d, r: 1 / (2 / d + sign / r), (self.diameter, curve),
            "The wheel that presses on a flat as this one does on the curve.", _JOHNSON,
        )  # fmt: skip

    # ------------------------------------------------------------------ the contact
    def bare(self) -> tuple[Term, Term | None]:
        """Half of the contact's length with the travel, and across it on a spot; the cover alone."""
        return self._straight() if self.setup.across is None else self._spot()

    def _straight(self) -> tuple[Term, None]:
        thick = Terms.formula(
            "half_width_thick", "half-width on a thick cover", "B", "mm", "(4 * q * R / (pi * M)) ** 0.5",
            lambda q, r, m: power(4 * q * r / (math.pi * m), 0.5),
            (self.line_load, self._radius(), self.modulus()),
            "Hertz, for a straight contact of rubber that cannot spread along it.", _JOHNSON,
        )  # fmt: skip
        return Terms.formula(
            "half_width_bare", "half-width of the bare wheel", "N", "mm", "B * (1 + 2.619 * (B / h) ** 2) ** -0.1775",
            lambda b, h: b * power(1 + 2.619 * (b / h) * (b / h), -0.1775), (thick, self._cover()),
            "A cover on a rigid hub makes it narrower.", ("gent-1958", *_JOHNSON),
        ), None  # fmt: skip

    def _spot(self) -> tuple[Term, Term]:
        along, across = self._radius(), self.setup.across or 0.0
        wide = across * 1e3 >= along.value
        larger, smaller_ = max(across * 1e3, along.value), min(across * 1e3, along.value)
        shape = elliptic.spot_shape(larger / smaller_)
        ratio, complete, share = (float(each) for each in shape)
        told = "From the ratio of the radii, by the elliptic integrals."
        long = Terms.formula(
            "long_half_axis", "long half-axis on a thick cover", "A", "mm",
            "(3 * q * w * K * s * L / (pi * M)) ** (1 / 3)",
            lambda q, w, k, s, big, m: power(3 * q * w * k * s * big / (math.pi * m), 1 / 3),
            (
                self.line_load, self.width, Terms.given("integral K", "K", "1", complete, told),
                Terms.given("share (K - E) / (e2 K)", "s", "1", share, told),
                Terms.given("larger of the relative radii", "L", "mm", larger), self.modulus(),
            ),
            "Hertz, for faces that curve both ways.", _JOHNSON,
        )  # fmt: skip
        slim = Terms.given("short over long axis", "x", "1", ratio, told)
        thin = "(1 + 2.382 * (A * x ** 0.5 / h) ** 2.935) ** -0.0725"

        def shrunk(a: Real, x: Real, h: Real) -> Real:
            return power(1 + 2.382 * power(a * power(x, 0.5) / h, 2.935), -0.0725)

        def half(name: str, symbol: str, is_long: bool) -> Term:
            equation = f"A * {thin}" if is_long else f"A * x * {thin}"
            return Terms.formula(
                "spot_contact", name, symbol, "mm", equation,
                lambda a, x, h: a * shrunk(a, x, h) if is_long else a * x * shrunk(a, x, h),
                (long, slim, self._cover()), "A cover on a rigid hub makes the spot smaller.", _OWN,
            )  # fmt: skip

        return half("half-width of the bare wheel", "N", not wide), half(
            "half of the width that touches", "c", wide
        )

    def half_width(self) -> Term:
        """Half of the contact's length with the travel, under the belt."""
        bare, _ = self.bare()
        setup = self.setup
        tension = (
            self.terms.coefficient("belt_tension_n_mm", "T")
            if setup.tension is None
            else Terms.given("tension of the belt at rest", "T", "N/mm", setup.tension / 1e3)
        )
        running = Terms.formula(
            "running_tension", "tension left in the running belt", "G", "N/mm", "max(0, T - m * v ** 2 / 1000)",
            lambda t, m, v: positive_part(t - m * v * v / 1000),
            (tension, self.terms.coefficient("belt_mass_kg_m2", "m"), self.speed),
            "Its own mass lifts it off the wheel.", _OWN,
        )  # fmt: skip
        tight = Terms.formula(
            "belt_tightness", "tension against the cover", "t", "1", "G / (M * N)", lambda g, m, n: g / (m * n),
            (running, self.modulus(), bare), "How much the belt counts beside the rubber.", _OWN,
        )  # fmt: skip
        return Terms.formula(
            "belt_tightening", "half-width of the contact", "b", "mm",
            "N * (1 + 0.477 * min(t, 1.5) ** 0.794) ** -3.13 / (1 + max(0, t - 1.5) / 1.5)",
            lambda n, t: n * power(1 + 0.477 * power(t - positive_part(t - 1.5), 0.794), -3.13)
            / (1 + positive_part(t - 1.5) / 1.5),
            (bare, tight), "A tight belt carries over the edges of the contact.", _OWN,
        )  # fmt: skip

    # ------------------------------------------------------------------ the pressure
    def mean_pressure(self) -> Term:
        """The pressure spread over the whole contact."""
        _, across = self.bare()
        if across is not None:
            return Terms.formula(
                "mean_pressure", "mean pressure", "p", "kPa", "1000 * q * w / (pi * b * c)",
                lambda q, w, b, c: 1000 * q * w / (math.pi * b * c),
                (self.line_load, self.width, self.half_width(), across), "The force over the spot.", _JOHNSON,
            )  # fmt: skip
        return Terms.formula(
            "mean_pressure", "mean pressure", "p", "kPa", "1000 * q / (2 * b)", lambda q, b: 1000 * q / (2 * b),
            (self.line_load, self.half_width()), "The force per width over the length of the contact.",
            _JOHNSON,
        )  # fmt: skip

    def grain_pressure(self) -> Term:
        """The pressure on what touches in the contact: on a serrated wheel the lands alone."""
        mean = self.mean_pressure()
        if self.setup.lands is None:
            return mean
        return Terms.formula(
            "land_pressure", "pressure on the lands", "l", "kPa", "p / s", lambda p, s: p / s,
            (mean, self.land_share()),
            "The same force rests on the lands alone.", ("common-practice",),
        )  # fmt: skip
