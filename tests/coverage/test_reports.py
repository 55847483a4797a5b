"""The sums, the tables and the picture say what the answers say."""

from __future__ import annotations

import json
from xml.etree import ElementTree

import pytest

from advisor.coverage.answers import Answer, Coverage, across, along, gaps, tally
from advisor.coverage.grid import Combination, Grid
from advisor.coverage.obstacle import Obstacle
from advisor.coverage.picture import MAPS, to_svg
from advisor.coverage.report import percent, to_json, to_markdown, to_text

GRID = Grid(
    {"brass": "c26000", "copper": "c11000"}, ("burr", "paint"), ("flat",), ("mirror",), ("bench", "arm")
)
REACH = Obstacle("clear", "reach", "A wheel of 300 mm bridges a hollow of 60 mm radius.")
ROUGH = Obstacle(
    "finish", "roughness", "The chain that comes through ends at Ra 0.2 um, not 0.01 to 0.08 um."
)
ANSWERS = (
    Answer(Combination("brass", "burr", "flat", "mirror"), cell="bench", steps=3, rules=60, memory=0.25),
    Answer(Combination("brass", "paint", "flat", "mirror"), obstacles=(("bench", REACH), ("arm", ROUGH))),
    Answer(Combination("copper", "burr", "flat", "mirror"), cell="arm", steps=2, rules=80, memory=0.75),
    Answer(Combination("copper", "paint", "flat", "mirror"), "Nobody <asks> & \"so\".", cell="arm", rules=9),
)  # fmt: skip
SWEPT = Coverage(GRID, "sha256:0", True, ANSWERS)


def test_the_sums_count_what_is_sensible_and_what_has_a_plan() -> None:
    sums = tally(ANSWERS)
    assert (sums.combinations, sums.sensible, sums.planned, sums.planned_of_all) == (4, 3, 2, 3)
    assert sums.share == pytest.approx(2 / 3)
    assert (sums.rules, sums.memory) == (70, 0.5)
    none = tally(ANSWERS[3:])
    assert (none.share, none.rules, none.memory) == (None, None, None)


@pytest.mark.parametrize("axis", ["family", "defect", "shape", "finish"])
def test_the_parts_of_an_axis_add_up_to_the_whole(axis: str) -> None:
    parts = along(ANSWERS, axis).values()
    assert sum(part.combinations for part in parts) == 4
    assert sum(part.planned for part in parts) == 2
    crossed = across(ANSWERS, "family", axis).values()
    assert sum(part.sensible for part in crossed) == 3


def test_a_gap_is_named_by_the_cell_that_came_nearest() -> None:
    (gap,) = gaps(ANSWERS)
    assert (gap.stage, gap.limit, gap.count, gap.example) == ("finish", "roughness", 1, ANSWERS[1])


def test_a_share_is_never_rounded_to_all_or_none() -> None:
    assert percent(31_679 / 31_680) == "99.9 %"
    assert percent(1 / 31_680) == "0.1 %"
    assert percent(0.0) == "0 %"


def test_the_text_names_the_refusals_and_the_errors() -> None:
    text = to_text(SWEPT)
    assert "3 are sensible; 2 of these have a plan (66.7 %)" in text
    assert "1 to finish, roughness; such as brass, paint, flat, mirror" in text
    broken = Answer(Combination("brass", "burr", "flat", "mirror"), fault="bench: KeyError: 'x'")
    failed = to_text(Coverage(GRID, "sha256:0", False, (*ANSWERS[1:], broken)))
    assert "1 ended in an error." in failed
    assert "brass, burr, flat, mirror: bench: KeyError: 'x'" in failed


def test_the_json_holds_every_answer() -> None:
    told = json.loads(to_json(SWEPT))
    assert told["sums"]["planned"] == 2
    assert told["by"]["family"]["brass"]["planned"] == 1
    assert [row["cell"] for row in told["answers"]] == ["bench", None, "arm", "arm"]
    refused = told["answers"][1]["refused"]
    assert [(row["cell"], row["limit"]) for row in refused] == [("bench", "reach"), ("arm", "roughness")]
    assert told["answers"][3]["unusual"] == 'Nobody <asks> & "so".'


def test_the_markdown_has_a_table_for_each_axis() -> None:
    page = to_markdown(SWEPT)
    for axis in ("family", "defect", "shape", "finish"):
        assert f"### By {axis}\n" in page
    assert "| `brass` | 2 | 1 | 50 % | 60 | 25 % |" in page
    widths = {line.count("|") for line in page.splitlines() if line.startswith("| `brass`")}
    assert widths == {7}


def test_the_picture_is_whole_and_says_every_square_in_words() -> None:
    picture = to_svg(SWEPT)
    root = ElementTree.fromstring(picture)
    space = "{http://www.w3.org/2000/svg}"
    assert root.get("role") == "img"
    titles = [each.text or "" for each in root.iter(f"{space}title")]
    assert len(titles) == 1 + sum(len(across(ANSWERS, each.rows, each.columns)) for each in MAPS)
    assert "brass, paint: 0 % (0 of 1 planned)" in titles
    assert "copper, paint: nobody asks for it" in titles
    assert "copper, burr: 80 rules" in titles
    assert "copper, burr: 75 % on memory" in titles
    assert "href" not in picture
    assert "<script" not in picture
    wide, high = float(root.get("width", "0")), float(root.get("height", "0"))
    for each in root.iter(f"{space}rect"):
        assert float(each.get("x", "0")) + float(each.get("width", "0")) <= wide
        assert float(each.get("height", "0")) <= high
