"""The quantities of a job that may be off: what was measured, felt or assumed, those least sure first."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from advisor.job.model import Feature, Job
from advisor.sequence.feature_desk import ASSUMED_AREA_CM2
from advisor.units import quantity_text

#: No more than this are looked at in one job: an answer that takes longer than the sheet is not read.
MOST = 8


@dataclass(frozen=True, slots=True)
class Quantity:
    """One number that the sheet was made with: the field as in the job file, and the faces it bears on.

    `worst` is how many times the typical value the worst one is, None where the field has only one.
    """

    field: str
    label: str
    value: float
    unit: str
    given: bool
    faces: tuple[str, ...]
    worst: float | None = None

    def text(self, value: float) -> str:
        """Another value as it stands in a job file."""
        typical = quantity_text(float(f"{value:.6g}"), self.unit)
        if self.worst is None:
            return typical
        return f"[{typical}, {quantity_text(float(f'{value * self.worst:.6g}'), self.unit)}]"


def quantities(job: Job) -> tuple[Quantity, ...]:
    """What is looked at, at most `MOST`: depths, assumed areas, radii, widths, then starting roughness."""
    found = [*_depths(job), *_areas(job), *_geometry(job, "radius"), *_geometry(job, "width"), *_roughness(job)]
    return tuple(found[:MOST])


def _depths(job: Job) -> Iterator[Quantity]:
    for field, face, faces in _starts(job, "depth"):
        low, high = face.start.depth_mm
        if low > 0:
            given = face.start.depth_from != "table"
            worst = high / low if high > low else None
            yield Quantity(field, "depth of the defect", low, "mm", given, faces, worst)


def _roughness(job: Job) -> Iterator[Quantity]:
    for field, face, faces in _starts(job, "roughness"):
        if face.start.roughness_um > 0:
            given = face.start.roughness_from == "given"
            yield Quantity(field, "Ra at the start", face.start.roughness_um, "um", given, faces)


def _starts(job: Job, name: str) -> Iterator[tuple[str, Feature, tuple[str, ...]]]:
    """A field of the start that all faces without one of their own share, then those of the others."""
    sharing = [face for face in job.features if not face.own_start]
    if sharing:
        yield f"start.{name}", sharing[0], tuple(face.name for face in sharing)
    for face in job.features:
        if face.own_start:
            yield f"features[{face.name}].start.{name}", face, (face.name,)


def _areas(job: Job) -> Iterator[Quantity]:
    for face in job.features:
        if face.area_cm2 is None:
            yield Quantity(f"features[{face.name}].area", "area", ASSUMED_AREA_CM2, "cm2", False, (face.name,))


def _geometry(job: Job, name: str) -> Iterator[Quantity]:
    for face in job.features:
        value = getattr(face, f"{name}_mm")
        if value:
            yield Quantity(f"features[{face.name}].{name}", name, value, "mm", True, (face.name,))
