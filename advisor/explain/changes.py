"""Single changes that a job, its cell or the knowledge could have: what the smallest changes are made of.

A number moves to the limits that rules, tables and formulas test, and just past them; a word to each
other word of the vocabulary; a limit of the cell is widened or narrowed; a rule is left out. Each is told
in the job file's own field names.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from advisor.explain.fields import field_of
from advisor.job.change import set_field
from advisor.job.model import Feature, Job
from advisor.job.read import parse_job
from advisor.job.write import cell_json, to_json
from advisor.knowledge.base import Knowledge
from advisor.process.reach import FREE_SHARE
from advisor.situations import Facts
from advisor.units import figure

#: Attributes a job states as a number -> unit in the file, and whether times and costs follow from it.
NUMBERS: Mapping[str, tuple[str, bool]] = {
    "depth_mm": ("mm", True),
    "incoming_ra_um": ("um", True),
    "feature.radius_mm": ("mm", True),
    "feature.cross_radius_mm": ("mm", False),
    "feature.width_mm": ("mm", True),
    "feature.area_cm2": ("cm2", True),
    "feature.access_mm": ("mm", False),
    "feature.edge_radius_mm": ("mm", False),
    "feature.max_stock_mm": ("mm", True),
    "part.mass_kg": ("kg", False),
    "part.size_mm": ("mm", False),
    "part.wall_mm": ("mm", True),
    "batch": ("", True),
}
WORDS = (
    "feature.visible", "feature.joint", "feature.edges", "feature.shape", "part.contour", "environment", "after",
    "felt", "coating.hazard",
)  # fmt: skip
_OF_START = {"depth_mm": "depth_mm", "incoming_ra_um": "roughness_um"}
_QUICK = (
    "alloy.key", "environment", "after", "batch", "part.mass_kg", "part.size_mm", "part.wall_mm", "part.contour",
    "feature.radius_mm", "feature.cross_radius_mm", "feature.width_mm", "feature.area_cm2", "feature.access_mm",
    "feature.visible", "feature.joint", "feature.max_stock_mm", *_OF_START,
)  # fmt: skip
_NUMBER = re.compile(r"(\d+(?:\.\d+)?)( [a-zA-Z]\S*)?")
LADDER = (0.7, 1.4, 0.5, 2.0, 0.25, 4.0)
DIAMETERS_MM = (25.0, 50.0, 80.0, 100.0, 125.0, 150.0, 200.0, 250.0, 300.0, 350.0, 400.0)
HARDNESSES = (20.0, 30.0, 40.0, 50.0, 60.0, 70.0)
#: How far a change is, where it is no number that moves: what nobody said first, another alloy last.
STATED, WORD, CELL, RULE, FINISH, DEFECT, ALLOY, ANOTHER_CELL = 0.8, 1.5, 1.7, 2.0, 2.5, 3.0, 3.2, 3.6


@dataclass(frozen=True, slots=True)
class Change:
    """One change: a field of the job set to a value, or a rule left out. `rank` is how far it is."""

    field: str
    value: str
    rank: float
    rule: str | None = None

    def __str__(self) -> str:
        return f"without rule {self.rule}" if self.rule else f"{self.field}={self.value}"


def changed(job: Job, changes: Iterable[Change], knowledge: Knowledge) -> Job:
    """The job with some fields changed.

    Raises InputError where the result is no job.
    """
    data: dict[str, Any] = to_json(job)
    for change in changes:
        if change.rule is not None:
            continue
        if change.field.startswith("cell.") and isinstance(data.get("cell"), str):
            data["cell"] = cell_json(job.cell)
        data = set_field(data, change.field, change.value)
    return parse_job(data, knowledge, job.name)


def quickly(job: Job, feature: Feature, change: Change) -> Job | None:
    """The same for a number or a word of the part, the face or the start, without reading a file again.

    None where the change is of another kind. Only for a first look: what is told is always read.
    """
    attribute = next((key for key in _QUICK if field_of(key, job, feature) == change.field), None)
    number = number_in(change.value)
    if attribute is None:
        return None
    value: object = number[0] if number is not None and attribute in NUMBERS else change.value
    owner, _, name = attribute.rpartition(".")
    if owner == "part":
        return job.model_copy(update={"part": job.part.model_copy(update={name: value})})
    if owner == "feature":
        return job.model_copy(update={"features": (feature.model_copy(update={name: value}),)})
    if attribute in _OF_START:
        update = {_OF_START[attribute]: (value, value) if attribute == "depth_mm" else value}
        start = feature.start.model_copy(update=update)
        return job.model_copy(update={"features": (feature.model_copy(update={"start": start}),)})
    key = attribute.removesuffix(".key")
    return job.model_copy(update={key: int(str(value).split(".")[0]) if key == "batch" else value})


def left_out(changes: Iterable[Change]) -> frozenset[str]:
    """The rules that some changes leave out."""
    return frozenset(change.rule for change in changes if change.rule is not None)


def single_changes(
    job: Job, feature: Feature, facts: Facts, knowledge: Knowledge, rules: Sequence[str], media: Sequence[str]
) -> list[Change]:
    """Every single change that is tried, the nearest first.

    `facts` are those of the feature, `rules` those that had a say, `media` those in question (the one
    asked about and the one taken), which a station may be given or lose.
    """
    found = [
        *_numbers(job, feature, facts, knowledge),
        *_words(job, feature, facts, knowledge),
        *_rows(job, feature, knowledge),
        *_cell(job, knowledge, media),
        *(Change("", "", RULE, rule) for rule in rules),
    ]
    unique = {str(change): change for change in found}
    return sorted(unique.values(), key=lambda change: (change.rank, str(change)))


# ---------------------------------------------------------------------- numbers
def _numbers(job: Job, feature: Feature, facts: Facts, knowledge: Knowledge) -> Iterator[Change]:
    limits = _limits(job, feature, knowledge)
    for attribute, (unit, costs) in NUMBERS.items():
        field = field_of(attribute, job, feature)
        if field is None:
            continue
        present = facts.get(attribute)
        number = float(present) if isinstance(present, (int, float)) else None
        values = set(_around(number, sorted(limits.get(attribute, ()))))
        if costs and number:
            values |= {_round(number * share) for share in LADDER}
        low, high = _range(attribute, knowledge)
        for value in values:
            if value == number or not low <= value <= high or value <= 0:
                continue
            rank = STATED if not number else abs(math.log(value / number))
            text = str(max(1, round(value))) if attribute == "batch" else f"{figure(value)} {unit}"
            yield Change(field, text, rank)


def _around(present: float | None, limits: Sequence[float]) -> Iterator[float]:
    """Each limit, and of each stretch between limits the value nearest to the present one."""
    for limit in limits:
        yield limit
        if present is None or limit >= present:
            yield _round(limit * 1.02)
        if present is not None and limit <= present:
            yield _round(limit / 1.02)


def _round(value: float) -> float:
    return float(f"{value:.3g}")


def _range(attribute: str, knowledge: Knowledge) -> tuple[float, float]:
    declared = knowledge.vocabulary.attributes[attribute]
    return declared.low or 0.0, declared.high or math.inf


def _limits(job: Job, feature: Feature, knowledge: Knowledge) -> dict[str, set[float]]:
    """Every number that a rule, or the table of media, holds an attribute against."""
    found: dict[str, set[float]] = {}
    for rule in knowledge.rules:
        if rule.status == "retired":
            continue
        for test in (*rule.when, *rule.unless):
            if test.operator in ("at least", "at most", "above", "below") and not isinstance(
                test.operand[0], str
            ):
                found.setdefault(test.attribute, set()).add(float(test.operand[0]))
    found.setdefault("depth_mm", set()).update(found.get("remaining_mm", ()))
    radii = found.setdefault("feature.radius_mm", set())
    for row in knowledge.tables.media.values():
        found.setdefault("feature.access_mm", set()).add(row.smallest_access_mm)
        if feature.shape == "concave" and row.smallest_concave_mm:
            radii.add(row.smallest_concave_mm)
    if feature.shape == "concave":
        shares = {FREE_SHARE, *found.get("reach.ratio", ())}
        radii.update(
            _round(station.wheel_diameter_mm / 2 / share)
            for station in job.cell.stations
            for share in shares
            if share
        )
    return found


# ---------------------------------------------------------------------- words and rows
def _words(job: Job, feature: Feature, facts: Facts, knowledge: Knowledge) -> Iterator[Change]:
    for attribute in WORDS:
        field = field_of(attribute, job, feature)
        declared = knowledge.vocabulary.attributes[attribute]
        present = facts.get(attribute)
        for value in declared.values:
            if field is not None and value != present:
                rank = DEFECT if attribute == "feature.shape" else WORD if present else STATED
                yield Change(field, f'"{value}"' if value == "no" else value, rank)


def _rows(job: Job, feature: Feature, knowledge: Knowledge) -> Iterator[Change]:
    tables = knowledge.tables
    finish, defect = (field_of(key, job, feature) or "" for key in ("finish.key", "defect"))
    yield from (Change(finish, key, FINISH) for key in tables.finishes if key != feature.finish.finish)
    yield from (Change(defect, key, DEFECT) for key in tables.defects if key != feature.start.defect)
    yield from (Change("alloy", key, ALLOY) for key in tables.alloys if key != job.alloy)
    if feature.start.also:
        yield Change(defect.replace(".defect", ".also"), "[]", WORD)


# ---------------------------------------------------------------------- the cell
def _cell(job: Job, knowledge: Knowledge, media: Sequence[str]) -> Iterator[Change]:
    cell = job.cell
    yield Change("cell.wet", "false" if cell.wet else "true", CELL)
    yield Change("cell.operator", "person" if cell.operator == "robot" else "robot", CELL)
    for handling in (("part-in-hand",), ("tool-in-hand",), ("part-in-hand", "tool-in-hand")):
        if set(handling) != set(cell.handling):
            yield Change("cell.handling", f"[{', '.join(handling)}]", CELL)
    yield from (
        Change("cell.media_history", each, CELL) for each in ("clean", "steel") if each != cell.media_history
    )
    collector = cell.dust.collector if cell.dust else None
    yield from (
        Change("cell.dust.collector", f'"{each}"', CELL)
        for each in ("none", "dry", "wet")
        if each != collector
    )
    if cell.dust:
        yield from (Change("cell.dust.shared_with", each, CELL) for each in ("[]", "[steel]"))
    for station in cell.stations:
        yield from _station(station, media)
    window = cell.compliance.force_n if cell.compliance else None
    if window:
        low, high = window
        for factor in (0.5, 2.0):
            yield Change("cell.compliance.force", f"[{figure(low * factor)} N, {figure(high)} N]", CELL)
            yield Change("cell.compliance.force", f"[{figure(low)} N, {figure(high * factor)} N]", CELL)
    yield from (Change("cell", key, ANOTHER_CELL) for key in knowledge.tables.cells if key != cell.key)


def _station(station: Any, media: Sequence[str]) -> Iterator[Change]:
    place = f"cell.stations[{station.name}]"
    if station.power_kw is not None:
        for factor in (0.5, 1.5, 2.0, 4.0):
            yield Change(f"{place}.power", f"{figure(station.power_kw * factor)} kW", CELL)
    low, high = station.speed_rpm
    for factor in (0.5, 2.0):
        yield Change(f"{place}.speed", f"[{figure(low)} rpm, {figure(high * factor)} rpm]", CELL)
        yield Change(f"{place}.speed", f"[{figure(low * factor)} rpm, {figure(high)} rpm]", CELL)
    for diameter in DIAMETERS_MM:
        if diameter != station.wheel_diameter_mm:
            apart = abs(math.log(diameter / station.wheel_diameter_mm))
            yield Change(f"{place}.wheel_diameter", f"{figure(diameter)} mm", CELL + apart / 4)
    for hardness in HARDNESSES:
        shelf = station.wheel_hardness
        if shelf and hardness not in shelf:
            more = ", ".join(figure(each) for each in sorted((*shelf, hardness)))
            yield Change(f"{place}.wheel_hardness", f"[{more}]", CELL)
    for key in media:
        takes = [each for each in station.takes if each != key]
        after = takes if key in station.takes else [*takes, key]
        if after:
            yield Change(f"{place}.takes", f"[{', '.join(after)}]", CELL)


def number_in(text: str) -> tuple[float, str] | None:
    """The number in a typed value and the pattern around it; None where there is not just one.

    >>> number_in("0.3 mm"), number_in("[8 N, 60 N]"), number_in("satin-fine")
    ((0.3, '{} mm'), None, None)
    """
    match = _NUMBER.fullmatch(text)
    return (float(match[1]), "{}" + (match[2] or "")) if match else None
