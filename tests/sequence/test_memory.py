"""A desk that remembers plans says the same as one that plans every face anew."""

from __future__ import annotations

from copy import copy
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from advisor.job.model import Job
from advisor.pipeline import Desk, recommend
from advisor.render.json import to_json
from advisor.sequence import memory
from advisor.sequence.memory import PlanMemory
from tests import invented

#: What a near job may differ in: times so much, or another value.
SIZES = st.sampled_from((0.25, 0.7, 0.999, 1.0, 1.001, 1.6, 4.0))


def forgetting(desk: Desk) -> Desk:
    """The same rules and choices, with no plan of any face kept."""
    other = copy(desk)
    other.plans = PlanMemory(desk.knowledge, desk.book)
    return other


def near(job: Job, depth: float, rough: float, band: float, area: float, stock: float | None) -> Job:
    """A job like another, its sizes moved."""
    features = []
    for face in job.features:
        low, high = face.start.depth_mm
        start: dict[str, Any] = {
            "depth_mm": (low * depth, high * depth), "roughness_um": face.start.roughness_um * rough,
        }  # fmt: skip
        finish = {"ra_low_um": face.finish.ra_low_um * band, "ra_high_um": face.finish.ra_high_um * band}
        features.append(
            face.model_copy(
                update={
                    "start": face.start.model_copy(update=start),
                    "finish": face.finish.model_copy(update=finish),
                    "area_cm2": face.area_cm2 * area if face.area_cm2 else None,
                    "max_stock_mm": stock,
                }
            )
        )
    return job.model_copy(update={"features": tuple(features)})


@settings(max_examples=20)
@given(st.sampled_from(sorted(invented.JOBS)), SIZES, SIZES, SIZES, SIZES, st.sampled_from((None, 0.3)))
def test_a_near_job_gets_the_sheet_of_its_own(
    name: str, depth: float, rough: float, band: float, area: float, stock: float | None
) -> None:
    desk = invented.desk()
    recommend(invented.job(name), desk)
    job = near(invented.job(name), depth, rough, band, area, stock)
    assert to_json(recommend(job, desk)) == to_json(recommend(job, forgetting(desk)))


@pytest.mark.parametrize("name", ["oar-lock", "tap-lever", "pump-throat"])
def test_the_same_job_again_gets_the_same_sheet(name: str) -> None:
    desk = forgetting(invented.desk())
    first = to_json(recommend(invented.job(name), desk))
    assert to_json(recommend(invented.job(name), desk)) == first


def test_what_was_kept_is_used_and_its_number_is_held(monkeypatch: pytest.MonkeyPatch) -> None:
    """A search that is run again would cost what remembering saves."""
    searched: list[str] = []
    plan_feature = memory.plan_feature

    def counting(job: Job, *rest: Any) -> Any:
        searched.append(job.name)
        return plan_feature(job, *rest)

    monkeypatch.setattr(memory, "plan_feature", counting)
    monkeypatch.setattr(memory, "MOST_PLANS", 2)
    desk = forgetting(invented.desk())
    for name in ("oar-lock", "bell-cap", "oar-lock", "crane-plate", "oar-lock", "bell-cap"):
        recommend(invented.job(name), desk)
    assert searched == ["oar-lock", "bell-cap", "crane-plate", "bell-cap"]
