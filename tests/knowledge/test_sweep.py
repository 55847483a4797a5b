"""A sample of alloy family x defect x shape x finish x cell: a plan, or a limit that anybody can check."""

from __future__ import annotations

import random
from collections.abc import Iterator
from itertools import product

import pytest

from advisor.job import parse_job
from advisor.knowledge.load import load_knowledge
from advisor.pipeline import Desk, recommend, work_out

KNOWLEDGE = load_knowledge()
FAMILIES = {row.family: key for key, row in reversed(KNOWLEDGE.tables.alloys.items())}
SHAPES = (("flat", None), ("convex", "40 mm"), ("concave", "60 mm"), ("concave", "25 mm"), ("edge", None))
#: What may stand in the way of a plan: limits of the cell and the face, each with its number or its name.
LIMITS = {
    "station", "handling", "surface speed", "reach", "shape", "access", "lay", "stage", "force", "power",
    "pressure on the grain", "roughness", "passes", "stroke", "heat", "stock", "hollow", "depth", "wall",
    "start roughness", "wet", "dust", "media history",
}  # fmt: skip
#: Rules that refuse on purpose; docs/explanation/coverage-gaps.md says why.
REFUSING = {
    "image-in-the-face", "beryllium-in-the-alloy", "magnesium-where-steel-is-ground",
    "copper-alloy-nobody-has-named",
}  # fmt: skip
UNNAMED = "unidentified-copper-alloy"

Combination = tuple[str, str, tuple[str, str | None], str, str]


def _sample(count: int) -> list[Combination]:
    every = product(
        FAMILIES, KNOWLEDGE.tables.defects, SHAPES, KNOWLEDGE.tables.finishes, KNOWLEDGE.tables.cells
    )
    return random.Random(20).sample(list(every), count)


@pytest.fixture(scope="module")
def desk() -> Iterator[Desk]:
    opened = Desk(KNOWLEDGE)
    yield opened
    opened.close()


def _mapping(combination: Combination, cell: str | None = None) -> dict[str, object]:
    family, defect, (shape, radius), finish, own = combination
    face: dict[str, object] = {"name": "face", "shape": shape, "width": "40 mm", "area": "60 cm2"}
    if radius:
        face["radius"] = radius
    if shape == "edge":
        face["width"] = "4 mm"
    return {
        "name": "sweep", "alloy": FAMILIES[family], "start": {"defect": defect}, "features": [face],
        "finish": finish, "cell": cell or own, "batch": 100,
    }  # fmt: skip


@pytest.mark.parametrize("combination", _sample(160), ids=lambda item: "-".join(map(str, item)))
def test_a_combination_has_a_plan_or_a_limit_that_explains(combination: Combination, desk: Desk) -> None:
    (feature,) = recommend(parse_job(_mapping(combination), KNOWLEDGE), desk).features
    if feature.steps:
        assert all(step.media for step in feature.steps)
        assert all(step.grain and step.grade for step in feature.steps if step.media != "wire-wheel")
        return
    assert feature.blocked
    for entry in feature.blocked:
        assert entry.text
        assert entry.limit in LIMITS or entry.rule in REFUSING or entry.rule in KNOWLEDGE.rule


def test_nearly_every_combination_has_a_plan_in_some_packaged_cell(desk: Desk) -> None:
    # What nobody has identified is refused dry on purpose; the test below looks at it.
    sample = [item for item in _sample(120) if item[0] != UNNAMED]
    planned = sum(
        any(
            work_out(parse_job(_mapping(item, cell), KNOWLEDGE), desk).planned[0].plan.path
            for cell in ("robot-floor-stand", "robot-carried-tool", "small-parts-bench", "hand-tools")
        )
        for item in sample
    )
    assert planned / len(sample) >= 0.95


@pytest.mark.parametrize("defect", ["burr", "light-scratch", "paint"])
@pytest.mark.parametrize("cell", ["robot-floor-stand", "small-parts-bench", "robot-wet-belt-cell"])
def test_an_unidentified_copper_alloy_is_worked_wet_or_not_at_all(
    defect: str, cell: str, desk: Desk
) -> None:
    """OSHA's lead and beryllium rules, and the look of the alloys: identify before dry grinding."""
    combination = (UNNAMED, defect, ("flat", None), "satin-medium", cell)
    (feature,) = recommend(parse_job(_mapping(combination), KNOWLEDGE), desk).features
    if KNOWLEDGE.tables.cells[cell].wet:
        assert {step.lubricant for step in feature.steps} <= {"emulsion", "oil"}
        assert feature.steps
    else:
        assert not feature.steps
        found = [item for item in feature.blocked if item.rule == "copper-alloy-nobody-has-named"]
        assert found
        # What the rule is not for tells the first way out; wet work, tried, is the other.
        assert all("a certificate or an analysis has identified" in item.text for item in found)
        assert all(item.opens == "wet work in this cell" for item in found)
