"""A trial that went as its sheet says measures what the sheet predicts; what says nothing is told apart."""

from __future__ import annotations

import math

import pytest

from advisor.learning.readings import Reading, predicted_parts, read
from advisor.learning.teach import teach
from tests.learning.trials import Place, bench, desk, places, plain_trial, read_trials, shop_trials

IDS = [f"{job.name}, {face.name}, {step.number}" for job, face, step in places()]


def only(content: dict[str, object]) -> tuple[list[Reading], list[str]]:
    found = read(read_trials([content]), bench())
    return list(found.readings), [item.why for item in found.unread]


@pytest.mark.parametrize("place", places(), ids=IDS)
def test_the_depth_predicted_for_a_trial_is_that_of_the_sheet(place: Place) -> None:
    step = place[2]
    assert step.removal_um is not None
    (reading,), _ = only(plain_trial(place, measured={"removal": f"{step.removal_um.expected} um"}))
    assert reading.predicted == pytest.approx(step.removal_um.expected, rel=0.06)


@pytest.mark.parametrize("place", places(), ids=IDS)
def test_the_roughness_predicted_for_a_trial_is_that_of_the_sheet(place: Place) -> None:
    step = place[2]
    assert step.ra_um is not None
    found, why = only(plain_trial(place, measured={"ra": f"{step.ra_um.expected} um"}))
    if found:
        assert found[0].log_ratio == pytest.approx(0.0, abs=0.25 if step.stage == "finish" else 0.1)
    else:
        assert why == ["too little came off to reach the media's own roughness"]


@pytest.mark.parametrize("place", places(), ids=IDS)
def test_the_parts_predicted_for_a_trial_are_those_of_the_sheet(place: Place) -> None:
    step = place[2]
    assert step.wear is not None
    assert step.wear.parts is not None
    (trial,) = read_trials([plain_trial(place)])
    rig = bench().rig(trial)
    assert rig is not None
    parts = predicted_parts(trial, rig, bench())
    assert parts is not None
    assert abs(math.log(parts / step.wear.parts.expected)) < 0.5, "half a band of the G ratio"


def test_half_the_feed_takes_twice_the_depth() -> None:
    place = next(each for each in places() if each[2].media == "belt" and each[2].stage == "refine")
    step = place[2]
    assert step.feed_mm_s is not None
    used = [{"feed": f"{step.feed_mm_s} mm/s"}, {"feed": f"{step.feed_mm_s / 2} mm/s"}]
    whole, half = (only(plain_trial(place, used=each, measured={"removal": "9 um"}))[0][0] for each in used)
    assert half.predicted == pytest.approx(2 * whole.predicted, rel=1e-6)


@pytest.mark.parametrize(
    ("changed", "why"),
    [
        ({"used": {"passes": None}, "measured": {"removal": "9 um"}}, "was not written down"),
        ({"used": {"force": None}, "measured": {"removal": "9 um"}}, "was not written down"),
        ({"measured": {"ra": "0.5 um"}, "roughness": {"direction": "along"}}, "along the lay"),
    ],
)
def test_a_figure_that_says_nothing_is_told_with_its_reason(changed: dict[str, object], why: str) -> None:
    place = next(each for each in places() if each[2].media == "belt" and each[2].stage == "refine")
    found, unread = only(plain_trial(place, **changed))
    assert not found
    assert len(unread) == 1
    assert why in unread[0]


def test_a_shop_that_cuts_more_and_leaves_it_finer_is_found_out() -> None:
    lesson = teach(read_trials(shop_trials(150)), desk())
    whole = {row.coefficient: row for row in lesson.learned.factors if not row.scope}
    assert whole["removal"].factor == pytest.approx(1.4, rel=0.05)
    assert whole["roughness-floor"].factor == pytest.approx(0.8, rel=0.05)


def test_a_depth_in_the_wrong_unit_is_noticed_and_the_unit_is_to_be_checked_first() -> None:
    contents = list(shop_trials(40, seed=3))
    slipped = float(contents[7]["measured"]["removal"].split()[0]) * 25.4
    if slipped > 15000:  # deeper than a trial may say
        slipped /= 25.4**2
    contents[7]["measured"]["removal"] = f"{slipped:.5g} um"
    lesson = teach(read_trials(contents), desk())
    (told,) = [item for item in lesson.contradictions if item.reading.trial == "t0007"]
    assert told.check[0].startswith("the unit")
    assert told.counted < 0.05
    sound = teach(read_trials(contents[:7] + contents[8:]), desk())
    for with_it, without in zip(lesson.learned.factors, sound.learned.factors, strict=False):
        if not with_it.scope:
            assert with_it.factor == pytest.approx(without.factor, rel=0.02)
