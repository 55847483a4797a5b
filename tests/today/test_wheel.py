"""Today's wheel agrees with the schedule of the sheet, keeps every limit, and what it says would help does help."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.figures import media_life
from advisor.process.speed import rotational_speed
from advisor.render.json import from_json, to_json
from advisor.sequence.surface import PlannedStep
from advisor.sheet.model import Step
from advisor.today.limits import WheelLimits
from advisor.today.wheel import by_itself, on_sheet
from tests import invented

#: Invented jobs that end on a wheel which wears away.
NAMES = ("tap-lever", "pump-throat")


@cache
def shrinking(name: str) -> tuple[tuple[Step, PlannedStep], ...]:
    return tuple(_shrinking(name))


def _shrinking(name: str) -> Iterator[tuple[Step, PlannedStep]]:
    sheet = invented.sheet(name)
    for face, plan in zip(sheet.features, invented.plans_of(invented.job(name)), strict=True):
        for step, planned in zip(face.steps, plan.path, strict=False):
            if step.wear and step.wear.schedule:
                yield step, planned


def test_there_are_wheels_to_look_at() -> None:
    assert all(shrinking(name) for name in NAMES)


@pytest.mark.parametrize("stored", [False, True], ids=["as made", "read back from JSON"])
@pytest.mark.parametrize("name", NAMES)
def test_every_row_of_the_schedule_is_what_rpm_says(name: str, stored: bool) -> None:
    sheet = invented.sheet(name)
    sheet = from_json(to_json(sheet)) if stored else sheet
    for face in sheet.features:
        for step in face.steps:
            for row in step.wear.schedule if step.wear else ():
                found = on_sheet(step, invented.job(name), "it", row.diameter_mm)
                assert not found.refused
                assert (found.rpm, found.force_n, found.index_mm) == (row.rpm, row.force_n, row.index_mm)


@pytest.mark.parametrize("name", NAMES)
@given(share=st.floats(0, 1))
def test_between_the_rows_it_is_the_same_formula(name: str, share: float) -> None:
    job = invented.job(name)
    for step, planned in shrinking(name):
        assert step.wheel and step.wheel.diameter_mm and step.wear and step.wear.change_out_mm
        last, new = step.wear.change_out_mm, step.wheel.diameter_mm
        diameter = last + share * (new - last)
        found = on_sheet(step, job, "it", diameter)
        candidate, setup = planned.candidate, planned.candidate.setup
        values = invented.plan(name).desk.expected(candidate.tool.media, candidate.grain, candidate.grade)
        wanted = min(float(rotational_speed(setup.speed, diameter / 1e3)), setup.highest_rpm)
        assert found.rpm is not None and abs(found.rpm - wanted) <= 1 and found.rpm <= setup.highest_rpm
        force = media_life.trimmed_force(setup, values, diameter / 1e3)[0]
        least = job.cell.compliance.force_n[0] if job.cell.compliance and job.cell.compliance.force_n else 0.0
        assert found.force_n == pytest.approx(max(least, force), rel=1e-4)
        assert found.index_mm == pytest.approx((new - diameter) / 2, rel=1e-4, abs=1e-3)


@pytest.mark.parametrize("name", NAMES)
def test_a_worn_wheel_turns_faster_and_is_pressed_no_harder(name: str) -> None:
    for step, _ in shrinking(name):
        assert step.wheel and step.wheel.diameter_mm and step.wear and step.wear.change_out_mm
        last, new = step.wear.change_out_mm, step.wheel.diameter_mm
        sizes = [last + k / 9 * (new - last) for k in range(10)]
        found = [on_sheet(step, invented.job(name), "it", size) for size in sizes]
        turns = [each.rpm or 0 for each in found]
        assert turns == sorted(turns, reverse=True)
        left = [each.parts_left or 0 for each in found]
        assert left == sorted(left)


@pytest.mark.parametrize("name", NAMES)
def test_below_the_smallest_diameter_it_is_refused(name: str) -> None:
    for step, _ in shrinking(name):
        assert step.wear and step.wear.change_out_mm and step.wheel and step.wheel.diameter_mm
        found = on_sheet(step, invented.job(name), "it", step.wear.change_out_mm * 0.99)
        assert found.rpm is None and found.force_n is None
        assert "smallest diameter" in [item.limit for item in found.refused]
        with pytest.raises(ValueError, match="larger"):
            on_sheet(step, invented.job(name), "it", step.wheel.diameter_mm * 1.01)


LIMITS = st.builds(
    WheelLimits,
    new_diameter=st.floats(150, 300),
    marked_speed=st.one_of(st.none(), st.floats(10, 80)),
    marked_rpm=st.one_of(st.none(), st.floats(1000, 9000)),
    spindle=st.one_of(st.none(), st.tuples(st.floats(100, 900), st.floats(1000, 9000))),
    least=st.one_of(st.none(), st.floats(20, 140)),
)


@given(limits=LIMITS, share=st.floats(0.1, 1), speed=st.floats(1, 100))
def test_what_is_not_refused_keeps_every_limit_and_what_is_breaks_one(
    limits: WheelLimits, share: float, speed: float
) -> None:
    """Circumference times turns, worked out here again, against each limit."""
    diameter = share * (limits.new_diameter or 0.0)
    found = by_itself(diameter, speed, limits)
    turns = speed * 60e3 / (math.pi * diameter)
    caps = [each for each in (limits.marked_rpm, limits.spindle[1] if limits.spindle else None) if each]
    if limits.marked_speed:
        caps.append(limits.marked_speed * 60e3 / (math.pi * (limits.new_diameter or 1.0)))
    broken = (
        any(turns > cap * 1.00001 for cap in caps)
        or bool(limits.spindle and turns < limits.spindle[0] / 1.00001)
        or bool(limits.least and diameter < limits.least / 1.00001)
    )
    if found.refused:
        assert found.rpm is None
        assert all(item.helps for item in found.refused)
    else:
        assert found.rpm is not None and not broken
        assert all(found.rpm <= cap * 1.00001 + 0.5 for cap in caps)
    if broken:
        assert found.refused


def test_the_rpm_of_the_issue() -> None:
    """25 m/s on 183 mm: 25 / (pi 0.183) turns a second."""
    assert by_itself(183, 25, WheelLimits()).rpm == round(25 / (math.pi * 0.183) * 60) == 2609


def test_a_wheel_gets_into_a_hollow_by_its_diameter_of_today() -> None:
    """Up to 0.9 of the radius; what has worn gets into more than it did new."""
    hollow = WheelLimits(hollow=100.0)
    assert [item.limit for item in by_itself(180.0, 15.0, hollow).refused] == []
    (refused,) = by_itself(181.0, 15.0, hollow).refused
    assert (refused.limit, refused.allowed) == ("reach", pytest.approx(180.0))
