"""Past jobs like this one: nearer jobs first, failures on top, the distance in words."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.job.read import parse_job
from advisor.knowledge.base import Knowledge
from advisor.pipeline import Desk, recommend
from advisor.render.html import to_html
from advisor.render.json import from_json, to_json
from advisor.render.markdown import to_markdown
from advisor.trials.like import like, with_past
from advisor.trials.log import Log
from tests.trials.made import JOB, trial

NO_MEDIA: frozenset[str] = frozenset()


def named(knowledge: Knowledge, key: str, **fields: Any) -> Any:
    return trial(knowledge, **fields).model_copy(update={"id": key})


def points(knowledge: Knowledge, **fields: Any) -> float:
    """How far a trial with some fields replaced is from the gate arm."""
    job = parse_job(JOB, knowledge)
    log = Log(Path(), (named(knowledge, "one", **fields),))
    found = like(job, job.features[0], NO_MEDIA, log, knowledge)
    return found[0].points if found else float("inf")


def with_job(**fields: Any) -> dict[str, Any]:
    return {**JOB, **fields}


def test_the_same_job_is_no_distance_away(knowledge: Knowledge) -> None:
    assert points(knowledge) == 0


@pytest.mark.parametrize(
    ("fields", "wanted"),
    [
        ({"job": with_job(alloy="s30400")}, 1.0),  # another austenitic stainless steel
        ({"job": with_job(alloy="c26000")}, 6.0),  # brass
        ({"incoming__defect": "machining-marks"}, 3.0),  # a mark, not proud of the face
        ({"job": with_job(finish="satin-medium")}, None),
        ({"feature": "cheek"}, 2.0),  # flat instead of convex
    ],
)
def test_points_are_those_of_the_page(
    knowledge: Knowledge, fields: dict[str, Any], wanted: float | None
) -> None:
    found = points(knowledge, **fields)
    assert found == wanted if wanted is not None else 1.0 <= found <= 3.0


def test_a_radius_twice_as_large_is_a_point(knowledge: Knowledge) -> None:
    wider = [{**JOB["features"][0], "radius": "36 mm"}]
    assert points(knowledge, job=with_job(features=wider)) == pytest.approx(1.0)


def test_failures_come_first_and_each_group_by_nearness(knowledge: Knowledge) -> None:
    far, near = with_job(alloy="c26000"), with_job(alloy="s30400")
    log = Log(Path(), (
        named(knowledge, "near-pass"), named(knowledge, "far-fail", job=far, verdict="fail"),
        named(knowledge, "near-fail", job=near, verdict="fail"), named(knowledge, "far-pass", job=far),
    ))  # fmt: skip
    job = parse_job(JOB, knowledge)
    found = like(job, job.features[0], frozenset({"belt"}), log, knowledge)
    assert [each.trial.id for each in found] == ["near-fail", "far-fail", "near-pass", "far-pass"]
    assert found[0].because[0].startswith("same family")


def test_what_was_corrected_is_not_shown(knowledge: Knowledge) -> None:
    log = Log(Path(), (named(knowledge, "old"), named(knowledge, "new", corrects="old")))
    job = parse_job(JOB, knowledge)
    assert [each.trial.id for each in like(job, job.features[0], NO_MEDIA, log, knowledge)] == ["new"]


@given(one=st.floats(1, 500), other=st.floats(1, 500))
def test_the_distance_of_two_radii_is_the_same_both_ways(
    knowledge: Knowledge, one: float, other: float
) -> None:
    def between(first: float, second: float) -> float:
        job = parse_job(with_job(features=[{**JOB["features"][0], "radius": f"{first:.3f} mm"}]), knowledge)
        past = with_job(features=[{**JOB["features"][0], "radius": f"{second:.3f} mm"}])
        log = Log(Path(), (named(knowledge, "one", job=past),))
        return like(job, job.features[0], NO_MEDIA, log, knowledge)[0].points

    assert between(one, other) == pytest.approx(between(other, one), abs=0.011)


def test_a_sheet_carries_them_in_every_form_and_without_a_log_none(knowledge: Knowledge) -> None:
    desk = Desk(knowledge)
    job = parse_job(JOB, knowledge)
    plain = recommend(job, desk)
    desk.close()
    assert plain.past == ()
    log = Log(Path(), (named(knowledge, "one", verdict="fail", note="bars <b>9 mm</b> apart"),))
    sheet = with_past(plain, job, log, knowledge)
    assert {each.feature for each in sheet.past} == {"outer sweep", "cheek"}
    assert from_json(to_json(sheet)).past == sheet.past
    assert "Tried before on jobs like this one" in to_markdown(sheet)
    assert "Tried before" not in to_markdown(plain)
    html = to_html(sheet)
    assert "Tried before on jobs like this one" in html
    assert "<b>9 mm</b>" not in html
