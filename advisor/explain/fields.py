"""Where in a job file each attribute that rules test is said, so that a fact can be traced and changed."""

from __future__ import annotations

from collections.abc import Mapping

from advisor.job.model import Feature, Job

#: Attribute -> field of the job file. `{feature}` stands for the feature, `{start}` and `{finish}` for the
#: place that holds for it: its own, or the job's.
JOB_FIELDS: Mapping[str, str] = {
    "alloy.key": "alloy",
    "part.mass_kg": "part.mass",
    "part.size_mm": "part.size",
    "part.wall_mm": "part.wall",
    "part.contour": "part.contour",
    "batch": "batch",
    "environment": "environment",
    "after": "after",
    "defect": "{start}.defect",
    "depth_mm": "{start}.depth",
    "incoming_ra_um": "{start}.roughness",
    "felt": "{start}.felt",
    "coating.hazard": "{start}.coating",
    "feature.shape": "{feature}.shape",
    "feature.radius_mm": "{feature}.radius",
    "feature.cross_radius_mm": "{feature}.cross_radius",
    "feature.width_mm": "{feature}.width",
    "feature.area_cm2": "{feature}.area",
    "feature.access_mm": "{feature}.access",
    "feature.visible": "{feature}.visible",
    "feature.joint": "{feature}.joint",
    "feature.edges": "{feature}.edges",
    "feature.edge_radius_mm": "{feature}.edge_radius",
    "feature.max_stock_mm": "{feature}.max_stock",
    "finish.key": "{finish}",
    "finish.designation": "{finish}",
    "finish.sample": "{finish}",
    "operator": "cell.operator",
    "cell.wet": "cell.wet",
    "media_history": "cell.media_history",
    "dust.collector": "cell.dust.collector",
    "dust.shared_with_steel": "cell.dust.shared_with",
}
#: Attributes of a table's row, by the start of their names -> the attribute that picks the row.
ROWS: Mapping[str, str] = {"alloy.": "alloy.key", "defect.": "defect", "finish.": "finish.key"}


def field_of(attribute: str, job: Job, feature: Feature) -> str | None:
    """The field of the job file that says an attribute; None where no field does."""
    field = JOB_FIELDS.get(attribute)
    if field is None:
        return None
    place = f"features[{feature.name}]"
    return field.format(
        feature=place,
        start=f"{place}.start" if feature.own_start else "start",
        finish=f"{place}.finish" if feature.own_finish else "finish",
    )
