"""Why not that, asked of a face without a plan: what keeps it out is told, and what opens it does open it."""

from __future__ import annotations

from typing import Any

import pytest

from advisor.errors import InputError
from advisor.explain.answer_not import WhyNot, explain_not, to_json, to_text
from advisor.explain.point import Question
from advisor.job import Job, parse_job, set_field
from advisor.job.write import to_json as job_json
from advisor.pipeline import recommend, sheet_of, work_out
from tests import invented

THROAT = {
    "name": "throat",
    "shape": "concave",
    "radius": "3 mm",
    "width": "4 mm",
    "area": "5 cm2",
    "access": "8 mm",
}


def deep_throat() -> Job:
    start = {"defect": "casting-skin", "depth": "0.1 mm"}
    return invented.job_of("deep-throat", alloy="z33525", start=start, finish="satin-fine", features=[THROAT])


def ask(seconds: float | None = None, **question: Any) -> WhyNot:
    found = work_out(deep_throat(), invented.desk())
    sheet = sheet_of(found, invented.knowledge())
    assert sheet.refused
    question = {"feature": "throat", **question}
    return explain_not(Question(**question), found, sheet, invented.knowledge(), lambda note: None, seconds)


def test_the_limit_that_keeps_a_media_out_and_what_keeps_every_plan_out_are_told() -> None:
    answer = ask(option="file-belt")
    text = to_text(answer, 2)
    assert "why not file-belt" in answer.title and "no plan" in answer.title
    assert "limit: access: A narrow file belt on an arm needs 12 mm of free space; here are 8 mm." in text
    assert "throat: no plan" in text
    assert '"admissible": false' in to_json(answer, 2)


def test_what_opens_a_face_for_an_option_does() -> None:
    answer = ask(1e3, option="file-belt")
    assert answer.smallest is not None and answer.smallest.remedies
    for remedy in answer.smallest.remedies:
        data = job_json(deep_throat())
        for change in remedy.changes:
            field, _, value = change.partition("=")
            data = set_field(data, field, value)
        sheet = recommend(parse_job(data, invented.knowledge(), "opened"), invented.desk())
        assert any(step.media == "file-belt" for step in sheet.features[0].steps), remedy


def test_what_never_serves_the_stage_is_told_so_at_once() -> None:
    found = work_out(invented.job("tap-lever"), invented.desk())
    sheet = sheet_of(found, invented.knowledge())
    question = Question(option="buff", step=1)
    answer = explain_not(question, found, sheet, invented.knowledge(), lambda note: None, 0.0)
    assert answer.smallest is not None and answer.smallest.exhaustive == 2
    assert "which no change of the job, the cell or a rule alters" in answer.smallest.text


@pytest.mark.parametrize(
    ("question", "line"),
    [
        ({"option": "file-bellt"}, "nearest: file-belt"),
        ({"option": "P121", "decision": "grade"}, "nearest: P120"),
        ({"option": "file-belt", "decision": "medai"}, "no such decision"),
        ({"option": "file-belt", "step": 1}, "none, for there is no plan"),
        ({"option": "medium"}, "belongs to several decisions"),
    ],
)
def test_what_does_not_exist_is_refused_there_as_well(question: dict[str, Any], line: str) -> None:
    with pytest.raises(InputError) as caught:
        ask(**question)
    assert line in str(caught.value)
