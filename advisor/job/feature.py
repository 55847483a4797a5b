"""One face or edge of the part: its geometry, and what is wrong with it taken together."""

from __future__ import annotations

from typing import Any, get_args

from advisor.errors import shorten
from advisor.job.model import Shape
from advisor.knowledge.entries import Fields
from advisor.knowledge.strict_yaml import Node

FEATURE_KEYS = (
    "name", "shape", "radius", "cross_radius", "width", "area", "access", "visible", "joint", "edges",
    "edge_radius", "max_stock", "start", "finish",
)  # fmt: skip


def feature_path(node: Node, number: int) -> str:
    """How messages call a feature: by its name, else by its place in the list."""
    named = node.value.get("name") if isinstance(node.value, dict) else None
    shown = "" if named is None else "".join(letter for letter in named.raw if letter.isprintable())
    return f"features[{shorten(shown, 80) or number}]"


def read_geometry(fields: Fields) -> dict[str, Any]:
    """The fields of a feature but its start and finish, as keywords of the model."""
    fields.require("name", "a feature needs a name")
    fields.require("shape", "a feature needs its shape", ", ".join(get_args(Shape)))
    values: dict[str, Any] = {
        "name": fields.text("name"),
        "shape": fields.choice("shape", get_args(Shape)),
        "radius_mm": fields.quantity("radius"),
        "cross_radius_mm": fields.quantity("cross_radius"),
        "width_mm": fields.quantity("width"),
        "area_cm2": fields.quantity("area"),
        "access_mm": fields.quantity("access"),
        "visible": fields.choice("visible", ("A", "B", "C")),
        "joint": fields.choice("joint", ("none", "mitre", "corner")),
        "edges": fields.choice("edges", ("keep", "break")),
        "edge_radius_mm": fields.quantity("edge_radius"),
        "max_stock_mm": fields.quantity("max_stock"),
    }
    _check_shape(fields, values["shape"])
    if values["edge_radius_mm"] is not None:
        if values["edges"] == "keep":
            what = "kept edges have no radius; say edges: break, or leave the radius out"
            fields.fault(fields.get("edge_radius"), fields.name("edge_radius"), what)
        values["edges"] = "break"
    return values


def _check_shape(fields: Fields, shape: str | None) -> None:
    radius = fields.get("radius")
    if shape in ("convex", "concave"):
        if radius is None:
            fields.fault(fields.get("shape"), fields.name("radius"), f"a {shape} face needs its radius")
        return
    if shape == "edge":
        for key in ("radius", "cross_radius"):
            if fields.get(key) is not None:
                what = "an edge takes no radius; use edges: break with edge_radius"
                fields.fault(fields.get(key), fields.name(key), what)
    elif shape == "flat" and radius is not None:
        fields.fault(radius, fields.name("radius"), "a flat face takes no radius; say convex or concave")
