"""The whole way from a job file to its sheet, on the demo jobs and on a desk that many jobs share."""

from __future__ import annotations

from pathlib import Path

import pytest

from advisor.errors import KnowledgeError
from advisor.inference.matchers import available
from advisor.job import read_job
from advisor.knowledge.locate import demo_jobs
from advisor.pipeline import Desk, open_desk, recommend
from advisor.render.json import to_json
from advisor.render.markdown import to_markdown
from tests import invented

DEMOS = sorted(demo_jobs().glob("*.yaml"))
every_demo = pytest.mark.parametrize("path", DEMOS, ids=lambda path: str(path.stem))


def test_there_are_demo_jobs() -> None:
    assert len(DEMOS) >= 3


@every_demo
def test_every_face_of_a_demo_job_gets_a_plan(path: Path) -> None:
    job = read_job(path, invented.knowledge())
    sheet = recommend(job, invented.desk())
    assert not sheet.refused
    assert [feature.name for feature in sheet.features] == [feature.name for feature in job.features]
    assert sheet.cautions and sheet.first_try is not None
    assert sheet.knowledge.fingerprint == invented.knowledge().fingerprint
    assert sheet.totals.steps == sum(len(feature.steps) for feature in sheet.features)


@every_demo
def test_every_step_stands_in_exactly_one_operation(path: Path) -> None:
    sheet = recommend(read_job(path, invented.knowledge()), invented.desk())
    served = [entry for operation in sheet.operations for entry in operation.serves]
    wanted = [f"{feature.name}/{step.number}" for feature in sheet.features for step in feature.steps]
    assert sorted(served) == sorted(wanted)
    steps = {f"{feature.name}/{step.number}": step for feature in sheet.features for step in feature.steps}
    for operation in sheet.operations:
        for entry in operation.serves:
            step = steps[entry]
            assert (step.station, step.media, step.grain, step.grade) == (
                operation.station, operation.media, operation.grain, operation.grade,
            )  # fmt: skip


@every_demo
def test_each_face_ends_inside_the_band_it_asks_for(path: Path) -> None:
    for feature in recommend(read_job(path, invented.knowledge()), invented.desk()).features:
        last = feature.steps[-1].ra_um
        assert feature.target is not None and feature.target.ra_um is not None and last is not None
        low, high = feature.target.ra_um
        # The search ends inside; the middle of the draws may lie a little beside.
        assert low * 0.9 <= last.expected <= high * 1.1


@every_demo
def test_the_same_demo_twice_gives_the_same_bytes(path: Path) -> None:
    job = read_job(path, invented.knowledge())
    fresh = Desk(invented.knowledge(), "plain")
    assert to_json(recommend(job, fresh)) == to_json(recommend(job, invented.desk()))
    assert to_json(recommend(job, fresh)) == to_json(recommend(job, fresh))


@pytest.mark.skipif(available() != "durable-rules", reason="durable-rules does not import here")
@every_demo
def test_a_demo_does_not_depend_on_the_matcher(path: Path) -> None:
    job = read_job(path, invented.knowledge())
    desk = Desk(invented.knowledge(), "durable-rules")
    try:
        assert to_json(recommend(job, desk)) == to_json(recommend(job, invented.desk()))
    finally:
        desk.close()


def test_the_order_of_the_features_changes_no_plan_of_any_of_them() -> None:
    """Faces that share no set-up do not see each other; those that do may only swap equals."""
    fields = {
        "alloy": "s30400", "finish": "satin-medium", "start": {"defect": "machining-marks"},
        "cell": "robot-carried-tool",
    }  # fmt: skip
    first = {**invented.PLAIN_FACE, "name": "first"}
    second = {"name": "second", "shape": "concave", "radius": "30 mm", "width": "20 mm", "area": "9 cm2"}
    one = invented.sheet_of(**fields, features=[first, second])
    two = invented.sheet_of(**fields, features=[second, first])

    def chains(sheet: object) -> dict[str, list[tuple[object, ...]]]:
        return {
            feature.name: [(step.media, step.grain, step.grade, step.passes) for step in feature.steps]
            for feature in sheet.features  # type: ignore[attr-defined]
        }

    assert chains(one) == chains(two)


def test_names_of_job_and_faces_change_nothing_but_names_and_draws() -> None:
    base = {"alloy": "s30400", "finish": "satin-medium", "start": {"defect": "machining-marks"}}
    one = invented.sheet_of(**base, name="spoon")
    two = invented.sheet_of(**base, name="ladle")
    for left, right in zip(one.features[0].steps, two.features[0].steps, strict=True):
        assert (left.media, left.grade, left.force_n, left.rpm, left.passes, left.feed_mm_s) == (
            right.media, right.grade, right.force_n, right.rpm, right.passes, right.feed_mm_s,
        )  # fmt: skip


def test_a_larger_batch_never_costs_a_part_more() -> None:
    """A change of media is shared by more parts."""

    def cost(batch: int) -> float:
        asked = invented.job_of(
            alloy="s31603", start={"defect": "casting-skin", "depth": "0.3 mm"}, finish="satin-fine", batch=batch,
        )  # fmt: skip
        (plan,) = invented.plans_of(asked)
        return min([plan.cost, *(rival.cost for rival in plan.rivals)])

    costs = [cost(batch) for batch in (1, 10, 100, 1000)]
    assert costs == sorted(costs, reverse=True) and costs[0] > costs[-1]


def test_either_unit_system_tells_of_the_same_sheet() -> None:
    sheet = invented.sheet("oar-lock")
    si, us = to_markdown(sheet, "si"), to_markdown(sheet, "us")
    assert si != us
    for step in sheet.features[0].steps:
        assert step.grade is not None
        assert step.grade in si and step.grade in us
        assert str(step.rpm) in si and str(step.rpm) in us


def test_a_folder_that_is_none_is_refused_with_its_name(tmp_path: Path) -> None:
    with pytest.raises(KnowledgeError, match="not a folder with knowledge"):
        open_desk(tmp_path / "nowhere")


def test_the_packaged_knowledge_opens_without_a_name() -> None:
    desk = open_desk(matcher="plain")
    assert desk.knowledge.fingerprint == invented.knowledge().fingerprint
    desk.close()
    desk.close()
    assert not recommend(invented.job("counter-top"), desk).refused
