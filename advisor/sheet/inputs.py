"""What goes into the formulas of a step: each value with its unit and, for a coefficient, its band.

A reason lists every input of its formula, so that a reader with the formula at hand comes to the number.
"""

from __future__ import annotations

from advisor.figures.pressing import groove_depth, pressing, spread_symbol
from advisor.knowledge.reference import Coefficient
from advisor.reasons import Input
from advisor.sequence.plan import FeaturePlan
from advisor.sequence.surface import PlannedStep


def given(value: float, unit: str = "1") -> Input:
    """One value with its unit, to six digits.

    >>> given(45.00000001, "N").value
    45.0
    """
    return Input(value=float(f"{value:.6g}"), unit=unit)


def coefficient(row: Coefficient) -> Input:
    """A coefficient with its 5th, 50th and 95th percentile."""
    return Input(value=row.band.expected, unit=row.unit, low=row.band.low, high=row.band.high)


class StepInputs:
    """The inputs of one step's formulas, by the names that the sheet shows."""

    def __init__(self, plan: FeaturePlan, step: PlannedStep) -> None:
        self._step = step
        self._setup = step.candidate.setup
        candidate = step.candidate
        self._rows = plan.desk.picked(candidate.tool.media, candidate.grain, candidate.grade)
        self._running = pressing(
            candidate.setup, plan.desk.expected(candidate.tool.media, candidate.grain, candidate.grade)
        )

    def coefficient(self, symbol: str) -> Input:
        """A coefficient with its 5th, 50th and 95th percentile."""
        return coefficient(self._rows[symbol])

    def law(self, threshold: bool = True) -> dict[str, Input]:
        """What a grain cuts in a pass, but for the force: metal, grain, speed, feed and threshold.

        On the small width of an edge the pressure is far above the threshold, which then stays out.
        """
        setup, effect = self._setup, self._step.candidate.effect
        found = {
            "grain": given(setup.grade.um if setup.grade else 0.0, "um"),
            "force ratio at P80": self.coefficient("force_ratio_80"),
            "specific energy at P80": self.coefficient("specific_energy_80"),
            "size exponent": self.coefficient("size_effect_exponent"),
            "surface speed": given(setup.speed, "m/s"),
            "feed": given(self._step.feed * 1e3, "mm/s"),
            "media factor": given(setup.media.removal_factor),
        }
        if effect.contact is not None and threshold:
            found["lowest pressure at 200 HV"] = self.coefficient("minimum_pressure_kpa")
            found["hardness of the metal"] = given(setup.alloy.hardness_hv, "HV")
            if setup.tough:
                found["tough grain factor"] = self.coefficient("tough_grain_factor")
        return found

    def wheel(self) -> dict[str, Input]:
        """What gives the contact of a rubber wheel with the face, but for the force and the belt."""
        setup, running = self._setup, self._running
        if setup.hardness is None or running is None:
            return {}
        found = {
            "wheel hardness": given(setup.hardness, "Shore A"),
            "radius of wheel and face together": given(float(running.radius) * 1e3, "mm"),
            "cover": given(setup.cover_thickness * 1e3, "mm"),
            "harder at speed": given(float(running.thrown)),
        }
        if setup.lands is not None:
            found["softer for its grooves"] = given(float(running.grooved))
        if setup.across is not None:
            found["radius across, wheel and face together"] = given(setup.across * 1e3, "mm")
            found["contact width"] = given(setup.contact_width * 1e3, "mm")
        return found

    def thrown_cover(self) -> dict[str, Input]:
        """What makes a cover act harder at speed."""
        setup = self._setup
        return {
            "wheel hardness": given(setup.hardness or 0.0, "Shore A"),
            "true modulus over that of the hardness": self.coefficient(spread_symbol(setup)),
            "cover": given(setup.cover_thickness * 1e3, "mm"),
            "diameter": given(setup.diameter * 1e3, "mm"),
            "surface speed": given(setup.speed, "m/s"),
            "density of the cover": self.coefficient("cover_density_kg_m3"),
            "share of the pull that stiffens": self.coefficient("spin_stiffening_share"),
        }

    def land_share(self) -> dict[str, Input]:
        """How much of a serrated face is land."""
        lands = self._setup.lands
        assert lands is not None
        return {
            "land over land and groove": given(lands.share),
            "lands against the table": self.coefficient("land_spread"),
        }

    def grooves(self) -> dict[str, Input]:
        """What makes a serrated cover softer."""
        setup = self._setup
        assert setup.lands is not None
        return {
            **self.land_share(),
            "land width": given(setup.lands.width * 1e3, "mm"),
            "groove depth": given(groove_depth(setup.lands, setup.cover_thickness) * 1e3, "mm"),
            "cover": given(setup.cover_thickness * 1e3, "mm"),
            "shape constant of the rubber": self.coefficient("land_shape_constant"),
        }

    def tight_belt(self) -> dict[str, Input]:
        """How tight the belt runs: as the cell says, or as usual."""
        setup = self._setup
        tension = (
            self.coefficient("belt_tension_n_mm")
            if setup.tension is None
            else given(setup.tension / 1e3, "N/mm")
        )
        return {
            "tension at rest": tension,
            "mass of the belt": self.coefficient("belt_mass_kg_m2"),
            "surface speed": given(setup.speed, "m/s"),
        }

    def patch(self) -> dict[str, Input]:
        """The contact as it presses on the sheet: its pressure and half of its length with the travel."""
        touching = self._step.candidate.effect.contact
        if touching is None:
            return {}
        return {
            "pressure": given(float(touching.mean_pressure) / 1e3, "kPa"),
            "half-width": given(float(touching.half_width) * 1e3, "mm"),
        }

    def pressure(self) -> dict[str, Input]:
        """The mean pressure on the grain, where a rubber wheel presses it."""
        touching = self._step.candidate.effect.contact
        return {} if touching is None else {"pressure": given(float(touching.grain_pressure) / 1e3, "kPa")}

    def force_per_width(self) -> Input:
        """The force per width of the contact."""
        return given(self._setup.line_load / 1e3, "N/mm")

    def pass_depth(self, feed: float) -> Input:
        """The depth of one pass at a feed (m/s), overlapping strokes counted together."""
        step = self._step
        lapped = 1.0 if step.local else 1.0 / (1.0 - self._setup.overlap)
        return given(float(step.candidate.effect.depth(feed)) * lapped * 1e6, "um")

    def passes(self) -> Input:
        """How often each spot is gone over."""
        return given(self._step.passes)

    def overlap(self) -> Input:
        """How much of the width lies over the stroke before."""
        return given(self._setup.overlap * 100.0, "%")

    def heat_share(self) -> dict[str, Input]:
        """What of the power goes into the part, and how heat runs in its metal."""
        setup = self._setup
        alloy = setup.alloy
        return {
            "power": given(float(self._step.candidate.effect.power), "W"),
            "surface speed": given(setup.speed, "m/s"),
            "conductivity": given(alloy.conductivity, "W/(m K)"),
            "density": given(alloy.density, "g/cm3"),
            "specific heat": given(alloy.specific_heat, "J/(kg K)"),
            "conductivity of the grain": self.coefficient("grain_conductivity"),
            "contact of a grain": self.coefficient("grain_contact_radius_um"),
        }

    def passing(self) -> dict[str, Input]:
        """The contact that moves over the face: its force, how fast it goes, what stands behind it."""
        setup = self._setup
        found = {
            "force": given(setup.force, "N"),
            "feed": given(self._step.feed * 1e3, "mm/s"),
            **self.patch(),
        }
        if setup.face.wall is not None:
            found["wall"] = given(setup.face.wall * 1e3, "mm")
        return found

    def metal_behind(self) -> dict[str, Input]:
        """What takes up the heat: the wall behind the face, the part as a whole, or both."""
        face = self._setup.face
        found = {"area": given(face.area * 1e4, "cm2")}
        if face.wall is not None:
            found["wall"] = given(face.wall * 1e3, "mm")
        if face.mass is not None:
            found["mass"] = given(face.mass, "kg")
        return found
