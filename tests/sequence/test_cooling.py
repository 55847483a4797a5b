"""Force and speed eased for heat, and the pauses of a hold: where they are needed, and only there."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from advisor.job.model import Job
from advisor.job.read import read_job
from advisor.knowledge.base import Knowledge
from advisor.knowledge.locate import demo_jobs
from advisor.pipeline import Desk, recommend
from advisor.sheet.model import Sheet, Step
from tests import invented


def standing(rise: float, mass: float = 0.38) -> tuple[Job, Knowledge]:
    """A zinc lever whose metal stands a `rise` (K), and whose mass is what a test wants."""
    known = invented.knowledge()
    alloys = dict(known.tables.alloys)
    alloys["z33525"] = alloys["z33525"].model_copy(update={"heat_limit_c": 20.0 + rise})
    changed = known.model_copy(update={"tables": known.tables.model_copy(update={"alloys": alloys})})
    job = read_job(str(demo_jobs() / "vent-lever.yaml"), changed)
    return job.model_copy(update={"part": job.part.model_copy(update={"mass_kg": mass})}), changed


def sheet(rise: float, mass: float = 0.38) -> Sheet:
    job, known = standing(rise, mass)
    desk = Desk(known)
    try:
        return recommend(job, desk)
    finally:
        desk.close()


def steps(found: Sheet) -> list[Step]:
    return [step for feature in found.features for step in feature.steps]


@pytest.fixture(scope="module")
def tender() -> Sheet:
    """Metal so tender that the forces of the usual plan would spoil it."""
    return sheet(5.0)


def test_a_force_that_would_spoil_the_metal_is_eased_and_the_sheet_says_that_heat_binds(tender: Sheet) -> None:
    assert not tender.refused
    eased = [
        step for step in steps(tender) if step.force_limits and step.force_limits[0].by == "alloy"
        and step.force_limits[0].allowed_n == pytest.approx(step.force_n)
    ]  # fmt: skip
    assert eased
    for step in eased:
        assert step.force_limits is not None and "heat binds" in step.force_limits[0].text
        assert step.windows.force_n is not None and step.force_n is not None
        assert step.windows.force_n[0] * (1 - 1e-6) <= step.force_n
        assert step.windows.force_n[1] == pytest.approx(step.force_n), "more than that is no setting to try"


def test_no_step_over_a_face_passes_the_limit(tender: Sheet) -> None:
    for step in steps(tender):
        if step.heat is not None and step.heat.proud_k is None and step.step_over_mm is not None:
            assert (step.heat.passing_k or 0.0) <= (step.heat.limit_k or math.inf)


def test_metal_that_stands_its_heat_is_not_eased() -> None:
    assert all("Eased" not in limit.text for step in steps(sheet(100.0)) for limit in step.force_limits or ())


def test_a_heavy_part_needs_no_pause_and_a_light_one_does() -> None:
    assert not any(operation.pauses for operation in sheet(100.0, mass=5.0).operations)
    light = sheet(30.0, mass=0.06)
    paused = [pause for operation in light.operations for pause in operation.pauses]
    assert paused
    for pause in paused:
        again = {name: float(each.value) for name, each in light.reasons[pause.reasons[0]].inputs.items()}
        # Newton's cooling as an ODE, beside the closed form.
        rate = again["air film"] * again["surface in the air"] * 1e-4 / (again["mass"] * again["specific heat"])
        course = solve_ivp(
            lambda _, rise, fall: -fall * rise, (0.0, pause.seconds), [pause.rise_k], args=(rate,), rtol=1e-9
        )
        assert float(np.ravel(course.y)[-1]) == pytest.approx(again["may still be warmer by"], rel=1e-4)
        assert pause.before in {name for operation in light.operations for name in operation.serves}
