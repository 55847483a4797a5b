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
from tests import invented
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


def rounded(cross_radius: float, tension: float | None, crown: float | None) -> Job:
    """A stainless knob that curves both ways, on floor stands whose belts and wheels are known or not."""
    job = invented.job_of(
        alloy="s31603",
        start={"defect": "casting-skin", "depth": "0.1 mm"},
        finish="ground-fine",
        features=[
            {"name": "cheek", "shape": "convex", "radius": "120 mm", "cross_radius": f"{cross_radius} mm",
             "width": "40 mm", "area": "60 cm2"},
        ],
    )  # fmt: skip
    known = {"belt_tension_n_mm": tension, "wheel_crown_mm": crown}
    stations = tuple(station.model_copy(update=known) for station in job.cell.stations)
    return job.model_copy(update={"cell": job.cell.model_copy(update={"stations": stations})})


@pytest.mark.parametrize(
    ("cross_radius", "tension", "crown"), [(90.0, None, None), (150.0, 1.2, None), (2000.0, 3.0, 100.0)]
)
def test_a_face_that_curves_both_ways(
    cross_radius: float, tension: float | None, crown: float | None, desk: Desk
) -> None:
    job = rounded(cross_radius, tension, crown)
    assert all_faults(job, desk) == []
    sheet = recommend(job, desk)
    spots = [
        step for step in sheet.features[0].steps if step.contact is not None and step.contact.across_mm is not None
    ]
    assert spots, "some wheel meets the face on a spot"
    for step in spots:
        formulas = [sheet.reasons[key].formula for key in step.reasons["contact"]]
        assert [name for name in formulas if name not in ("grooved_cover", "land_pressure")] == [
            "spin_stiffening", "spot_contact", "belt_tightening",
        ]  # fmt: skip
        assert step.contact is not None and step.contact.across_mm is not None and step.step_over_mm is not None
        assert step.step_over_mm <= step.contact.across_mm < (step.wheel.width_mm or 0.0 if step.wheel else 0.0)
        belt = sheet.reasons[step.reasons["contact"][formulas.index("belt_tightening")]]
        assert belt.inputs["tension at rest"].value == pytest.approx(tension or 2.0)
        assert ("does not say" in belt.text) == (tension is None)


def test_a_serrated_wheel_presses_harder_on_its_lands(desk: Desk) -> None:
    found = [
        (sheet, step)
        for name in ("crane-plate", "kettle-seam", "oar-lock")
        for sheet in [recommend(invented.job(name), desk)]
        for feature in sheet.features
        for step in feature.steps
        if step.contact is not None and step.contact.land_pressure_kpa is not None
    ]
    assert found, "some step is worked on a serrated wheel"
    for sheet, step in found:
        assert step.contact is not None and step.contact.land_pressure_kpa is not None
        assert step.contact.land_pressure_kpa > 1.2 * step.contact.mean_pressure_kpa
        formulas = [sheet.reasons[key].formula for key in step.reasons["contact"]]
        assert formulas == [
            "spin_stiffening", "grooved_cover", "line_contact", "belt_tightening", "land_pressure",
        ]  # fmt: skip
        ra = [sheet.reasons[key] for key in step.reasons["ra_um"] if sheet.reasons[key].formula == "floor_ra"]
        for reason in ra:  # the roughness is that of the pressure on the grain
            assert float(reason.inputs["pressure"].value) == pytest.approx(step.contact.land_pressure_kpa)
