"""The rows of the reference tables: what the shop looks up rather than decides."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, SerializerFunctionWrapHandler, model_serializer

Window = tuple[float, float]
Scale = Literal["P", "web", "compound"]
Stage = Literal["clear", "refine", "prepare", "finish"]
Lay = Literal["linear", "crossed", "circular", "random", "any"]
Texture = Literal["ground", "keyed", "satin", "bright", "mirror"]
Handling = Literal["part-in-hand", "tool-in-hand"]


class Frozen(BaseModel):
    """A model that cannot change and refuses keys it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True, populate_by_name=True)


class Row(Frozen):
    """One row of a table: a key, a name in plain words, and where the row comes from.

    `source` names rows of `sources.yaml`; several keys mean that they agree.
    """

    key: str
    name: str
    source: tuple[str, ...]
    note: str | None = None


class Band(Frozen):
    """A coefficient is never one number: 5th, 50th and 95th percentile."""

    low: float
    expected: float
    high: float


class Alloy(Row):
    """An alloy with the properties that the formulas and the cautions need.

    Hardness is HV as usually delivered, density in g/cm3, conductivity in W/(m K), specific heat
    in J/(kg K), `heat_limit_c` the skin temperature in degrees Celsius not to pass. A flag that is
    None is not known, which is not the same as no. `composition` is in weight percent.
    """

    also: tuple[str, ...] = ()
    uns: str | None = None
    en: str | None = None
    family: str
    group: str
    cast: bool
    hardness_hv: float
    density: float
    conductivity: float
    specific_heat: float
    heat_limit_c: float
    heat_limit_why: str
    lead: bool | None
    beryllium: bool | None
    nickel: bool | None
    cobalt: bool | None
    chromium: bool | None
    high_silicon: bool = False
    dust: Literal["explosible", "fire", "low"]
    composition: dict[str, float] = Field(default_factory=dict)


class Defect(Row):
    """What the work may begin with. `depth_mm` is typical and worst, assumed where the job is silent."""

    kind: Literal["skin", "proud", "film", "scratch", "pit", "mark", "surface"]
    local: bool
    depth_mm: Window
    strip_mm: float | None = None  # usual width of a local defect
    on_edge: bool = False  # stands on the edges of a face, not in the middle of it
    ra_um: float  # usual roughness of a surface that has it
    felt: dict[str, Window] = Field(default_factory=dict)  # no | catches | steps -> depth_mm
    find_out: str  # how to measure the depth in the shop


class Finish(Row):
    """A texture with its lay and Ra band, in the project's own name for it."""

    texture: Texture
    lay: Lay
    ra_um: Window
    grades: tuple[str, ...] = ()  # usual last grades, coarse to fine


class Designation(Row):
    """A standard's or an association's name for a finish.

    `groups` are the alloy groups it speaks of (empty: any): one code can mean two finishes.
    `ra_um` overrides the finish's band where the standard gives a limit, or where the grades it
    names leave another band on these metals (the note says which); `grades` are the grades it names
    on `grade_scale`; `finish` is a key of the finish table.
    """

    also: tuple[str, ...] = ()
    standard: str
    groups: tuple[str, ...] = ()
    finish: str
    ra_um: Window | None = None
    grades: tuple[str, ...] = ()
    grade_scale: Literal["P", "CAMI"] = "P"
    grain: str | None = None
    says: str  # what the designation demands, in our own words


class Grain(Row):
    """An abrasive mineral. `tough` grains need load to stay sharp."""

    tough: bool
    knoop: float | None = None
    mohs: float | None = None
    contains_iron: bool = False


class Grade(Row):
    """A grade on its scale, with the mean grain size or the size used for ordering.

    `um` is the mean grain size for P grades and an equivalent for webs and compounds
    (`equivalent` true: used for ordering only). `against_feed` says whether its face runs against the
    feed; None where that is not settled.
    """

    scale: Scale
    um: float
    equivalent: bool = False
    tolerance_um: float | None = None
    cami: str | None = None  # nearest grade of the US coated scale
    against_feed: bool | None = None


class Media(Row):
    """A form of media and everything that exists for it.

    Windows are low and high. `usual` options come first in their tuples. Empty tuples mean that
    the decision does not apply (no cloth weight on a flap wheel). Sizes in mm, speeds in m/s,
    force in N per mm of contact width, feed in mm/s.
    """

    form: Literal["belt", "wheel", "disc", "hand-tool"]  # decides the changeover time
    abrasive: Literal["coated", "web", "brush", "wire", "compound"]
    scale: Scale | None
    stages: tuple[Stage, ...]
    handling: tuple[Handling, ...]
    shapes: tuple[str, ...]
    lays: tuple[Lay, ...]
    blends: bool  # lays its texture over the scratch it finds
    contact_wheel: bool  # runs over a rubber or urethane wheel: contact figures hold
    grains: tuple[str, ...]
    grades: tuple[str, ...]
    builds: tuple[str, ...] = ()
    coats: tuple[str, ...] = ()
    top_coats: tuple[str, ...] = ()
    backings: tuple[str, ...] = ()
    covers: tuple[str, ...] = ()
    faces: tuple[str, ...] = ()
    hardness: Window | None = None
    lubricants: tuple[str, ...]
    directions: tuple[str, ...]
    width_mm: Window
    usual_width_mm: float
    edge_mm: Window | None = None
    speed_m_s: Window
    marked_speed_m_s: float | None = None  # usual maximum operating speed of the media
    force_n_mm: Window
    feed_mm_s: Window
    overlap_percent: Window
    passes: Window
    smallest_concave_mm: float | None = None  # None: the wheel's own radius decides
    smallest_access_mm: float
    removal_factor: float  # against a belt (a web: the plain non-woven wheel) of the same grade
    roughness_factor: float
    life_minutes: Window  # cutting time of one belt, wheel or disc
    price: float  # of one, in the cell's currency; own estimate


class Option(Row):
    """A plain option with a name: a backing, cover, build, coat, top coat or lubricant."""

    rank: int = 0  # order from light to heavy, soft to hard, where there is one


class WheelFace(Option):
    """How a contact wheel's face is cut. `land_share` is the land over land and groove, None where it is plain."""

    land_share: float | None = Field(default=None, gt=0.0, le=1.0)
    land_width_mm: float | None = Field(default=None, gt=0.0)
    groove_depth_mm: float | None = Field(default=None, gt=0.0)


class Symptom(Row):
    """A sign of trouble. `media` and `stages` say where it is looked for (empty: anywhere)."""

    seen_on: Literal["part", "media", "machine"]
    looks_like: str
    media: tuple[str, ...] = ()
    stages: tuple[Stage, ...] = ()
    groups: tuple[str, ...] = ()
    order: int  # lower is looked for first


class Coefficient(Row):
    """A number of a process model, as a band, for the scope it holds in.

    `scope` maps `family`, `group`, `media`, `grade` or `grain` to one value; the narrowest scope
    that fits is used. `unit` is `1` for a plain ratio. `evidence` names the trials that moved the row.
    """

    symbol: str
    unit: str
    scope: dict[str, str] = Field(default_factory=dict)
    band: Band
    valid: str = ""
    evidence: tuple[str, ...] = ()

    @model_serializer(mode="wrap")
    def _as_written(self, handler: SerializerFunctionWrapHandler) -> dict[str, Any]:
        """Without evidence where there is none, so that a row nobody moved keeps its fingerprint."""
        plain: dict[str, Any] = handler(self)
        if not self.evidence:
            plain.pop("evidence", None)
        return plain
