"""What binds a set-up and is no matter of taste: must and never, windows of safety, speeds, and safety cautions."""

from __future__ import annotations

from collections.abc import Iterator

from advisor.choices.decide import Room
from advisor.choices.model import RangeChoice, Spoken
from advisor.choices.overrides import heard
from advisor.choices.ranges import choose_range
from advisor.knowledge.places import NOTES
from advisor.knowledge.rules import Rule
from advisor.process.speed import surface_speed
from advisor.sequence.feature_desk import FeatureDesk
from advisor.sequence.offers import Tool
from advisor.situations import Facts


def speeds(tool: Tool, diameter_mm: float) -> tuple[float, float]:
    """The surface speeds (m/s) that the station can give today's wheel, within what the media is marked for."""
    low, high = (float(surface_speed(diameter_mm / 1e3, rpm)) for rpm in tool.station.speed_rpm)
    return max(low, tool.media.speed_m_s[0]), min(high, tool.fastest)


def hard_window(
    desk: FeatureDesk, decision: str, facts: Facts, room: Room, scale: str | None = None
) -> tuple[float, float, tuple[Rule, ...]]:
    """The stretch that binds: the room cut by must, never and the windows of safety, and the rules that cut."""
    engine = desk.decider.engine
    spoken, _ = heard(engine.rules(decision, engine.signature(decision, facts)), decision)
    binding = [item for item in spoken if _binds(item) and item.advice.scale in (None, scale)]
    whole = decision in ("grade", "passes")
    choice: RangeChoice = choose_range(decision, room.low, room.high, binding, "middle", whole=whole)
    return choice.low, choice.high, choice.shaped_by


def _binds(item: Spoken) -> bool:
    return item.advice.span is not None and (
        item.advice.strength in ("must", "never")
        or (item.rule.concern == "safety" and item.advice.strength in ("should", "avoid"))
    )


def binding_rules(desk: FeatureDesk, decision: str, facts: Facts) -> Iterator[Rule]:
    """The rules that say must or never of a decision in a situation."""
    engine = desk.decider.engine
    for rule in engine.rules(decision, engine.signature(decision, facts)):
        if any(each.decision == decision and each.strength in ("must", "never") for each in rule.advice()):
            yield rule


def safety_cautions(desk: FeatureDesk, facts: Facts) -> tuple[Rule, ...]:
    """The safety rules that caution in a situation."""
    engine = desk.decider.engine
    fired = engine.rules(NOTES, engine.signature(NOTES, facts))
    return tuple(rule for rule in fired if rule.concern == "safety" and rule.notes("caution"))
