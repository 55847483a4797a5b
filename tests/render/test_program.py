"""The robot's program as CSV: one table that other programs read, and in which no text can act."""

from __future__ import annotations

import csv
import io
import re
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.render.program import COLUMNS, NoRobot, harmless, program_csv
from advisor.sheet.model import Move, Robot, Sheet, Wear, WearPoint
from tests.sheet.sample import sample_sheet

UNITS = pytest.mark.parametrize("units", ["si", "us"])
SPLITS = re.compile(r"[;,|\t]")


def _move(serves: str, **changes: Any) -> Move:
    values: dict[str, Any] = {
        "serves": serves, "inner": False, "lead_in_mm": 16.0, "lead_out_mm": 16.0, "contact_known": True,
        "engage_ramp_mm": 8.0, "retract_ramp_mm": 8.0, "strokes": 2, "highest_rpm": 3600,
    }  # fmt: skip
    return Move(**{**values, **changes})


def _sheet(**names: str) -> Sheet:
    """The sample in a robot cell, the pad an inner face, with names of a user's."""
    sheet = sample_sheet()
    pad = names.get("pad", "foot pad")
    features = (
        sheet.features[0],
        sheet.features[1].model_copy(update={"name": pad}),
        sheet.features[2],
    )
    dressed = (WearPoint(diameter_mm=200, rpm=2101), WearPoint(diameter_mm=190, rpm=2212, index_mm=5))
    robot = Robot(
        moves=(
            _move(f"{pad}/1", inner=True, contact_known=False, strokes=None),
            _move("outer sweep/1", diameters=dressed),
            _move("outer sweep/2", against_feed=True),
            _move(f"{pad}/2", inner=True, against_feed=False),
            _move("outer sweep/3"),
        ),
        touch_off_force_n=8,
        touch_off_speed_mm_s=2,
    )
    job = {"name": names.get("job", "gate-latch")}
    return sheet.model_copy(update={"robot": robot, "features": features, "job": job})


def _rows(sheet: Sheet, units: Any = "si") -> list[dict[str, str]]:
    text = program_csv(sheet, units)
    assert isinstance(text, str)
    table = list(csv.reader(io.StringIO(text), strict=True))
    assert {len(row) for row in table} == {len(COLUMNS)}
    return [dict(zip(table[0], row, strict=True)) for row in table[1:]]


def _of(rows: list[dict[str, str]], record: str) -> list[dict[str, str]]:
    return [row for row in rows if row["record"] == record]


@UNITS
def test_the_cautions_come_first_and_all_of_them(units: Any) -> None:
    rows = _rows(_sheet(), units)
    cautions = sample_sheet().cautions
    assert [row["record"] for row in rows[: len(cautions)]] == ["caution"] * len(cautions) != []
    for row, caution in zip(rows, cautions, strict=False):
        assert row["text"].startswith(caution.text[:20])


def test_the_steps_come_in_the_order_of_the_program_with_all_their_settings() -> None:
    steps = _of(_rows(_sheet()), "step")
    assert [(row["feature"], row["step"]) for row in steps] == [
        ("foot pad", "1"), ("outer sweep", "1"), ("outer sweep", "2"), ("foot pad", "2"), ("outer sweep", "3"),
    ]  # fmt: skip
    assert [row["order"] for row in steps] == ["1", "2", "3", "4", "5"]
    assert [row["inner_face"] for row in steps] == ["yes", "no", "no", "yes", "no"]
    assert [row["media_against_feed"] for row in steps] == ["", "", "yes", "no", ""]
    sweep = steps[1]
    wanted = {
        "grade": "P80", "rpm": "2101", "rpm_low": "1910", "rpm_high": "2387", "rpm_never_above": "3600",
        "force_set_point_n": "45", "force_low_n": "30", "force_high_n": "60", "feed_mm_s": "40", "passes": "6",
        "step_over_mm": "30", "lead_in_mm": "16", "lead_out_mm": "16", "engage_ramp_mm": "8",
        "retract_ramp_mm": "8", "touch_off_force_n": "8", "touch_off_speed_mm_s": "2",
        "change_media_after_parts": "60", "direction": "across the parting line",
    }  # fmt: skip
    assert {name: sweep[name] for name in wanted} == wanted


def test_the_wheel_table_follows_its_step() -> None:
    rows = _rows(_sheet())
    wheels = [(row["order"], row["wheel_diameter_mm"], row["rpm"], row["index_total_mm"]) for row in _of(rows, "wheel")]
    assert wheels == [
        ("2", "200", "2101", ""), ("2", "190", "2212", "5"), ("4", "200", "1432", "0"), ("4", "170", "1685", "15"),
        ("5", "200", "1432", "0"), ("5", "170", "1685", "15"),
    ]  # fmt: skip
    for place, row in enumerate(rows):
        if row["record"] == "wheel":
            assert rows[place - 1]["order"] == row["order"]


def test_what_is_not_known_is_empty_and_said() -> None:
    first, second = _of(_rows(_sheet()), "step")[:2]
    assert first["step_over_mm"] == "" and "without a step-over" in first["text"]
    assert first["change_media_after_parts"] == "" and "life of the media is not known" in first["text"]
    assert "add half of the touch mark" in first["text"] and "touch mark" not in second["text"]
    assert second["media_against_feed"] == "" and "not decided" in second["text"]
    assert not any(value in {"None", "nan", "-"} for row in (first, second) for value in row.values())


def test_each_column_that_could_be_misread_is_explained_before_the_steps() -> None:
    rows = _rows(_sheet())
    told = " ".join(row["text"] for row in rows[: rows.index(_of(rows, "step")[0])])
    for column in ("passes", "strokes_across_width", "rpm_low", "rpm_high", "rpm_never_above"):
        assert f"'{column}'" in told and column in rows[0]


def test_parts_are_whole_in_the_wheel_table_and_rounded_down() -> None:
    sheet = _sheet()
    sweep = sheet.features[0]
    points = (WearPoint(diameter_mm=200, rpm=1432, parts=0.0), WearPoint(diameter_mm=170, rpm=1685, parts=49.9))
    steps = tuple(
        step.model_copy(update={"wear": Wear(schedule=points)}) if step.number == 3 else step for step in sweep.steps
    )
    changed = sheet.model_copy(update={"features": (sweep.model_copy(update={"steps": steps}), *sheet.features[1:])})
    wheels = [row for row in _of(_rows(changed), "wheel") if (row["feature"], row["step"]) == (sweep.name, "3")]
    assert [row["parts_done"] for row in wheels] == ["0", "49"]


def test_a_face_without_a_process_is_named_as_left_out() -> None:
    told = [row["text"] for row in _of(_rows(_sheet()), "about")]
    assert any(text.startswith("inner pocket has no process") for text in told)
    assert "qualified people decide" in told[-1]


def test_us_units_stand_in_the_heads_and_in_the_numbers() -> None:
    si, us = _of(_rows(_sheet()), "step")[1], _of(_rows(_sheet(), "us"), "step")[1]
    assert float(us["force_set_point_lbf"]) == pytest.approx(float(si["force_set_point_n"]) / 4.448222, rel=1e-3)
    assert float(us["lead_in_in"]) == pytest.approx(float(si["lead_in_mm"]) / 25.4, rel=1e-3)
    assert float(us["feed_in_min"]) == pytest.approx(float(si["feed_mm_s"]) * 60 / 25.4, rel=1e-3)
    assert us["rpm"] == si["rpm"] and us["grade"] == "P80 (ANSI 80)"
    assert not [name for name in us if name.endswith(("_mm", "_n", "_mm_s", "_m_s"))]


HOSTILE = (
    "=HYPERLINK(\"http://x.invalid\",\"click\")", "+1+1", "-2+3+cmd|' /C calc'!A0", "@SUM(1+1)*cmd|' /C calc'!A0",
    "\t=1+1", "\r=1+1", " =1+1", "rim;=1+1", "rim,@x", "\"\n=1+1", "＝1+1", "a\"b", "\u202e=1",
)  # fmt: skip


@pytest.mark.parametrize("hostile", HOSTILE)
def test_no_name_of_a_job_becomes_a_formula_or_another_cell(hostile: str) -> None:
    rows = _rows(_sheet(job=hostile, pad=hostile))
    assert len(rows) == len(_rows(_sheet()))
    for row in rows:
        for value in row.values():
            for part in SPLITS.split(value):
                assert not re.match(r"\s*[=+\-@＝＋－＠]", part), value


@given(st.text(max_size=30))
def test_no_text_is_taken_as_a_formula(text: str) -> None:
    cell = harmless(text)
    assert "\n" not in cell and "\r" not in cell
    assert all(not re.match(r"\s*[=+\-@＝＋－＠]", part) for part in SPLITS.split(cell))


def test_the_same_sheet_gives_the_same_bytes() -> None:
    assert program_csv(_sheet()) == program_csv(_sheet())
    text = program_csv(_sheet())
    assert isinstance(text, str) and text.endswith("\n") and "\r" not in text


def test_there_is_no_program_where_a_person_works() -> None:
    made = program_csv(sample_sheet())
    assert isinstance(made, NoRobot) and "a person works" in made.why


def test_a_wheel_that_comes_off_before_its_touch_off_is_not_touched_off() -> None:
    sheet = _sheet()
    sweep = sheet.features[0]
    worn = {"touch_off_parts": 240.0, "touch_off_mm": 24.0}
    told = {}
    for life in (166.0, 900.0):
        wear = Wear(parts_per_media=life, **worn)
        steps = (sweep.steps[0].model_copy(update={"wear": wear}), *sweep.steps[1:])
        features = (sweep.model_copy(update={"steps": steps}), *sheet.features[1:])
        row = _of(_rows(sheet.model_copy(update={"features": features})), "step")[1]
        told[life] = (row["touch_off_every_parts"], row["index_step_mm"])
    assert told == {166.0: ("", ""), 900.0: ("240", "24")}
