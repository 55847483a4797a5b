"""Pictures are the same every time, and say in words what they show; a drift is found where one was put."""

from __future__ import annotations

import math
from xml.etree import ElementTree

import numpy as np
import pytest

from advisor.learning.calibrate import fit
from advisor.learning.drift import cusum, drifts
from advisor.learning.pictures import miss, pictures
from advisor.learning.readings import Reading
from advisor.learning.teach import Lesson, teach
from tests.learning.trials import desk, read_trials, shop_trials


@pytest.fixture(scope="module")
def lesson() -> Lesson:
    return teach(read_trials(shop_trials(30, removal=1.9, ra=0.5)), desk())


def test_the_same_lesson_gives_the_same_pictures(lesson: Lesson) -> None:
    first = pictures(lesson)
    assert first == pictures(lesson)
    for picture in first:
        assert ElementTree.fromstring(picture.svg.encode()).tag.endswith("svg")
        assert picture.caption
        assert picture.words


def test_calibration_brings_predictions_nearer(lesson: Lesson) -> None:
    for found in lesson.fits:
        assert miss(found.surprise.off) < miss(found.ratios)


def test_the_sums_are_those_of_the_textbook() -> None:
    """Page's scheme by hand: S = max(0, S + z - 0.5), for both sides."""
    scores = [0.2, 1.5, -0.3, 2.0, -3.0]
    above, below = cusum(scores)
    assert above.tolist() == pytest.approx([0.0, 1.0, 0.2, 1.7, 0.0])
    assert below.tolist() == pytest.approx([0.0, 0.0, 0.0, 0.0, 2.5])


def shifted(count: int, at: int, by: float) -> list[Reading]:
    draw = np.random.default_rng(41)
    scope = {"family": "brass", "alloy": "c26000", "media": "belt", "cell": "bench"}
    return [
        Reading(
            "removal", f"t{number:03d}", ("2026-05-04", "", f"{number:03d}"),
            math.exp(draw.normal(by if number >= at else 0.0, 0.1)), 1.0, scope, {},
        )
        for number in range(count)
    ]  # fmt: skip


def test_a_shift_is_noticed_soon_and_its_beginning_named() -> None:
    (found,) = drifts(fit("removal", shifted(60, 40, 0.3)))
    assert found.alarm is not None
    assert found.since is not None
    assert 40 <= found.alarm <= 50
    assert abs(found.since - 40) <= 4
    assert "above the model" in (found.sentence() or "")


def test_a_steady_process_is_not_accused() -> None:
    (found,) = drifts(fit("removal", shifted(60, 60, 0.0)))
    assert found.alarm is None
    assert found.sentence() is None
