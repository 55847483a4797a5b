"""Runs one set-up, as it was tried or as it might be, through the choices and the limits of its job.

The rules decide what was left open; what was set is held against everything that binds: `never` and
`must`, windows of safety, what the cell has, what the station can drive, what the compliant tool holds.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from advisor.choices.decide import Room
from advisor.choices.model import Choice, ListChoice
from advisor.figures.effect import Effect, effect
from advisor.figures.setup import Setup
from advisor.knowledge.reference import Grade
from advisor.knowledge.rules import Rule
from advisor.knowledge.vocabulary import Value
from advisor.sequence.candidates import SPOKEN_BY
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.later_decisions import later_decisions
from advisor.sequence.limits import power_limited, unmet_limits
from advisor.sequence.offers import Tool, edge_room, fits, width_room
from advisor.sequence.surface import PlannedStep
from advisor.situations import Facts
from advisor.trials.binding import binding_rules, hard_window, safety_cautions, speeds
from advisor.units import figure

SetUp = Mapping[str, Value | None]
_CLOSE = 1e-6


@dataclass(frozen=True, slots=True)
class Obstacle:
    """What forbids a set-up: the sentence, and the rule or the limit that says so."""

    text: str
    rule: str | None = None
    limit: str | None = None


@dataclass(frozen=True, slots=True)
class Run:
    """A set-up with everything decided and calculated.

    `values` holds the decisions, `lapped` how often a pass goes over each spot. `cautions` are the ids
    of safety rules that caution in this set-up. `obstacles` is empty where nothing forbids it.
    """

    tool: Tool
    grain: str | None
    grade: Grade | None
    values: SetUp
    choices: Mapping[str, Choice]
    facts: Facts
    setup: Setup
    effect: Effect
    passes: int
    lapped: float
    cautions: frozenset[str]
    obstacles: tuple[Obstacle, ...]

    @property
    def removal(self) -> float:
        """The depth (m) that the passes take."""
        return self.passes * float(self.effect.depth(self.setup.feed)) * self.lapped

    @property
    def pressure(self) -> float | None:
        """The mean contact pressure (Pa), where a rubber wheel touches."""
        return float(self.effect.contact.mean_pressure) if self.effect.contact else None


@dataclass(frozen=True, slots=True)
class Barred:
    """A set-up that cannot even be calculated here, and why."""

    obstacles: tuple[Obstacle, ...]


def run(desk: FeatureDesk, step: PlannedStep, asked: SetUp, diameter_mm: float | None = None) -> Run | Barred:
    """The set-up of a planned step with the values asked for, by decision; the rules decide the rest.

    `force` in N for each mm of contact, as the rules count it. `diameter_mm` is the wheel as it is today.
    """
    stage = step.candidate.stage
    media = str(asked.get("media") or step.candidate.tool.media.key)
    stations = desk.tools.get(media)
    if not stations:
        return Barred((Obstacle(f"No station of this cell runs a {_name(desk, media)}.", limit="cell"),))
    tool = next((each for each in stations if each.station == step.candidate.tool.station), stations[0])
    unfit = fits(tool, desk.feature, stage, desk.knowledge.tables)
    if unfit is not None:
        return Barred((Obstacle(unfit.text, limit=unfit.limit),))
    return _Walk(desk, step, tool, asked, diameter_mm or tool.diameter_mm).run()


class _Walk:
    """Takes the decisions of one set-up in their order, and gathers what forbids it."""

    def __init__(
        self, desk: FeatureDesk, step: PlannedStep, tool: Tool, asked: SetUp, diameter_mm: float
    ) -> None:
        self.desk, self.step, self.tool, self.asked, self.diameter_mm = desk, step, tool, asked, diameter_mm
        decisions = desk.decider.vocabulary.decisions
        before = step.candidate.situation
        self.facts: Facts = {key: value for key, value in before.items() if key not in decisions}
        self.facts["handling"] = before.get("handling")
        self.facts |= {"media": tool.media.key, **desk.tool_facts(tool), "wheel.diameter_mm": diameter_mm}
        self.facts |= {"previous.grade": step.before.grade, "previous.media": step.before.media}
        self.choices: dict[str, Choice] = {}
        self.obstacles: list[Obstacle] = []

    def run(self) -> Run | Barred:
        """Everything decided in order, judged and calculated."""
        desk, tool, facts = self.desk, self.tool, self.facts
        self._media()
        pressure = desk.decider.stretch("pressure", facts, Room(0, 2, (0, 1, 2), "middle"))
        facts["pressure"] = desk.decider.vocabulary.decisions["pressure"].options[int(pressure.value)]
        self.choices["pressure"] = pressure
        grain = self._grain()
        grade = self._grade()
        if tool.media.grades and grade is None:
            text = f"There is no such grade of a {tool.media.name}."
            return Barred((*self.obstacles, Obstacle(text, limit="grade")))
        for decision, choice in later_decisions(desk, facts, tool, grade):
            self.choices[decision] = choice
            wanted = self.asked.get(decision)
            if wanted is not None:
                facts[decision] = wanted
            self._judge(decision, choice)
        passes = self._passes()
        values = desk.expected(tool.media, grain, grade)
        setup = desk.setup(tool, grain, grade, facts, self.choices)
        setup = replace(setup, diameter=self.diameter_mm / 1e3)
        outcome = effect(setup, values)
        powered, unmet = power_limited(setup, outcome, values, {}, tool)
        for item in (unmet, *unmet_limits(setup, outcome, desk.job)):
            if item is not None:
                self.obstacles.append(Obstacle(item.text, limit=item.limit))
        self._speed()
        return Run(
            tool,
            grain,
            grade,
            {key: facts.get(key) for key in desk.decider.vocabulary.decisions},
            self.choices,
            dict(facts),
            powered,
            effect(powered, values),
            passes,
            1.0 if self.step.local else 1.0 / (1.0 - setup.overlap),
            frozenset(rule.id for rule in safety_cautions(desk, facts)),
            tuple(dict.fromkeys(self.obstacles)),
        )

    def _media(self) -> None:
        offered = tuple(self.desk.tools)
        spoken_by = SPOKEN_BY[self.step.candidate.stage]
        choice = self.desk.decider.listed("media", self.facts, offered, spoken_by=spoken_by)
        self.choices["media"] = choice
        self._judge("media", choice)

    def _grain(self) -> str | None:
        media = self.tool.media
        if not media.grains:
            return None
        choice = self.desk.decider.listed("grain", self.facts, media.grains, spoken_by=frozenset())
        wanted = self.asked.get("grain") or self.step.candidate.grain or choice.winner
        grain = str(wanted) if wanted in media.grains else str(choice.winner or media.grains[0])
        self.facts["grain"] = grain
        self.choices["grain"] = choice
        if self.asked.get("grain") is not None and grain != self.asked["grain"]:
            text = f"A {media.name} does not come with {self.asked['grain']}."
            self.obstacles.append(Obstacle(text, limit="grain"))
        self._judge("grain", choice)
        return grain

    def _grade(self) -> Grade | None:
        media, vocabulary = self.tool.media, self.desk.decider.vocabulary
        own = self.step.candidate.grade
        key = self.asked.get("grade") or (own.key if own else None)
        if not media.grades or key not in media.grades:
            return None
        places = sorted(float(vocabulary.rank[each][1]) for each in media.grades)
        place = float(vocabulary.rank[str(key)][1])
        room = Room(places[0], places[-1], None, "middle")
        self._bound("grade", room, place, str(key), media.scale)
        self.facts["grade"] = str(key)
        return vocabulary.grades[str(key)]

    def _passes(self) -> int:
        low, high = self.tool.media.passes
        wanted = self.asked.get("passes")
        passes = int(wanted) if isinstance(wanted, (int, float)) else self.step.passes
        self._bound("passes", Room(low, high, None, "low"), float(passes), f"{passes} passes")
        self.facts["passes"] = float(passes)
        return passes

    def _judge(self, decision: str, choice: Choice) -> None:
        """Hold the value of a decision against what binds it."""
        value = self.facts.get(decision)
        if isinstance(choice, ListChoice):
            self._judge_listed(decision, choice, str(value))
        elif isinstance(value, (int, float)):
            room = self._room(decision)
            if room is not None:
                unit = self.desk.decider.vocabulary.decisions[decision].unit or ""
                self._bound(decision, room, float(value), f"{figure(float(value))} {unit}".strip())

    def _judge_listed(self, decision: str, choice: ListChoice, value: str) -> None:
        title = self.desk.decider.vocabulary.decisions[decision].title
        row = next((item for item in choice.options if item.option == value), None)
        if row is None:
            text = f"{title} {value} is not to be had on this station for this media."
            self.obstacles.append(Obstacle(text, limit="cell"))
        elif row.standing == "removed":
            rule = next(iter(row.speaks_against), None) or next(binding_rules(self.desk, decision, self.facts), None)
            because = f": {self._because(rule)}" if rule else ""
            self.obstacles.append(
                Obstacle(f"{title} {value} is ruled out here{because}", rule.id if rule else None)
            )

    def _because(self, rule: Rule) -> str:
        from advisor.sheet.explain import Explainer

        return Explainer(self.desk.knowledge).sentence(rule.because, self.facts)

    def _room(self, decision: str) -> Room | None:
        """What a number may be before any rule speaks."""
        media, tool = self.tool.media, self.tool
        ends = {"feed": media.feed_mm_s, "overlap": media.overlap_percent, "wheel_hardness": media.hardness}
        if decision in ends:
            window = ends[decision]
            return None if window is None else Room(*window)
        if decision == "force":
            return self.desk.force_room(tool, self.facts, "middle")
        if decision == "wheel_width":
            return replace(width_room(tool, self.desk.feature), values=None)
        return edge_room(tool, self.desk.feature) if decision == "wheel_edge" else None

    def _bound(self, decision: str, room: Room, value: float, shown: str, scale: str | None = None) -> None:
        """Note where a value lies outside what must be, and which rule or limit says so."""
        title = self.desk.decider.vocabulary.decisions[decision].title
        low, high, rules = hard_window(self.desk, decision, self.facts, room, scale)
        if low - abs(low) * _CLOSE <= value <= high + abs(high) * _CLOSE:
            return
        edge = "above" if value > high else "below"
        if rules:
            text = f"{title} {shown} is {edge} what is allowed here: {self._because(rules[0])}"
            self.obstacles.append(Obstacle(text, rules[0].id))
        else:
            text = f"{title} {shown} is {edge} what the media, the station and the cell allow."
            self.obstacles.append(Obstacle(text, limit=decision))

    def _speed(self) -> None:
        """The speed must be one that the station turns today's wheel at, and that the media is marked for."""
        speed = self.facts.get("surface_speed")
        if not isinstance(speed, (int, float)):
            return
        slow, fast = speeds(self.tool, self.diameter_mm)
        self._bound("surface_speed", Room(slow, fast), float(speed), f"{figure(float(speed))} m/s")


def _name(desk: FeatureDesk, media: str) -> str:
    row: Any = desk.knowledge.tables.media.get(media)
    return str(row.name) if row else media
