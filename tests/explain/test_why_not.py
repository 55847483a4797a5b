"""Why not that: options that do not exist, the contrast, and smallest changes that hold what they promise."""

from __future__ import annotations

import pytest

from advisor.errors import InputError
from advisor.explain.answer_not import WhyNot, explain_not, to_json, to_text
from advisor.explain.point import Question
from advisor.pipeline import WorkedOut, sheet_of, work_out
from advisor.sheet.model import Sheet
from tests import invented

Worked = tuple[WorkedOut, Sheet]


@pytest.fixture(scope="module")
def worked() -> Worked:
    found = work_out(invented.job("tap-lever"), invented.desk())
    return found, sheet_of(found, invented.knowledge())


def ask(worked: Worked, seconds: float = 0.0, **question: object) -> WhyNot:
    return explain_not(Question(**question), *worked, invented.knowledge(), lambda note: None, seconds)  # type: ignore[arg-type]


def told(worked: Worked, **question: object) -> list[str]:
    with pytest.raises(InputError) as caught:
        ask(worked, **question)
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("question", "line"),
    [
        ({"option": "belts"}, "no decision has such an option, given 'belts'"),
        ({"option": "belts", "decision": "media"}, "no such media, given 'belts'"),
        ({"option": "medium"}, "belongs to several decisions; name one with --decision, given 'medium'"),
        ({"option": "P81", "decision": "grade"}, "nearest: P80"),
        ({"option": "hard", "decision": "wheel_hardness"}, "the wheel hardness is a number, given 'hard'"),
        ({"option": "3 kg", "decision": "surface_speed"}, "3 kg is a mass; a surface speed is needed"),
        ({"option": "3", "decision": "ra"}, "this is not decided but follows"),
        ({"option": "belt", "step": 9}, "no such step of round"),
    ],
)
def test_an_option_that_does_not_exist(worked: Worked, question: dict[str, object], line: str) -> None:
    (first, *_) = told(worked, **question)
    assert line in first


def test_faults_of_every_part_come_together(worked: Worked) -> None:
    assert len(told(worked, feature="rund", decision="media", option="belts")) == 2


def test_the_contrast_says_where_it_fell_behind_and_what_it_would_have_cost(worked: Worked) -> None:
    answer = ask(worked, option="buff", decision="media", step=1)
    text = to_text(answer, 2)
    assert answer.contrast.option == "buff" and not answer.contrast.cost.admissible
    assert "what it would have cost" in text
    assert to_json(answer, 2).endswith("}\n")


def test_what_is_taken_needs_no_changes(worked: Worked) -> None:
    taken = worked[1].features[0].steps[0].media
    assert ask(worked, option=taken, decision="media", step=1).smallest is None


def test_no_time_is_said_so(worked: Worked) -> None:
    answer = ask(worked, option="slack-belt", decision="media", step=1)
    assert answer.smallest is not None and answer.smallest.exhaustive == 0
    assert "not exhaustive" in answer.smallest.text
