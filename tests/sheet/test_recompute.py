"""Every number of a step that a formula gave comes out again from the inputs that the sheet states."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

import pytest
from hypothesis import HealthCheck, given, settings

from advisor.job.model import Job
from advisor.job.read import read_job
from advisor.knowledge.load import load_knowledge
from advisor.knowledge.locate import demo_jobs, knowledge_folder
from advisor.pipeline import Desk, open_desk, recommend
from advisor.reasons import Reason
from advisor.sheet.model import Sheet, Step
from advisor.worked.read import load_worked
from tests.sheet.recompute import FORMULAS
from tests.strategies import swept_jobs

#: The number of a step that a field's formula gives, where it is no band.
SHOWN: dict[str, Callable[[Step], float]] = {
    "force_n": lambda step: step.force_n,
    "rpm": lambda step: step.rpm,
    "feed_mm_s": lambda step: step.feed_mm_s,
    "passes": lambda step: step.passes,
    "power_w": lambda step: step.power_w,
    "belt_tightening": lambda step: step.contact.mean_pressure_kpa,
    "land_pressure": lambda step: step.contact.land_pressure_kpa,
    "band_rise": lambda step: step.heat.passing_k,
    "proud_rise": lambda step: step.heat.proud_k,
    "bulk_rise": lambda step: step.heat.bulk_k,
    "change_point": lambda step: step.wear.cut_left,
}
#: Stages on the way to a number that a later formula of the same field gives.
ON_THE_WAY = ("spin_stiffening", "grooved_cover", "line_contact", "spot_contact")


@pytest.fixture(scope="module")
def desk() -> Iterator[Desk]:
    opened = open_desk()
    yield opened
    opened.close()


def stated(reason: Reason) -> dict[str, float]:
    return {name: float(each.value) for name, each in reason.inputs.items()}


def faults(step: Step, sheet: Sheet) -> Iterator[str]:
    """Numbers of a step that do not follow from what is stated for them."""
    for field, ids in step.reasons.items():
        for reason in (sheet.reasons[key] for key in ids):
            if reason.formula is None:
                continue
            assert reason.gives is not None
            again, gives = FORMULAS[reason.formula](stated(reason)), float(reason.gives.value)
            if not math.isclose(again, gives, rel_tol=1e-3, abs_tol=1e-3):
                yield f"{field}: {reason.formula} comes to {again}, the reason says {gives}"
            if reason.formula in ON_THE_WAY:
                continue
            shown = SHOWN.get(reason.formula) or SHOWN.get(field)
            if shown is not None:
                near = 0.51 if field == "rpm" else 1e-5
                if not math.isclose(gives, shown(step), rel_tol=1e-5, abs_tol=near):
                    yield f"{field}: the reason says {gives}, the step {shown(step)}"
            else:
                band = step.wear.parts if field == "wear" else getattr(step, field)
                if not band.low * 0.999 - 1 <= gives <= band.high * 1.001 + 1:
                    yield f"{field}: the reason says {gives}, the band is {band}"


def all_faults(job: Job, desk: Desk) -> list[str]:
    sheet = recommend(job, desk)
    return [
        f"{feature.name} {step.number} {step.media}: {fault}"
        for feature in sheet.features
        for step in feature.steps
        for fault in faults(step, sheet)
    ]


@pytest.mark.parametrize("path", sorted(demo_jobs().glob("*.yaml")), ids=lambda path: path.stem)
def test_the_demo_jobs(path: object, desk: Desk) -> None:
    assert all_faults(read_job(str(path), desk.knowledge), desk) == []


@pytest.mark.parametrize("key", [job.key for job in load_worked(knowledge_folder() / "jobs", load_knowledge())])
def test_the_worked_jobs(key: str, desk: Desk) -> None:
    job = next(job for job in load_worked(knowledge_folder() / "jobs", desk.knowledge) if job.key == key)
    assert all_faults(job.job, desk) == []


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(job=swept_jobs())
def test_any_job(job: Job, desk: Desk) -> None:
    assert all_faults(job, desk) == []
