"""Whether an option comes out of its decision at all, taken one after another up to that one and no further.

Nothing is calculated here: a media, a grain, a window of hardness is decided by the rules that are open and
by what the tool offers. Where both are as they were, so is the answer.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from advisor.choices.decide import Room
from advisor.choices.model import RangeChoice
from advisor.explain.forced import Wish, same_option
from advisor.explain.remedies.voices import BEFORE, Voices
from advisor.inference.engine import Growing
from advisor.knowledge.base import Knowledge
from advisor.sequence.candidates import SPOKEN_BY, offered_media
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.later_decisions import later_decisions
from advisor.sequence.offers import Tool
from advisor.situations import Facts

#: From this decision on, the sizes of the face have a say in what there is room for.
_SIZED_FROM = "wheel_width"


@dataclass(slots=True)
class Decided:
    """One wish, asked of many situations that differ little."""

    wish: Wish
    knowledge: Knowledge
    voices: Voices
    _known: dict[tuple[object, ...], bool] = field(default_factory=dict)

    def comes_out(self, desk: FeatureDesk, situation: Growing, concerns: int, silent: frozenset[str]) -> bool:
        """Whether some tool takes the option at the stage of a situation, whatever that costs or demands."""
        order = self.knowledge.vocabulary.order
        places = order[1 : order.index(self.wish.decision) + 1]
        offered, _ = offered_media(desk, self.wish.stage)
        sized = places[-1] in order[order.index(_SIZED_FROM) :]
        key = (
            concerns,
            desk.job.cell.wet,
            tuple((media, *(tool.station for tool in at_hand)) for media, at_hand in offered.items()),
            self._sizes(desk) if sized else None,
            desk.feature.radius_mm if desk.feature.shape == "concave" else None,
            self.voices.of(situation, places, BEFORE, silent),
        )
        found = self._known.get(key)
        if found is None:
            found = self._known[key] = any(self._tools(desk, situation, concerns, offered))
        return found

    def _sizes(self, desk: FeatureDesk) -> tuple[object, ...]:
        feature = desk.feature
        return feature.shape, feature.radius_mm, feature.width_mm, feature.access_mm, desk.job.cell.compliance

    def _tools(
        self, desk: FeatureDesk, situation: Growing, concerns: int, offered: dict[str, list[Tool]]
    ) -> Iterator[bool]:
        stage = self.wish.stage
        choice = desk.decider.listed("media", situation, tuple(offered), spoken_by=SPOKEN_BY[stage])
        for media in choice.candidates(concerns):
            if self.wish.decision == "media":
                yield media == self.wish.option
                continue
            for tool in offered[media]:
                yield self._with_tool(desk, situation, tool, concerns)

    def _with_tool(self, desk: FeatureDesk, situation: Growing, tool: Tool, concerns: int) -> bool:
        decider, decision, option = desk.decider, self.wish.decision, self.wish.option
        facts = situation.grown({"media": tool.media.key, **desk.tool_facts(tool)})
        aim = "middle" if self.wish.stage == "clear" else "low"
        pressure = decider.stretch("pressure", facts, Room(0, 2, (0, 1, 2), aim))
        facts["pressure"] = decider.vocabulary.decisions["pressure"].options[int(pressure.value)]
        if pressure.conflict or decision == "pressure":
            return not pressure.conflict and facts["pressure"] == option
        if not tool.media.grains:
            return self._later(desk, facts, tool, None)
        grains = decider.listed("grain", facts, tool.media.grains, spoken_by=frozenset())
        if decision == "grain":
            return option in grains.candidates(concerns)
        return any(
            self._with_grade(desk, facts.grown({"grain": grain}), tool)
            for grain in grains.candidates(concerns)
        )

    def _with_grade(self, desk: FeatureDesk, facts: Growing, tool: Tool) -> bool:
        vocabulary = desk.decider.vocabulary
        places = {vocabulary.rank[key][1]: key for key in tool.media.grades}
        if not places:
            return False
        room = Room(min(places), max(places), tuple(sorted(map(float, places))), "coarse")
        window = desk.decider.stretch("grade", facts, room, tool.media.scale)
        keys = [key for place, key in places.items() if window.low <= place <= window.high]
        if window.conflict or self.wish.decision == "grade":
            return not window.conflict and self.wish.option in keys
        return any(self._later(desk, facts.grown({"grade": key}), tool, key) for key in keys)

    def _later(self, desk: FeatureDesk, facts: Facts, tool: Tool, grade: str | None) -> bool:
        row = desk.decider.vocabulary.grades[grade] if grade else None
        for decision, choice in later_decisions(desk, facts, tool, row):
            if choice.conflict:
                return False
            if decision == self.wish.decision:
                value = choice.value if isinstance(choice, RangeChoice) else choice.winner
                return same_option(value, self.wish.option)
        return False
