"""The decisions after the grade, in the order of the vocabulary, each with the earlier ones as facts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from advisor.choices.decide import Room
from advisor.choices.model import Choice
from advisor.knowledge.reference import Grade
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.offers import Tool, edge_room, width_room
from advisor.situations import Facts

#: The decisions after the grade, each of which may rest on those before it.
ORDER = (
    "build", "coat", "top_coat", "backing", "wheel_cover", "wheel_hardness", "wheel_face", "wheel_width",
    "wheel_edge", "lubricant", "surface_speed", "force", "feed", "direction", "overlap",
)  # fmt: skip
#: Covers that have a hardness.
_RUBBERY = ("rubber", "urethane")
#: Grades up to this one are pressed with the middle of the force window, finer ones lighter.
_COARSE_UM = 125.0


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


@dataclass(frozen=True, slots=True)
class Shelf:
    """What one tool offers for each later decision at one stage, whatever its grain and grade."""

    options: Mapping[str, tuple[str, ...]]
    rooms: Mapping[str, Room | None]


def shelf_of(desk: FeatureDesk, tool: Tool, stage: str) -> Shelf:
    """The options and rooms of a tool on the face of a desk."""
    media, aim = tool.media, "middle" if stage == "clear" else "third"
    return Shelf(
        {name: desk.options(tool, name, getattr(media, column)) for name, column in _COLUMNS.items()},
        {
            "wheel_hardness": _hardness_room(tool),
            "wheel_width": width_room(tool, desk.feature),
            "wheel_edge": edge_room(tool, desk.feature),
            "surface_speed": Room(tool.slowest, tool.fastest, None, aim),
            "feed": Room(*media.feed_mm_s, None, aim),
            "overlap": Room(*media.overlap_percent, None, "middle"),
        },
    )


def later_decisions(
    desk: FeatureDesk, facts: Facts, tool: Tool, grade: Grade | None, shelf: Shelf | None = None
) -> Iterator[tuple[str, Choice]]:
    """The decisions after the grade, in order; each result is put into the facts.

    `shelf` is what the tool offers at the stage, where that has been worked out before.
    """
    decider = desk.decider
    if shelf is None:
        shelf = shelf_of(desk, tool, str(facts["stage"]))
    for decision in ORDER:
        if decision in shelf.options:
            offered = shelf.options[decision]
            if not offered:
                continue
            listed = decider.listed(decision, facts, offered, usual=offered[0])
            facts[decision] = listed.winner
            yield decision, listed
            continue
        if decision == "force":  # the compliant tool sets it, by the width just decided
            coarse = grade is not None and not grade.equivalent and grade.um >= _COARSE_UM
            room: Room | None = desk.force_room(tool, facts, "middle" if coarse else "third")
        else:
            room = shelf.rooms[decision]
        if room is None or (decision == "wheel_hardness" and facts.get("wheel_cover") not in _RUBBERY):
            continue
        stretch = decider.stretch(decision, facts, room)
        facts[decision] = stretch.value
        yield decision, stretch


def _hardness_room(tool: Tool) -> Room | None:
    """Shore A of a rubber or urethane cover; what lies on the shelf where the cell tells."""
    if tool.media.hardness is None:
        return None
    low, high = tool.media.hardness
    shelf = tuple(float(value) for value in tool.station.wheel_hardness if low <= value <= high) or None
    return Room(low, high, shelf, "middle")
