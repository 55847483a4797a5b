"""The surface the work begins with; what nobody measured is taken from the defect's row and said so."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, get_args

from advisor.errors import InputError, Problem
from advisor.job.model import Assumed, Felt, Start
from advisor.job.names import resolve_row
from advisor.knowledge.entries import Fields
from advisor.knowledge.reference import Defect
from advisor.knowledge.strict_yaml import Node
from advisor.units import plain_number

START_KEYS = ("defect", "also", "depth", "roughness", "felt", "coating")
OLD_COATINGS = ("lacquer", "paint", "plating")
_FELT_WORDS = {"no": "slides over it", "catches": "catches in it", "steps": "climbs a step"}


@dataclass(frozen=True, slots=True)
class Said:
    """What one `start` field said, before defaults; None is not said."""

    defect: Defect | None = None
    also: tuple[str, ...] | None = None
    depth_mm: tuple[float, float] | None = None
    roughness_um: float | None = None
    felt: str | None = None
    coating: str | None = None


def read_start(node: Node, field: str, parent: Fields, defects: Mapping[str, Defect]) -> Said | None:
    """One `start` mapping (or just a defect's key); None and problems where it is none."""
    if isinstance(node.value, str):
        return Said(defect=_defect(node, field, parent, defects))
    fields = Fields.of(node, field, parent.file, parent.problems, START_KEYS, "a start")
    if fields is None:
        return None
    defect_node = fields.get("defect")
    defect = None if defect_node is None else _defect(defect_node, fields.name("defect"), fields, defects)
    also = None
    if fields.get("also") is not None:
        rows = [_defect(item, fields.name("also"), fields, defects) for item in fields.entries("also")]
        also = tuple(dict.fromkeys(row.key for row in rows if row is not None))
    return Said(
        defect=defect,
        also=also,
        depth_mm=fields.band("depth"),
        roughness_um=fields.quantity("roughness"),
        felt=fields.choice("felt", get_args(Felt)),
        coating=fields.choice("coating", ("none", "hazardous")),
    )


def _defect(node: Node, field: str, fields: Fields, defects: Mapping[str, Defect]) -> Defect | None:
    text = fields.text_of(node, field)
    if text is None:
        return None
    try:
        return resolve_row(text, defects, "defect", fields.place(node), field)
    except InputError as error:
        fields.problems += error.problems
        return None


def merge(base: Said | None, own: Said) -> Said:
    """A feature's own start over the job's.

    Each field replaces the job's. Another defect, a new depth or a new feel also takes away the job's
    depth and feel, which were said of something else.
    """
    if base is None:
        return own
    merged = replace(base, **{key: value for key in _FIELDS if (value := getattr(own, key)) is not None})
    if own.defect is not None or own.depth_mm is not None or own.felt is not None:
        merged = replace(merged, depth_mm=own.depth_mm, felt=own.felt)
    return merged


_FIELDS = ("defect", "also", "depth_mm", "roughness_um", "felt", "coating")


Completed = tuple[Start, list[Assumed]]


def complete(said: Said, field: str, place: str, problems: list[Problem]) -> Completed | None:
    """The start with every gap filled from the defect's row, and what was assumed on the way."""
    defect = said.defect
    if defect is None:
        problems.append(Problem(place, f"{field}.defect: what must go is needed, such as weld-bead"))
        return None
    assumed: list[Assumed] = []
    values: dict[str, Any] = {"depth_mm": said.depth_mm, "depth_from": "given"}
    if said.depth_mm is None:
        window = defect.felt.get(said.felt) if said.felt else None
        values = {"depth_mm": window or defect.depth_mm, "depth_from": "felt" if window else "table"}
        why = f"no depth is given; usual for {defect.name}"
        if window and said.felt:
            why = f"no depth is given; a fingernail {_FELT_WORDS[said.felt]}, usual for {defect.name}"
        low, high = (plain_number(value) for value in values["depth_mm"])
        assumed.append(Assumed(field=f"{field}.depth", value=f"{low} mm, at worst {high} mm", why=why))
    values |= {"roughness_um": said.roughness_um, "roughness_from": "given"}
    if said.roughness_um is None:
        values |= {"roughness_um": defect.ra_um, "roughness_from": "table"}
        why = f"no roughness is given; usual for {defect.name}"
        assumed.append(Assumed(field=f"{field}.roughness", value=f"{plain_number(defect.ra_um)} um", why=why))
    also = tuple(key for key in said.also or () if key != defect.key)
    if said.coating is None and set(OLD_COATINGS) & {defect.key, *also}:
        why = "nobody says what the old coating is; it may hold lead, chromate or cadmium"
        assumed.append(Assumed(field=f"{field}.coating", value="hazardous", why=why))
    start = Start.model_validate(
        {"defect": defect.key, "also": also, "felt": said.felt, "coating": said.coating, **values}
    )
    return start, assumed
