"""A worked job is read strictly: every fault has its place, and nothing that says nothing is accepted."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import pytest

from advisor.errors import KnowledgeError
from advisor.knowledge.base import Knowledge
from advisor.knowledge.load import load_knowledge
from advisor.worked.facts import PLAN_FACTS, STEP_FACTS
from advisor.worked.model import Selection, Worked
from advisor.worked.read import EXPECTATION_KEYS, WORKED_KEYS, load_worked

PAGE = Path(__file__).parents[2] / "docs" / "reference" / "worked-jobs.md"

HEAD = """\
title: {title}
source: {source}
place: {place}
why: Invented.
job:
  name: plate
  alloy: s30400
  start: mill-surface
  features: [{{name: face, shape: flat}}]
  finish: satin-fine
  cell: robot-floor-stand
expect:
"""


@pytest.fixture(scope="module")
def knowledge() -> Knowledge:
    return load_knowledge()


def written(
    folder: Path, expect: str, *, title: str = "A plate", source: str = "common-practice", place: str = "null"
) -> Path:
    path = folder / f"{title.lower().replace(' ', '-')}.yaml"
    path.write_text(HEAD.format(title=title, source=source, place=place) + expect, encoding="utf-8")
    return path


def told(folder: Path, knowledge: Knowledge) -> list[str]:
    with pytest.raises(KnowledgeError) as caught:
        load_worked(folder, knowledge)
    return [str(problem).replace(f"{folder}/", "") for problem in caught.value.problems]


def read(folder: Path, knowledge: Knowledge, expect: str) -> Worked:
    written(folder, expect)
    (worked,) = load_worked(folder, knowledge)
    return worked


@pytest.mark.parametrize(
    ("entry", "place", "what"),
    [
        ("{step: last, must: {media: belt}}", "13:5", "an expectation has no 'why'"),
        ("{step: last, why: So.}", "13:5", "what must, may or never comes out"),
        ("{step: last, must: {}, why: So.}", "13:24", "must holds no fact"),
        ("{step: last, must: {media: bellt}, why: So.}", "13:32", "nearest: belt"),
        ("{step: last, must: {media: []}, why: So.}", "13:32", "media names nothing"),
        ("{step: lst, must: {media: belt}, why: So.}", "13:12", "nearest: last"),
        ("{step: last, must: {steps: {at most: 2}}, why: So.}", "13:25", "unknown key in must"),
        ("{must: {media: belt}, why: So.}", "13:13", "unknown key in must"),
        ("{step: last, must: {ra: {at most: 0.5}}, why: So.}", "13:39", "a roughness with its unit"),
        ("{step: last, must: {ra: {at most: 3 kg}}, why: So.}", "13:39", "a roughness is needed"),
        ("{step: last, must: {ra: {}}, why: So.}", "13:29", "ra has no bound"),
        ("{step: last, must: {wheel_hardness: {above: 9, at least: 9}}, why: So.}", "13:41", "twice on one"),
        ("{step: last, must: {wheel_hardness: {above: 9, at most: 9}}, why: So.}", "13:41", "no number is"),
        ("{step: last, must: {grade: {at least: P80, at most: fine}}, why: So.}", "13:32", "two scales"),
        ("{step: last, must: {grade: {at least: P120, at most: P80}}, why: So.}", "13:32", "no grade is"),
        ("{feature: side, must: {refused: true}, why: So.}", "13:15", "nearest: face|allowed: face"),
        ("{must: {refused: maybe}, why: So.}", "13:22", "refused is true or false"),
        ("{must: {caution: no-such-rule-id}, why: So.}", "13:22", "no rule has this id"),
        ("{may: {caution: lead}, why: So.}", "13:11", "caution under may asks nothing"),
        ("{among: {media: belt}, must: {refused: true}, why: So.}", "13:13", "there is no step"),
        ("{must: {refused: true}, why: So., source: nowhere}", "13:47", "unknown source"),
    ],
)
def test_a_fault_is_told_at_its_place(
    entry: str, place: str, what: str, tmp_path: Path, knowledge: Knowledge
) -> None:
    written(tmp_path, f"  - {entry}\n")
    first = told(tmp_path, knowledge)[0]
    assert first.startswith(f"a-plate.yaml:{place}: "), first
    assert re.search(what, first), first


def test_a_published_answer_says_where_it_stands_and_practice_does_not(
    tmp_path: Path, knowledge: Knowledge
) -> None:
    written(tmp_path, "  - {must: {refused: false}, why: So.}\n", source="aa-finishes")
    assert "place is empty" in told(tmp_path, knowledge)[0]
    written(tmp_path, "  - {must: {refused: false}, why: So.}\n", place="page 3")
    assert "practice and memory have no place" in told(tmp_path, knowledge)[0]


def test_the_faults_of_all_files_come_together(tmp_path: Path, knowledge: Knowledge) -> None:
    written(tmp_path, "  []\n")
    written(tmp_path, "  - {must: {refused: maybe}, why: So.}\n", title="Another plate")
    (tmp_path / "third.yaml").write_text("title: a\ntitle: b\n", encoding="utf-8")
    files = [line.split(":")[0] for line in told(tmp_path, knowledge)]
    assert files == ["a-plate.yaml", "another-plate.yaml", "third.yaml"]


def test_two_worked_jobs_of_one_title_are_told(tmp_path: Path, knowledge: Knowledge) -> None:
    path = written(tmp_path, "  - {must: {refused: false}, why: So.}\n")
    (tmp_path / "again.yaml").write_text(path.read_text(encoding="utf-8"), encoding="utf-8")
    assert "two worked jobs of one title" in told(tmp_path, knowledge)[0]


def test_a_fault_of_the_job_is_told_at_its_own_line(tmp_path: Path, knowledge: Knowledge) -> None:
    path = written(tmp_path, "  - {must: {refused: false}, why: So.}\n")
    path.write_text(path.read_text(encoding="utf-8").replace("s30400", "s3040"), encoding="utf-8")
    assert told(tmp_path, knowledge)[0].startswith("a-plate.yaml:7:10: ")


def test_no_folder_is_told_and_an_empty_one_holds_nothing(tmp_path: Path, knowledge: Knowledge) -> None:
    assert load_worked(tmp_path, knowledge) == ()
    with pytest.raises(KnowledgeError, match="not a folder"):
        load_worked(tmp_path / "nowhere", knowledge)


def test_a_stretch_of_grades_holds_its_ends_and_one_scale_only(tmp_path: Path, knowledge: Knowledge) -> None:
    worked = read(tmp_path, knowledge, "  - {step: last, must: {grade: {at least: P120, below: P220}}, why: So.}\n")
    assert worked.expect[0].must[0].options == ("P120", "P150", "P180")


def test_the_page_names_every_word_of_the_language() -> None:
    page = PAGE.read_text(encoding="utf-8")
    words = {*WORKED_KEYS, *EXPECTATION_KEYS, *STEP_FACTS, *PLAN_FACTS, *get_args(Selection)}
    assert words <= set(re.findall(r"`([a-z_]+)`", page))
