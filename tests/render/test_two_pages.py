"""What goes to the machine fits two pages: counted in lines here, in pages by tests/browser.

Two pages of Letter paper at 8 points hold about 260 lines of 100 characters, as tests/browser/test_printed_sheet.py
measures; a row of a table takes one of them in print and up to two here.
"""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings

from advisor.job import Job, read_job
from advisor.knowledge.locate import demo_jobs
from advisor.pipeline import recommend
from advisor.render.markdown import to_markdown
from advisor.render.speech import Speech
from advisor.sheet.model import Sheet
from advisor.units import System
from tests import invented
from tests.strategies import swept_jobs

APPENDIX = "\n---\n\n## Appendix"
COLUMNS = 100
TWO_PAGES = 260
A_FACE = 210  # typical jobs have up to three faces, whose cautions and checks are largely the same

DEMOS = tuple(path.stem for path in sorted(demo_jobs().glob("*.yaml")))


def front_of(sheet: Sheet, units: System = "si") -> str:
    """All that stands before the appendix."""
    text = to_markdown(sheet, units)
    front, mark, _ = text.partition(APPENDIX)
    assert mark
    return front


def lines_of(text: str) -> int:
    """The lines of a text when it is broken at so many columns."""
    return sum(-(-max(1, len(line)) // COLUMNS) for line in text.splitlines())


def demo(name: str) -> Sheet:
    """The sheet of a packaged demo job."""
    return recommend(read_job(demo_jobs() / f"{name}.yaml", invented.knowledge()), invented.desk())


@pytest.mark.parametrize("units", ["si", "us"])
@pytest.mark.parametrize("name", DEMOS)
def test_the_part_for_the_machine_is_two_pages_of_lines(name: str, units: System) -> None:
    assert lines_of(front_of(demo(name), units)) <= TWO_PAGES


@pytest.mark.parametrize("name", list(invented.JOBS))
def test_a_sheet_of_one_face_leaves_room_for_more(name: str) -> None:
    assert lines_of(front_of(invented.sheet(name), "us")) <= A_FACE


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(swept_jobs())
def test_any_standard_face_is_told_in_two_pages(job: Job) -> None:
    assert lines_of(front_of(recommend(job, invented.desk()), "us")) <= A_FACE


@pytest.mark.parametrize("name", DEMOS)
def test_no_sentence_is_said_twice_before_the_appendix(name: str) -> None:
    """Each direction, check, remedy and caution stands once, with the steps it is for."""
    sheet = demo(name)
    front = front_of(sheet).replace("\\", "")
    said = {
        text.removeprefix("Go on when ").removesuffix(".")
        for feature in sheet.features
        for step in feature.steps
        for text in step.go_on_when
        if not any(letter.isdigit() for letter in text)
    } | {note.text for note in (*sheet.cautions, *sheet.precautions)}
    assert len(said) > 15
    for text in said:
        assert front.count(text) <= 1, text


@pytest.mark.parametrize("name", DEMOS)
def test_every_caution_and_every_setting_stands_before_the_appendix(name: str) -> None:
    sheet = demo(name)
    speech, front = Speech(sheet, "si"), front_of(sheet).replace("\\", "")
    for caution in sheet.cautions:
        assert speech.prose(caution.text) in front
    run = front[front.index("## Run") : front.index("Direction: ")]
    rows = {line.split("|")[1].strip(): line for line in run.splitlines() if line.startswith("| ")}
    for feature in sheet.features:
        for step in feature.steps:
            row = rows[f"{feature.name} {step.number} {step.stage}"]
            assert f" {step.rpm}; " in row and f"| {step.passes} " in row
