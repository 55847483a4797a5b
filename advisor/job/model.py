"""What the user asks, normalised: one frozen model, every quantity in its base unit, every default marked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal, Protocol

from advisor.knowledge.cell import Cell
from advisor.knowledge.reference import Frozen, Lay, Texture, Window

Shape = Literal["flat", "convex", "concave", "edge"]
Felt = Literal["no", "catches", "steps"]
Environment = Literal["indoor", "outdoor", "coastal", "food", "implant"]
After = Literal[
    "none", "powder-coat", "paint", "plate", "anodize", "lacquer", "passivate", "electropolish", "patina"
]


class TableSet(Protocol):
    """Tables by name, each a mapping from key to row in the order of its file."""

    def __getitem__(self, table: str, /) -> Mapping[str, Any]: ...


class Knowledge(Protocol):
    """What reading a job needs of the knowledge base.

    `alloys`, `defects`, `finishes`, `designations`, `media` hold the row models of
    `advisor.knowledge.reference`; `cells` holds `advisor.knowledge.cell.Cell`.
    """

    @property
    def tables(self) -> TableSet:
        """The tables by name."""
        ...


class Assumed(Frozen):
    """A value that nobody gave: the field as in the job file, the value in words, and why."""

    field: str
    value: str
    why: str


class Part(Frozen):
    """The part as a whole; None is not known. `contour` is low where nothing is said."""

    mass_kg: float | None = None
    size_mm: float | None = None
    wall_mm: float | None = None
    contour: Literal["low", "high"] = "low"


class Start(Frozen):
    """The surface the work begins with.

    `depth_mm` is typical and worst; `depth_from` says whether it was given, felt with a fingernail or
    taken from the defect's row; `roughness_from` likewise. `also` are further defects of the same face.
    `coating` is what an old coating may hold (None: not known).
    """

    defect: str
    also: tuple[str, ...] = ()
    depth_mm: Window
    depth_from: Literal["given", "felt", "table"]
    roughness_um: float
    roughness_from: Literal["given", "table"]
    felt: Felt | None = None
    coating: Literal["none", "hazardous"] | None = None

    @property
    def defects(self) -> tuple[str, ...]:
        """Every defect of the face, the main one first."""
        return (self.defect, *self.also)


class Target(Frozen):
    """The finish asked for, resolved. Ra in um, across the lay.

    `finish` and `designation` are keys of their tables where the job named one. `grades` are those
    the table or the standard names, on `grade_scale`. `sample` is a signed limit sample; `asks` is
    what such a sample still lacks. `says` is what the designation demands, in words.
    """

    texture: Texture
    lay: Lay
    lay_assumed: bool = False
    ra_low_um: float
    ra_high_um: float
    ra_assumed: bool = False
    finish: str | None = None
    designation: str | None = None
    grades: tuple[str, ...] = ()
    grade_scale: Literal["P", "CAMI"] = "P"
    grain: str | None = None
    sample: bool = False
    sample_facts: tuple[tuple[str, str], ...] = ()
    asks: tuple[str, ...] = ()
    source: tuple[str, ...] = ()
    says: str = ""

    @property
    def ra_um(self) -> Window:
        """The Ra band, low and high, in um."""
        return (self.ra_low_um, self.ra_high_um)


class Feature(Frozen):
    """One face or edge to be finished, with its own start and target already worked out.

    `own_start` and `own_finish` tell whether the job gave the feature one of its own.
    """

    name: str
    shape: Shape
    radius_mm: float | None = None
    cross_radius_mm: float | None = None
    width_mm: float | None = None
    area_cm2: float | None = None
    access_mm: float | None = None
    visible: Literal["A", "B", "C"] | None = None
    joint: Literal["none", "mitre", "corner"] | None = None
    edges: Literal["keep", "break"] | None = None
    edge_radius_mm: float | None = None
    max_stock_mm: float | None = None
    start: Start
    own_start: bool = False
    finish: Target
    own_finish: bool = False


class Job(Frozen):
    """A whole job. `alloy` is a key of the alloy table; `cell` is resolved.

    `start` and `finish` are the job's own (None where every feature brings its own); what counts for
    a feature is `feature.start` and `feature.finish`. `assumed` lists every default used.
    """

    name: str
    alloy: str
    part: Part = Part()
    start: Start | None = None
    features: tuple[Feature, ...]
    finish: Target | None = None
    environment: Environment | None = None
    after: After = "none"
    cell: Cell
    batch: int = 1
    assumed: tuple[Assumed, ...] = ()

    def is_assumed(self, field: str) -> bool:
        """Whether a field, named as in the job file, was assumed rather than given."""
        return any(item.field == field for item in self.assumed)

    def feature(self, name: str) -> Feature:
        """The feature of a name. Raises KeyError where there is none."""
        for item in self.features:
            if item.name == name:
                return item
        raise KeyError(name)
