"""The quantities of a job that may be off: everything that was measured, felt, asked for or assumed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from advisor.job.model import Feature, Job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.entries import RANGES
from advisor.sequence.feature_desk import ASSUMED_AREA_CM2
from advisor.units import quantity_text

#: Fields of a face in the order in which they are looked at, with their unit and name in words.
_OF_FACE = (
    ("radius", "mm", "radius"),
    ("width", "mm", "width"),
    ("area", "cm2", "area"),
    ("access", "mm", "free space"),
    ("max_stock", "mm", "stock that may come off"),
    ("edge_radius", "mm", "edge radius"),
    ("cross_radius", "mm", "cross radius"),
)
_OF_PART = (("wall", "mm", "wall"), ("mass", "kg", "mass of the part"), ("size", "mm", "length of the part"))
#: The hardness stands in no job file: it is what the alloy usually has.
HARDNESS = "alloy.hardness"


@dataclass(frozen=True, slots=True)
class Quantity:
    """One number that the sheet was made with: the field as in the job file, and the faces it bears on.

    `worst` is how many times the typical value the worst one is, None where the field has only one.
    `whole` is a count. `known` tells whether rules may see the value; an area that nobody gave they do not.
    """

    field: str
    label: str
    value: float
    unit: str
    given: bool
    faces: tuple[str, ...]
    worst: float | None = None
    whole: bool = False
    known: bool = True

    @property
    def kind(self) -> str:
        """The last part of the field's name."""
        return self.field.rpartition(".")[2]

    @property
    def possible(self) -> tuple[float, float]:
        """The lowest and highest value that a job can have."""
        if self.whole:
            return 1.0, 1e9
        if self.field == HARDNESS:
            return 1.0, 1e4
        _, low, high = RANGES[self.kind]
        return low, high / (self.worst or 1.0)

    def rounded(self, value: float) -> float:
        """A value as exactly as it is written."""
        return float(round(value)) if self.whole else float(f"{value:.6g}")

    def text(self, value: float) -> str:
        """Another value as it stands in a job file."""
        if self.whole:
            return str(round(value))
        typical = quantity_text(value, self.unit)
        if self.worst is None:
            return typical
        return f"[{typical}, {quantity_text(float(f'{value * self.worst:.6g}'), self.unit)}]"


def quantities(job: Job, knowledge: Knowledge) -> tuple[Quantity, ...]:
    """All of them, those least sure first: depths and roughness at the start, then the faces, the part, the metal."""
    names = tuple(face.name for face in job.features)
    return (
        *_depths(job),
        *_roughness(job),
        *(each for field in _OF_FACE for each in _of_faces(job, *field)),
        *_of_part(job, names),
        Quantity("batch", "batch", float(job.batch), "", not job.is_assumed("batch"), names, whole=True),
        Quantity(
            HARDNESS, "hardness of the alloy", knowledge.tables.alloys[job.alloy].hardness_hv, "HV", False, names
        ),
    )


def _depths(job: Job) -> Iterator[Quantity]:
    for field, face, faces in _starts(job, "depth"):
        low, high = face.start.depth_mm
        if low > 0:
            given = face.start.depth_from != "table"
            worst = high / low if high > low else None
            yield Quantity(field, "depth of the defect", low, "mm", given, faces, worst)


def _roughness(job: Job) -> Iterator[Quantity]:
    """Where nobody gave one, each face has that of its own defect's row, and may be off by itself."""
    label = "Ra at the start"
    shared = job.start is not None and job.start.roughness_from == "given"
    for field, face, faces in _starts(job, "roughness") if shared else ():
        yield Quantity(field, label, face.start.roughness_um, "um", True, faces)
    for face in job.features if not shared else ():
        field, given = f"features[{face.name}].start.roughness", face.start.roughness_from == "given"
        yield Quantity(field, label, face.start.roughness_um, "um", given, (face.name,))


def _starts(job: Job, name: str) -> Iterator[tuple[str, Feature, tuple[str, ...]]]:
    """A field of the start that all faces without one of their own share, then those of the others."""
    sharing = [face for face in job.features if not face.own_start]
    if sharing:
        yield f"start.{name}", sharing[0], tuple(face.name for face in sharing)
    for face in job.features:
        if face.own_start:
            yield f"features[{face.name}].start.{name}", face, (face.name,)


def _of_faces(job: Job, name: str, unit: str, label: str) -> Iterator[Quantity]:
    for face in job.features:
        value = getattr(face, f"{name}_{unit}")
        field, faces = f"features[{face.name}].{name}", (face.name,)
        if value:
            yield Quantity(field, label, value, unit, True, faces)
        elif name == "area":
            yield Quantity(field, label, ASSUMED_AREA_CM2, unit, False, faces, known=False)


def _of_part(job: Job, faces: tuple[str, ...]) -> Iterator[Quantity]:
    for name, unit, label in _OF_PART:
        value = getattr(job.part, f"{name}_{unit}")
        if value:
            yield Quantity(f"part.{name}", label, value, unit, True, faces)


def with_value(job: Job, quantity: Quantity, value: float) -> Job:
    """The job with a quantity at another value; nothing else is read or worked out anew."""
    kind = quantity.kind
    if kind == "batch":
        return job.model_copy(update={"batch": round(value)})
    if quantity.field == HARDNESS:
        return job
    name = f"{kind}_{quantity.unit}"
    if quantity.field.startswith("part."):
        return job.model_copy(update={"part": job.part.model_copy(update={name: value})})
    features = tuple(
        _face_with(face, quantity, name, value) if face.name in quantity.faces else face for face in job.features
    )
    return job.model_copy(update={"features": features})


def _face_with(face: Feature, quantity: Quantity, name: str, value: float) -> Feature:
    if quantity.kind == "depth":
        worst = float(f"{value * (quantity.worst or 1.0):.6g}")
        return face.model_copy(update={"start": face.start.model_copy(update={name: (value, worst)})})
    if quantity.kind == "roughness":
        return face.model_copy(update={"start": face.start.model_copy(update={name: value})})
    return face.model_copy(update={name: value})


def knowledge_with(knowledge: Knowledge, job: Job, quantity: Quantity, value: float) -> Knowledge:
    """The knowledge with the hardness of the job's alloy at another value, where that is the quantity."""
    if quantity.field != HARDNESS:
        return knowledge
    alloys = knowledge.tables.alloys
    row = alloys[job.alloy].model_copy(update={"hardness_hv": value})
    tables = knowledge.tables.model_copy(update={"alloys": {**alloys, job.alloy: row}})
    return knowledge.model_copy(update={"tables": tables})
