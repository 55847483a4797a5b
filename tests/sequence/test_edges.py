"""A burr stands on an edge: it is drawn off lightly there, and the face behind it stays as it was."""

from __future__ import annotations

from functools import cache

import pytest

from advisor.coverage.grid import FACES
from advisor.figures.effect import effect
from advisor.sequence.plan import FeaturePlan
from advisor.sequence.surface import PlannedStep
from tests import invented

BURR = {"defect": "burr", "depth": "0.1 mm"}
CELLS = tuple(invented.knowledge().tables.cells)


def face(shape: str) -> dict[str, str]:
    units = {"area_cm2": "cm2"}
    sizes = {key.split("_")[0]: f"{value:g} {units.get(key, 'mm')}" for key, value in FACES[shape].items()}
    return {"name": "face", "shape": shape, **sizes}


@cache
def planned(alloy: str, shape: str, cell: str, finish: str = "satin-fine") -> FeaturePlan:
    job = invented.job_of(alloy=alloy, start=BURR, finish=finish, cell=cell, features=[face(shape)])
    return invented.plans_of(job)[0]


def deburring(plan: FeaturePlan) -> PlannedStep:
    return next(step for step in plan.path if step.defect == "burr")


@pytest.mark.parametrize("cell", CELLS)
@pytest.mark.parametrize("shape", ["flat", "convex", "edge"])
def test_what_every_shop_does_is_planned_in_every_cell(shape: str, cell: str) -> None:
    for alloy in ("s30400", "c93200"):
        step = deburring(planned(alloy, shape, cell))
        assert step.passes <= 6 and step.dish == 0.0
        assert step.candidate.setup.force <= 25.0


@pytest.mark.parametrize("cell", ["robot-floor-stand", "hand-tools"])
def test_a_wheel_too_large_for_a_hollow_still_reaches_its_rim(cell: str) -> None:
    """The rim of a hollow is an edge like any other: what bridges the hollow may take the burr off."""
    job = invented.job_of(
        alloy="c93200", start=BURR, finish="satin-fine", cell=cell,
        features=[{**face("concave"), "radius": "40 mm", "width": "30 mm"}],
    )  # fmt: skip
    step = deburring(invented.plans_of(job)[0])
    assert step.candidate.setup.diameter / 2 > 0.0 and step.candidate.setup.on_edge


@pytest.mark.parametrize("shape", ["flat", "convex"])
def test_the_face_behind_the_burr_is_as_it_was(shape: str) -> None:
    step = deburring(planned("s30400", shape, "robot-wet-belt-cell"))
    before, after = step.before, step.after
    assert (after.ra, after.rt, after.grain, after.face_untouched) == (before.ra, before.rt, before.grain, True)
    assert after.defect == before.defect + 1 and after.remaining == 0.0


def test_the_burr_of_a_face_runs_all_round_it() -> None:
    """80 mm wide and 100 cm2: 125 mm long, so 410 mm of edge at the slow end of the feed."""
    step = deburring(planned("s30400", "flat", "robot-wet-belt-cell"))
    assert step.cutting * step.feed / step.passes == pytest.approx(2 * (0.080 + 0.125))
    along = deburring(planned("s30400", "edge", "robot-wet-belt-cell"))
    assert along.cutting * along.feed / along.passes == pytest.approx(0.200)


def test_a_web_takes_a_burr_in_some_passes_that_it_could_never_take_off_a_face() -> None:
    """The gain on an edge is the coefficient's, over the whole of its spread."""
    cell = {
        "operator": "person", "handling": ["part-in-hand"],
        "stations": [
            {"name": "webs", "takes": ["convolute-wheel"], "power": "2 kW", "speed": ["500 rpm", "2800 rpm"],
             "wheel_diameter": "200 mm"},
        ],
    }  # fmt: skip
    job = invented.job_of(
        alloy="s30400", start={**BURR, "roughness": "0.6 um"}, finish="satin-fine", cell=cell, features=[face("flat")]
    )
    plan = invented.plans_of(job)[0]
    step = deburring(plan)
    assert step.candidate.tool.media.key == "convolute-wheel" and 1 < step.passes <= 10
    desk, setup = plan.desk, step.candidate.setup
    values = dict(desk.expected(step.candidate.tool.media, step.candidate.grain, step.candidate.grade))
    on_edge = float(effect(setup, values).depth(step.feed))
    values["edge_gain"] = 1.0
    on_face = float(effect(setup, values).depth(step.feed))
    assert on_edge / on_face == pytest.approx(40.0)
    assert step.passes * on_edge >= 0.1e-3 > 10 * on_face


def test_the_sheet_says_that_it_is_an_edge() -> None:
    sheet = invented.sheet_of(
        alloy="c93200", start=BURR, finish="satin-fine", cell="robot-wet-belt-cell", features=[face("convex")]
    )
    step = sheet.features[0].steps[0]
    assert step.direction == "along the burr" and step.step_over_mm is None
    (told,) = [sheet.reasons[ref].text for ref in step.reasons["passes"]][:1]
    assert "stands on an edge" in told
    assert not any(limit.limit.startswith("dish") for limit in step.limits)
