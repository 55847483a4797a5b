"""A question about something that does not exist: what is allowed, the nearest spelling, all faults at once."""

from __future__ import annotations

import pytest

from advisor.errors import InputError
from advisor.explain.answer import explain
from advisor.explain.point import Question
from advisor.pipeline import WorkedOut, sheet_of, work_out
from advisor.sheet.model import Sheet
from tests import invented


@pytest.fixture(scope="module")
def worked() -> tuple[WorkedOut, Sheet]:
    found = work_out(invented.job("tap-lever"), invented.desk())
    return found, sheet_of(found, invented.knowledge())


def told(question: Question, worked: tuple[WorkedOut, Sheet]) -> list[str]:
    with pytest.raises(InputError) as caught:
        explain(question, *worked, invented.knowledge())
    return [str(problem) for problem in caught.value.problems]


def test_a_feature_that_does_not_exist(worked: tuple[WorkedOut, Sheet]) -> None:
    (line,) = told(Question(feature="rund"), worked)
    assert line.endswith("no such feature, given 'rund'; allowed: round; nearest: round")


def test_a_step_that_does_not_exist(worked: tuple[WorkedOut, Sheet]) -> None:
    (line,) = told(Question(feature="round", step=9), worked)
    assert "no such step of round, given '9'; allowed: 1, 2" in line


def test_a_decision_that_does_not_exist(worked: tuple[WorkedOut, Sheet]) -> None:
    (line,) = told(Question(decision="baking"), worked)
    assert "no such decision, given 'baking'; allowed: handling, media," in line
    assert line.endswith("nearest: backing")


def test_everything_wrong_is_told_at_once(worked: tuple[WorkedOut, Sheet]) -> None:
    assert len(told(Question(feature="rund", step=9, decision="baking"), worked)) == 3


def test_a_decision_that_the_media_does_not_have(worked: tuple[WorkedOut, Sheet]) -> None:
    steps = worked[1].features[0].steps
    bare = next(step for step in steps if step.backing is None)
    (line,) = told(Question(step=bare.number, decision="backing"), worked)
    assert f"does not apply to round, step {bare.number} ({bare.media})" in line
