"""Single changes that a job, its cell or the knowledge could have: what the smallest changes are made of.

A number moves to the limits that rules, tables and formulas test, and just past them; a word to each
other word of the vocabulary; a limit of the cell is widened or narrowed; a rule is left out. Each is told
in the job file's own field names.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from advisor.explain.fields import field_of
from advisor.explain.remedies.cell_proposals import cell_changes
from advisor.explain.remedies.change import Change
from advisor.explain.remedies.sensible import largest, smallest
from advisor.job.model import Feature, Job
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
LADDER = (0.7, 1.4, 0.5, 2.0, 0.25, 4.0)
#: How far a change is, where it is no number that moves: what nobody said first, another alloy last.
STATED, WORD, RULE, FINISH, DEFECT, ALLOY = 0.8, 1.5, 2.0, 2.5, 3.0, 3.2
#: Faces that have a radius.
_ROUND = ("convex", "concave")


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
        *cell_changes(job, knowledge, media),
        *(Change("", "", RULE, rule) for rule in rules),
    ]
    unique = {str(change): change for change in found}
    return sorted(unique.values(), key=lambda change: (change.rank, str(change)))


# ---------------------------------------------------------------------- numbers
def _numbers(job: Job, feature: Feature, facts: Facts, knowledge: Knowledge) -> Iterator[Change]:
    limits = _limits(job, feature, knowledge)
    for attribute, (unit, costs) in NUMBERS.items():
        field = field_of(attribute, job, feature)
        if field is None or not _has(feature, attribute):
            continue
        present = facts.get(attribute)
        number = float(present) if isinstance(present, (int, float)) else None
        ladder = {_round(number * share) for share in LADDER} if costs and number else set()
        values = ladder.union(_around(number, sorted(limits.get(attribute, ()))))
        low, high = _range(attribute, job, feature, number, knowledge)
        for value in values:
            if value == number or not low <= value <= high or value <= 0:
                continue
            rank = STATED if not number else abs(math.log(value / number))
            text = str(max(1, round(value))) if attribute == "batch" else f"{figure(value)} {unit}"
            yield Change(field, text, rank, None, attribute, float(text.split()[0]), value not in ladder)


def _has(feature: Feature, attribute: str) -> bool:
    """Whether a face of this shape can have a quantity at all."""
    if attribute in ("feature.radius_mm", "feature.cross_radius_mm"):
        return feature.shape in _ROUND
    return attribute != "feature.edge_radius_mm" or feature.edges == "break"


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


def _range(
    attribute: str, job: Job, feature: Feature, present: float | None, knowledge: Knowledge
) -> tuple[float, float]:
    """What the vocabulary allows, as far as it makes sense for this part."""
    declared = knowledge.vocabulary.attributes[attribute]
    low, high = declared.low or 0.0, declared.high or math.inf
    return (
        max(low, smallest(attribute, job, feature, present)),
        min(high, largest(attribute, job, feature, present, knowledge)),
    )


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
            if field is None or value == present or not _fits(feature, attribute, value):
                continue
            rank = DEFECT if attribute == "feature.shape" else WORD if present else STATED
            if present in declared.values:  # words stand in an order; the next one is the nearest
                rank += abs(declared.values.index(value) - declared.values.index(str(present))) / 100
            yield Change(field, f'"{value}"' if value == "no" else value, rank, None, attribute)


def _fits(feature: Feature, attribute: str, value: str) -> bool:
    """Another shape only where the face's radius goes with it: a round stays a round, turned outside in."""
    return attribute != "feature.shape" or (value in _ROUND) == (feature.shape in _ROUND)


def _rows(job: Job, feature: Feature, knowledge: Knowledge) -> Iterator[Change]:
    tables = knowledge.tables
    finish, defect = (field_of(key, job, feature) or "" for key in ("finish.key", "defect"))
    for key in tables.finishes:
        if key != feature.finish.finish:
            yield Change(finish, key, FINISH, None, "finish.key")
    for key in tables.defects:
        if key != feature.start.defect:
            yield Change(defect, key, DEFECT, None, "defect")
    for key in _alloys(job, knowledge):
        yield Change("alloy", key, ALLOY, None, "alloy.key")
    if feature.start.also:
        yield Change(defect.replace(".defect", ".also"), "[]", WORD)


def _alloys(job: Job, knowledge: Knowledge) -> Iterator[str]:
    """The other alloys of the group, and of every other family the one nearest in hardness."""
    rows = knowledge.tables.alloys
    own = rows[job.alloy]
    families: dict[str, str] = {}
    for key, row in sorted(
        rows.items(), key=lambda item: abs(math.log(item[1].hardness_hv / own.hardness_hv))
    ):
        if row.group == own.group:
            if key != own.key:
                yield key
        else:
            families.setdefault(row.family, key)
    yield from families.values()
