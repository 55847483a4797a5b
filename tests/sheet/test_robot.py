"""What a robot's program is told: an order that spoils nothing, and leads long enough to reach the feed."""

from __future__ import annotations

import math
from collections.abc import Iterator

import pytest
from hypothesis import given, settings

from advisor.job.model import Job
from advisor.pipeline import recommend
from advisor.process.approach import lead_length, ramp_length, run_up
from advisor.sheet.model import Move, Sheet, Step
from tests import invented
from tests.strategies import swept_jobs

#: The same part in a cell with a robot, with a hollow, a round and a flat face.
PART = {
    "alloy": "z33525",
    "part": {"mass": "0.4 kg", "wall": "3 mm", "contour": "high"},
    "start": {"defect": "casting-skin", "depth": "0.08 mm"},
    "finish": "satin-fine",
    "cell": "robot-floor-stand",
    "batch": 300,
    "features": [
        {"name": "side", "shape": "flat", "width": "30 mm", "area": "40 cm2"},
        {"name": "round", "shape": "convex", "radius": "16 mm", "width": "24 mm", "area": "20 cm2"},
        {"name": "hollow", "shape": "concave", "radius": "45 mm", "width": "20 mm", "area": "10 cm2",
         "access": "90 mm", "finish": "satin-medium", "start": {"defect": "gate-stub", "depth": "0.4 mm"}},
    ],
}  # fmt: skip
STAGES = ("clear", "refine", "prepare", "finish")


@pytest.fixture(scope="module")
def sheet() -> Sheet:
    return invented.sheet_of(**PART)


def steps_of(sheet: Sheet) -> dict[str, Step]:
    return {f"{face.name}/{step.number}": step for face in sheet.features for step in face.steps}


def moves_of(sheet: Sheet) -> Iterator[tuple[Move, Step]]:
    assert sheet.robot is not None
    steps = steps_of(sheet)
    yield from ((move, steps[move.serves]) for move in sheet.robot.moves)


def check_order(sheet: Sheet) -> None:
    """Every step once, each after the one it follows, and every set-up in one piece."""
    assert sheet.robot is not None
    order = [move.serves for move in sheet.robot.moves]
    assert sorted(order) == sorted(steps_of(sheet))
    for face in sheet.features:
        own = [order.index(f"{face.name}/{step.number}") for step in face.steps]
        assert own == sorted(own)
    for operation in sheet.operations:
        places = sorted(order.index(entry) for entry in operation.serves)
        assert places == list(range(places[0], places[0] + len(places)))


def test_the_hollow_is_worked_before_the_open_faces_at_each_stage(sheet: Sheet) -> None:
    check_order(sheet)
    stages: dict[str, list[bool]] = {}
    for move, step in moves_of(sheet):
        stages.setdefault(step.stage, []).append(move.inner)
    assert any(stages["clear"]) and any(stages["finish"])
    for inner in stages.values():
        assert inner == sorted(inner, reverse=True)


def test_the_stages_follow_one_another(sheet: Sheet) -> None:
    told = [STAGES.index(step.stage) for _, step in moves_of(sheet)]
    assert told == sorted(told)


@settings(max_examples=15)
@given(swept_jobs())
def test_the_order_spoils_nothing_on_any_job(job: Job) -> None:
    sheet = recommend(job, invented.desk())
    if job.cell.operator == "person" or not any(face.steps for face in sheet.features):
        assert sheet.robot is None
    else:
        check_order(sheet)
        for move, step in moves_of(sheet):
            assert move.lead_in_mm > 0 and move.engage_ramp_mm > 0
            assert step.rpm is not None and step.rpm <= move.highest_rpm


def test_no_robot_is_told_anything_where_a_person_works() -> None:
    assert invented.sheet_of(**{**PART, "cell": "small-parts-bench", "batch": 20}).robot is None


def test_the_feed_is_reached_before_the_media_touch(sheet: Sheet) -> None:
    """Over the lead less contact and clearance, 1 m/s2 reaches the feed: v = sqrt(2 a s)."""
    for move, step in moves_of(sheet):
        assert step.feed_mm_s is not None
        half = step.contact.half_width_mm if step.contact is not None else 0.0
        way = (move.lead_in_mm - half - 5.0) / 1e3
        assert math.sqrt(2 * 1.0 * way) * 1e3 == pytest.approx(step.feed_mm_s, rel=1e-4)
        assert move.contact_known == (step.contact is not None)


def test_the_rpm_of_a_dressed_wheel_holds_the_surface_speed_and_never_the_limit_passed(sheet: Sheet) -> None:
    seen = 0
    for move, step in moves_of(sheet):
        for point in move.diameters:
            seen += 1
            assert step.surface_speed_m_s is not None and point.surface_speed_m_s is not None
            assert point.rpm <= move.highest_rpm
            rim = math.pi * point.diameter_mm / 1e3 * point.rpm / 60
            assert rim == pytest.approx(point.surface_speed_m_s, rel=1e-3)
            assert rim <= step.surface_speed_m_s * 1.001
    assert seen


def test_strokes_cover_the_width(sheet: Sheet) -> None:
    faces = {face.name: face for face in sheet.features}
    for move, step in moves_of(sheet):
        face = faces[move.serves.split("/")[0]]
        if step.step_over_mm is None:
            assert move.strokes is None
        elif face.width_mm is not None and move.strokes is not None:
            assert (move.strokes - 1) * step.step_over_mm < face.width_mm <= move.strokes * step.step_over_mm + 1e-6


def test_a_cut_buff_runs_against_the_feed_and_a_colour_buff_with_it() -> None:
    """As the trade has it: cut moves the part against the wheel, colour with it (common practice)."""
    grades = invented.knowledge().tables.grades
    assert grades["cut"].against_feed is True and grades["colour"].against_feed is False
    assert all(row.against_feed is None for row in grades.values() if row.scale != "compound")


def test_every_kind_of_value_has_its_reason(sheet: Sheet) -> None:
    robot = sheet.robot
    assert robot is not None
    wanted = {"moves", "lead_in_mm", "lead_out_mm", "engage_ramp_mm", "retract_ramp_mm", "against_feed"}
    assert wanted <= set(robot.reasons)
    for ids in robot.reasons.values():
        assert ids and all(sheet.reasons[one].source or sheet.reasons[one].kind == "limited" for one in ids)


def test_a_touch_is_not_lighter_than_the_tool_can_hold(sheet: Sheet) -> None:
    assert sheet.robot is not None and sheet.robot.touch_off_force_n == 8.0  # the cell's compliance: 8 to 220 N


def test_the_lengths_grow_with_the_feed() -> None:
    assert run_up(0.2, 1.0) == 4 * run_up(0.1, 1.0)
    assert ramp_length(0.2, 0.2) == 2 * ramp_length(0.1, 0.2)
    assert lead_length(run_up(0.1, 1.0), 0.0, 0.0) == run_up(0.1, 1.0)
