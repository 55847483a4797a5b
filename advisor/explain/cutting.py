"""What a set-up does in one pass, as terms: contact, cutting, depth of a pass, floor of roughness, power."""

from __future__ import annotations

import math
from dataclasses import dataclass

from advisor.explain.terms import SOURCES, Term, Terms
from advisor.explain.touching import Touching
from advisor.figures.effect import WEB_HARDNESS
from advisor.figures.setup import Setup
from advisor.process import removal, roughness
from advisor.process.real import power
from advisor.sequence.surface import PlannedStep

_GRAIN_80 = removal.REFERENCE_GRAIN * 1e6
_HARD = removal.REFERENCE_HARDNESS
_PRESSED = roughness.REFERENCE_PRESSURE / 1e3
_TABLE_KIND = {"web": "web", "compound": "buff"}


@dataclass(frozen=True, slots=True)
class Cutting:
    """The terms of one planned step that follow from its set-up."""

    step: PlannedStep
    terms: Terms

    @property
    def setup(self) -> Setup:
        """The set-up in SI."""
        return self.step.candidate.setup

    # ------------------------------------------------------------------ settings
    def line_load(self) -> Term:
        """Force per width."""
        return Terms.given("force per width", "q", "N/mm", self.setup.line_load / 1e3)

    def width(self) -> Term:
        """What of the wheel touches the face."""
        text = f"{self.setup.contact_width * 1e3:g} mm of the wheel's width touch the face."
        return Terms.given("contact width", "w", "mm", self.setup.contact_width * 1e3, text)

    def speed(self) -> Term:
        """Surface speed."""
        return Terms.given("surface speed", "v", "m/s", self.setup.speed)

    def diameter(self) -> Term:
        """The wheel at hand."""
        return Terms.given("diameter of the wheel", "D", "mm", self.setup.diameter * 1e3)

    def feed(self) -> Term:
        """The feed as it stands on the sheet."""
        return Terms.given("feed", "f", "mm/s", self.step.feed * 1e3)

    def overlap(self) -> Term:
        """The overlap of the passes."""
        return Terms.given("overlap of the passes", "o", "%", self.setup.overlap * 100)

    def force(self) -> Term:
        """The normal force."""
        return Terms.formula(
            "force", "force", "F", "N", "q * w", lambda q, w: q * w, (self.line_load(), self.width()),
            "The force per width over the width that touches.", SOURCES["surface_speed"],
        )  # fmt: skip

    def rpm(self) -> Term:
        """The spindle speed before rounding."""
        return Terms.formula(
            "rotational_speed", "spindle speed", "n", "rpm", "60000 * v / (pi * D)",
            lambda v, d: 60000 * v / (math.pi * d), (self.speed(), self.diameter()),
            "The surface speed on the wheel at hand.", SOURCES["surface_speed"],
        )  # fmt: skip

    def step_over(self) -> Term:
        """How far the next pass lies beside this one."""
        return Terms.formula(
            "step_over", "step over", "a", "mm", "w * (1 - o / 100)", lambda w, o: w * (1 - o / 100),
            (self.width(), self.overlap()), "The width that touches less the overlap.", SOURCES["surface_speed"],
        )  # fmt: skip

    # ------------------------------------------------------------------ contact
    def touching(self) -> Touching | None:
        """The contact of the wheel; None without a rubber wheel."""
        if self.step.candidate.effect.contact is None or self.setup.hardness is None:
            return None
        return Touching(self.setup, self.terms, self.line_load(), self.width(), self.speed(), self.diameter())

    def contact(self) -> tuple[Term, ...]:
        """Half the length of the contact and the pressure in it; nothing without a rubber wheel."""
        touching = self.touching()
        return () if touching is None else (touching.half_width(), touching.mean_pressure())

    def pressure(self) -> Term | None:
        """Mean pressure on the grain; None without a rubber wheel."""
        touching = self.touching()
        return None if touching is None else touching.grain_pressure()

    # ------------------------------------------------------------------ the cut
    def force_ratio(self) -> Term:
        """Tangential over normal force."""
        grain = self.grain()
        if grain is None:
            return self.terms.coefficient("force_ratio_80", "mu")
        at_80 = self.terms.coefficient("force_ratio_80", "m")
        return Terms.formula(
            "force_ratio", "force ratio", "mu", "1", f"m * (d / {_GRAIN_80:g}) ** 0.15",
            lambda m, d: removal.force_ratio(m, d * 1e-6), (at_80, grain), "A coarse grain bites, a fine one slides.",
            ("from-memory",),
        )  # fmt: skip

    def grain(self) -> Term | None:
        """The grain size of a coated grade; None for webs, buffs and wire."""
        grade = self.setup.grade
        if grade is None or self.setup.media.abrasive in _TABLE_KIND:
            return None
        return Terms.table("mean grain size", "d", "um", grade.um, grade.source)

    def specific_energy(self, grain: Term) -> Term:
        """The energy it takes to cut a volume of this metal with this grain."""
        at_80, exponent = (
            self.terms.coefficient("specific_energy_80", "U"),
            self.terms.coefficient("size_effect_exponent", "e"),
        )
        return Terms.formula(
            "specific_energy", "specific energy", "u", "J/mm3", f"U * ({_GRAIN_80:g} / d) ** e",
            lambda u, d, e: u * power(_GRAIN_80 / d, e), (at_80, grain, exponent),
            "Fine grains spend more on rubbing.", ("from-memory",),
        )  # fmt: skip

    def cutting_share(self) -> Term | None:
        """The part of the force that cuts; None where no pressure is known."""
        pressure = self.pressure()
        if pressure is None:
            return None
        setup = self.setup
        hardness = Terms.table("hardness", "H", "HV", setup.alloy.hardness_hv, setup.alloy.source)
        base = self.terms.coefficient("minimum_pressure_kpa", "P")
        tough = (
            self.terms.coefficient("tough_grain_factor", "t") if setup.tough
            else Terms.given("factor of the grain", "t", "1", 1.0, "This grain needs no more pressure than others.")
        )  # fmt: skip
        least = Terms.formula(
            "minimum_pressure", "lowest cutting pressure", "n", "kPa", f"P * (H / {_HARD:g}) ** 0.7 * t",
            lambda p, h, t: p * power(h / _HARD, 0.7) * t, (base, hardness, tough),
            "Below this pressure the grains rub and glaze.", ("own-estimate",),
        )  # fmt: skip
        return Terms.formula(
            "cutting_share", "share that cuts", "c", "1", f"max(0, 1 - {least.symbol} / {pressure.symbol})",
            lambda p, m: removal.cutting_share(p, m),
            (pressure, least), "What is pressed beyond the lowest cutting pressure cuts.", ("own-estimate",),
        )  # fmt: skip

    def depth(self, feed: Term) -> Term:
        """The depth of one pass at a feed."""
        setup, terms = self.setup, self.terms
        factor = Terms.table("cut against a belt", "k", "1", setup.media.removal_factor, setup.media.source)
        kind = _TABLE_KIND.get(setup.media.abrasive)
        if kind is not None:
            hardness = Terms.table("hardness", "H", "HV", setup.alloy.hardness_hv, setup.alloy.source)
            if setup.on_edge:
                return Terms.formula(
                    "edge_depth", "depth of a pass", "z", "um", f"T * ({WEB_HARDNESS:g} / H) ** 0.5 * k * e",
                    lambda t, h, k, e: t * power(WEB_HARDNESS / h, 0.5) * k * e,
                    (terms.coefficient(f"{kind}_depth_um", "T"), hardness, factor, terms.coefficient("edge_gain", "e")),
                    "Looked up by grade, scaled to the hardness of the metal, and more on an edge than on a face.",
                    SOURCES["web_depth"],
                )  # fmt: skip
            return Terms.formula(
                "web_depth", "depth of a pass", "z", "um", f"T * ({WEB_HARDNESS:g} / H) ** 0.5 * k",
                lambda t, h, k: t * power(WEB_HARDNESS / h, 0.5) * k,
                (terms.coefficient(f"{kind}_depth_um", "T"), hardness, factor),
                "Looked up by grade and scaled to the hardness of the metal.", SOURCES["web_depth"],
            )  # fmt: skip
        grain = self.grain()
        if grain is None:
            return terms.coefficient("wire_depth_um", "z")
        share = self.cutting_share() or Terms.given(
            "share that cuts",
            "c",
            "1",
            1.0,
            "Without a rubber wheel no pressure is known, and the whole force cuts.",
        )
        inputs = (
            self.force_ratio(), self.line_load(), self.speed(), self.specific_energy(grain), feed, share, factor,
        )  # fmt: skip
        return Terms.formula(
            "depth_per_pass", "depth of a pass", "z", "um", f"1000 * mu * q * v / (u * {feed.symbol}) * c * k",
            lambda mu, q, v, u, f, c, k: 1000 * mu * q * v / (u * f) * c * k, inputs,
            "Power over specific energy is the metal cut in a second; over width and feed it is a depth.",
            SOURCES["depth_per_pass"],
        )  # fmt: skip

    def lap(self) -> Term:
        """How often each spot is met in one pass over the face."""
        return Terms.formula(
            "lap", "times met in a pass", "x", "1", "1 / (1 - o / 100)", lambda o: 1 / (1 - o / 100), (self.overlap(),),
            "Passes that overlap go over each spot more than once.", ("common-practice",),
        )  # fmt: skip

    def power(self) -> Term:
        """What the cut draws."""
        return Terms.formula(
            "cutting_power", "power", "Pc", "W", "mu * F * v", lambda mu, f, v: mu * f * v,
            (self.force_ratio(), self.force(), self.speed()), "Force along the surface times its speed.",
            SOURCES["cutting_power"],
        )  # fmt: skip

    # ------------------------------------------------------------------ roughness
    def floor(self) -> Term | None:
        """The roughness that the grade leaves however long it works; None where the scratch stays."""
        setup, terms = self.setup, self.terms
        if self.step.candidate.effect.floor_ra is None:
            return None
        own = Terms.table(
            "roughness against a belt", "s", "1", setup.media.roughness_factor, setup.media.source
        )
        metal = terms.coefficient("alloy_roughness_factor", "A")
        kind = _TABLE_KIND.get(setup.media.abrasive)
        if kind is not None:
            return Terms.formula(
                "web_floor", "floor of the roughness", "Rf", "um", "T * A * s", lambda t, a, s: t * a * s,
                (terms.coefficient(f"{kind}_ra_um", "T"), metal, own), "Looked up by grade, for this metal.",
                ("own-estimate",),
            )  # fmt: skip
        grain = self.grain()
        assert grain is not None
        pressed = self.pressure() or Terms.given(
            "pressure", "p", "kPa", _PRESSED, "Without a rubber wheel the pressure of the charts is taken."
        )
        return Terms.formula(
            "floor_ra", "floor of the roughness", "Rf", "um",
            f"C * d ** n * A * ({pressed.symbol} / {_PRESSED:g}) ** g * s",
            lambda c, d, n, a, p, g, s: c * power(d, n) * a * power(p / _PRESSED, g) * s,
            (
                terms.coefficient("roughness_c", "C"), grain, terms.coefficient("roughness_n", "n"), metal, pressed,
                terms.coefficient("pressure_exponent", "g"), own,
            ),
            "What a fresh grade leaves on this metal and this support.", SOURCES["floor_ra"],
        )  # fmt: skip
