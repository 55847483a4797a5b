"""Makes jobs with changes quickly: each change is read once, as what it replaces, and then put together at will.

Only for trying out. What is told to a reader is always read again from its text (`change.changed`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from advisor.errors import AdvisorError
from advisor.explain.remedies.change import Change, changed
from advisor.job.model import Job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.cell import Cell

#: What a change replaces: the owner (job, part, feature, start, cell, or a station's name) and its field.
Patch = Mapping[tuple[str, str], Any]
#: Attributes that stand in the job as they are typed, with nothing else following from them.
_PLAIN: Mapping[str, tuple[str, str]] = {
    "depth_mm": ("start", "depth_mm"),
    "incoming_ra_um": ("start", "roughness_um"),
    "environment": ("job", "environment"),
    "after": ("job", "after"),
    "batch": ("job", "batch"),
    **{f"part.{name}": ("part", name) for name in ("mass_kg", "size_mm", "wall_mm", "contour")},
    **{
        f"feature.{name}": ("feature", name)
        for name in (
            "radius_mm", "cross_radius_mm", "width_mm", "area_cm2", "access_mm", "max_stock_mm", "visible", "joint",
        )
    },
}  # fmt: skip


class Jobs:
    """The jobs that changes make of one job, with one of its features alone."""

    def __init__(self, job: Job, feature: str, knowledge: Knowledge) -> None:
        # What the other features ask for does not decide this one's candidates.
        self.base = job.model_copy(update={"features": (job.feature(feature),)})
        self._whole = job
        self._knowledge = knowledge
        self._patches: dict[Change, Patch | None] = {}

    def alone(self, changes: Iterable[Change]) -> Job | None:
        """The job with some changes and one feature; None where one of them makes no job."""
        merged: dict[tuple[str, str], Any] = {}
        for change in sorted(
            changes, key=lambda each: each.number is not None
        ):  # a figure stands above a row
            patch = self.patch(change)
            if patch is None:
                return None
            merged.update(patch)
        return _patched(self.base, merged) if merged else self.base

    def whole(self, changes: Iterable[Change]) -> Job | None:
        """The job with some changes and all its features; None where it is none."""
        try:
            return changed(self._whole, changes, self._knowledge)
        except AdvisorError:
            return None

    def patch(self, change: Change) -> Patch | None:
        """What a change replaces; None where it makes no job by itself."""
        if change not in self._patches:
            self._patches[change] = self._read(change)
        return self._patches[change]

    def _read(self, change: Change) -> Patch | None:
        value: Any
        if change.rule is not None:
            return {}
        if change.sets is not None:
            owner, name, value = change.sets
            return {(owner, name): value}
        place = _PLAIN.get(change.attribute)
        if place is not None:
            value = change.value if change.number is None else change.number
            if place[1] == "depth_mm":
                value = (value, value)
            return {place: int(value) if place[1] == "batch" else value}
        try:
            after = changed(self.base, (change,), self._knowledge)
        except AdvisorError:
            return None
        return dict(_differences(self.base, after))


def _differences(before: Job, after: Job) -> Iterator[tuple[tuple[str, str], Any]]:
    """What differs between two jobs of one feature, field by field."""
    face, other = before.features[0], after.features[0]
    pairs: list[tuple[str, Any, Any, tuple[str, ...]]] = [
        ("job", before, after, ("alloy", "environment", "after", "batch")),
        ("part", before.part, after.part, tuple(type(before.part).model_fields)),
        ("feature", face, other, tuple(name for name in type(face).model_fields if name != "start")),
        ("start", face.start, other.start, tuple(type(face.start).model_fields)),
    ]
    if [each.name for each in before.cell.stations] != [each.name for each in after.cell.stations]:
        yield ("job", "cell"), after.cell
    else:
        names = tuple(name for name in Cell.model_fields if name not in ("key", "stations", "source", "note"))
        pairs.append(("cell", before.cell, after.cell, names))
        for one, two in zip(before.cell.stations, after.cell.stations, strict=True):
            pairs.append((f"station {one.name}", one, two, tuple(type(one).model_fields)))
    for owner, old, new, fields in pairs:
        for name in fields:
            if getattr(old, name) != getattr(new, name):
                yield (owner, name), getattr(new, name)


def _patched(job: Job, patch: Patch) -> Job:
    by_owner: dict[str, dict[str, Any]] = {}
    for (owner, name), value in patch.items():
        by_owner.setdefault(owner, {})[name] = value
    update = by_owner.pop("job", {})
    cell: Cell = update.get("cell", job.cell)
    stations = {owner: fields for owner, fields in by_owner.items() if owner.startswith("station ")}
    if stations:
        by_owner.setdefault("cell", {})["stations"] = tuple(
            each.model_copy(update=stations.get(f"station {each.name}", {})) for each in cell.stations
        )
    if "cell" in by_owner:
        update["cell"] = cell.model_copy(update=by_owner["cell"])
    if "part" in by_owner:
        update["part"] = job.part.model_copy(update=by_owner["part"])
    face = job.features[0]
    own = by_owner.get("feature", {})
    if "start" in by_owner:
        own["start"] = face.start.model_copy(update=by_owner["start"])
    if own:
        update["features"] = (face.model_copy(update=own),)
    return job.model_copy(update=update)
