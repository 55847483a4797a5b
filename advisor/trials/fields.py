"""The fields of a set-up in a trial file: how each is written, and where it goes in the model.

Reading, writing, asking and showing all go by this one table, so that none can forget a field.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from advisor.knowledge.base import Knowledge
from advisor.knowledge.vocabulary import Decision


@dataclass(frozen=True, slots=True)
class UsedField:
    """One field: `key` in the file, `attribute` of `Used`, how it is written, what it is called.

    `rule` is a row of the possible ranges for a quantity; `decision` the decision that it is the
    outcome of, which also holds its options; `unit` the unit it is kept in.
    """

    key: str
    attribute: str
    title: str
    kind: Literal["choice", "quantity", "number", "whole", "text"]
    decision: str | None = None
    rule: str = ""
    unit: str = ""
    low: float = 0.0
    high: float = 0.0


USED_FIELDS: tuple[UsedField, ...] = (
    UsedField("media", "media", "media", "choice", "media"),
    UsedField("grain", "grain", "grain", "choice", "grain"),
    UsedField("grade", "grade", "grade", "choice", "grade"),
    UsedField("build", "build", "build", "choice", "build"),
    UsedField("coat", "coat", "coat", "choice", "coat"),
    UsedField("top_coat", "top_coat", "top coat", "choice", "top_coat"),
    UsedField("backing", "backing", "backing", "choice", "backing"),
    UsedField(
        "hardness_shore_a", "hardness_shore_a", "wheel hardness", "number", "wheel_hardness",
        unit="Shore A", low=5, high=100,
    ),
    UsedField("wheel_cover", "wheel_cover", "wheel cover", "choice", "wheel_cover"),
    UsedField("wheel_face", "wheel_face", "wheel face", "choice", "wheel_face"),
    UsedField("wheel_diameter", "wheel_diameter_mm", "wheel diameter", "quantity", None, "wheel_diameter", "mm"),
    UsedField("wheel_width", "wheel_width_mm", "wheel width", "quantity", "wheel_width", "wheel_width", "mm"),
    UsedField("wheel_edge", "wheel_edge_mm", "dressed edge", "quantity", "wheel_edge", "wheel_edge", "mm"),
    UsedField("lubricant", "lubricant", "lubricant", "choice", "lubricant"),
    UsedField("direction", "direction", "direction of the stroke", "choice", "direction"),
    UsedField(
        "overlap", "overlap_percent", "overlap of the passes", "number", "overlap", unit="%", low=0, high=95
    ),
    UsedField("force", "force_n", "force", "quantity", "force", "used_force", "N"),
    UsedField(
        "surface_speed", "surface_speed_m_s", "surface speed", "quantity", "surface_speed", "surface_speed",
        "m/s",
    ),
    UsedField("feed", "feed_mm_s", "feed", "quantity", "feed", "feed", "mm/s"),
    UsedField("passes", "passes", "passes", "whole", "passes", low=1, high=1000),
    UsedField(
        "media_age", "media_age_parts", "age of the media", "whole", unit="parts since fresh",
        low=0, high=10_000_000,
    ),
    UsedField("media_lot", "media_lot", "lot of the media", "text"),
)  # fmt: skip
USED_KEYS = tuple(field.key for field in USED_FIELDS)


def options_of(field: UsedField, knowledge: Knowledge) -> tuple[str, ...]:
    """The words a field may hold, in the order of the vocabulary; empty where it holds no word."""
    if field.kind != "choice" or field.decision is None:
        return ()
    if field.decision == "grade":
        return tuple(knowledge.tables.grades)
    decision: Decision = knowledge.vocabulary.decisions[field.decision]
    return decision.options
