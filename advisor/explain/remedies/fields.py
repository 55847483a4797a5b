"""The candidates of stages, each tool's kept by all that decides them, so that alike ones are one object."""

from __future__ import annotations

from dataclasses import dataclass, field

from advisor.choices.model import ListChoice, RangeChoice
from advisor.explain.remedies.voices import WITH_TOOL, Voice, Voices
from advisor.inference.engine import Growing
from advisor.knowledge.base import Knowledge
from advisor.sequence.candidate import Candidate
from advisor.sequence.candidates import SPOKEN_BY, StageField, Walk, offered_media
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.offers import Tool, width_room
from advisor.sequence.pruning import best_stations, undominated

Key = tuple[object, ...]
#: Decisions whose windows a search looks at, beside the value taken.
_WINDOWS = ("force", "surface_speed", "feed")
#: What the receiving step decides is asked of the rules during the search.
_RECEIVED = ("accepts", "jump", "passes")


@dataclass(slots=True)
class Fields:
    """Stage fields of faces that differ little from one another."""

    knowledge: Knowledge
    voices: Voices
    _walked: dict[Key, tuple[Candidate, ...]] = field(default_factory=dict)
    _alike: dict[Key, Candidate] = field(default_factory=dict)
    _best: dict[Key, tuple[Candidate, ...]] = field(default_factory=dict)

    def media(self, desk: FeatureDesk, situation: Growing) -> ListChoice:
        """The standing of every media that fits."""
        stage = str(situation["stage"])
        offered, _ = offered_media(desk, stage)
        return desk.decider.listed("media", situation, tuple(offered), spoken_by=SPOKEN_BY[stage])

    def of(self, desk: FeatureDesk, situation: Growing, concerns: int, silent: frozenset[str]) -> StageField:
        """The field of a stage as `stage_field` gives it, without what was passed over on the way."""
        stage = str(situation["stage"])
        offered, _ = offered_media(desk, stage)
        choice = desk.decider.listed("media", situation, tuple(offered), spoken_by=SPOKEN_BY[stage])
        found: list[Candidate] = []
        for media in choice.candidates(concerns):
            for tool in offered[media]:
                found += self._of_tool(desk, situation, tool, concerns, choice, silent)
        key = (desk.job.cell.changeover, *map(id, found))
        best = self._best.get(key)
        if best is None:
            best = self._best[key] = tuple(undominated(best_stations(found), desk.job.cell))
        return StageField(stage, situation, choice, best, (), (), ())

    def _of_tool(
        self, desk: FeatureDesk, situation: Growing, tool: Tool, concerns: int, choice: ListChoice,
        silent: frozenset[str],
    ) -> tuple[Candidate, ...]:  # fmt: skip
        facts = situation.grown({"media": tool.media.key, **desk.tool_facts(tool)})
        voice = self.voices.of(facts, self.knowledge.vocabulary.order[2:], WITH_TOOL, silent)
        # Beside what stands proud, media with a contact wheel and others are not compared.
        figures = (*_figures(desk, tool), situation.get("defect.kind") == "proud")
        key = (situation["stage"], concerns, voice, figures)
        found = self._walked.get(key)
        if found is None:
            received = voice[-len(_RECEIVED) :]
            walk = Walk(desk, situation, concerns, choice)
            found = self._walked[key] = tuple(
                self._alike.setdefault(_print(each, figures, received), each) for each in walk.of_media(tool)
            )
        return found


def _figures(desk: FeatureDesk, tool: Tool) -> Key:
    """The quantities that the candidates of a tool depend on, beside what the rules say."""
    job, feature, station = desk.job, desk.feature, tool.station
    cell = job.cell
    return (
        tool.media.key, station.name, station.power_kw, station.speed_rpm, station.wheel_diameter_mm,
        station.min_diameter_mm, station.wheel_hardness, station.wheel_width_mm, station.wheel_face,
        station.wheel_cover, station.marked_speed_m_s,
        station.wheel_cover_mm,
        station.wheel_crown_mm,
        station.belt_tension_n_mm,
        desk.on_edge,
        feature.cross_radius_mm,
        job.alloy, job.part.wall_mm, desk.handling, feature.shape, feature.radius_mm, feature.width_mm,
        feature.area_cm2, width_room(tool, feature),
        cell.wet, cell.compliance, cell.changeover_s(tool.media.form), cell.rates,
    )  # fmt: skip


def _print(candidate: Candidate, figures: Key, received: Voice) -> Key:
    """What two candidates must have in common for a search to treat them alike."""
    windows = [candidate.choices.get(name) for name in _WINDOWS]
    hardness = candidate.choices.get("wheel_hardness")
    setup = candidate.setup
    return (
        figures, received, candidate.stage, candidate.grain, candidate.grade.key if candidate.grade else None,
        tuple(candidate.values.items()), setup.line_load, setup.slowest_speed,
        *((each.low, each.high) for each in windows if isinstance(each, RangeChoice)),
        len(hardness.struck) if isinstance(hardness, RangeChoice) else 0,
    )  # fmt: skip
