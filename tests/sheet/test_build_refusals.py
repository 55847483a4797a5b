"""A sheet that says no says what stands in the way, in numbers, and what would open it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

import pytest

from advisor.errors import InputError
from advisor.sheet.model import Blocked, Sheet
from tests import invented

SKIN = {"defect": "casting-skin", "depth": "0.5 mm"}


def cell(**station: Any) -> Mapping[str, Any]:
    """A cell with one station."""
    usual = {
        "name": "spindle", "takes": ["belt"], "power": "2 kW", "speed": ["900 rpm", "2400 rpm"],
        "wheel_diameter": "250 mm",
    }  # fmt: skip
    return {"operator": "person", "handling": ["part-in-hand"], "stations": [{**usual, **station}]}


FINISHERS = ["belt", "nonwoven-belt", "surface-conditioning-belt"]
#: What is asked, and the limit that must be named.
REFUSED: Mapping[str, tuple[dict[str, Any], str]] = {
    "only a buff": ({"cell": cell(takes=["buff"])}, "station"),
    "nothing that finishes": ({"cell": cell(takes=["wire-wheel"]), "finish": "mirror"}, "station"),
    "too slow a spindle": ({"cell": cell(speed=["10 rpm", "20 rpm"])}, "surface speed"),
    "too weak a spindle": ({"cell": cell(power="0.05 kW"), "finish": "ground-fine"}, "power"),
    "a hollow too tight": (
        {"features": [{"name": "slot", "shape": "concave", "radius": "3 mm", "width": "5 mm", "area": "2 cm2"}]},
        "reach",
    ),
    "a pocket too narrow": ({"features": [{**invented.PLAIN_FACE, "access": "5 mm"}]}, "access"),
    "a defect deeper than the stock": ({"features": [{**invented.PLAIN_FACE, "max_stock": "0.2 mm"}]}, "stock"),
    "a wall thinner than the depth": ({"part": {"wall": "0.4 mm"}}, "wall"),
    "a stroke below what parts differ by": (
        {"cell": {**cell(takes=FINISHERS), "compliance": {"stroke": "0.5 mm", "force": ["5 N", "200 N"]}}}, "stroke",
    ),
}  # fmt: skip


@cache
def refused(case: str) -> Sheet:
    fields, _ = REFUSED[case]
    return invented.sheet_of(**{"alloy": "s31603", "start": SKIN, "finish": "satin-medium", **fields})


def entries(case: str) -> tuple[Blocked, ...]:
    return refused(case).features[0].blocked


@pytest.mark.parametrize("case", REFUSED)
def test_no_steps_and_a_reason(case: str) -> None:
    found = refused(case)
    assert found.refused
    assert found.features[0].steps == () and found.features[0].time_s is None
    assert found.totals.time_s is None and found.first_try is None
    assert 1 <= len(entries(case)) <= 6
    assert all(entry.text.endswith(".") for entry in entries(case))


@pytest.mark.parametrize("case", REFUSED)
def test_the_limit_is_named_with_what_it_is_and_what_would_do(case: str) -> None:
    _, limit = REFUSED[case]
    (*_, entry) = [entry for entry in entries(case) if entry.limit == limit] or [None]
    assert entry is not None, [entry.text for entry in entries(case)]
    assert entry.allowed is not None
    assert limit == "station" or entry.value is not None
    assert any(entry.opens for entry in entries(case))


@pytest.mark.parametrize("case", ["a hollow too tight", "a pocket too narrow", "too weak a spindle"])
def test_the_numbers_of_a_limit_are_on_the_wrong_side_of_each_other(case: str) -> None:
    _, limit = REFUSED[case]
    for entry in entries(case):
        if entry.limit == limit and entry.unit in ("mm", "W"):
            assert isinstance(entry.value, int | float) and isinstance(entry.allowed, int | float)
            larger = case == "too weak a spindle" or (limit == "reach" and entry.value > 10.0)
            assert (entry.value > entry.allowed) is larger


def test_the_stock_that_is_missing_is_said_in_numbers() -> None:
    entry = next(entry for entry in entries("a defect deeper than the stock") if entry.limit == "stock")
    assert (entry.value, entry.allowed, entry.unit) == (0.5, 0.2, "mm")


@pytest.mark.parametrize("case", REFUSED)
def test_cautions_stand_on_a_refusal_too(case: str) -> None:
    assert refused(case).cautions
    assert refused(case).assumed


def test_what_opens_a_refusal_opens_it() -> None:
    """Free space, a smaller wheel, a larger stock, a stronger spindle: each as the sheet says."""
    again = {
        "a pocket too narrow": {"features": [{**invented.PLAIN_FACE, "access": "60 mm"}]},
        "a defect deeper than the stock": {"features": [{**invented.PLAIN_FACE, "max_stock": "1 mm"}]},
        "too weak a spindle": {"cell": cell(power="4 kW"), "finish": "ground-fine"},
        "too slow a spindle": {"cell": cell(takes=["belt", "nonwoven-belt"])},
        "a wall thinner than the depth": {"part": {"wall": "3 mm"}},
        "a stroke below what parts differ by": {
            "cell": {**cell(takes=FINISHERS), "compliance": {"stroke": "5 mm", "force": ["5 N", "200 N"]}},
        },
    }
    for case, fields in again.items():
        found = invented.sheet_of(**{"alloy": "s31603", "start": SKIN, "finish": "satin-medium", **fields})
        assert not found.refused, case


def test_a_wheel_that_wears_through_its_stroke_on_one_part_is_refused_with_what_it_needs() -> None:
    """A flap wheel alone, a very large face and a stroke that holds the tolerances but hardly any wear."""

    def found(stroke: str) -> Sheet:
        station = cell(takes=["flap-wheel"], wheel_diameter="200 mm", speed=["600 rpm", "3000 rpm"])
        return invented.sheet_of(
            alloy="s31603", start={"defect": "mill-surface"}, finish="satin-medium",
            features=[{**invented.PLAIN_FACE, "area": "40000 cm2"}],
            cell={**station, "compliance": {"stroke": stroke, "force": ["5 N", "200 N"]}},
        )  # fmt: skip

    assert not found("60 mm").refused
    (entry,) = [entry for entry in found("1.1 mm").features[0].blocked if entry.limit == "stroke"]
    assert isinstance(entry.value, float) and entry.value > entry.allowed == 1.1
    assert entry.opens and "stroke" in entry.opens


def test_a_batch_of_none_is_a_fault_of_the_job() -> None:
    with pytest.raises(InputError, match="batch"):
        invented.job_of(alloy="s31603", start=SKIN, finish="satin-medium", batch=0)


def test_one_feature_that_cannot_be_done_leaves_the_others_their_plans() -> None:
    found = invented.sheet_of(
        alloy="a96063", start={"defect": "paint"}, finish="keyed-powder", cell="hand-tools",
        features=[
            invented.PLAIN_FACE,
            {"name": "groove", "shape": "concave", "radius": "2 mm", "width": "4 mm", "area": "1 cm2"},
        ],
    )  # fmt: skip
    face, groove = found.features
    assert face.steps and not face.blocked
    assert not groove.steps and groove.blocked
    assert found.refused and found.totals.time_s is None and found.totals.steps == len(face.steps)


def test_a_band_that_no_media_reaches_is_told_with_the_roughness_reached() -> None:
    found = invented.sheet_of(
        alloy="s30400", start={"defect": "machining-marks"}, cell=cell(takes=["belt"]),
        finish={"texture": "ground", "lay": "linear", "ra": ["8 um", "9 um"]},
    )  # fmt: skip
    assert found.refused
    entry = next(entry for entry in found.features[0].blocked if entry.limit == "roughness")
    assert isinstance(entry.value, float) and not 8.0 <= entry.value <= 9.0
    assert entry.allowed == (8.0, 9.0)
