"""Heat, life, schedule and bounds of the force on real sheets: consistent, within limits, explained."""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise

import pytest

from advisor.render.json import to_json
from advisor.sheet.model import Sheet, Step
from tests import invented

every_job = pytest.mark.parametrize("name", invented.JOBS)


def steps(name: str) -> list[Step]:
    return [step for feature in invented.sheet(name).features for step in feature.steps]


@every_job
def test_heat_is_the_skin_and_the_part_together(name: str) -> None:
    alloy = invented.knowledge().tables.alloys[invented.job(name).alloy]
    for step in steps(name):
        if step.heat is None:
            continue
        heat = step.heat
        assert heat.rise_k == pytest.approx((heat.passing_k or 0.0) + (heat.bulk_k or 0.0))
        assert heat.limit_k == alloy.heat_limit_c - 20.0
        assert heat.margin is not None and heat.margin == pytest.approx(heat.limit_k / heat.rise_k)
        assert heat.wanted_margin is not None
        assert bool(heat.warning) is (heat.margin < heat.wanted_margin)
        assert heat.rise is not None and heat.rise.low <= heat.rise_k * 1.2 and heat.rise.high >= heat.rise_k / 1.2
        if heat.passing_k is not None and "heat" not in {limit.limit for limit in step.limits if not limit.met}:
            strip = step.remaining_um is not None and step.step_over_mm is None
            assert strip or heat.passing_k < heat.limit_k


@every_job
def test_the_skin_under_a_rubber_wheel_alone_is_told(name: str) -> None:
    for step in steps(name):
        if step.contact is None:
            assert step.heat is None or step.heat.passing_k is None
        else:
            assert step.heat is not None and step.heat.passing_k is not None


@every_job
def test_every_step_says_how_long_its_media_lasts(name: str) -> None:
    for step in steps(name):
        wear = step.wear
        assert wear is not None and wear.parts is not None and wear.parts_per_media is not None
        assert wear.parts_per_media > 0 and wear.change_out
        assert wear.parts.low / 2 <= wear.parts_per_media <= wear.parts.high * 2
        assert wear.parts_per_media < 1 or wear.parts_per_media == math.floor(wear.parts_per_media)


@cache
def flap_wheels_only() -> Sheet:
    """A bench that has nothing but wheels that shrink."""
    station = {
        "name": "flaps", "takes": ["flap-wheel", "nonwoven-flap-wheel"], "power": "2 kW",
        "speed": ["600 rpm", "2400 rpm"], "wheel_diameter": "200 mm",
    }  # fmt: skip
    return invented.sheet_of(
        alloy="s31603", start={"defect": "machining-marks"}, finish="satin-medium",
        cell={"operator": "person", "handling": ["part-in-hand"], "stations": [station]},
    )  # fmt: skip


def wheels() -> list[tuple[str, Step]]:
    found = [(name, step) for name in invented.JOBS for step in steps(name)]
    found += [("oar-lock", step) for step in flap_wheels_only().features[0].steps]
    return [(name, step) for name, step in found if step.wear and step.wear.schedule]


def held(name: str, step: Step) -> float:
    """The least force that the compliant tool of the cell holds (N)."""
    flange = invented.job(name).cell.compliance
    return flange.force_n[0] if flange and flange.force_n and step.station != "flaps" else 0.0


def test_some_jobs_run_a_wheel_that_shrinks() -> None:
    assert len(wheels()) >= 3


def test_a_schedule_follows_the_wheel_down_at_one_rim_speed() -> None:
    for _, step in wheels():
        assert step.wear is not None and step.surface_speed_m_s is not None and step.wheel is not None
        wear, first = step.wear, step.wear.schedule[0]
        assert (first.diameter_mm, first.index_mm) == (step.wheel.diameter_mm, 0.0)
        assert first.rpm == step.rpm and first.force_n == pytest.approx(step.force_n)
        assert wear.schedule[-1].diameter_mm == pytest.approx(wear.change_out_mm)
        for one, two in pairwise(wear.schedule):
            assert two.diameter_mm < one.diameter_mm and two.rpm >= one.rpm
            assert one.force_n is not None and two.force_n is not None and two.force_n <= one.force_n
            assert one.parts is not None and two.parts is not None and two.parts > one.parts
            assert two.index_mm == pytest.approx((first.diameter_mm - two.diameter_mm) / 2.0)
        for point in wear.schedule:
            assert wear.highest_rpm is not None and point.rpm <= wear.highest_rpm
            rim = math.pi * point.diameter_mm / 1e3 * point.rpm / 60.0
            assert point.surface_speed_m_s == pytest.approx(rim, rel=2e-3)
            assert rim <= step.surface_speed_m_s * 1.002


def test_a_schedule_never_asks_for_less_force_than_the_tool_holds() -> None:
    for name, step in wheels():
        least = held(name, step)
        assert step.wear is not None
        assert all((point.force_n or 0) >= least for point in step.wear.schedule)


def test_the_force_of_another_diameter_follows_from_what_the_sheet_says() -> None:
    """As the sheet's reference explains it, for whoever measures the wheel of the day."""
    for name, step in wheels():
        wear, least = step.wear, held(name, step)
        assert wear is not None and wear.core_mm is not None and wear.stiffening is not None
        new = wear.schedule[0].diameter_mm
        for point in wear.schedule:
            stiff = ((new - wear.core_mm) / (point.diameter_mm - wear.core_mm)) ** wear.stiffening
            force = (step.force_n or 0.0) * math.sqrt(point.diameter_mm / new / stiff)
            assert point.force_n == pytest.approx(max(least, force), rel=1e-6)


@every_job
def test_the_tightest_bound_of_the_force_is_marked_and_kept(name: str) -> None:
    for step in steps(name):
        assert step.force_limits and step.force_n is not None
        assert [limit.binds for limit in step.force_limits] == [True] + [False] * (len(step.force_limits) - 1)
        allowed = [limit.allowed_n for limit in step.force_limits]
        assert allowed == sorted(allowed)
        firm = [limit for limit in step.force_limits if limit.by != "alloy"]
        assert all(step.force_n <= limit.allowed_n * (1 + 1e-6) for limit in firm)


@every_job
def test_rz_stands_above_ra(name: str) -> None:
    for step in steps(name):
        assert step.rz_um is not None and step.ra_um is not None
        assert step.rz_um.low > 3.0 * step.ra_um.low and step.rz_um.high > step.rz_um.expected > step.rz_um.low


def test_more_power_is_needed_than_the_station_has_and_power_binds() -> None:
    cell = {
        "operator": "person", "handling": ["part-in-hand"],
        "stations": [{
            "name": "spindle", "takes": ["belt", "nonwoven-belt", "surface-conditioning-belt"], "power": "0.5 kW",
            "speed": ["900 rpm", "2400 rpm"], "wheel_diameter": "250 mm",
        }],
    }  # fmt: skip
    found = invented.sheet_of(
        alloy="s31603", start={"defect": "casting-skin", "depth": "0.3 mm"}, finish="satin-medium", cell=cell
    )
    weak = [step for feature in found.features for step in feature.steps if step.media == "belt"]
    assert weak and all(step.force_limits and step.force_limits[0].by in ("power", "rules", "media") for step in weak)
    assert any(limit.by == "power" for step in weak for limit in step.force_limits or ())


def test_the_same_job_gives_the_same_bytes_on_a_fresh_desk() -> None:
    from advisor.pipeline import Desk, recommend

    def once() -> Sheet:
        desk = Desk(invented.knowledge(), "plain")
        try:
            return recommend(invented.job("tap-lever"), desk)
        finally:
            desk.close()

    assert to_json(once()) == to_json(once())
