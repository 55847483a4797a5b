"""How far media go: against an integration of the fading cut, a search for the cheapest change, and geometry."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import pytest
from scipy.integrate import quad
from scipy.optimize import minimize_scalar

from advisor.figures.media_life import (
    Economy,
    MediaLife,
    last_diameter,
    media_life,
    radius_lost,
    stroke_left,
    touch_off,
    trimmed_force,
    volume_for,
)
from advisor.process.wear import DULLEST
from advisor.sequence.candidate import Candidate
from tests import invented
from tests.figures.test_effect import candidates

MM3 = 1e9


def belt() -> tuple[Candidate, Mapping[str, float]]:
    return next(
        (item, desk.expected(item.tool.media, item.grain, item.grade))
        for desk, item in candidates("coated")
        if item.tool.media.key == "belt"
    )


def wheel() -> tuple[Candidate, Mapping[str, float]]:
    return next(
        (item, values)
        for kind in ("coated", "web")
        for desk, item in candidates(kind)
        if "wheel_wear_ratio" in (values := desk.expected(item.tool.media, item.grain, item.grade))
    )


def life_of(item: Candidate, values: Mapping[str, float], rate: float | None = 55.0 / 3600.0) -> MediaLife:
    return media_life(item.setup, item.effect, values, Economy(rate, 90.0))


# ---------------------------------------------------------------- belts


def fading(item: Candidate, values: Mapping[str, float]) -> float:
    """Vc = G A s d, written out (m3)."""
    assert item.grade is not None
    area = values["belt_length_m"] * item.setup.media_width
    return values["g_ratio"] * area * values["usable_layer_share"] * item.grade.um * 1e-6


def test_the_change_point_is_the_cheapest_found_by_search() -> None:
    """(C_b + C_m (t_ch + t(V))) / V, with the time t(V) integrated and the least searched by scipy."""
    item, values = belt()
    rate, change = 55.0 / 3600.0, 90.0
    life = life_of(item, values, rate)
    first = float(item.effect.depth_rate) * item.setup.contact_width
    faded = fading(item, values)

    def cost(volume: float) -> float:
        time = quad(lambda done: math.exp(done / faded) / first, 0.0, volume)[0]
        return float((life.price + rate * (change + time)) / volume)

    best = minimize_scalar(cost, bounds=(faded * 1e-3, faded * 3.0), method="bounded", options={"xatol": 1e-16})
    wanted = min(best.x, faded * math.log(1.0 / DULLEST))
    assert life.volume is not None
    assert life.volume * MM3 == pytest.approx(wanted * MM3, rel=2e-3)


def test_dulling_is_the_mean_slowing_over_the_life() -> None:
    item, values = belt()
    life = life_of(item, values)
    first, faded = 1e-9, fading(item, values)
    assert life.volume is not None
    time = quad(lambda done: math.exp(done / faded) / first, 0.0, float(life.volume))[0]
    assert life.dulling == pytest.approx(time * first / float(life.volume), rel=1e-6)


def test_without_rates_a_belt_is_changed_by_eye() -> None:
    item, values = belt()
    assert life_of(item, values, None).cut_left == values["end_of_life_share"]
    assert life_of(item, values, 0.0).cut_left == values["end_of_life_share"]


def test_a_dearer_belt_stays_on_longer_and_a_dearer_machine_changes_sooner() -> None:
    item, values = belt()
    base = life_of(item, values)
    dear = life_of(item, {**values, "grain_price_factor": 3.0 * values["grain_price_factor"]})
    fast = life_of(item, values, 550.0 / 3600.0)
    assert base.volume is not None and dear.volume is not None and fast.volume is not None
    assert dear.volume > base.volume > fast.volume
    assert dear.price == pytest.approx(3.0 * base.price)


def test_tough_grain_goes_further_on_steel_and_not_on_zinc() -> None:
    """The order of the G-ratios, and the reason why shops pay for ceramic on stainless steel."""
    rows = invented.knowledge().tables.coefficients

    def ratio(grain: str, group: str) -> float:
        return next(
            row.band.expected for row in rows.values()
            if row.symbol == "g_ratio" and row.scope == {"grain": grain, "group": group}
        )  # fmt: skip

    assert ratio("ceramic-alumina", "stainless") > 4.0 * ratio("aluminium-oxide", "stainless")
    assert ratio("ceramic-alumina", "zinc") == ratio("aluminium-oxide", "zinc")


def test_twice_the_width_is_twice_the_belt_at_twice_the_price() -> None:
    item, values = belt()
    wide = replace(item, setup=replace(item.setup, media_width=2.0 * item.setup.media_width))
    one, two = life_of(item, values, None), life_of(wide, values, None)
    assert two.volume == pytest.approx(2.0 * (one.volume or 0.0)) and two.price == pytest.approx(2.0 * one.price)


# ---------------------------------------------------------------- wheels


def test_a_shrinking_wheel_worn_in_small_steps() -> None:
    """Volume by volume: the ring worn off, times metal over wheel, is what the life says."""
    item, values = wheel()
    life, setup = life_of(item, values), item.setup
    diameter, metal, last = setup.diameter, 0.0, float(last_diameter(setup, values))
    while diameter > last:
        metal += values["wheel_wear_ratio"] * math.pi * diameter * setup.media_width * 0.5e-5
        diameter -= 1e-5
    assert life.volume == pytest.approx(metal, rel=1e-3)
    assert life.dulling == 1.0 and life.cut_left is None


def test_a_wheel_comes_off_where_the_rim_would_be_too_slow_or_it_is_worn_out() -> None:
    item, values = wheel()
    slow = replace(item.setup, slowest_speed=item.setup.speed, spindle_rpm=60.0 * item.setup.speed / (math.pi * item.setup.diameter * 0.9))  # noqa: E501
    assert last_diameter(slow, values) == pytest.approx(0.9 * item.setup.diameter)
    still = replace(item.setup, slowest_speed=0.1)
    share = values["last_diameter_share"]
    assert last_diameter(still, values) == pytest.approx(share * item.setup.diameter)


def test_the_stroke_holds_what_the_wheel_wears_between_two_touch_offs() -> None:
    item, values = wheel()
    volume = 50e-9
    again = touch_off(item.setup, values, 0.010, volume)
    left = 0.010 - (values["part_tolerance_mm"] + values["position_error_mm"]) * 1e-3
    assert again.step == pytest.approx(left) == pytest.approx(stroke_left(values, 0.010))
    assert volume_for(item.setup, values, left) == pytest.approx(again.parts * volume, rel=0.05)
    assert radius_lost(item.setup, values, volume * again.parts) <= left * (1 + 1e-9)


def test_a_worn_wheel_is_pressed_less() -> None:
    item, values = wheel()
    worn = [trimmed_force(item.setup, values, share * item.setup.diameter)[0] for share in (1.0, 0.9, 0.8, 0.7)]
    assert worn[0] == pytest.approx(item.setup.force)
    assert worn == sorted(worn, reverse=True)


# ---------------------------------------------------------------- the rest


def test_media_without_a_law_last_for_the_time_of_their_row() -> None:
    desk, item = next(candidates("compound"))
    values = desk.expected(item.tool.media, item.grain, item.grade)
    life = media_life(item.setup, item.effect, values, Economy(0.01, 60.0))
    low, high = item.tool.media.life_minutes
    assert life.volume is None and life.seconds == pytest.approx(math.sqrt(low * high) * 60.0)
    assert life.used(1.0, 30.0) == pytest.approx(30.0 / (life.seconds or 1.0))
