"""What is swept: one alloy a family, each defect, each shape as a standard face, each finish."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from advisor.job.model import Feature, Job, Start, Target
from advisor.job.start import Said, complete
from advisor.job.target import target_of
from advisor.knowledge.base import Knowledge
from advisor.knowledge.cell import Cell

SHAPES = ("flat", "convex", "concave", "edge")

#: The face that stands for each shape, in mm and cm2. The hollow lets a wheel of 200 mm in; the edge is
#: that of a plate 6 mm thick and 200 mm long. Own choice.
FACES: Mapping[str, Mapping[str, float]] = {
    "flat": {"width_mm": 80.0, "area_cm2": 100.0},
    "convex": {"radius_mm": 30.0, "width_mm": 60.0, "area_cm2": 100.0},
    "concave": {"radius_mm": 120.0, "width_mm": 60.0, "area_cm2": 60.0},
    "edge": {"width_mm": 6.0, "area_cm2": 12.0},
}


@dataclass(frozen=True, slots=True, order=True)
class Combination:
    """One square of the sweep.

    >>> str(Combination("brass", "burr", "flat", "mirror"))
    'brass, burr, flat, mirror'
    """

    family: str
    defect: str
    shape: str
    finish: str

    def __str__(self) -> str:
        return f"{self.family}, {self.defect}, {self.shape}, {self.finish}"


@dataclass(frozen=True, slots=True)
class Grid:
    """The axes of the sweep, and the cells in which a plan is looked for, in that order."""

    families: Mapping[str, str]  # family -> the alloy that stands for it
    defects: tuple[str, ...]
    shapes: tuple[str, ...]
    finishes: tuple[str, ...]
    cells: tuple[str, ...]

    @classmethod
    def of(cls, knowledge: Knowledge, cells: tuple[str, ...] = ()) -> Grid:
        """The whole grid of a knowledge base; each family is represented by its first alloy.

        Without `cells` every packaged cell is tried.
        """
        tables = knowledge.tables
        families: dict[str, str] = {}
        for alloy in tables.alloys.values():
            families.setdefault(alloy.family, alloy.key)
        return cls(
            families, tuple(tables.defects), SHAPES, tuple(tables.finishes), cells or tuple(tables.cells)
        )

    def combinations(self) -> Iterator[Combination]:
        """Every combination, family by family and shape by shape."""
        for family in self.families:
            for shape in self.shapes:
                for defect in self.defects:
                    for finish in self.finishes:
                        yield Combination(family, defect, shape, finish)

    def sample(self, count: int) -> tuple[Combination, ...]:
        """So many combinations, spread over the whole grid, the same in every run.

        >>> grid = Grid({"brass": "c26000"}, ("burr", "paint"), SHAPES, ("mirror",), ())
        >>> len(grid.sample(3)), len(grid.sample(99)), grid.sample(3) == grid.sample(3)
        (3, 8, True)
        """
        drawn = set(sorted(self.combinations(), key=_lot)[:count])
        return tuple(item for item in self.combinations() if item in drawn)


def _lot(combination: Combination) -> bytes:
    return hashlib.blake2b(str(combination).encode(), digest_size=8).digest()


@dataclass(frozen=True, slots=True)
class FaceMaker:
    """Makes the job of a combination; what it has worked out for a defect or a finish is kept."""

    knowledge: Knowledge
    _starts: dict[str, Start] = field(default_factory=dict)
    _targets: dict[str, Target] = field(default_factory=dict)

    def job(self, combination: Combination, alloy: str, cell: Cell) -> Job:
        """A job of one standard face, with everything else left unsaid."""
        feature = Feature.model_validate(
            {
                "name": combination.shape,
                "shape": combination.shape,
                **FACES[combination.shape],
                "start": self._start(combination.defect),
                "finish": self._target(combination.finish),
            }
        )
        return Job(name="sweep", alloy=alloy, features=(feature,), cell=cell)

    def _start(self, defect: str) -> Start:
        if defect not in self._starts:
            done = complete(Said(defect=self.knowledge.tables.defects[defect]), "start", "sweep", [])
            assert done is not None  # only a missing defect leaves a start incomplete
            self._starts[defect] = done[0]
        return self._starts[defect]

    def _target(self, finish: str) -> Target:
        if finish not in self._targets:
            self._targets[finish] = target_of(self.knowledge.tables.finishes[finish])
        return self._targets[finish]
