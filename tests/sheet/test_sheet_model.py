"""The sheet has the shape that other programs rely on, and its reasons hang together."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any

import pytest
from pydantic import ValidationError

from advisor.sheet.model import (
    Band,
    Feature,
    Part,
    Sheet,
    Step,
    in_reading_order,
    sheet_references,
    unexplained,
)
from tests.sheet.sample import sample_sheet

# The keys of the interface, in its order; a sheet may have more between them.
SHEET = """sheet_version job knowledge handling features operations rivals first_try totals cautions assumed
    measure_next conflicts reasons"""
FEATURE = "name shape steps"
STEP = """number stage media pressure grain grade grain_um build coat top_coat backing wheel lubricant direction
    step_over_mm windows surface_speed_m_s rpm force_n feed_mm_s passes removal_um ra_um time_s power_w contact
    heat wear go_on_when if_not rivals reasons"""
INNER = {
    "knowledge": "fingerprint rules",
    "handling": "value reasons",
    "first_try": "start_with if_too_weak if_too_strong parts_needed",
    "totals": "time_s cost steps",
    "operations": "station media serves",
    "rivals": "feature grades time_s cost why",
    "cautions": "text rule source",
    "assumed": "field value why",
}
STEP_INNER = {
    "wheel": "hardness_shore_a cover face diameter_mm width_mm edge_radius_mm",
    "windows": "force_n surface_speed_m_s feed_mm_s",
    "removal_um": "low expected high",
    "ra_um": "low expected high",
    "time_s": "low expected high",
    "contact": "half_width_mm mean_pressure_kpa",
    "heat": "rise_k limit_k",
    "wear": "parts_per_media schedule",
    "rivals": "decision option lost_on reasons",
    "limits": "limit value allowed source",
}


def _in_order(wanted: str, found: dict[str, Any], where: str) -> None:
    missing = [key for key in wanted.split() if key not in found]
    assert not missing, f"{where} lacks {missing}"
    places = [list(found).index(key) for key in wanted.split()]
    assert all(a < b for a, b in pairwise(places)), f"{where}: {list(found)}"


def test_every_key_of_the_interface_is_there_in_its_order() -> None:
    data = sample_sheet().model_dump(mode="json")
    _in_order(SHEET, data, "sheet")
    for key, wanted in INNER.items():
        found = data[key][0] if isinstance(data[key], list) else data[key]
        _in_order(wanted, found, key)
    for feature in data["features"]:
        _in_order(FEATURE, feature, "feature")
        for step in feature["steps"]:
            _in_order(STEP, step, "step")
    step = data["features"][0]["steps"][0]
    for key, wanted in STEP_INNER.items():
        _in_order(wanted, step[key][0] if isinstance(step[key], list) else step[key], key)
    _in_order("diameter_mm rpm index_mm", data["features"][0]["steps"][2]["wear"]["schedule"][0], "schedule")
    _in_order("kind text rule facts source", data["reasons"]["r1"], "reason")


def test_a_blocked_feature_has_no_steps_and_says_why() -> None:
    sheet = sample_sheet()
    blocked = sheet.model_dump(mode="json")["features"][2]
    assert blocked["steps"] == []
    _in_order("limit value allowed", blocked["blocked"][0], "blocked")
    assert sheet.refused
    assert not sheet.model_copy(update={"features": sheet.features[:2]}).refused


def test_what_does_not_apply_is_null_and_not_missing() -> None:
    web = sample_sheet().model_dump(mode="json")["features"][0]["steps"][2]
    assert {key for key, value in web.items() if value is None} == {
        "grain_um", "build", "coat", "top_coat", "backing", "step_over_mm", "marked_speed_m_s", "remaining_um",
        "power_w", "contact", "heat", "rz_um", "force_limits",
    }  # fmt: skip
    assert web["wheel"]["hardness_shore_a"] is None


def test_every_value_of_the_sample_is_explained() -> None:
    assert [unexplained(step) for feature in sample_sheet().features for step in feature.steps] == [()] * 5


def test_a_value_without_a_reason_is_found() -> None:
    step = sample_sheet().features[0].steps[0]
    bare = step.model_copy(update={"reasons": {**step.reasons, "rpm": (), "wheel": ()}})
    assert unexplained(bare) == ("wheel", "rpm")


def test_reasons_are_numbered_as_a_reader_meets_them() -> None:
    sheet = sample_sheet()
    met = list(dict.fromkeys(sheet_references(sheet)))
    assert met == [f"r{place}" for place in range(1, len(met) + 1)] == list(sheet.reasons)
    # The same from the text of the sheet, without the walk under test.
    text = sheet.model_copy(update={"reasons": {}, "job": {}}).model_dump_json()
    assert list(dict.fromkeys(re.findall(r'"(r\d+)"', text))) == met


def test_numbering_again_changes_nothing_and_keeps_what_each_value_rests_on() -> None:
    sheet = sample_sheet()
    assert in_reading_order(sheet) == sheet
    turned = sheet.model_copy(update={"features": sheet.features[::-1]})
    again = in_reading_order(turned)
    for before, after in zip(turned.features, again.features, strict=True):
        for one, other in zip(before.steps, after.steps, strict=True):
            for value, ids in one.reasons.items():
                told = [sheet.reasons[ref].text for ref in ids]
                assert told == [again.reasons[ref].text for ref in other.reasons[value]]


def test_a_reason_that_is_not_there_is_refused() -> None:
    data = sample_sheet().model_dump()
    del data["reasons"]["r2"]
    with pytest.raises(ValidationError, match=r"missing: r2 "):
        Sheet.model_validate(data)


def test_a_reason_under_another_id_is_refused() -> None:
    data = sample_sheet().model_dump()
    data["reasons"]["r2"]["id"] = "r3"
    with pytest.raises(ValidationError, match="filed under r2"):
        Sheet.model_validate(data)


def test_a_band_rises() -> None:
    assert Band(low=1, expected=1, high=1)
    with pytest.raises(ValidationError, match="must rise"):
        Band(low=2, expected=1, high=3)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_no_number_that_is_not_finite_gets_in(value: float) -> None:
    with pytest.raises(ValidationError):
        Step(number=1, stage="clear", media="belt", force_n=value)


def test_everything_is_frozen_and_closed() -> None:
    feature = Feature(name="face", shape="flat")
    with pytest.raises(ValidationError):
        feature.name = "other"
    with pytest.raises(ValidationError):
        Feature.model_validate({"name": "face", "shape": "flat", "colour": "red"})
    assert all(each.model_config["frozen"] for each in Part.__subclasses__())
