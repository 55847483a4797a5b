"""A job back into the form of a job file, in base units and without defaults: read again it is the same."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any

from advisor.job.model import Feature, Job, Start, Target
from advisor.knowledge.cell import Cell, Changeover, Compliance, Dust, Station
from advisor.units import plain_number, quantity_text


def to_json(job: Job) -> dict[str, Any]:
    """The job as a plain mapping that is itself a valid job file.

    Quantities are text in base units; what was assumed is left out, so that it is assumed again.
    """
    return _without_gaps(
        {
            "name": job.name,
            "alloy": job.alloy,
            "part": _without_gaps(
                {
                    "mass": _quantity(job.part.mass_kg, "kg"),
                    "size": _quantity(job.part.size_mm, "mm"),
                    "wall": _quantity(job.part.wall_mm, "mm"),
                    "contour": None if job.is_assumed("part.contour") else job.part.contour,
                }
            ),
            "start": None if job.start is None else _start(job.start),
            "features": [_feature(item, job.start) for item in job.features],
            "finish": None if job.finish is None else _target(job.finish),
            "environment": job.environment,
            "after": None if job.is_assumed("after") else job.after,
            "cell": job.cell.key or cell_json(job.cell),
            "batch": None if job.is_assumed("batch") else job.batch,
        }
    )


def canonical_json(job: Job) -> str:
    """One text for one job, whatever the order of the file: sorted keys, no spaces, UTF-8 characters kept."""
    return json.dumps(to_json(job), sort_keys=True, ensure_ascii=False, separators=(",", ":"))


def job_fingerprint(job: Job) -> str:
    """SHA-256 of the canonical text: two jobs have the same one only where they ask for the same."""
    return "sha256:" + hashlib.sha256(canonical_json(job).encode()).hexdigest()


def cell_json(cell: Cell) -> dict[str, Any]:
    """A cell as the mapping that stands in a job file."""
    rates = None if cell.rates is None else {"hour": _plain(cell.rates.hour), "currency": cell.rates.currency}
    return _without_gaps(
        {
            "name": cell.name,
            "operator": cell.operator,
            "handling": list(cell.handling),
            "wet": cell.wet,
            "media_history": cell.media_history,
            "dust": None if cell.dust is None else _dust(cell.dust),
            "stations": [_station(item) for item in cell.stations],
            "compliance": None if cell.compliance is None else _compliance(cell.compliance),
            "changeover": _changeover(cell.changeover),
            "rates": rates,
            "note": cell.note,
        }
    )


def _without_gaps(mapping: Mapping[str, Any]) -> dict[str, Any]:
    """The mapping without fields that hold nothing."""
    return {key: value for key, value in mapping.items() if value is not None and value not in ({}, [])}


def _dust(dust: Dust) -> dict[str, Any]:
    written = _without_gaps({"collector": dust.collector})
    if dust.shared_with is not None:  # shared with nothing is not the same as not known
        written["shared_with"] = list(dust.shared_with)
    return written


def _compliance(flange: Compliance) -> dict[str, Any]:
    force = _window(flange.force_n, "N")
    return _without_gaps({"stroke": _quantity(flange.stroke_mm, "mm"), "force": force})


def _changeover(times: Changeover) -> dict[str, Any]:
    return _without_gaps(
        {
            "belt": _quantity(times.belt_s, "s"),
            "wheel": _quantity(times.wheel_s, "s"),
            "disc": _quantity(times.disc_s, "s"),
            "hand-tool": _quantity(times.hand_tool_s, "s"),
        }
    )


def _plain(value: float) -> int | float:
    return int(value) if value == int(value) else value


def _quantity(value: float | None, unit: str) -> str | None:
    return None if value is None else quantity_text(value, unit)


def _window(value: tuple[float, float] | None, unit: str) -> str | list[str] | None:
    if value is None:
        return None
    low, high = value
    return quantity_text(low, unit) if low == high else [quantity_text(low, unit), quantity_text(high, unit)]


def _station(item: Station) -> dict[str, Any]:
    return _without_gaps(
        {
            "name": item.name,
            "takes": list(item.takes),
            "power": _quantity(item.power_kw, "kW"),
            "speed": _window(item.speed_rpm, "rpm"),
            "wheel_diameter": _quantity(item.wheel_diameter_mm, "mm"),
            "min_diameter": _quantity(item.min_diameter_mm, "mm"),
            "wheel_hardness": [_plain(value) for value in item.wheel_hardness],
            "wheel_width": [quantity_text(value, "mm") for value in item.wheel_width_mm],
            "wheel_face": list(item.wheel_face),
            "wheel_cover": list(item.wheel_cover),
            "wheel_cover_thickness": _quantity(item.wheel_cover_mm, "mm"),
            "wheel_crown": _quantity(item.wheel_crown_mm, "mm"),
            "belt_tension": _quantity(item.belt_tension_n_mm, "N/mm"),
            "marked_speed": _quantity(item.marked_speed_m_s, "m/s"),
        }
    )


def _start(start: Start) -> dict[str, Any]:
    return _without_gaps(
        {
            "defect": start.defect,
            "also": list(start.also),
            "depth": _window(start.depth_mm, "mm") if start.depth_from == "given" else None,
            "roughness": _quantity(start.roughness_um, "um") if start.roughness_from == "given" else None,
            "felt": start.felt,
            "coating": start.coating,
        }
    )


def _own_start(start: Start, base: Start | None) -> dict[str, Any]:
    written = _start(start)
    if base is not None and base.also and not start.also:
        written["also"] = []  # the job's further defects are not this feature's
    return written


def _target(target: Target) -> str | dict[str, Any]:
    if not target.sample and (target.designation or target.finish):
        return str(target.designation or target.finish)
    ra = None if target.ra_assumed else [f"{plain_number(value)} um" for value in target.ra_um]
    return _without_gaps(
        {
            "match": "sample" if target.sample else None,
            "texture": target.texture,
            "lay": None if target.lay_assumed else target.lay,
            "ra": ra,
            **dict(target.sample_facts),
        }
    )


def _feature(item: Feature, base: Start | None) -> dict[str, Any]:
    return _without_gaps(
        {
            "name": item.name,
            "shape": item.shape,
            "radius": _quantity(item.radius_mm, "mm"),
            "cross_radius": _quantity(item.cross_radius_mm, "mm"),
            "width": _quantity(item.width_mm, "mm"),
            "area": _quantity(item.area_cm2, "cm2"),
            "access": _quantity(item.access_mm, "mm"),
            "visible": item.visible,
            "joint": item.joint,
            "edges": item.edges,
            "edge_radius": _quantity(item.edge_radius_mm, "mm"),
            "max_stock": _quantity(item.max_stock_mm, "mm"),
            "start": _own_start(item.start, base) if item.own_start else None,
            "finish": _target(item.finish) if item.own_finish else None,
        }
    )
