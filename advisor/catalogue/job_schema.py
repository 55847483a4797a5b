"""The JSON Schema of a job file and of a cell, so that an editor completes and checks them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import get_args

from advisor.catalogue.schema_parts import (
    KEBAB,
    LINE,
    Schema,
    band,
    choice,
    described,
    document,
    mapping,
    one_or_more,
    quantity,
    ref,
    suggested,
)
from advisor.job.feature import FEATURE_KEYS
from advisor.job.model import After, Environment, Felt, Shape
from advisor.job.read import JOB_KEYS, LARGEST_BATCH, MOST_FEATURES
from advisor.job.start import START_KEYS
from advisor.job.target import SAMPLE_ASKS
from advisor.knowledge.base import Knowledge
from advisor.knowledge.cell import COVERS, FACES, FORMS, GROUPS
from advisor.knowledge.reference import Handling, Lay, Texture

_NAME: Schema = {"type": ["string", "number"], "pattern": r"\S", "maxLength": 80}
_TEXT: Schema = {"type": ["string", "number"], "pattern": r"\S"}


def job_schema(knowledge: Knowledge) -> Schema:
    """The schema of a job file."""
    return document("A job file", ref("job"), job_definitions(knowledge))


def job_definitions(knowledge: Knowledge) -> dict[str, Schema]:
    """The parts of a job."""
    return {
        "job": _job(knowledge),
        "start": _start(knowledge),
        "feature": _feature(),
        "finish": _finish(knowledge),
        "defect": choice(knowledge.tables.defects),
        "cell": cell_schema(knowledge),
    }


def _job(knowledge: Knowledge) -> Schema:
    fields: dict[str, Schema] = {
        "name": _NAME,
        "alloy": described(
            suggested(_alloy_names(knowledge), _TEXT),
            "A key of the alloy table, a UNS or EN number, or a common name.",
        ),
        "part": mapping(
            {
                "mass": quantity("mass"),
                "size": quantity("size", "The longest side."),
                "wall": quantity("wall", "The thinnest wall."),
                "contour": described(choice(("low", "high")), "How strongly the part is curved overall."),
            }
        ),
        "start": described(ref("start"), "The surface the work begins with."),
        "features": {
            "type": "array",
            "items": ref("feature"),
            "minItems": 1,
            "maxItems": MOST_FEATURES,
            "description": "The faces and edges to be finished.",
        },
        "finish": described(ref("finish"), "The finish of every feature that has none of its own."),
        "environment": described(choice(get_args(Environment)), "Where the part will live."),
        "after": described(choice(get_args(After)), "What follows the finishing."),
        "cell": {"anyOf": [choice(knowledge.tables.cells), ref("cell")], "description": "The equipment."},
        "batch": {"type": "integer", "minimum": 1, "maximum": LARGEST_BATCH, "description": "Parts a batch."},
    }
    return mapping({key: fields[key] for key in JOB_KEYS}, ["name", "alloy", "features", "cell"])


def _alloy_names(knowledge: Knowledge) -> Iterator[str]:
    seen: set[str] = set()
    for row in knowledge.tables.alloys.values():
        for name in (row.key, row.uns, row.en, row.name, *row.also):
            if name and name not in seen:
                seen.add(name)
                yield name


def _start(knowledge: Knowledge) -> Schema:
    fields: dict[str, Schema] = {
        "defect": described(ref("defect"), "What must go."),
        "also": described(
            {"anyOf": [ref("defect"), {"type": "array", "items": ref("defect")}]},
            "Further defects of the same face.",
        ),
        "depth": band("depth", "Depth or height of the defect, typical and worst."),
        "roughness": quantity("roughness", "Ra."),
        "felt": described(choice(get_args(Felt)), "A fingernail drawn across it."),
        "coating": described(choice(("none", "hazardous")), "What an old coating may hold."),
    }
    return {"anyOf": [ref("defect"), mapping({key: fields[key] for key in START_KEYS})]}


def _feature() -> Schema:
    fields: dict[str, Schema] = {
        "name": _NAME,
        "shape": choice(get_args(Shape)),
        "radius": quantity("radius", "Of a convex or concave face."),
        "cross_radius": quantity("cross_radius", "The curvature the other way."),
        "width": quantity("width", "The narrowest width of the face."),
        "area": quantity("area"),
        "access": quantity("access", "Free space beside or above the face."),
        "visible": described(choice("ABC"), "A always seen, B in use, C hidden."),
        "joint": choice(("none", "mitre", "corner")),
        "edges": choice(("keep", "break")),
        "edge_radius": quantity("edge_radius", "To which the edge is broken."),
        "max_stock": quantity("max_stock", "The most that may be taken off."),
        "start": described(ref("start"), "Its own start."),
        "finish": described(ref("finish"), "Its own finish."),
    }
    curved: Schema = {"properties": {"shape": choice(("convex", "concave"))}, "required": ["shape"]}
    edge: Schema = {"properties": {"shape": {"const": "edge"}}, "required": ["shape"]}
    return mapping(
        {key: fields[key] for key in FEATURE_KEYS},
        ["name", "shape"],
        allOf=[
            {"if": curved, "then": {"required": ["radius"]}, "else": {"not": {"required": ["radius"]}}},
            {"if": edge, "then": {"not": {"required": ["cross_radius"]}}},
        ],
    )


def _finish(knowledge: Knowledge) -> Schema:
    tables = knowledge.tables
    designations = tables.designations.values()
    named = [*tables.finishes, *(name for row in designations for name in (row.key, row.name))]
    texture, lay = choice(get_args(Texture)), choice(get_args(Lay))
    stated = mapping({"texture": texture, "lay": lay, "ra": band("ra", "Across the lay.")}, ["texture"])
    asked = {key: described(_TEXT, what) for key, what in SAMPLE_ASKS.items()}
    asked |= {"lay": lay, "ra": band("ra", "Across the lay."), "cutoff": quantity("cutoff")}
    sample = mapping({"match": {"const": "sample"}, "texture": texture, **asked}, ["match", "texture"])
    told = "A key of the finish table, a designation, or a texture with its lay and Ra."
    return described({"anyOf": [choice(dict.fromkeys(named)), _TEXT, stated, sample]}, told)


def cell_schema(knowledge: Knowledge, row: bool = False) -> Schema:
    """A cell; as a `row` of the cell table it has a key, a name and a source besides."""
    fields: dict[str, Schema] = {
        "name": _NAME,
        "operator": choice(("robot", "person")),
        "handling": one_or_more(choice(get_args(Handling))),
        "wet": {"type": "boolean", "description": "Whether the cell can work wet."},
        "media_history": described(
            choice(("clean", "steel", "unknown")), "What the media here has touched; steel is assumed."
        ),
        "dust": mapping(
            {
                "collector": choice(("none", "dry", "wet")),
                "shared_with": {"anyOf": [choice(GROUPS), {"type": "array", "items": choice(GROUPS)}]},
            }
        ),
        "stations": {"type": "array", "items": _station(knowledge), "minItems": 1},
        "compliance": mapping({"stroke": quantity("stroke"), "force": band("force")}),
        "changeover": {
            "anyOf": [quantity("changeover"), mapping({form: quantity("changeover") for form in FORMS})]
        },
        "rates": mapping({"hour": {"type": "number", "minimum": 0}, "currency": LINE}, ["hour", "currency"]),
        "note": LINE,
    }
    needed = ["operator", "handling", "stations"]
    if not row:
        return mapping(fields, needed)
    keys: Mapping[str, Schema] = {
        "key": {"type": "string", "pattern": KEBAB},
        "source": one_or_more(ref("source key")),
    }
    return mapping({**keys, **fields}, ["key", "name", "source", *needed])


def _station(knowledge: Knowledge) -> Schema:
    hardness: Schema = {"type": "number", "minimum": 5, "maximum": 95}
    return mapping(
        {
            "name": _NAME,
            "takes": described(one_or_more(choice(knowledge.tables.media)), "The media it can carry."),
            "power": quantity("power"),
            "speed": band("speed"),
            "wheel_diameter": quantity("wheel_diameter"),
            "min_diameter": quantity("min_diameter", "At which a wheel is thrown away."),
            "wheel_hardness": described(one_or_more(hardness), "Contact wheels on the shelf, Shore A."),
            "wheel_width": one_or_more(quantity("wheel_width")),
            "wheel_face": one_or_more(choice(FACES)),
            "wheel_cover": one_or_more(choice(COVERS)),
            "wheel_cover_thickness": quantity("wheel_cover_thickness", "Of a contact wheel, on its hub."),
            "wheel_crown": quantity("wheel_crown", "Radius of a contact wheel's face across its width."),
            "belt_tension": quantity("belt_tension", "At rest, for the width of the belt."),
            "marked_speed": quantity("marked_speed", "The speed marked on the media."),
        },
        ["name", "takes", "speed", "wheel_diameter"],
    )
