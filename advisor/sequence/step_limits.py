"""Limits that show only in a whole step: the heat under its contact, the stroke its wheel wears through."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from advisor.figures.coefficients import Values
from advisor.figures.media_life import radius_lost, stroke_left, volume_for
from advisor.figures.warming import warming
from advisor.sequence.candidate import Candidate
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.limits import Unmet
from advisor.sequence.surface import PlannedStep
from advisor.units import figure


@dataclass(frozen=True, slots=True)
class _Room:
    """What a candidate may do without a closer look: so much metal a part (m3), and whether at any feed."""

    candidate: Candidate
    volume: float
    cool: bool


class StepLimits:
    """Holds the steps of one feature against heat and stroke.

    Only the skin under the moving contact counts as a limit of heat: what the part takes up as a whole
    is a matter of letting it cool, which the sheet says. Nearly every step of a search keeps both limits
    with room to spare, which a bound worked out once for a candidate shows at a glance.
    """

    def __init__(self, desk: FeatureDesk, heat: bool = True) -> None:
        """The limits of the steps of a feature; without `heat` only the stroke counts."""
        self._desk = desk
        self._heat = heat
        compliance = desk.job.cell.compliance
        self._stroke = compliance.stroke_mm if compliance else None
        self._rooms: dict[int, _Room] = {}

    def kept(self, step: PlannedStep) -> bool:
        """Whether a step keeps all of them."""
        room = self._room(step.candidate)
        return (step.volume <= room.volume and (room.cool or step.strip is not None)) or not any(
            True for _ in self.unmet(step)
        )

    def too_hot_alone(self, step: PlannedStep) -> bool:
        """Whether heat is the one limit that a step does not keep."""
        return [item.limit for item in self.unmet(step)] == ["heat"]

    def unmet(self, step: PlannedStep) -> Iterator[Unmet]:
        """The limits that a step does not keep. On a strip, what warms most goes with the cut: no limit."""
        if self._stroke is not None and step.volume > self._room(step.candidate).volume:
            yield self._out_of_stroke(step, self._stroke)
        if step.strip is None and self._heat:
            yield from self._too_hot(step)

    def _room(self, candidate: Candidate) -> _Room:
        known = self._rooms.get(id(candidate))
        if known is None:
            values = self._values(candidate)
            volume = math.inf
            if self._stroke is not None:
                left = float(stroke_left(values, self._stroke / 1e3))
                shrinks = "wheel_wear_ratio" in values
                volume = float(volume_for(candidate.setup, values, left)) if shrinks else math.inf
                volume = volume if left > 0 else -1.0
            setup = candidate.setup
            hottest = warming(setup, candidate.effect, values, setup.slowest_feed, 1.0)
            cool = hottest is None or float(hottest.passing or 0.0) < hottest.limit
            known = self._rooms[id(candidate)] = _Room(candidate, volume, cool)
        return known

    def _out_of_stroke(self, step: PlannedStep, stroke: float) -> Unmet:
        """A compliant tool takes up what parts differ by, and what the wheel loses until it is touched off."""
        setup, values = step.candidate.setup, self._values(step.candidate)
        spent = float(values["part_tolerance_mm"]) + float(values["position_error_mm"])
        needed = spent
        text = (
            f"Parts and path differ by about {figure(spent)} mm; the compliant tool has a stroke of "
            f"{figure(stroke)} mm."
        )
        opens = "a compliant tool with a longer stroke, or a better fixture"
        if "wheel_wear_ratio" in values and spent < stroke:
            worn = float(radius_lost(setup, values, step.volume)) * 1e3
            needed = spent + worn
            text = (
                f"A {setup.media.name} loses {figure(worn)} mm of its radius on one part; of the stroke of "
                f"{figure(stroke)} mm parts and path leave {figure(stroke - spent)} mm."
            )
            opens = "a compliant tool with a longer stroke, a media that does not shrink, or less to take off"
        return Unmet(setup.media.key, "stroke", needed, stroke, "mm", text, opens)

    def _too_hot(self, step: PlannedStep) -> Iterator[Unmet]:
        candidate = step.candidate
        setup, values = candidate.setup, self._values(candidate)
        found = warming(setup, candidate.effect, values, step.feed, step.cutting)
        if found is None or float(found.passing or 0.0) < found.limit:
            return
        rise = float(found.passing or 0.0)
        grade = f"{candidate.grade.name} " if candidate.grade else ""
        text = (
            f"Under a {grade}{candidate.tool.media.name} the skin warms by about {figure(rise)} K; it stands "
            f"{figure(found.limit)} K. {self._desk.alloy.heat_limit_why}"
        )
        opens = "wet work, a softer or a larger wheel, or a media that presses less; less force would only glaze it"
        yield Unmet(candidate.tool.media.key, "heat", rise, found.limit, "K", text, opens)

    def _values(self, candidate: Candidate) -> Values:
        return self._desk.expected(candidate.tool.media, candidate.grain, candidate.grade)
