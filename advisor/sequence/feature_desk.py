"""Everything that stays the same while one feature is planned."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from advisor.choices.decide import Decider, Room
from advisor.choices.model import Choice, RangeChoice
from advisor.figures.coefficients import AlloyPage, Values
from advisor.figures.media_life import Economy
from advisor.figures.setup import Face, Setup
from advisor.job.model import Feature, Job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.reference import Alloy, Coefficient, Grade, Media
from advisor.knowledge.vocabulary import Value
from advisor.process.shrinking import marked_rpm
from advisor.process.speed import surface_speed
from advisor.sequence.curved_twice import lands_of, on_a_spot, radius_across
from advisor.sequence.offers import Tool
from advisor.situations import Facts

#: Where the job gives no area, a face of a hand's size. Own estimate; the sheet lists it as assumed.
ASSUMED_AREA_CM2 = 100.0
#: Width of the contact along an edge.
EDGE_WIDTH_MM = 6.0


@dataclass(slots=True)
class FeatureDesk:
    """The feature, the tools that can reach it, and the numbers looked up for it."""

    job: Job
    feature: Feature
    handling: str
    knowledge: Knowledge
    decider: Decider
    tools: Mapping[str, tuple[Tool, ...]]
    facts: Facts
    page: AlloyPage | None = None
    on_edge: bool = False  # only the edge of the face is worked, where a burr stands

    def at(self, defect: str | None) -> FeatureDesk:
        """The desk at which a defect is worked: a burr stands on an edge, whatever face lies behind it."""
        row = self.knowledge.tables.defects.get(defect or "")
        return self.for_edges() if row is not None and row.on_edge and not self.on_edge else self

    def for_edges(self) -> FeatureDesk:
        """The same desk for the edge of the face: what reaches an edge reaches it, and nothing lies beside."""
        width = min(self.feature.width_mm or EDGE_WIDTH_MM, EDGE_WIDTH_MM)
        edge = {"shape": "edge", "radius_mm": None, "cross_radius_mm": None, "width_mm": width}
        facts = {
            **self.facts, "feature.shape": "edge", "feature.radius_mm": None, "feature.cross_radius_mm": None,
        }  # fmt: skip
        return replace(self, feature=self.feature.model_copy(update=edge), facts=facts, on_edge=True)

    @property
    def alloy(self) -> Alloy:
        """The alloy's row."""
        return self.knowledge.tables.alloys[self.job.alloy]

    @property
    def area_cm2(self) -> float:
        """The area, assumed where the job does not give it."""
        return self.feature.area_cm2 or ASSUMED_AREA_CM2

    def without_learning(self) -> FeatureDesk:
        """The same desk with the published coefficients."""
        return replace(self, page=self.coefficients().published())

    def coefficients(self) -> AlloyPage:
        """The coefficients of this alloy: those of the whole batch, or its own where nobody gave any."""
        if self.page is None:
            self.page = AlloyPage(self.alloy, self.knowledge.tables.coefficients.values())
        return self.page

    def picked(self, media: Media, grain: str | None, grade: Grade | None) -> dict[str, Coefficient]:
        """The coefficients that hold for a set-up."""
        return self.coefficients().picked(media, grain, grade)

    def general(self) -> dict[str, Coefficient]:
        """The coefficients that belong to no step, such as those of handling and inspection."""
        return self.coefficients().general()

    def expected(self, media: Media, grain: str | None, grade: Grade | None) -> Values:
        """Their expected values."""
        return self.coefficients().expected(media, grain, grade)

    def economy(self, media: Media) -> Economy:
        """What a change of media costs in this cell."""
        cell = self.job.cell
        return Economy(cell.rates.hour / 3600.0 if cell.rates else None, cell.changeover_s(media.form))

    def tool_facts(self, tool: Tool) -> dict[str, Value | None]:
        """Attributes that follow from the media and its station by formula."""
        radius = self.feature.radius_mm if self.feature.shape == "concave" else None
        top = float(surface_speed(tool.diameter_mm / 1e3, tool.station.speed_rpm[1]))
        return {
            "station.power_kw": tool.station.power_kw,
            "wheel.diameter_mm": tool.diameter_mm,
            "reach.ratio": tool.diameter_mm / 2 / radius if radius else None,
            "speed.top_m_s": top,
        }

    def options(self, tool: Tool, decision: str, listed: Sequence[str]) -> tuple[str, ...]:
        """The options of a list decision that the station and the cell leave, usual first."""
        own = {"wheel_cover": tool.station.wheel_cover, "wheel_face": tool.station.wheel_face}.get(
            decision, ()
        )
        left = tuple(option for option in listed if option in own) if own else tuple(listed)
        if decision == "lubricant" and not self.job.cell.wet:
            left = tuple(option for option in left if option not in ("oil", "emulsion"))
        return left or tuple(listed[:1])

    def contact_width_mm(self, facts: Facts) -> float:
        """How much of the wheel's width touches the face."""
        wheel = _number(facts.get("wheel_width"))
        if self.feature.shape == "edge":
            return min(wheel, self.feature.width_mm or EDGE_WIDTH_MM)
        return min(wheel, self.feature.width_mm or wheel)

    def force_room(self, tool: Tool, facts: Facts, aim: str) -> Room:
        """Force per width: what the media bears, inside what the compliant tool can hold where they meet."""
        low, high = tool.media.force_n_mm
        window = self.job.cell.compliance.force_n if self.job.cell.compliance else None
        if window is not None:
            width = self.contact_width_mm(facts)
            bottom, top = max(low, window[0] / width), min(high, window[1] / width)
            if bottom <= top:
                low, high = bottom, top
        return Room(low, high, None, aim)

    def setup(
        self,
        tool: Tool,
        grain: str | None,
        grade: Grade | None,
        facts: Facts,
        choices: Mapping[str, Choice],
    ) -> Setup:
        """The decided values as a set-up in SI; the feed may be trimmed inside its own window."""
        feature = self.feature
        width = (feature.width_mm or min(self.area_cm2 * 100.0, 1e4) ** 0.5) / 1e3
        part = self.job.part
        face = Face(
            shape=feature.shape,
            radius=feature.radius_mm / 1e3 if feature.radius_mm else None,
            width=width,
            area=self.area_cm2 / 1e4,
            wall=part.wall_mm / 1e3 if part.wall_mm else None,
            mass=part.mass_kg,
        )
        hardness = facts.get("wheel_hardness")
        cut = self.knowledge.tables.faces.get(str(facts.get("wheel_face")))
        window = choices.get("feed")
        slow, fast = (window.low, window.high) if isinstance(window, RangeChoice) else tool.media.feed_mm_s
        speeds = choices.get("surface_speed")
        marks = [each for each in (tool.media.marked_speed_m_s, tool.station.marked_speed_m_s) if each]
        planned = Setup(
            media=tool.media,
            grade=grade,
            tough=bool(grain and self.knowledge.tables.grains[grain].tough),
            alloy=self.alloy,
            face=face,
            diameter=tool.diameter_mm / 1e3,
            cover_thickness=tool.cover_mm / 1e3,
            contact_width=self.contact_width_mm(facts) / 1e3,
            hardness=float(hardness) if isinstance(hardness, (int, float)) else None,
            line_load=_number(facts.get("force")) * 1e3,
            speed=_number(facts.get("surface_speed")),
            feed=_number(facts.get("feed")) / 1e3,
            slowest_feed=slow / 1e3,
            fastest_feed=fast / 1e3,
            overlap=_number(facts.get("overlap")) / 100.0,
            media_width=_number(facts.get("wheel_width")) / 1e3,
            slowest_speed=speeds.low if isinstance(speeds, RangeChoice) else tool.slowest,
            spindle_rpm=tool.station.speed_rpm[1],
            marked_rpm=float(marked_rpm(min(marks), tool.diameter_mm / 1e3)) if marks else None,
            station_least=tool.station.min_diameter_mm / 1e3 if tool.station.min_diameter_mm else None,
            on_edge=self.on_edge,
            lands=lands_of(cut) if cut else None,
            tension=tool.station.belt_tension_n_mm * 1e3 if tool.station.belt_tension_n_mm else None,
        )
        across = radius_across(feature, tool.station.wheel_crown_mm)
        if across is None:
            return planned
        window = choices.get("force")
        most = window.high * 1e3 if isinstance(window, RangeChoice) else planned.line_load
        least = compliance.force_n[0] if (compliance := self.job.cell.compliance) and compliance.force_n else 0.0
        return on_a_spot(planned, across, self.expected(tool.media, grain, grade), least, most)


def _number(value: Value | None) -> float:
    if isinstance(value, (int, float)):
        return float(value)
    raise TypeError(f"a decided number is missing, found {value!r}")
