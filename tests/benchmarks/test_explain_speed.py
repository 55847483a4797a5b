"""What why and why-not cost beside the recommendation they explain, on a job of three faces."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from advisor.explain.answer import explain
from advisor.explain.answer_not import explain_not
from advisor.explain.point import Question
from advisor.job import Job
from advisor.pipeline import Desk, sheet_of, work_out
from tests import invented
from tests.benchmarks.test_speed import three_faces

Note = Callable[[str, BenchmarkFixture], None]


def test_why(benchmark: BenchmarkFixture, note: Note) -> None:
    job, base = three_faces(), invented.knowledge()

    def ask() -> int:
        found = work_out(job, Desk(base, "plain"))
        links, depth = explain(Question(decision="media"), found, sheet_of(found, base), base)
        return len(links) * depth

    assert benchmark.pedantic(ask, rounds=3) > 0
    note("why, three faces", benchmark)


def test_the_overview(benchmark: BenchmarkFixture, note: Note) -> None:
    job, base = three_faces(), invented.knowledge()

    def ask() -> int:
        found = work_out(job, Desk(base, "plain"))
        return len(explain(Question(), found, sheet_of(found, base), base)[0])

    assert benchmark.pedantic(ask, rounds=3) > 0
    note("why overview, three faces", benchmark)


def test_why_not_without_the_search(benchmark: BenchmarkFixture, note: Note) -> None:
    job, base = three_faces(), invented.knowledge()

    def ask() -> str:
        found = work_out(job, Desk(base, "plain"))
        question = Question(decision="media", option="slack-belt")
        return explain_not(question, found, sheet_of(found, base), base, lambda note: None, 0.0).title

    assert "why not" in benchmark.pedantic(ask, rounds=3)
    note("why not, three faces", benchmark)


QUESTIONS = (
    {"feature": "arm side", "step": 1, "decision": "grade", "option": "P180"},
    {"feature": "throat", "decision": "media", "option": "belt"},
    {"feature": "arm side", "step": 1, "decision": "lubricant", "option": "wax"},
)


@pytest.mark.parametrize("asked", QUESTIONS, ids=lambda asked: str(asked["option"]))
def test_why_not_with_the_search(asked: dict[str, Any], benchmark: BenchmarkFixture, note: Note) -> None:
    """At most 5 s: the search stops there, and says so."""
    base = invented.knowledge()
    found = work_out(three_faces(), Desk(base, "plain"))
    sheet = sheet_of(found, base)

    def ask() -> int:
        answer = explain_not(Question(**asked), found, sheet, base, lambda note: None)
        return -1 if answer.smallest is None else answer.smallest.exhaustive

    assert benchmark.pedantic(ask, rounds=1) >= 0
    note(f"smallest changes, {asked['option']}", benchmark)


def test_the_recommendation_beside_them(benchmark: BenchmarkFixture, note: Note) -> None:
    job: Job = three_faces()

    def ask() -> bool:
        found = work_out(job, Desk(invented.knowledge(), "plain"))
        return sheet_of(found, invented.knowledge()).refused

    assert not benchmark.pedantic(ask, rounds=3)
    note("recommendation, three faces", benchmark)
