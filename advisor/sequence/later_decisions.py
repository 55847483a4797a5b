"""The decisions after the grade, in the order of the vocabulary, each with the earlier ones as facts."""

from __future__ import annotations

from collections.abc import Iterator

from advisor.choices.decide import Room
from advisor.choices.model import Choice
from advisor.knowledge.reference import Grade
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.offers import Tool, edge_room, width_room
from advisor.situations import Facts

#: Grades up to this one are pressed with the middle of the force window, finer ones lighter.
_COARSE_UM = 125.0


def later_decisions(
    desk: FeatureDesk, facts: Facts, tool: Tool, grade: Grade | None
) -> Iterator[tuple[str, Choice]]:
    """The decisions after the grade, in order; each result is put into the facts."""
    for decision in ("build", "coat", "top_coat", "backing", "wheel_cover"):
        yield from _listed(desk, decision, facts, tool)
    yield from _hardness(desk, facts, tool)
    yield from _listed(desk, "wheel_face", facts, tool)
    yield from _ranged(desk, "wheel_width", facts, width_room(tool, desk.feature))
    yield from _ranged(desk, "wheel_edge", facts, edge_room(tool, desk.feature))
    yield from _listed(desk, "lubricant", facts, tool)
    clearing = facts["stage"] == "clear"
    aim = "middle" if clearing else "third"
    yield from _ranged(desk, "surface_speed", facts, Room(tool.slowest, tool.fastest, None, aim))
    coarse = grade is not None and not grade.equivalent and grade.um >= _COARSE_UM
    yield from _ranged(desk, "force", facts, desk.force_room(tool, facts, "middle" if coarse else "third"))
    low, high = tool.media.feed_mm_s
    yield from _ranged(desk, "feed", facts, Room(low, high, None, aim))
    yield from _listed(desk, "direction", facts, tool)
    low, high = tool.media.overlap_percent
    yield from _ranged(desk, "overlap", facts, Room(low, high, None, "middle"))


_COLUMNS = {
    "build": "builds",
    "coat": "coats",
    "top_coat": "top_coats",
    "backing": "backings",
    "wheel_cover": "covers",
    "wheel_face": "faces",
    "lubricant": "lubricants",
    "direction": "directions",
}


def _listed(desk: FeatureDesk, decision: str, facts: Facts, tool: Tool) -> Iterator[tuple[str, Choice]]:
    offered = desk.options(tool, decision, getattr(tool.media, _COLUMNS[decision]))
    if not offered:
        return
    choice = desk.decider.listed(decision, facts, offered, usual=offered[0])
    facts[decision] = choice.winner
    yield decision, choice


def _hardness(desk: FeatureDesk, facts: Facts, tool: Tool) -> Iterator[tuple[str, Choice]]:
    """Shore A of a rubber or urethane cover; what lies on the shelf where the cell tells."""
    if tool.media.hardness is None or facts.get("wheel_cover") not in ("rubber", "urethane"):
        return
    low, high = tool.media.hardness
    shelf = tuple(float(value) for value in tool.station.wheel_hardness if low <= value <= high) or None
    yield from _ranged(desk, "wheel_hardness", facts, Room(low, high, shelf, "middle"))


def _ranged(
    desk: FeatureDesk, decision: str, facts: Facts, room: Room | None
) -> Iterator[tuple[str, Choice]]:
    if room is None:
        return
    choice = desk.decider.stretch(decision, facts, room)
    facts[decision] = choice.value
    yield decision, choice
