"""Candidate steps of a stage: each media, grain and grade that stands, with all that follows from it.

Decisions are taken in the order of the vocabulary, each with the earlier ones as facts. Media,
grain and grade branch; the cost of the whole path decides between them later.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from advisor.choices.decide import Room
from advisor.choices.model import Choice, Conflict, ListChoice, RangeChoice
from advisor.figures.effect import effect
from advisor.figures.media_life import media_life
from advisor.inference.engine import Growing
from advisor.knowledge.reference import Grade
from advisor.sequence.candidate import Candidate
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.later_decisions import Shelf, later_decisions, shelf_of
from advisor.sequence.limits import Unmet, power_limited, unmet_limits
from advisor.sequence.offers import NotOffered, Tool, fits
from advisor.sequence.pruning import best_stations, undominated
from advisor.situations import Facts

#: A media must be spoken for by a rule that tests one of these.
SPOKEN_BY: Mapping[str, frozenset[str]] = {
    "clear": frozenset({"defect", "defect.kind", "defect.local"}),
    "refine": frozenset({"stage"}),
    "prepare": frozenset({"stage"}),
    "finish": frozenset({"finish.texture", "finish.key", "finish.designation"}),
}
ALL_COUNT = 7  # six concerns and `may`


@dataclass(frozen=True, slots=True)
class StageField:
    """The candidates of one stage, and everything that was passed over on the way."""

    stage: str
    situation: Facts
    media: ListChoice
    candidates: tuple[Candidate, ...]
    not_offered: tuple[NotOffered, ...]
    unmet: tuple[Unmet, ...]
    conflicts: tuple[Conflict, ...]


def stage_field(desk: FeatureDesk, situation: Facts, concerns: int = ALL_COUNT) -> StageField:
    """All candidates of the stage that `situation` describes.

    `concerns` tells how many concerns count when media and grain are narrowed: fewer widen the
    field from the lowest concern up.
    """
    stage = str(situation["stage"])
    offered, not_offered = offered_media(desk, stage)
    choice = desk.decider.listed("media", situation, tuple(offered), spoken_by=SPOKEN_BY[stage])
    walk = Walk(desk, situation, concerns, choice)
    found = [
        candidate
        for media in choice.candidates(concerns)
        for tool in offered[media]
        for candidate in walk.of_media(tool)
    ]
    return StageField(
        stage,
        situation,
        choice,
        tuple(undominated(best_stations(found), desk.job.cell)),
        tuple(not_offered),
        tuple(walk.unmet),
        tuple(walk.conflicts),
    )


def offered_media(desk: FeatureDesk, stage: str) -> tuple[dict[str, list[Tool]], list[NotOffered]]:
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


class Walk:
    """Walks the decisions of one stage and gathers what falls by the way."""

    def __init__(self, desk: FeatureDesk, situation: Facts, concerns: int, media: ListChoice) -> None:
        self._desk = desk
        self._situation = Growing(situation)
        self._concerns = concerns
        self._media = media
        self._stage = str(situation["stage"])
        self._shelves: dict[int, Shelf] = {}
        self.unmet: list[Unmet] = []
        self.conflicts: list[Conflict] = [media.conflict] if media.conflict else []

    def of_media(self, tool: Tool) -> Iterator[Candidate]:
        """The candidates of one media on one station: a branch for each grain and each grade."""
        decider = self._desk.decider
        facts = self._situation.grown({"media": tool.media.key, **self._desk.tool_facts(tool)})
        aim = "middle" if facts["stage"] == "clear" else "low"
        pressure = decider.stretch("pressure", facts, Room(0, 2, (0, 1, 2), aim))
        if self._stopped(pressure):
            return
        facts["pressure"] = decider.vocabulary.decisions["pressure"].options[int(pressure.value)]
        choices: dict[str, Choice] = {"media": self._media, "pressure": pressure}
        if not tool.media.grains:
            yield from self._finished(facts, choices, tool, None, None)
            return
        grains = decider.listed("grain", facts, tool.media.grains, spoken_by=frozenset())
        if self._stopped(grains):
            return
        for grain in grains.candidates(self._concerns):
            with_grain = facts.grown({"grain": grain})
            for grade, window in self._grades(with_grain, tool):
                chosen = {**choices, "grain": grains, "grade": window}
                yield from self._finished(with_grain.grown({"grade": grade.key}), chosen, tool, grain, grade)

    def _grades(self, facts: Facts, tool: Tool) -> Iterator[tuple[Grade, RangeChoice]]:
        """Every grade of the media inside the window that the rules leave."""
        vocabulary = self._desk.decider.vocabulary
        places = {vocabulary.rank[key][1]: key for key in tool.media.grades}
        if not places:
            return
        room = Room(min(places), max(places), tuple(sorted(map(float, places))), "coarse")
        window = self._desk.decider.stretch("grade", facts, room, tool.media.scale)
        if self._stopped(window):
            return
        for place, key in sorted(places.items()):
            if window.low <= place <= window.high:
                yield vocabulary.grades[key], window

    def _finished(
        self,
        decided: Growing,
        choices: Mapping[str, Choice],
        tool: Tool,
        grain: str | None,
        grade: Grade | None,
    ) -> Iterator[Candidate]:
        """The candidate with every later decision taken, unless a conflict or a limit stops it."""
        desk, taken = self._desk, dict(choices)
        for decision, choice in later_decisions(desk, decided, tool, grade, self._shelf(tool)):
            if self._stopped(choice):
                return
            taken[decision] = choice
        values = desk.expected(tool.media, grain, grade)
        planned = desk.setup(tool, grain, grade, decided, taken)
        outcome = effect(planned, values)
        setup, powered = power_limited(planned, outcome, values, taken, tool)
        if setup is not planned:
            outcome = effect(setup, values)
        unmet = [item for item in (powered, *unmet_limits(setup, outcome, desk.job)) if item]
        if unmet:
            self.unmet += unmet
            return
        yield Candidate(
            str(decided["stage"]),
            tool,
            grain,
            grade,
            taken,
            {key: decided.get(key) for key in desk.decider.vocabulary.decisions},
            decided,
            setup,
            outcome,
            media_life(setup, outcome, values, desk.economy(tool.media)),
        )

    def _shelf(self, tool: Tool) -> Shelf:
        shelf = self._shelves.get(id(tool))
        if shelf is None:
            shelf = self._shelves[id(tool)] = shelf_of(self._desk, tool, self._stage)
        return shelf

    def _stopped(self, choice: Choice) -> bool:
        """Whether a contradiction ends this branch; the contradiction is kept for the sheet."""
        if choice.conflict:
            self.conflicts.append(choice.conflict)
        return choice.conflict is not None
