"""Times and whole passes against counting and moving along the path."""

from __future__ import annotations

import pytest

from advisor.process.removal import depth_per_pass
from advisor.process.timing import (
    area_time,
    step_over,
    step_time,
    strip_time,
    stroke_length,
    strokes_across,
    trimmed_feed,
    whole_passes,
)


def test_area_time_is_the_time_along_all_strokes() -> None:
    width, length, over, feed = 0.100, 0.300, 0.025, 0.060
    seconds = sum(strip_time(length, feed, 1) for _ in range(strokes_across(width, over))) * 4
    assert area_time(width * length, over, feed, 4) == pytest.approx(seconds)
    assert step_time(seconds, 8.0) == pytest.approx(seconds + 8.0)


@pytest.mark.parametrize(("width", "strokes"), [(0.001, 1), (0.025, 1), (0.0251, 2), (0.075, 3), (0.0751, 4)])
def test_strokes_across_exactly_on_and_past_a_whole_number(width: float, strokes: int) -> None:
    assert strokes_across(width, 0.025) == strokes


def test_step_over_covers_each_point_as_often_as_the_overlap_says() -> None:
    # Half overlap: every point lies under two strokes.
    assert 0.050 / step_over(0.050, 0.5) == pytest.approx(2.0)
    assert step_over(0.050, 0.0) == 0.050


def test_a_stroke_runs_on_and_off() -> None:
    assert stroke_length(0.2, 0.03, 0.02) == pytest.approx(0.25)


@pytest.mark.parametrize(
    ("need", "depth", "passes"), [(30, 11, 3), (33, 11, 3), (33.1, 11, 4), (1, 11, 1), (0, 11, 0)]
)
def test_whole_passes(need: float, depth: float, passes: int) -> None:
    assert whole_passes(need * 1e-6, depth * 1e-6) == passes
    assert passes * depth >= need - 1e-9
    assert (passes - 1) * depth < need


def test_no_number_of_empty_passes_removes_anything() -> None:
    with pytest.raises(ValueError, match="remove something"):
        whole_passes(10e-6, 0.0)


def test_trimmed_feed_gives_exactly_the_stock() -> None:
    depth = depth_per_pass(0.4, 30e9, 1000.0, 25.0, 0.040, 66e3, 15e3)
    passes = whole_passes(30e-6, depth)
    feed = trimmed_feed(0.040, passes, depth, 30e-6)
    assert passes * depth_per_pass(0.4, 30e9, 1000.0, 25.0, feed, 66e3, 15e3) == pytest.approx(30e-6)
