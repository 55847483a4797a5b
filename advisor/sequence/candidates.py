"""Candidate steps of a stage: each media, grain and grade that stands, with all that follows from it.

Decisions are taken in the order of the vocabulary, each with the earlier ones as facts. Media,
grain and grade branch; the cost of the whole path decides between them later.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from advisor.choices.decide import Decider, Room
from advisor.choices.model import Choice, Conflict, ListChoice, RangeChoice
from advisor.figures.effect import effect
from advisor.knowledge.reference import Grade
from advisor.sequence.candidate import Candidate
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.limits import Unmet, power_limited, unmet_limits
from advisor.sequence.offers import NotOffered, Tool, edge_room, fits, width_room
from advisor.sequence.pruning import best_stations, undominated
from advisor.situations import Facts

#: A media must be spoken for by a rule that tests one of these.
SPOKEN_BY: Mapping[str, frozenset[str]] = {
    "clear": frozenset({"defect", "defect.kind", "defect.local"}),
    "refine": frozenset({"stage"}),
    "prepare": frozenset({"stage"}),
    "finish": frozenset({"finish.texture", "finish.key", "finish.designation"}),
}
#: Grades up to this one are pressed with the middle of the force window, finer ones lighter.
_COARSE_UM = 125.0
ALL_COUNT = 7  # six concerns and `may`


@dataclass(slots=True)
class StageField:
    """The candidates of one stage, and everything that was passed over on the way."""

    stage: str
    situation: Facts
    media: ListChoice
    candidates: list[Candidate] = field(default_factory=list)
    not_offered: list[NotOffered] = field(default_factory=list)
    unmet: list[Unmet] = field(default_factory=list)
    conflicts: list[Conflict] = field(default_factory=list)


def stage_field(desk: FeatureDesk, situation: Facts, concerns: int = ALL_COUNT) -> StageField:
    """All candidates of the stage that `situation` describes.

    `concerns` tells how many concerns count when media and grain are narrowed: fewer widen the
    field from the lowest concern up.
    """
    stage = str(situation["stage"])
    offered, not_offered = _offered(desk, stage)
    choice = desk.decider.listed("media", situation, tuple(offered), spoken_by=SPOKEN_BY[stage])
    result = StageField(stage, situation, choice, not_offered=not_offered)
    if choice.conflict:
        result.conflicts.append(choice.conflict)
    found: list[Candidate] = []
    for media in choice.candidates(concerns):
        for tool in offered[media]:
            found += _of_media(desk, situation, choice, tool, concerns, result)
    result.candidates = undominated(best_stations(found), desk.job.cell)
    return result


def _offered(desk: FeatureDesk, stage: str) -> tuple[dict[str, list[Tool]], list[NotOffered]]:
    """The media that fit, each with the stations on which it does."""
    offered: dict[str, list[Tool]] = {}
    refused = []
    for key, stations in desk.tools.items():
        reasons = [fits(tool, desk.feature, stage, desk.knowledge.tables) for tool in stations]
        fitting = [tool for tool, reason in zip(stations, reasons, strict=True) if reason is None]
        if fitting:
            offered[key] = fitting
        elif reasons[0]:
            refused.append(reasons[0])
    return offered, refused


def _of_media(
    desk: FeatureDesk,
    situation: Facts,
    media_choice: ListChoice,
    tool: Tool,
    concerns: int,
    result: StageField,
) -> Iterator[Candidate]:
    facts = {**situation, "media": tool.media.key, **desk.tool_facts(tool)}
    decider, clearing = desk.decider, result.stage == "clear"
    pressure = decider.stretch("pressure", facts, Room(0, 2, (0, 1, 2), "middle" if clearing else "low"))
    facts["pressure"] = decider.vocabulary.decisions["pressure"].options[int(pressure.value)]
    choices: dict[str, Choice] = {"media": media_choice, "pressure": pressure}
    if not tool.media.grains:
        yield from _finished(desk, facts, choices, tool, None, None, result)
        return
    grain_choice = decider.listed("grain", facts, tool.media.grains, spoken_by=frozenset())
    if grain_choice.conflict:
        result.conflicts.append(grain_choice.conflict)
    for grain in grain_choice.candidates(concerns):
        with_grain = {**facts, "grain": grain}
        for grade, grade_choice in _grades(decider, with_grain, tool, result):
            chosen = {**choices, "grain": grain_choice, "grade": grade_choice}
            with_grade = {**with_grain, "grade": grade.key}
            yield from _finished(desk, with_grade, chosen, tool, grain, grade, result)


def _grades(
    decider: Decider, facts: Facts, tool: Tool, result: StageField
) -> Iterator[tuple[Grade, RangeChoice]]:
    """Every grade of the media inside the window that the rules leave."""
    vocabulary = decider.vocabulary
    places = {vocabulary.rank[key][1]: key for key in tool.media.grades}
    if not places:
        return
    room = Room(min(places), max(places), tuple(sorted(map(float, places))), "coarse")
    choice = decider.stretch("grade", facts, room, tool.media.scale)
    if choice.conflict:
        result.conflicts.append(choice.conflict)
        return
    for place, key in sorted(places.items()):
        if choice.low <= place <= choice.high:
            yield vocabulary.grades[key], choice


def _finished(
    desk: FeatureDesk,
    facts: Facts,
    choices: dict[str, Choice],
    tool: Tool,
    grain: str | None,
    grade: Grade | None,
    result: StageField,
) -> Iterator[Candidate]:
    """The candidate with every later decision taken, unless a conflict or a limit stops it."""
    decided = dict(facts)
    taken = dict(choices)
    for decision, choice in _tail(desk, decided, tool, grade):
        if choice.conflict:
            result.conflicts.append(choice.conflict)
            return
        taken[decision] = choice
    feed = taken["feed"]
    assert isinstance(feed, RangeChoice)
    setup = desk.setup(tool, grain, grade, decided, (feed.low, feed.high))
    values = desk.expected(tool.media, grain, grade)
    setup, powered = power_limited(setup, effect(setup, values), values, taken, tool)
    outcome = effect(setup, values)
    unmet = [item for item in (powered, *unmet_limits(setup, outcome, desk.job)) if item]
    if unmet:
        result.unmet += unmet
        return
    yield Candidate(
        result.stage,
        tool,
        grain,
        grade,
        taken,
        {key: decided.get(key) for key in desk.decider.vocabulary.decisions},
        decided,
        setup,
        outcome,
    )


def _tail(desk: FeatureDesk, facts: Facts, tool: Tool, grade: Grade | None) -> Iterator[tuple[str, Choice]]:
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
