"""What a set-up does in a pass: the formulas put together, for numbers and for draws alike."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from advisor.figures.coefficients import Draws, expected, pick, scope_of
from advisor.figures.effect import Effect, effect, rougher, whole_valley
from advisor.figures.setup import Setup
from advisor.sequence.candidate import Candidate
from advisor.sequence.feature_desk import FeatureDesk
from tests import invented


def candidates(abrasive: str) -> Iterator[tuple[FeatureDesk, Candidate]]:
    """Every candidate of the invented jobs whose media carries this abrasive."""
    for name in invented.JOBS:
        plan = invented.plan(name)
        for field in plan.fields:
            for item in field.candidates:
                if item.tool.media.abrasive == abrasive:
                    yield plan.desk, item


def one(abrasive: str, wheel: bool = False) -> tuple[FeatureDesk, Candidate]:
    return next(
        (desk, item) for desk, item in candidates(abrasive)
        if not wheel or item.effect.contact is not None
    )  # fmt: skip


def worked_out(desk: FeatureDesk, item: Candidate, **changes: float) -> Effect:
    setup: Setup = replace(item.setup, **changes)
    return effect(setup, desk.expected(item.tool.media, item.grain, item.grade))


def test_there_is_something_of_each_kind_to_look_at() -> None:
    kinds = {row.abrasive for row in invented.knowledge().tables.media.values()}
    assert {"coated", "web", "compound"} <= kinds
    for kind in ("coated", "web", "compound"):
        assert list(candidates(kind))


def test_depth_of_a_coated_pass_written_out() -> None:
    """H = mu P' v / (u v_w) (1 - p_min / p), with the size of the grain in mu and u."""
    for desk, item in candidates("coated"):
        if item.effect.contact is None or item.grade is None:
            continue
        values = desk.expected(item.tool.media, item.grain, item.grade)
        setup, ratio = item.setup, 201.0 / item.grade.um
        mu = float(values["force_ratio_80"]) * ratio**-0.15
        energy = float(values["specific_energy_80"]) * 1e9 * ratio ** float(values["size_effect_exponent"])
        least = float(values["minimum_pressure_kpa"]) * 1e3 * (setup.alloy.hardness_hv / 200.0) ** 0.7
        if setup.tough:
            least *= float(values["tough_grain_factor"])
        share = 1.0 - least / float(item.effect.contact.grain_pressure)
        depth = mu * setup.line_load * setup.speed / (energy * setup.feed) * share
        assert float(item.effect.depth(setup.feed)) == pytest.approx(
            depth * setup.media.removal_factor, rel=1e-9
        )


def test_more_force_and_more_speed_cut_deeper_and_more_feed_less_deep() -> None:
    for desk, item in candidates("coated"):
        setup = item.setup
        here = float(worked_out(desk, item).depth(setup.feed))
        assert float(worked_out(desk, item, line_load=1.2 * setup.line_load).depth(setup.feed)) > here
        # A little less or more than 1.2: a faster belt lies looser on its wheel, whose cover acts harder.
        assert float(worked_out(desk, item, speed=1.2 * setup.speed).depth(setup.feed)) == pytest.approx(
            1.2 * here, rel=0.05
        )
        assert float(item.effect.depth(2.0 * setup.feed)) == pytest.approx(here / 2.0)


def test_a_finer_grain_leaves_a_finer_floor_and_takes_less() -> None:
    desk, item = one("coated", wheel=True)
    grades = [row for row in desk.knowledge.tables.grades.values() if row.scale == "P" and row.um < 300]
    values = desk.expected(item.tool.media, item.grain, item.grade)
    found = [
        effect(replace(item.setup, grade=grade), values) for grade in sorted(grades, key=lambda row: -row.um)
    ]
    floors = [float(one.floor_ra) for one in found if one.floor_ra is not None]
    depths = [float(one.depth(item.setup.feed)) for one in found]
    assert floors == sorted(floors, reverse=True) and depths == sorted(depths, reverse=True)


def test_a_harder_wheel_presses_on_less_and_leaves_a_rougher_floor() -> None:
    desk, item = one("coated", wheel=True)
    soft, hard = (worked_out(desk, item, hardness=value) for value in (30.0, 70.0))
    assert soft.contact is not None and hard.contact is not None
    assert float(hard.contact.half_width) < float(soft.contact.half_width)
    assert float(hard.contact.mean_pressure) > float(soft.contact.mean_pressure)
    assert float(hard.floor_ra or 0.0) > float(soft.floor_ra or 0.0)


def test_power_is_force_ratio_times_force_times_speed() -> None:
    for kind in ("coated", "web", "compound"):
        for _, item in candidates(kind):
            setup = item.setup
            assert float(item.effect.power) == pytest.approx(
                float(item.effect.force_ratio) * setup.line_load * setup.contact_width * setup.speed
            )


@pytest.mark.parametrize("kind", ["web", "compound"])
def test_webs_and_buffs_have_no_invented_contact_unless_a_rubber_wheel_backs_them(kind: str) -> None:
    for _, item in candidates(kind):
        if item.setup.hardness is None or not item.tool.media.contact_wheel:
            assert item.effect.contact is None
        assert item.effect.fixed_depth is not None
        assert float(item.effect.depth(0.01)) == float(item.effect.depth(0.1))


def test_a_web_takes_less_off_hard_metal() -> None:
    desk, item = one("web")
    alloy = item.setup.alloy
    soft = effect(
        replace(item.setup, alloy=alloy.model_copy(update={"hardness_hv": alloy.hardness_hv / 4.0})),
        desk.expected(item.tool.media, item.grain, item.grade),
    )
    assert float(soft.depth(0.05)) == pytest.approx(2.0 * float(item.effect.depth(0.05)))


@pytest.mark.parametrize("kind", ["coated", "web", "compound"])
def test_an_array_of_draws_is_worked_out_one_by_one(kind: str) -> None:
    """The bands use the function that the search uses; it must not mix the draws."""
    desk, item = one(kind, wheel=kind == "coated")
    picked = desk.picked(item.tool.media, item.grain, item.grade)
    drawn = Draws("any job", 25).of(picked)
    together = effect(item.setup, drawn)
    for place in range(25):
        alone = effect(item.setup, {
            symbol: value if isinstance(value, float) else float(np.asarray(value)[place])
            for symbol, value in drawn.items()
        })  # fmt: skip
        for figure in ("force_ratio", "specific_energy", "depth_rate", "floor_ra", "power"):
            whole = np.broadcast_to(np.asarray(getattr(together, figure)), 25)
            assert float(whole[place]) == pytest.approx(float(getattr(alone, figure)), rel=1e-12), figure


def test_the_narrowest_scope_is_picked_for_every_symbol() -> None:
    """Checked against every row, for every set-up that came up."""
    rows = list(invented.knowledge().tables.coefficients.values())
    for kind in ("coated", "web", "compound"):
        for desk, item in candidates(kind):
            scope = scope_of(desk.alloy, item.tool.media, item.grain, item.grade)
            picked = pick(rows, scope)
            assert picked == desk.picked(item.tool.media, item.grain, item.grade)
            for symbol, row in picked.items():
                fitting = [
                    other for other in rows
                    if other.symbol == symbol and other.scope.items() <= scope.items()
                ]  # fmt: skip
                assert len(row.scope) == max(len(other.scope) for other in fitting)


def test_expected_is_the_middle_of_each_band() -> None:
    desk, item = one("coated")
    picked = desk.picked(item.tool.media, item.grain, item.grade)
    assert expected(picked) == {symbol: row.band.expected for symbol, row in picked.items()}


def test_the_exponent_of_the_floor_is_not_drawn() -> None:
    desk, item = one("coated")
    drawn = Draws("any job", 50).of(desk.picked(item.tool.media, item.grain, item.grade))
    assert isinstance(drawn["roughness_n"], float)
    assert np.asarray(drawn["roughness_c"]).shape == (50,)


def test_rougher_is_the_larger_for_numbers_and_for_draws() -> None:
    assert rougher(2.0, 3.0) == rougher(3.0, 2.0) == 3.0
    one_by_one = rougher(np.array([1.0, 4.0, 0.0]), np.array([2.0, 3.0, 0.0]))  # type: ignore[arg-type]
    assert np.asarray(one_by_one).tolist() == [2.0, 4.0, 0.0]


def test_a_valley_is_a_multiple_of_ra() -> None:
    assert float(whole_valley(0.8e-6, {"rt_over_ra": 10.0})) == pytest.approx(8e-6)
    assert math.isclose(float(whole_valley(0.0, {"rt_over_ra": 10.0})), 0.0)


def test_every_media_and_grade_finds_all_its_coefficients() -> None:
    """No row of the tables may lead to a figure that nobody typed in."""
    desk, item = one("coated", wheel=True)
    tables = desk.knowledge.tables
    for media in tables.media.values():
        scales = {"web": "web", "compound": "compound"}
        named = scales.get(media.abrasive)
        grades = [row for row in tables.grades.values() if row.scale == named] if named else [item.grade]
        for grade in [None] if media.key == "wire-wheel" else grades:
            found = effect(
                replace(item.setup, media=media, grade=grade), desk.expected(media, item.grain, grade)
            )
            assert float(found.depth(item.setup.feed)) >= 0.0


def test_a_wire_wheel_takes_a_film_and_leaves_the_scratch() -> None:
    desk, item = one("coated", wheel=True)
    media = desk.knowledge.tables.media["wire-wheel"]
    found = effect(replace(item.setup, media=media, grade=None), desk.expected(media, None, None))
    assert 0.0 < float(found.depth(item.setup.feed)) < 5e-6
    assert found.floor_ra is None
