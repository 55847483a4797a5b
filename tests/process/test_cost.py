"""Times and costs against a batch worked one part after another with a clock and a purse."""

from __future__ import annotations

import itertools
import random
from collections.abc import Mapping

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from advisor.process.bands import Spread
from advisor.process.cost import (
    batch_time,
    inspection_time,
    media_cost,
    media_per_thousand,
    media_to_order,
    part_cost,
    part_time,
    rework_runs,
    shared,
    swings,
)


def test_a_batch_worked_with_a_clock() -> None:
    """600 parts; a fresh belt every 60, a dressing every 40, one in five inspected, a first-off."""
    clock, belts, batch = 1500.0 + 240.0, 0, 600
    for part in range(batch):
        if part % 60 == 0:
            clock, belts = clock + 90.0, belts + 1
        if part % 40 == 0:
            clock += 45.0
        clock += 70.0 + 18.0
        if part % 5 == 0:
            clock += 30.0
    time = part_time(
        cutting=70.0,
        handling=18.0,
        inspection=inspection_time(30.0, 0.2, 240.0, batch),
        set_up=1500.0,
        batch=batch,
        dressing=shared(45.0, 40),
        changing=shared(90.0, 60),
    )
    assert batch_time(time, batch) == pytest.approx(clock)
    assert belts == media_to_order(batch, 60)
    cost = part_cost(time, 55.0 / 3600, media_cost(9.0, 60))
    assert cost.total * batch == pytest.approx(clock * 55.0 / 3600 + belts * 9.0)


@pytest.mark.parametrize(("share", "work"), [(0.0, 1.0), (0.03, 0.5), (0.25, 1.0)])
def test_rework_by_throwing_dice(share: float, work: float) -> None:
    dice, runs, parts = random.Random(7), 0.0, 40000
    for _ in range(parts):
        runs += 1.0
        while dice.random() < share:
            runs += work
    assert rework_runs(share, work) == pytest.approx(runs / parts, rel=0.01)


def test_reworked_parts_use_up_media_again() -> None:
    time = part_time(cutting=60.0, handling=0.0, inspection=0.0, set_up=0.0, batch=1, rework_share=0.5)
    cost = part_cost(time, 0.01, media_cost(9.0, 60), rework_runs(0.5, 1.0))
    # Every part is worked twice on average: 120 s at 0.01, and two sixtieths of a belt at 9.
    assert cost.machine == pytest.approx(1.2)
    assert cost.media == pytest.approx(2 * 9.0 / 60)
    assert cost.total == pytest.approx(1.5)


def test_rework_is_a_series() -> None:
    for share in (0.01, 0.1, 0.5):
        series = sum(share**times for times in range(1, 200))
        assert rework_runs(share, 0.4) == pytest.approx(1 + 0.4 * series)


@pytest.mark.parametrize("share", [-0.01, 1.0, 1.5])
def test_a_share_that_never_ends_is_refused(share: float) -> None:
    with pytest.raises(ValueError, match="worked again"):
        rework_runs(share, 1.0)


def test_a_batch_of_none_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one part"):
        part_time(cutting=1.0, handling=1.0, inspection=1.0, set_up=1.0, batch=0)


def test_every_line_is_in_the_total_once() -> None:
    time = part_time(
        cutting=1.0, handling=10.0, inspection=100.0, set_up=1e5, batch=10,
        dressing=1e5, changing=1e6, rework_share=0.5, rework_work=1.0,
    )  # fmt: skip
    # Half fail, so every run is done twice: 1 + 1/2 + 1/4 + ... = 2; the set-up is not.
    once = 1.0 + 10.0 + 100.0 + 1e5 + 1e6
    assert time.rework == pytest.approx(once)
    assert time.total == pytest.approx(2 * once + 1e4)


@pytest.mark.parametrize(
    ("parts", "each"), [(100, 146), (146, 146), (147, 146), (292, 146), (293, 146), (3, 0.4)]
)
def test_media_to_order_by_using_them_up(parts: int, each: float) -> None:
    needed = next(count for count in itertools.count(1) if count * each >= parts - 1e-9)
    assert media_to_order(parts, each) == needed
    assert media_per_thousand(each) == pytest.approx(1000 / each)


@given(
    st.floats(1.0, 500.0), st.integers(1, 5000), st.integers(1, 5), st.floats(0.0, 0.3), st.floats(0.0, 0.2)
)
def test_directions_of_the_cost(cutting: float, batch: int, times: int, rework: float, more: float) -> None:
    def total(size: int, share: float) -> float:
        return part_time(
            cutting=cutting, handling=20.0, inspection=15.0, set_up=1500.0, batch=size, rework_share=share
        ).total

    assert total(batch * times, rework) <= total(batch, rework) * (1 + 1e-12)
    assert total(batch, rework + more) >= total(batch, rework) * (1 - 1e-12)
    assert total(batch, rework) >= cutting


def test_swings_of_a_sum_and_a_product() -> None:
    def money(at: Mapping[str, float]) -> float:
        return at["seconds"] * at["rate"] + at["media"]

    bands = {
        "media": Spread(0.1, 0.2, 0.4),
        "seconds": Spread(60.0, 90.0, 150.0),
        "rate": Spread(0.014, 0.015, 0.016),
    }
    found = swings(money, bands)
    assert [swing.name for swing in found] == ["seconds", "media", "rate"]
    assert found[0].at_low == pytest.approx(60 * 0.015 + 0.2)
    assert found[0].at_high == pytest.approx(150 * 0.015 + 0.2)
    assert [swing.size for swing in found] == pytest.approx([1.35, 0.3, 0.18])
    # An assumption that lowers the total as it grows is ranked by how far it moves it all the same.
    falling = swings(
        lambda at: 1.0 / at["life"] + at["rest"], {"rest": Spread(1, 1, 1.2), "life": Spread(1, 2, 4)}
    )
    assert [(swing.name, round(swing.size, 2)) for swing in falling] == [("life", 0.75), ("rest", 0.2)]


def test_draws_of_the_times_give_the_total_of_each() -> None:
    cutting, share = np.linspace(40.0, 90.0, 7), np.linspace(0.01, 0.1, 7)
    time = part_time(
        cutting=cutting,  # type: ignore[arg-type]
        handling=20.0,
        inspection=15.0,
        set_up=1500.0,
        batch=50,
        rework_share=share,  # type: ignore[arg-type]
    )  # fmt: skip
    for i in range(7):
        alone = part_time(
            cutting=float(cutting[i]), handling=20.0, inspection=15.0, set_up=1500.0, batch=50,
            rework_share=float(share[i]),
        )  # fmt: skip
        assert time.total[i] == pytest.approx(alone.total)  # type: ignore[index]
