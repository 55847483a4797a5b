"""The limits that rules and tables put on a quantity of the job: where an answer may switch."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from advisor.job.model import Feature, Job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.rules import Condition
from advisor.process.reach import FREE_SHARE
from advisor.units import convert, find_unit

_ORDERED = ("at least", "at most", "above", "below")
#: Attributes that a field of the job sets, by the end of the field's name, with the unit they are in.
_SETS: Mapping[str, tuple[tuple[str, str], ...]] = {
    "part.mass": (("part.mass_kg", "kg"),),
    "part.size": (("part.size_mm", "mm"),),
    "part.wall": (("part.wall_mm", "mm"),),
    "radius": (("feature.radius_mm", "mm"),),
    "cross_radius": (("feature.cross_radius_mm", "mm"),),
    "width": (("feature.width_mm", "mm"),),
    "area": (("feature.area_cm2", "cm2"),),
    "access": (("feature.access_mm", "mm"),),
    "edge_radius": (("feature.edge_radius_mm", "mm"),),
    "max_stock": (("feature.max_stock_mm", "mm"),),
    "depth": (("depth_mm", "mm"), ("remaining_mm", "mm")),
    "roughness": (("incoming_ra_um", "um"),),
    "batch": (("batch", ""),),
    "hardness": (("alloy.hardness_hv", "HV"),),
    "power": (("station.power_kw", "kW"),),
    "wheel_diameter": (("wheel.diameter_mm", "mm"),),
}
_BRACKET = re.compile(r"\[[^\]]*\]")

Limits = Mapping[float, tuple[str, ...]]


def limits_of(field: str, unit: str, job: Job, knowledge: Knowledge) -> Limits:
    """Each limit on what a field sets, in a unit, with the rules that draw it (none where a table does)."""
    found: dict[float, set[str]] = {}

    def note(value: float, base: str, rules: set[str]) -> None:
        found.setdefault(_in(value, base, unit), set()).update(rules)

    for attribute, base in attributes_of(field):
        for value, names in rule_limits(attribute, knowledge).items():
            note(value, base, set(names))
    for value, base, rules in _derived(field, job, knowledge):
        note(value, base, rules)
    return {value: tuple(sorted(found[value])) for value in sorted(found)}


def conditions_by_attribute(knowledge: Knowledge) -> dict[str, list[Condition]]:
    """Every test of a rule in use, by the attribute that it looks at."""
    found: dict[str, list[Condition]] = {}
    for rule in knowledge.rules:
        if rule.status != "retired":
            for condition in (*rule.when, *rule.unless):
                found.setdefault(condition.attribute, []).append(condition)
    return found


def rule_limits(attribute: str, knowledge: Knowledge) -> dict[float, tuple[str, ...]]:
    """The numbers that rules hold an attribute against, each with the rules that do."""
    found: dict[float, list[str]] = {}
    for rule in knowledge.rules:
        if rule.status == "retired":
            continue
        for condition in (*rule.when, *rule.unless):
            if condition.attribute == attribute and condition.operator in _ORDERED:
                value = condition.operand[0]
                if isinstance(value, (int, float)) and rule.id not in found.setdefault(float(value), []):
                    found[float(value)].append(rule.id)
    return {value: tuple(rules) for value, rules in found.items()}


def attributes_of(field: str) -> tuple[tuple[str, str], ...]:
    """The attributes of a situation that a field of the job sets, with the unit they are in."""
    plain = _BRACKET.sub("", field)
    return _SETS.get(plain) or _SETS.get(plain.rpartition(".")[2], ())


def _derived(field: str, job: Job, knowledge: Knowledge) -> Iterator[tuple[float, str, set[str]]]:
    """Limits that reach a field through a formula or a table: reach into a hollow, free space."""
    name = _BRACKET.sub("", field).rpartition(".")[2]
    media = knowledge.tables.media.values()
    if name == "radius" and any(item.shape == "concave" for item in _features(field, job)):
        yield from _of_reach(job, knowledge)
        yield from ((row.smallest_concave_mm, "mm", set()) for row in media if row.smallest_concave_mm)
    if name == "wheel_diameter":
        hollows = [item.radius_mm for item in job.features if item.shape == "concave" and item.radius_mm]
        for ratio, rules in _ratios(knowledge).items():
            yield from ((2 * ratio * radius, "mm", set(rules)) for radius in hollows)
    if name == "access":
        yield from ((row.smallest_access_mm, "mm", set()) for row in media if row.smallest_access_mm)


def _of_reach(job: Job, knowledge: Knowledge) -> Iterator[tuple[float, str, set[str]]]:
    """The hollows that a wheel of the cell just fills by the share that a rule or the geometry allows."""
    for diameter in {station.wheel_diameter_mm for station in job.cell.stations}:
        for ratio, rules in _ratios(knowledge).items():
            yield diameter / 2 / ratio, "mm", set(rules)


def _ratios(knowledge: Knowledge) -> dict[float, tuple[str, ...]]:
    named = {ratio: rules for ratio, rules in rule_limits("reach.ratio", knowledge).items() if ratio > 0}
    return {FREE_SHARE: (), **named}


def _features(field: str, job: Job) -> tuple[Feature, ...]:
    return tuple(item for item in job.features if f"[{item.name}]" in field or "[" not in field)


def _in(value: float, base: str, unit: str) -> float:
    known = find_unit(unit) if unit else None
    return value if not base or known is None or known == base else convert(value, base, known)
